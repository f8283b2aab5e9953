"""Seats on rails that are not level: a pair of seats has one height, and each its own distance to its rail."""

from __future__ import annotations

import math
from collections.abc import Sequence
from dataclasses import dataclass

from parts.frame.frame import Frame
from parts.frame.offers import Seat
from parts.frame.section import RailSide
from parts.piece import Piece

PER_MM = 100.0  #: over so much of a seat its lean is told


@dataclass(frozen=True, kw_only=True)
class SeatRow:
    """A seat and the rail that it hangs on."""

    name: str
    side: RailSide
    z_mm: float  #: of its middle
    under_mm: float  #: under the rail's upper corner, straight down
    slope_deg: float  #: of the seat as built, against level
    leans_mm: float | None  #: over 100 mm across the vehicle, as the web under it leans; None where nothing says how it does


def seat_rows(pieces: Sequence[Piece], frame: Frame) -> tuple[SeatRow, ...]:
    """Every seat that looks up or down, in the order of the kit, the left one first."""
    return tuple(_row(seat, frame) for piece in pieces for seat in piece.seats if abs(seat.normal[2]) > math.sqrt(0.5))


def _row(seat: Seat, frame: Frame) -> SeatRow:
    rail = frame.rail(seat.side)
    x, y, z = (sum(p[i] for p in seat.points) / len(seat.points) for i in range(3))
    s = min(max(rail.szo((x, y, z))[0], 0.0), rail.length_s_mm)
    leans = None
    if rail.found is not None and rail.found.lean_known:
        leans = PER_MM * abs(rail.found.lean.at(s))
    slope = math.degrees(math.acos(min(1.0, abs(seat.normal[2]))))
    return SeatRow(name=seat.name, side=seat.side, z_mm=z, under_mm=rail.profile.upper_z(s) - z, slope_deg=slope, leans_mm=leans)
