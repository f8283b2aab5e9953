"""The spring doubler and what parts before it put on the web: plates behind it that its bolts clamp too, steel where it goes itself.

Worked by hand on the straight test frame: right web y 426 to 430, z 450 to 600; rivets at x 1000 and 1080, z 495 and 555. M12: hole 13
(ISO 273 fine), washer 24 across (ISO 7089).
"""

from __future__ import annotations

import re
from dataclasses import replace
from functools import partial
from typing import Any

import pytest

from parts.families import RailPlate
from parts.families.rail_plate_parts import Opening
from parts.frame import Frame
from parts.piece import Piece
from parts.spec import Position
from tests.families.rail_plates import near, straight
from tests.families.test_spring_doubler import FOUR, doubler, one, rivets
from tests.parts.frame.makers import check_fault, faults_of


def test_plates_that_other_parts_put_on_the_web() -> None:
    on = straight(holes=rivets(*FOUR))
    plate = RailPlate(id="outer", side="right", thickness_mm=3, seat="outside", heads="remove", attach="weld",
                      start=Position(x_mm=700), end=Position(x_mm=1400))  # fmt: skip
    with_it = on.with_faces(plate.faces(on))
    piece = one(with_it)
    assert piece.bolts[0].grip_mm == near(4 + 4 + 3 + 6)
    assert piece.bolts[0].between == ("plate", "rail right web", "outer", "hanger foot")
    assert [(d.face, d.existing_mm) for d in piece.drilling[:2]] == [("web", 10.0), ("plate outer", None)]
    check_fault(lambda: one(with_it, seat="outside"), "part plate", "seat", "plate outer lies on that face")


def outer(**fields: Any) -> RailPlate:
    """On the right web's outside, z 461 to 589, unless told otherwise: corner 4 + 4 = 8 mm and fillet 3 in from 450 and 600."""
    plain: dict[str, Any] = {"id": "outer", "side": "right", "thickness_mm": 3, "seat": "outside", "heads": "remove", "attach": "weld",
                             "start": Position(x_mm=700), "end": Position(x_mm=1400)}  # fmt: skip
    return RailPlate(**(plain | {"front_end": "square", "rear_end": "square"} | fields))


def carrying(on: Frame, *parts: Any, built: bool = True) -> Frame:
    """With those parts put on it, as the kit does; not `built`: their faces alone."""
    for part in parts:
        after = on.with_faces(part.faces(on))
        on = after.with_built(part.id, part.build(on)) if built else after
    return on


def grips(piece: Piece) -> set[float]:
    return {round(b.grip_mm, 6) for b in piece.bolts}


@pytest.mark.parametrize("built", [True, False])
@pytest.mark.parametrize(("end", "under"), [(987.0, 0), (989.0, None), (1040.0, None), (1091.0, None), (1093.0, 4)])
def test_a_plate_behind_the_web_lies_under_all_of_the_holes_or_none(end: float, under: int | None, built: bool) -> None:
    """Holes at x 1000 and 1080; a washer M12 is 24 across (ISO 7089): a plate that ends before 1000 - 12 is clear of them, one that ends
    past 1080 + 12 under all of them. Grip: plate 4, web 4, foot 6: 14; with the 3 behind the web 17."""
    on = carrying(straight(holes=rivets(*FOUR)), outer(end=Position(x_mm=end)), built=built)
    if under is None:
        check_fault(lambda: one(on), "part plate", "stem", "outer")
        return
    piece = one(on)
    assert grips(piece) == {17 if under else 14}
    assert sorted(d.name for d in piece.drilling if d.face == "plate outer") == [f"h-{k}" for k in range(1, under + 1)]
    assert all(("outer" in b.between) is bool(under) for b in piece.bolts)


def test_the_remedy_for_a_plate_that_ends_between_the_holes_does() -> None:
    on = straight(holes=rivets(*FOUR))
    found = faults_of(lambda: one(carrying(on, outer(end=Position(x_mm=1040)))))
    room = float(re.search(r"([\d.]+) mm", found[0].remedy)[1])  # type: ignore[index]
    assert "h-1, h-3" in found[0].limit and "h-2, h-4" in found[0].limit
    assert grips(one(carrying(on, outer(end=Position(x_mm=1080 + room))))) == {17}
    assert grips(one(carrying(on, outer(end=Position(x_mm=1000 - room))))) == {14}


