"""Which of the free places along a flange get a stop, and how far apart they then are."""

from __future__ import annotations

import math
from collections import Counter
from collections.abc import Callable, Iterable, Iterator, Mapping, Sequence
from dataclasses import dataclass
from itertools import pairwise
from typing import Literal

Edge = Literal["lower", "upper"]
Cost = tuple[float, int, float]  #: (in excess of the most asked for, number of stops, sum of the gaps' squares: least where they are even)
NEVER: Cost = (math.inf, 0, 0.0)
FINENESS = 60  #: places looked at over the most that two may stand apart; the ends of every free stretch besides
SLACK_MM = 1e-6


def spread(places_mm: Sequence[float], most_mm: float, least_mm: float, clear: Callable[[int, int], bool]) -> list[int]:
    """Numbers of the places that are taken: the first, the last, and between them as few as keep all gaps to the most, evenly.

    Where that cannot be, the gaps are as little over it as the places allow; where there is no room for two, the one in the middle.

    Args:
        places_mm: ascending.
        most_mm: from one to the next.
        least_mm: from one to the next, always kept.
        clear: whether two places, by their numbers, may both be taken.
    """
    if not places_mm:
        return []
    first, last = places_mm[0], places_mm[-1]
    if last - first < least_mm - SLACK_MM:
        return [min(range(len(places_mm)), key=lambda k: abs(places_mm[k] - (first + last) / 2))]
    kept = _thinned(places_mm, most_mm)
    at_mm = [places_mm[k] for k in kept]
    best: list[Cost] = [(0.0, 1, 0.0), *[NEVER] * (len(kept) - 1)]
    before = [-1] * len(kept)
    for j in range(1, len(kept)):
        for i in _candidates(at_mm, j, most_mm, least_mm):
            gap = at_mm[j] - at_mm[i]
            over, count, squares = best[i]
            cost = (round(over + max(0.0, gap - most_mm), 6), count + 1, squares + gap * gap)
            if cost < best[j] and clear(kept[i], kept[j]):
                best[j], before[j] = cost, i
    at = max(j for j in range(len(kept)) if best[j] < NEVER)
    out: list[int] = []
    while at >= 0:
        out.append(kept[at])
        at = before[at]
    return out[::-1]


def _thinned(places_mm: Sequence[float], most_mm: float) -> list[int]:
    """Where there are many close together not all are tried; ends of free stretches always are."""
    steps = [b - a for a, b in pairwise(places_mm)]
    fine = min(steps) + SLACK_MM
    every = max(1, int(most_mm / (FINENESS * fine)))
    last = len(places_mm) - 1
    return [k for k in range(last + 1) if k % every == 0 or k in (0, last) or steps[k - 1] > fine or steps[k] > fine]


def _candidates(at_mm: Sequence[float], j: int, most_mm: float, least_mm: float) -> Iterator[int]:
    """Which may come before number j: all within the most, the nearest beyond it with those that it might be too near to, the first."""
    nearest: float | None = None
    for i in range(j - 1, -1, -1):
        gap = at_mm[j] - at_mm[i]
        if gap < least_mm - SLACK_MM:
            continue
        if gap > most_mm + SLACK_MM:
            nearest = at_mm[i] if nearest is None else nearest
            if nearest - at_mm[i] > least_mm + SLACK_MM:
                yield 0
                return
        yield i


@dataclass(frozen=True, kw_only=True)
class Gap:
    """A stretch of a flange without a stop, from one to the next or to the plate's end, on the tape."""

    low_mm: float
    high_mm: float
    low_is_end: bool = False
    high_is_end: bool = False

    @property
    def wide_mm(self) -> float:
        return self.high_mm - self.low_mm


def gaps(ends_mm: tuple[float, float], stops_mm: Iterable[float]) -> list[Gap]:
    """Between the plate's ends on a flange: all stretches from end to stop, from stop to stop, from stop to end."""
    at = [ends_mm[0], *sorted(stops_mm), ends_mm[1]]
    last = len(at) - 2
    return [Gap(low_mm=a, high_mm=b, low_is_end=k == 0, high_is_end=k == last) for k, (a, b) in enumerate(pairwise(at))]


def in_way(gap: Gap, reasons: Mapping[float, str], least_mm: float) -> str:
    """What is most often in the way at the places that were tried in a gap; none where all that were free are too near to its ends."""
    low = gap.low_mm if gap.low_is_end else gap.low_mm + least_mm
    high = gap.high_mm if gap.high_is_end else gap.high_mm - least_mm
    found = Counter(why for tape, why in reasons.items() if low - SLACK_MM <= tape <= high + SLACK_MM)
    return found.most_common(1)[0][0] if found else ""
