"""Which readings, taken once more, would make a verdict of what lies on both sides of its limit."""

from __future__ import annotations

import math
from collections.abc import Sequence
from dataclasses import dataclass, replace
from typing import TYPE_CHECKING

import numpy as np

from generator.survey.equations import equations
from generator.survey.measures import DRAWN_MM, HANGS, NORMAL_95, Measure, Status, gradient_of, status_of
from generator.survey.network import Observation, ObservationKind
from generator.survey.proposal import candidates_for, proposal
from generator.survey.quantities import Quantity
from generator.survey.unknown import Wanted, direct, wanted
from generator.survey.words import by_word, worst

if TYPE_CHECKING:
    from numpy.typing import NDArray

    from generator.survey.adjust import Adjusted

MOST_AGAIN = 2  #: times more that one reading is taken: what is wrong with the way it is taken does not average out; our choice
WORTH = 0.98  #: a reading that leaves more of the uncertainty than this is not worth the way; our choice
MOST_MORE = 6  #: readings that somebody is sent back for, for one number; past that a finer way is wanted; our choice


@dataclass(frozen=True, kw_only=True)
class Better:
    """What more reading would do for one number. `status`: the verdict then, if the number stays as it is."""

    measure: Measure
    take: tuple[tuple[Wanted, int], ...]  #: reading, and how often more
    uncertainty_mm: float  #: with them
    status: Status

    def __str__(self) -> str:
        off, by, limit = (value or 0.0 for value in (self.measure.off_mm, self.measure.uncertainty_mm, self.measure.limit_mm))
        lead = f"{self.measure.word.capitalize()}, {self.measure.where}: {off:+.1f} mm give or take {by:.1f} mm, limit {limit:g} mm."
        if self.status == "cannot tell":
            more = sum(n for _, n in self.take)
            still = f": with {more} more it would be +/- {self.uncertainty_mm:.1f} mm" if more else ""
            return f"{lead} Readings like these do not settle it{still}. Read by a finer way."
        each = ", ".join(f"{one}{'' if n == 1 else f' ({n} times)'}" for one, n in self.take)
        then = f"+/- {self.uncertainty_mm:.1f} mm then, and {self.status} if the number stays"
        return f"{lead} Take once more: {each}; {then}."


def better(asked: Sequence[Quantity], measures: Sequence[Measure], adjusted: Adjusted) -> tuple[Better, ...]:
    """For each word, of the place that decides it, where that is on both sides of its limit.

    Args:
        asked, measures: in one order.
    """
    forms = {id(m): q for q, m in zip(asked, measures, strict=True)}
    open_ = (m for own in by_word(measures).values() if (m := worst(own)) is not None and m.status == "cannot tell")
    found = (_of(forms[id(m)], m, adjusted) for m in open_ if m.off_mm is not None and m.limit_mm and not m.why.startswith(HANGS))
    return tuple(b for b in found if b is not None)


def _of(quantity: Quantity, measure: Measure, adjusted: Adjusted) -> Better | None:
    """One reading after the other, each the one that helps most with those before it taken: no order of all of them is looked through."""
    off, limit = measure.off_mm, measure.limit_mm
    if off is None or limit is None:
        return None
    gradient = gradient_of(quantity.form, quantity.points, adjusted)
    free = adjusted.free.T @ gradient
    rest = float(np.linalg.norm(free)) * DRAWN_MM  # of what is drawn and not measured: no reading like these makes it less
    gradient = gradient - adjusted.free @ free
    candidates = _candidates(quantity, adjusted)
    now, sigma, taken = adjusted, measure.sigma_mm or 0.0, list[Observation]()
    status: Status = "cannot tell"
    while status == "cannot tell" and len(taken) < MOST_MORE:
        best = proposal(now, gradient, candidates)
        if best is None or best.sigma_mm is None or math.hypot(best.sigma_mm, rest) > WORTH * sigma:
            break
        now = replace(now, covariance=_with(now, best.observation))
        sigma = math.hypot(best.sigma_mm, rest)
        taken.append(best.observation)
        candidates = tuple(c for c in candidates if taken.count(c) < MOST_AGAIN)
        status = status_of(off, NORMAL_95 * sigma, limit)
    told = [wanted(o) for o in taken]
    return Better(
        measure=measure, take=tuple((one, told.count(one)) for one in dict.fromkeys(told)), uncertainty_mm=NORMAL_95 * sigma, status=status
    )  # fmt: skip


def _candidates(quantity: Quantity, adjusted: Adjusted) -> tuple[Observation, ...]:
    """Readings at the number's own points, those that were taken once more first; where none was, readings that touch them."""
    at = set(quantity.points)
    ends = [(o, {k for k in (o.start, o.end) if k}) for o in adjusted.network.observations]
    own = [o for o, there in ends if there <= at] or [o for o, there in ends if there & at]
    again = tuple(replace(o, name="") for o in own)
    new = [c for c in candidates_for(adjusted.network, own) if {k for k in (c.start, c.end) if k} <= at]
    return tuple(dict.fromkeys([*_direct(quantity, adjusted), *again, *new]))


def _direct(quantity: Quantity, adjusted: Adjusted) -> list[Observation]:
    """The readings that give the number by themselves, which may not have been taken; each as good as the best of its kind that was."""
    best: dict[str, float] = {}
    for o in adjusted.network.observations:
        best[o.kind] = min(o.sigma_mm, best.get(o.kind, o.sigma_mm))
    taken = {(o.kind, frozenset((o.start, o.end))) for o in adjusted.network.observations}
    equations_of: dict[str, ObservationKind] = {"distance": "distance", "height": "z", "offset": "y"}
    found = []
    for one in direct(quantity.word, quantity, {}, adjusted.coordinates):
        kind = equations_of[one.kind]
        if kind in best and (kind, frozenset((one.start, one.end))) not in taken:
            found.append(Observation(name="", kind=kind, start=one.start, end=one.end, value_mm=0.0, sigma_mm=best[kind]))
    return found


def _with(adjusted: Adjusted, one: Observation) -> NDArray[np.float64]:
    """(3n, 3n) covariance with one more reading like this: C - C a a' C / (1 + a' C a), a being its slopes over its sigma."""
    own = equations(adjusted.network, (one,))
    slope = own.slopes(adjusted.flat)[0] / own.sigma[0]
    across = adjusted.covariance @ slope
    out: NDArray[np.float64] = adjusted.covariance - np.outer(across, across) / (1.0 + float(slope @ across))
    return out
