"""A way round each crossmember: split, notch with a filler piece, window. Sizes by hand, clearances sampled."""

from __future__ import annotations

import math
from typing import Any

import pytest

from parts.errors import BadInput
from parts.families.rail_plate import Around, RailPlate
from parts.frame import Frame
from parts.frame.crossmember import CrossmemberSection
from parts.piece import Piece
from parts.shop import Shop
from parts.spec import Position
from tests.families.rail_plates import (
    BOX,
    DEG,
    axes,
    box,
    build,
    check_piece,
    crossmember,
    near,
    straight,
    swept,
    weld_samples,
)  # fmt: skip
from tests.families.test_rail_plate_seats import OUTBOARD
from tests.parts.frame.makers import at

# On the straight frame a crossmember 60 wide and 100 deep, its top 20 under the upper corner: z 480 to 580; at x 800, so x 770 to 830.
# The plate on the toes: z 453 to 597. Gap 1 mm all round: x 769 to 831, z 479 to 581; 26 mm of plate under it and 16 over it.
ROUND_BOX = CrossmemberSection(kind="closed", depth_mm=100, width_mm=60, thickness_mm=4, inside_radius_mm=4)
SHARP_BOX = CrossmemberSection(kind="closed", depth_mm=100, width_mm=60, thickness_mm=4)
HAT = CrossmemberSection(kind="hat", depth_mm=100, width_mm=60, thickness_mm=4, inside_radius_mm=4, lip_mm=10)
TUBE = CrossmemberSection(kind="tube", depth_mm=80, thickness_mm=4)


def crossed(section: CrossmemberSection = BOX, **more: Any) -> Frame:
    return straight(crossmembers=(crossmember("cm", 800, section=section, **more),))


def way(kind: str, **more: Any) -> tuple[Around, ...]:
    return (Around(crossmember="cm", way=kind, **more),)  # type: ignore[arg-type]


def names(pieces: tuple[Piece, ...]) -> list[str]:
    return [p.id for p in pieces]


@pytest.mark.parametrize("by", ["default", "named"])
def test_split(by: str) -> None:
    pieces = build(crossed(), around=way("split") if by == "named" else (), rear_end="angled", front_end="fish-mouth")
    assert names(pieces) == ["plate-right-1", "plate-right-2"]
    assert [(box(p)[0][0], box(p)[1][0]) for p in pieces] == [pytest.approx((200, 769)), pytest.approx((831, 1200))]
    front, rear = (p.part.panels[0].contour for p in pieces)
    assert sum(1 for s in front.segments if s.is_line and abs(s.a[0] - s.b[0]) < 1e-9) == 1, "only the end at the crossmember is upright"
    assert sum(1 for s in rear.segments if s.is_line and abs(s.a[0] - s.b[0]) < 1e-9) == 1


def test_two_splits_number_their_pieces_from_the_front_on_each_side() -> None:
    on = straight(crossmembers=(crossmember("a", 500), crossmember("b", 900)))
    pieces = build(on, side="both", crossmembers="split")
    assert names(pieces) == [f"plate-{side}-{n}" for side in ("left", "right") for n in (1, 2, 3)]
    ends = [(box(p)[0][0], box(p)[1][0]) for p in pieces[:3]]
    assert ends == [pytest.approx(e) for e in ((200, 469), (531, 869), (931, 1200))]


def test_a_plate_that_starts_inside_a_crossmember_starts_behind_it() -> None:
    pieces = build(crossed(), start=Position(x_mm=790))
    assert [(box(p)[0][0], box(p)[1][0]) for p in pieces] == [pytest.approx((831, 1200))]


@pytest.mark.parametrize(
    ("opens", "filler_z", "left"),
    [("lower", (453, 479), (581, 597)), ("upper", (581, 597), (453, 479)), ("nearest", (581, 597), (453, 479))],
)
def test_notch_and_its_filler(opens: str, filler_z: tuple[float, float], left: tuple[float, float]) -> None:
    """Open to one edge, x 769 to 831; the filler closes it past the crossmember: x 770 to 830, 1 mm from it and from the plate."""
    plate, filler = build(crossed(), around=way("notch", opens=opens))
    assert filler.id == "plate-right-filler-cm"
    low, high = box(filler)
    assert (low, high) == (near((770, 367, filler_z[0])), near((830, 370, filler_z[1])))
    contour, place = plate.part.panels[0].contour, plate.placements[0]

    def steel(x: float, z: float) -> bool:
        flip = place.u[0]  # the panel's u runs forward on the right rail's inboard face
        return contour.contains(((x - place.origin[0]) * flip, z - place.origin[2]))

    middle = (left[0] + left[1]) / 2
    assert steel(800, middle) and not steel(800, 530) and not steel(800, sum(filler_z) / 2)
    assert steel(768.9, 530) and not steel(769.1, 530) and steel(831.1, 530) and not steel(830.9, 530)
    # Edge of the notch over or under the crossmember: 1 mm from it.
    edge, outer = (581, 581.1) if opens == "lower" else (479, 478.9)
    assert steel(800, outer) and not steel(800, 2 * edge - outer)


