"""The flat faces that a gusset may stand on, on rails of every section and opening and on crossmembers, worked by hand.

Rails 150 deep, webs' outsides at y -430 and 430, z 450 to 600. Crossmembers at x 1800.
"""

from __future__ import annotations

import math
from typing import Any

import numpy as np
import pytest

from parts.families.gusset import Place
from parts.features.flat_faces import crossmember_faces, flange_at, web_at
from parts.frame import Frame
from parts.frame.offers import FlatFace
from parts.shop import Shop
from parts.spec import Position
from tests.families.gussets import cross, cross_section, gusset, kit, seat, straight, swept, under_seat
from tests.families.test_gusset_tabs import nose
from tests.parts.frame.makers import STRAIGHT, at, drawn, faults_of, frame, hole, kicked, section, station

EXACT = 1e-6
SIDES = ("left", "right")


def rails(**fields: Any) -> Frame:
    holes = (hole(name="web", at=None, x_mm=900.0, up_mm=60.0, diameter_mm=12),
             hole(name="up", at=None, x_mm=900.0, up_mm=None, face="upper flange", in_mm=25.0, diameter_mm=12),
             hole(name="down", at=None, x_mm=900.0, up_mm=None, face="lower flange", in_mm=25.0, diameter_mm=12))  # fmt: skip
    return frame(drawn(*STRAIGHT.stations, section=section(flange_thickness_mm=6, **fields)), holes=holes)


def spans(face: FlatFace) -> list[tuple[float, float]]:
    points = np.array([face.placement.point(*p) for p in face.outline.points])
    return [(float(low), float(high)) for low, high in zip(points.min(axis=0), points.max(axis=0), strict=True)]


def hole_places(face: FlatFace) -> list[tuple[float, float, float]]:
    return [face.placement.point(*h.centre) for h in face.holes]


@pytest.mark.parametrize(
    ("fields", "y", "low"),
    [
        ({}, 426.0, 460.0),  # inside: flange 6 and radius 4
        ({"open": "outboard"}, 430.0, 458.0),  # the web's back: outside radius 4 + 4
        ({"kind": "closed"}, 370.0, 458.0),  # the outside of its second web, 60 further in
        ({"kind": "hat", "lip_mm": 20}, 426.0, 460.0),
    ],
)
@pytest.mark.parametrize("side", SIDES)
def test_the_web_that_looks_inboard(fields: dict[str, Any], y: float, low: float, side: Any) -> None:
    face = web_at(rails(**fields), side, 900.0, Shop(), "part x")
    sign = 1.0 if side == "right" else -1.0
    assert spans(face)[1] == pytest.approx((sign * y, sign * y), abs=EXACT)
    assert spans(face)[2] == pytest.approx((low, 1050.0 - low), abs=EXACT)
    assert face.placement.normal == pytest.approx((0.0, -sign, 0.0), abs=EXACT)
    assert hole_places(face) == [pytest.approx((900.0, sign * y, 510.0), abs=EXACT)]


@pytest.mark.parametrize("way", [1.0, -1.0])
@pytest.mark.parametrize("side", SIDES)
def test_flanges(way: float, side: Any) -> None:
    """From the outside radius, 8, to the toe at 60, off the web towards the open side; holes 25 in."""
    on = rails(open="inboard" if way > 0 else "outboard")
    sign = 1.0 if side == "right" else -1.0
    for name, z, up in (("upper flange", 600.0, 1.0), ("lower flange", 450.0, -1.0)):
        face = flange_at(on, side, name, 900.0, "part x")  # type: ignore[arg-type]
        ys = sorted(sign * (430.0 - way * off) for off in (8.0, 60.0))
        assert spans(face)[1:] == [pytest.approx(tuple(ys), abs=EXACT), pytest.approx((z, z), abs=EXACT)]
        assert face.placement.normal == pytest.approx((0.0, 0.0, up), abs=EXACT)
        assert hole_places(face) == [pytest.approx((900.0, sign * (430.0 - 25.0 * way), z), abs=EXACT)]


#: 120 along the vehicle, 110 high, z 470 to 580, 4 mm, radius 4: a corner takes 8; a hat's lips 25.
HAT = {"kind": "hat", "depth_mm": 110, "width_mm": 120, "lip_mm": 25}
FACES: list[tuple[dict[str, Any], str, dict[str, tuple[float, float, float, float]]]] = [
    # name: x from, to, z from, to
    (HAT, "down", {"top": (1773, 1827, 580, 580), "front": (1765, 1765, 478, 572), "rear": (1835, 1835, 478, 572)}),
    (HAT, "up", {"underside": (1773, 1827, 470, 470), "front": (1765, 1765, 478, 572), "rear": (1835, 1835, 478, 572)}),
    (HAT, "rearward", {"front": (1740, 1740, 503, 547), "top": (1748, 1852, 555, 555), "underside": (1748, 1852, 495, 495)}),
    (HAT, "forward", {"rear": (1860, 1860, 503, 547), "top": (1748, 1852, 555, 555), "underside": (1748, 1852, 495, 495)}),
    ({}, "rearward", {"front": (1775, 1775, 488, 572), "top": (1783, 1825, 580, 580), "underside": (1783, 1825, 480, 480)}),
    ({"kind": "closed"}, "rearward", {"front": (1775, 1775, 488, 572), "rear": (1825, 1825, 488, 572), "top": (1783, 1817, 580, 580),
                                      "underside": (1783, 1817, 480, 480)}),
]  # fmt: skip


