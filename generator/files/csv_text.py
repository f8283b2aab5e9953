"""A sheet of text, parted by commas, semicolons or tabs, into rows of cells. Knows columns by name, and nothing of what they mean.

Lines are parted one by one: a quotation mark that is not closed spoils its own line and no other. Empty lines, and lines that begin
with #, are left out.
"""

from __future__ import annotations

import csv
from collections.abc import Iterator, Mapping, Sequence
from dataclasses import dataclass

from generator.files.nearest import listed, nearest
from generator.files.report import Place, Report
from parts.errors import quoted

SEPARATORS = {",": "a comma", ";": "a semicolon", "\t": "a tab"}
LONGEST_LINE = 10_000  #: characters


@dataclass(frozen=True, kw_only=True)
class Row:
    """The cells of one line that hold something, by column."""

    line: int
    cells: Mapping[str, str]


@dataclass(frozen=True, kw_only=True)
class Sheet:
    """A sheet whose header was understood."""

    columns: tuple[str, ...]  #: "" for one without a name
    separator: str
    lines: tuple[tuple[int, str], ...]

    def rows(self, report: Report) -> Iterator[Row]:
        """Every row; one that cannot be parted goes into the report instead."""
        for number, line in self.lines:
            cells = _parted(line, self.separator, Place(where=f"line {number}"), report)
            if cells is None or not any(cells):
                continue
            if len(cells) != len(self.columns):  # a row cut short is refused too: with a decimal comma in it, it would fit
                limit = f"has {len(cells)} cells, and the header has {len(self.columns)}"
                remedy = f"{SEPARATORS[self.separator]} after each cell but the last, empty ones too; a decimal is written with a point"
                report.add(Place(where=f"line {number}"), "", value=f'"{quoted(line)}"', limit=limit, remedy=remedy)
                continue
            named = [(c, v) for c, v in zip(self.columns, cells, strict=True) if v]
            if lost := next((v for c, v in named if not c), None):
                remedy = "give the column a name in the header, or empty it"
                report.add(Place(where=f"line {number}"), "", value=f'"{quoted(lost)}"', limit="stands in no named column", remedy=remedy)
                continue
            yield Row(line=number, cells=dict(named))


def sheet_of(text: str, known: Sequence[str], required: Sequence[str], report: Report) -> Sheet | None:
    """The sheet, or None and why in the report.

    Args:
        known: the columns there may be, in any order.
        required: those of them that must be there.
    """
    every = enumerate(text.replace("\r\n", "\n").replace("\r", "\n").split("\n"), start=1)
    lines = [(n, line) for n, line in every if line.strip() and not line.lstrip(' "').startswith("#")]
    if not lines:
        report.add(Place(), "", limit="has no line of column names", remedy=", ".join(known))
        return None
    number, header = lines[0]
    place = Place(where=f"line {number}")
    separator = max(SEPARATORS, key=lambda mark: sum(cell.strip(' "').casefold() in known for cell in header.split(mark)))
    cells = _parted(header, separator, place, report)
    if cells is None:
        return None
    columns = tuple(cell.casefold() for cell in cells)
    if not _understood(columns, known, required, place, report):
        return None
    return Sheet(columns=columns, separator=separator, lines=tuple(lines[1:]))


def _understood(columns: Sequence[str], known: Sequence[str], required: Sequence[str], place: Place, report: Report) -> bool:
    if not any(column in known for column in columns):
        remedy = f"{', '.join(known)}, in any order; {', '.join(required)} must be there"
        shown = f'"{quoted(", ".join(columns))}"'
        report.add(place, "", value=shown, limit="the first line must name the columns", remedy=remedy)
        return False
    whole = True
    meant = set()
    for column in dict.fromkeys(c for c in columns if c and c not in known):
        near = nearest(column, [k for k in known if k not in columns])
        meant.add(near)
        remedy = f'did you mean "{near}"?' if near else f"known columns: {listed(known)}"
        report.add(place, quoted(column), limit="unknown column", remedy=remedy)
        whole = False
    for column in known:
        if columns.count(column) > 1:
            report.add(place, column, limit="two columns have this name", remedy="leave one of them out")
            whole = False
        elif column in required and column not in columns:
            whole = False
            if column not in meant:
                report.add(place, column, limit="the column is missing", remedy=f"a sheet has the columns {', '.join(required)} at least")
    return whole


def _parted(line: str, separator: str, place: Place, report: Report) -> list[str] | None:
    if len(line) > LONGEST_LINE:
        report.add(place, "", limit=f"is {len(line)} characters long; {LONGEST_LINE} is the most that is read")
        return None
    try:
        return [cell.strip() for cell in next(csv.reader([line], delimiter=separator, skipinitialspace=True, strict=True))]
    except (csv.Error, StopIteration):
        limit = "cannot be parted into cells: a quotation mark is not closed on its line, or text follows it"
        remedy = 'for inches write in or ft; a mark inside quotes is doubled: "3/16"""'
        report.add(place, "", value=f'"{quoted(line)}"', limit=limit, remedy=remedy)
        return None
