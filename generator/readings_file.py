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


@dataclass(frozen=True, kw_only=True)
class Sheet:
    """The readings of a sheet, with the lines that they stand on; and its faults, with the file's label."""

    label: str
    readings: tuple[Reading, ...] = ()
    lines: tuple[int, ...] = ()  #: of each reading
    faults: tuple[Fault, ...] = ()

    def told(self, faults: Iterable[Fault]) -> list[Fault]:
        """Faults that the frame found in these readings, with the file and the line, in the order of the lines."""
        return [told for _, told in sorted((self._told(f) for f in faults), key=lambda pair: pair[0])]

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
    """The readings of a file, or every fault of it.

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
    readings = []
    for number, row in enumerate(rows):
        if report.full:
            report.leave(len(rows) - number)
            break
        readings.append(_reading(row, walk, units))
    if faults := report.faults:
        return Sheet(label=source.label, faults=tuple(f.in_file(source.label) for f in faults))
    return Sheet(label=source.label, readings=tuple(r for r in readings if isinstance(r, Reading)), lines=tuple(r.line for r in rows))


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
    else:
        raw["value"] = _length(value, unit or units)
    if accuracy and (unit in MM_PER_UNIT or not unit):
        _accuracy(accuracy, raw, unit or units, walk, place)
    # Where the value was refused here, another stands in for it, so that the rest of the row is judged.
    return walk.table(Reading, raw, place, ready={} if "value" in raw else {"value_mm": 1.0})


def _unit_hint(unit: str) -> str:
    if unit[0].isnumeric():
        return "the rest of a value with a comma? A decimal is written with a point"
    return nearest_hint(unit, MM_PER_UNIT) or f"one of {', '.join(MM_PER_UNIT)}, or empty where the value has its own"


def _accuracy(given: str, raw: dict[str, object], unit: str | None, walk: Walk, place: Place) -> None:
    """A length, or what it was taken with."""
    instrument = next((name for name in instrument_names() if name.casefold() == given.casefold()), None)
    if instrument is None and (given[0].isnumeric() or given[0] in "+-."):
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
