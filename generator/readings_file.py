"""The sheet of readings beside a frame file: one reading a line, every fault with line, column, value, rule and remedy.

Read as the frame file's own `[[reading]]` tables are, by the same declaration. A line whose value is empty is a reading that was not
taken, as in a form filled in by half. Nothing is calculated: a cell that holds a formula is refused, and so is a comma in a number.
"""

from __future__ import annotations

import re
from collections.abc import Iterable
from dataclasses import dataclass, replace

from generator.files.build import Walk
from generator.files.csv_text import Row, sheet_of
from generator.files.nearest import nearest_hint
from generator.files.report import Place, Report
from generator.files.source import Source
from parts.errors import Fault, quoted
from parts.frame.instruments import instrument_names
from parts.frame.reading import Reading
from parts.units import MM_PER_UNIT, Units, Written

COLUMNS = ("name", "kind", "from", "to", "value", "unit", "accuracy", "with", "set", "note")
REQUIRED = ("name", "from", "value")
MOST_READINGS = 10_000
LAST = 10**9  #: a line after all others
#: A number whose unit stands elsewhere: 1450, 12.5, 5-1/2, 3/16.
BARE = re.compile(r"[+-]?(?:[0-9]+(?:\.[0-9]+)?|\.[0-9]+|(?:[0-9]+(?:-| +))?[0-9]+/[0-9]+)")
OWN_UNIT = re.compile(r"mm|cm|m|in|ft|[\"']")
MARKS = {'"': "in", "'": "ft"}
FORMULA = ("=", "@")
LINE = re.compile(r"line ([0-9]+)")
#: 3,000 is three thousand to one half of the world, and three to the other.
TWO_MEANINGS = re.compile(r"([+-]?[0-9]{1,3}),([0-9]{3})(?=\D*$)")


@dataclass(frozen=True, kw_only=True)
class Sheet:
    """The readings of a sheet whose rows have no fault, with the lines that they stand on; and the faults of the others, with the
    file's label."""

    label: str
    readings: tuple[Reading, ...] = ()
    lines: tuple[int, ...] = ()  #: of each reading
    faults: tuple[Fault, ...] = ()

    def told(self, faults: Iterable[Fault] = ()) -> list[Fault]:
        """The sheet's own faults and those that the frame found in its readings, with the file and the line, in the order of the lines."""
        own, line = [], 0
        for fault in self.faults:  # those without a line stay where they are: before all others, or behind
            found = LINE.match(fault.where)
            line = int(found[1]) if found else line
            own.append((line, fault))
        return [told for _, told in sorted([*own, *(self._told(f) for f in faults)], key=lambda pair: pair[0])]

    def _told(self, fault: Fault) -> tuple[int, Fault]:
        """Readings of two sets may share a name: the line that holds the value in question."""
        if not fault.where.startswith("reading "):
            return LAST, replace(fault, file=self.label)
        name = fault.where.removeprefix("reading ")
        own = [(line, reading) for line, reading in zip(self.lines, self.readings, strict=True) if reading.name == name]
        if fault.field == "name":  # a name that stands twice: its last line is one too many
            own.reverse()
        holds = [line for line, r in own if fault.value in (r.start, r.end, r.set)] or [line for line, _ in own]
        return (holds[0], replace(fault, file=self.label, where=f"line {holds[0]} ({name})")) if holds else (LAST, fault)


def read_sheet(source: Source, units: Units | None) -> Sheet:
    """The readings of a file, and every fault of it; a row with a fault has no reading.

    Args:
        units: what a number without a unit counts; None where that is not known.
    """
    report = Report()
    sheet = sheet_of(source.text, COLUMNS, REQUIRED, report)
    rows = [row for row in sheet.rows(report) if "value" in row.cells] if sheet is not None else []
    if len(rows) > MOST_READINGS:
        remedy = "survey a frame by some tens of points; part the rest into frame files of their own"
        report.add(Place(), "", limit=f"holds {len(rows)} readings; {MOST_READINGS} is the most that is read", remedy=remedy)
        rows = rows[:MOST_READINGS]
    walk = Walk(units, report)
    readings: list[tuple[int, Reading]] = []
    for number, row in enumerate(rows):
        if report.full:
            report.leave(len(rows) - number)
            break
        before = len(report.faults)
        reading = _reading(row, walk, units)
        if isinstance(reading, Reading) and len(report.faults) == before:
            readings.append((row.line, reading))
    return Sheet(
        label=source.label, readings=tuple(r for _, r in readings), lines=tuple(line for line, _ in readings),
        faults=tuple(f.in_file(source.label) for f in report.faults),
    )  # fmt: skip


