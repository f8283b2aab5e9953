"""What holds a bolted base, and what takes a rivet out of its way."""

from __future__ import annotations

from dataclasses import dataclass

from parts.errors import Fault, Finding
from parts.holes import Hole
from parts.piece import BoltLine, Drilling, HardwareItem, Removal

RIVET_OUT = "take the head off or pilot-drill it, drill the shank under size, drive it out"


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
