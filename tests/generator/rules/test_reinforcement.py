"""Rules for plate that reinforces a rail, at their limits, and whom they bind.

Sources: VSB 6 section H (heavy vehicles): a reinforcement no thicker than its rail; 2 H (H = rail depth) past a rail cut and joined and
past spring hangers; ends at 45 deg or fish-mouthed, no full vertical weld. Trade pages: 1.5 times the rail; 3 H over a joint; inner and
outer plates end at different places. National hobby-vehicle guideline 2.3: boxing plates of 3 mm at least. TM 5-4210-230-14&P-1: 19 mm
off a flange's edge. TM 9-2320-289-34 p. 9-7: holes of a reinforcement 2 t from its edge.
"""

from __future__ import annotations

import math
from typing import Any

import pytest

from generator.rules.reinforcement import (
    boxing_thickness,
    end_shapes,
    ends_together,
    fishplate,
    flange_edge,
    holes_from_edge,
    reach,
    thickness,
)
from parts.frame import Frame
from parts.frame.features import Bracket, Condition
from parts.outline import Contour, rectangle
from parts.piece import Piece, WeldJoint
from parts.sheet import HOME
from parts.spec import Position
from tests.families.rail_plates import build, crossmember, swept
from tests.families.rail_plates import straight as bare
from tests.generator.rules.makers import (
    BACKS,
    LOW_Z,
    TINY,
    angle_piece,
    hole,
    on_right,
    one,
    outside_right,
    piece,
    silent,
    straight,
    subject,
    told,
)

HOBBY, COMMERCIAL = straight(), straight(commercial=True)
HEAT_TREATED = straight(heat_treated="yes")


def doubler(x0: float = 500.0, x1: float = 1200.0, *, back: str = "inside", id: str = "doubler-right", **more: Any) -> Piece:
    """Square-ended, 120 high in the middle of the right rail."""
    return piece(rectangle(0.0, 0.0, x1 - x0, 120.0), place=on_right(x0, LOW_Z + 15.0, back), id=id, **more)


def cut_ends(angle_deg: float, x0: float = 500.0, x1: float = 1200.0, **more: Any) -> Piece:
    """Both ends slanted at that angle to the rail's length."""
    lean = 120.0 / math.tan(math.radians(angle_deg))
    outline = Contour(((0.0, 0.0), (x1 - x0, 0.0), (x1 - x0 - lean, 120.0), (lean, 120.0)), (0.0,) * 4)
    return piece(outline, place=on_right(x0, LOW_Z + 15.0), id="doubler-right", **more)


# --- thickness ---


def test_no_thicker_than_the_rail_where_the_code_binds() -> None:
    """The rail is 4 mm. Sheets that differ by less than 0.05 mm are one trade size."""
    for t in (3.0, 4.0, 4.05):
        assert told(thickness, doubler(thickness=t), COMMERCIAL) == told(thickness, doubler(thickness=t), HOBBY) == []
    assert told(thickness, doubler(thickness=4.06), COMMERCIAL) == [("reinforcement-thick", "stop")]
    found = one(thickness, doubler(thickness=4.06), HOBBY)
    assert (found.level, found.limit) == ("note", "at most 4 mm")
    assert "written for commercial vehicles, which this one is not" in found.message


def test_one_and_a_half_times_the_rail() -> None:
    """6 mm by trade pages: a note beside the stop where the code binds, one note in all where it does not."""
    assert told(thickness, doubler(thickness=6.0), COMMERCIAL) == [("reinforcement-thick", "stop")]
    assert told(thickness, doubler(thickness=6.1), COMMERCIAL) == [("reinforcement-thick", "note"), ("reinforcement-thick", "stop")]
    assert "others allow 6 mm" not in one(thickness, doubler(thickness=6.0), HOBBY).message
    assert "others allow 6 mm, and this is more" in one(thickness, doubler(thickness=6.1), HOBBY).message


