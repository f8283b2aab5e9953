"""The crossmember bracket on straight, sloping, turning and tapering rails.

Every number is worked by hand beside its check from the frame's own dimensions; sizes of holes are ISO 273 (M12: fine 13, medium 13.5).
Tolerances: 1e-9 mm where only transforms lie between, 1e-6 mm where a curve was looked up.
"""

from __future__ import annotations

import math
from collections.abc import Callable
from typing import Any

import numpy as np
import pytest
from numpy.typing import NDArray

from generator.kit import build as build_kit
from parts.bending import KFactor
from parts.families import CrossmemberBracket, RailPlate
from parts.flat import unfold
from parts.formed import Formed, formed
from parts.frame import Frame
from parts.frame.features import Bracket, KeepVisible
from parts.frame.frame import Steel, Use
from parts.piece import Piece
from parts.sheet import Placement
from parts.shop import Shop
from parts.spec import Position
from tests.parts.frame.makers import STRAIGHT, check_fault, cross, cross_section, drawn, faults_of, frame, hole, kicked, section, station, turned

Array = NDArray[np.float64]
TURN, KICK = math.radians(8), math.radians(12)


def bracket(**fields: Any) -> CrossmemberBracket:
    plain: dict[str, Any] = {
        "id": "seat", "at": Position(x_mm=800.0), "drop_mm": 70.0, "thickness_mm": 4.0, "width_mm": 130.0, "depth_mm": 100.0,
    }  # fmt: skip
    plain.update(fields)
    if "under" in fields or "seat_z_mm" in fields:
        plain["drop_mm"] = None
    return CrossmemberBracket(**plain)


def winding(**changes: Any) -> Any:
    """Straight to x = 1500, then 8 deg inboard and 12 deg up at once, its depth tapering from 150 to 110."""
    run = 1500.0
    along = run / math.cos(TURN)
    return drawn(
        station("front", 0),
        station("turn", 1500, turn=400, kick=300),
        station("rear", 3000, y=430 - run * math.tan(TURN), z=600 + along * math.tan(KICK), depth=110),
        **changes,
    )


def plated(on: Frame, **fields: Any) -> Frame:
    """With a 3 mm plate called box from x 300 to 1400, its ends square."""
    plain: dict[str, Any] = {
        "id": "box", "thickness_mm": 3.0, "seat": "toes", "start": Position(x_mm=300.0), "end": Position(x_mm=1400.0),
        "front_end": "square", "rear_end": "square",
    }  # fmt: skip
    return on.with_faces(RailPlate(**{**plain, **fields}).faces(on))


FRAMES: dict[str, tuple[Callable[[], Frame], float]] = {
    "straight": (lambda: frame(), 800.0),
    "turned": (lambda: frame(turned()), 2000.0),
    "kicked": (lambda: frame(kicked()), 2000.0),
    "tapering": (lambda: frame(kicked(rear_depth=110)), 2000.0),
    "winding": (lambda: frame(winding()), 2300.0),
}
ALL = pytest.mark.parametrize("name", FRAMES)


def on_frame(name: str, **fields: Any) -> tuple[Piece, ...]:
    make, x = FRAMES[name]
    return bracket(at=Position(x_mm=x), **fields).build(make())


def vehicle(piece: Piece, points: list[tuple[float, float, float]]) -> Array:
    place = piece.placements[0]
    return np.array([place.point(*p) for p in points])


def panel_points(piece: Piece, name: str, z: float) -> Array:
    shape = formed(piece.part)
    panel = next(p for p in piece.part.panels if p.name == name)
    return vehicle(piece, [shape.places[name].point(u, v, z) for u, v in panel.contour.polyline(0.01)])


def normal(piece: Piece, shape: Formed, name: str) -> Array:
    place: Placement = piece.placements[0]
    a, b = np.array(place.point(0, 0, 0)), np.array(place.point(*shape.places[name].normal))
    turned_normal: Array = b - a
    return turned_normal


