"""What a reading is taken with, and how far off it may then be: the instrument's class by length, and reading and aiming on top."""

from __future__ import annotations

import math
from dataclasses import dataclass
from functools import cache

from parts.csv_table import Table, read_table

MM_PER_M = 1000.0


@dataclass(frozen=True, kw_only=True)
class InstrumentRow:
    """One row of the table: an instrument up to a length. See `parts/tables/instruments.csv`."""

    name: str
    up_to_m: float | None  #: None: any length
    fixed_mm: float
    per_m_mm: float  #: for each metre, begun ones too
    aiming_mm: float  #: both ends together
    covers: str
    sure: str


def table() -> Table[InstrumentRow]:
    return read_table("instruments", InstrumentRow)


@cache
def instrument_names() -> tuple[str, ...]:
    """Every instrument that there is a row of, in the order of the table."""
    return tuple(dict.fromkeys(row.name for row in table()))


def scale_mm(instrument: str, length_mm: float) -> float:
    """How far off the instrument itself may be at that length."""
    metres = abs(length_mm) / MM_PER_M
    row = _row(instrument, metres)
    return row.fixed_mm + row.per_m_mm * math.ceil(round(metres, 9))  # 3000 mm is 3 m, not 4, whatever the binary digits say


def bound_mm(instrument: str, length_mm: float) -> float:
    """How far off a reading of that length may be, 95 times in 100: root of the sum of squares of the instrument's and of aiming.

    Args:
        instrument: one of `instrument_names`.
        length_mm: as read; its sign does not matter. Past the last row that row goes on.
    """
    return math.hypot(scale_mm(instrument, length_mm), _row(instrument, abs(length_mm) / MM_PER_M).aiming_mm)


def _row(instrument: str, metres: float) -> InstrumentRow:
    rows = [row for row in table() if row.name == instrument]
    return next((r for r in rows if r.up_to_m is None or metres <= r.up_to_m), rows[-1])
