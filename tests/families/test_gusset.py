"""Gussets: size, place and angle against closed forms, legs on their faces to 1e-6 mm, welds, findings.

Frames are the plain ones of `gussets.py`: the inboard face of the right web lies at y = 426, the crossmember's front at x = 1775.
"""

from __future__ import annotations

import math
from dataclasses import replace
from typing import Any

import numpy as np
import pytest

from parts.families.gusset import Place
from parts.features.flat_faces import flange_at
from parts.formed import formed
from parts.frame.features import Bracket, FrameHole
from parts.shop import Shop
from parts.spec import Position
from tests.families.gussets import (
    codes,
    cross,
    cross_section,
    gusset,
    kit,
    legs,
    panels,
    seat,
    straight,
    swept,
    under_seat,
    with_parts,
)
from tests.parts.frame.makers import STRAIGHT, demo_frame, drawn, frame, kicked, mount, section, turned

EXACT = 1e-6


def test_area_of_the_plate_is_that_of_its_polygon() -> None:
    """Legs 100 and 80 at 90 deg, toes 20, snipe 7: half |sum of cross products|, worked by hand.

    Trapezia under the free edge: 20 x 80 + (20 + 80) / 2 x 80 = 1600 + 4000 = 5600; less the snipe's triangle 7 x 7 / 2 = 24.5.
    """
    piece = gusset(side="right").build(straight())[0]
    assert piece.part.panels[0].contour.area == pytest.approx(5600 - 24.5, abs=1e-9)


def test_a_round_snipe_takes_a_quarter_disc() -> None:
    """pi 7^2 / 4 in place of the triangle."""
    piece = gusset(side="right", snipe_shape="round").build(straight())[0]
    assert piece.part.panels[0].contour.area == pytest.approx(5600 - math.pi * 49 / 4, abs=1e-9)


def test_a_hollow_edge_takes_a_circular_segment() -> None:
    """Chord 100 (80, 60), radius 100: half angle asin(50 / 100) = 30 deg; segment r^2 (theta - sin theta) / 2, theta = 60 deg."""
    piece = gusset(side="right", edge_radius_mm=100).build(straight())[0]
    segment = 100**2 / 2 * (math.pi / 3 - math.sin(math.pi / 3))
    assert piece.part.panels[0].contour.area == pytest.approx(5600 - 24.5 - segment, abs=1e-9)


def test_snipe_clears_the_fillet_in_the_corner() -> None:
    """Web 4 and crossmember 4: fillet 4 (never above the thinner part, AISC J2.2b); the leg begins 3 mm past it."""
    (piece,) = gusset(side="right").build(straight())
    first, _ = legs(piece)
    assert min(abs(first[:, 0] - 1775.0)) == pytest.approx(7.0, abs=EXACT)
    assert any("4 mm fillet between them takes up 4.0 mm" in n for n in piece.notes)


def test_snipe_clears_the_bend_between_two_panels() -> None:
    """A seat of 4 mm A36 bends to an inside radius of 5 (DIN 6935:1975): both inner faces are flat from 5 mm off the corner on."""
    made = kit(frame(), seat(), under_seat(side="right"))
    plate, _ = panels(made["prop-right"])["plate"]
    assert min(u for u, v in plate.contour.points if abs(v) < 1e-9) == pytest.approx(5.0 + 3.0, abs=EXACT)


@pytest.mark.parametrize("side", ["left", "right"])
def test_swept_rail_opens_the_corner_by_its_turn(side: str) -> None:
    """Rails run in by 8 deg going rearward: in front of a crossmember they stand 90 + 8 deg to it. By numpy, from the placed plate."""
    (piece,) = gusset(side=side).build(swept())
    first, second = legs(piece)
    one, two = first[2] - first[0], second[0] - second[2]
    angle = np.degrees(np.arccos(one @ two / np.linalg.norm(one) / np.linalg.norm(two)))
    assert angle == pytest.approx(98.0, abs=1e-9)
    assert np.linalg.norm(one) == pytest.approx(100 - 7, abs=EXACT)
    sign = 1.0 if side == "right" else -1.0
    # The rail's inside face: through the turn's corner (1500, 430), 8 deg in, 4 mm of web square to it.
    normal = np.array([math.sin(math.radians(8)), math.cos(math.radians(8))])
    off = (first[:, :2] * [1.0, sign] - [1500.0, 430.0]) @ normal
    assert off == pytest.approx(-4.0, abs=EXACT)
    assert second[:, 0] == pytest.approx(2100.0 - 25.0, abs=EXACT)
    plate, at = panels(piece)["plate"]
    assert at.point(*plate.contour.points[3])[0] == pytest.approx(2075.0 - 20.0, abs=EXACT)  # its toe is 20 high, square off the face


