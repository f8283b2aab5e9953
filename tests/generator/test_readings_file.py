"""The sheet of readings beside a frame: what is read from it, and what is refused, with line, column and value."""

from __future__ import annotations

import hashlib
import json
import time
from pathlib import Path

import pytest

from generator.cli import main
from generator.files.source import LARGEST_BYTES
from generator.job import read_frame, read_frame_files, read_job
from generator.readings_file import MOST_READINGS
from parts.errors import BadInput, Fault
from parts.frame.measured import Reading

HEADER = "name,kind,from,to,value,unit,accuracy,set"
FRAME = """
format = 1
name = "bench frame"
units = "{units}"
readings_file = "{sheet}"
steel = {{ grade = "mild steel", heat_treated = "no" }}
use = {{ road = true, commercial = false }}
datum = {{ x = "front", z = "floor" }}
[[rail]]
side = "both"
section = {{ kind = "channel", flange = "60 mm", web = "4 mm", flange_thickness = "4 mm", inside_radius = "4 mm", open = "inboard" }}
[[rail.station]]
name = "front"
x = "0 mm"
y = "430 mm"
z = "600 mm"
depth = "150 mm"
[[rail.station]]
name = "rear"
x = "3000 mm"
y = "430 mm"
z = "600 mm"
depth = "150 mm"
[[control_point]]
name = "a"
at = "front"
[[control_point]]
name = "b"
at = "rear"
{more}
"""
SPAN = "a-left,b-left"  #: 3000 mm


def frame_file(folder: Path, text: str | bytes, units: str = "mm", more: str = "", sheet: str = "readings.csv") -> Path:
    (folder / "frame.toml").write_text(FRAME.format(units=units, more=more, sheet=sheet), encoding="utf-8")
    (folder / "readings.csv").write_bytes(text if isinstance(text, bytes) else text.encode())
    return folder / "frame.toml"


def readings(folder: Path, *rows: str, header: str = HEADER, units: str = "mm", more: str = "") -> tuple[Reading, ...]:
    return read_frame(frame_file(folder, "\n".join([header, *rows]), units, more)).readings


def faults(folder: Path, text: str | bytes, units: str = "mm", more: str = "", sheet: str = "readings.csv") -> tuple[Fault, ...]:
    with pytest.raises(BadInput) as caught:
        read_frame(frame_file(folder, text, units, more, sheet))
    return caught.value.faults


def row_faults(folder: Path, *rows: str, header: str = HEADER, more: str = "") -> list[tuple[str, str, str, str]]:
    found = faults(folder, "\n".join([header, *rows]), more=more)
    assert {f.file for f in found} == {str(folder / "readings.csv")}
    return [(f.where, f.field, f.value, f.limit) for f in found]


def test_a_sheet_is_read_as_the_frame_file_s_own_readings_are(tmp_path: Path) -> None:
    """Behind them, in the order of the lines."""
    own = '[[reading]]\nname = "own"\nkind = "height"\nfrom = "a-left"\nvalue = 600'
    found = readings(tmp_path, f"d,,{SPAN},3000.5,mm,2,", "h,height,b-left,,601,mm,water level,", more=own)
    assert [r.name for r in found] == ["own", "d", "h"]
    assert found[1] == Reading(name="d", kind="distance", start="a-left", end="b-left", value_mm=3000.5, accuracy_mm=2.0, set="found")
    assert found[2] == Reading(name="h", kind="height", start="b-left", value_mm=601.0, instrument="water level", set="found")


