"""Joints across a rail plate: where they lie, what is left of the plate, and what they keep clear of.

Straight frame: corners at z 600 and 450, flanges 4 mm, root gap 1 mm: a stepped plate lies between z 455 and 595, 140 mm high; its seen
face is 60 - 16 = 44 mm from the web's outside at y 430, at y 386. A joint at 45 deg reaches 70 mm to either side of its middle, its upper
end in front. Tolerances: 1e-6 mm for what is exact by construction.
"""

from __future__ import annotations

import math
from itertools import pairwise
from typing import Any

import numpy as np
import pytest

from generator.rules.judge import judge
from parts.bending import Din6935
from parts.blank import held_by
from parts.errors import BadInput
from parts.families.rail_plate import Around, PickUp
from parts.families.rail_plate_parts import Opening, Split
from parts.flat import unfold
from parts.frame import Frame
from parts.frame.features import Bracket
from parts.frame.rail import Rail
from parts.piece import Piece, WeldJoint
from parts.sheet import Vec3
from parts.shop import Sheet, Shop
from parts.spec import Position
from tests.families.cases import FRAMES, made
from tests.families.rail_plates import KICK, axes, box, build, check_piece, codes, crossmember, hole, near, shape_of, straight, swept
from tests.parts.frame.makers import faults_of

MIDDLE = 900.0
AT = Position(x_mm=MIDDLE)
LONG: dict[str, Any] = {"seat": "stepped", "start": Position(x_mm=200), "end": Position(x_mm=1700)}
SHOP = Shop(sheets=(Sheet(length_mm=1250, width_mm=500),))
REAR = 2200.0  #: of a plate that is longer than that sheet


def plates(pieces: tuple[Piece, ...]) -> list[Piece]:
    return [p for p in pieces if "-stop" not in p.id and "-filler-" not in p.id and "-ring-" not in p.id]


def joint_of(piece: Piece) -> WeldJoint:
    (found,) = [w for w in piece.welds if w.kind == "butt"]
    return found


def areas(pieces: list[Piece]) -> float:
    return sum(panel.contour.area for piece in pieces for panel in piece.part.panels)


def back_edges(piece: Piece) -> list[tuple[np.ndarray, np.ndarray]]:
    """Every edge of the seen face, in vehicle axes."""
    shape, place, t = shape_of(piece), piece.placements[0], piece.part.thickness_mm
    out = []
    for panel in piece.part.panels:
        at = shape.places[panel.name]
        for s in panel.contour.segments:
            out.append((np.array(place.point(*at.point(*s.a, t))), np.array(place.point(*at.point(*s.b, t)))))
    return out


def off_line(points: tuple[Vec3, ...], p: np.ndarray) -> float:
    a, b = (np.array(q) for q in points)
    along = (b - a) / np.linalg.norm(b - a)
    return float(np.linalg.norm(p - a - ((p - a) @ along) * along))


def centre_of(weld: WeldJoint, rail: Rail) -> float:
    """The tape length at which a joint crosses the middle of the rail's depth, along the web's normal: by halving."""
    low, high = (np.array(p) for p in weld.points)
    for _ in range(60):
        middle = (low + high) / 2
        s, z, _ = rail.szo(tuple(middle))
        tape, up = rail.profile.tape_and_up(s, z)
        low, high = (middle, high) if up < rail.profile.depth_at_tape(tape) / 2 else (low, middle)
    return tape


def test_two_pieces_and_the_gap_make_the_whole_plate() -> None:
    """Square ends 1500 mm apart, 140 high: 210000 mm2. The gap is a parallelogram, 1 mm by 140 / sin 45 deg."""
    one, two = build(straight(), **LONG, splits=(Split(at=AT),))
    assert areas([one, two]) + 140 * math.sqrt(2) * 1.0 == near(1500 * 140)
    # each piece by itself: a trapezoid, its middle line from its square end to the joint less half the gap along the rail
    assert areas([one]) == near((MIDDLE - 200 - 0.5 * math.sqrt(2)) * 140)
    assert (one.id, two.id) == ("plate-right-1", "plate-right-2")


def test_the_weld_runs_along_the_middle_of_the_gap_on_one_piece_alone() -> None:
    one, two = build(straight(), **LONG, splits=(Split(at=AT),))
    weld = joint_of(one)
    assert weld.points[0] == near((970.0, 386.0, 455.0))
    assert weld.points[1] == near((830.0, 386.0, 595.0))
    assert (weld.thickness_mm, weld.onto, weld.gap_mm) == ((3, 3), "plate-right-2", 1.0)
    assert [w for w in two.welds if w.kind == "butt"] == []