def test_behind_the_crossmember_the_same_rail_closes_it() -> None:
    closed = replace(swept(), crossmembers=(cross(at=None, x_mm=2100.0, section=cross_section(kind="closed")),))
    (piece,) = gusset(side="right", to_face="rear").build(closed)
    first, second = legs(piece)
    one, two = first[2] - first[0], second[0] - second[2]
    assert np.degrees(np.arccos(one @ two / np.linalg.norm(one) / np.linalg.norm(two))) == pytest.approx(82.0, abs=1e-9)
    assert one[0] > 0


@pytest.mark.parametrize("name", ["orchard-flatbed", "river-wagon", "mill-pickup"])
def test_legs_lie_on_their_faces_on_the_demo_frames(name: str) -> None:
    """Independently of how faces are found: on the rail by its own (s, z, offset), on the crossmember by its box."""
    on = demo_frame(name)
    for piece in gusset(to="cm-mid", leg_on_mm=58.0).build(on):
        for k, at in enumerate(piece.placements):
            rail = on.rail("left" if at.origin[1] < 0 else "right")
            first, second = legs(piece, k)
            assert [rail.szo(tuple(p))[2] for p in first] == pytest.approx([rail.thickness_mm] * 4, abs=EXACT)
            assert second[:, 0] == pytest.approx(on.crossmember("cm-mid").box[0], abs=EXACT)


def test_on_the_river_wagons_swept_and_kicked_rails() -> None:
    """Half way up its kick, turned 8 deg: the web is upright however the rail rises, so the corner stands upright too."""
    wagon = demo_frame("river-wagon")
    own = cross(name="mine", at=Position(at="mid", offset_mm=250.0), section=cross_section(depth_mm=60), drop_mm=30)
    on = replace(wagon, crossmembers=(*wagon.crossmembers, own))
    (piece,) = gusset(to="mine", leg_on_mm=45.0, leg_to_mm=60.0, toe_mm=12.0).build(on)
    assert piece.side == "both" and piece.quantity == 2
    for k, side in enumerate(on.sides):
        first, second = legs(piece, k)
        one, two = first[2] - first[0], second[0] - second[2]
        assert np.degrees(np.arccos(one @ two / np.linalg.norm(one) / np.linalg.norm(two))) == pytest.approx(98.0, abs=0.01)
        rail = on.rail(side)
        assert [rail.szo(tuple(p))[2] for p in first] == pytest.approx([rail.thickness_mm] * 4, abs=EXACT)


def test_an_upright_gusset_stands_square_to_its_corner() -> None:
    """Between a seat's base and the seat itself the corner runs along the rail: the plate's normal is x."""
    made = kit(frame(), seat(), under_seat(side="right"))
    _, at = panels(made["prop-right"])["plate"]
    assert np.abs(at.normal) == pytest.approx([1.0, 0.0, 0.0], abs=1e-12)
    assert at.point(0, 0, 2.0)[0] == pytest.approx(800.0 + 55.0, abs=EXACT)  # the middle of a seat 150 wide, and 55


def test_a_flange_mirrors_what_is_else_one_shape() -> None:
    plain = gusset().build(straight())
    assert [(p.id, p.side, p.quantity) for p in plain] == [("corner", "both", 2)]
    flanged = gusset(flange_mm=30, flange_way="up").build(straight())
    assert [(p.id, p.quantity) for p in flanged] == [("corner-left", 1), ("corner-right", 1)]
    for piece in flanged:
        low, high = formed(piece.part).box(piece.placements[0])
        assert (low[2], high[2]) == pytest.approx((525 - 2, 525 - 2 + 30), abs=0.01)  # 30 over all, upwards on both sides


def test_several_places_are_one_shape_where_the_corner_is_alike() -> None:
    (piece,) = gusset(places=(Place(offset_mm=-20.0), Place(offset_mm=20.0))).build(straight())
    assert piece.quantity == 4
    assert sorted({round(at.point(0, 0, 2.0)[2], 9) for at in piece.placements}) == [505.0, 545.0]