@ALL
@pytest.mark.parametrize("base", ["below", "above"])
def test_the_seat_is_level_whatever_the_rail_does(name: str, base: str) -> None:
    made = on_frame(name, base=base, drop_mm=55.0 if base == "below" else 95.0)
    assert [p.id for p in made] == ["seat-left", "seat-right"]
    heights = []
    for piece in made:
        up = normal(piece, formed(piece.part), "seat")
        assert np.abs(up - np.array([0, 0, -1.0 if base == "below" else 1.0])).max() < 1e-12
        seat = [panel_points(piece, "seat", z)[:, 2] for z in (0.0, 4.0)]
        top = max(seat, key=lambda zs: zs.mean())
        assert np.ptp(top) < 1e-9
        heights.append(top.mean())
    assert heights[0] == pytest.approx(heights[1], abs=1e-9)
    make, x = FRAMES[name]
    rail = make().rail("right")
    upper = {"straight": 600.0, "turned": 600.0}.get(name)
    if upper is None:  # past the kick's arc: the straight from (1500, 600), its slope along the web's own length
        slope = math.tan(KICK) / math.cos(TURN) if name == "winding" else math.tan(math.radians(18))
        upper = 600 + (x - 1500) * slope
        assert abs(math.degrees(rail.profile.slope_rad(rail.plan.s_at_x(x)))) > 11
    assert heights[1] == pytest.approx(upper - (55 if base == "below" else 95), abs=1e-6)


@ALL
def test_slots_run_along_the_vehicle_at_one_x(name: str) -> None:
    made = on_frame(name, slots=2, depth_mm=110.0)
    _, x = FRAMES[name]
    for piece in made:
        shape = formed(piece.part)
        seat = next(p for p in piece.part.panels if p.name == "seat")
        assert [h.kind for h in seat.holes] == ["slot", "slot"]
        for own in seat.holes:
            turn = math.radians(own.angle_deg)
            ends = [
                shape.places["seat"].point(own.x_mm + way * math.cos(turn), own.y_mm + way * math.sin(turn)) for way in (-15.0, 0.0, 15.0)
            ]
            a, middle, b = vehicle(piece, ends)
            assert abs(abs(b[0] - a[0]) - 30) < 1e-9
            assert np.abs((b - a)[1:]).max() < 1e-9
            assert middle[0] == pytest.approx(x, abs=1e-9)
            assert own.diameter_mm == 13.5  # ISO 273 medium, M12
            assert own.length_mm == pytest.approx(13.5 + 30)


@ALL
def test_a_mirrored_frame_gets_a_mirrored_pair_of_parts_of_their_own(name: str) -> None:
    left, right = on_frame(name)
    one, two = (sorted(map(tuple, np.round(vehicle(p, formed(p.part).points()), 6).tolist())) for p in (left, right))
    flipped = sorted((x, -y + 0.0, z) for x, y, z in one)
    assert np.abs(np.array(flipped) - np.array(two)).max() < 1e-5
    assert left.placements[0].normal[1] == pytest.approx(-right.placements[0].normal[1])
    for piece, letter in ((left, "left"), (right, "right")):  # each is etched for reading from the side that is seen
        assert [one.text for p in piece.part.panels for one in p.labels] == [f"seat-{letter}"]


def test_the_base_lies_against_the_web_of_a_turning_rail() -> None:
    """The right web's inside is the line through (1500, 430 - 4 / cos 8) at 8 deg inboard, taken past the turn's arc."""
    piece = on_frame("turned")[1]
    back = panel_points(piece, "base", 0.0)
    along, off = np.array([math.cos(TURN), -math.sin(TURN)]), np.array([math.sin(TURN), math.cos(TURN)])
    corner = np.array([1500.0, 430.0])
    assert np.abs((back[:, :2] - corner) @ off + 4).max() < 1e-9  # 4 mm of web between its outside and the base
    front = panel_points(piece, "base", 4.0)
    assert np.abs((front[:, :2] - corner) @ off + 8).max() < 1e-9
    assert np.ptp((back[:, :2] - corner) @ along) == pytest.approx(130 - 2 * 4 - 2 * 9, abs=1e-9)  # legs, then bends of 5 + 4


