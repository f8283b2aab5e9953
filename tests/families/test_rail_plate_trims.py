"""Trim lines of a rail plate: where they lie by hand, what they keep off, their names, and refusals.

The straight plate: x 200 to 1200, z 453 to 597, back face y 370, or -370 on the left.
"""

from __future__ import annotations

import math
from itertools import pairwise
from typing import Any

import numpy as np
import pytest

from parts.errors import BadInput
from parts.families.rail_plate import PickUp
from parts.families.rail_plate_parts import Opening, Recess, Ring, Trim
from parts.features.marks import ring_of
from parts.outline import Segment
from parts.piece import Piece
from parts.sheet import Panel
from parts.shop import Shop
from parts.spec import Position
from tests.families.rail_plates import KICK, TURN, build, crossmember, flat_of, hole, near, one, shape_of, straight, swept
from tests.families.test_rail_plate_rows import S_BEND, SLOPE_RUN
from tests.parts.frame.makers import DEMO_NAMES, at, check_fault, demo_frame, frame, turned


def trim(name: str = "end", **values: Any) -> Trim:
    given: dict[str, Any] = {"name": name, "at": at("front", 500)} | values
    return Trim(**given)


def etched(piece: Piece, name: str = "trim end") -> list[tuple[np.ndarray, np.ndarray]]:
    """Both ends of every stroke in vehicle axes, the upper one first."""
    out, shape, place = [], shape_of(piece), piece.placements[0]
    for panel in piece.part.panels:
        for mark in panel.marks:
            if mark.name == name:
                for stroke in mark.strokes:
                    ends = [np.array(place.point(*shape.places[panel.name].point(*p, piece.part.thickness_mm))) for p in stroke]
                    out.append((ends[0], ends[1]) if ends[0][2] > ends[1][2] else (ends[1], ends[0]))
    return sorted(out, key=lambda s: -s[0][2])


@pytest.mark.parametrize("side", ["left", "right"])
def test_square_by_hand(side: str) -> None:
    """At x 500 from 0.5 mm under the upper edge, z 597, to 0.5 over the lower one, 453; on the seen face, y 367."""
    ((upper, lower),) = etched(one(straight(), side=side, trims=(trim(),)))
    y = 367 if side == "right" else -367
    assert upper == pytest.approx((500, y, 596.5)) and lower == pytest.approx((500, y, 453.5))


@pytest.mark.parametrize(("angle", "run"), [(60.0, 144 / math.tan(math.radians(60))), (120.0, -144 / math.tan(math.radians(60)))])
@pytest.mark.parametrize("side", ["left", "right"])
def test_at_an_angle_by_hand(angle: float, run: float, side: str) -> None:
    """144 mm high at 60 deg: 83.1 mm along; under 90 deg the lower end lies to the rear. 0.5 mm are kept off along the line."""
    ((upper, lower),) = etched(one(straight(), side=side, trims=(trim(angle_deg=angle),)))
    length = math.hypot(144, run)
    off = 0.5 / length
    assert (upper[0], upper[2]) == pytest.approx((500 + off * run, 597 - off * 144))
    assert (lower[0], lower[2]) == pytest.approx((500 + run - off * run, 453 + off * 144))


@pytest.mark.parametrize("side", ["left", "right"])
def test_on_the_kicked_swept_rail_it_is_square_to_the_rail(side: str) -> None:
    """500 before the rear end on the upper corner's line: from the point there, 3 mm square in, straight down the square to the slope."""
    sign = 1 if side == "right" else -1
    cut = trim(at=at("rear", -500))
    piece = one(swept(), side=side, start=Position(x_mm=900), end=at("rear", -150), trims=(cut,))
    ((upper, lower),) = etched(piece)
    rearward = np.array((math.cos(KICK) * math.cos(TURN), -sign * math.cos(KICK) * math.sin(TURN), math.sin(KICK)))
    assert float((upper - lower) @ rearward) == near(0, 1e-6)
    # depth there: 100 at the rear end, 50 more over the run; the plate keeps 3 mm off both, the lower edge runs atan(50 / run) steeper
    depth = 100 + 50 * 500 / SLOPE_RUN
    assert math.dist(upper, lower) == near(depth - 3 - 3 / math.cos(math.atan(50 / SLOPE_RUN)) - 1.0, 0.02)
    s_rear = S_BEND + SLOPE_RUN * math.cos(KICK)
    z = 600 + SLOPE_RUN * math.sin(KICK) - 500 * math.sin(KICK) - 3.5 * math.cos(KICK)
    s = s_rear - 500 * math.cos(KICK) + 3.5 * math.sin(KICK)
    assert upper[2] == near(z, 0.01)
    web_x = 2500 - (s_rear - s) * math.cos(TURN)
    assert upper[0] == near(web_x - 63 * math.sin(TURN), 0.01), "the seen face lies 63 off the web"


