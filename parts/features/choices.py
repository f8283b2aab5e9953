"""The words that a rail plate's parameters choose from. Apart from what they lead to, so that listing them loads none of it."""

from __future__ import annotations

from typing import Literal

SeatKind = Literal["toes", "flush", "stepped", "outside", "inside"]
SEATS: tuple[SeatKind, ...] = ("toes", "flush", "stepped", "outside", "inside")

#: upright: where a crossmember ends the plate; joint: where the next piece of it goes on. Not to be asked for.
EndKind = Literal["square", "angled", "fish-mouth", "upright", "joint"]
END_KINDS: tuple[EndKind, ...] = ("square", "angled", "fish-mouth")

SplitUp = Literal["never", "where needed"]
SPLIT_UP: tuple[SplitUp, ...] = ("never", "where needed")

Way = Literal["split", "notch", "window"]
WAYS: tuple[Way, ...] = ("split", "notch", "window")
Opens = Literal["lower", "upper", "nearest"]

OpeningShape = Literal["round", "rectangle", "long-round"]
OPENING_SHAPES: tuple[OpeningShape, ...] = ("round", "rectangle", "long-round")
