"""Reads the tables in `parts/tables`: one CSV a table, typed by the dataclass of its rows.

A table begins with three comment lines, each once: `# source:` (standard, table, page, or "from memory"), `# units:` and
`# covers:` (what can be looked up, in words that go into messages). More comment lines may follow. Then a header of column names,
which are the field names of the row's dataclass in their order, and the rows. Numbers are plain decimals with a point: no
exponent, no thousands mark, no sign but a leading minus. An empty cell means "not known" and is allowed only where the field's
type includes None.
"""

from __future__ import annotations

import csv
import dataclasses
import re
import types
import typing
from collections.abc import Iterator
from dataclasses import dataclass
from functools import cache
from pathlib import Path
from typing import Any, Generic, TypeVar

TABLES = Path(__file__).resolve().parent / "tables"
NUMBER = re.compile(r"-?(0|[1-9]\d*)(\.\d+)?")
COMMENTS = ("source", "units", "covers")

Row = TypeVar("Row")
Column = tuple[str, type[Any], bool]  # name, type, may be empty


class TableFault(ValueError):
    """A table of the project itself is not well formed. Never the user's doing."""


@dataclass(frozen=True, kw_only=True)
class Table(Generic[Row]):
    """The rows of one table, in the order of the file, and what it says about itself."""

    name: str
    source: str
    units: str
    covers: str
    rows: tuple[Row, ...]

    def __iter__(self) -> Iterator[Row]:
        return iter(self.rows)

    def __len__(self) -> int:
        return len(self.rows)


def read_table(name: str, row: type[Row]) -> Table[Row]:
    """The table `parts/tables/<name>.csv` with one `row` a line. Read once, then kept.

    Args:
        name: file name without `.csv`.
        row: a keyword dataclass whose fields are str, int or float, or one of them `| None`.

    Raises:
        TableFault: file, line and cell that break the format.
    """
    hashable: Any = row
    table: Table[Row] = _read(name, hashable)
    return table


@cache
def _read(name: str, row: type[Any]) -> Table[Any]:  # apart, as `cache` forgets what kind of row went in
    return parse_table(name, (TABLES / f"{name}.csv").read_text(encoding="utf-8"), row)


def parse_table(name: str, text: str, row: type[Row]) -> Table[Row]:
    """The same from text, for a table that lies elsewhere."""
    columns = _columns(row)
    comments: dict[str, str] = {}
    lines: list[tuple[int, str]] = []
    for number, line in enumerate(text.splitlines(), start=1):
        if line.startswith("#"):
            key, _, value = line[1:].partition(":")
            if key.strip() in COMMENTS:
                if lines or key.strip() in comments:
                    raise TableFault(f"{name}.csv line {number}: '# {key.strip()}:' stands once, above the header")
                comments[key.strip()] = value.strip()
        elif line.strip():
            lines.append((number, line))
    missing = [c for c in COMMENTS if not comments.get(c)]
    if missing or not lines:
        raise TableFault(f"{name}.csv: no " + ", ".join([f"'# {c}:'" for c in missing] or ["header"]))
    header = [c.strip() for c in next(csv.reader([lines[0][1]]))]
    if header != [c[0] for c in columns]:
        raise TableFault(f"{name}.csv line {lines[0][0]}: columns {header}, expected {[c[0] for c in columns]}")
    rows = tuple(_row(f"{name}.csv line {number}", line, columns, row) for number, line in lines[1:])
    if not rows:
        raise TableFault(f"{name}.csv: no rows")
    return Table(name=name, rows=rows, **comments)


def _columns(row: type[Any]) -> tuple[Column, ...]:
    hints = typing.get_type_hints(row)
    return tuple(_column(f.name, hints[f.name]) for f in dataclasses.fields(row))


def _column(name: str, hint: Any) -> Column:
    parts = typing.get_args(hint) if isinstance(hint, types.UnionType) else (hint,)
    plain = [p for p in parts if p is not type(None)]
    if len(plain) != 1 or plain[0] not in (str, int, float):
        raise TableFault(f"column {name}: {hint} is not str, int or float")
    return name, plain[0], len(parts) > 1


def _row(place: str, line: str, columns: tuple[Column, ...], row: type[Row]) -> Row:
    cells = [c.strip() for c in next(csv.reader([line], strict=True))]
    if len(cells) != len(columns):
        raise TableFault(f"{place}: {len(cells)} cells, {len(columns)} columns")
    pairs = zip(cells, columns, strict=True)
    return row(**{column[0]: _cell(place, cell, column) for cell, column in pairs})


def _cell(place: str, cell: str, column: Column) -> str | float | int | None:
    name, kind, optional = column
    if not cell:
        if not optional:
            raise TableFault(f"{place}: {name} is empty")
        return None
    if kind is str:
        return cell
    if not NUMBER.fullmatch(cell) or (kind is int and "." in cell):
        raise TableFault(f"{place}: {name} {cell!r} is not a plain {'integer' if kind is int else 'decimal'}")
    return int(cell) if kind is int else float(cell)
