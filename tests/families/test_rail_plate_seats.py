"""Where a rail plate lies: every seat on a straight and on a kicked, swept, tapering frame. Numbers worked by hand, in each docstring."""

from __future__ import annotations

import math
from dataclasses import replace
from typing import Any

import numpy as np
import pytest

from parts.bending import KFactor
from parts.families.rail_plate import PickUp, RailPlate
from parts.flat import unfold
from parts.frame import Frame
from parts.frame.section import Section
from parts.shop import Shop
from parts.spec import Position
from tests.families.rail_plates import (
    DEG,
    KICK,
    RADIUS,
    TURN,
    axes,
    box,
    build,
    check_piece,
    codes,
    flat_of,
    hole,
    one,
    shape_of,
    straight,
    swept,
)  # fmt: skip
from tests.parts.frame.makers import CHANNEL, at, drawn, frame, kicked, station

HAT = Section(kind="hat", flange_mm=60, web_mm=4, flange_thickness_mm=4, inside_radius_mm=4, open="inboard", lip_mm=20)
CLOSED = Section(kind="closed", flange_mm=60, web_mm=4, flange_thickness_mm=4, inside_radius_mm=4, open="inboard")
OUTBOARD = replace(CHANNEL, open="outboard")

# Right rail: web outside y 430, toes y 370, z 450 to 600; 4 mm steel, 4 mm inside radius, so 8 mm outside. Plate 3 mm, leg 3 mm, gap 1 mm.
#   toes      on y 370, inboard of it; 3 mm inside the flanges' outer faces
#   bevelled  level with the flanges' outer faces
#   flush     seen face on y 370; 4 + 1 mm inside the outer faces
#   stepped   16 mm further in: seen face on y 386
#   outside   on y 430, outboard of it; clear of the 8 mm corner by the 3 mm leg
#   inside    on y 426, inboard of it; clear of flange 4 + corner 4 by the leg
SEATED: dict[str, tuple[dict[str, Any], tuple[float, float], tuple[float, float]]] = {
    "toes": ({"seat": "toes"}, (367, 370), (453, 597)),
    "bevelled": ({"seat": "toes", "edge": "bevelled"}, (367, 370), (450, 600)),
    "flush": ({"seat": "flush"}, (370, 373), (455, 595)),
    "stepped": ({"seat": "stepped", "step_mm": 16}, (386, 389), (455, 595)),
    "outside": ({"seat": "outside"}, (430, 433), (461, 589)),
    "inside": ({"seat": "inside"}, (423, 426), (461, 589)),
}


@pytest.mark.parametrize("case", SEATED)
@pytest.mark.parametrize("side", ["right", "left"])
def test_seats_of_an_inboard_channel(case: str, side: str) -> None:
    parameters, (y0, y1), (z0, z1) = SEATED[case]
    low, high = box(one(straight(), side=side, **parameters))
    y = (y0, y1) if side == "right" else (-y1, -y0)
    assert low == pytest.approx((200, y[0], z0), abs=1e-9)
    assert high == pytest.approx((1200, y[1], z1), abs=1e-9)


@pytest.mark.parametrize(
    ("seat", "y0", "y1"),
    [("toes", 490, 493), ("flush", 487, 490), ("stepped", 471, 474), ("outside", 427, 430), ("inside", 434, 437)],
)
def test_seats_of_an_outboard_channel(seat: str, y0: float, y1: float) -> None:
    """Open to the right on the right rail: toes at y 430 + 60; the web's outside looks inboard, so that plate stands inboard of y 430."""
    low, high = box(one(straight(OUTBOARD), seat=seat))
    assert (low[1], high[1]) == pytest.approx((y0, y1), abs=1e-9)


def test_seats_of_a_hat() -> None:
    """Toes: on the lips, 20 mm past the flanges' outer faces, less the leg: z 450 - 20 + 3 to 600 + 20 - 3. Its welds are on the lips."""
    piece = one(straight(HAT), seat="toes")
    low, high = box(piece)
    assert (low[2], high[2]) == pytest.approx((433, 617))
    assert {w.onto for w in piece.welds} == {"rail right lower lip", "rail right upper lip"}
    low, high = box(one(straight(HAT), seat="toes", edge="bevelled"))
    assert (low[2], high[2]) == pytest.approx((430, 620))
    low, high = box(one(straight(HAT), seat="flush"))
    assert (low[2], high[2]) == pytest.approx((455, 595))


