"""What holds a bolted base or comes onto a seat, and what takes a rivet out of its way."""

from __future__ import annotations

from dataclasses import dataclass

from parts.errors import Fault, Finding
from parts.frame.offers import Seat
from parts.holes import Hole
from parts.piece import BoltLine, Drilling, HardwareItem, Removal

RIVET_OUT = "take the head off or pilot-drill it, drill the shank under size, drive it out"
REFILL = "refill with the next larger bolt, or weld the hole up first"


def not_listed(seat: Seat) -> tuple[str, ...]:
    """The bolts that nobody buys unless it is said: those of what will sit here, which is no part of the kit."""
    count = len(seat.points)
    if not count:
        return ()
    bolts = f"{count} bolt{'s' if count > 1 else ''} {seat.bolt}"
    thick = f"its {seat.thickness_mm:g} mm, the thickness of what sits there, washers, nut and two threads"
    return (f"bolts for what sits on it are not in the hardware list: {bolts} with nut and washers, as long as {thick} ask",)


@dataclass(frozen=True, kw_only=True)
class Fixing:
    """All of a base's bolts and what they bring with them. `holes` are in the base's own coordinates."""

    holes: tuple[Hole, ...] = ()
    bolts: tuple[BoltLine, ...] = ()
    drilling: tuple[Drilling, ...] = ()
    removals: tuple[Removal, ...] = ()
    hardware: tuple[HardwareItem, ...] = ()
    faults: tuple[Fault, ...] = ()
    findings: tuple[Finding, ...] = ()
    notes: tuple[str, ...] = ()
