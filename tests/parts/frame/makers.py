"""Small frames to test with: a straight one, and one with a kick, a turn and a taper."""

from __future__ import annotations

import math
from collections.abc import Callable
from pathlib import Path
from typing import Any

import pytest

from generator.job import read_frame
from parts.errors import BadInput, Fault
from parts.frame import Frame
from parts.frame.crossmember import Crossmember, CrossmemberSection
from parts.frame.features import BodyMount, FrameHole
from parts.frame.frame import Datum, Steel, Use
from parts.frame.section import Section
from parts.frame.station import DrawnRail, Station
from parts.spec import Position

DEMO = Path(__file__).parents[3] / "generator" / "demo"
DEMO_NAMES = ("orchard-flatbed", "river-wagon", "mill-pickup")
CHANNEL = Section(flange_mm=60, web_mm=4, flange_thickness_mm=4, inside_radius_mm=4, open="inboard")


def station(name: str, x: float, y: float = 430.0, z: float = 600.0, depth: float = 150.0, turn: float = 0.0, kick: float = 0.0) -> Station:
    return Station(name=name, x_mm=x, y_mm=y, z_mm=z, depth_mm=depth, turn_radius_mm=turn, kick_radius_mm=kick)


def drawn(*stations: Station, side: Any = "both", section: Section = CHANNEL) -> DrawnRail:
    return DrawnRail(side=side, section=section, stations=stations)


STRAIGHT = drawn(station("front", 0), station("mid", 1800), station("rear", 3600))


def frame(*rails: DrawnRail, **fields: Any) -> Frame:
    return Frame(
        format=1,
        name="test frame",
        units="mm",
        steel=Steel(grade="mild steel", heat_treated="no"),
        use=Use(road=True, commercial=False),
        datum=Datum(x="front end", z="floor"),
        rails=rails or (STRAIGHT,),
        **fields,
    )


def at(name: str, offset: float = 0.0) -> Position:
    return Position(at=name, offset_mm=offset)


def turned(angle_deg: float = -8.0, radius: float = 400.0, **changes: Any) -> DrawnRail:
    """Straight to x = 1500, then a plan turn of `angle_deg` (+ to the right) for 1000 mm along x."""
    rise = 1000 * math.tan(math.radians(angle_deg))
    return drawn(station("front", 0), station("turn", 1500, turn=radius), station("rear", 2500, y=430 + rise), **changes)


def kicked(angle_deg: float = 18.0, radius: float = 300.0, depth: float = 150.0, rear_depth: float | None = None) -> DrawnRail:
    """Level to x = 1500, then up at `angle_deg` for 1000 mm along x."""
    rise = 1000 * math.tan(math.radians(angle_deg))
    return drawn(
        station("front", 0, depth=depth),
        station("kick", 1500, depth=depth, kick=radius),
        station("rear", 2500, z=600 + rise, depth=depth if rear_depth is None else rear_depth),
    )


def demo_frame(name: str) -> Frame:
    return read_frame(f"demo:{name}")


def hole(**fields: Any) -> FrameHole:
    return FrameHole(**{"name": "pin", "at": at("mid"), "up_mm": 75.0, "diameter_mm": 16, **fields})


def cross(**fields: Any) -> Crossmember:
    section = fields.pop("section", cross_section())
    return Crossmember(**{"name": "cm", "at": at("mid"), "section": section, "drop_mm": 25, **fields})


def cross_section(**fields: Any) -> CrossmemberSection:
    return CrossmemberSection(**{"kind": "channel", "depth_mm": 100, "width_mm": 50, "thickness_mm": 4, "inside_radius_mm": 4, **fields})


def section(**fields: Any) -> Section:
    return Section(**{"flange_mm": 60, "web_mm": 4, "flange_thickness_mm": 4, "inside_radius_mm": 4, "open": "inboard", **fields})


def mount(**fields: Any) -> BodyMount:
    return BodyMount(
        **{"name": "cab", "at": at("mid"), "out_mm": 55, "hole_mm": 13, "length_mm": 80, "width_mm": 110, "thickness_mm": 6, **fields}
    )


def faults_of(make: Callable[[], Any]) -> tuple[Fault, ...]:
    with pytest.raises(BadInput) as caught:
        make()
    return caught.value.faults


def check_fault(make: Callable[[], Any], where: str, field: str, limit: str) -> None:
    """`make` is refused for this one reason."""
    found = faults_of(make)
    assert [(f.where, f.field) for f in found] == [(where, field)], "\n".join(str(f) for f in found)
    assert limit in found[0].limit
