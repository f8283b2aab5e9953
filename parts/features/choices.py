"""The words that a rail plate's parameters choose from. Apart from what they lead to, so that listing them loads none of it."""

from __future__ import annotations

from typing import Literal

SeatKind = Literal["toes", "flush", "stepped", "outside", "inside"]
SEATS: tuple[SeatKind, ...] = ("toes", "flush", "stepped", "outside", "inside")

EndKind = Literal["square", "angled", "fish-mouth", "upright"]  #: upright: where a crossmember ends the plate; not to be asked for
END_KINDS: tuple[EndKind, ...] = ("square", "angled", "fish-mouth")

Way = Literal["split", "notch", "window"]
WAYS: tuple[Way, ...] = ("split", "notch", "window")
Opens = Literal["lower", "upper", "nearest"]