def test_a_strip_too_narrow_for_a_filler_is_left_open_and_told() -> None:
    """Drop 8: z 492 to 592, so 597 - 593 = 4 mm of strip over it."""
    (plate,) = build(crossed(drop=8), around=way("notch"))
    assert any("left open to the upper edge over 4.0 mm: too narrow" in n for n in plate.notes)


def test_a_bolted_plate_gets_no_filler_as_nothing_is_welded_to_it() -> None:
    pieces = build(crossed(drop=30), around=way("notch"), seat="inside", attach="bolt")
    assert names(pieces) == ["plate-right"]
    assert any("nothing is welded to this plate" in n for n in pieces[0].notes)


@pytest.mark.parametrize(
    ("section", "asked", "corner"),
    [
        # gap 1 mm. A corner of radius r clears a corner of radius R by 1.414 - 0.414 (r - R); over half the gap asks r <= R + 2.
        (ROUND_BOX, 6, 6),  # R = 4 + 4
        (ROUND_BOX, 50, 10),
        (SHARP_BOX, 6, 2),
        (BOX, 6, 2),  # a channel's toes are sharp
        (HAT, 6, 2),  # a hat's lips are sharp
        (BOX, 1, 1),
    ],
)
def test_corners_never_foul_the_crossmembers_own(section: CrossmemberSection, asked: float, corner: float) -> None:
    on = crossed(section, removable=True)
    (plate,) = build(on, around=way("window", out_first=True), corner_radius_mm=asked)
    (window,) = plate.part.panels[0].holes
    assert (window.kind, window.length_mm, window.diameter_mm) == ("rectangle", near(62), near(102))
    assert window.corner_radius_mm == pytest.approx(corner)
    point, _, _ = axes(plate)["window-cm"]
    assert point == pytest.approx((800, 370, 530))
    notched = build(on, around=way("notch", opens="lower"), corner_radius_mm=asked)[0].part.panels[0].contour
    assert {round(s.radius, 6) for s in notched.segments if not s.is_line} == {corner}
    for piece in (plate, *build(on, around=way("notch", opens="upper"), corner_radius_mm=asked)):
        check_piece(piece, _plate(corner_radius_mm=asked), on, Shop())


def _plate(**parameters: Any) -> RailPlate:
    values: dict[str, Any] = {"id": "plate", "side": "right", "thickness_mm": 3, "seat": "toes"} | parameters
    return RailPlate(**({"start": Position(x_mm=200), "end": Position(x_mm=1200)} | values))


@pytest.mark.parametrize("kind", ["notch", "window"])
def test_round_a_tube(kind: str) -> None:
    """80 mm tube, its top 30 down: z 490 to 570. An opening of 82 mm across with round corners, clear of the tube by 1 mm on four sides."""
    on = crossed(TUBE, drop=30, removable=True)
    pieces = build(on, around=way(kind, out_first=True))
    for piece in pieces:
        check_piece(piece, _plate(), on, Shop())
    if kind == "window":
        (window,) = pieces[0].part.panels[0].holes
        assert (window.length_mm, window.diameter_mm) == (near(82), near(82))
        assert min(s.length for s in window.contour().segments) > 0.2, "no edge under 0.2 mm is cut"


def test_a_window_wants_its_crossmember_out_first_and_says_how() -> None:
    (plate,) = build(crossed(removable=True), around=way("window", out_first=True))
    (removal,) = plate.removals
    assert (removal.name, removal.what, removal.where) == ("cm", "crossmember", "both rails")
    assert removal.point == pytest.approx((800, 0, 530))
    assert "brace" in removal.how
    assert "crossmember-out-first" in [f.code for f in plate.findings]


