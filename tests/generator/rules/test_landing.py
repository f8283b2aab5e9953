"""Rules for what a piece lies on: which places it lands on, seen from every seat.

Sources: 18 U.S.C. 511 (a stamped number); that cracks and rust are mended before anything goes over them is common practice, no source.
"""

from __future__ import annotations

from dataclasses import replace
from typing import Any

import pytest

from generator.rules.landing import damage, in_sight
from parts.families.crossmember_bracket import CrossmemberBracket
from parts.frame import Frame
from parts.frame.features import Condition, FrameHole, KeepVisible
from parts.outline import rectangle
from parts.piece import Drilling, Piece, WeldJoint
from parts.sheet import Placement
from parts.spec import Position
from tests.families.rail_plates import build, swept
from tests.generator.rules.makers import LOW_Z, hole, on_right, one, outside_right, piece, silent, straight, subject, told

STOP, WARN, NOTE = "stop", "warn", "note"


def found_at(kind: str = "crack", *, side: str = "right", x: float = 1000.0, **more: Any) -> Frame:
    """Damage on the web 70 to 80 mm up, x 990 to 1010, unless told otherwise."""
    values: dict[str, Any] = {"up_mm": 75, "length_mm": 20} | more
    if "in_mm" in values:
        del values["up_mm"]
    return straight(conditions=(Condition(name="found", kind=kind, side=side, x_mm=x, **values),))  # type: ignore[arg-type]


def web_plate(x0: float, x1: float, low: float = 20.0, high: float = 130.0, **more: Any) -> Piece:
    """Inside the web, from `low` to `high` above the rail's lower face."""
    return piece(rectangle(0.0, 0.0, x1 - x0, high - low), place=on_right(x0, LOW_Z + low), **more)


@pytest.mark.parametrize(
    ("kind", "code", "level"),
    [("crack", "lands-on-crack", STOP), ("rust-through", "lands-on-rust", STOP), ("thin", "lands-on-thin", WARN),
     ("loose rivet", "lands-on-loose-rivet", WARN), ("old weld", "lands-on-old-weld", NOTE), ("dent", "lands-on-dent", NOTE)],
)  # fmt: skip
def test_each_kind_has_its_level_whatever_the_use(kind: str, code: str, level: str) -> None:
    more: dict[str, Any] = {"least_thickness_mm": 3.1} if kind == "thin" else {}
    assert told(damage, web_plate(800, 1200), found_at(kind, **more)) == [(code, level)]


def test_a_thin_place_is_told_with_what_is_left_of_what() -> None:
    found = one(damage, web_plate(800, 1200), found_at("thin", least_thickness_mm=3.1))
    assert (found.value, found.limit) == ("3.1 mm", "4 mm when new") and "3.1 mm of 4 mm left" in found.message
    assert "no limit was found" in found.remedy


@pytest.mark.parametrize(
    ("x0", "x1", "lands"),
    [(800, 1200, True), (1009, 1200, True), (1011, 1200, False), (800, 991, True), (800, 989, False)],  # the crack: 990 to 1010
)
def test_along_the_rail(x0: float, x1: float, lands: bool) -> None:
    assert bool(damage(subject(web_plate(x0, x1), found_at()))) is lands


@pytest.mark.parametrize(("low", "high", "lands"), [(20, 130, True), (74, 130, True), (76, 130, False), (20, 76, True), (20, 74, False)])
def test_up_the_web(low: float, high: float, lands: bool) -> None:
    """A crack without a height lies at 75 mm."""
    assert told(damage, web_plate(800, 1200, low, high), found_at()) == ([("lands-on-crack", STOP)] if lands else [])


def test_a_crack_without_a_size_is_met_like_any_other() -> None:
    assert told(damage, web_plate(800, 1200), found_at(length_mm=None)) == [("lands-on-crack", STOP)]
    assert told(damage, web_plate(1001, 1200), found_at(length_mm=None)) == []


@pytest.mark.parametrize(
    ("make", "how"),
    [
        (lambda: web_plate(800, 1200), "lies on"),
        (lambda: piece(rectangle(0, 0, 400, 110), place=outside_right(1200, LOW_Z + 20)), "lies on"),
        (lambda: piece(rectangle(0, 0, 400, 140), place=on_right(800, LOW_Z + 5, "toes"), thickness=3), "closes in"),
    ],
    ids=["inside", "outside", "toes"],
)
def test_from_every_seat(make: Any, how: str) -> None:
    assert how in one(damage, make(), found_at()).message


