"""Pieces shown apart by a plane between them: laid out by hand, and never against what the kernel finds them to share."""

from __future__ import annotations

import math
import random
from typing import Any

import pytest

from parts.bend_zone import BendZone
from parts.hulls import Rows, panel_hull, zone_hull
from parts.outline import Contour, rectangle
from parts.sheet import Bend, Panel, SheetPart

T = 3.0
GAP_MM = 1e-4


def moved(x: float, y: float, z: float, about_z_deg: float = 0.0) -> Rows:
    c, s = math.cos(math.radians(about_z_deg)), math.sin(math.radians(about_z_deg))
    return [[c, -s, 0, x], [s, c, 0, y], [0, 0, 1, z]]


def plate(contour: Contour) -> Panel:
    return Panel(name="p", contour=contour)


@pytest.mark.parametrize(
    ("rows", "apart"),
    [
        (moved(100.001, 0, 0), True),
        (moved(100.0, 0, 0), False),  # touching is left to the kernel
        (moved(99.0, 0, 0), False),
        (moved(0, 0, 3.001), True),
        (moved(0, 0, 2.9), False),
        # Turned by 45 deg, the other's foremost corner lies 50 / sqrt 2 = 35.355 before the one it turned about.
        (moved(135.36, 0.0, 0, 45), True),
        (moved(135.35, 0.0, 0, 45), False),
    ],
)
def test_two_plates_of_100_by_50(rows: Rows, apart: bool) -> None:
    one = panel_hull(plate(rectangle(0, 0, 100, 50)), T)
    assert one.apart(one.moved(rows), GAP_MM) is apart
    assert one.moved(rows).apart(one, GAP_MM) is apart


def test_an_arc_is_held_by_its_box() -> None:
    # A half circle of radius 25 on the edge at x = 100 reaches to x = 125.
    round_end = Contour(((0, 0), (100, 0), (100, 50), (0, 50)), (0, 1.0, 0, 0))
    one, other = panel_hull(plate(round_end), T), panel_hull(plate(rectangle(0, 0, 10, 50)), T)
    assert not one.apart(other.moved(moved(124.9, 0, 0)), GAP_MM)
    assert one.apart(other.moved(moved(125.1, 0, 0)), GAP_MM)


def test_a_bend_lies_in_the_hull_of_its_poles_and_beside_its_panels() -> None:
    part = SheetPart(
        name="ell",
        thickness_mm=T,
        panels=(Panel(name="a", contour=rectangle(0, 0, 100, 80)), Panel(name="b", contour=rectangle(10, 0, 70, 40))),
        bends=(Bend(parent="a", child="b", edge=2, angle_deg=90, inside_radius_mm=4),),
    )
    hull = zone_hull(BendZone.of(part, part.bends[0]))
    assert max(p[1] for p in hull.points) == pytest.approx(7.0)  # r + t beyond the edge
    assert min(p[1] for p in hull.points) == pytest.approx(0.0)
    assert {round(p[0], 9) for p in hull.points} == {0.0, 100.0, 10.0, 70.0, 5.0, 85.0}  # ends, and the poles' means between


def test_what_is_shown_apart_shares_nothing_in_the_kernel() -> None:
    """Random pairs: the quick test may miss a gap, but must never see one that is not there."""
    from OCP.BRepAlgoAPI import BRepAlgoAPI_Common

    from parts.solid import shape, solids_of

    chance = random.Random(20)
    shown = 0
    for _ in range(40):
        panels = [plate(Contour(tuple(corners(chance)), (0.0, chance.choice((0.0, 0.6)), 0.0, 0.0))) for _ in range(2)]
        one, two = (shape(SheetPart(name="p", thickness_mm=T, panels=(p,))) for p in panels)
        rows = moved(chance.uniform(-90, 90), chance.uniform(-90, 90), chance.uniform(-2, 2), chance.uniform(0, 360))
        if panel_hull(panels[0], T).apart(panel_hull(panels[1], T).moved(rows), GAP_MM):
            shown += 1
            assert solids_of(BRepAlgoAPI_Common(one, placed(two, rows)).Shape()) == []
    assert 5 < shown < 35  # both answers were met


def corners(chance: random.Random) -> list[tuple[float, float]]:
    """A convex four-sided outline, counter-clockwise."""
    return [(chance.uniform(0, 20), 0.0), (chance.uniform(50, 80), 0.0), (chance.uniform(50, 80), 50.0), (chance.uniform(0, 20), 50.0)]


def placed(made: Any, rows: Rows) -> Any:
    from OCP.gp import gp_Trsf
    from OCP.TopLoc import TopLoc_Location

    trsf = gp_Trsf()
    trsf.SetValues(*rows[0], *rows[1], *rows[2])
    return made.Moved(TopLoc_Location(trsf))