def test_a_closed_section_takes_a_plate_outside() -> None:
    low, high = box(one(straight(CLOSED), seat="outside"))
    assert (low[1], high[1], low[2], high[2]) == pytest.approx((430, 433, 461, 589))


@pytest.mark.parametrize("grade", ["A36", "S355MC"])
@pytest.mark.parametrize("thickness", [2.0, 6.0, 16.0])
def test_thickness_and_grade(thickness: float, grade: str) -> None:
    """A flat plate of any thickness needs no bend radius, so no table of radii has a say."""
    piece = one(straight(), seat="outside", thickness_mm=thickness, grade=grade)
    assert (box(piece)[0][1], box(piece)[1][1]) == pytest.approx((430, 430 + thickness))
    assert piece.grade == grade


@pytest.mark.parametrize(("hang", "z0", "z1"), [("lower", 453, 513), ("upper", 537, 597)])
def test_a_given_height_goes_by_the_flange_it_hangs_from(hang: str, z0: float, z1: float) -> None:
    piece = one(straight(), seat="toes", hang=hang, height_mm=60)
    low, high = box(piece)
    assert (low[2], high[2]) == pytest.approx((z0, z1))
    other = {"lower": "upper", "upper": "lower"}[hang]
    assert any(f"height 60.0 mm, hung from the {hang} flange" in n and f"at the {other} edge" in n for n in piece.notes)


def test_the_noted_height_is_square_to_the_rail_and_not_upright() -> None:
    """Where the swept frame's rail runs straight up at 18 deg the depth d, square to the upper edge, tapers by 50 mm in its whole run
    L = 1009.78 / cos 18 deg. Between flanges of 4 mm and gaps of 1 mm the plate is 10 mm less. Square from its *lower* edge, which
    rises by atan(50 / L) = 2.696 deg more: h = d' cos 2.696 deg, d' the depth at that foot. 500 mm from the rear end of the tape, upright
    below it: within half a millimetre (the feet differ by h sin 18 deg, a taper of 2 mm); the upright height would be 5 % more."""
    run = (1000 / math.cos(TURN) - RADIUS * math.tan(TURN / 2) + RADIUS * TURN / 2) / math.cos(KICK)
    piece = one(swept(), seat="flush", start=at("rear", -500), end=at("rear", -100))
    note = next(n for n in piece.notes if "hung from" in n)
    front, rear = (float(word) for word in note.replace(",", " ").split() if word.replace(".", "").isdigit())
    for shown, before_rear in ((front, 500.0), (rear, 100.0)):
        height = 100 + 50 * before_rear / run - 10
        assert shown == pytest.approx(height, abs=2.1), note  # taper over the shift of the foot
        assert abs(shown - height / math.cos(KICK)) > 2.5


def swept_by_hand(pieces_seat: str, thickness: float) -> dict[str, Any]:
    """The swept frame's turn as seen from a face that lies `offset` from the web's outside, right rail.

    Web: straight at y 430 to x = 1500 - 400 tan 4 deg = 1472.029, an arc of 8 deg towards the centreline (clockwise seen with x to the
    right and y up), then a straight that heads for y = 430 - 1000 tan 8 deg at x 2500. The open side is towards -y, so toes lie inside
    the turn: radius 400 - 60 = 340, and the plate's back face is outside its bends. A chord over the whole arc leaves
    340 (1 - cos 4 deg) = 0.828 mm, under the weld gap of 1.6: so two bends of 4 deg, at the arc's ends, on the normal through them.
    """
    tangent = RADIUS * math.tan(TURN / 2)
    first = (1500 - tangent, 430.0)
    last = (1500 + tangent * math.cos(TURN), 430 - tangent * math.sin(TURN))
    offset = {"toes": 60.0, "inside": 4.0}[pieces_seat]
    normal = (-math.sin(TURN), -math.cos(TURN))  # towards the open side, behind the turn
    return {
        "before": (first[0], first[1] - offset),
        "after": (last[0] + offset * normal[0], last[1] + offset * normal[1]),
        "gap": (RADIUS - offset) * (1 - math.cos(TURN / 2)),
        "chord": 2 * (RADIUS - offset) * math.sin(TURN / 2),
        "normal": normal,
    }


