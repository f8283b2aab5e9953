"""The bay in which a twist grows, where heights at every crossmember say so."""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass

from generator.survey.measures import Measure
from generator.survey.pairs import Bay
from parts.frame.crossmember import PlacedCrossmember

AT_MM = 150.0  #: a pair so near to a crossmember's middle, along the vehicle, is at it; our choice


@dataclass(frozen=True, kw_only=True)
class Growth:
    """How much twist one bay adds, and the crossmembers inside it at which no height was read."""

    bay: Bay
    by_mm: float
    uncertainty_mm: float
    inside: tuple[str, ...]

    def __str__(self) -> str:
        grown = f"{self.by_mm:+.1f} mm (+/- {self.uncertainty_mm:.1f} mm)"
        if not self.inside:
            return f"The twist grows in the bay {self.bay.name}, by {grown}."
        at = ", ".join(self.inside)
        return (
            f"The twist grows by {grown} somewhere from {self.bay.name}; in which bay cannot be told: no heights at {at}. "
            "Put a pair of control points there and read their heights."
        )


def grown(steps: Sequence[Measure], crossmembers: Sequence[PlacedCrossmember]) -> tuple[Growth, ...]:
    """The bays whose own twist is more than the readings may be off, largest first."""
    found = []
    for step in steps:
        off, by = step.off_mm, step.uncertainty_mm
        if step.bay is None or off is None or by is None or not step.is_seen:
            continue
        x0, x1 = step.bay.front.x_mm + AT_MM, step.bay.rear.x_mm - AT_MM
        inside = tuple(c.name for c in crossmembers if x0 < c.x_mm < x1)
        found.append(Growth(bay=step.bay, by_mm=off, uncertainty_mm=by, inside=inside))
    return tuple(sorted(found, key=lambda g: -abs(g.by_mm)))