@pytest.mark.parametrize(("angle", "lower"), [(30.0, 140 / 2 / math.tan(math.radians(30))), (90.0, 0.0), (135.0, -70.0)])
def test_its_angle(angle: float, lower: float) -> None:
    one, _ = build(straight(), **LONG, splits=(Split(at=AT, angle_deg=angle),))
    assert joint_of(one).points[0] == near((MIDDLE + lower, 386.0, 455.0))
    assert ("split-steep" in codes(one)) == (angle == 90.0)


def both_frames() -> list[tuple[str, Frame, Position]]:
    return [("straight", straight(), AT), ("swept", swept(), Position(at="bend", offset_mm=450))]


@pytest.mark.parametrize(("name", "on", "at"), both_frames(), ids=lambda v: v if isinstance(v, str) else "")
@pytest.mark.parametrize("angle", [45.0, 60.0, 120.0])
def test_both_edges_lie_half_the_gap_off_the_weld(name: str, on: Frame, at: Position, angle: float) -> None:
    """Also on the sloping, swept, tapering rail: at that angle to the rail's length there, its middle half way up the plate."""
    end = Position(x_mm=1700) if name == "straight" else Position(at="rear", offset_mm=-60)
    fields = LONG | {"end": end}
    (whole,) = build(on, Shop(root_gap_mm=1.5), **fields)
    one, two = build(on, Shop(root_gap_mm=1.5), **fields, splits=(Split(at=at, angle_deg=angle),))
    weld, rail = joint_of(one), on.rail("right")
    length = math.dist(*weld.points)
    assert areas([one, two]) + 1.5 * length == near(areas([whole]))
    for piece in (one, two):
        close = [e for e in back_edges(piece) if all(off_line(weld.points, p) < 2.0 for p in e)]
        assert len(close) == 1
        assert all(off_line(weld.points, p) == near(0.75) for p in close[0])
    assert centre_of(weld, rail) == near(rail.tape_at(at))
    slope = 0.0 if name == "straight" else KICK
    x, y, _ = rail.direction(rail.szo(weld.points[0])[0])
    along = np.array((x * math.cos(slope), y * math.cos(slope), math.sin(slope)))
    down = np.array(weld.points[0]) - np.array(weld.points[1])
    assert math.degrees(math.acos(float(down @ along) / length)) == near(angle)


@pytest.mark.parametrize(("stagger", "apart"), [(None, 150.0), (240.0, 240.0), (-100.0, -100.0), (0.0, 0.0)])
def test_left_and_right_are_staggered(stagger: float | None, apart: float) -> None:
    """By the rail's depth, 150 mm, unless told otherwise."""
    pieces = build(straight(), **LONG, side="both", stagger_mm=stagger, splits=(Split(at=AT),))
    left, _, right, _ = pieces
    xs = [sum(p[0] for p in joint_of(piece).points) / 2 for piece in (left, right)]
    assert xs == near([MIDDLE, MIDDLE + apart])
    assert ("split-opposite" in codes(right)) == (abs(apart) < 150)
    assert any(f"{apart:+.1f} mm along the rail" in note for note in right.notes)
    assert any("left: middle at x 900.0 mm" in note for note in left.notes)


def test_the_stagger_is_laid_off_along_the_sloping_rail() -> None:
    on = swept()
    fields = LONG | {"end": Position(at="rear", offset_mm=-60), "side": "both", "stagger_mm": 240}
    pieces = build(on, **fields, splits=(Split(at=Position(at="bend", offset_mm=300)),))
    tapes = {p.side: centre_of(joint_of(p), on.rail("left" if p.side == "left" else "right")) for p in pieces if "joint" in str(p.welds)}
    assert tapes["right"] - tapes["left"] == near(240)


def test_a_plate_for_one_side_is_joined_where_it_says() -> None:
    one, _ = build(straight(), **LONG, side="right", stagger_mm=240, splits=(Split(at=AT),))
    assert sum(p[0] for p in joint_of(one).points) / 2 == near(MIDDLE)


def test_each_piece_takes_what_lies_on_its_own_side_of_the_slanted_joint() -> None:
    """At z 470 a joint through (900, 525) at 45 deg is at x 955: a hole at x 905 is the front piece's, though rearward of its middle."""
    on = straight(holes=(hole("low", Position(x_mm=905), 20), hole("high", Position(x_mm=895), 130)))
    one, two = build(on, **LONG, splits=(Split(at=AT),), pick_up=(PickUp(hole="low"), PickUp(hole="high")))
    assert (list(axes(one)), list(axes(two))) == (["low"], ["high"])
    assert axes(one)["low"][0] == near(np.array((905.0, 389.0, 470.0)))


