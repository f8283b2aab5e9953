"""The frame that worked cases stand on: numbers small enough to work with by hand."""

from __future__ import annotations

from typing import Any

from parts.frame.frame import Datum, Frame, Steel, Use
from parts.frame.section import Section
from parts.frame.station import DrawnRail, Station


def worked_frame(**more: Any) -> Frame:
    """Straight and level: webs' outside at y -430 and 430, upper corners at z 600, channel 150 x 60 x 4 open inboard, x 0 to 3000.

    Args:
        more: fields of the frame that a case needs besides: holes, crossmembers, pipes.
    """
    section = Section(flange_mm=60, web_mm=4, flange_thickness_mm=4, inside_radius_mm=4, open="inboard")
    ends = (
        Station(name="front", x_mm=0, y_mm=430, z_mm=600, depth_mm=150),
        Station(name="rear", x_mm=3000, y_mm=430, z_mm=600, depth_mm=150),
    )
    return Frame(
        format=1,
        name="worked",
        units="mm",
        steel=Steel(grade="mild steel", heat_treated="no"),
        use=Use(road=False, commercial=False),
        datum=Datum(x="front end", z="floor"),
        rails=(DrawnRail(side="both", section=section, stations=ends),),
        **more,
    )
