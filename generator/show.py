"""What a result says: sections of tables and notes, each number with its unit. Terminal, JSON and CSV all come from here.

Numbers are held in the units of the program (mm, degrees, kg) and turned into the reader's units only when they are shown. In
inches, a column that is laid off with a tape gains a second one with the nearest 1/16 in and what is left over. Such a fraction is
always followed by ` in`: without it a spreadsheet would read 3/16 as the sixteenth of March.
"""

from __future__ import annotations

import csv
import io
import math
import re
import textwrap
from collections.abc import Sequence
from dataclasses import dataclass
from typing import Any

from generator.inches import told
from parts.units import MM_PER_IN, Units, shop_inches

MM_PER_INCH = float(MM_PER_IN)
KG_PER_POUND = 0.45359237  # exact: international yard and pound agreement of 1959
TAPE_HEADING = "nearest 1/16"
WIDTH = 110  #: of sentences on a terminal; tables take what they need, unless they are asked to be narrow
LEAST_WORDS = 16  #: letters that a narrow table leaves a column of text at least
INDENT = "    "  #: of a table below its title
TAPE_TEXT = re.compile(r"-?[0-9/-]+ in( \([+-][0-9.]+ mm\))?")

Cell = str | int | float | bool | None

#: unit held -> (unit shown in an inch job, what to divide by, further digits)
INCH_FORMS = {
    "mm": ("in", MM_PER_INCH, 1),
    "mm2": ("in2", MM_PER_INCH**2, 2),
    "mm3": ("in3", MM_PER_INCH**3, 3),
    "kg": ("lb", KG_PER_POUND, 0),
}


@dataclass(frozen=True, kw_only=True)
class Column:
    """One column. `unit` is what its numbers are held in: mm, mm2, mm3, deg, kg or "" for text and plain numbers."""

    name: str
    unit: str = ""
    digits: int = 3  #: after the point, when shown in the held unit
    tape: bool = False  #: laid off by hand: an inch job shows the nearest 1/16 in as well

    @property
    def heading(self) -> str:
        return f"{self.name} ({self.unit})" if self.unit else self.name


@dataclass(frozen=True, kw_only=True)
class Table:
    """Rows under columns. `name` is the stem of its CSV file."""

    name: str
    title: str
    columns: tuple[Column, ...]
    rows: tuple[tuple[Cell, ...], ...]
    empty: str = "none"  #: what stands in place of no rows


@dataclass(frozen=True, kw_only=True)
class Section:
    """One topic of a result."""

    title: str
    tables: tuple[Table, ...] = ()
    notes: tuple[str, ...] = ()


def in_units(table: Table, units: Units) -> Table:
    """The same table for a reader who works in `units`; mm leaves it as it is."""
    if units == "mm":
        return table
    columns: list[Column] = []
    for column in table.columns:
        unit, _, further = INCH_FORMS.get(column.unit, (column.unit, 1.0, 0))
        columns.append(Column(name=column.name, unit=unit, digits=column.digits + further))
        if column.tape:
            columns.append(Column(name=f"{column.name}, {TAPE_HEADING}"))
    rows = tuple(tuple(c for column, cell in zip(table.columns, row, strict=True) for c in _inch_cells(column, cell)) for row in table.rows)
    return Table(name=table.name, title=table.title, columns=tuple(columns), rows=rows, empty=table.empty)


def _inch_cells(column: Column, cell: Cell) -> tuple[Cell, ...]:
    number = isinstance(cell, int | float) and not isinstance(cell, bool)
    _, factor, _ = INCH_FORMS.get(column.unit, ("", 1.0, 0))
    shown: Cell = cell / factor if number and factor != 1.0 else cell  # type: ignore[operator]
    if isinstance(shown, str):
        shown = told(shown, "in")
    if not column.tape:
        return (shown,)
    return shown, shop_inches(cell) if number else ""  # type: ignore[arg-type]


def cell_text(cell: Cell, column: Column) -> str:
    """A cell as it is printed: fixed digits, no `-0.0`, nothing for what is not known."""
    if cell is None:
        return ""
    if isinstance(cell, bool):
        return "yes" if cell else "no"
    if isinstance(cell, float) or (column.unit and isinstance(cell, int)):
        if not math.isfinite(cell):
            raise ValueError(f"column {column.heading!r} holds {cell}, which is no number to show")
        text = f"{cell:.{column.digits}f}"
        return text.lstrip("-") if float(text) == 0 else text
    return str(cell)


def csv_text(table: Table, units: Units = "mm") -> str:
    """The table as a spreadsheet reads it: units in the headings, one record a line, no text that would run as a formula."""
    table = in_units(table, units)
    out = io.StringIO()
    writer = csv.writer(out, lineterminator="\n")
    writer.writerow([c.heading for c in table.columns])
    for row in table.rows:
        writer.writerow([_inert(cell_text(cell, c), cell) for cell, c in zip(row, table.columns, strict=True)])
    return out.getvalue()


def _inert(text: str, cell: Cell) -> str:
    runs = isinstance(cell, str) and text[:1] in ("=", "+", "-", "@", "\t", "\r") and not TAPE_TEXT.fullmatch(text)
    return f"'{text}" if runs else text