def test_rails_that_differ_give_two_shapes() -> None:
    """The right rail runs in by 8 deg, the left by 7: 98 and 97 deg."""
    on = frame(replace(turned(-8.0), side="right"), replace(turned(-7.0).mirrored(), side="left"),
               crossmembers=(cross(at=None, x_mm=2100.0),))  # fmt: skip
    assert sorted(p.id for p in gusset().build(on)) == ["corner-left", "corner-right"]


# --- places ---


@pytest.mark.parametrize(("place", "z"), [(Place(drop_mm=60.0), 540.0), (Place(z_mm=500.0), 500.0), (Place(), 525.0)])
def test_heights(place: Place, z: float) -> None:
    """Upper corner 600. The middle: crossmember flat from 475 + 8 to 575 - 8, web from 458 to 592."""
    (piece,) = gusset(side="left", places=(place,)).build(straight())
    assert piece.placements[0].point(0, 0, 2.0)[2] == pytest.approx(z, abs=EXACT)


def test_at_is_along_the_rail() -> None:
    made = kit(frame(), seat(), under_seat(side="left", places=(Place(at=Position(x_mm=760.0)),)))
    assert made["prop-left"].placements[0].point(0, 0, 2.0)[0] == pytest.approx(760.0, abs=EXACT)


# --- welds ---


def test_welds_run_along_both_sides_of_both_legs_and_stop_before_the_toes() -> None:
    """From the snipe, 7 mm off the corner, to 6 mm before the toe: TM 5-4210-230-14&P-1."""
    (piece,) = gusset(side="right").build(straight())
    lines = {w.name: w for w in piece.welds}
    assert len(lines) == 4
    assert {w.kind for w in piece.welds} == {"fillet"} and {w.leg_mm for w in piece.welds} == {4.0}
    on_rail, on_crossmember = (np.array(lines[f"leg on {name} side"].points) for name in ("rail right web, up", "cm front, down"))
    assert on_rail == pytest.approx(np.array([(1768.0, 426.0, 527.0), (1775.0 - 94.0, 426.0, 527.0)]), abs=EXACT)
    assert on_crossmember == pytest.approx(np.array([(1775.0, 419.0, 523.0), (1775.0, 426.0 - 74.0, 523.0)]), abs=EXACT)
    assert lines["leg on cm front, down side"].thickness_mm == (4.0, 4.0)


def test_fillet_as_asked_is_judged_by_the_table() -> None:
    (piece,) = gusset(side="right", fillet_mm=2.0).build(straight())
    assert codes(piece) == {"fillet-leg-small": "warn"}
    assert {w.leg_mm for w in piece.welds} == {2.0}


# --- findings ---


def test_a_leg_over_a_hole_is_told_with_its_distance() -> None:
    """A 16 mm hole, its middle 12 mm above the plate's: 12 - 8 - 2 = 2 mm from the plate's side, and the fillet takes 4."""
    hole = FrameHole(name="pipe", side="right", at=Position(at="mid", offset_mm=-80.0), up_mm=87.0, diameter_mm=16)
    (piece,) = gusset(side="right").build(replace(straight(), holes=(hole,)))
    (found,) = [f for f in piece.findings if f.code == "gusset-over-hole"]
    assert found.value == "2.0 mm" and found.level == "warn"
    clear = replace(hole, up_mm=89.5)  # 4.5 mm beside it
    (piece,) = gusset(side="right").build(replace(straight(), holes=(clear,)))
    assert "gusset-over-hole" not in codes(piece)


@pytest.mark.parametrize(("filled", "across"), [("rivet", 1.75), ("bolt", 2.0), ("nut", 2.0)])
def test_a_leg_on_a_head_is_stopped_and_never_told_to_be_welded_up(filled: str, across: float) -> None:
    """Heads of 13 mm holes that nobody measured, from memory: 1.75 d and 2 d. The plate's side lies 2 mm off its middle, its fillet 6."""
    own = FrameHole(name="h", side="right", at=Position(at="mid", offset_mm=-80.0), up_mm=75.0, diameter_mm=13, filled=filled)  # type: ignore[arg-type]
    for up, level in ((75.0 + across * 6.5 + 1.9, "stop"), (75.0 + across * 6.5 + 2.1, "warn"), (75.0 + across * 6.5 + 6.1, None)):
        (piece,) = gusset(side="right").build(replace(straight(), holes=(replace(own, up_mm=up),)))
        told = [f for f in piece.findings if f.code == "gusset-over-hole"]
        assert [f.level for f in told] == ([level] if level else [])
        assert all(f"the head of {filled} h" in f.message and "weld the hole" not in f.remedy for f in told)


