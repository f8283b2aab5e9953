"""Ways in which one parameter can be changed, each a lane: changes in order of their size, the nearest to what was written first.

Lengths and angles move on a grid (0.1 mm or 1/64 in, 0.1 deg) so that what comes out can be written down and laid off. What comes in sizes
(bolts, plates, fillets) goes through the sizes of the tables. A word goes through the other words that its declaration allows.
"""

from __future__ import annotations

import math
import re
from collections.abc import Callable, Iterable, Iterator, Sequence
from dataclasses import dataclass, replace
from fractions import Fraction
from functools import cache
from typing import Any, Literal

from generator.adapt.fields import DROPPED, Edits, Spot, default_of
from parts.bolt_size import bolt_size
from parts.csv_table import read_table
from parts.errors import BadInput, Fault
from parts.hardware_rows import ClearanceRow
from parts.shop import Shop
from parts.spec import Position
from parts.units import MM_PER_IN, Gauge, Units, gauge_mm

FURTHEST = 0.64  #: of the value, or of the part's length for a place: a larger change is another part
FIRST = 0.005
TOLD_COST, WORD_COST, LEFT_OUT_COST, ENTRY_COST = 0.4, 0.5, 0.7, 0.9  #: as much as a change of a size by 40, 50, 70, 90 %
GRID: dict[Units, Fraction] = {"mm": Fraction(1, 10), "in": MM_PER_IN / 64}
GRID_DEG = Fraction(1, 10)
LEAST_SCALE = {"length": 10.0, "angle": 10.0}  #: what a value near 0 is held against, mm or degrees
#: Thicknesses that plate is stocked in, mm: common practice, no source.
PLATES_MM = (1.0, 1.5, 2.0, 2.5, 3.0, 4.0, 5.0, 6.0, 8.0, 10.0, 12.0, 15.0, 20.0, 25.0)
LEGS_MM = tuple(float(n) for n in range(3, 21))  #: fillets are told in whole mm
STOCK_KEYS = ("thickness", "leg", "fillet")
IN_MM = re.compile(r"(?<![\w.])(\d+(?:\.\d+)?)(?= mm\b)")

Kind = Literal["number", "size", "word", "left out", "entry"]


@dataclass(frozen=True, kw_only=True)
class Lane:
    """Changes of one parameter one way. `change(n)` for n = 1 to `length`; `cost(n)` grows with n."""

    spot: Spot
    kind: Kind
    length: int
    change: Callable[[int], Edits]
    cost: Callable[[int], float]
    probes: tuple[int, ...]  #: what is tried first, in order
    told: bool = False  #: a remedy names it

    @property
    def slides(self) -> bool:
        """Whether there is a nearest change between two probes."""
        return self.kind == "number"


@dataclass(frozen=True, kw_only=True)
class Ruler:
    """What changes of one part are measured by."""

    units: Units
    shop: Shop
    size_mm: float  #: the part's length: a place that moves by it has changed by 100 %


def lanes_of(spot: Spot, ruler: Ruler, faults: Sequence[Fault] = ()) -> Iterator[Lane]:
    """The lanes of one parameter; lengths that the faults name are among what is tried first."""
    spec, value = spot.spec, spot.value
    hints = tuple(float(n) for f in faults for n in IN_MM.findall(f"{f.limit}; {f.remedy}"))
    if spec.kind == "position" and isinstance(value, Position):
        yield from _place_lanes(spot, value, ruler, hints)
    elif spec.kind == "length" and value is not None:
        if spot.keys[-1] in STOCK_KEYS:
            yield from _size_lanes(spot, value, [v for v in _stock(spot, ruler) if _within(spot, v)])
        else:
            yield from _number_lanes(spot, value, GRID[ruler.units], LEAST_SCALE["length"], hints)
    elif spec.kind in ("angle", "number") and value is not None:
        yield from _number_lanes(spot, value, GRID_DEG, LEAST_SCALE["angle"], hints)
    elif spec.kind == "integer":
        low, high = spec.least or 0, spec.most if spec.most is not None else value + 3
        yield from _size_lanes(spot, value, [n for n in range(int(low), int(high) + 1) if abs(n - value) <= 3])
    elif spec.kind == "text" and value and "bolt" in str(spot.keys[-1]):
        yield from _bolt_lanes(spot, value)
    elif spec.kind == "choice" and value is not None:
        others = [c for c in spec.choices if c != value]
        told = _told(others, str(spot.keys[-1]), faults)
        yield _words(spot, told, told=True)
        yield _words(spot, [c for c in others if c not in told])
    elif spec.kind == "flag":
        yield _words(spot, [not value])


def left_out(spot: Spot) -> Lane | None:
    """The lane that takes it out of the file, where the file need not have it and its default is another."""
    if spot.spec.required or spot.spec.kind in ("tables", "variants", "names", "flag", "choice", "integer"):
        return None
    default = default_of(spot.entry, str(spot.path[-1]))
    if spot.value is None or spot.value == default:
        return None
    return _out(spot, "left out", LEFT_OUT_COST)


def _out(spot: Spot, kind: Kind, cost: float) -> Lane:
    return Lane(spot=spot, kind=kind, length=1, change=lambda n: {spot.path: DROPPED}, cost=lambda n: cost, probes=(1,))


def entries_out(spot: Spot) -> Iterator[Lane]:
    """For an array: each of its entries left out."""
    if spot.spec.kind not in ("tables", "names"):
        return
    for i, _ in enumerate(spot.value):
        yield _out(replace(spot, path=(*spot.path, i), keys=(*spot.keys, i), value=spot.value[i]), "entry", ENTRY_COST)


