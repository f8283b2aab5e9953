"""The bolt that fills a rivet's hole: the next larger one, and the hole that is drilled to fit it."""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass
from typing import TYPE_CHECKING

from parts.bolt_size import BoltSize, bolt_size
from parts.csv_table import read_table
from parts.errors import BadInput, Fault
from parts.features.pickups import FITS_MM
from parts.frame.frame import Frame
from parts.frame.placed import PlacedHole
from parts.hardware import RAIL_PLAY_MM, SLACK, bolt_length, clearance_hole, head, washer
from parts.hardware_rows import ClearanceRow
from parts.piece import HardwareItem

if TYPE_CHECKING:
    from parts.families.spring_doubler import SpringDoubler

LARGEST_98_MM = 16.0  #: ISO 898-1 lists class 9.8 up to 16 mm: from memory
INCH_CLASS = "grade 8"  #: SAE J429, 150 ksi = 1034 MPa: above class 9.8's 900 MPa; grade 5 (120 ksi = 827 MPa) is below it. From memory
NUTS = {"9.8": "class 9", "10.9": "class 10"}  #: ISO 898-2, from memory


@dataclass(frozen=True, kw_only=True)
class Bolting:
    bolt: BoltSize
    drill_mm: float  #: of the hole in rail and plate
    strength: str  #: "10.9", "grade 8"
    nut: str  #: its class


def bolting_of(doubler: SpringDoubler, frame: Frame, holes: Sequence[PlacedHole], where: str) -> Bolting | Fault | None:
    """One size for all the holes; None where there are none.

    The hole is ISO 273 fine (ASME B18.2.8 close): "drilled to fit", and in every listed size at most the bolt + 1.0 mm (VSB 6).
    """
    if not holes:
        return None
    widest = max(holes, key=lambda h: h.diameter_mm)
    if doubler.bolt is None:
        bolt = next_larger(widest.diameter_mm, metric=frame.units == "mm")
        if bolt is None:
            limit = f"no listed bolt is larger than hole {widest.name} of {widest.diameter_mm:g} mm"
            return Fault(where=where, field="bolt", limit=limit, remedy="leave that hole out")
    else:
        bolt = bolt_size(doubler.bolt)
    most = bolt.diameter_mm + RAIL_PLAY_MM
    if widest.diameter_mm > most + SLACK:
        larger = next_larger(widest.diameter_mm - RAIL_PLAY_MM, metric=bolt.metric)
        limit = f"hole {widest.name} is {widest.diameter_mm:g} mm; in a rail at most the bolt + {RAIL_PLAY_MM:g} mm is allowed: {most:g} mm"
        remedy = f"leave bolt out, or at least {larger.name}" if larger is not None else "leave that hole out"
        return Fault(where=where, field="bolt", value=bolt.name, limit=limit, remedy=remedy)
    if bolt.metric and doubler.strength == "9.8" and bolt.diameter_mm > LARGEST_98_MM:
        limit = f"{bolt.name} bolts are not made in class 9.8: up to M{LARGEST_98_MM:g} (ISO 898-1, from memory)"
        return Fault(where=where, field="strength", value="9.8", limit=limit, remedy='strength = "10.9"')
    drill = clearance_hole(bolt.name, "fine").diameter_mm
    strength, nut = (doubler.strength, NUTS[doubler.strength]) if bolt.metric else (INCH_CLASS, INCH_CLASS)
    return Bolting(bolt=bolt, drill_mm=drill, strength=strength, nut=nut)


def next_larger(diameter_mm: float, *, metric: bool) -> BoltSize | None:
    """The smallest bolt of the tables that is thicker than that; None above the largest."""
    rows = read_table("clearance_metric" if metric else "clearance_inch", ClearanceRow)
    sizes = sorted({bolt_size(r.size) for r in rows}, key=lambda b: b.diameter_mm)
    return next((b for b in sizes if b.diameter_mm > diameter_mm + FITS_MM and _stocked(b)), None)


def _stocked(bolt: BoltSize) -> bool:
    """Whether the tables of heads and washers have it too."""
    try:
        head(bolt.name), washer(bolt.name)
    except BadInput:
        return False
    return True


def bought(bolting: Bolting, grip_mm: float, quantity: int, use: str) -> tuple[HardwareItem, ...]:
    """Bolts with nuts and hardened washers. Raises BadInput: no listed bolt is that long."""
    size = bolting.bolt.name
    return (
        HardwareItem(designation=f"bolt {bolt_length(grip_mm, size).designation} {bolting.strength}", quantity=quantity, use=use),
        HardwareItem(designation=f"nut {size} {bolting.nut}", quantity=quantity, use=use),
        HardwareItem(designation=f"washer {size} hardened", quantity=2 * quantity, use=use),
    )