@pytest.mark.parametrize(
    ("frame_more", "around", "limit", "remedy"),
    [
        ({"removable": True}, way("window"), "cannot be slipped over cm unless that comes out first", "out_first = true"),
        ({}, way("window", out_first=True), "cannot be slipped over cm unless that comes out first", "does not mark it removable"),
        (
            {"removable": True, "drop": 8},
            way("window", out_first=True),
            "would leave 4.0 mm of plate beside it; 12 mm is the least",
            "notch",
        ),
        ({"drop": 8}, way("notch", opens="lower"), "open to the lower edge would leave 4.0 mm of plate", "the other edge"),
        ({"drop": 40}, way("notch", opens="upper"), "open to the upper edge would leave 6.0 mm of plate", "the other edge"),
    ],
)
def test_refused_ways(frame_more: dict[str, Any], around: tuple[Around, ...], limit: str, remedy: str) -> None:
    with pytest.raises(BadInput) as error:
        build(crossed(**frame_more), around=around)
    (fault,) = error.value.faults
    assert (fault.where, fault.field, fault.value) == ("part plate", "around.way", around[0].way)
    assert limit in fault.limit and remedy in fault.remedy


@pytest.mark.parametrize("kind", ["angled", "fish-mouth", "square"])
@pytest.mark.parametrize("end", [775.0, 800.0, 828.0, 840.0, 860.0])
def test_a_notch_at_the_plates_end_stays_clear_or_is_refused(kind: str, end: float) -> None:
    on = crossed()
    plate = _plate(around=way("notch"), end=Position(x_mm=end), rear_end=kind)
    try:
        pieces = plate.build(on)
    except BadInput as error:
        assert all(f.field in ("around.way", "outline of panel panel-1") and (f.remedy or f.limit) for f in error.faults), error
        return
    for piece in pieces:
        check_piece(piece, plate, on, Shop())
    for filler in (p for p in pieces if "filler" in p.id):
        check_filler(filler, pieces[0], 1.0)


def check_filler(filler: Piece, plate: Piece, gap: float) -> None:
    """Right rail's inboard face: every joint runs along the filler's own edge, and each butt has the plate's edge just across the gap."""

    def off_edge(piece: Piece, x: float, z: float) -> float:
        place = piece.placements[0]
        return piece.part.panels[0].contour.distance(((x - place.origin[0]) * place.u[0], z - place.origin[2]))

    low, high = box(filler)
    middle = (low[0] + high[0]) / 2
    assert {"front side", "rear side"} <= {w.name for w in filler.welds}
    for weld in filler.welds:
        for x, _, z in weld_samples(weld.points):
            assert off_edge(filler, x, z) < 1e-6, f"{weld.name} in the air at x {x:.1f}, z {z:.1f}"
            if weld.kind == "butt":
                assert off_edge(plate, x + math.copysign(gap, x - middle), z) < 1e-6, f"no plate across from {weld.name} at z {z:.1f}"


@pytest.mark.parametrize(
    ("kind", "end", "built"),
    [
        # Open to the lower edge: x 769 to 831, z 453 to 581; a filler lies x 770 to 830, z 453 to 479, between plate on either side of it.
        # An end angled at 45 deg runs from (end, 453) up to the front, a mouth's lower side likewise to z 525.
        ("square", 800, False),  # 770 to 800, and no plate behind it
        ("square", 830.5, False),  # whole, and no plate behind it: that would begin at 831
        ("angled", 790, False),  # a triangle: at x 770 the end is at z 473
        ("angled", 830, False),  # its rear corner is cut off: at z 479 the end is at x 804
        ("angled", 980, True),  # at z 581 the end is at x 852
        ("fish-mouth", 790, False),
        ("fish-mouth", 830, False),
        ("square", 850, True),
        ("fish-mouth", 950, True),  # its bottom: x 878
    ],
)
def test_a_filler_only_where_the_plate_stands_on_both_sides_of_it(kind: str, end: float, built: bool) -> None:
    pieces = build(crossed(), around=way("notch", opens="lower"), end=Position(x_mm=end), rear_end=kind)
    assert names(pieces) == ["plate-right", *(["plate-right-filler-cm"] if built else [])]
    told = [n for n in pieces[0].notes if "no filler piece fits the notch for cm" in n and "the plate's end" in n]
    assert len(told) == (0 if built else 1)
    for filler in pieces[1:]:
        check_filler(filler, pieces[0], 1.0)


