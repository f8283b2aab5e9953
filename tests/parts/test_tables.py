"""The tables themselves: form, order, honest marks; every key reachable through the public lookup; what a miss says."""

from __future__ import annotations

import dataclasses
import re
from collections.abc import Callable
from dataclasses import dataclass
from fractions import Fraction
from typing import Any

import pytest

from parts import hardware
from parts.bolt_size import bolt_size
from parts.csv_table import TABLES, TableFault, parse_table, read_table
from parts.errors import BadInput
from parts.frame.instruments import InstrumentRow
from parts.hardware_rows import ClearanceRow, HeadRow, LengthRow, ThreadRow, WasherRow
from parts.material import RadiusRow, SteelRow, grades, steel
from parts.welds import FilletRow

ROWS: dict[str, type[Any]] = {
    "bolt_lengths_inch": LengthRow, "bolt_lengths_metric": LengthRow, "clearance_inch": ClearanceRow, "clearance_metric": ClearanceRow,
    "fillet_leg": FilletRow, "heads_inch": HeadRow, "heads_metric": HeadRow, "inside_radius": RadiusRow, "instruments": InstrumentRow,
    "steel": SteelRow,
    "threads_inch": ThreadRow, "threads_metric": ThreadRow, "washers_inch": WasherRow, "washers_metric": WasherRow,
}  # fmt: skip
MARKS = ("standard, copy", "handbook", "package table", "from memory", "no source")


@dataclass(frozen=True, kw_only=True)
class Sample:
    name: str
    size_mm: float
    count: int | None


HEADER = "# source: a book\n# units: mm\n# covers: two rows\nname,size_mm,count\n"


def test_a_table_is_read_with_its_comments_and_types() -> None:
    table = parse_table("t", HEADER + "a,0.5,3\n'b,-2,\n".replace("'", ""), Sample)
    assert (table.source, table.units, table.covers) == ("a book", "mm", "two rows")
    assert table.rows == (Sample(name="a", size_mm=0.5, count=3), Sample(name="b", size_mm=-2.0, count=None))


@pytest.mark.parametrize(
    ("text", "says"),
    [
        (HEADER + "a,1e3,1\n", "line 5: size_mm '1e3' is not a plain decimal"),
        (HEADER + "a,.5,1\n", "line 5: size_mm '.5'"),
        (HEADER + "a,05,1\n", "line 5: size_mm '05'"),
        (HEADER + 'a,"1,5",1\n', "line 5: size_mm '1,5'"),
        (HEADER + "a,nan,1\n", "line 5: size_mm 'nan'"),
        (HEADER + "a,1,1.5\n", "line 5: count '1.5' is not a plain integer"),
        (HEADER + "a,,1\n", "line 5: size_mm is empty"),
        (HEADER + "a,1\n", "line 5: 2 cells, 3 columns"),
        (HEADER.replace("count", "number") + "a,1,1\n", "line 4: columns"),
        (HEADER.replace("# units: mm\n", "") + "a,1,1\n", "no '# units:'"),
        (HEADER.replace("# units: mm\n", "# units:\n") + "a,1,1\n", "no '# units:'"),
        (HEADER + "# units: in\na,1,1\n", "line 5: '# units:' stands once"),
        (HEADER, "no rows"),
    ],
)
def test_a_table_that_is_not_well_formed_names_its_line(text: str, says: str) -> None:
    with pytest.raises(TableFault, match=re.escape(says)):
        parse_table("t", text, Sample)


def test_a_row_type_that_is_not_text_or_number_is_refused() -> None:
    @dataclass(frozen=True, kw_only=True)
    class Odd:
        flag: bool

    with pytest.raises(TableFault, match="column flag"):
        parse_table("t", HEADER, Odd)


def test_every_table_of_this_room_is_listed_here_and_reads() -> None:
    others = {"gauge"}  # held by the tests of units
    assert {p.stem for p in TABLES.glob("*.csv")} - others == set(ROWS)
    for name, row in ROWS.items():
        assert len(read_table(name, row)) > 1


@pytest.mark.parametrize("name", sorted(ROWS))
def test_every_row_says_how_sure_it_is(name: str) -> None:
    table = read_table(name, ROWS[name])
    if any(f.name == "sure" for f in dataclasses.fields(ROWS[name])):
        for row in table:
            assert any(mark in row.sure for mark in MARKS), row
    else:
        head = (TABLES / f"{name}.csv").read_text(encoding="utf-8")
        assert re.search(rf"^# sure: .*({'|'.join(MARKS)})", head, re.MULTILINE), name