def test_a_leg_beside_a_parts_bolt_keeps_off_its_washer() -> None:
    """The seat's slot for M12, 43.5 x 13.5, lies along the rail, its middle at x 800: its washer, 2 d across, ends 43.5 / 2 + 6.75 = 28.5
    off it. A plate at 36 has its side at 34, 5.5 off that; at 34 it is 3.5 mm off, and its fillet takes 4."""
    for offset, told in ((36.0, False), (34.0, True)):
        made = kit(frame(), seat(), under_seat(side="right", tabs_to=0, places=(Place(offset_mm=offset),)))
        found = [f for f in made["prop-right"].findings if f.code == "gusset-over-hole"]
        assert bool(found) is told
        assert all("washer" in f.message and f.value == "3.5 mm" and "weld" not in f.remedy for f in found)


def test_a_removable_crossmember_is_not_welded_in_unsaid() -> None:
    (piece,) = gusset(side="right").build(straight(removable=True, joint="bolted"))
    assert codes(piece)["gusset-on-removable"] == "warn"


def test_brackets_in_the_room_come_off_or_are_in_the_way() -> None:
    own = Bracket(name="old", side="right", at=Position(at="mid", offset_mm=-90.0), up_mm=75, length_mm=40, height_mm=30, out_mm=40,
                  inner_face=True, fate="cut off", held_by="weld")  # fmt: skip
    (piece,) = gusset(side="right").build(replace(straight(), brackets=(own,)))
    assert [r.name for r in piece.removals] == ["old"]
    (piece,) = gusset(side="right").build(replace(straight(), brackets=(replace(own, fate="kept"),)))
    assert codes(piece) == {"bracket-in-the-way": "stop"}


def on_flange(**fields: Any) -> Any:
    """Before a crossmember that stands on the rail, over its flange: x 1715 to 1775, from z 600 up, in the middle of the flange's flat."""
    return gusset(side="right", on="upper flange", leg_on_mm=60.0, leg_to_mm=60.0, toe_mm=12.0, **fields)


def test_brackets_and_mounts_on_a_flange_are_in_the_way_too() -> None:
    on = straight(drop_mm=-100.0, joint="bolted")
    place = Position(at="mid", offset_mm=-60.0)
    own = Bracket(name="old", side="right", face="upper flange", at=place, in_mm=30, length_mm=40, height_mm=40, out_mm=40, fate="kept",
                  held_by="weld")  # fmt: skip
    (piece,) = on_flange().build(replace(on, brackets=(own,)))
    assert codes(piece)["bracket-in-the-way"] == "stop"
    (piece,) = on_flange().build(replace(on, brackets=(replace(own, fate="cut off"),)))
    assert [(r.name, r.where) for r in piece.removals] == [("old", "rail right upper flange")]
    (piece,) = on_flange().build(replace(on, brackets=(replace(own, inner_face=True),)))
    assert codes(piece) == {} and piece.removals == ()
    pad = mount(side="right", at=Position(at="mid", offset_mm=-60.0), out_mm=-30, above_mm=6, length_mm=60, width_mm=50)
    (piece,) = on_flange().build(replace(on, body_mounts=(pad,)))
    assert codes(piece) == {"mount-in-the-way": "stop"}


def test_another_crossmember_in_the_legs_way() -> None:
    both = replace(straight(), crossmembers=(cross(), cross(name="near", at=Position(at="mid", offset_mm=-100.0))))
    (piece,) = gusset(side="right").build(both)
    assert codes(piece)["crossmember-in-the-way"] == "stop"


def test_a_part_in_the_way_is_told() -> None:
    """The seat's base stands on the web from x 725 to 875; the crossmember's front is at 925, and the leg reaches back to 825."""
    on = with_parts(frame(crossmembers=(cross(at=None, x_mm=950.0),)), seat())
    (piece,) = gusset(side="right").build(on)
    assert codes(piece)["part-in-the-way"] == "stop"
    (piece,) = gusset(side="right", leg_on_mm=45.0).build(on)
    assert "part-in-the-way" not in codes(piece)


