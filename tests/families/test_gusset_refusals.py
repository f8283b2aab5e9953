"""What a gusset refuses: the part, the field, the number. Frames as in `gussets.py`."""

from __future__ import annotations

from dataclasses import replace
from typing import Any

import pytest

from parts.families.gusset import Place
from parts.spec import Position
from tests.families.gussets import cross, cross_section, gusset, kit, seat, straight, under_seat
from tests.parts.frame.makers import STRAIGHT, check_fault, demo_frame, drawn, faults_of, frame, section, turned


@pytest.mark.parametrize(
    ("fields", "field", "limit"),
    [
        ({"to": "web"}, "to", "is the first face's"),
        ({"grade": "no such steel"}, "grade", ""),
        ({"flange_mm": 30.0, "edge_radius_mm": 200.0}, "edge_radius", "straight edge"),
        ({"snipe_mm": 75.0}, "leg_to", "less than 12 mm beyond a snipe of 75 mm"),
        ({"thickness_mm": 0.5}, "thickness", "1.5"),
        ({"places": (Place(),) * 51}, "place", "at most 50"),
    ],
)
def test_what_no_frame_is_needed_for(fields: dict[str, Any], field: str, limit: str) -> None:
    check_fault(lambda: gusset(**fields), "part corner", field, limit)


def test_a_place_is_given_once() -> None:
    check_fault(lambda: Place(drop_mm=50.0, offset_mm=10.0), "", "drop", "give a place once")


@pytest.mark.parametrize(
    ("fields", "field", "limit"),
    [
        ({"snipe_mm": 3.0}, "snipe", "the 4 mm fillet between them takes up 4.0 mm"),
        ({"edge_radius_mm": 45.0}, "edge_radius", "100.0 mm apart"),  # chord 80, 60
        # chord 62.2 long, 39.6 off the corner; 32 - sqrt(32^2 - 31.11^2) = 24.52 deep; the snipe 4.95 off: 10.13
        ({"leg_on_mm": 50.0, "leg_to_mm": 50.0, "toe_mm": 6.0, "edge_radius_mm": 32.0}, "edge_radius", "leaves 10.1 mm of plate"),
        ({"places": (Place(offset_mm=0.0), Place(offset_mm=3.0))}, "place.offset", "two of its plates would be in one place"),
        ({"hole_mm": 60.0}, "hole", "there is room for 47.3 mm"),  # r = 76 / 2.4 = 31.667 less 2 t = 8: 23.667, twice
        ({"toe_mm": 90.0}, "toe", ""),
        ({"flange_mm": 15.0}, "flange", "too narrow to bend in 4 mm"),  # 5.6 t = 22.4
        ({"flange_mm": 30.0, "flange_way": "front"}, "flange_way", "look down and up"),
        ({"places": (Place(at=Position(at="mid")),)}, "place.at", "runs up"),
        ({"places": (Place(z_mm=590.0),)}, "leg_to", "has no flat steel 12.0 mm wide"),  # crossmember flat to 567
        ({"to_face": "rear"}, "to_face", "has no flat face of that name: it has front, top, underside"),
        ({"on_face": "x"}, "on_face", "web is one face"),
        ({"to": "nobody"}, "to", "no crossmember, and no part"),
        ({"on": "nobody"}, "on", ""),
    ],
)
def test_on_a_straight_frame(fields: dict[str, Any], field: str, limit: str) -> None:
    found = faults_of(lambda: gusset(side="right", **fields).build(straight()))
    assert {f.where for f in found} == {"part corner"}, found
    assert field in {f.field for f in found}, [str(f) for f in found]
    assert any(limit in f.limit for f in found if f.field == field), [str(f) for f in found]
    assert all(f.remedy for f in found if f.field != "on"), [str(f) for f in found]


def test_the_remedy_of_a_leg_too_long_works() -> None:
    """The front end of the rail lies 40 mm before the crossmember's front: 40 is the most."""
    on = straight(at=None, x_mm=65.0)
    (fault,) = faults_of(lambda: gusset(side="right").build(on))
    assert (fault.field, fault.remedy.split(",")[0]) == ("leg_on", "at most 40 mm")
    gusset(side="right", leg_on_mm=40.0).build(on)
    assert faults_of(lambda: gusset(side="right", leg_on_mm=41.0).build(on))


def test_plates_of_both_sides_that_meet_in_the_middle() -> None:
    """The rails' inside faces stand 852 mm apart: two legs of 430 do not fit between them."""
    check_fault(lambda: gusset(leg_to_mm=430.0).build(straight()), "part corner", "place", "two of its plates")
    gusset(leg_to_mm=425.0).build(straight())


def test_a_turn_has_no_flat_face() -> None:
    on = frame(turned(-8.0, radius=400.0), crossmembers=(cross(at=None, x_mm=1510.0),))
    check_fault(lambda: gusset(side="right").build(on), "part corner", "to", "turns here")


def test_a_leg_may_not_reach_into_a_turn() -> None:
    """8 deg at 400 mm: the arc begins 400 tan 4 deg = 27.97 mm before and ends as much behind x = 1500, about 1527.7."""
    on = frame(turned(-8.0, radius=400.0), crossmembers=(cross(at=None, x_mm=1610.0),))
    (fault,) = faults_of(lambda: gusset(side="right").build(on))
    assert fault.field == "leg_on"
    most = float(fault.remedy.removeprefix("at most ").split(" ")[0])
    assert most == pytest.approx(1585 - 1500 - 27.97, abs=2.0)
    gusset(side="right", leg_on_mm=most).build(on)


def test_a_round_tube_has_no_flat_face() -> None:
    on = straight(section=cross_section(kind="tube", depth_mm=76, width_mm=None, inside_radius_mm=0), drop_mm=37)
    check_fault(lambda: gusset(side="right", to_face=None).build(on), "part corner", "to", "round tube")


