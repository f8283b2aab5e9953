"""Rings round the openings of a rail plate: their shape and place by hand, their weld, what they keep off, and refusals.

The straight plate on the toes lies at y 367 to 370 and z 453 to 597, x 200 to 1200; a ring lies on its seen face, y 367.
"""

from __future__ import annotations

import math
from typing import Any

import numpy as np
import pytest

from generator.rules.judge import judge
from parts.errors import BadInput
from parts.families.rail_plate import PickUp
from parts.families.rail_plate_parts import Ring
from parts.outline import Contour
from parts.shop import Shop
from parts.spec import Position
from tests.families.rail_plates import axes, build, flat_of, hole, near, one, shape_of, straight
from tests.families.test_rail_plate_openings import found, opening
from tests.parts.frame.makers import DEMO_NAMES, at, check_fault, demo_frame, frame, turned


@pytest.mark.parametrize("side", ["left", "right"])
def test_ring_by_hand(side: str) -> None:
    """Opening 60, ring 15 wide and 4 thick: 90 across, on the plate's seen face y 367, reaching to 363. Its fillet: the thinner of 4 and
    3 mm is 3 mm, which no leg needs to exceed (AWS D1.1 table 7.7)."""
    sign = 1 if side == "right" else -1
    plate, ring = build(straight(), side=side, openings=(opening(ring=Ring(width_mm=15.0, thickness_mm=4.0)),))
    assert ring.id == f"plate-{side}-ring-hand" and ring.part.thickness_mm == 4
    assert flat_of(ring).area_mm2 == near(math.pi * (45**2 - 30**2))
    low, high = shape_of(ring).box(ring.placements[0])
    ys = sorted((sign * 363, sign * 367))
    assert low == pytest.approx((455, ys[0], 480), abs=0.01) and high == pytest.approx((545, ys[1], 570), abs=0.01)
    (weld,) = ring.welds
    assert (weld.kind, weld.onto, weld.thickness_mm, weld.leg_mm) == ("fillet", plate.id, (4.0, 3.0), 3.0)
    points = np.array(weld.points)
    assert points[0] == pytest.approx(points[-1]), "all the way round"
    assert points[:, 1] == pytest.approx(sign * 367) and np.hypot(points[:, 0] - 500, points[:, 2] - 525) == pytest.approx(45)
    inner = axes(ring)["opening-hand"]
    assert inner[0] == pytest.approx((500, sign * 367, 525)) and inner[1] == pytest.approx((0, -sign, 0))


def test_a_rectangles_ring_runs_parallel_to_it() -> None:
    """110 x 64 with corners of 20 and 16 mm of steel all round: 142 x 96 with corners of 36."""
    cut = opening(shape="rectangle", length_mm=110.0, height_mm=64.0, corner_radius_mm=20.0, ring=Ring(width_mm=16.0))
    _, ring = build(straight(), openings=(cut,))
    area = 142 * 96 - (4 - math.pi) * 36**2 - (110 * 64 - (4 - math.pi) * 20**2)
    assert flat_of(ring).area_mm2 == near(area) and ring.part.thickness_mm == 3
    outline, (h,) = ring.part.panels[0].contour, ring.part.panels[0].holes
    assert outline.gap(h.contour()) == near(16)


def test_the_outline_of_a_ring_is_etched_on_its_plate_with_gaps() -> None:
    plate, ring = build(straight(), openings=(opening(ring=Ring(width_mm=15.0)),))
    (mark,) = [m for p in plate.part.panels for m in p.marks if m.name == "ring hand"]
    shape = shape_of(plate).places[plate.part.panels[0].name]
    points = np.array([plate.placements[0].point(*shape.point(u, v)) for s in mark.strokes for u, v in s])
    assert np.hypot(points[:, 0] - 500, points[:, 2] - 525) == pytest.approx(45)
    assert all(s[0] != s[-1] for s in mark.strokes)
    assert ring.part.panels[0].labels, "a ring 15 wide has room for its name"


@pytest.mark.parametrize(
    ("values", "limit"),
    [
        # z 510 - 55 = 455, the plate begins at 453; the leg of the weld is 3
        ({"up_mm": 60.0, "ring": Ring(width_mm=25.0)}, "comes within 2.0 mm of the plate's edge; 3 mm must stay"),
        ({"up_mm": 60.0, "ring": Ring(width_mm=30.0)}, "stands 3.0 mm over the plate's edge"),
        ({"at": at("front", 240), "ring": Ring(width_mm=20.0)}, "stands 10.0 mm over the plate's edge"),
        # the pin's edge is at 600 - 8 = 592, the ring's at 540 + 10 + 46 = 596; below at 530 + 60 = 590
        ({"ring": Ring(width_mm=46.0), "diameter_mm": 20.0, "at": at("front", 540)}, "runs into pin"),
        ({"ring": Ring(width_mm=50.0), "at": at("front", 530), "diameter_mm": 20.0}, "comes within 2.0 mm of pin; 3 mm must stay"),
    ],
)
def test_a_ring_that_has_no_room_is_refused_with_the_distance(values: dict[str, Any], limit: str) -> None:
    on = straight(holes=(hole("pin", at("front", 600), 75),))
    check_fault(lambda: one(on, pick_up=(PickUp(hole="pin"),), openings=(opening(**values),)), "part plate", "opening.ring", limit)