# 1 in is 25.4 mm and 1 ft 304.8 mm exactly (ISO 31-1).
@pytest.mark.parametrize(
    ("value", "unit", "units", "expected_mm"),
    [
        ("2999.5", "mm", "mm", 2999.5), ("299.95", "cm", "mm", 2999.5), ("2.9995", "m", "mm", 2999.5), ("2999.5", "", "mm", 2999.5),
        ("118", "", "in", 2997.2), ("118-1/8", "in", "mm", 3000.375), ("118 1/8", "in", "mm", 3000.375), ("118-1/8", "", "in", 3000.375),
        ("118-1/8 in", "", "mm", 3000.375), ("118-1/8 in", "in", "mm", 3000.375), ('"118-1/8"""', "", "mm", 3000.375),
        ('118-1/8"', "", "mm", 3000.375), ("9 ft 10-1/8 in", "", "mm", 3000.375), ("9 ft 10-1/8 in", "ft", "mm", 3000.375),
        ("9.84375", "ft", "mm", 3000.375), ("2999.5 mm", "", "in", 2999.5), ("+2999.5", "mm", "mm", 2999.5),
    ],
)  # fmt: skip
def test_the_unit_stands_in_its_column_or_in_the_value_or_is_the_file_s(
    value: str, unit: str, units: str, expected_mm: float, tmp_path: Path
) -> None:
    (found,) = readings(tmp_path, f"d,,{SPAN},{value},{unit},,", units=units)
    assert found.value_mm == pytest.approx(expected_mm, abs=1e-9)


@pytest.mark.parametrize(
    ("accuracy", "unit", "expected_mm"), [("2", "mm", 2.0), ("0.2", "cm", 2.0), ("1/16", "in", 1.5875), ("1/16 in", "mm", 1.5875)]
)
def test_an_accuracy_counts_in_the_unit_of_its_row(accuracy: str, unit: str, expected_mm: float, tmp_path: Path) -> None:
    value = {"mm": "3000", "cm": "300", "in": "118"}[unit]
    assert readings(tmp_path, f"d,,{SPAN},{value},{unit},{accuracy},")[0].accuracy_mm == pytest.approx(expected_mm, abs=1e-9)


@pytest.mark.parametrize("written", ["tape I", "Tape i", "1/16 in tape", "plumbed tape"])
def test_an_accuracy_may_name_an_instrument(written: str, tmp_path: Path) -> None:
    (found,) = readings(tmp_path, f"d,,{SPAN},3000,mm,{written},")
    assert (found.instrument or "").casefold() == written.casefold() and found.accuracy_mm is None


WAYS: dict[str, bytes] = {
    "semicolons": f"{HEADER}\nd,,{SPAN},3000,mm,,\n".replace(",", ";").encode(),
    "tabs": f"{HEADER}\nd,,{SPAN},3000,mm,,\n".replace(",", "\t").encode(),
    "a byte order mark": f"\ufeff{HEADER}\nd,,{SPAN},3000,mm,,\n".encode(),
    "line ends of other systems": f"{HEADER}\r\nd,,{SPAN},3000,mm,,\r\n".encode(),
    "line ends of old systems": f"{HEADER}\rd,,{SPAN},3000,mm,,\r".encode(),
    "quotes and spaces": f'"Name", KIND,from,to,value,unit,accuracy,set\n"d", ,{SPAN}, " 3000 ",mm,,\n'.encode(),
    "another order": b"to,value,from,name\nb-left,3000,a-left,d\n",
    "comments and empty lines": f"# who, when\n\n{HEADER}\n,,,,,,,\n,,\n# one, more\nd,,{SPAN},3000,mm,,\n\n".encode(),
    "a spreadsheet's own columns": f"{HEADER},,\nd,,{SPAN},3000,mm,,,,\n".encode(),
    "a form filled in by half": f"{HEADER}\ne,,{SPAN},,mm,,\nd,,{SPAN},3000,mm,,\n".encode(),
}


@pytest.mark.parametrize("text", WAYS.values(), ids=WAYS)
def test_sheets_come_in_many_ways(text: bytes, tmp_path: Path) -> None:
    (found,) = read_frame(frame_file(tmp_path, text)).readings
    assert (found.name, found.kind, found.points, found.value_mm) == ("d", "distance", ("a-left", "b-left"), 3000.0)