@pytest.mark.parametrize(("angle", "attach", "inset"), [(18.0, "weld", 12.0), (18.0, "bolt", 8.0), (-10.0, "weld", 12.0)])
def test_on_a_slope_the_free_edge_follows_the_flat_of_the_web(angle: float, attach: str, inset: float) -> None:
    """Square to the lower outside face: flange 4, inside radius 4, and the fillet's leg of 4 where it is welded."""
    fields: dict[str, Any] = {"attach": attach, "drop_mm": 50.0, "width_mm": 150.0 if attach == "weld" else 200.0}
    piece = bracket(at=Position(x_mm=2000.0), **fields).build(frame(kicked(angle, rear_depth=150)))[1]
    slope = math.radians(angle)
    across = np.array([-math.sin(slope), math.cos(slope)])
    base = panel_points(piece, "base", 0.0)[:, [0, 2]]
    # the lower face lies 150 square under the upper corner's line through (1500, 600)
    up = (base - np.array([1500.0, 600.0])) @ across + 150
    shape = [panel_points(piece, f"gusset-{side}", 0.0)[:, [0, 2]] for side in ("left", "right")]
    lowest = min(up.min(), *(((g - np.array([1500.0, 600.0])) @ across + 150).min() for g in shape))
    assert lowest == pytest.approx(inset, abs=1e-6)
    low = base[np.argsort(up)[:2]]
    assert abs(low[0, 0] - low[1, 0]) > 80  # both ends of the free edge, not one corner
    assert math.degrees(math.atan2(low[1, 1] - low[0, 1], low[1, 0] - low[0, 0])) % 180 == pytest.approx(angle % 180, abs=1e-6)


@pytest.mark.parametrize(
    ("name", "fields"),
    [
        ("straight", {}),
        ("straight", {"gussets": False, "slot_travel_mm": 0.0}),
        ("turned", {"slots": 2, "depth_mm": 120.0}),
        ("kicked", {"base": "above", "drop_mm": 95.0, "carries": "underneath"}),
        ("winding", {"height_mm": 170.0, "depth_mm": 170.0, "drop_mm": 50.0}),
        ("winding", {"attach": "bolt", "width_mm": 220.0, "drop_mm": 40.0}),
    ],
)
def test_solid_flat_and_folding_agree(name: str, fields: dict[str, Any]) -> None:
    """Pappus' law of the families suite, and no two panels in one place: the kernel's fused volume is the sum."""
    for piece in on_frame(name, **fields):
        assert abs(piece.solid().Volume() / unfold(piece.part, KFactor(value=0.42)).volume_mm3 - 1) < 1e-9


def test_the_box_hangs_in_the_middle_of_what_is_asked_for() -> None:
    """Left rail: web inside y = -426; 100 deep to -326; 130 wide round x = 800; z 600 - 70 down to 450 + 4 + 4 + 4."""
    left, right = on_frame("straight")
    low, high = formed(left.part).box(left.placements[0])
    assert low == pytest.approx((735, -426, 462), abs=1e-6)
    assert high == pytest.approx((865, -326, 530), abs=1e-6)
    low, high = formed(right.part).box(right.placements[0])
    assert low == pytest.approx((735, 326, 462), abs=1e-6)
    assert high == pytest.approx((865, 426, 530), abs=1e-6)


@pytest.mark.parametrize(
    ("base", "carries", "low", "high"),
    [("below", "on top", 526, 530), ("below", "underneath", 530, 534), ("above", "on top", 526, 530), ("above", "underneath", 530, 534)],
)
def test_the_height_is_that_of_the_face_that_carries(base: str, carries: str, low: float, high: float) -> None:
    piece = bracket(base=base, carries=carries).build(frame())[0]
    z = np.concatenate([panel_points(piece, "seat", t)[:, 2] for t in (0.0, 4.0)])
    assert (z.min(), z.max()) == pytest.approx((low, high), abs=1e-9)


def test_under_a_named_crossmember_and_at_a_plain_height() -> None:
    """cm: top 25 under the upper corner, 100 deep: its underside at 600 - 125 = 475; the base above reaches z 588."""
    on = frame(crossmembers=(cross(),))
    for own in (bracket(under="cm", base="above"), bracket(seat_z_mm=475.0, base="above")):
        piece = own.build(on)[0]
        assert panel_points(piece, "seat", 4.0)[:, 2] == pytest.approx(475.0, abs=1e-9)


def test_rails_that_disagree_get_one_height_and_one_x() -> None:
    """Upper corners 600 and 606, front ends at x 0 and 10: midway 603 and 5, and it is said."""
    left = drawn(station("front", 0, y=-430), station("rear", 3600, y=-430), side="left")
    right = drawn(station("front", 10, z=606), station("rear", 3600, z=606), side="right")
    own = bracket(at=Position(at="front", offset_mm=800.0))
    made = own.build(frame(left, right))
    for piece in made:
        assert panel_points(piece, "seat", 0.0)[:, 2] == pytest.approx(603 - 70, abs=1e-9)
        assert "6.0 mm apart in height" in piece.notes[0]
        assert "x 800.0 mm on the left and 810.0 mm on the right" in piece.notes[0]
        low, high = formed(piece.part).box(piece.placements[0])
        assert (low[0] + high[0]) / 2 == pytest.approx(805, abs=1e-6)
    assert panel_points(bracket(side="right", at=own.at).build(frame(left, right))[0], "seat", 0.0)[:, 2] == pytest.approx(536, abs=1e-9)


