"""Rules for the cutting table at their limits.

Sources, all common practice among cutting shops without a source: laser cuts holes from t (some shops 0.7 t, some 1.5 t), plasma from
1.5 t; plasma leaves 1.5 t of steel between cuts. Sheet sizes are the job file's own.
"""

from __future__ import annotations

import math
from typing import Any

import pytest

from generator.rules.cuts import sheet_size, smallest_hole, steel_between_cuts
from parts.errors import BadInput
from parts.outline import Transform, rectangle
from parts.shop import Sheet, Shop
from tests.generator.rules.makers import TINY, angle_piece, hole, one, piece, silent, straight, told

LASER, PLASMA, WATER = Shop(), Shop(process="plasma"), Shop(process="water jet")


def small(diameter: float, shop: Shop, **more: Any) -> list[tuple[str, str]]:
    return told(smallest_hole, piece(holes=[hole(100.0, 50.0, diameter, **more)]), None, shop)


def test_the_smallest_hole_of_a_laser() -> None:
    """In 4 mm: from 4 mm; 6 mm suits every shop."""
    assert small(4.0 - TINY, LASER) == small(2.0, LASER) == [("hole-drilled", "note")]
    assert small(4.0, LASER) == small(6.0 - TINY, LASER) == [("hole-small", "note")]
    assert small(6.0, LASER) == small(13.0, LASER) == []


def test_the_smallest_hole_of_a_plasma_torch() -> None:
    """In 4 mm: from 6 mm. The width of a slot counts, not its length."""
    assert small(6.0 - TINY, PLASMA) == [("hole-drilled", "note")]
    assert small(6.0, PLASMA) == small(6.0 + TINY, PLASMA) == []
    assert small(5.9, PLASMA, kind="slot", length_mm=30.0) == [("hole-drilled", "note")]


def test_no_figure_was_found_for_a_water_jet_and_a_plate_without_holes_is_not_judged() -> None:
    assert silent(smallest_hole, piece(holes=[hole(100.0, 50.0, 1.0)]), None, WATER)
    assert silent(smallest_hole, piece(), None, PLASMA)


def test_small_holes_are_one_finding_a_part() -> None:
    holes = [hole(30.0 * k, 50.0, 3.0, f"h{k}") for k in range(1, 6)]
    found = one(smallest_hole, piece(holes=holes), None, LASER)
    assert "h1, h2, h3 and 2 more, 3 mm across" in found.message and "drilled" in found.message
    assert "laser in 4 mm" in found.message


def beside(gap: float, shop: Shop = PLASMA) -> list[tuple[str, str]]:
    return told(steel_between_cuts, piece(holes=[hole(gap + 6.5, 50.0)]), None, shop)


def apart(gap: float) -> list[tuple[str, str]]:
    return told(steel_between_cuts, piece(holes=[hole(80.0, 50.0, name="a"), hole(93.0 + gap, 50.0, name="b")]), None, PLASMA)


@pytest.mark.parametrize("between", [beside, apart])
def test_plasma_leaves_steel_between_cuts(between: object) -> None:
    """1.5 x 4 mm, from a hole to the edge and from hole to hole."""
    assert callable(between)
    assert between(6.0) == between(6.0 + TINY) == between(40.0) == []
    assert between(6.0 - TINY) == between(2.0) == [("steel-between-cuts", "note")]


def test_only_plasma_and_only_what_is_cut() -> None:
    """Holes under 1.5 t are drilled, so they are no cuts: 5 mm in 4 mm sheet."""
    assert silent(steel_between_cuts, piece(holes=[hole(8.0, 50.0)]), None, LASER)
    assert silent(steel_between_cuts, piece(holes=[hole(4.0, 50.0, 5.0)]), None, PLASMA)