@pytest.mark.parametrize(("fields", "opens", "expected"), FACES)
def test_crossmembers(fields: dict[str, Any], opens: Any, expected: dict[str, tuple[float, float, float, float]]) -> None:
    on = straight(section=cross_section(**fields), opens=opens, drop_mm=20.0)
    found = crossmember_faces(on, on.crossmember("cm"))
    assert set(found) == set(expected)
    for name, (x0, x1, z0, z1) in expected.items():
        assert spans(found[name]) == [pytest.approx(s, abs=EXACT) for s in ((x0, x1), (-426.0, 426.0), (z0, z1))]
        ways = {"front": (-1, 0, 0), "rear": (1, 0, 0), "top": (0, 0, 1), "underside": (0, 0, -1)}
        assert found[name].placement.normal == pytest.approx(ways[name], abs=EXACT)


def test_a_crossmember_ends_on_the_webs_of_swept_rails() -> None:
    """Its top's corners lie on both rails' inside faces, 4 mm off the web's outside, where these run in by 8 deg."""
    on = swept()
    top = crossmember_faces(on, on.crossmember("cm"))["top"]
    for u, v in top.outline.points:
        point = top.placement.point(u, v)
        assert on.rail("left" if point[1] < 0 else "right").szo(point)[2] == pytest.approx(4.0, abs=EXACT)


def uneven() -> Frame:
    """The left rail 10 mm higher and a named place on it 6 mm further back."""
    right = drawn(station("front", 0), station("here", 800), station("mid", 1800), station("rear", 3600), side="right")
    left = drawn(station("front", 0, y=-430, z=610), station("here", 806, y=-430, z=610), station("mid", 1800, y=-430, z=610),
                 station("rear", 3600, y=-430, z=610), side="left")  # fmt: skip
    return frame(left, right, crossmembers=(cross(),))


def test_where_the_rails_disagree_a_pair_is_level_and_square_midway() -> None:
    """60 down from z 600 and 610: z 545 on both; a place at x 800 and 806: 803 on both."""
    pieces = gusset(places=(Place(drop_mm=60.0),)).build(uneven())
    assert [at_.point(0, 0, 2.0)[2] for p in pieces for at_ in p.placements] == [pytest.approx(545.0, abs=EXACT)] * 2
    made = kit(uneven(), seat(width_mm=160.0, at=Position(x_mm=780.0)), under_seat(tabs_to=0, places=(Place(at=at("here")),)))
    found = [at_.point(0, 0, 2.0)[0] for p in made.values() if p.family == "gusset" for at_ in p.placements]
    assert found == [pytest.approx(803.0, abs=EXACT)] * 2


def test_a_leg_on_a_slope_ends_where_its_upper_fillet_does() -> None:
    """The rail rises by 18 deg; its web is flat up to 8 mm, square, under its upper face. Going forward from x 2075 that comes down: over
    the plate's middle plane z + 2 + 4 it is met 60.3 mm from the corner; the middle plane itself would have 6 / tan 18 = 18.5 mm more."""
    tan, cos = math.tan(math.radians(18)), math.cos(math.radians(18))
    z = 600.0 + (2075.0 - 60.3 - 1500.0) * tan - 8.0 / cos - 6.0
    on = frame(kicked(), crossmembers=(cross(at=None, x_mm=2100.0),))
    make: dict[str, Any] = {"side": "right", "places": (Place(z_mm=z),), "leg_to_mm": 60.0}
    (fault,) = faults_of(lambda: gusset(leg_on_mm=70.0, **make).build(on))
    assert (fault.field, fault.remedy.split(",")[0]) == ("leg_on", "at most 60 mm")
    gusset(leg_on_mm=60.0, **make).build(on)


def test_a_tab_is_as_long_as_what_it_goes_through_is_thick() -> None:
    """A seat of 6 mm, a gusset of 4: the tab ends at the seat's upper face, z 600 - 30."""
    made = kit(frame(), seat(thickness_mm=6.0), under_seat(side="right"))
    assert nose(made["prop-right"], "to", 0)[:, 2] == pytest.approx(570.0, abs=EXACT)