def test_boxing_plates_of_3_mm() -> None:
    for t in (3.0, 3.0 + TINY, 4.0):
        assert told(boxing_thickness, doubler(back="toes", thickness=t), HOBBY) == []
    assert told(boxing_thickness, doubler(back="toes", thickness=3.0 - TINY), HOBBY) == [("boxing-thin", "warn")]
    assert told(boxing_thickness, doubler(back="toes", thickness=2.5), COMMERCIAL) == [("boxing-thin", "note")]


def test_what_does_not_close_the_section_is_no_boxing_plate() -> None:
    assert silent(boxing_thickness, doubler(thickness=2.0)), "a doubler on the web"
    assert silent(boxing_thickness, doubler(600.0, 740.0, back="toes", thickness=2.0)), "shorter than the rail is deep: 150 mm"
    assert silent(thickness, doubler(600.0, 740.0, thickness=12.0))
    assert silent(thickness, angle_piece(thickness=12.0, place=on_right(600.0, 500.0))), "a bracket"
    assert silent(thickness, piece(rectangle(0.0, 0.0, 700.0, 120.0), thickness=12.0, place=HOME, side="centre")), "between the rails"


def test_a_plate_that_bends_with_its_rail_is_one() -> None:
    """On the swept, kicked and tapering frame of 4 mm, whose plates bend along the turn."""
    on = swept()
    (plate,) = build(on, thickness_mm=5, grade="A36", start=Position(x_mm=1100), end=Position(x_mm=2100), end_angle_deg=45,
                     front_end="angled", rear_end="fish-mouth")  # fmt: skip
    assert plate.part.bends
    assert told(thickness, plate, on) == [("reinforcement-thick", "note")]
    assert told(end_shapes, plate, on) == []


# --- ends ---


@pytest.mark.parametrize("angle", [44.0, 45.0, 45.4])  # of 45 deg; half a degree is what a drawing rounds to
def test_ends_cut_at_45_deg(angle: float) -> None:
    assert told(end_shapes, cut_ends(angle), COMMERCIAL) == []


@pytest.mark.parametrize("angle", [45.6, 60.0, 89.0])
def test_ends_cut_steeper_than_45_deg(angle: float) -> None:
    assert told(end_shapes, cut_ends(angle), COMMERCIAL) == [("square-end", "stop")]
    assert told(end_shapes, cut_ends(angle), HOBBY) == told(end_shapes, cut_ends(angle), HEAT_TREATED) == [("square-end", "note")]


def test_square_ends_on_both_frames() -> None:
    found = one(end_shapes, doubler(), COMMERCIAL)
    assert found.value == "front end and rear end" and "weld" not in found.message
    on = swept()
    (plate,) = build(on, start=Position(x_mm=1700), end=Position(x_mm=2300), rear_end="angled")  # on the slope of 18 deg
    assert one(end_shapes, plate, on).value == "front end"


@pytest.mark.parametrize("hang", ["lower", "upper"])
def test_fish_mouths_and_angled_ends_of_the_family_pass(hang: str) -> None:
    on = bare()
    (plate,) = build(on, seat="inside", front_end="fish-mouth", rear_end="angled", hang=hang)
    assert told(end_shapes, plate, on) == []


def test_an_end_with_a_weld_up_it() -> None:
    """A weld that climbs 120 of the rail's 150 mm along the square end; one of 70 does not count as a full one."""
    def ended(height: float) -> Piece:
        line = ((500.0, BACKS["inside"], LOW_Z + 15.0), (500.0, BACKS["inside"], LOW_Z + 15.0 + height))
        weld = WeldJoint(name="front end", kind="fillet", points=line, thickness_mm=(4.0, 4.0), onto="rail right web inside", leg_mm=3.0)
        return doubler(welds=(weld,))

    assert "a weld runs up" in one(end_shapes, ended(120.0), COMMERCIAL).message
    assert "a weld runs up" not in one(end_shapes, ended(70.0), COMMERCIAL).message


def test_an_end_at_a_crossmember_is_none() -> None:
    """A plate split on a crossmember goes on behind it."""
    on = bare(crossmembers=(crossmember("cm", 900),))
    pieces = build(on, seat="inside", start=Position(x_mm=300), end=Position(x_mm=1700), front_end="angled", rear_end="angled")
    assert len(pieces) == 2
    for half in pieces:
        assert told(end_shapes, half, on) == []


