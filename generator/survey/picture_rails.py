"""Lines of the rails as drawn, in the planes of both pictures, and where on them damage lies."""

from __future__ import annotations

from collections.abc import Iterator

from generator.survey.damage import KINDS
from parts.frame.features import Condition
from parts.frame.frame import Frame
from parts.frame.placed import PlacedPatch
from parts.frame.rail import Rail
from parts.outline import Point

STEP_MM = 40.0
Lines = tuple[list[Point], list[Point]]


def outline(rail: Rail) -> Lines:
    """(x, y) of the web's outside face and of the toes, from front to rear."""
    s = _steps(rail)
    return [rail.plan.point(t) for t in s], [rail.plan.point(t, rail.section.toe_offset_mm) for t in s]


def edges(rail: Rail) -> Lines:
    """(x, z) of the upper and of the lower edge of the web's outside face, from front to rear."""
    s = _steps(rail)
    upper, lower = ([(rail.plan.point(t)[0], z(t)) for t in s] for z in (rail.profile.upper_z, rail.profile.lower_z))
    return upper, lower


def damaged(frame: Frame) -> Iterator[tuple[PlacedPatch, tuple[str, ...], tuple[Point, Point], tuple[Point, Point]]]:
    """Of each condition: its place, its name and kind, and the part of the rail it takes, as two corners from above, two from the side.

    From above the whole width of the flange; from the side what it takes of the web's height, or the flange alone.
    """
    for patch in frame.placed_conditions:
        own, rail = patch.drawn, frame.rail(patch.side)
        assert isinstance(own, Condition)
        front, rear = (min(max(s, 0.0), rail.length_s_mm) for s in patch.s_range)
        high, low = (z((front + rear) / 2) for z in (rail.profile.upper_z, rail.profile.lower_z))
        if patch.face == "web":
            low, high = patch.across_range
        else:
            low = high = high if patch.face == "upper flange" else low
        above = (rail.plan.point(front), rail.plan.point(rear, rail.section.toe_offset_mm))
        beside = ((rail.plan.point(front)[0], high), (rail.plan.point(rear)[0], low))
        yield patch, (own.name, KINDS[own.kind][1]), above, beside


def _steps(rail: Rail) -> list[float]:
    count = max(2, round(rail.length_s_mm / STEP_MM))
    return sorted({*(rail.length_s_mm * i / count for i in range(count + 1)), *rail.plan.breaks})