# ---------------------------------------------------------------- the rail's flanges


@pytest.mark.parametrize("base", ["below", "above"])
@pytest.mark.parametrize("slope", [0.0, 12.0])
def test_gussets_past_the_toes_are_notched_round_the_flange(base: str, slope: float) -> None:
    """The flange is 4 thick and ends 60 from the web's outside; 3 mm of air all round it, on both sides of the gusset."""
    on = frame(kicked(slope)) if slope else frame()
    piece = bracket(at=Position(x_mm=2000.0), height_mm=170.0, depth_mm=170.0, base=base, drop_mm=60.0 if base == "below" else 90.0).build(on)[1]
    assert any("notched round the " + ("lower" if base == "below" else "upper") in n for n in piece.notes)
    rad = math.radians(slope)
    across = np.array([-math.sin(rad), math.cos(rad)])
    past = 0
    for name in ("gusset-left", "gusset-right"):
        for z in (0.0, 4.0):
            points = panel_points(piece, name, z)
            up = (points[:, [0, 2]] - np.array([1500.0, 600.0])) @ across + 150
            if base == "above":
                up = 150 - up
            off = 430 - points[:, 1]
            behind = off < 60 + 3 - 1e-6
            assert up[behind].min() > 4 + 3 - 1e-6  # above the flange's inner face
            past += int(np.count_nonzero(up[~behind] < 0))  # and beyond the toes it does hang past the rail
            assert np.hypot(np.maximum(off - 60, 0), np.maximum(up - 4, 0))[off > 20].min() > 3 - 1e-6
    assert past > 0


@pytest.mark.parametrize(
    ("fields", "field", "limit"),
    [
        ({"drop_mm": 140.0, "base": "above"}, "drop", "1.0 mm too near to or into the lower flange of rail left"),
        ({"drop_mm": 5.0}, "drop", "2.0 mm too near to or into the upper flange of rail left"),
        ({"seat_z_mm": 440.0}, "seat_z", "lower flange of rail left"),
        ({"drop_mm": 10.0}, "drop", "off the flat of the web: the base has z 462.0 to 588.0 mm"),
        ({"drop_mm": 110.0}, "drop", "leaves 19.0 mm of base on rail left web; 25 mm is the least"),
        ({"height_mm": 30.0}, "height", "leaves 21.0 mm of base on rail left web"),
        ({"drop_mm": 100.0}, "gussets", "20.0 mm of the base is left beside a gusset's bend"),
        ({"width_mm": 60.0}, "width", "leaving 16.0 mm to bend"),
        ({"width_mm": 30.0, "thickness_mm": 6.0, "gussets": False}, "width", "too narrow to bend"),
        ({"depth_mm": 40.0}, "depth", "too short to bend and to weld a gusset to"),
        ({"slots": 2, "depth_mm": 70.0}, "depth", "8.5 mm from the seat's bend; 2 t + r = 13.0 mm is the least"),
        ({"slots": 2, "slot_pitch_mm": 18.0}, "slot_pitch", "4.5 mm between the slots; 2 t = 8 mm is the least"),
        ({"slot_travel_mm": 120.0}, "slot_travel", "leave -9.8 mm to the gusset beside them"),
        ({"slot_travel_mm": 120.0, "gussets": False}, "slot_travel", "leave -1.8 mm to the seat's side"),
        ({"attach": "bolt", "bolt_columns": 4}, "bolt_columns", "4 columns of M12 need 114 mm between the outer ones; the base has 56.5 mm"),
        ({"attach": "bolt", "height_mm": 40.0, "gussets": False}, "height", "14.5 mm too short for a hole of 13.5 mm"),
        ({"at": Position(x_mm=30.0)}, "at", "35.0 mm past the front end of rail left"),
        ({"at": Position(x_mm=3560.0)}, "at", "25.0 mm past the rear end of rail left"),
        ({"at": Position(at="nowhere")}, "at", "has no place of that name"),
        ({"at": Position(at="rear", offset_mm=100.0)}, "at", "past its rear end"),
        ({"on": "boxing"}, "on", "no part before this one has a face on the left side"),
        ({"under": "cm"}, "under", "the frame has no crossmember of that name"),
        ({"pick_up": ("pin",)}, "pick_up", "holes are picked up by bolts"),
        ({"attach": "bolt", "pick_up": ("pin",)}, "pick_up", "rail left has no hole of that name"),
    ],
)  # fmt: skip
def test_refused_with_its_numbers(fields: dict[str, Any], field: str, limit: str) -> None:
    own = {"side": "left", **fields}
    check_fault(lambda: bracket(**own).build(frame()), "part seat", field, limit)