ROWS: list[tuple[str, str, str, str, str]] = [  # the row, and (field, value, limit, remedy) of its one fault
    (f"d,,{SPAN},3000,5,mm,,", "", '"d,,a-left,b-left,3000,5,mm,,"', "has 9 cells, and the header has 8", "is written with a point"),
    (f"d,,{SPAN},3000,5,,", "unit", '"5"', "is not a unit of length", "a value with a comma?"),
    (f'd,,{SPAN},"3000,5",mm,,', "value", '"3000,5"', "is not a length", "use a point, not a comma"),
    (f'd,,{SPAN},"3,000",mm,,', "value", '"3,000"', "a comma, which means two things: thousands or decimals", "write 3000 or 3.0"),
    (f'd,,{SPAN},"-1,234 mm",,,', "value", '"-1,234 mm"', "means two things: thousands or decimals", "write -1234 or -1.234"),
    (f'd,,{SPAN},3000,mm,"1,500",', "accuracy", '"1,500"', "means two things: thousands or decimals", "write 1500 or 1.5"),
    (f"d,,{SPAN},3000,mm", "", '"d,,a-left,b-left,3000,mm"', "has 6 cells, and the header has 8", "empty ones too"),
    (f"d,,{SPAN},3e3,mm,,", "value", '"3e3"', "is not a length", "without an exponent"),
    (f"d,,{SPAN},three,mm,,", "value", '"three"', "is not a length", "accepted: "),
    (f"d,,{SPAN},nan,mm,,", "value", '"nan"', "is not a length", "a finite number is needed"),
    (f"d,,{SPAN},=B2*25.4,mm,,", "value", '"=B2*25.4"', "is a formula", "write its value"),
    (f"d,,{SPAN},@SUM(B2),mm,,", "value", '"@SUM(B2)"', "is a formula", "write its value"),
    (f"d,,{SPAN},3000,yd,,", "unit", '"yd"', "is not a unit of length", "mm, cm, m, in, ft"),
    (f"d,,{SPAN},3000,MM,,", "unit", '"MM"', "is not a unit of length", 'did you mean "mm"?'),
    (f"d,,{SPAN},118 in,mm,,", "value", '"118 in"', "has a unit of its own, and the column unit says mm", "leave one of the two out"),
    (f"d,,{SPAN},118-1/8,mm,,", "value", '"118-1/8 mm"', "is not a length", "fractions go with inches"),
    (f"d,,{SPAN},3000,m,,", "value", '"3000 m"', "a length here is at most 1 km", ""),
    (f"d,,{SPAN},300,m,,", "value", '"300 m" = 300000 mm', "must be -14000 to 14000 mm", "check the unit"),
    (f"d,,{SPAN},3000,mm,tape 3,", "accuracy", '"tape 3"', "is neither a length nor an instrument", 'did you mean "tape I"?'),
    (f"d,,{SPAN},3000,mm,good,", "accuracy", '"good"', "is neither a length nor an instrument", "a length, or one of tape I"),
    (f"d,,{SPAN},3000,mm,400,", "accuracy", '"400 mm"', "must be 0.01 to 100 mm", ""),
    (f"d,hieght,{SPAN},3000,mm,,", "kind", '"hieght"', "must be one of", 'did you mean "height"?'),
    (f"d,height,{SPAN},3000,mm,,", "to", "b-left", "is taken at one point", "leave to out"),
    ("d,rise,a-left,,30,mm,,", "to", "", "from one point to another", ""),
    (f"d e,,{SPAN},3000,mm,,", "name", '"d e"', "is not a name", "letters a to z"),
    ("d,,a-left,b-lfet,3000,mm,,", "to", "b-lfet", "no control point of that name", "nearest: b-left"),
    ("d,,a-left,b,3000,mm,,", "to", "b", "is a pair of control points", "b-left or b-right"),
    (f'd,,{SPAN},3000,mm,"2,', "", "", "cannot be parted into cells", 'a mark inside quotes is doubled: "3/16""'),
]


