"""What a line of each bolt table holds. Sizes are in the unit that the table's `# units:` line names: mm or inches."""

from __future__ import annotations

from dataclasses import dataclass


@dataclass(frozen=True, kw_only=True)
class ClearanceRow:
    size: str
    fit: str
    hole: float
    sure: str


@dataclass(frozen=True, kw_only=True)
class ThreadRow:
    size: str
    pitch: float
    drill: float
    drill_name: str
    sure: str


@dataclass(frozen=True, kw_only=True)
class WasherRow:
    size: str
    series: str
    inside: float
    outside: float
    thickness: float
    sure: str


@dataclass(frozen=True, kw_only=True)
class HeadRow:
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
    text: str
    length: float
