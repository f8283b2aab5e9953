"""Fixture bars beside what is there already: a hat rail's lips, flanges, brackets, body mounts; holes of seats; remedies that are followed.

Numbers are worked by hand beside their checks. Bolts by ISO 273: M10 medium 11, M12 fine 13; washers by ISO 7089: M10 20 across.
"""

from __future__ import annotations

import math
from dataclasses import replace
from typing import Any

import pytest

from parts.errors import BadInput, Finding
from parts.families import CrossmemberBracket
from parts.frame import Frame
from parts.frame.features import Bracket
from parts.frame.offers import Seat
from parts.outline import rectangle
from parts.piece import Piece
from parts.sheet import Panel, Placement, SheetPart
from parts.spec import Position
from tests.families.mount_pads import pad
from tests.families.test_fixture_bar import bar, leaning, pair, seated
from tests.parts.frame.makers import cross, drawn, faults_of, frame, hole, mount, section, station


def told(on: Frame, code: str, **fields: Any) -> list[Finding]:
    return [f for f in bar(**fields).build(on)[0].findings if f.code == code]


def number(text: str) -> float:
    return float(next(word for word in text.split() if word[0].isdigit()))


def on_pads(on: Frame, **fields: Any) -> Frame:
    """Pads off the webs' outside, their tops 60 out."""
    plain: dict[str, Any] = {"id": "seat", "on": "web-outboard", "out_mm": -60.0, "pattern": "two", "pitch_along_mm": 50.0,
                             "top_bolt": "M10", "width_mm": 100.0}  # fmt: skip
    return on.with_built("seat", pad(**{**plain, **fields}).build(on))


def test_a_bar_over_a_hat_rail_runs_into_its_lips() -> None:
    """Lips of 25 stand to z 625. A bar on seats at z 610 runs through both, 15 deep: 18 higher keeps the air of 3."""
    on = frame(drawn(station("front", 0), station("rear", 3600), section=section(kind="hat", lip_mm=25.0)))
    found = told(on_pads(on, rise_mm=10.0), "bar-in-the-way", width_mm=90.0)
    assert [(f.level, f.value) for f in found] == [("stop", "15.0 mm")] * 2
    assert all("lip of the upper flange" in f.message and f.remedy == "seats 18 mm higher" for f in found)
    assert not bar(width_mm=90.0).build(on_pads(on, rise_mm=28.0))[0].findings
    assert told(on_pads(on, rise_mm=27.0), "bar-tight", width_mm=90.0)


def under_flange(drop: float) -> Frame:
    """Seats at z 600 - drop under the flanges' inner faces at 596; the outermost slots at y 394.25, the webs' inside at 426."""
    on = frame()
    seats = CrossmemberBracket(
        id="seat", at=Position(x_mm=800.0), drop_mm=drop, thickness_mm=4.0, width_mm=200.0, depth_mm=100.0, slots=2, attach="bolt"
    )
    return on.with_built("seat", seats.build(on))


def test_remedies_under_a_flange_work() -> None:
    """Flanges of 30 from z 570 reach 600, 4 into the flange: 7 lower keeps 3. Flanges of 23 do, and seats 7 lower. From z 580 no bendable
    flange does: 580 + 22.4 (5.6 t) > 593; a flat bar does. A shorter bar would lie under the flange still."""
    fields: dict[str, Any] = {"thickness_mm": 4.0, "form": "channel", "width_mm": 80.0}
    (found, _) = told(under_flange(30.0), "bar-in-the-way", **fields, flange_mm=30.0)
    assert found.remedy == "flange = 23 mm, or seats 7 mm lower"
    assert not bar(**fields, flange_mm=23.0).build(under_flange(30.0))[0].findings
    assert not bar(**fields, flange_mm=30.0).build(under_flange(37.0))[0].findings
    (found, _) = told(under_flange(20.0), "bar-in-the-way", **fields, flange_mm=30.0)
    assert found.remedy == 'form = "flat", or seats 17 mm lower'
    assert not bar(thickness_mm=4.0, width_mm=80.0).build(under_flange(20.0))[0].findings
    assert not bar(**fields, flange_mm=30.0).build(under_flange(37.0))[0].findings


def test_a_bar_that_is_too_long_is_told_by_how_much() -> None:
    """426 - 394.25 - 29.75 = 2 of air, 3 asked."""
    (found, _) = told(under_flange(40.0), "bar-tight", thickness_mm=4.0, width_mm=80.0, over_mm=29.75)
    assert found.remedy == "over 1 mm less"
    assert not bar(thickness_mm=4.0, width_mm=80.0, over_mm=28.75).build(under_flange(40.0))[0].findings


LEVEL = pair(leaning(0), leaning(0))  #: seats at x 800, y -+300, z 700; bolts 40 apart across the vehicle


def across(seat: Any, half: float, bolt: str = "M12") -> Any:
    x, y, z = 800.0, sum(p[1] for p in seat.points) / 2, 700.0
    return replace(seat, bolt=bolt, points=((x - half, y, z), (x + half, y, z)))