def test_a_ring_over_a_bend_is_refused_with_the_distance() -> None:
    """As the opening over a mitre above: a ring of 100 mm at x 1470; its weld keeps 3 mm off the tangent."""
    tangent = 1500 - (60 + 7) * math.tan(math.radians(4))
    cut = opening(at=Position(x_mm=1470), diameter_mm=40.0, ring=Ring(width_mm=30.0))
    with pytest.raises(BadInput, match=rf"opening.ring.*reaches {1520 - tangent:.1f} mm into a bend.*move it {1523 - tangent:.1f} mm"):
        one(frame(turned(radius=0.0)), Shop(inside_radius_mm=4.0), start=Position(x_mm=900), end=Position(x_mm=2200), openings=(cut,))


def test_a_ring_keeps_off_the_fillet_on_a_stepped_plates_face() -> None:
    """The plate's lower edge at z 455, its fillet of 3 to 458, the ring's own of 3: the ring ends at 461 or above."""
    for up, fits in ((61.1, True), (60.9, False)):
        cut = opening(up_mm=up, diameter_mm=60.0, ring=Ring(width_mm=20.0))
        if fits:
            build(straight(), seat="stepped", openings=(cut,))
            continue
        check_fault(lambda c=cut: build(straight(), seat="stepped", openings=(c,)), "part plate", "opening.ring", "comes within 5.9 mm")  # type: ignore[misc]


def test_two_rings_keep_apart() -> None:
    """500 + 45 = 545 and 600 - 45 = 555: 10 mm apart is fine, 2 mm is not."""
    ring = Ring(width_mm=15.0)
    assert len(build(straight(), openings=(opening("a", ring=ring), opening("b", at=at("front", 600), ring=ring)))) == 3
    cuts = (opening("a", ring=ring), opening("b", at=at("front", 592), ring=ring))
    with pytest.raises(BadInput, match=r"comes within 2\.0 mm of ring a"):
        build(straight(), openings=cuts)


@pytest.mark.parametrize("length", [90.0, 200.0])
def test_no_rule_takes_a_ring_for_a_reinforcement_of_the_rail(length: float) -> None:
    """A ring of 230 mm is longer than the rail is deep (150); 2 mm of boxing plate would be too thin, square ends would be told."""
    on, shop = straight(), Shop()
    cut = opening(at=at("front", 700), shape="long-round", length_mm=length, height_mm=50.0, ring=Ring(width_mm=15.0, thickness_mm=2.0))
    pieces = build(on, openings=(cut,))
    found_ = judge(pieces, [flat_of(p) for p in pieces], on, shop).findings
    ring = [f for f in found_ if "ring" in f.where]
    assert not {f.code for f in ring} & {"boxing-thin", "square-end", "reinforcement-thick", "reach-short", "weld-at-flange-edge"}, ring


@pytest.mark.parametrize("name", DEMO_NAMES)
@pytest.mark.parametrize("side", ["left", "right"])
def test_on_the_demo_frames_a_ring_lies_flat_on_its_plate(name: str, side: str) -> None:
    """Whatever the panel: the ring's back face and the plate's seen face are one plane, and its edge lies inside the plate's outline."""
    cut = opening(at=at("pin-rear", 70), shape="long-round", length_mm=60.0, height_mm=30.0, ring=Ring(width_mm=12.0))
    more: dict[str, Any] = {"start": at("mid", 100), "end": at("pin-rear", 200), "crossmembers": "notch"}
    plate, ring = build(demo_frame(name), side=side, openings=(cut,), **more)[:2]
    _, place, panel_name = found(plate, "opening-hand")
    panel = next(p for p in plate.part.panels if p.name == panel_name)
    shape = shape_of(ring).places["plate"]
    origin, normal = np.array(place.origin), np.array(place.normal)
    outline: Contour = ring.part.panels[0].contour
    for u, v in outline.polyline(0.1):
        point = np.array(ring.placements[0].point(*shape.point(u, v)))
        away = point - origin
        assert float(away @ normal) == near(plate.part.thickness_mm)
        assert panel.contour.contains((float(away @ np.array(place.u)), float(away @ np.array(place.v))))
