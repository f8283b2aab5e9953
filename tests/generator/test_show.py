"""Tables as they are shown: units in the headings, inches, fractions, what a spreadsheet would do to a cell."""

from __future__ import annotations

import csv
import io
import json

import pytest

from generator.show import WIDTH, Column, Section, Table, csv_bytes, csv_text, in_units, json_value, table_lines, text_lines

TABLE = Table(
    name="holes",
    title="Holes",
    columns=(
        Column(name="part"),
        Column(name="x", unit="mm", tape=True),
        Column(name="diameter", unit="mm"),
        Column(name="angle", unit="deg", digits=1),
        Column(name="area", unit="mm2", digits=0),
        Column(name="mass", unit="kg", digits=2),
        Column(name="bolts"),
    ),
    rows=(
        ("plate", 139.7, 25.4, 30.0, 645.16, 0.45359237, 4),
        ("bracket", -0.0001, 12.0, None, 0.0, 1.0, 0),
    ),
)


def rows_of(text: str) -> list[list[str]]:
    return list(csv.reader(io.StringIO(text)))


def test_millimetres_stand_as_they_are_held() -> None:
    head, plate, bracket = rows_of(csv_text(TABLE))
    assert head == ["part", "x (mm)", "diameter (mm)", "angle (deg)", "area (mm2)", "mass (kg)", "bolts"]
    assert plate == ["plate", "139.700", "25.400", "30.0", "645", "0.45", "4"]
    assert bracket == ["bracket", "0.000", "12.000", "", "0", "1.00", "0"]  # no -0.000, nothing for what is not known


def test_inches_with_the_tape_fraction_beside() -> None:
    """1 in = 25.4 mm, 1 lb = 0.45359237 kg, both exact: international yard and pound agreement, 1959."""
    head, plate, _ = rows_of(csv_text(TABLE, "in"))
    assert head == ["part", "x (in)", "x, nearest 1/16", "diameter (in)", "angle (deg)", "area (in2)", "mass (lb)", "bolts"]
    assert plate == ["plate", "5.5000", "5-1/2 in", "1.0000", "30.0", "1.00", "1.00", "4"]


@pytest.mark.parametrize(("length_mm", "text"), [(4.7625, "3/16 in"), (60.325, "2-3/8 in"), (304.8, "12 in"), (-60.325, "-2-3/8 in")])
def test_a_fraction_never_looks_like_a_date(length_mm: float, text: str) -> None:
    """A spreadsheet takes 3/16 and 12-3/8 for dates; a unit behind them keeps them text. The inches are worked by hand."""
    table = Table(name="t", title="", columns=(Column(name="x", unit="mm", tape=True),), rows=((length_mm,),))
    assert rows_of(csv_text(table, "in"))[1][1] == text
    assert text.endswith(" in")


@pytest.mark.parametrize("text", ["=1+1", "+cmd", "-2+3+cmd|' /C calc'!A0", "@SUM(A1)", "\tx"])
def test_no_text_runs_as_a_formula(text: str) -> None:
    table = Table(name="t", title="", columns=(Column(name="why"),), rows=((text,),))
    assert rows_of(csv_text(table))[1] == [f"'{text}"]


def test_negative_numbers_are_still_numbers() -> None:
    table = Table(name="t", title="", columns=(Column(name="y", unit="mm", digits=1),), rows=((-430.0,),))
    assert rows_of(csv_text(table))[1] == ["-430.0"]


def test_commas_and_quotes_in_a_name_stay_in_one_cell() -> None:
    name = 'bolt 1/2 in, "long"'
    table = Table(name="t", title="", columns=(Column(name="item"), Column(name="quantity")), rows=((name, 2),))
    assert rows_of(csv_text(table))[1] == [name, "2"]


def test_letters_outside_ascii_carry_the_mark_that_spreadsheets_look_for() -> None:
    plain = Table(name="t", title="", columns=(Column(name="a"),), rows=(("x",),))
    accented = Table(name="t", title="", columns=(Column(name="a"),), rows=(("né",),))
    assert csv_bytes(plain) == b"a\nx\n"
    assert csv_bytes(accented) == b"\xef\xbb\xbfa\nn\xc3\xa9\n"


@pytest.mark.parametrize("value", [float("nan"), float("inf")])
def test_what_is_no_number_is_not_shown(value: float) -> None:
    table = Table(name="t", title="", columns=(Column(name="x", unit="mm"),), rows=((value,),))
    with pytest.raises(ValueError, match=r"x \(mm\)"):
        csv_text(table)


def test_lines_are_aligned_numbers_to_the_right() -> None:
    table = Table(
        name="t", title="", columns=(Column(name="part"), Column(name="x", unit="mm", digits=1)), rows=(("plate", 5.0), ("a", 1234.5))
    )
    assert table_lines(table) == ["part   x (mm)", "plate     5.0", "a      1234.5"]
    assert table_lines(Table(name="t", title="", columns=table.columns, rows=(), empty="no parts")) == ["no parts"]


def test_sections_for_terminal_and_program() -> None:
    section = Section(title="Cut list", tables=(TABLE,), notes=("a note",))
    lines = text_lines((section, section))
    assert lines[0] == "Cut list" and lines[1] == "  Holes" and "  a note" in lines
    assert lines.count("") == 1
    value = json.loads(json.dumps(json_value((section,))))
    assert value[0]["tables"][0]["columns"][1] == {"name": "x", "unit": "mm"}
    assert value[0]["tables"][0]["rows"][0][1] == 139.7


def test_a_row_of_the_wrong_length_is_a_fault_of_the_program() -> None:
    table = Table(name="t", title="", columns=(Column(name="a"), Column(name="b")), rows=(("x",),))
    with pytest.raises(ValueError, match="argument"):
        csv_text(table)
    with pytest.raises(ValueError, match="argument"):
        in_units(table, "in")


WIDE_TABLE = Table(
    name="wide", title="",
    rows=(("square", "cp-front to cp-rear", 7.8, "in", ""), ("twist", "cp-rear", 12.5, "cannot tell", "no limit " * 12)),
    columns=(Column(name="word"), Column(name="where"), Column(name="grown since the pair before it", unit="mm", digits=1),
             Column(name="verdict"), Column(name="why")),
)  # fmt: skip


def test_a_narrow_table_keeps_within_its_width_and_loses_no_word() -> None:
    """Text is broken where it is long, not where it would fit; the headings stand over their numbers."""
    wide, narrow = table_lines(WIDE_TABLE), table_lines(WIDE_TABLE, width=80)
    assert max(map(len, wide)) > 80 >= max(map(len, narrow))
    assert sorted(" ".join(wide).split()) == sorted(" ".join(narrow).split())
    assert any(line.startswith("square  cp-front to cp-rear") for line in narrow)
    first = next(i for i, line in enumerate(narrow) if line.startswith("square"))
    assert first > 1
    assert narrow[first - 1].startswith("word")


def test_a_table_that_fits_is_as_it_was() -> None:
    assert table_lines(WIDE_TABLE, width=400) == table_lines(WIDE_TABLE)


def test_narrow_or_not_the_csv_is_the_same_and_text_keeps_within_a_sentences_width() -> None:
    section = Section(title="T", tables=(WIDE_TABLE,))
    assert max(map(len, text_lines([section], narrow=True))) <= WIDTH < max(map(len, text_lines([section])))


def test_a_word_too_long_for_its_table_is_not_cut() -> None:
    table = Table(name="t", title="", columns=(Column(name="name"),), rows=(("x" * 60,),))
    assert table_lines(table, width=20) == ["name", "x" * 60]