def test_the_swept_rail_worked_by_hand() -> None:
    """Toes, 3 mm of A36 (DIN 6935:1975, 3 mm, column to 490 MPa: least inside radius 4 mm), K 0.42. `swept_by_hand` gives both corners of
    the back face and the chord of 47.434 mm between them. Tangents on the back face, outside the bend: (4 + 3) tan 2 deg = 0.2444 mm.
    Allowance of each bend: 4 deg in radians x (4 + 0.42 x 3) = 0.3672 mm. From the front end, x 1000, to the first bend line in the flat:
    472.029 - 0.244 + 0.184 = 471.968; between bend lines: 47.434 - 2 x 0.244 + 0.367 = 47.313 mm.
    Bends turn towards the face seen when fitted (the plate is on the inside of the turn), so + in the marked face's sense."""
    piece = one(swept(), seat="toes", start=Position(x_mm=1000), end=at("rear", -200))
    hand = swept_by_hand("toes", 3)
    assert [b.angle_deg for b in piece.part.bends] == pytest.approx([4.0, 4.0])
    assert [b.inside_radius_mm for b in piece.part.bends] == [4.0, 4.0]
    assert any("2 bends follow" in n and f"at most {hand['gap']:.2f} mm" in n for n in piece.notes)

    shape, place = shape_of(piece), piece.placements[0]
    panels = [shape.places[p.name] for p in piece.part.panels]
    normals = [np.subtract(place.point(*p.point(0, 0, 1)), place.point(*p.point(0, 0, 0))) for p in panels]
    for normal, heading in zip(normals, (0.0, 4.0, 8.0), strict=True):  # the seen face looks inboard, then inboard and forward
        assert normal == pytest.approx((-math.sin(heading * DEG), -math.cos(heading * DEG), 0.0), abs=1e-12)
    for corner, (one_panel, other) in (("before", (0, 1)), ("after", (1, 2))):
        for index in (one_panel, other):  # the corner of the back face lies in both planes
            origin = np.array(place.point(*panels[index].point(0, 0, 0)))
            assert np.dot(np.array((*hand[corner], 0.0)) - origin, normals[index]) == pytest.approx(0.0, abs=1e-6)

    tangent, allowance = 7 * math.tan(2 * DEG), 4 * DEG * (4 + 0.42 * 3)
    flat = unfold(piece.part, KFactor(value=0.42))
    front = max(p[0] for p in flat.contour.points) if flat.bends[0].line[0][0] < 0 else min(p[0] for p in flat.contour.points)
    first, second = (abs(b.line[0][0] - front) for b in flat.bends)
    assert first == pytest.approx(hand["before"][0] - 1000 - tangent + allowance / 2, abs=1e-6)
    assert second - first == pytest.approx(hand["chord"] - 2 * tangent + allowance, abs=1e-6)


def test_outside_the_turn_one_bend_stands_off_its_middle() -> None:
    """On the web's outside the rail is inside the turn: tangents meet over its middle and leave 400 (1 / cos 4 deg - 1) = 0.977 mm less
    what the bend's inside radius of 4 mm takes of the corner, 4 (1 / cos 4 deg - 1) = 0.010: one bend of 8 deg, away from the seen face."""
    piece = one(swept(), seat="outside", start=Position(x_mm=1000), end=at("rear", -200))
    assert [b.angle_deg for b in piece.part.bends] == pytest.approx([-8.0])
    gap = (400 - 4) * (1 / math.cos(4 * DEG) - 1)
    assert any(f"at most {400 * (1 / math.cos(4 * DEG) - 1):.2f} mm" in n or f"at most {gap:.2f} mm" in n for n in piece.notes)


