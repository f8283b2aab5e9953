"""Rules for the rail itself: what several parts together ask of it, and where brackets stand.

Sources: TM 9-2320-289-34 p. 9-7 (holes 13 mm apart, no flange holes); one maker's current guide (holes 25 mm apart, 13 mm beside a
reinforcement; brackets 200 mm from a crossmember or a reinforcement's end); 49 CFR 393.201 (flange holes). Each limit on its own is held
in tests/parts/test_hole_rules.py.
"""

from __future__ import annotations

from dataclasses import replace
from typing import Any

import pytest

from generator.rules.judge import judge
from generator.rules.rail_work import bracket_places, flange_holes, holes_beside, new_holes
from parts.frame import Frame
from parts.frame.features import FrameHole
from parts.frame.frame import Use
from parts.outline import Contour, rectangle
from parts.piece import BoltLine, Drilling, Piece, WeldJoint
from parts.sheet import Placement
from parts.shop import Shop
from parts.spec import Position
from tests.families.rail_plates import build, crossmember
from tests.generator.rules.makers import LOW_Z, TINY, angle_piece, on_right, one, piece, silent, straight, subject, told
from tests.parts.frame.makers import drawn, frame, station

COMMERCIAL, HOBBY = straight(commercial=True), straight()


def drilled(x: float, up: float = 75.0, diameter: float = 13.0, *, face: str = "web", name: str = "bolt-1", **more: Any) -> Drilling:
    return Drilling(name=name, rail="rail right", face=face, diameter_mm=diameter, point=(x, 426.0, LOW_Z + up), along_mm=x, up_mm=up,
                    datum="front", **more)  # fmt: skip


def plate(id: str, *holes: Drilling, x: float = 900.0, **more: Any) -> Piece:
    return piece(rectangle(0, 0, 200, 100), id=f"{id}-right", place=on_right(x, LOW_Z + 25), drilling=holes, **more)


def codes(of: Piece, on: Frame, *others: Piece) -> set[tuple[str, str]]:
    return set(told(new_holes, of, on, None, *others))


def test_two_parts_that_drill_near_each_other() -> None:
    """25 mm between edges by the maker's guide: 38 mm between the centres of two holes of 13 mm. Told of the later part."""
    first = plate("one", drilled(1000.0))
    for apart in (38.0, 38.0 + TINY, 60.0):
        assert codes(plate("two", drilled(1000.0 + apart)), COMMERCIAL, first) == set()
    second = plate("two", drilled(1000.0 + 38.0 - 1e-5))
    assert codes(second, COMMERCIAL, first) == {("holes-close", "warn")}
    assert codes(second, HOBBY, first) == {("holes-close", "note")}
    assert codes(first, COMMERCIAL) == set()
    assert "hole bolt-1 of one right" in one(new_holes, second, COMMERCIAL, None, first).message


def test_a_pair_of_two_parts_is_told_once() -> None:
    first, second = plate("one", drilled(1000.0)), plate("two", drilled(1020.0))
    found = judge((first, second), [subject(p).flat for p in (first, second)], COMMERCIAL, Shop()).findings
    assert [f.where for f in found if f.code == "holes-close"] == ["two right, bolt-1"]


def test_one_hole_that_two_parts_share_is_one() -> None:
    assert codes(plate("two", drilled(1000.0)), COMMERCIAL, plate("one", drilled(1000.3))) == set()


def test_a_hole_that_is_opened_out_is_no_new_one_but_a_neighbour_as_large_as_it_becomes() -> None:
    """From 11 to 13 mm at x 1000; the frame's own hole there is not counted besides."""
    own = FrameHole(name="own", side="right", x_mm=1000, up_mm=75, diameter_mm=11)
    on = straight(commercial=True, holes=(own,))
    opened = drilled(1000.0, name="own", existing_mm=11.0)
    assert silent(new_holes, plate("one", opened), on)
    assert codes(plate("one", opened, drilled(1038.0)), on) == set()
    assert codes(plate("one", opened, drilled(1037.9)), on) == {("holes-close", "warn")}


