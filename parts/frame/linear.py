"""A number that is known at some places along a rail: straight between them, constant past the first and the last."""

from __future__ import annotations

from collections.abc import Iterable
from dataclasses import dataclass
from itertools import groupby, pairwise

from parts.outline import Point


@dataclass(frozen=True, kw_only=True)
class Linear:
    """`knots`: (place in mm, value), places rising. Without any it is 0 everywhere."""

    knots: tuple[Point, ...] = ()

    @staticmethod
    def of(values: Iterable[Point]) -> Linear:
        """In any order; what is known twice at one place counts as its mean."""
        found = []
        for place, group in groupby(sorted(values), key=lambda p: p[0]):
            known = [v for _, v in group]
            found.append((place, sum(known) / len(known)))
        return Linear(knots=tuple(found))

    def at(self, place: float) -> float:
        knots = self.knots
        if not knots:
            return 0.0
        if place <= knots[0][0]:
            return knots[0][1]
        for (p, a), (q, b) in pairwise(knots):
            if place <= q:
                return a + (place - p) / (q - p) * (b - a)
        return knots[-1][1]

    def back(self, moved: float) -> float:
        """The place that `place + at(place)` brings to `moved`; the other way round of a shift that keeps the places' order."""
        knots = self.knots
        if not knots:
            return moved
        if moved <= knots[0][0] + knots[0][1]:
            return moved - knots[0][1]
        for (p, a), (q, b) in pairwise(knots):
            if moved <= q + b:
                return p + (moved - p - a) / (q + b - p - a) * (q - p)
        return moved - knots[-1][1]

    @property
    def places(self) -> tuple[float, ...]:
        return tuple(p for p, _ in self.knots)

    @property
    def known(self) -> bool:
        return bool(self.knots)