@pytest.mark.parametrize(
    ("fields", "field", "limit"),
    [
        ({"drop_mm": None}, "drop", "give the seat's height once"),
        ({"grade": "A37"}, "grade", "no such grade"),
        ({"slot_bolt": "M13"}, "slot_bolt", "not in the table"),
        ({"attach": "bolt", "bolt": "M13"}, "bolt", "not in the table"),
        ({"attach": "bolt", "bolt_columns": 0}, "bolt_columns", "without a bolt"),
        ({"thickness_mm": 100.0}, "thickness", "1.5 to 12 mm"),
        ({"depth_mm": 4.0}, "depth", "30 to 500 mm"),
        ({"base": "beside"}, "base", "must be one of"),
    ],
)
def test_refused_before_there_is_a_frame(fields: dict[str, Any], field: str, limit: str) -> None:
    check_fault(lambda: bracket(**fields), "part seat", field, limit)


def test_every_fault_of_a_bracket_at_once() -> None:
    found = faults_of(lambda: CrossmemberBracket(
        id="seat", at=Position(x_mm=1.0), drop_mm=1.0, under="cm", thickness_mm=99.0, width_mm=1.0, depth_mm=1.0, grade="?", slot_bolt="?"
    ))  # fmt: skip
    assert {f.field for f in found} == {"thickness", "width", "depth", "grade", "slot_bolt", "drop"}
    both = faults_of(lambda: bracket(at=Position(at="nowhere"), under="cm").build(frame()))
    assert [f.field for f in both] == ["at", "at", "under"]


def test_a_base_across_a_turn_is_refused_with_the_distance() -> None:
    """A turn of 8 deg and radius 400 takes 400 tan 4 deg = 27.97 of each straight: the arc is 55.85 long, s 1472.03 to 1527.88."""
    on = frame(turned())
    check_fault(lambda: bracket(side="right", at=Position(x_mm=1500.0)).build(on), "part seat", "at", "s 1472 to 1528 mm")
    # Half the width of 130 before the arc ends the base's straight at x 1407.03.
    check_fault(lambda: bracket(side="right", at=Position(x_mm=1417.03)).build(on), "part seat", "width", "rear edge would stand 10.0 mm into")
    check_fault(lambda: bracket(side="right", at=Position(x_mm=1540.0)).build(on), "part seat", "width", "front edge would stand")
    assert bracket(side="right", at=Position(x_mm=1407.0)).build(on)


# ---------------------------------------------------------------- on a plate


def test_on_the_plate_on_the_toes() -> None:
    """Toes at 430 - 60, plate 3: its seen face at y = 367. Set in by its leg of 3, its edge at 453, and the base's leg of 3 above that."""
    piece = bracket(on="box").build(plated(frame()))[1]
    assert np.abs(panel_points(piece, "base", 0.0)[:, 1] - 367).max() < 1e-9
    low, high = formed(piece.part).box(piece.placements[0])
    assert (low[2], high[2]) == pytest.approx((456, 530), abs=1e-6)
    assert bracket(on="box").needs == ("box",)
    assert bracket().needs == ()


def test_a_base_on_the_toes_may_hang_below_the_rail_and_is_welded_where_there_is_plate() -> None:
    piece = bracket(on="box", height_mm=140.0, drop_mm=90.0).build(plated(frame()))[1]
    low, _ = formed(piece.part).box(piece.placements[0])
    assert low[2] == pytest.approx(510 - 140, abs=1e-6)
    base = [w for w in piece.welds if w.name.startswith("base")]
    assert min(p[2] for w in base for p in w.points) == pytest.approx(456, abs=1e-6)
    assert "base, free edge" not in {w.name for w in base}
    assert any("hangs up to 86 mm below" in n for n in piece.notes)  # 456 - 370
    inside = bracket(height_mm=140.0, drop_mm=70.0).build(frame())[1]
    assert formed(inside.part).box(inside.placements[0])[0][2] == pytest.approx(462, abs=1e-6)  # between the flanges it may not