def test_holes_go_to_the_plate_along_the_webs_normal_and_not_by_arc_length() -> None:
    """A pin 300 mm of tape before the rear end, 60 mm up, on the slope behind the turn. Upper corner there: s = s_rear - 300 cos 18 deg,
    z = z_rear - 300 sin 18 deg; depth 100 + 50 x 300 / L; from the corner square down by depth - 60. On the toes 60 mm off along the
    normal. By equal arc length it would be 60 x 8 deg = 8.4 mm wrong: the toes' way round the turn is shorter."""
    tangent = RADIUS * math.tan(TURN / 2)
    s_rear = 1500 - tangent + RADIUS * TURN + 1000 / math.cos(TURN) - tangent
    slope_run = 1000 / math.cos(TURN) - tangent + RADIUS * TURN / 2
    z_rear, y_rear = 600 + slope_run * math.tan(KICK), 430 - 1000 * math.tan(TURN)
    drop = 100 + 50 * 300 / (slope_run / math.cos(KICK)) - 60
    s = s_rear - 300 * math.cos(KICK) + drop * math.sin(KICK)
    z = z_rear - 300 * math.sin(KICK) - drop * math.cos(KICK)
    web = np.array((2500 - (s_rear - s) * math.cos(TURN), y_rear + (s_rear - s) * math.sin(TURN), z))
    normal = np.array((-math.sin(TURN), -math.cos(TURN), 0.0))
    on = swept(holes=(hole("pin", at("rear", -300), 60),))
    for seat, offset in (("toes", 60.0), ("inside", 4.0), ("flush", 57.0), ("outside", 0.0)):
        piece = one(on, seat=seat, start=Position(x_mm=1000), end=at("rear", -100), pick_up=(PickUp(hole="pin"),))
        point, direction, axis = axes(piece)["pin"]
        assert point == pytest.approx(web + offset * normal, abs=1e-6), seat
        assert direction == pytest.approx(normal if seat != "outside" else -normal, abs=1e-9)
        assert axis.diameter_mm == 16


FRAMES: dict[str, Any] = {
    "swept": swept,
    "sharp": lambda: swept(radius=0, kick_radius=0),
    "outboard": lambda: swept(OUTBOARD),
    "hat": lambda: swept(HAT),
    "round": lambda: swept(turn_deg=20, radius=700),
}


@pytest.mark.parametrize("name", FRAMES)
def test_every_seat_lies_against_the_swept_rail(name: str) -> None:
    """Sampled densely against the rail: off its seat by nothing to the weld gap, in no flange, both sides, both hung edges."""
    on: Frame = FRAMES[name]()
    for seat in ("toes", "flush", "stepped", "outside", "inside"):
        for hang in ("lower", "upper"):
            values: dict[str, Any] = {"id": "plate", "side": "both", "thickness_mm": 3.0, "seat": seat, "hang": hang}
            plate = RailPlate(**values, start=Position(x_mm=900), end=at("rear", -150))
            pieces = plate.build(on)
            assert len(pieces) == 2
            for piece in pieces:
                check_piece(piece, plate, on, Shop())
            assert len(pieces[0].part.bends) == len(pieces[1].part.bends) > 0
            assert flat_of(pieces[0]).area_mm2 == pytest.approx(flat_of(pieces[1]).area_mm2, abs=1e-6)  # mirrored rails, mirrored plates


def test_fewest_bends_round_a_turn() -> None:
    """20 deg at radius 700, toes at 640 inside the turn. A chord of angle a leaves 640 (1 - cos a/2) <= 1.6: a <= 8.106 deg, so 3 chords of
    6.667 deg: 4 bends. Outside the web (700): 700 (1 / cos a/2 - 1) <= 1.6: a <= 7.74 deg, so 3 bends of 6.667 deg."""
    on = swept(turn_deg=20, radius=700)
    piece = one(on, seat="toes", start=Position(x_mm=1000), end=at("rear", -200))
    assert [b.angle_deg for b in piece.part.bends] == pytest.approx([20 / 6, 20 / 3, 20 / 3, 20 / 6])
    piece = one(on, seat="outside", start=Position(x_mm=1000), end=at("rear", -200))
    assert [b.angle_deg for b in piece.part.bends] == pytest.approx([-20 / 3] * 3)
    piece = one(on, Shop(weld_gap_mm=0.4), seat="outside", start=Position(x_mm=1000), end=at("rear", -200))
    assert len(piece.part.bends) == 6  # 700 (1 / cos a/2 - 1) <= 0.4: a <= 3.87 deg