def test_of_two_seats_that_differ_the_worse_is_told() -> None:
    """Bolts 10 and 30 to either side of the middle, holes 13, 2 t = 10: 2 (30 + 6.5 + 10) = 93. Over: 17 / 2 + 10 = 18.5 for M16."""
    seats = across(LEVEL[0], 10.0), across(LEVEL[1], 30.0)
    (fault,) = faults_of(lambda: bar(width_mm=30.0).build(seated(*seats)))
    assert (fault.field, number(fault.remedy)) == ("width", 93)
    assert bar(width_mm=93.0).build(seated(*seats))
    sizes = across(LEVEL[0], 10.0, "M8"), across(LEVEL[1], 10.0, "M16")
    (fault,) = faults_of(lambda: bar(width_mm=200.0, over_mm=8.0).build(seated(*sizes)))
    assert (fault.field, number(fault.remedy)) == ("over", 18.5)
    assert bar(width_mm=200.0, over_mm=18.5).build(seated(*sizes))


def test_every_fault_of_a_channel_in_one_go_and_its_width_works() -> None:
    """5 mm A36 bends to 8 (DIN 6935:1975): corner 13, 2 t + r = 18 from a hole of 13: 2 (13 + 18 + 6.5) = 75 wide; flange 5.6 t = 28."""
    with pytest.raises(BadInput) as caught:
        bar(form="channel", flange_mm=12.0, width_mm=22.0, over_mm=8.0, square_to="nobody").build(seated(*LEVEL))
    found = {f.field: f for f in caught.value.faults}
    assert set(found) == {"flange", "width", "over", "square_to"}
    assert [number(found[k].remedy) for k in ("flange", "width", "over")] == [28, 75, 16.5]
    assert bar(form="channel", flange_mm=28.0, width_mm=75.0, over_mm=16.5).build(seated(*LEVEL))
    assert {f.field for f in faults_of(lambda: bar(form="channel", flange_mm=28.0, width_mm=74.9, over_mm=16.5).build(seated(*LEVEL)))} == {
        "width"
    }


@pytest.mark.parametrize(("hole_mm", "loose", "falls"), [(11.0, False, False), (12.0, True, False), (25.0, True, True)])
def test_seats_whose_holes_are_larger_than_their_bolts(hole_mm: float, loose: bool, falls: bool) -> None:
    """M10 in 12: 2 mm of play, though the bar's own hole is 10.5. In 25 the washer of 20 falls in."""
    found = told(on_pads(frame(), top_hole_mm=hole_mm, rise_mm=30.0, top_reach_mm=45.0), "seat-hole-loose", width_mm=90.0)
    assert len(found) == (2 if loose else 0)
    assert all(f.level == "warn" and f"{hole_mm - 10:.1f} mm of play" in f.message and ("falls in" in f.message) == falls for f in found)


def test_seats_that_their_bolts_do_not_go_through() -> None:
    """A body mount's hole of 11 carried through, M12 named for it."""
    on = frame(body_mounts=(mount(name="cab", hole_mm=11, at=Position(x_mm=900.0)),))
    carried: dict[str, Any] = {"id": "seat", "carries": "cab", "on": "web-outboard", "thickness_mm": 6.0}
    made = on.with_built("seat", pad(**carried).build(on))
    assert len(told(made, "seat-hole-small", width_mm=90.0)) == 2
    made = on.with_built("seat", pad(**carried, top_bolt="M10").build(on))
    assert not told(made, "seat-hole-small", width_mm=90.0)


def test_no_diagonal_to_a_hole_that_no_tape_reaches() -> None:
    """In a box that is open to nothing the hole is in its outboard wall: 370 inboard of it there is solid steel."""
    for opens in ("inboard", "outboard"):
        own = section(kind="closed", open=opens)
        on = frame(drawn(station("front", 0), station("rear", 3600), section=own), holes=(hole(name="pin", at=Position(x_mm=1200.0)),))
        if opens == "inboard":
            found = faults_of(lambda on=on: bar(square_to="pin").build(seated(*LEVEL, on=on)))  # type: ignore[misc]
            assert [(f.field, "no tape goes to it" in f.limit) for f in found] == [("square_to", True)] * 2
        else:  # (800, -320, 700) to (1200, 430, 525): 400, 750, 175
            assert any("both diagonals read 867.8 mm" in n for n in bar(square_to="pin").build(seated(*LEVEL, on=on))[0].notes)