def test_a_plate_between_the_flanges_keeps_the_gussets_clear_of_them() -> None:
    """Stepped in 16: face 60 - 16 = 44 from the web. Its edge 4 + 1 above the lower face, the base's leg of 3 above that: 458."""
    piece = bracket(on="box").build(plated(frame(), seat="stepped"))[1]
    assert np.abs(panel_points(piece, "base", 0.0)[:, 1] - (430 - 44)).max() < 1e-9
    assert formed(piece.part).box(piece.placements[0])[0][2] == pytest.approx(458, abs=1e-6)


def test_past_what_is_whole_of_the_plate_is_refused() -> None:
    """Ends angled at 45 deg: 144 mm of plate height off each; whole from x 444, the seat's front edge at 800 - 65 = 735, at 500 - 65."""
    on = plated(frame(), front_end="angled", rear_end="fish-mouth")
    check_fault(lambda: bracket(side="left", on="box", at=Position(x_mm=500.0)).build(on), "part seat", "at", "9.0 mm past the front end")
    # A fish-mouth takes half as much: whole to x 1400 - 72 = 1328; at 1270 its rear edge stands at 1335.
    check_fault(lambda: bracket(side="left", on="box", at=Position(x_mm=1270.0)).build(on), "part seat", "at", "7.0 mm past the rear end")
    assert bracket(on="box").build(on)


def test_the_kit_builds_it_after_its_plate_wherever_it_stands_in_the_job() -> None:
    plate = RailPlate(id="box", thickness_mm=3, start=Position(x_mm=300.0), end=Position(x_mm=1400.0), seat="toes")
    kit = build_kit((bracket(on="box"), plate), frame(), Shop())
    assert [p.id for p in kit.pieces] == ["seat-left", "seat-right", "box-left", "box-right"]


# ---------------------------------------------------------------- bolts


def test_bolts_go_through_base_and_web() -> None:
    """200 wide: base flat over 2 (100 - 4 - 9) = 174; 13.5 / 2 + 3 x 4 + 5 = 23.75 from the bends: x = 800 -+ 63.25. drop 30: tangent
    z 561, top row 561 - 23.75 = 537.25; the guides ask 38 + 6.5 from the flange at 454: 498.5; 38.75 apart is enough for two rows."""
    piece = bracket(attach="bolt", width_mm=200.0, drop_mm=30.0).build(frame())[1]
    heads = {b.name: b for b in piece.bolts}
    assert [heads[f"bolt-{k}"].head for k in (1, 2, 3, 4)] == [
        pytest.approx(p, abs=1e-6)
        for p in ((736.75, 422, 537.25), (863.25, 422, 537.25), (736.75, 422, 498.5), (863.25, 422, 498.5))
    ]
    for own in piece.bolts:
        assert own.grip_mm == 8
        assert np.array(own.nut) - np.array(own.head) == pytest.approx((0, 8, 0), abs=1e-9)
    axes = {a.name: a for a in formed(piece.part).hole_axes}
    for own in piece.bolts:
        point = piece.placements[0].point(*axes[own.name].point)
        assert (point[0], point[2]) == pytest.approx((own.head[0], own.head[2]), abs=1e-9)
        assert axes[own.name].diameter_mm == 13.5
    drilled = {d.name: d for d in piece.drilling}
    assert drilled["bolt-1"].diameter_mm == 13.0  # ISO 273 fine, M12: in a rail at most bolt + 1.0 (VSB 6)
    assert (drilled["bolt-1"].datum, drilled["bolt-1"].along_mm, drilled["bolt-1"].up_mm) == ("front", pytest.approx(736.75), pytest.approx(87.25))
    assert not [w for w in piece.welds if w.name.startswith("base")]
    bought = {i.designation: i.quantity for i in piece.hardware}
    assert bought["nut M12 class 8"] == 1
    assert sum(i.quantity for i in piece.hardware if i.designation.startswith("bolt M12")) == 4


def test_bolts_through_a_closed_box_get_crush_tubes() -> None:
    """Base 4 + plate 3 + 60 of channel = 67 of grip; between plate and web 60 - 4 = 56 of air."""
    piece = bracket(on="box", attach="bolt", width_mm=180.0, drop_mm=40.0).build(plated(frame()))[1]
    assert {b.grip_mm for b in piece.bolts} == {67.0}
    assert any(i.designation.startswith("crush tube for M12, 56.0 mm") for i in piece.hardware)
    assert {d.face for d in piece.drilling} == {"web", "plate box"}
    assert any("before the box is closed" in n for n in piece.notes)
    for own in piece.bolts:
        assert own.nut[1] == pytest.approx(430, abs=1e-6)
    closed = frame(drawn(*STRAIGHT.stations, section=section(kind="closed")))
    own_web = bracket(attach="bolt", width_mm=180.0, drop_mm=40.0).build(closed)[1]
    assert {b.grip_mm for b in own_web.bolts} == {64.0}  # 4 + the rail's 60
    assert any("crush tube for M12, 52.0 mm" in i.designation for i in own_web.hardware)  # 60 - 2 x 4


