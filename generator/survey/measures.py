"""A measure: one of the trade's words at one place, with its number, how far off that may be, its limit and the verdict."""

from __future__ import annotations

import math
from collections.abc import Mapping, Sequence
from dataclasses import dataclass, replace
from typing import TYPE_CHECKING, Literal

import numpy as np

from generator.survey.limits import Limit, Word
from generator.survey.pairs import Bay, Points
from generator.survey.quantities import Form, Quantity
from parts.errors import Level
from parts.sheet import Vec3

if TYPE_CHECKING:
    from numpy.typing import NDArray

    from generator.survey.adjust import Adjusted

Status = Literal["in", "out", "cannot tell"]
NORMAL_95 = 1.96  #: two-sided 95 % of a normal distribution, to the digits it is quoted with
SEEN = 3.0  #: sigmas, two-sided 99.73 %
LOOSE_SHARE = 0.05  #: mm by which a number may change for each mm that something nobody measured is moved; our choice
ROUGHEST_MM = 25.0  #: what is known no better than this is not told: a tape that runs uphill tells so much of a height; our choice
DRAWN_MM = 10.0  #: standard deviation of the frame as drawn, where nothing was measured; common practice, no source
NO_REST = "the readings contradict each other so far that no shape fits them"
HANGS = "hangs on"  #: how the reason begins where readings that are not believed decide
STEP_MM = 0.01  #: of the central difference: its error is about (STEP / 1000 mm)^2 of a gradient of order 1


@dataclass(frozen=True, kw_only=True)
class Measure:
    """One word at one place. What is judged is what was measured less what is drawn."""

    word: Word
    where: str
    value_mm: float | None  #: as measured; None: the readings do not tell
    drawn_mm: float
    sigma_mm: float | None  #: standard deviation, of as many times the readings' own as they disagree; None as `value_mm`
    limit_mm: float | None
    source: str  #: of the limit, or why there is none
    status: Status
    why: str = ""  #: of what cannot be told
    level: Level = "warn"  #: of being out
    degrees: float | None = None  #: of twist: as an angle, drawn angle taken off
    points: tuple[str, ...] = ()
    bay: Bay | None = None
    judged: bool = True
    rests_on: tuple[str, ...] = ()  #: readings that a verdict rests on and that no other one checks

    @property
    def off_mm(self) -> float | None:
        return None if self.value_mm is None else self.value_mm - self.drawn_mm

    @property
    def uncertainty_mm(self) -> float | None:
        """95 %: the true value lies within so much of it, the readings being as good as is said of them."""
        return None if self.sigma_mm is None else NORMAL_95 * self.sigma_mm

    @property
    def is_seen(self) -> bool:
        """Whether it is off by more than the readings' error makes it look, once in 370 times: a frame is asked in many places."""
        off, sigma = self.off_mm, self.sigma_mm
        return off is not None and sigma is not None and abs(off) > SEEN * sigma


def status_of(off_mm: float, uncertainty_mm: float, limit_mm: float) -> Status:
    """In: also with the whole uncertainty on top. Out: also with it taken off. Else nobody can tell."""
    if abs(off_mm) + uncertainty_mm <= limit_mm:
        return "in"
    return "out" if abs(off_mm) - uncertainty_mm > limit_mm else "cannot tell"


def measured(asked: Sequence[Quantity], drawn: Points, adjusted: Adjusted) -> tuple[Measure, ...]:
    """Each quantity on the adjusted points. Nothing is drawn at random: the uncertainty goes through the gradient and the covariance."""
    return tuple(_measure(quantity, drawn, adjusted) for quantity in asked)