LOOKUPS: list[tuple[str, type[Any], Callable[[Any], float]]] = [
    ("clearance", ClearanceRow, lambda row: hardware.clearance_hole(row.size, row.fit).diameter_mm - bolt_size(row.size).mm(row.hole)),
    ("threads", ThreadRow, lambda row: hardware.tap_drill(row.size).diameter_mm - bolt_size(row.size).mm(row.drill)),
    ("washers", WasherRow, lambda row: hardware.washer(row.size, row.series).outside_mm - bolt_size(row.size).mm(row.outside)),
    ("heads", HeadRow, lambda row: hardware.head(row.size).nut_flats_mm - bolt_size(row.size).mm(row.nut_flats)),
]


@pytest.mark.parametrize("system", ["metric", "inch"])
@pytest.mark.parametrize(("noun", "row_type", "difference"), LOOKUPS)
def test_every_key_is_reachable_once_and_in_order(noun: str, row_type: type[Any], difference: Callable[[Any], float], system: str) -> None:
    rows = read_table(f"{noun}_{system}", row_type).rows
    for row in rows:
        assert difference(row) == 0.0, row
        assert bolt_size(row.size).name == row.size
    keys = [(row.size, getattr(row, "fit", getattr(row, "series", ""))) for row in rows]
    assert len(set(keys)) == len(keys)
    diameters = [bolt_size(row.size).diameter_mm for row in rows]
    assert diameters == sorted(diameters)
    low, high = (bolt_size(row.size).name for row in (rows[0], rows[-1]))
    assert f"{low} to {high}" in read_table(f"{noun}_{system}", row_type).covers


@pytest.mark.parametrize("system", ["metric", "inch"])
def test_every_size_has_hole_thread_head_and_a_normal_washer(system: str) -> None:
    tables = [{row.size for row in read_table(f"{noun}_{system}", row_type)} for noun, row_type, _ in LOOKUPS]
    assert all(sizes == tables[0] for sizes in tables)
    for size in tables[0]:
        assert hardware.washer(size).series == "normal"


@pytest.mark.parametrize("system", ["metric", "inch"])
def test_standard_lengths_are_sorted_and_hold_each_sizes_ends(system: str) -> None:
    lengths = read_table(f"bolt_lengths_{system}", LengthRow).rows
    values = [row.length for row in lengths]
    assert values == sorted(set(values))
    for row in lengths:
        whole, _, part = row.text.rpartition("-")
        assert row.length == float(Fraction(part) + int(whole or 0))
    for head in read_table(f"heads_{system}", HeadRow):
        assert {head.shortest, head.longest} | ({head.partly_from} if head.partly_from else set()) <= set(values), head


def test_steel_every_name_is_reachable_and_no_two_grades_share_one() -> None:
    seen: dict[str, str] = {}
    for row in read_table("steel", SteelRow):
        for name in row.names():
            assert steel(name).grade == row.grade
            assert seen.setdefault(name.casefold(), row.grade) == row.grade
    folded = [grade.casefold() for grade in grades()]
    assert folded == sorted(folded)


@pytest.mark.parametrize(
    ("ask", "says"),
    [
        (lambda: hardware.clearance_hole("M27"), "covers ISO 273, M5 to M24; nearest: M22, M24"),
        (lambda: hardware.clearance_hole("M13"), "nearest: M12, M14"),
        (lambda: hardware.clearance_hole("9/16 in"), "covers ASME B18.2.8, 1/4 in to 5/8 in; nearest: 1/2 in, 5/8 in"),
        (lambda: hardware.tap_drill("M4"), "covers coarse threads M5 to M24; nearest: M5, M6"),
        (lambda: hardware.washer("M30"), "covers ISO 7089 and ISO 7093-1, M5 to M24"),
        (lambda: hardware.washer("M20", "wide"), "nearest: M14, M16"),
        (lambda: hardware.head("1 in"), "covers ASME B18.2.1 and B18.2.2, 1/4 in to 5/8 in; nearest: 1/2 in, 5/8 in"),
    ],
)
def test_a_miss_names_the_range_and_the_nearest(ask: Callable[[], object], says: str) -> None:
    with pytest.raises(BadInput, match=re.escape(says)):
        ask()