def _reading(row: Row, walk: Walk, units: Units | None) -> object:
    """The reading of a row; what is wrong goes into the walk's report. Of a row with formulas only they are told."""
    place = Place(where=f"line {row.line} ({quoted(row.cells['name'], 40)})" if "name" in row.cells else f"line {row.line}")
    formulas = [(column, cell) for column, cell in row.cells.items() if cell.startswith(FORMULA)]
    for column, cell in formulas:
        _refuse(walk, place, column, cell, "is a formula, and nothing is calculated here", "write its value in its place")
    if formulas:
        return None
    raw: dict[str, object] = {column: cell for column, cell in row.cells.items() if column not in ("value", "unit", "accuracy")}
    value, unit, accuracy = (row.cells.get(column, "") for column in ("value", "unit", "accuracy"))
    if unit and unit not in MM_PER_UNIT:
        _refuse(walk, place, "unit", unit, "is not a unit of length", _unit_hint(unit))
    elif unit and _other_unit(value, unit):
        limit = f"has a unit of its own, and the column unit says {unit}"
        _refuse(walk, place, "value", value, limit, "leave one of the two out")
    elif two := TWO_MEANINGS.match(value):
        _refuse(walk, place, "value", value, COMMA, _comma_hint(two))
    else:
        raw["value"] = _length(value, unit or units)
    if accuracy and (unit in MM_PER_UNIT or not unit):
        _accuracy(accuracy, raw, unit or units, walk, place)
    # Where the value was refused here, another stands in for it, so that the rest of the row is judged.
    return walk.table(Reading, raw, place, ready={} if "value" in raw else {"value_mm": 1.0})


COMMA = "has a comma, which means two things: thousands or decimals"


def _comma_hint(two: re.Match[str]) -> str:
    decimals = two[2].rstrip("0") or "0"
    return f"write {two[1]}{two[2]} or {two[1]}.{decimals}"


def _unit_hint(unit: str) -> str:
    if unit[0].isnumeric():
        return "the rest of a value with a comma? A decimal is written with a point"
    return nearest_hint(unit, MM_PER_UNIT) or f"one of {', '.join(MM_PER_UNIT)}, or empty where the value has its own"


def _accuracy(given: str, raw: dict[str, object], unit: str | None, walk: Walk, place: Place) -> None:
    """A length, or what it was taken with."""
    instrument = next((name for name in instrument_names() if name.casefold() == given.casefold()), None)
    if instrument is None and (two := TWO_MEANINGS.match(given)):
        _refuse(walk, place, "accuracy", given, COMMA, _comma_hint(two))
    elif instrument is None and (given[0].isnumeric() or given[0] in "+-."):
        raw["accuracy"] = _length(given, unit)
    elif instrument is None:
        remedy = nearest_hint(given, instrument_names()) or f"a length, or one of {', '.join(instrument_names())}"
        _refuse(walk, place, "accuracy", given, "is neither a length nor an instrument", remedy)
    elif raw.get("with", instrument) != instrument:
        _refuse(walk, place, "accuracy", given, f'names one instrument, and the column with another: "{raw["with"]}"', "leave one out")
    else:
        raw["with"] = instrument


def _length(cell: str, unit: str | None) -> object:
    """As it would stand in the frame file, with the unit where it has none of its own; None: nobody knows it, and it is not judged."""
    if not BARE.fullmatch(cell):
        return cell
    return Written(cell) if unit is None else f"{cell} {unit}"


def _other_unit(cell: str, unit: str) -> bool:
    """Whether a value has units of its own, and not that one."""
    own = {MARKS.get(u, u) for u in OWN_UNIT.findall(cell)}
    return bool(own) and unit not in own


def _refuse(walk: Walk, place: Place, column: str, given: str, limit: str, remedy: str) -> None:
    walk.report.add(place, column, value=f'"{quoted(given)}"', limit=limit, remedy=remedy)