def test_both_pieces_are_etched_to_be_lined_up() -> None:
    """Strokes square to the joint, those of one piece in the lines of the other's; the joint's number on both."""
    for at in (AT, Position(x_mm=800)):
        pieces = build(straight(), **LONG, splits=(Split(at=at),))
        lines = []
        for piece in pieces:
            (panel,) = piece.part.panels
            (mark,) = [m for m in panel.marks if m.name == "joint 1"]
            place = piece.placements[0]
            lines += [tuple(place.point(*p, 3.0) for p in stroke) for stroke in mark.strokes]
            assert "joint 1" in [one.text for one in panel.labels]
        assert len(lines) == 4
        for k in (0, 1):
            assert all(off_line(lines[k], np.array(p)) == near(0) for p in lines[k + 2])
        a, b = (np.array(p) for p in joint_of(pieces[0]).points)
        for p, q in lines:
            assert (b - a) @ (np.array(q) - np.array(p)) == near(0)


@pytest.mark.parametrize("attach", ["plug", "bolt"])
def test_plugs_and_bolts_keep_two_thicknesses_off_the_joint(attach: str) -> None:
    fields = LONG | {"seat": "inside", "attach": attach}
    one, two = build(straight(), **fields, splits=(Split(at=AT),))
    count = 0
    for piece, way in ((one, -1), (two, 1)):
        for point, _, axis in axes(piece).values():
            # its middle is half way up the web whatever the inset, so at height z it is at x = 900 + 525 - z
            away = way * (point[0] - (MIDDLE + 525 - point[2])) / math.sqrt(2) - 0.5
            assert away >= axis.diameter_mm / 2 + 6 - 1e-6, (piece.id, axis.name)
            count += 1
    assert count > 8
    assert len([w for w in one.welds if w.kind == "butt"]) == (0 if attach == "bolt" else 1)


def test_three_pieces() -> None:
    pieces = build(straight(), **LONG, splits=(Split(at=Position(x_mm=1300)), Split(at=Position(x_mm=700))))
    assert [p.id for p in pieces] == ["plate-right-1", "plate-right-2", "plate-right-3"]
    assert areas(list(pieces)) + 2 * 140 * math.sqrt(2) == near(1500 * 140)
    assert [joint_of(p).onto for p in pieces[:2]] == ["plate-right-2", "plate-right-3"]
    assert any("joint 2 of 2" in note for note in pieces[1].notes)


def test_numbers_run_on_through_a_plate_that_is_split_on_a_crossmember() -> None:
    on = straight(crossmembers=(crossmember("cm", 1300),))
    pieces = build(on, **LONG, splits=(Split(at=AT),))
    assert [p.id for p in pieces] == [f"plate-right-{k}" for k in (1, 2, 3)]
    assert joint_of(pieces[0]).onto == "plate-right-2"
    assert [w for p in pieces[1:] for w in p.welds if w.kind == "butt"] == []


def refused(on: Frame, words: str, *, number: str = "", **fields: Any) -> None:
    found = faults_of(lambda: build(on, **(LONG | fields)))
    assert [f.field for f in found] == ["split.at"] * len(found), found
    assert any(words in f.limit and number in f.limit and f.value and f.remedy for f in found), found


def test_a_joint_off_the_plate() -> None:
    refused(straight(), "is not on the plate", number="s = 2000 mm", splits=(Split(at=Position(x_mm=2000)),))


def test_a_joint_that_is_staggered_off_the_rail() -> None:
    refused(straight(), "200.0 mm past", side="both", stagger_mm=1500, end=Position(x_mm=3500), splits=(Split(at=Position(x_mm=2300)),))


def test_a_joint_in_a_bend() -> None:
    refused(swept(), "", end=Position(x_mm=2200), splits=(Split(at=Position(x_mm=1500)),))


def test_a_joint_through_an_opening() -> None:
    opening = Opening(name="hand", at=Position(x_mm=930), diameter_mm=50)
    refused(straight(), "runs into opening-hand", openings=(opening,), splits=(Split(at=AT),))


def test_a_joint_near_a_hole() -> None:
    """A hole of 16 mm at (942, 525): 42 / sqrt 2 - 8 - 0.5 = 21.2 mm off: told. At 918: 4.2 mm, under 2 t = 6 mm: refused."""
    on = straight(holes=(hole("pin", Position(x_mm=942), 75), hole("close", Position(x_mm=918), 75)))
    one, _ = build(on, **LONG, splits=(Split(at=AT),), pick_up=(PickUp(hole="pin"),))
    (finding,) = [f for f in one.findings if f.code == "split-near"]
    assert finding.value == "21.2 mm"
    refused(on, "comes within 4.2 mm of close", splits=(Split(at=AT),), pick_up=(PickUp(hole="close"),))