def test_it_breaks_round_openings() -> None:
    """A pin hole of 16 in its middle, at z 525: 1 mm is kept off its edge."""
    on = straight(holes=(hole("pin", at("front", 500), 75),))
    (a, b), (c, d) = etched(one(on, pick_up=(PickUp(hole="pin"),), trims=(trim(),)))
    assert (a[2], b[2], c[2], d[2]) == pytest.approx((596.5, 534, 516, 453.5))


def test_it_is_not_etched_under_a_ring_and_that_is_told() -> None:
    """An opening of 60 at z 525 with a ring of 15: nothing from 525 - 46 to 525 + 46."""
    cut = Opening(name="hand", at=at("front", 500), diameter_mm=60.0, ring=Ring(width_mm=15.0))
    piece, _ = build(straight(), openings=(cut,), trims=(trim(),))
    (a, b), (c, d) = etched(piece)
    assert (a[2], b[2], c[2], d[2]) == pytest.approx((596.5, 571, 479, 453.5))
    assert any("trim line end runs over ring hand" in n for n in piece.notes)


@pytest.mark.parametrize("side", ["left", "right"])
def test_its_name_stands_beside_it_and_clear_of_everything(side: str) -> None:
    piece = one(straight(), side=side, trims=(trim(), trim("other", at=at("front", 560), label="take off for the long axle")))
    (panel,) = piece.part.panels
    assert {label.text for label in panel.labels} == {f"plate-{side}", "trim end", "take off for the long axle"}
    labels_are_clear(panel)
    assert not any("no room to etch its name" in n for n in piece.notes)


def test_names_read_from_left_to_right_over_the_same_place_on_both_sides() -> None:
    """The left plate is seen from its other side: its sheet is the right one's mirror image, but no text is. In the vehicle both names
    take up the same x and z; both run square to the rail."""
    boxes = []
    for side in ("left", "right"):
        piece = one(straight(), side=side, trims=(trim(),))
        (panel,) = piece.part.panels
        (label,) = [t for t in panel.labels if t.text == "trim end"]
        assert abs(label.angle_deg) == near(90)
        points = [piece.placements[0].point(u, v) for u, v in ring_of(label).points]
        boxes.append((min(p[0] for p in points), max(p[0] for p in points), min(p[2] for p in points), max(p[2] for p in points)))
        assert boxes[-1][0] > 500, "rearward of its line, where there is room"
    # the letters' tails hang a fifth of their height to the other side
    assert boxes[0] == pytest.approx(boxes[1], abs=2 * 0.2 * 8.0)
    assert boxes[0][2:] == pytest.approx(boxes[1][2:])


def labels_are_clear(panel: Panel) -> None:
    boxes = [ring_of(one) for one in panel.labels]
    strokes = [Segment(a, b) for m in panel.marks for s in m.strokes for a, b in pairwise(s)]
    for i, box in enumerate(boxes):
        assert panel.contour.contains(box.points[0]) and panel.contour.gap(box) > 0.5
        others = boxes[:i] + [h.contour() for h in panel.holes]
        assert all(o.gap(box) > 0.5 and not o.contains(box.points[0]) and not box.contains(o.points[0]) for o in others)
        assert min(s.gap(e) for s in strokes for e in box.segments) > 0.2


def test_a_name_without_room_is_told() -> None:
    piece = one(straight(), trims=(trim(label="a name that is a good deal longer than it"),), height_mm=30.0)
    assert any("no room to etch its name beside it" in n for n in piece.notes) and etched(piece)