def test_parallel_faces_make_no_corner() -> None:
    make = under_seat(side="right", on_face="base", to_face="base")
    check_fault(lambda: kit(frame(), seat(), make), "part prop", "to", "no flat face that makes a corner")


def test_a_panel_that_is_not_there() -> None:
    check_fault(lambda: kit(frame(), seat(), under_seat(side="right", to_face="lid")), "part prop", "to_face", "seat has no panel")


def test_a_gusset_through_the_seats_own_side_returns() -> None:
    """The seat's side gussets stand at its sides: 75 - 4 - 4 to 75 - 4 from its middle."""
    make = under_seat(side="right", places=(Place(offset_mm=66.0),), tabs_to=0, leg_on_mm=40.0)
    found = faults_of(lambda: kit(frame(), seat(gussets=True), make))
    assert {f.where for f in found} == {"part prop"}


@pytest.mark.parametrize("drop", [39.8, 44.7, 49.6, 54.5, 61.0])
@pytest.mark.parametrize("thick", [1.0, 4.0])
def test_a_flange_through_the_rails_own_flange(drop: float, thick: float) -> None:
    """The plate's middle `drop` under z 600, its upper face 2 higher; a flange of 60 over all ends at z 600 - drop - 2 + 60: from 62 + t on
    it stays under the rail's upper flange, whose inside lies at 600 - t. Anywhere before that it goes into it, or through."""
    on = frame(drawn(*STRAIGHT.stations, section=section(flange_thickness_mm=thick)), crossmembers=(cross(),))
    make = {"side": "right", "flange_mm": 60.0, "flange_way": "up", "leg_to_mm": 120.0, "leg_on_mm": 90.0}
    if drop - 58.0 >= thick:
        assert gusset(**make, places=(Place(drop_mm=drop),)).build(on)
        return
    (fault,) = faults_of(lambda: gusset(**make, places=(Place(drop_mm=drop),)).build(on))
    assert "into the upper flange of rail right" in fault.limit and "narrower flange" in fault.remedy


def test_a_flange_through_the_lip_of_the_crossmember() -> None:
    """A hat 110 deep, open downwards, its lips of 25 at z 470 to 474: a flange of 65 turned down from z 527 reaches z 462."""
    hat = cross_section(kind="hat", depth_mm=110, width_mm=120, lip_mm=25)
    on = straight(section=hat, opens="down", drop_mm=20)
    make = {"side": "right", "leg_on_mm": 50.0, "toe_mm": 10.0, "flange_way": "down", "places": (Place(z_mm=525.0),)}
    found = faults_of(lambda: gusset(**make, flange_mm=65.0).build(on))
    assert [f.limit for f in found] == ["the plate would run into the lip of cm"]
    gusset(**make, flange_mm=50.0).build(on)


def test_everything_about_one_plate_is_told_at_once() -> None:
    make = {"flange_mm": 15.0, "flange_way": "front", "hole_mm": 90.0, "tabs_on": 1, "tabs_to": 2}
    found = faults_of(lambda: gusset(side="right", **make).build(straight()))
    assert [f.field for f in found] == ["hole", "tabs_on", "tabs_to", "flange_way", "flange"]


def test_every_two_plates_in_one_place_are_told() -> None:
    """At -30, -29, 30 and 31 two pairs of plates 4 mm thick lie in each other."""
    places = tuple(Place(offset_mm=x) for x in (-30.0, -29.0, 30.0, 31.0))
    assert len(faults_of(lambda: gusset(side="right", places=places).build(straight()))) == 2


@pytest.mark.parametrize(
    "make", [{"snipe_mm": 1.0}, {"snipe_mm": 1.0, "on": "upper flange", "leg_on_mm": 60.0, "leg_to_mm": 60.0, "toe_mm": 12.0}]
)
def test_the_remedy_of_a_snipe_works(make: dict[str, Any]) -> None:
    """What it says is as much as is needed, and no second fault comes after it."""
    on = straight(drop_mm=-100.0, joint="bolted") if "on" in make else straight()
    found = faults_of(lambda: gusset(side="right", **make).build(on))
    fault = next(f for f in found if f.field == "snipe")
    snipe = float(fault.remedy.removeprefix("at least ").removeprefix("snipe = ").split(" ")[0])
    gusset(side="right", **(make | {"snipe_mm": snipe})).build(on)


def test_the_remedy_of_a_snipe_clears_the_fillet_in_the_corner_too() -> None:
    """A crossmember open downwards, its toes 2 mm over the rail's flange: flat from 2 mm off the corner on, where the fillet between 4 and
    4 mm takes 4."""
    on = straight(section=cross_section(kind="channel"), opens="down", drop_mm=-102.0, joint="bolted")
    make = {"side": "right", "on": "upper flange", "leg_on_mm": 60.0, "leg_to_mm": 60.0, "toe_mm": 12.0}
    (fault,) = [f for f in faults_of(lambda: gusset(**make, snipe_mm=1.0).build(on)) if f.field == "snipe"]
    assert fault.remedy == "snipe = 4 mm, or leave it out"
    gusset(**make, snipe_mm=4.0).build(on)


def test_at_a_name_that_no_rail_has() -> None:
    make = under_seat(side="right", places=(Place(at=Position(at="nowhere")),))
    check_fault(lambda: kit(frame(), seat(), make), "part prop", "place.at", "no place of that name")


def test_both_sides_tell_their_own_faults() -> None:
    left_only = replace(demo_frame("mill-pickup"))
    found = faults_of(lambda: gusset(to="cm-rear", to_face="rear", leg_on_mm=60.0).build(left_only))
    assert len(found) == 2 and {("left" in f.limit) for f in found} == {True, False}