def _measure(quantity: Quantity, drawn: Points, adjusted: Adjusted) -> Measure:
    as_drawn, limit = quantity.of(drawn), quantity.limit
    sigma = sigma_of(quantity.form, quantity.points, adjusted)
    bare = Measure(
        word=quantity.word, where=quantity.where, value_mm=None, drawn_mm=as_drawn, sigma_mm=None, limit_mm=limit.mm, source=limit.source,
        status="cannot tell", why="the readings do not tell", level=limit.level, points=quantity.points, bay=quantity.bay,
        judged=quantity.judged,
    )  # fmt: skip
    if sigma is None:
        return bare
    value = quantity.of(adjusted.coordinates)
    degrees = None
    if quantity.degrees is not None:
        degrees = quantity.degrees([adjusted.coordinates[k] for k in quantity.points]) - quantity.degrees(
            [drawn[k] for k in quantity.points]
        )
    found = replace(bare, value_mm=value, sigma_mm=sigma, degrees=degrees)
    status, why = _verdict(value - as_drawn, NORMAL_95 * sigma, limit)
    return replace(found, status=status, why=why)


def _verdict(off: float, by: float, limit: Limit) -> tuple[Status, str]:
    if limit.mm is None:
        return "cannot tell", f"no limit: {limit.source}"
    status = status_of(off, by, limit.mm)
    why = ""
    if status == "cannot tell":
        why = f"{abs(off):.1f} mm give or take {by:.1f} mm is on both sides of the limit"
        if by > limit.mm:
            why = f"the readings are too rough: +/- {by:.1f} mm is more than the limit"
    return status, why


def sigma_of(form: Form, points: Sequence[str], adjusted: Adjusted) -> float | None:
    """Standard deviation of a function of points, as wide as the readings disagree; None where they do not determine it.

    What the readings leave free stays as drawn. A function that hangs on that by no more than a twentieth (a twist's width, where only
    heights were read) is told, with what the drawing may be off counted in; anything that hangs on it more is not.
    """
    gradient = gradient_of(form, points, adjusted)
    free = adjusted.free.T @ gradient
    share = float(np.linalg.norm(free))
    if share > LOOSE_SHARE:
        return None
    sigma = adjusted.sigma(gradient - adjusted.free @ free)
    if sigma is None or sigma > ROUGHEST_MM:
        return None
    return math.hypot(sigma, share * DRAWN_MM)


def gradient_of(form: Form, points: Sequence[str], adjusted: Adjusted) -> NDArray[np.float64]:
    """(3n,) by central differences at the adjusted points, in the order of the network's coordinates."""
    order = _order(adjusted)
    gradient = np.zeros(3 * len(order))
    here: list[Vec3] = [adjusted.coordinates[key] for key in points]
    for i, key in enumerate(points):
        x, y, z = here[i]
        for axis in range(3):
            ends = []
            for step in (-STEP_MM, STEP_MM):
                moved = [x, y, z]
                moved[axis] += step
                ends.append(form([*here[:i], (moved[0], moved[1], moved[2]), *here[i + 1 :]]))
            gradient[3 * order[key] + axis] += (ends[1] - ends[0]) / (2 * STEP_MM)
    return gradient


def _order(adjusted: Adjusted) -> Mapping[str, int]:
    return {key: i for i, key in enumerate(adjusted.network.points)}


def resting_on(measure: Measure, unchecked: tuple[str, ...]) -> Measure:
    """A verdict that rests on readings which no other one checks says so."""
    if not unchecked or measure.sigma_mm is None:
        return measure
    if measure.status == "cannot tell":
        return replace(measure, rests_on=unchecked)
    several = len(unchecked) > 1
    why = f"if {', '.join(unchecked)} {'are' if several else 'is'} right: no other reading checks {'them' if several else 'it'}"
    return replace(measure, rests_on=unchecked, why=why)


def hanging_on(believed: Measure, whole: Measure, names: str) -> Measure:
    """A verdict without the suspect readings, where they would have it otherwise: nobody can tell before they are taken again.

    With them it is judged by the same uncertainty: that they disagree with the others must not hide what they say.
    """
    if believed.sigma_mm is None:
        return replace(believed, why=f"{HANGS} {names}: take it again") if whole.sigma_mm is not None else believed
    off, by = whole.off_mm, believed.uncertainty_mm
    if believed.limit_mm is None or believed.status == "cannot tell" or off is None or by is None:
        return believed
    status = status_of(off, by, believed.limit_mm)
    if status == believed.status:
        return believed
    why = f"{HANGS} {names}: {believed.status} without it, {status} with it; take it again"
    return replace(believed, status="cannot tell", why=why)