def test_holes_of_the_rail_come_first() -> None:
    """Two rivet holes 40 mm to either side at z 450 + 50: taken up as they are or opened out; the pattern keeps 25 mm from them."""
    on = frame(
        holes=(
            hole(name="a", at=Position(x_mm=760.0), up_mm=50.0, diameter_mm=10, filled="rivet"),
            hole(name="b", at=Position(x_mm=840.0), up_mm=50.0, diameter_mm=13),
        )
    )
    piece = bracket(attach="bolt", width_mm=200.0, drop_mm=50.0, bolt_columns=0, pick_up=("a", "b")).build(on)[1]
    assert [b.name for b in piece.bolts] == ["a", "b"]
    assert [(b.head[0], b.head[2]) for b in piece.bolts] == [pytest.approx((760, 500)), pytest.approx((840, 500))]
    assert [(d.name, d.existing_mm, d.diameter_mm) for d in piece.drilling] == [("a", 10, 13.0)]
    assert [r.name for r in piece.removals] == ["a"]
    more = bracket(attach="bolt", width_mm=200.0, drop_mm=50.0, pick_up=("a", "b")).build(on)[1]
    centres = np.array([(b.head[0], b.head[2]) for b in more.bolts])
    gaps = [float(np.linalg.norm(p - q)) for i, p in enumerate(centres) for q in centres[i + 1 :]]
    assert min(gaps) - 13 >= 25 - 1e-6
    check_fault(
        lambda: bracket(side="right", attach="bolt", width_mm=200.0, pick_up=("a",), at=Position(x_mm=900.0)).build(on),
        "part seat", "pick_up", "76.8 mm off what the base has room for on rail right: 140.0 mm to the front of its middle",
    )  # fmt: skip


# ---------------------------------------------------------------- welds and what has to be judged


def test_welds_lie_on_steel() -> None:
    """Each gusset's weld runs along its outer face under the seat; the base's run along the base's own edges on the web."""
    piece = on_frame("winding")[1]
    welds = {w.name: w for w in piece.welds}
    assert set(welds) == {
        "front gusset to the seat", "rear gusset to the seat", "base, free edge", "base, front edge", "base, rear edge", "base, at the seat's bend",
    }  # fmt: skip
    for name, panel in (("front gusset to the seat", "gusset-left"), ("rear gusset to the seat", "gusset-right")):
        outer = panel_points(piece, panel, 0.0)
        line = np.array(welds[name].points)
        face = normal(piece, formed(piece.part), panel)
        assert np.abs((line - outer[0]) @ face).max() < 1e-6
        assert line[:, 2] - outer[:, 2].max() == pytest.approx(1.0, abs=1e-6)  # the root gap
        assert welds[name].gap_mm == 1.0
    back = panel_points(piece, "base", 0.0)
    for name in ("base, free edge", "base, front edge", "base, rear edge", "base, at the seat's bend"):
        for point in welds[name].points:
            assert np.linalg.norm(back - np.array(point), axis=1).min() < 1e-6
    assert welds["base, free edge"].kind == "fillet"
    assert welds["base, front edge"].kind == "bevel"


def codes(piece: Piece) -> dict[str, str]:
    return {f.code: f.level for f in piece.findings}


def test_nothing_is_said_where_there_is_nothing_to_say() -> None:
    assert not any(p.findings or p.removals or p.drilling for p in bracket().build(frame()))


def test_frames_that_nothing_is_welded_to() -> None:
    hard = bracket().build(_with(steel=Steel(grade="?", heat_treated="unknown")))[0]
    assert codes(hard) == {"weld-heat-treated": "stop"}
    hired = bracket().build(_with(use=Use(road=True, commercial=True)))[0]
    assert codes(hired) == {"weld-commercial": "stop"}
    bolted = bracket(attach="bolt", width_mm=200.0, drop_mm=30.0).build(_with(use=Use(road=True, commercial=True)))[0]
    assert "weld-commercial" not in codes(bolted)