def _place_lanes(spot: Spot, value: Position, ruler: Ruler, hints: Sequence[float]) -> Iterator[Lane]:
    grid = GRID[ruler.units]
    old = value.offset_mm if value.at is not None else value.x_mm or 0.0
    reach = FURTHEST * ruler.size_mm

    def moved(to: float) -> Position:
        return replace(value, offset_mm=to) if value.at is not None else replace(value, x_mm=to)

    for sign in (1, -1):
        steps = Steps(old=old, sign=sign, grid=grid)
        yield _sliding(spot, steps, steps.count(old + sign * reach), moved, ruler.size_mm, hints)


def _number_lanes(spot: Spot, old: float, grid: Fraction, least: float, hints: Sequence[float]) -> Iterator[Lane]:
    scale = max(abs(old), least)
    for sign in (1, -1):
        end = old + sign * FURTHEST * scale
        limits = [v for v in (spot.spec.least, spot.spec.most) if v is not None and (v - old) * sign >= 0]
        steps = Steps(old=old, sign=sign, grid=grid)
        yield _sliding(spot, steps, steps.count(min([end, *limits], key=lambda v: abs(v - old))), lambda v: v, scale, hints)


@dataclass(frozen=True, kw_only=True)
class Steps:
    """The multiples of a grid from `old` on, one way."""

    old: float
    sign: int
    grid: Fraction

    @property
    def _first(self) -> int:
        at = Fraction(repr(self.old)) / self.grid
        return math.floor(at) + 1 if self.sign > 0 else -math.ceil(at) + 1

    def value(self, n: int) -> float:
        """The n-th multiple past `old`, n from 1."""
        return float(self.sign * (self._first + n - 1) * self.grid)

    def count(self, end: float) -> int:
        """How many of them lie up to `end`."""
        at = self.sign * Fraction(repr(end)) / self.grid
        return max(0, math.floor(at) - self._first + 1)

    def number(self, value: float) -> int:
        """The n of the first multiple that is `value` or past it."""
        at = self.sign * Fraction(repr(value)) / self.grid
        return math.ceil(at) - self._first + 1


def _sliding(spot: Spot, steps: Steps, length: int, made: Callable[[float], Any], scale: float, hints: Sequence[float]) -> Lane:
    def cost(n: int) -> float:
        return abs(steps.value(n) - steps.old) / scale

    told = {steps.number(v) for h in hints for v in (h, steps.old + steps.sign * h) if (v - steps.old) * steps.sign > 0}
    ladder = {steps.number(steps.old + steps.sign * scale * FIRST * 2**i) for i in range(9)}
    probes = sorted(n for n in {*told, *ladder, length} if 1 <= n <= length)
    return Lane(
        spot=spot, kind="number", length=length, change=lambda n: {spot.path: made(steps.value(n))}, cost=cost, probes=tuple(probes)
    )  # fmt: skip


def _size_lanes(spot: Spot, old: float, sizes: Iterable[float]) -> Iterator[Lane]:
    every = sorted(set(sizes))
    for row in ([s for s in reversed(every) if s < old], [s for s in every if s > old]):
        if row:
            yield _row_lane(spot, row, [abs(s - old) / max(abs(old), 1.0) for s in row])


def _row_lane(spot: Spot, row: Sequence[Any], costs: Sequence[float]) -> Lane:
    return Lane(
        spot=spot, kind="size", length=len(row), change=lambda n: {spot.path: row[n - 1]}, cost=lambda n: costs[n - 1],
        probes=tuple(range(1, len(row) + 1)),
    )  # fmt: skip


def _words(spot: Spot, words: Sequence[Any], *, told: bool = False) -> Lane:
    first = TOLD_COST if told else WORD_COST
    return Lane(
        spot=spot, kind="word", length=len(words), change=lambda n: {spot.path: words[n - 1]}, cost=lambda n: first + 0.01 * (n - 1),
        probes=tuple(range(1, len(words) + 1)), told=told,
    )  # fmt: skip


def _told(words: Sequence[str], key: str, faults: Sequence[Fault]) -> list[str]:
    """Those that a remedy names as `key = "word"`, or beside one that it names so, in its order."""
    out: dict[str, None] = {}
    for fault in faults:
        if (start := fault.remedy.find(f'{key} = "')) >= 0:
            text = fault.remedy[start:].partition(";")[0]
            out |= {w: None for w in sorted(words, key=text.find) if f'"{w}"' in text}
    return list(out)


def _bolt_lanes(spot: Spot, old: str) -> Iterator[Lane]:
    try:
        here = bolt_size(old)
    except BadInput:
        return
    metric = old.strip().upper().startswith("M")
    sizes = {name: bolt_size(name).diameter_mm for name in _bolt_names("metric" if metric else "inch")}
    for sign in (-1, 1):
        row = sorted((n for n, d in sizes.items() if (d - here.diameter_mm) * sign > 0), key=lambda n: sign * sizes[n])
        if row:
            yield _row_lane(spot, row, [abs(sizes[n] - here.diameter_mm) / here.diameter_mm for n in row])


@cache
def _bolt_names(system: str) -> tuple[str, ...]:
    return tuple(dict.fromkeys(row.size for row in read_table(f"clearance_{system}", ClearanceRow)))


def _stock(spot: Spot, ruler: Ruler) -> tuple[float, ...]:
    if spot.keys[-1] != "thickness":
        return LEGS_MM
    if rack := tuple(s.thickness_mm for s in ruler.shop.sheets if s.thickness_mm is not None):
        return rack
    if ruler.units == "in":
        return tuple(float(gauge_mm(row.gauge)) for row in read_table("gauge", Gauge)) + PLATES_MM
    return PLATES_MM


def _within(spot: Spot, value: float) -> bool:
    return (spot.spec.least or 0) <= value <= (spot.spec.most if spot.spec.most is not None else math.inf)