@pytest.mark.parametrize(("row", "field", "value", "limit", "remedy"), ROWS, ids=[r[0] for r in ROWS])
def test_each_fault_of_a_row_is_named(row: str, field: str, value: str, limit: str, remedy: str, tmp_path: Path) -> None:
    """The good row before it and the one behind are not at fault."""
    found = faults(tmp_path, "\n".join([HEADER, f"c,,{SPAN},3000,mm,,", row, f"z,,{SPAN},3000,mm,,"]))
    (fault,) = found
    assert (fault.file, fault.field) == (str(tmp_path / "readings.csv"), field)
    assert fault.where.startswith("line 3")
    assert value in fault.value and limit in fault.limit and remedy in fault.remedy, str(fault)


def test_every_fault_of_a_row_and_of_all_rows_comes_in_one_go(tmp_path: Path) -> None:
    found = row_faults(tmp_path, "d e,hieght,a-left,,x,mm,good,", f"ok,,{SPAN},3000,mm,,", f",,{SPAN},3000,yd,,")
    assert {(where, field) for where, field, _, _ in found} == {
        ("line 2 (d e)", "name"), ("line 2 (d e)", "kind"), ("line 2 (d e)", "value"), ("line 2 (d e)", "accuracy"),
        ("line 4", "name"), ("line 4", "unit"),
    }  # fmt: skip


def test_a_row_is_judged_whatever_its_unit(tmp_path: Path) -> None:
    found = row_faults(tmp_path, "d,rise,a-left,,3000,yd,good,")
    assert [(field, value) for _, field, value, _ in found] == [("unit", '"yd"'), ("to", "")]


def test_without_units_of_the_frame_only_what_has_its_own_is_judged(tmp_path: Path) -> None:
    found = faults(tmp_path, f"{HEADER}\na,,{SPAN},99999,,,\nb,,{SPAN},99999,mm,,\nc,,{SPAN},x,,,\n", units="cm")
    assert [(f.where, f.field) for f in found] == [("", "units"), ("line 3 (b)", "value"), ("line 4 (c)", "value")]


def test_an_instrument_is_named_once(tmp_path: Path) -> None:
    header = f"{HEADER},with"
    (found,) = readings(tmp_path, f"d,,{SPAN},3000,mm,,,tape I", header=header)
    assert found.instrument == "tape I"
    (fault,) = row_faults(tmp_path, f"d,,{SPAN},3000,mm,tape II,,tape I", header=header)
    assert fault[1:3] == ("accuracy", '"tape II"')


def test_faults_of_the_frame_and_of_its_sheet_come_together(tmp_path: Path) -> None:
    found = faults(tmp_path, f"{HEADER}\nd,,{SPAN},x,mm,,", more='[[hole]]\nname = "h"\nat = "front"\nup = 75\ndiameter = 900')
    assert [(f.file.rpartition("/")[2], f.field) for f in found] == [("frame.toml", "diameter"), ("readings.csv", "value")]


def test_what_binds_a_sheet_to_the_frame_is_told_with_its_line(tmp_path: Path) -> None:
    own = '[[reading]]\nname = "own"\nkind = "height"\nfrom = "a-left"\nvalue = 600\n[[set]]\nname = "found"'
    rows = [f"own,,{SPAN},3000,mm,,", f"d,,{SPAN},3000,mm,,", f"d,,{SPAN},3001,mm,,", f"e,,{SPAN},3001,mm,,fuond"]
    assert [(where, field) for where, field, _, _ in row_faults(tmp_path, *rows, more=own)] == [
        ("line 2 (own)", "name"), ("line 4 (d)", "name"), ("line 5 (e)", "set"),
    ]  # fmt: skip


def test_what_a_row_is_and_what_binds_another_to_the_frame_come_in_one_go(tmp_path: Path) -> None:
    """A bad row takes no part in the second look, all others do; in the order of the lines."""
    more = '[[set]]\nname = "found"'
    rows = [f"q,,{SPAN},3000,mm,,fuond", f"r,,{SPAN},x,mm,,", f"s,,{SPAN},3000,mm,,", "t,,a-left,b-lfet,3000,mm,,", f"s,,{SPAN},3000,yd,,"]
    assert [(where, field) for where, field, _, _ in row_faults(tmp_path, *rows, more=more)] == [
        ("line 2 (q)", "set"), ("line 3 (r)", "value"), ("line 5 (t)", "to"), ("line 6 (s)", "unit"),
    ]  # fmt: skip