@pytest.mark.parametrize(
    ("asked", "left", "mend"),
    [
        ({"end": Position(x_mm=833)}, 2.0, {"end": Position(x_mm=843)}),  # 833 - 831; 10 more
        ({"end": Position(x_mm=965), "rear_end": "angled"}, 6.0, {"end": Position(x_mm=971), "rear_end": "angled"}),  # 965 - 128 - 831
        ({"start": Position(x_mm=762)}, 7.0, {"start": Position(x_mm=757)}),  # 769 - 762
        # A mouth's bottom: at z 525, 72 in from the tips; rounded by 10 it is 10 (sqrt 2 - 1) = 4.142 shallower. 910 - 72 + 4.142 - 831.
        ({"end": Position(x_mm=910), "rear_end": "fish-mouth"}, 11.1, {"end": Position(x_mm=911), "rear_end": "fish-mouth"}),
    ],
)
def test_a_finger_of_plate_past_a_notch_is_refused_and_its_remedies_work(asked: dict[str, Any], left: float, mend: dict[str, Any]) -> None:
    """12 mm is the least that is kept beside a notch, as above and below it."""
    around = way("notch", opens="lower")
    with pytest.raises(BadInput) as error:
        build(crossed(), around=around, **{"mouth_radius_mm": 10, **asked})
    (fault,) = error.value.faults
    assert fault.field == "around.way" and f"would leave {left:.1f} mm of plate" in fault.limit
    (field,) = (k for k in asked if k in ("start", "end"))
    least = abs(mend[field].x_mm - asked[field].x_mm)
    by = float(fault.remedy.split(" mm further ")[0].split()[-1])
    assert least <= by <= 1.2 * least + 1
    told = Position(x_mm=asked[field].x_mm + (by if field == "end" else -by))
    assert f"further {'rearward' if field == 'end' else 'forward'}" in fault.remedy
    for other in (mend, {**mend, field: told}):
        plate, filler = build(crossed(), around=around, **{"mouth_radius_mm": 10, **other})
        check_filler(filler, plate, 1.0)
    away: dict[str, Any] = {field: Position(x_mm=832 if field == "start" else 768)}
    assert f"{'behind' if field == 'start' else 'in front of'} cm" in fault.remedy
    assert names(build(crossed(), around=around, **away)) == ["plate-right"]


@pytest.mark.parametrize("other", ["notch", "split"])
def test_two_crossmembers_with_a_finger_between_them_want_two_plates(other: str) -> None:
    """x 770 to 830 and 842 to 902, 1 mm of gap each: 10 mm would stand between. The first ends at 769, the second starts at 903."""
    on = straight(crossmembers=(crossmember("a", 800), crossmember("b", 872)))
    both = (Around(crossmember="a", way="notch", opens="lower"), Around(crossmember="b", way=other, opens="lower"))  # type: ignore[arg-type]
    with pytest.raises(BadInput) as error:
        build(on, around=both)
    assert any("would leave 10.0 mm of plate beside it" in f.limit and f.remedy.startswith("two plates") for f in error.value.faults)
    assert build(on, end=Position(x_mm=769)) and build(on, start=Position(x_mm=903))


@pytest.mark.parametrize("kind", ["square", "angled", "fish-mouth"])
def test_the_remedy_for_a_finger_works_on_a_slope(kind: str) -> None:
    """On the kick of 18 deg a tape's millimetre is cos 18 deg = 0.95 mm along the rail. The end is laid at every 4 mm past the
    crossmember: where the finger is refused, it is moved by what the refusal says."""
    on = swept(crossmembers=(crossmember("cm", 2000, drop=-60, joint="bolted"),))
    more: dict[str, Any] = {"seat": "flush", "start": Position(x_mm=1700), "rear_end": kind, "around": way("notch", opens="upper")}
    refused = 0
    for offset in range(-540, -200, 4):
        try:
            build(on, end=at("rear", offset), **more)
        except BadInput as error:
            (fault,) = error.faults
            if "beside it, towards the plate's end" in fault.limit:
                further = float(fault.remedy.split(" mm further")[0].split()[-1])
                assert build(on, end=at("rear", offset + further), **more)
                refused += 1
    assert refused


def test_a_crossmember_that_is_not_there_is_refused_and_one_that_is_not_met_is_noted() -> None:
    with pytest.raises(BadInput, match="cn"):
        build(crossed(), around=(Around(crossmember="cn", way="split"),))
    (plate,) = build(crossed(), around=way("notch"), end=Position(x_mm=700))
    assert any("cm is named under around and does not meet" in n for n in plate.notes)


def test_nothing_left_between_crossmembers_is_refused() -> None:
    with pytest.raises(BadInput, match="nothing is left of the plate"):
        build(crossed(), start=Position(x_mm=780), end=Position(x_mm=820))


@pytest.mark.parametrize(
    ("seat", "open", "pieces"),
    [("toes", "inboard", 2), ("inside", "inboard", 2), ("outside", "inboard", 1), ("outside", "outboard", 2), ("toes", "outboard", 1)],
)
def test_only_plates_on_the_inboard_side_meet_a_crossmember(seat: str, open: str, pieces: int) -> None:
    cm = crossmember("cm", 800)
    on = straight(OUTBOARD, crossmembers=(cm,)) if open == "outboard" else straight(crossmembers=(cm,))
    assert len(build(on, seat=seat)) == pieces