def test_a_plate_off_the_section_and_one_between_the_rails_do_not_land() -> None:
    far = piece(rectangle(0, 0, 400, 140), place=on_right(800, LOW_Z + 5, "toes"), thickness=3)
    off = replace(far, placements=(replace(far.placements[0], origin=(800.0, 300.0, LOW_Z + 5)),))
    assert told(damage, off, found_at()) == []
    assert silent(damage, replace(far, side="centre"), found_at())
    assert silent(damage, web_plate(800, 1200, side="left"), found_at()), "the other rail's"
    assert silent(damage, web_plate(800, 1200))


def test_what_stands_free_in_an_opening_is_not_covered() -> None:
    of = web_plate(800, 1200, holes=[hole(200.0, 55.0, 40.0)])  # round (1000, 75 up), as the damage is
    assert told(damage, of, found_at()) == []
    assert told(damage, of, found_at(length_mm=60)) == [("lands-on-crack", STOP)]


def test_a_weld_lands_where_it_runs() -> None:
    """A gusset that stands square to the web touches it by its weld alone: z 525, x 900 to 1100."""
    line = ((900.0, 426.0, LOW_Z + 75), (1100.0, 426.0, LOW_Z + 75))
    weld = WeldJoint(name="edge", kind="fillet", points=line, thickness_mm=(4, 4), onto="rail right web inside", leg_mm=3)
    far = piece(rectangle(0, 0, 50, 50), place=on_right(950, LOW_Z + 300), welds=(weld,))
    assert "is fastened to" in one(damage, far, found_at()).message
    assert "is fastened to" in one(damage, far, found_at(length_mm=None)).message
    assert told(damage, far, found_at(up_mm=80)) == []


@pytest.mark.parametrize("face", ["lower flange", "upper flange"])
def test_boxing_is_fastened_to_the_flanges_that_it_runs_along(face: str) -> None:
    (plate,) = build(straight())  # the family's: x 200 to 1200, welded along both flange edges
    assert told(damage, plate, found_at(face=face, in_mm=30)) == [("lands-on-crack", STOP)]
    assert told(damage, plate, found_at(face=face, in_mm=30, x=1195)) == [("lands-on-crack", STOP)]
    assert silent(damage, plate, found_at(face=face, in_mm=30, x=1300))


def test_boxing_round_a_turn_and_a_kick_lands_too() -> None:
    """At the turn of the swept frame, x 1500."""
    crack = Condition(name="found", kind="crack", side="right", x_mm=1500, length_mm=20)
    on = replace(swept(), conditions=(crack,))
    (plate,) = build(on, start=Position(x_mm=1000), end=Position(x_mm=2000))
    assert plate.part.bends
    assert told(damage, plate, on) == [("lands-on-crack", STOP)]
    (before,) = build(on, start=Position(x_mm=700), end=Position(x_mm=1400))
    assert silent(damage, before, on)


def rivets(**more: Any) -> Frame:
    """A loose rivet at its hole's name: 45 up at x 1000, 10 mm across."""
    own = FrameHole(name="rivet-1", side="right", x_mm=1000, up_mm=45, diameter_mm=10, filled="rivet")
    loose = Condition(name="loose", kind="loose rivet", side="right", at=Position(at="rivet-1"))
    return straight(holes=(own,), conditions=(loose,), **more)


def test_a_loose_rivet_is_where_its_hole_is() -> None:
    assert told(damage, web_plate(800, 1200, 20, 130), rivets()) == [("lands-on-loose-rivet", WARN)]
    assert told(damage, web_plate(800, 1200, 60, 130), rivets()) == []
    assert told(damage, web_plate(800, 1200, 20, 130, holes=[hole(200.0, 25.0, 20.0)]), rivets()) == [], "its head stands in an opening"


# --- what must stay in sight ---


def number(*, face: str = "web", **more: Any) -> Frame:
    """Stamped on the outside of the right web, x 940 to 1060, 92 to 108 mm up."""
    place = {"up_mm": 100} if face == "web" else {"in_mm": 30}
    stamp = KeepVisible(name="number", what="stamped", side="right", face=face, x_mm=1000, length_mm=120, height_mm=16, **place)  # type: ignore[arg-type]
    return straight(keep_visible=(stamp,), **more)