def test_a_row_with_a_fault_is_not_among_the_readings_of_a_good_frame(tmp_path: Path) -> None:
    """The row is bad, no other fault follows from its absence."""
    found = row_faults(tmp_path, f"r,,{SPAN},x,mm,,later", more='[[set]]\nname = "found"\n[[set]]\nname = "later"')
    assert [(where, field) for where, field, _, _ in found] == [("line 2 (r)", "value")]


def test_two_frames_with_sheets_of_one_name_are_told_apart(tmp_path: Path, monkeypatch: pytest.MonkeyPatch) -> None:
    """By the path, as it was typed; a frame that a job names by its bare name has a sheet with a bare name."""
    for name in ("one", "two"):
        (tmp_path / name).mkdir()
        frame_file(tmp_path / name, f"{HEADER}\nd,,{SPAN},x,mm,,")
    monkeypatch.chdir(tmp_path)
    for typed, shown in (("one/frame.toml", "one/readings.csv"), ("two/frame.toml", "two/readings.csv")):
        with pytest.raises(BadInput) as caught:
            read_frame(typed)
        assert [f.file for f in caught.value.faults] == [shown]
    monkeypatch.chdir(tmp_path / "one")
    with pytest.raises(BadInput) as caught:
        read_frame("frame.toml")
    assert [f.file for f in caught.value.faults] == ["readings.csv"]


def test_readings_of_one_name_in_two_sets_are_told_apart_by_line(tmp_path: Path) -> None:
    rows = [f"d,,{SPAN},3000,mm,,one", "d,,a-left,b-rihgt,3000,mm,,two"]
    assert [(where, field) for where, field, _, _ in row_faults(tmp_path, *rows)] == [("line 3 (d)", "to")]


HEADERS: list[tuple[str, str, str, str]] = [  # header, and (field, limit, remedy) of its first fault
    (f"d,,{SPAN},3000,mm,,", "", "the first line must name the columns", "name, from, value must be there"),
    ("name,from,to", "value", "the column is missing", ""),
    ("name,from,valeu,to", "valeu", "unknown column", 'did you mean "value"?'),
    ("name,from,value,who,to", "who", "unknown column", "known columns: name, kind, from"),
    ("name,from,value,value", "value", "two columns have this name", "leave one of them out"),
    ("# only words", "", "has no line of column names", ""),
    ("sep=;", "", "the first line must name the columns", ""),
]


@pytest.mark.parametrize(("header", "field", "limit", "remedy"), HEADERS, ids=[h[0] for h in HEADERS])
def test_each_fault_of_the_header_is_named(header: str, field: str, limit: str, remedy: str, tmp_path: Path) -> None:
    found = faults(tmp_path, f"{header}\n")
    assert len(found) == 1 and (found[0].file, found[0].field) == (str(tmp_path / "readings.csv"), field)
    assert limit in found[0].limit and remedy in found[0].remedy


FILES: dict[str, tuple[bytes, str]] = {
    "nothing": (b"", "is empty"),
    "two bytes a letter": (HEADER.encode("utf-16"), "is UTF-16 text"),
    "a spreadsheet's own file": (b"PK\x03\x04\x00\x00", "is not a text file"),
    "an older page of letters": (HEADER.encode() + b"\nd\xe9", "is not UTF-8 text (line 2"),
    "too much": (HEADER.encode() + b"\n" * LARGEST_BYTES, "4 MB is the most that is read"),
}


@pytest.mark.parametrize(("data", "limit"), FILES.values(), ids=FILES)
def test_a_file_that_is_no_sheet_is_told_at_the_key_that_names_it(data: bytes, limit: str, tmp_path: Path) -> None:
    (fault,) = faults(tmp_path, data)
    assert (fault.file.rpartition("/")[2], fault.field, fault.value) == ("frame.toml", "readings_file", '"readings.csv"')
    assert limit in fault.limit and "TOML" not in fault.remedy and "job" not in fault.remedy