def test_a_plate_before_or_behind_the_turn_has_no_bend() -> None:
    assert not one(swept(), start=Position(x_mm=200), end=Position(x_mm=1400)).part.bends
    assert not one(swept(), start=at("rear", -800), end=at("rear", -100)).part.bends


def test_no_edge_too_short_to_cut_beside_a_kick() -> None:
    """The upper edge of a plate on the toes, 3 mm inside a corner of radius 300, begins to bend up where the kick's arc begins: x 1500 less
    its tangent. Ends a tenth of a millimetre before and behind that leave no edge under 0.2 mm, which soundness would refuse."""
    begins = 1500 - 300 * math.tan(9 * DEG)
    for off in (-0.15, -0.05, 0.05, 0.15):
        piece = one(frame(kicked()), seat="toes", end=Position(x_mm=begins + off))
        assert min(s.length for s in piece.part.panels[0].contour.segments) > 0.2
        piece = one(frame(kicked()), seat="toes", start=Position(x_mm=begins + off), end=at("rear", -100))
        assert min(s.length for s in piece.part.panels[0].contour.segments) > 0.2


def test_flanges_that_step_at_a_mitre_on_a_slope_are_told() -> None:
    """20 deg without a radius on a rail that rises 1 in 10 along its web: on the toes the straights meet 60 tan 10 deg = 10.58 mm short of
    the station from either side, so the flanges step there by 2 x 10.58 / 10 = 2.1 mm. A rail that turns on the level steps by nothing."""
    run, y = 1000 / math.cos(20 * DEG), 430 - 1000 * math.tan(20 * DEG)
    for slope in (0.1, 0.0):
        ends = station("front", 0, z=600), station("rear", 2500, y=y, z=600 + slope * (1500 + run))
        on = frame(drawn(ends[0], station("bend", 1500, z=600 + slope * 1500), ends[1]))
        found = [f.value for f in one(on, seat="toes", start=Position(x_mm=900), end=at("rear", -200)).findings if "flange-step" in f.code]
        assert found == (["2.1 mm"] if slope else [])


def test_stepped_notes_the_step() -> None:
    assert "step-in" in codes(one(straight(), seat="stepped", step_mm=20))
    assert "step-in" not in codes(one(straight(), seat="flush"))


def test_etched_id_and_ticks_lie_on_the_steel_and_cross_nothing() -> None:
    """A tick at each edge where station "mid" is, x 1800; the lower one would run over a hole. The id is on the face seen when fitted."""
    on = straight(holes=(hole("under-tick", at("mid"), 12.0, 6.0),))
    piece = one(on, seat="toes", start=Position(x_mm=1500), end=Position(x_mm=2200), pick_up=(PickUp(hole="under-tick"),))
    (panel,) = piece.part.panels
    place = piece.placements[0]
    tick = next(m for m in panel.marks if m.name == "station mid")
    assert len(tick.strokes) == 1, "the lower one would run over the hole"
    for stroke in tick.strokes:
        for p in stroke:
            assert place.point(*p)[0] == pytest.approx(1800)
    (label,) = panel.labels
    assert label.text == "plate-right"
    assert place.point(label.x_mm, label.y_mm, 3)[1] == pytest.approx(367)
    arrow = next(m for m in panel.marks if m.name == "front")
    tail, tip = (place.point(*p) for p in arrow.strokes[0])
    assert tip[0] < tail[0] - 5, "the arrow points to the vehicle's front"


def test_both_sides_carry_their_own_ids() -> None:
    assert [p.id for p in build(straight(), side="both")] == ["plate-left", "plate-right"]