def outside(x0: float, x1: float, low: float = 20.0, high: float = 130.0, **more: Any) -> Piece:
    return piece(rectangle(0, 0, x1 - x0, high - low), place=outside_right(x1, LOW_Z + low), **more)


@pytest.mark.parametrize(
    ("x0", "x1", "low", "covers"),
    [(800, 1200, 20, True), (1059, 1200, 20, True), (1061, 1200, 20, False), (800, 941, 20, True), (800, 939, 20, False),
     (800, 1200, 107, True), (800, 1200, 109, False)],
)  # fmt: skip
def test_a_plate_over_a_number(x0: float, x1: float, low: float, covers: bool) -> None:
    assert told(in_sight, outside(x0, x1, low), number()) == ([("covers-keep-visible", STOP)] if covers else [])


def test_a_plate_on_the_other_side_of_the_web_covers_nothing_but_may_weld_and_drill_it() -> None:
    assert told(in_sight, web_plate(800, 1200), number()) == []
    line = ((900.0, 426.0, LOW_Z + 100), (1100.0, 426.0, LOW_Z + 100))
    weld = WeldJoint(name="edge", kind="fillet", points=line, thickness_mm=(4, 4), onto="rail right web inside", leg_mm=3)
    assert "weld would run over" in one(in_sight, web_plate(800, 1200, welds=(weld,)), number()).message
    drilled = Drilling(name="b", rail="rail right", face="web", diameter_mm=13, point=(1066.0, 426.0, LOW_Z + 100), along_mm=0, up_mm=100,
                       datum="front")  # fmt: skip
    assert "hole would go through" in one(in_sight, web_plate(800, 1200, drilling=(drilled,)), number()).message  # 1066 - 6.5 < 1060
    clear = Drilling(name="b", rail="rail right", face="web", diameter_mm=13, point=(1067.0, 426.0, LOW_Z + 100), along_mm=0, up_mm=100,
                     datum="front")  # fmt: skip
    assert told(in_sight, web_plate(800, 1200, drilling=(clear,)), number()) == []


def test_a_window_leaves_a_number_in_sight() -> None:
    """200 x 60 round it, whole in the opening; 110 wide it is not."""
    seen = hole(200.0, 80.0, 60.0, kind="rectangle", length_mm=200.0, corner_radius_mm=5.0)
    narrow = hole(200.0, 80.0, 60.0, kind="rectangle", length_mm=110.0, corner_radius_mm=5.0)
    assert told(in_sight, outside(800, 1200, holes=[seen]), number()) == []
    assert told(in_sight, outside(800, 1200, holes=[narrow]), number()) == [("covers-keep-visible", STOP)]


def test_a_number_on_a_flange() -> None:
    """A pad lying on the upper flange, whose top is at z 600: 2 mm off still lies on it, 6 mm off does not (AWS D1.1: 5 mm)."""

    def pad(z: float) -> Piece:
        place = Placement(origin=(900.0, 375.0, z), u=(1.0, 0.0, 0.0), v=(0.0, 1.0, 0.0))
        return piece(rectangle(0, 0, 200, 50), place=place)

    on = number(face="upper flange")
    assert told(in_sight, pad(600.0), on) == told(in_sight, pad(602.0), on) == [("covers-keep-visible", STOP)]
    assert told(in_sight, pad(606.0), on) == []
    assert told(in_sight, pad(592.0), on) == [], "under the flange"


def test_what_the_part_says_of_a_number_is_not_said_twice() -> None:
    on = number()
    (plate,) = build(on, seat="outside")
    assert [f.code for f in plate.findings if f.level == "stop"] == ["covers-keep-visible"]
    assert told(in_sight, plate, on) == []


def test_a_bracket_of_the_family_lands_by_its_base() -> None:
    """A base on the web 140 mm wide round x 1000."""
    bracket = CrossmemberBracket(id="seat", side="right", at=Position(x_mm=1000), drop_mm=70, thickness_mm=4, width_mm=140, depth_mm=110)
    on = found_at(up_mm=50)
    (made,) = bracket.build(on)
    assert told(damage, made, on) == [("lands-on-crack", STOP)]
    assert silent(damage, made, found_at(up_mm=50, x=1200))