def test_an_end_that_the_plate_speaks_of_itself_is_not_told_again() -> None:
    on = bare()
    (plate,) = build(on, seat="inside")
    assert any(f.code == "square-end" for f in plate.findings)
    assert told(end_shapes, plate, on) == []


# --- reach ---


def hanger_at(x: float, *, commercial: bool = False, name: str = "spring-hanger", **more: Any) -> Frame:
    """100 mm long: x - 50 to x + 50."""
    bracket = Bracket(name=name, side="right", x_mm=x, up_mm=70, length_mm=100, height_mm=80, out_mm=40, **more)
    return straight(commercial=commercial, brackets=(bracket,))


@pytest.mark.parametrize("past", [300.0, 300.0 + TINY, 400.0])  # 2 H = 2 x 150
def test_two_depths_past_a_spring_hanger(past: float) -> None:
    assert told(reach, doubler(1950 - past, 2050 + past), hanger_at(2000, commercial=True)) == []


@pytest.mark.parametrize("past", [299.9, 120.0])
def test_less_than_two_depths_past_a_spring_hanger(past: float) -> None:
    of = doubler(1950 - past, 2050 + 310)
    assert told(reach, of, hanger_at(2000, commercial=True)) == [("reach-short", "stop")]
    found = one(reach, of, hanger_at(2000))
    assert (found.level, found.value, found.limit) == ("note", f"{past:.0f} mm", "at least 300 mm")
    assert "at its front end" in found.message and "rear" not in found.message


def test_where_the_rail_ends_the_plate_may_too() -> None:
    """A hanger 150 to 250 mm from the front end: no plate reaches 300 mm past it."""
    on = hanger_at(200, commercial=True)
    assert told(reach, doubler(0.0, 550.0), on) == []
    assert told(reach, doubler(10.0, 550.0), on) == [("reach-short", "stop")]


@pytest.mark.parametrize(
    ("name", "purpose", "counts"),
    [("spring-hanger", "", True), ("b1", "front hanger of the rear spring", True), ("b1", "spring shackle", True),
     ("b1", "pipe hanger", False), ("b1", "spring of the bonnet", False)],
)  # fmt: skip
def test_a_spring_hanger_is_known_by_its_words(name: str, purpose: str, counts: bool) -> None:
    on = hanger_at(2000, name=name, purpose=purpose)
    assert silent(reach, doubler(1900, 2100), on) is not counts


def test_a_hanger_that_is_cut_off_or_on_the_other_rail_or_elsewhere_does_not_count() -> None:
    assert silent(reach, doubler(1900, 2100), hanger_at(2000, fate="cut off"))
    assert silent(reach, doubler(500, 1900), hanger_at(2000))
    assert silent(reach, doubler(1900, 2100, side="left"), hanger_at(2000))
    assert silent(reach, doubler(1900, 2100))


def joint_at(x: float, *, up: float | None = None, commercial: bool = False) -> Frame:
    """A rail cut and joined: an old weld over the whole height of the web, 10 mm wide."""
    found = Condition(name="joint", kind="old weld", side="right", x_mm=x, up_mm=up, length_mm=10)
    return straight(commercial=commercial, conditions=(found,))


def test_two_depths_past_a_joint_and_three_over_it() -> None:
    """2 x 150 on either side of 995 to 1005; 3 H = 450 long."""
    assert told(reach, doubler(695, 1305), joint_at(1000, commercial=True)) == []
    assert told(reach, doubler(696, 1305), joint_at(1000, commercial=True)) == [("reach-short", "stop")]
    assert told(fishplate, doubler(695, 1305), joint_at(1000)) == told(fishplate, doubler(800, 1250), joint_at(1000)) == []
    assert told(fishplate, doubler(800.1, 1250), joint_at(1000)) == [("fishplate-short", "note")]