def test_steel_that_may_not_be_welded_is_told_only_where_it_is_welded_to() -> None:
    hard = replace(frame(), steel=replace(frame().steel, heat_treated="unknown"))
    made = kit(hard, seat(attach="bolt"), under_seat(side="right"))
    assert "weld-heat-treated" not in codes(made["prop-right"])
    (piece,) = gusset(side="right").build(replace(straight(), steel=hard.steel))
    assert codes(piece)["weld-heat-treated"] == "stop"


def test_on_a_flange() -> None:
    """A crossmember that stands on the rail, over the inboard half of its flange: the corner runs across on top of it."""
    on = straight(drop_mm=-100.0, joint="bolted")
    (piece,) = gusset(side="right", on="upper flange", leg_on_mm=60.0, leg_to_mm=60.0, toe_mm=12.0).build(on)
    first, second = legs(piece)
    assert first[:, 2] == pytest.approx(600.0, abs=EXACT)
    assert second[:, 0] == pytest.approx(1775.0, abs=EXACT)


def test_on_a_kicked_flange_the_corner_opens_by_the_slope() -> None:
    """The rail kicks up 18 deg going rearward, so it falls away before a crossmember that stands on it: 90 + 18."""
    on = frame(kicked(), crossmembers=(cross(at=None, x_mm=2100.0, drop_mm=-100.0, joint="bolted"),))
    plain = {"on": "upper flange", "leg_on_mm": 80.0, "leg_to_mm": 80.0, "toe_mm": 12.0}
    (piece,) = gusset(side="right", **plain).build(on)
    first, second = legs(piece)
    one, two = first[2] - first[0], second[0] - second[2]
    angle = np.degrees(np.arccos(one @ two / np.linalg.norm(one) / np.linalg.norm(two)))
    assert angle == pytest.approx(108.0, abs=1e-9)


def test_the_upper_flange_of_a_hat_ends_where_its_lip_stands_up() -> None:
    """Flange 60 wide over all: a lip of 4 mm stands at its toe, bent to the radius of 4; flat from 8 off the web's back to 52."""
    hat = drawn(*STRAIGHT.stations, section=section(kind="hat", lip_mm=20))
    for side, sign in (("left", -1.0), ("right", 1.0)):
        for name in ("upper flange", "lower flange"):
            face = flange_at(frame(hat), side, name, 900.0, "part x")  # type: ignore[arg-type]
            ys = [face.placement.point(*p)[1] * sign for p in face.outline.points]
            assert (min(ys), max(ys)) == pytest.approx((430.0 - 52.0, 430.0 - 8.0), abs=EXACT)


@pytest.mark.parametrize("side", ["left", "right"])
def test_on_a_shape_that_lies_on_both_sides_it_stands_on_its_own(side: str) -> None:
    """The level plates before the crossmember are one shape, twice: a fin on that part goes onto the plate of its own side."""
    fin = gusset(id="fin", side=side, on="corner", on_face="plate", leg_on_mm=40.0, leg_to_mm=40.0, toe_mm=8.0)
    made = kit(straight(), gusset(leg_on_mm=120.0, leg_to_mm=120.0), fin)
    assert made["corner"].quantity == 2
    (at,) = made[f"fin-{side}"].placements
    assert at.origin[1] * (1 if side == "right" else -1) > 300.0


def test_a_pair_on_a_shape_that_lies_on_both_sides() -> None:
    fin = gusset(id="fin", on="corner", on_face="plate", leg_on_mm=40.0, leg_to_mm=40.0, toe_mm=8.0)
    made = kit(straight(), gusset(leg_on_mm=120.0, leg_to_mm=120.0), fin)
    assert sorted(at.origin[1] > 0 for at in made["fin"].placements) == [False, True]


def test_no_remedy_names_what_a_gusset_has_not() -> None:
    """It has no attach and no leg: its fillet is `fillet`, and what is not welded is bolted under it."""
    hard = replace(straight(), steel=replace(frame().steel, heat_treated="yes"))
    (piece,) = gusset(side="right", fillet_mm=2.0).build(hard)
    remedies = {f.code: f.remedy for f in piece.findings}
    assert remedies["fillet-leg-small"] == "leave fillet out" and "attach" not in remedies["weld-heat-treated"]


def test_process_has_a_say_in_nothing_but_tabs() -> None:
    one, two = (gusset(side="right").build(straight(), Shop(process=p))[0].part for p in ("laser", "plasma"))
    assert one == two
