"""The crossmember bracket on straight, sloping, turning and tapering rails.

Every number is worked by hand beside its check from the frame's own dimensions; sizes of holes are ISO 273 (M12: fine 13, medium 13.5).
Tolerances: 1e-9 mm where only transforms lie between, 1e-6 mm where a curve was looked up.
"""

from __future__ import annotations

import math
from typing import Any

import numpy as np
import pytest

from generator.kit import build as build_kit
from parts.bending import KFactor
from parts.families import RailPlate
from parts.flat import unfold
from parts.formed import formed
from parts.shop import Shop
from parts.spec import Position
from tests.families.crossmember_brackets import (
    ALL,
    FRAMES,
    KICK,
    TURN,
    bracket,
    normal,
    on_frame,
    panel_points,
    plated,
    vehicle,
)
from tests.parts.frame.makers import (
    check_fault,
    cross,
    drawn,
    frame,
    kicked,
    station,
)


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
        upper = 600 + (x - 1500) * math.tan(math.radians(18))
        if name == "winding":
            # The rise of 1500 / cos 8 x tan 12 is shared out along the plan curve, whose arc is this much shorter than its corner.
            short = 400 * (math.tan(TURN / 2) - TURN / 2)
            run, whole = 800 / math.cos(TURN) - short, 1500 / math.cos(TURN) - short
            upper = 600 + 1500 / math.cos(TURN) * math.tan(KICK) * run / whole
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
        x0, _, x1, _ = seat.contour.box
        assert sum(h.x_mm for h in seat.holes) / 2 == pytest.approx((x0 + x1) / 2, abs=1e-9)
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
    piece = bracket(at=Position(x_mm=2000.0), **fields).build(frame(kicked(angle)))[1]
    slope = math.radians(angle)
    across = np.array([-math.sin(slope), math.cos(slope)])
    for way in ("front", "rear"):  # both ends of the free edge come down to it, where a gusset's bend goes on level its outer face does
        low = []
        for name in ("base", "gusset-left", "gusset-right"):
            points = panel_points(piece, name, 0.0)[:, [0, 2]]
            here = points[points[:, 0] < 2000] if way == "front" else points[points[:, 0] > 2000]
            # the lower face lies 150 square under the upper corner's line through (1500, 600)
            low += [] if not len(here) else [((here - np.array([1500.0, 600.0])) @ across + 150).min()]
        assert min(low) == pytest.approx(inset, abs=1e-6)


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
    left, right = on_frame("straight", drop_mm=70.0)
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


@pytest.mark.parametrize("base", ["below", "above"])
@pytest.mark.parametrize("slope", [0.0, 12.0])
@pytest.mark.parametrize("attach", ["weld", "bolt"])
def test_gussets_past_the_toes_are_notched_round_the_flange(base: str, slope: float, attach: str) -> None:
    """The flange is 4 thick and ends 60 from the web's outside; 3 mm of air all round it, on both sides of the gusset. A bolted base
    ends lower, with no fillet to leave room for: there the notch's round corner comes nearest to the flange's own."""
    on = frame(kicked(slope)) if slope else frame()
    drop = 50.0 if base == "below" else 95.0
    own = bracket(at=Position(x_mm=2000.0), height_mm=170.0, depth_mm=170.0, base=base, drop_mm=drop, attach=attach, width_mm=200.0)
    piece = own.build(on)[1]
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
            assert np.hypot(np.maximum(off - 60, 0), np.maximum(np.maximum(up - 4, -up), 0)).min() > 3 - 1e-6
            past += int(np.count_nonzero(up < 0))  # beyond the toes it does hang past the rail
    assert past > 0


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
    assert any("not in the hardware list: 1 bolt M12 with nut" in n for n in piece.notes)
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
    parts: tuple[Any, ...] = (bracket(on="box"), plate)
    kit = build_kit(parts, frame(), Shop())
    assert [p.id for p in kit.pieces] == ["seat-left", "seat-right", "box-left", "box-right"]
