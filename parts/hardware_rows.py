"""What a line of each bolt table holds. Sizes are in the unit that the table's `# units:` line names: mm or inches."""

from __future__ import annotations

from dataclasses import dataclass


@dataclass(frozen=True, kw_only=True)
class ClearanceRow:
    """One row of a table of clearance holes."""

    size: str
    fit: str
    hole: float
    sure: str


@dataclass(frozen=True, kw_only=True)
class ThreadRow:
    """One row of a table of threads and tap drills."""

    size: str
    pitch: float
    drill: float
    drill_name: str
    sure: str


@dataclass(frozen=True, kw_only=True)
class WasherRow:
    """One row of a table of washers."""

    size: str
    series: str
    inside: float
    outside: float
    thickness: float
    sure: str


@dataclass(frozen=True, kw_only=True)
class HeadRow:
    """One row of a table of heads and nuts."""

    size: str
    bolt_flats: float
    head_height: float
    nut_flats: float
    nut_height: float
    shortest: float
    partly_from: float | None  #: the shortest that is not threaded to the head
    longest: float
    sure: str


@dataclass(frozen=True, kw_only=True)
class LengthRow:
    """One row of a table of bolt lengths."""

    text: str
    length: float
