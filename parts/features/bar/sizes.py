"""The least sizes of a bar that a brake and a hole's edge allow."""

from __future__ import annotations

from typing import TYPE_CHECKING

from parts.features.bar.lie import Lie
from parts.vectors import dot, minus

if TYPE_CHECKING:
    from parts.families.fixture_bar import FixtureBar

EDGE_THICKNESSES = 2.0  #: hole edge to the bar's own edge, and to a flange's bend plus its radius: TM 9-2320-289-34 p. 9-7; trade pages
EDGE_RADIUS_MM = 3.0  #: on free corners, for the hands. Common practice, no source
FLANGE_THICKNESSES = 5.6  #: least bent leg over all: about 0.7 of a die 8 thicknesses wide (tool charts for air bending)


def least_width_mm(bar: FixtureBar, lie: Lie) -> float:
    """Over all: for the seats' holes with the steel beside them, and of a channel for its two bends."""
    t, corner = bar.thickness_mm, bar.thickness_mm + lie.inside_radius_mm
    reach = max(abs(dot(minus(p, end.middle), lie.across)) + end.hole_mm / 2 for end in lie.ends for p in end.seat.points)
    if bar.form == "flat":
        return 2 * (reach + EDGE_THICKNESSES * t)
    return 2 * corner + max(FLANGE_THICKNESSES * t, 2 * (reach + EDGE_THICKNESSES * t + lie.inside_radius_mm))


def least_flange_mm(bar: FixtureBar, lie: Lie) -> float:
    """Of a channel's flanges, over all."""
    return max(FLANGE_THICKNESSES * bar.thickness_mm, bar.thickness_mm + lie.inside_radius_mm + EDGE_RADIUS_MM + 1.0)