def test_a_crossmember_over_or_under_the_plate_is_not_in_its_way() -> None:
    on = crossed(drop=-110, joint="bolted")  # bolted on top: z 610 to 710
    assert names(build(on)) == ["plate-right"]
    on = crossed(drop=80, joint="bolted")  # hangs under: z 420 to 520, past a strip of 60 mm that hangs from the upper flange
    assert names(build(on, hang="upper", height_mm=60)) == ["plate-right"]


def test_on_a_swept_facet_the_room_counts_the_plates_thickness() -> None:
    """Behind the turn the plate lies 8 deg to the crossmember: through 4 mm of plate the 60 mm take (60 + 4 sin 8) / cos 8 of its length,
    and the gap of 1 mm on each side. The window's middle: half the thickness' shift off the crossmember's."""
    cm = crossmember("cm", 2000, removable=True, drop=-60, joint="bolted")
    on = swept(crossmembers=(cm,))
    (placed,) = on.placed_crossmembers
    (plate,) = build(on, seat="flush", thickness_mm=4, start=Position(x_mm=1700), end=at("rear", -150), around=way("notch", opens="upper"))[
        :1
    ]
    check_piece(plate, _plate(seat="flush", thickness_mm=4), on, Shop())
    sides = [s for s in plate.part.panels[0].contour.segments if abs(s.a[0] - s.b[0]) < 1e-9]
    (one_side, other) = sorted({round(s.a[0], 6) for s in sides})
    assert other - one_side == pytest.approx((60 + 4 * math.sin(8 * DEG)) / math.cos(8 * DEG) + 2, abs=1e-5)
    assert placed.x_mm == 2000


@pytest.mark.parametrize("seat", ["toes", "flush", "stepped", "inside"])
@pytest.mark.parametrize("x", [1440.0, 1500.0, 1560.0, 2100.0])
def test_split_pieces_stay_clear_on_and_beside_the_turn(seat: str, x: float) -> None:
    """A crossmember right over the bends too: each piece ends on its own facet."""
    on = swept(crossmembers=(crossmember("cm", x, section=ROUND_BOX, drop=25 if x < 1900 else -40, joint="bolted"),))
    plate = _plate(seat=seat, start=Position(x_mm=900), end=at("rear", -150))
    try:
        pieces = plate.build(on)
    except BadInput as error:  # where a bend falls on an end
        assert all("between a bend and its end" in f.limit for f in error.faults)
        assert x in (1440.0, 1560.0)
        return
    assert len(pieces) == 2
    for piece in pieces:
        check_piece(piece, plate, on, Shop())


@pytest.mark.parametrize("seat", ["inside", "flush"])
def test_a_crossmember_right_over_a_sharp_turn_meets_two_facets(seat: str) -> None:
    """20 deg: 30 mm of x behind the turn are 30 / cos 20 deg = 31.9 mm of plate, so an end laid off on the front facet would foul it."""
    on = swept(turn_deg=20, radius=0, crossmembers=(crossmember("cm", 1500, section=ROUND_BOX, drop=25, joint="bolted"),))
    plate = _plate(seat=seat, start=Position(x_mm=900), end=at("rear", -150))
    pieces = plate.build(on)
    assert len(pieces) == 2
    for piece in pieces:
        check_piece(piece, plate, on, Shop())


def test_a_filler_names_the_piece_it_belongs_to() -> None:
    on = straight(crossmembers=(crossmember("a", 500), crossmember("b", 900)))
    pieces = build(on, crossmembers="split", around=(Around(crossmember="b", way="notch"),))
    assert names(pieces) == ["plate-right-1", "plate-right-2", "plate-right-filler-b"]
    assert {w.onto for w in pieces[2].welds if w.kind == "butt"} == {"plate-right-2"}


def test_a_cut_into_a_bend_is_refused_with_how_far() -> None:
    """A sharp turn: its one bend cannot be anywhere else. Crossmember right on it."""
    on = swept(radius=0, crossmembers=(crossmember("cm", 1500, drop=25),))
    with pytest.raises(BadInput) as error:
        build(on, around=way("notch"), start=Position(x_mm=900), end=at("rear", -150))
    fault = error.value.faults[0]
    assert fault.field == "around.way" and "mm into a bend of the plate" in fault.limit and "split" in fault.remedy