def test_what_the_family_has_told_is_not_told_again() -> None:
    """A bolted doubler of the family on a commercial vehicle, its rail too shallow for the guide's distance to the flanges."""
    shallow = frame(drawn(station("front", 0, depth=80), station("rear", 3600, depth=80)))
    on = replace(shallow, use=Use(road=True, commercial=True))
    (doubler,) = build(on, seat="inside", attach="bolt", bolt="M10", thickness_mm=3)
    said = {f.code for f in doubler.findings}
    assert "hole-near-lower-flange" in said
    assert codes(doubler, on) == set()
    assert {c for c, _ in codes(replace(doubler, findings=()), on)} == said - {"square-end"}


def test_a_family_that_judges_no_holes_itself_is_judged_here() -> None:
    """38 mm to the lower flange's inside, at 4 mm up, by the maker's guide: 48.5 mm up for a hole of 13 mm."""
    assert codes(plate("pad", drilled(1000.0, up=48.5)), COMMERCIAL) == set()
    assert codes(plate("pad", drilled(1000.0, up=48.4)), COMMERCIAL) == {("hole-near-lower-flange", "warn")}
    assert silent(new_holes, plate("pad"), COMMERCIAL)


def test_the_bolt_in_it_counts_by_the_vehicle_code() -> None:
    """Bolt + 1.0 mm."""
    def bolted(diameter: float) -> Piece:
        bolt = BoltLine(name="bolt-1", size="M12", head=(0, 0, 0), nut=(0, 0, 0), grip_mm=8, between=("a", "b"))
        return plate("pad", drilled(1000.0, diameter=diameter), bolts=(bolt,))

    assert codes(bolted(13.0), COMMERCIAL) == set()
    assert codes(bolted(13.1), COMMERCIAL) == {("hole-loose", "stop")}
    assert codes(bolted(13.1), HOBBY) == {("hole-loose", "note")}


def test_holes_in_a_flange() -> None:
    """Law for commercial vehicles; a manual's word for heat-treated rails. One word a part and flange."""
    pad = plate("pad", drilled(1000, face="upper flange"), drilled(1100, face="upper flange", name="bolt-2"))
    assert set(told(flange_holes, pad, COMMERCIAL)) == {("flange-hole", "stop"), ("flange-hole", "warn")}
    assert len(told(flange_holes, pad, COMMERCIAL)) == 2
    assert ("flange-hole", "warn") in told(flange_holes, pad, straight(heat_treated="unknown"))
    assert {level for _, level in told(flange_holes, pad, HOBBY)} == {"note"}
    assert silent(flange_holes, plate("pad", drilled(1000)), COMMERCIAL)


def doubler(x0: float = 1000.0, x1: float = 1400.0) -> Piece:
    return piece(rectangle(0, 0, x1 - x0, 120), id="doubler-right", place=on_right(x0, LOW_Z + 15))


@pytest.mark.parametrize(("gap", "finds"), [(13.0, False), (13.0 + TINY, False), (12.9, True), (1.0, True)])
def test_a_hole_beside_a_reinforcement(gap: float, finds: bool) -> None:
    """13 mm by one maker's guide, the frame's own holes and other parts' new ones alike; what lies under the plate is not beside it."""
    own = FrameHole(name="own", side="right", x_mm=1000 - gap - 8, up_mm=75, diameter_mm=16)
    under = FrameHole(name="under", side="right", x_mm=1012, up_mm=75, diameter_mm=16)
    wanted = [("hole-beside-reinforcement", "warn")] if finds else []
    assert told(holes_beside, doubler(), straight(commercial=True, holes=(own, under))) == wanted
    assert told(holes_beside, doubler(), COMMERCIAL, None, plate("pad", drilled(1400 + gap + 6.5))) == wanted
    if finds:
        assert told(holes_beside, doubler(), straight(holes=(own,))) == [("hole-beside-reinforcement", "note")]