@pytest.mark.parametrize("frame_name", DEMO_NAMES)
@pytest.mark.parametrize("side", ["left", "right"])
def test_on_the_demo_frames(frame_name: str, side: str) -> None:
    """Both ends half a millimetre inside the flat pattern's outline, whatever the panel, and read clear of everything."""
    more: dict[str, Any] = {"start": at("mid", 100), "end": at("pin-rear", 250), "crossmembers": "notch"}
    piece = build(demo_frame(frame_name), side=side, trims=(trim(at=at("pin-rear", 60)),), **more)[0]
    flat = flat_of(piece)
    (mark,) = [m for m in flat.marks if m.name == "trim end"]
    ends = [mark.strokes[0][0], mark.strokes[-1][-1]]
    assert [flat.contour.distance(p) for p in ends] == [near(0.5, 0.15), near(0.5, 0.15)]
    assert all(flat.contour.contains(p) for p in ends)
    for panel in piece.part.panels:
        labels_are_clear(panel)


def test_it_is_not_cut() -> None:
    """The flat pattern's outline and holes are those of the plate without it."""
    plain, lined = flat_of(one(straight())), flat_of(one(straight(), trims=(trim(),)))
    assert (plain.contour, plain.holes) == (lined.contour, lined.holes)


# A mitre of 8 deg inwards at x 1500: the bend's tangent on the toes is (60 + 7) tan 4 deg before it.
TANGENT = 1500 - 67 * math.tan(math.radians(4))


@pytest.mark.parametrize(
    ("x", "angle", "limit"),
    [
        (TANGENT - 0.2, 90.0, "runs within 0.2 mm of a bend"),
        (TANGENT + 2.0, 90.0, "an end, a bend or a cut from the edge is in its way"),
        (1450.0, 60.0, "an end, a bend or a cut from the edge is in its way"),  # 83 mm along
    ],
)
def test_it_is_refused_over_a_bend(x: float, angle: float, limit: str) -> None:
    on, cut = frame(turned(radius=0.0)), trim(at=Position(x_mm=x), angle_deg=angle)
    more: dict[str, Any] = {"start": Position(x_mm=900), "end": Position(x_mm=2200)}
    with pytest.raises(BadInput, match=limit):
        one(on, Shop(inside_radius_mm=4.0), trims=(cut,), **more)


@pytest.mark.parametrize(
    ("values", "more", "limit"),
    [
        ({"at": at("front", 1150)}, {"rear_end": "angled"}, "an end, a bend or a cut from the edge is in its way"),
        ({"at": at("front", 1150), "angle_deg": 60.0}, {}, "an end, a bend or a cut from the edge is in its way"),
        ({"at": at("front", 1300)}, {}, "end is not on the plate: it lies at s = 1300 mm"),
        ({"at": at("frnt")}, {}, "no place"),
    ],
)
def test_it_is_refused_off_the_plate(values: dict[str, Any], more: dict[str, Any], limit: str) -> None:
    with pytest.raises(BadInput, match=limit) as caught:
        one(straight(), trims=(trim(**values),), **more)
    (fault,) = caught.value.faults
    assert fault.field.startswith("trim.at") and fault.remedy


def test_it_is_refused_into_a_recess_and_over_an_opening() -> None:
    recess = Recess(name="r", edge="lower", at=at("front", 500), length_mm=60.0, depth_mm=30.0)
    check_fault(lambda: one(straight(), recesses=(recess,), trims=(trim(),)), "part plate", "trim.at", "a cut from the edge")
    cut = Opening(name="o", at=at("front", 500), shape="rectangle", length_mm=40.0, height_mm=142.0)
    check_fault(lambda: one(straight(), openings=(cut,), trims=(trim(),)), "part plate", "trim.at", "wholly over openings")


def test_in_another_piece_of_a_split_plate() -> None:
    first, second = build(straight(crossmembers=(crossmember("cm", 700),)), trims=(trim(at=at("front", 1000)),))
    assert not etched(first) and len(etched(second)) == 1


def test_two_of_one_name_are_refused() -> None:
    check_fault(lambda: one(straight(), trims=(trim(), trim())), "part plate", "trim.name", "two of them")