def test_an_angled_end_behind_the_web_is_seen_as_it_is_cut() -> None:
    """Hung by its lower edge, z 461, at 45 deg: ending at x 1150 there, it ends at 1150 - 94 = 1056 at z 555: past the lower hole at 1080
    and short of the upper one. For that one's washer of 12 square to the slant it takes 1080 + 94 + 12 sqrt 2 = 1191."""
    on = straight(holes=rivets(*FOUR))
    found = faults_of(lambda: one(carrying(on, outer(end=Position(x_mm=1150), rear_end="angled"))))
    assert [f.field for f in found] == ["stem"] and "h-4" in found[0].limit
    for end, fits in ((1190.0, False), (1192.0, True)):
        cut = carrying(on, outer(end=Position(x_mm=end), rear_end="angled"))
        if fits:
            assert one(cut).bolts[0].grip_mm == near(17)
        else:
            check_fault(partial(one, cut), "part plate", "stem", "h-4")


@pytest.mark.parametrize("built", [True, False])
@pytest.mark.parametrize(("height", "clear"), [(14.0, True), (15.0, False)])
def test_a_small_plate_between_the_corners_on_the_same_face(height: float, clear: bool, built: bool) -> None:
    """It is welded on between z 461 and 461 + height, x 1020 to 1060; the doubler begins at 495 - 6.5 - 13 = 475.5, its corners and all
    of its holes elsewhere: under 14.5 mm the two keep apart."""
    small = outer(seat="inside", start=Position(x_mm=1020), end=Position(x_mm=1060), height_mm=height, hang="lower")
    on = straight(holes=rivets(*FOUR))
    with_it = carrying(on, small) if built else on.with_faces(small.faces(on))
    if clear:
        one(with_it)
    else:
        check_fault(lambda: one(with_it), "part plate", "seat", "outer")
        one(with_it, seat="outside")


def test_a_plate_behind_that_clears_the_rivets_heads_is_not_drilled_again() -> None:
    """Heads of 18 in holes of 20 (1 mm of air all round): the washer of 24 bridges them, and 13 goes through."""
    heads = rivets(*FOUR, head_diameter_mm=18)
    piece = one(carrying(straight(holes=heads), outer(heads="clear")))
    assert grips(piece) == {17} and {d.face for d in piece.drilling} == {"web"}
    wide = carrying(straight(holes=rivets(*FOUR, head_diameter_mm=24)), outer(heads="clear"))  # 26: the washer falls in
    check_fault(lambda: one(wide), "part plate", "stem", "open")  # the foot lies on it, or does not: nobody knows
    assert grips(one(wide, foot_mm=0)) == {8}  # the washers lie on the web


def test_a_window_behind_round_all_the_holes_leaves_the_foot_on_the_web() -> None:
    window = Opening(name="foot", at=Position(x_mm=1040), up_mm=75, shape="rectangle", length_mm=130, height_mm=100)
    piece = one(carrying(straight(holes=rivets(*FOUR)), outer(openings=(window,))))
    assert grips(piece) == {14} and {d.face for d in piece.drilling} == {"web"}


def test_plates_that_only_touch_do_not_share_room() -> None:
    """The doubler ends at 1080 + 6.5 + 13 = 1099.5; one that begins there lies beside it, one that begins at 1099 under its edge."""
    on = straight(holes=rivets(*FOUR))
    for built in (True, False):
        one(carrying(on, outer(seat="inside", start=Position(x_mm=1099.5)), built=built))
        shared = carrying(on, outer(seat="inside", start=Position(x_mm=1099.0)), built=built)
        check_fault(partial(one, shared), "part plate", "seat", "outer")


def test_any_part_before_it_on_the_same_patch_is_run_into() -> None:
    """A doubler of its own kind, round two holes between: no face for others is offered by it, its steel is there all the same."""
    on = straight(holes=(*rivets(*FOUR), *(replace(h, name=h.name.replace("h", "k")) for h in rivets((1030, 75), (1050, 75)))))
    first = doubler(id="first", stem="k-", edge_along_mm=5, edge_across_mm=5)
    check_fault(lambda: one(carrying(on, first), holes=("h-1", "h-2", "h-3", "h-4"), stem=None), "part plate", "seat", "first-right")