def test_a_joint_through_a_notch_or_an_end() -> None:
    on = straight(crossmembers=(crossmember("cm", 950),))
    refused(on, "edge to edge", around=(Around(crossmember="cm", way="notch"),), splits=(Split(at=AT),))
    refused(straight(), "edge to edge", splits=(Split(at=Position(x_mm=240)),))


def test_joints_that_cross() -> None:
    refused(straight(), "leave 0.0 mm", splits=(Split(at=AT), Split(at=Position(x_mm=920), angle_deg=135.0)))


def places(pieces: tuple[Piece, ...]) -> list[float]:
    return [sum(p[0] for p in w.points) / 2 for piece in pieces for w in piece.welds if w.kind == "butt"]


def long_plate(on: Frame, shop: Shop = SHOP, **fields: Any) -> tuple[Piece, ...]:
    return build(on, shop, **(LONG | {"end": Position(x_mm=REAR), "split_up": "where needed"} | fields))


def test_where_one_is_looked_for() -> None:
    """2000 mm from sheets of 1250. The rear piece runs from x - 70 + 0.71 to 2200: x is at least 1019.3, and from the rear end of the
    front piece at most 1380.7. The bay is the whole rail, its quarter at 0.2113 x 3600 = 760.8: the nearest of the places that are 5 mm
    apart from x 200 is 1020. The right joint stands 150 mm off it: 1170."""
    pieces = long_plate(straight(), side="both")
    assert places(pieces) == near([1020.0, 1170.0])
    assert all(held_by(unfold(p.part, Din6935()).contour, SHOP.sheets) for p in pieces)
    assert [code for p in pieces for code in codes(p) if code.startswith("split-")] == ["split-proposed", "split-proposed"]
    assert areas(list(pieces)) + 2 * 140 * math.sqrt(2) == near(2 * 2000 * 140)


def test_it_keeps_clear_of_a_crossmember_and_its_bay_begins_there() -> None:
    """Crossmember x 1015 to 1075. Behind it a joint's middle is at x >= 1075 + 25 + 70.7; the bay from there to 3600 has its quarter at
    1608.6, past the 1380.7 up to which a sheet reaches: 1380 on the left, 150 mm from it 1230 on the right."""
    on = straight(crossmembers=(crossmember("cm", 1045, removable=True),))
    pieces = long_plate(on, side="both", around=(Around(crossmember="cm", way="window", out_first=True),))
    assert places(pieces) == near([1380.0, 1230.0])


def test_it_keeps_clear_of_brackets_openings_and_holes() -> None:
    """A kept bracket over x 980 to 1060, an opening at x 1200: 25 mm clear, less half the gap, of each."""
    kept = Bracket(
        name="step", side="right", at=Position(x_mm=1020), face="web", up_mm=75, length_mm=80, height_mm=60, out_mm=100, fate="kept",
        held_by="bolts",
    )  # fmt: skip
    on = straight(brackets=(kept,))
    (x,) = places(long_plate(on, openings=(Opening(name="hand", at=Position(x_mm=1250), diameter_mm=60),)))
    assert x - 70 - 0.5 * math.sqrt(2) >= 1060 + 25 - 1e-6
    assert abs(x - 1250) / math.sqrt(2) - 30 - 0.5 >= 25 - 1e-6
    assert x == near(1160.0)  # the first place behind the bracket: 1060 + 25 + 70.7 = 1155.7


def test_a_given_joint_may_do_and_then_none_is_looked_for() -> None:
    pieces = long_plate(straight(), splits=(Split(at=Position(x_mm=1200)),))
    assert places(pieces) == near([1200.0])
    assert "split-proposed" not in [c for p in pieces for c in codes(p)]
    more = long_plate(straight(), splits=(Split(at=Position(x_mm=500)),))  # the rest is 1700 long
    assert len(places(more)) == 2


def test_as_many_as_it_takes() -> None:
    """2000 mm from sheets of 700: each joint adds 140 mm: n pieces hold 700 n - 140 (n - 1) >= 2000 only from n = 4 on."""
    shop = Shop(sheets=(Sheet(length_mm=700, width_mm=300),))
    pieces = long_plate(straight(), shop)
    assert len(pieces) == 4
    assert all(held_by(unfold(p.part, Din6935()).contour, shop.sheets) for p in pieces)