def test_a_row_of_many_holes_names_the_worst() -> None:
    holes = [hole(20.0 * k, 50.0, name=f"h{k}") for k in range(1, 9)]  # 7 mm left between each two
    assert told(steel_between_cuts, piece(holes=holes), None, PLASMA) == []
    found = one(steel_between_cuts, piece(holes=[*holes, hole(160.0, 67.0, name="odd")]), None, PLASMA)  # 17 - 13 = 4 mm off h8
    assert "4.0 mm of steel between h8 and odd" in found.message or "4.0 mm of steel between odd and h8" in found.message


def test_steel_between_a_long_slot_and_a_hole_past_another() -> None:
    """The slot runs from x 20 to 180 at y 30, 10 wide; `past` stands 3 mm above it, `other` between them in x and out of the way."""
    slot = hole(100.0, 30.0, 10.0, "slot", kind="slot", length_mm=160.0)
    holes = [slot, hole(60.0, 80.0, name="other"), hole(150.0, 30.0 + 5.0 + 3.0 + 6.5, name="past")]
    assert "3.0 mm of steel between slot and past" in one(steel_between_cuts, piece(holes=holes), None, PLASMA).message


def sheets(*sizes: tuple[float, float], **more: object) -> Shop:
    return Shop(sheets=tuple(Sheet(length_mm=a, width_mm=b, **more) for a, b in sizes))  # type: ignore[arg-type]


def test_a_part_as_large_as_the_sheet() -> None:
    of = piece(rectangle(0.0, 0.0, 1250.0, 400.0))
    assert told(sheet_size, of, None, sheets((1250.0, 400.0))) == told(sheet_size, of, None, sheets((400.0, 1250.0))) == []
    assert told(sheet_size, of, None, sheets((1250.0 - TINY, 400.0))) == [("part-over-sheet", "stop")]
    assert told(sheet_size, of, None, sheets((1250.0, 400.0 - TINY), (900.0, 900.0))) == [("part-over-sheet", "stop")]
    assert told(sheet_size, of, None, sheets((900.0, 900.0), (1300.0, 500.0))) == [], "one that is large enough will do"
    assert silent(sheet_size, of), "a shop that lists no sheets is not judged"


def test_a_part_drawn_aslant_is_turned() -> None:
    turned = rectangle(0.0, 0.0, 1000.0, 100.0).moved(Transform.rotation(math.radians(30)))
    assert told(sheet_size, piece(turned), None, sheets((1000.0 + TINY, 100.0 + TINY))) == []
    assert told(sheet_size, piece(turned), None, sheets((999.0, 100.0 + TINY))) == [("part-over-sheet", "stop")]


def test_of_a_bent_part_the_flat_pattern_counts() -> None:
    """Flats of 100 and 60, r 5, t 4, 90 deg, K 0.42: BA = pi/2 (5 + 0.42 x 4) = 10.493 by hand, so 170.493 of sheet."""
    length = 160.0 + math.pi / 2 * (5 + 0.42 * 4)
    assert told(sheet_size, angle_piece(), None, sheets((200.0, length + TINY))) == []
    assert told(sheet_size, angle_piece(), None, sheets((200.0, length - 1e-3))) == [("part-over-sheet", "stop")]


def test_sheets_of_another_thickness_or_steel_do_not_serve() -> None:
    of = piece(thickness=4.0, grade="A36")
    for more in ({"thickness_mm": 4.0}, {"grade": "A36"}, {"thickness_mm": 4.05, "grade": "A36"}, {}):
        assert told(sheet_size, of, None, sheets((2500.0, 1250.0), **more)) == []
    for more in ({"thickness_mm": 3.0}, {"thickness_mm": 4.06}, {"grade": "S235JR"}):
        found = one(sheet_size, of, straight(), sheets((2500.0, 1250.0), **more))
        assert (found.code, found.level) == ("sheet-missing", "warn") and "4 mm A36" in found.message


def test_a_sheet_is_checked_when_it_is_declared() -> None:
    with pytest.raises(BadInput, match="grade"):
        Sheet(length_mm=2500, width_mm=1250, grade="A37x")
    with pytest.raises(BadInput, match="length"):
        Sheet(length_mm=5, width_mm=1250)