def test_beside_a_boxing_plate_or_without_holes_there_is_nothing_to_judge() -> None:
    own = FrameHole(name="own", side="right", x_mm=990, up_mm=75, diameter_mm=16)
    boxing = piece(rectangle(0, 0, 400, 140), thickness=3, place=on_right(1000, LOW_Z + 5, "toes"))
    assert silent(holes_beside, boxing, straight(commercial=True, holes=(own,)))
    assert silent(holes_beside, doubler(), COMMERCIAL)


# --- brackets ---


def bracket(x0: float, **more: Any) -> Piece:
    """100 mm along the right rail from x0: a base on the web and a leg that stands off it."""
    return angle_piece(width=100.0, legs=(80.0, 60.0), place=on_right(x0, LOW_Z + 50), **more)


def with_crossmember(commercial: bool = True) -> Frame:
    """60 wide, its middle at x 1000: 970 to 1030."""
    return straight(commercial=commercial, crossmembers=(crossmember("cm", 1000),))


def test_a_bracket_beside_a_crossmember() -> None:
    for x0 in (1230.0, 1230.0 + TINY, 670.0, 2000.0):
        assert told(bracket_places, bracket(x0), with_crossmember()) == []
    for x0 in (1229.9, 1050.0, 670.1):
        assert told(bracket_places, bracket(x0), with_crossmember()) == [("bracket-near", "warn")]


def test_only_commercial_vehicles_are_bound_and_only_brackets() -> None:
    assert silent(bracket_places, bracket(1050), with_crossmember(commercial=False))
    assert silent(bracket_places, bracket(1050), straight(heat_treated="yes", crossmembers=(crossmember("cm", 1000),)))
    assert silent(bracket_places, doubler(), with_crossmember())


def test_what_is_joined_to_the_crossmember_stands_at_it() -> None:
    weld = WeldJoint(name="edge", kind="fillet", points=((0, 0, 0), (1, 0, 0)), thickness_mm=(4, 4), onto="cm")
    assert told(bracket_places, bracket(1050, welds=(weld,)), with_crossmember()) == []


def test_a_bracket_beside_the_end_of_a_reinforcement() -> None:
    """The doubler ends at x 1400."""
    assert told(bracket_places, bracket(1600.0), COMMERCIAL, None, doubler()) == []
    found = one(bracket_places, bracket(1599.0), COMMERCIAL, None, doubler())
    assert "199 mm from the rear end of doubler right" in found.message


def test_a_slanted_end_is_where_its_tip_is() -> None:
    """Cut at 45 deg over 120 mm, x 1280 to 1400."""
    outline = Contour(((0.0, 0.0), (400.0, 0.0), (280.0, 120.0), (0.0, 120.0)), (0.0,) * 4)
    slanted = replace(doubler(), part=piece(outline).part)
    assert told(bracket_places, bracket(1600.0), COMMERCIAL, None, slanted) == []
    assert told(bracket_places, bracket(1599.0), COMMERCIAL, None, slanted) == [("bracket-near", "warn")]


def test_a_part_on_both_sides_is_judged_on_each_rail() -> None:
    """One piece twice: on the right rail at x 500, on the left at x 1050, where the crossmember is near."""
    of = bracket(500.0)
    left = Placement(origin=(1150.0, -426.0, LOW_Z + 50), u=(-1.0, 0.0, 0.0), v=(0.0, 0.0, 1.0))
    both = replace(of, side="both", placements=(*of.placements, left))
    assert [one.rail.side for one in subject(both, with_crossmember()).lyings] == ["right", "left"]
    assert told(bracket_places, both, with_crossmember()) == [("bracket-near", "warn")]


def test_positions_of_the_family_are_named() -> None:
    """Keeps the helper honest: the family's plate lies where the rules look for it."""
    (made,) = build(HOBBY, seat="inside", start=Position(x_mm=1000), end=Position(x_mm=1400))
    (lying,) = subject(made, HOBBY).lyings
    assert lying.s_range == pytest.approx((1000.0, 1400.0), abs=1e-6) and lying.on_web and lying.reinforces