def test_nothing_is_split_that_a_sheet_holds_or_that_no_sheet_is_listed_for() -> None:
    (one,) = long_plate(straight(), Shop(sheets=(Sheet(length_mm=2000, width_mm=140),)))
    assert not [c for c in codes(one) if c.startswith("split-")]
    (two,) = long_plate(straight(), Shop(sheets=(Sheet(length_mm=1250, width_mm=500, thickness_mm=5),)))
    assert "split-no-sheet" in codes(two)
    (three,) = long_plate(straight(), split_up="never")
    assert places((three,)) == []


@pytest.mark.parametrize("sheet", [(2000.0, 100.0), (150.0, 150.0)])
def test_where_no_place_will_do_it_is_said_with_its_size(sheet: tuple[float, float]) -> None:
    (one,) = long_plate(straight(), Shop(sheets=(Sheet(length_mm=sheet[0], width_mm=sheet[1]),)))
    (finding,) = [f for f in one.findings if f.code == "split-no-place"]
    assert finding.value == "2000 x 140 mm" and finding.limit == f"within {sheet[0]:g} x {sheet[1]:g} mm"


def test_the_rules_judge_the_pieces_and_not_the_joint_as_an_end() -> None:
    """A joint at 90 deg is no end of the reinforcement; the sheet rule is silent once it is split."""

    def told(pieces: tuple[Piece, ...], shop: Shop) -> list[str]:
        flats = [unfold(p.part, Din6935()) for p in pieces]
        return [f.code for f in judge(pieces, flats, straight(), shop).findings]

    ends: dict[str, Any] = {"front_end": "angled", "rear_end": "angled"}
    whole = long_plate(straight(), **ends, split_up="never")
    assert "part-over-sheet" in told(whole, SHOP)
    assert "part-over-sheet" not in told(long_plate(straight(), **ends), SHOP)
    upright = long_plate(straight(), **ends, splits=(Split(at=Position(x_mm=1200), angle_deg=90),))
    assert "square-end" not in told(upright, SHOP)


@pytest.mark.parametrize("frame", FRAMES)
def test_on_every_demo_frame(frame: str) -> None:
    """The demo job's plates: every piece on a sheet, sound and on its seat; left and right joints a rail's depth apart along the rail."""
    read, kit = made("orchard-long-boxing", frame)
    (part,) = read.job.parts
    shop = read.job.shop
    tapes: dict[str, list[float]] = {"left": [], "right": []}
    assert any("-2" in p.id for p in kit.pieces)
    for piece, flat in zip(kit.pieces, kit.flats, strict=True):
        assert held_by(flat.contour, [s for s in shop.sheets if s.serves(piece.part.thickness_mm, piece.grade)]), piece.id
        if piece in plates(kit.pieces):
            check_piece(piece, part, read.frame, shop)
            own, right = read.frame.rail("left" if piece.side == "left" else "right"), read.frame.rail("right")
            for weld in (w for w in piece.welds if w.kind == "butt"):
                x, _ = own.plan.point(own.profile.s_of_tape(centre_of(weld, own)))
                tapes[piece.side].append(right.profile.tape(right.plan.s_at_x(x)))
    assert tapes["left"] and tapes["right"]
    rail = read.frame.rail("right")
    for one in tapes["right"]:
        assert min(abs(one - other) for other in tapes["left"]) >= rail.profile.depth_at_tape(one) - 1e-6


def test_pieces_do_not_overlap() -> None:
    pieces = long_plate(straight())
    for one, two in pairwise(pieces):
        assert box(one)[1][0] > box(two)[0][0]  # the slanted ends pass each other
        edges = [p for e in back_edges(two) for p in e]
        weld = joint_of(one)
        normal = np.cross(np.array(weld.points[1]) - np.array(weld.points[0]), (0, 1, 0))
        side = [float((p - np.array(weld.points[0])) @ normal) for p in edges]
        assert min(side) > 0 or max(side) < 0


def test_bad_input_is_the_only_thing_that_is_raised() -> None:
    """Joints every 20 mm along a plate with everything in the way: each is made, or refused with a field and a limit."""
    on = swept(crossmembers=(crossmember("cm", 1000),), holes=(hole("pin", Position(x_mm=700), 60),))
    made_count = 0
    for x in range(210, 2400, 60):
        try:
            pieces = build(
                on, seat="stepped", end=Position(at="rear", offset_mm=-100), splits=(Split(at=Position(x_mm=x)),),
                around=(Around(crossmember="cm", way="notch"),), pick_up=(PickUp(hole="pin"),),
            )  # fmt: skip
            made_count += 1
            assert len(plates(pieces)) == 2
        except BadInput as error:
            assert all(f.field == "split.at" and f.limit and f.remedy for f in error.faults), error
    assert made_count > 15