def test_a_bracket_and_a_body_mount_in_its_way() -> None:
    """The bracket on the right web's inside: x 780 to 820, z 500 to 540, y 426 down to 366. The bar lies at z 530, its end at 419.25."""
    plain: dict[str, Any] = {"name": "b", "at": Position(x_mm=800.0), "up_mm": 70.0, "length_mm": 40.0, "height_mm": 40.0, "out_mm": 60.0,
                             "inner_face": True, "held_by": "weld", "side": "right"}  # fmt: skip
    kept = replace(under_flange(70.0), brackets=(Bracket(**plain, fate="kept"),))
    fields: dict[str, Any] = {"thickness_mm": 4.0, "width_mm": 80.0}
    assert [f.level for f in told(kept, "bar-in-the-way", **fields) if "bracket b" in f.message] == ["stop"]
    gone = replace(kept, brackets=(Bracket(**plain, fate="cut off"),))
    assert not told(gone, "bar-in-the-way", **fields)
    on = frame(body_mounts=(mount(name="cab", at=Position(x_mm=800.0), above_mm=104.0),))  # its pad's top at z 704, y 430 to 540
    wide = pair(leaning(0), leaning(0), half=420.0)
    assert {f.level for f in told(seated(*wide, on=on), "bar-in-the-way") if "body mount cab" in f.message} == {"stop"}


def test_following_the_remedy_gets_it_past_a_crossmember() -> None:
    """Crossmember x 795 to 845 up to z 702; the bar of 60 lies from x 770: 35 forward."""
    on = frame(crossmembers=(cross(at=Position(x_mm=820.0), drop_mm=-102.0, joint="gusseted"),))
    (found,) = told(seated(*LEVEL, on=on), "bar-in-the-way")
    assert found.remedy == "move what it ties 35 mm or more forward along the rail"
    moved = [replace(s, points=tuple((x - 35.0, y, z) for x, y, z in s.points)) for s in LEVEL]
    assert not told(seated(*moved, on=on), "bar-in-the-way")


@pytest.mark.parametrize("lean", [0.0, 0.005, 0.015, 0.1, 0.3, 0.4, -0.005, -0.3, -0.4])
@pytest.mark.parametrize("rises", ["inboard", "right"])
@pytest.mark.parametrize("form", ["flat", "channel"])
def test_seats_that_lean_less_than_a_brake_sets_are_no_steel_in_the_bars_way(lean: float, rises: str, form: str) -> None:
    """The bar lies on the seats' high sides: on a top of 100 across at 0.4 deg that is 0.35 mm off its middle. It cannot sink in."""
    on = on_pads(frame(), rise_mm=30.0, tilt_across_deg=lean, across_rises=rises)
    (piece,) = bar(width_mm=130.0, form=form).build(on)
    assert [(f.code, f.value) for f in piece.findings] == ([("bar-off-seat", f"{abs(lean):.2f} deg")] if abs(lean) > 0.02 else [])
    assert all(f"{100 * math.tan(math.radians(abs(lean))):.2f} mm over 100 mm" in f.message for f in piece.findings)


def made_up(seat: Seat, roll_deg: float, *levels: float, reach: float = 100.0) -> Piece:
    """A seat's own steel, 4 thick, 60 along the vehicle and 2 x `reach` across, its face through the seat's middle; the same again at each
    of `levels` over that."""
    c, s = math.cos(math.radians(roll_deg)), math.sin(math.radians(roll_deg))
    x, y, z = (sum(p[i] for p in seat.points) / len(seat.points) for i in range(3))
    part = SheetPart(name="seat", thickness_mm=4, panels=(Panel(name="p", contour=rectangle(-30, -reach, 30, reach)),))
    places = [
        Placement(origin=(x, y + (k - 4.0) * s, z + (k - 4.0) * c), u=(1.0, 0.0, 0.0), v=(0.0, c, -s)) for k in (0.0, *levels)
    ]  # fmt: skip
    return Piece(
        id=f"seat-{seat.side}", family="made up", side=seat.side, part=part, grade="A36", placements=tuple(places), seats=(seat,)
    )  # fmt: skip


def in_way(roll_deg: float, *levels: float, reach: float = 100.0, **fields: Any) -> list[Finding]:
    """Seats that lean so much towards the middle (+) or away from it."""
    seats = pair(leaning(roll_deg), leaning(-roll_deg))
    steel = [made_up(seat, roll, *levels, reach=reach) for seat, roll in zip(seats, (roll_deg, -roll_deg), strict=True)]
    return [f for f in bar(**fields).build(frame().with_built("seat", steel))[0].findings if f.code == "bar-in-the-way"]


def test_other_steel_of_the_part_that_it_ties_is_still_in_its_way() -> None:
    """The bar is 5 thick: a second plate of the seats 7 to 11 over them is clear of it, one 3 to 7 over them is not, however they lean."""
    for roll in (-0.3, 0.0, 0.3):
        assert not in_way(roll) and not in_way(roll, 7.0 + 4.0)
        assert [f.level for f in in_way(roll, 7.0)] == ["stop"] * 2


def test_a_bent_bars_middle_runs_into_a_seat_that_reaches_past_its_bend() -> None:
    """Seats that fall by 8 deg towards the middle: the bar's ends lie on them, its middle runs level from its bends on, 40 inboard of the
    bolts, over steel that falls away from it. Where they rise by 8 deg towards the middle that steel stands in its way."""
    assert not in_way(8.0, bend_off_mm=40.0)
    assert [f.level for f in in_way(-8.0, bend_off_mm=40.0)] == ["stop"] * 2
    assert not in_way(-8.0, bend_off_mm=40.0, reach=35.0)