def csv_bytes(table: Table, units: Units = "mm") -> bytes:
    """`csv_text` in UTF-8, with the mark that spreadsheets need only where a letter outside ASCII asks for it."""
    text = csv_text(table, units)
    return text.encode("ascii") if text.isascii() else text.encode("utf-8-sig")


def table_lines(table: Table, units: Units = "mm", width: int | None = None) -> list[str]:
    """The table as aligned lines: numbers to the right, text to the left.

    Args:
        width: letters that a line may have: headings, then text, are broken between words where it has more, as far as that helps.
    """
    table = in_units(table, units)
    if not table.rows:
        return [table.empty]
    heads = [c.heading for c in table.columns]
    body = [[cell_text(cell, c) for cell, c in zip(row, table.columns, strict=True)] for row in table.rows]
    widths = [max(len(line[i]) for line in (heads, *body)) for i in range(len(heads))]
    right = [_is_numeric([row[i] for row in table.rows]) for i in range(len(heads))]
    if width is None or _total(widths) <= width:
        return [_laid(line, widths, right) for line in (heads, *body)]
    widths = _narrowed(heads, body, right, width)
    lines = [_laid(line, widths, right) for line in _broken(heads, widths, low=True)]
    return lines + [_laid(line, widths, right) for row in body for line in _broken(row, widths)]


def _total(widths: Sequence[int]) -> int:
    return sum(widths) + 2 * (len(widths) - 1)


def _narrowed(heads: Sequence[str], body: Sequence[Sequence[str]], right: Sequence[bool], width: int) -> list[int]:
    """Headings no wider than what stands under them; then text, where that adds the fewest lines; no word is cut."""
    words = [max(map(len, head.split()), default=0) for head in heads]
    widths = [max(word, *(len(row[i]) for row in body)) for i, word in enumerate(words)]
    least = [
        w if r else max(word, min(w, LEAST_WORDS), *(len(part) for row in body for part in row[i].split()))
        for i, (w, r, word) in enumerate(zip(widths, right, words, strict=True))
    ]
    while _total(widths) > width and (wide := [i for i in range(len(heads)) if widths[i] > least[i]]):
        added = {i: sum(len(_wrapped(row[i], widths[i] - 1)) - len(_wrapped(row[i], widths[i])) for row in body) for i in wide}
        widths[min(wide, key=lambda i: (added[i], -widths[i]))] -= 1
    while _total(widths) < width and (high := [i for i, head in enumerate(heads) if len(_wrapped(head, widths[i])) > 2]):
        widths[max(high, key=lambda i: len(_wrapped(heads[i], widths[i])))] += 1
    return widths


def _wrapped(text: str, width: int) -> list[str]:
    return textwrap.wrap(text, width, break_long_words=False, break_on_hyphens=False) if len(text) > width else [text]


def _broken(line: Sequence[str], widths: Sequence[int], *, low: bool = False) -> list[list[str]]:
    """The lines that a row takes; `low`: its last words stand in the last of them."""
    parts = [_wrapped(text, w) for text, w in zip(line, widths, strict=True)]
    high = max(map(len, parts))
    blanks = [[""] * (high - len(own)) for own in parts]
    columns = [[*blank, *own] if low else [*own, *blank] for own, blank in zip(parts, blanks, strict=True)]
    return [list(row) for row in zip(*columns, strict=True)]


def _is_numeric(cells: Sequence[Cell]) -> bool:
    return any(isinstance(c, int | float) for c in cells) and not any(isinstance(c, str) for c in cells)


def _laid(line: Sequence[str], widths: Sequence[int], right: Sequence[bool]) -> str:
    return "  ".join(t.rjust(w) if r else t.ljust(w) for t, w, r in zip(line, widths, right, strict=True)).rstrip()


def wrapped(text: str) -> list[str]:
    """A sentence for a terminal: indented by two, its further lines by four."""
    return textwrap.wrap(text, WIDTH, initial_indent="  ", subsequent_indent="    ", break_long_words=False, break_on_hyphens=False)


def text_lines(sections: Sequence[Section], units: Units = "mm", *, narrow: bool = False) -> list[str]:
    """Sections for a terminal: a title, then tables, then notes, with an empty line between sections.

    Args:
        narrow: tables too keep within the width of a sentence, and break their headings and texts for it.
    """
    lines: list[str] = []
    for section in sections:
        if lines:
            lines.append("")
        lines.append(section.title)
        for table in section.tables:
            if table.title:
                lines += wrapped(table.title) if narrow else [f"  {table.title}"]
            lines += [f"{INDENT}{line}" for line in table_lines(table, units, WIDTH - len(INDENT) if narrow else None)]
        lines += [line for note in section.notes for line in wrapped(told(note, units))]
    return lines


def json_value(sections: Sequence[Section]) -> list[dict[str, Any]]:
    """Sections for a program: numbers as held (mm, degrees, kg), the unit beside each column's name."""
    return [
        {
            "title": s.title,
            "tables": [
                {
                    "name": t.name,
                    "title": t.title,
                    "columns": [{"name": c.name, "unit": c.unit} for c in t.columns],
                    "rows": [list(row) for row in t.rows],
                }
                for t in s.tables
            ],
            "notes": list(s.notes),
        }
        for s in sections
    ]