def test_an_old_weld_at_one_height_is_no_joint() -> None:
    assert silent(reach, doubler(900, 1100), joint_at(1000, up=40.0))
    assert silent(fishplate, doubler(900, 1100), joint_at(1000, up=40.0))


# --- ends that meet ---


def boxing(x0: float, x1: float, **more: Any) -> Piece:
    return doubler(x0, x1, back="toes", id="boxing-right", thickness=3.0, **more)


@pytest.mark.parametrize(
    ("x1", "meets"), [(1200.0, True), (1207.0, True), (1207.1, False), (1193.0, True), (1192.9, False), (1500.0, False)]
)
def test_two_plates_that_end_at_one_place(x1: float, meets: bool) -> None:
    """Square ends, 3 and 4 mm plate: no source says how near, here the two thicknesses together."""
    found = ends_together(subject(doubler(600, 1200), None, None, boxing(400, x1)))
    assert [(f.code, f.level) for f in found or ()] == ([("ends-together", "note")] if meets else [])


def test_the_stretch_over_which_an_end_is_cut_counts() -> None:
    """The doubler's 45 deg ends run over 120 mm: 1080 to 1200. A boxing plate that stops at 1100 stops there too; one at 1070 does not."""
    slanted = cut_ends(45.0, 600, 1200)
    assert told(ends_together, slanted, None, None, boxing(300, 1100)) == [("ends-together", "note")]
    assert silent(ends_together, slanted, None, None, boxing(300, 1040))


def test_the_later_of_two_is_told_and_only_one_rail_counts() -> None:
    first, second = boxing(400, 1200), doubler(600, 1200)
    assert silent(ends_together, first, None, None)
    found = one(ends_together, second, None, None, first)
    assert "rear end lies where that of boxing right does" in found.message
    left = piece(rectangle(0.0, 0.0, 800.0, 120.0), id="boxing-left", side="left", place=on_right(400, LOW_Z + 15.0, "toes"))
    assert silent(ends_together, second, None, None, left)


def test_plates_that_only_meet_end_to_end_are_not_beside_each_other() -> None:
    assert silent(ends_together, doubler(1000, 1800), None, None, boxing(400, 1000))


# --- welds and holes ---


def test_welds_on_a_flanges_edge_are_told_as_a_conflict() -> None:
    """Boxing as the family makes it, on the toes; on the web there is no such weld."""
    on = bare()
    (plate,) = build(on)
    assert told(flange_edge, plate, HOBBY) == [("weld-at-flange-edge", "note")]
    assert told(flange_edge, plate, COMMERCIAL) == told(flange_edge, plate, HEAT_TREATED) == [("weld-at-flange-edge", "warn")]
    assert told(flange_edge, plate, straight(heat_treated="unknown")) == [("weld-at-flange-edge", "warn")]
    (inside,) = build(on, seat="inside")
    assert silent(flange_edge, inside)


@pytest.mark.parametrize(("gap", "finds"), [(8.0, False), (8.0 + TINY, False), (8.0 - TINY, True), (3.0, True)])  # 2 x 4 mm
def test_a_hole_of_a_reinforcement_from_its_edge(gap: float, finds: bool) -> None:
    of = doubler(holes=[hole(300.0, gap + 6.5, name="near"), hole(400.0, 60.0, name="far")])
    assert told(holes_from_edge, of, COMMERCIAL) == ([("reinforcement-hole-edge", "warn")] if finds else [])
    assert told(holes_from_edge, of, HOBBY) == ([("reinforcement-hole-edge", "note")] if finds else [])
    if finds:
        assert one(holes_from_edge, of, COMMERCIAL).where == "doubler right, near"
    assert silent(holes_from_edge, doubler())


def test_a_plate_outside_the_web_is_a_reinforcement_too() -> None:
    of = piece(rectangle(0.0, 0.0, 700.0, 120.0), thickness=5.0, place=outside_right(1500.0, LOW_Z + 15.0))
    assert told(thickness, of, COMMERCIAL) == [("reinforcement-thick", "stop")]
    assert silent(boxing_thickness, of)