@pytest.mark.parametrize(
    ("sheet", "limit"),
    [
        ("../readings.csv", "may not lead out of the folder"), ("/etc/hostname", "must be relative"), ("~/r.csv", "must be relative"),
        ("demo:mill-pickup", "may hold neither"), ("C:/r.csv", "may hold neither"), ("", "is not a file name"),
        ("none.csv", "does not exist"), (".", "is a folder"),
    ],
)  # fmt: skip
def test_a_sheet_lies_beside_its_frame(sheet: str, limit: str, tmp_path: Path) -> None:
    home = tmp_path / "home"
    home.mkdir()
    (tmp_path / "readings.csv").write_text(HEADER)
    (fault,) = faults(home, HEADER, sheet=sheet)
    assert fault.field == "readings_file" and limit in fault.limit and fault.remedy


def test_a_link_out_of_the_folder_is_not_followed(tmp_path: Path) -> None:
    home = tmp_path / "home"
    home.mkdir()
    (tmp_path / "outside.csv").write_text(HEADER)
    (home / "link.csv").symlink_to(tmp_path / "outside.csv")
    (fault,) = faults(home, HEADER, sheet="link.csv")
    assert "leads out of the folder" in fault.limit


@pytest.mark.parametrize(
    ("text", "limit"),
    [
        (HEADER + "\n" + "".join(f"r{i},height,a-left,,600,mm,,\n" for i in range(100_000)), "100000 readings; 10000 is the most"),
        (HEADER + "\n" + "".join(f"r{i},height,a-left,,x,mm,,\n" for i in range(100_000)), "100000 readings; 10000 is the most"),
        (HEADER + "\n" + "x" * 4_000_000, "is 4000000 characters long"),
        (HEADER + "\n" + '"' * 4_000_000, "is 4000000 characters long"),
        (HEADER + "\n" + (";" * 9_000 + "\n") * 400, "has 1 cells, and the header has 8"),
    ],
    ids=["rows", "faults", "a line", "quotes", "other marks"],
)
def test_a_siege_ends_soon(text: str, limit: str, tmp_path: Path) -> None:
    """In seconds, and in a bounded report."""
    began = time.monotonic()
    found = faults(tmp_path, text)
    assert limit in found[0].limit and len(found) <= 1001
    assert time.monotonic() - began < 20


def test_a_full_report_says_what_was_not_looked_at(tmp_path: Path) -> None:
    found = faults(tmp_path, HEADER + "\n" + "".join(f"r{i},height,a-left,,x,mm,,\n" for i in range(3000)))
    assert len(found) == 1001
    assert "has 1000 faults, and 2000 entries of lists that were not looked at" in found[-1].limit


def test_as_many_readings_as_are_read(tmp_path: Path) -> None:
    assert len(readings(tmp_path, *(f"r{i},height,a-left,,600,mm,," for i in range(MOST_READINGS)))) == MOST_READINGS


def test_a_sheet_is_among_the_inputs_with_its_checksum(tmp_path: Path) -> None:
    text = f"{HEADER}\nd,,{SPAN},3000,mm,,\n"
    files = read_frame_files(frame_file(tmp_path, text)).sources
    assert [(s.role, s.name) for s in files] == [("frame", "frame.toml"), ("readings", "readings.csv")]
    assert files[1].sha256 == hashlib.sha256(text.encode()).hexdigest()
    assert [s.role for s in read_job("demo:orchard-flatbed").sources] == ["job", "frame", "readings"]


def test_the_manifest_holds_it(tmp_path: Path, monkeypatch: pytest.MonkeyPatch, capsys: pytest.CaptureFixture[str]) -> None:
    monkeypatch.chdir(tmp_path)
    assert main(["demo", "--no-solids"]) in (0, 1)
    capsys.readouterr()
    inputs = json.loads((tmp_path / "ladderframe-orchard-flatbed" / "manifest.json").read_bytes())["inputs"]
    assert [(i["role"], i["name"]) for i in inputs][2:] == [("readings", "readings-orchard-flatbed.csv")]