def _with(**fields: Any) -> Frame:
    from dataclasses import replace

    return replace(frame(), **fields)


def test_what_stands_in_its_room() -> None:
    """A crossmember 50 wide at x 800 + 80: x 855 to 905 against the seat's 735 to 865, 10 mm; its top at 575, bottom 475."""
    fixed = bracket().build(frame(crossmembers=(cross(at=None, x_mm=880.0),)))[0]
    assert codes(fixed) == {"crossmember-in-the-way": "stop"}
    assert "over 10 mm" in fixed.findings[0].message
    loose = bracket().build(frame(crossmembers=(cross(at=None, x_mm=880.0, removable=True),)))[0]
    assert codes(loose) == {"crossmember-in-the-way": "warn"}
    assert not bracket().build(frame(crossmembers=(cross(at=None, x_mm=891.0),)))[0].findings
    high = cross(at=None, x_mm=880.0, drop_mm=5, section=cross_section(depth_mm=40))
    assert codes(bracket(on="box", drop_mm=90.0).build(plated(frame(crossmembers=(high,))))[0]) == {"base-over-cut": "warn"}

    def own(**fields: Any) -> Frame:
        plain = {"name": "tab", "at": Position(x_mm=800.0), "up_mm": 60.0, "length_mm": 40, "height_mm": 30, "out_mm": 20, "inner_face": True}
        return frame(brackets=(Bracket(**{**plain, **fields}),))

    assert codes(bracket().build(own())[0]) == {"bracket-in-the-way": "stop"}
    off = bracket().build(own(fate="cut off"))[0]
    assert not off.findings
    assert [r.name for r in off.removals] == ["tab"]
    assert not bracket().build(own(inner_face=False))[0].findings  # on the other side of the web


def test_what_it_would_hide() -> None:
    number = KeepVisible(name="number", what="stamped number", at=Position(x_mm=800.0), up_mm=60.0, length_mm=100, height_mm=16)
    assert not bracket().build(frame(keep_visible=(number,)))[0].findings  # inside; the number is outside
    outboard = frame(drawn(*STRAIGHT.stations, section=section(open="outboard")), keep_visible=(number,))
    assert codes(bracket().build(outboard)[0])["covers-keep-visible"] == "stop"
    wide = KeepVisible(name="number", what="stamped number", at=Position(x_mm=800.0), up_mm=80.0, length_mm=200, height_mm=16)
    drilled = bracket(attach="bolt", width_mm=200.0, drop_mm=30.0).build(frame(keep_visible=(wide,)))[0]
    assert codes(drilled)["covers-keep-visible"] == "stop"
    headed = bracket().build(frame(holes=(hole(name="r", at=Position(x_mm=790.0), up_mm=40.0, diameter_mm=10, filled="rivet"),)))[0]
    assert codes(headed) == {"base-on-head": "warn"}
    assert [r.name for r in headed.removals] == ["r"]
    assert codes(bracket().build(frame(holes=(hole(name="o", at=Position(x_mm=790.0), up_mm=40.0),)))[0]) == {"covers-open-hole": "warn"}


def test_room_for_a_spanner_and_for_the_brake() -> None:
    """Socket for M12 (18 mm flats, ISO 4014): 1.3 x 18 + 1.5 = 24.9 across, 12.45 from wall to centre; gusset inside 57 from the middle:
    at 84 mm travel 57 - 42 = 15 is enough; with M16 (24: 32.7 across, 16.35) it is not. Slot to bend: 63 deep, middle (9 + 63) / 2 - 9 = 27
    less 6.75 is 20.25; 3 t + r = 17; at 52 deep 21.5 - 6.75 = 14.75."""
    assert not bracket(slot_travel_mm=84.0).build(frame())[0].findings
    tight = bracket(slot_travel_mm=82.0, slot_bolt="M16", width_mm=134.0).build(frame())[0]
    assert not tight.findings  # 59 - 41 = 18
    assert codes(bracket(slot_travel_mm=85.0, slot_bolt="M16", width_mm=134.0, slots=1, gussets=False, depth_mm=50.0).build(frame())[0]) == {
        "hole-near-bend": "warn"
    }
    assert not bracket(depth_mm=63.0).build(frame())[0].findings
    near = bracket(depth_mm=52.0).build(frame())[0]
    assert codes(near) == {"hole-near-bend": "warn"}
    assert "14.8 mm" in near.findings[0].message
