"""Again, later: one survey against an earlier one of the same frame, in like states of support and load only."""

from __future__ import annotations

from collections.abc import Iterator
from dataclasses import dataclass, field
from functools import cached_property
from statistics import NormalDist
from typing import TYPE_CHECKING

from generator.survey.measures import NORMAL_95, Measure
from generator.survey.moved import FAMILY, Moved, Movement, moved
from generator.survey.stage import Survey
from generator.survey.states import Likeness, likeness
from generator.survey.words import by_word, worst
from parts.errors import Finding

if TYPE_CHECKING:
    from generator.show import Section

DRAWN_MM = 1.0  #: control points drawn further apart in two files are not the same; our choice
EXPANSION = 12e-6  #: of steel, a kelvin: EN 1993-1-1, 3.2.6
WARMER_K = 30.0
SHIMMED = (
    "shim first, then take the set that later ones are held against: anew after the shimming, before anything is tacked; where it is "
    "tacked, bring the tops back to where they were and read this set again"
)


@dataclass(frozen=True, kw_only=True)
class Change:
    """One number that is asked of the frame, before and now."""

    was: Measure
    now: Measure
    decides: bool  #: whether it is the place that decides its word now
    level: float  #: chance under which it has changed

    @property
    def by_mm(self) -> float | None:
        return None if self.was.off_mm is None or self.now.off_mm is None else self.now.off_mm - self.was.off_mm

    @property
    def within_mm(self) -> float | None:
        """95 %: both surveys' errors, root of the sum of their squares."""
        a, b = self.was.sigma_mm, self.now.sigma_mm
        return None if a is None or b is None else float(NORMAL_95 * (a * a + b * b) ** 0.5)

    @property
    def is_seen(self) -> bool:
        """Beyond what any of all the numbers shows by chance."""
        by, within = self.by_mm, self.within_mm
        if by is None or within is None:
            return False
        return abs(by) * NORMAL_95 > NormalDist().inv_cdf(1.0 - self.level / 2) * within


@dataclass(frozen=True, kw_only=True, eq=False)
class Later:
    """Two surveys of one frame.

    Attributes:
        alike: why they cannot be compared, if they cannot.
        by_datum: movements by the datum that both share, what is free fitted; None where nothing may be told.
        shape: movements after a best fit in every way: how the frame itself changed. None where `by_datum` is that already.
        numbers: each number that is asked of the frame, before and now, in the order of the words.
    """

    old: Survey
    new: Survey
    alike: Likeness
    by_datum: Moved | None = None
    shape: Moved | None = None
    numbers: tuple[Change, ...] = field(default=())

    @cached_property
    def moved(self) -> tuple[str, ...]:
        """The points that moved, by either look, in the order of the points."""
        looks = [look for look in (self.by_datum, self.shape) if look is not None]
        keys = dict.fromkeys(key for look in looks for key in look.points)
        return tuple(key for key in keys if any(key in look.moved for look in looks))

    @property
    def compared(self) -> bool:
        return self.by_datum is not None and bool(self.by_datum.points)

    def movement(self, key: str) -> Movement | None:
        """Of a point that moved, by the look that says so first."""
        looks = [look for look in (self.by_datum, self.shape) if look is not None]
        return next((look.points[key] for look in looks if key in look.moved), None)

    @cached_property
    def changed(self) -> tuple[Change, ...]:
        """The numbers that changed, where they may be compared: a width that closed may show where neither of its points does by itself."""
        return tuple(c for c in self.numbers if c.is_seen) if self.compared else ()

    @property
    def shown(self) -> tuple[Change, ...]:
        """Each word where it is decided now, and whatever changed besides."""
        return tuple(c for c in self.numbers if c.decides or c in self.changed)

    @cached_property
    def worse(self) -> tuple[Change, ...]:
        """Each word that was in, or could not be told, and is out now, at its worst place."""
        return tuple(c for c in self.numbers if c.decides and c.now.status == "out" and c.was.status != "out")

    @cached_property
    def findings(self) -> tuple[Finding, ...]:
        return tuple(_findings(self))

    @cached_property
    def sections(self) -> tuple[Section, ...]:
        from generator.survey.later_told import sections_of

        return sections_of(self)


def later(new: Survey, old: Survey) -> Later:
    """What changed from the old survey to the new one."""
    reasons = [f"set '{s.set_name}' has no readings" for s in (old, new) if s.adjusted is None]
    reasons += _drawn_alike(old, new)
    alike = likeness((old.frame, old.set_name, old.set), (new.frame, new.set_name, new.set))
    alike = Likeness(reasons=(*reasons, *alike.reasons), open=alike.open, shimmed=alike.shimmed and not reasons)
    if alike.reasons or old.adjusted is None or new.adjusted is None:
        return Later(old=old, new=new, alike=alike, numbers=_numbers(old, new, looks=1))
    one = moved(old.adjusted, new.adjusted, looks=2)
    if one.whole or not one.points:
        return Later(old=old, new=new, alike=alike, by_datum=one, numbers=_numbers(old, new, looks=2))
    by_datum = moved(old.adjusted, new.adjusted, looks=3)
    shape = moved(old.adjusted, new.adjusted, best_fit=True, looks=3)
    return Later(old=old, new=new, alike=alike, by_datum=by_datum, shape=shape, numbers=_numbers(old, new, looks=3))


def _drawn_alike(old: Survey, new: Survey) -> Iterator[str]:
    """Why two files are not of the same frame."""
    was, now = old.frame.control_coordinates, new.frame.control_coordinates
    shared = [key for key in now if key in was]
    if len(shared) < 3:
        yield f"the two have {len(shared)} control points in common: three are needed"
    far = [key for key in shared if max(abs(a - b) for a, b in zip(was[key], now[key], strict=True)) > DRAWN_MM]
    if far:
        some = ", ".join(far[:4]) + (" ..." if len(far) > 4 else "")
        yield f"{some} {'is' if len(far) == 1 else 'are'} drawn elsewhere in the other file: a movement must not come from the drawing"


def _numbers(old: Survey, new: Survey, *, looks: int) -> tuple[Change, ...]:
    """Each number that both were asked; `looks` is how many times the same surveys are looked at, each with its share of the 1 in 20."""
    before = {(m.word, m.where): m for m in old.measures if m.judged}
    words = by_word(m for m in new.measures if m.judged)
    deciding = {id(worst(own)) for own in words.values()}
    both = [(before[m.word, m.where], m) for own in words.values() for m in own if (m.word, m.where) in before]
    level = 1.0 - FAMILY ** (1.0 / (looks * max(1, len(both))))
    return tuple(Change(was=was, now=now, decides=id(now) in deciding, level=level) for was, now in both)


def _findings(told: Later) -> Iterator[Finding]:
    names = f"set '{told.new.set_name}' against '{told.old.set_name}'"
    if told.alike.reasons:
        yield Finding(
            code="frame-not-compared", level="note", where="frame", message=f"{names}: no movement is told: {told.alike.reasons[0]}",
            remedy=SHIMMED if told.alike.shimmed else "carry and load the frame as it was, and measure again",
        )  # fmt: skip
    elif not told.compared:
        yield Finding(
            code="frame-not-compared", level="note", where="frame",
            message=f"{names}: no movement is told: fewer than three points are wholly measured in both",
            remedy="`ladderframe survey FRAME --form` lists the readings to take",
        )  # fmt: skip
    for key in told.moved:
        movement = told.movement(key)
        assert movement is not None
        by = ", ".join(f"{a} {v:+.1f} mm" for a, v in zip("xyz", movement.by, strict=True))
        largest = max(movement.by, key=abs)
        yield Finding(
            code=f"frame-moved-{key}", level="warn", where="frame", message=f"{key} has moved, {names}: {by}", value=f"{largest:.1f} mm",
            remedy="stop, let it cool, read it again: see `ladderframe survey --against` for what then", source="",
        )  # fmt: skip
    for change in told.changed:
        yield Finding(
            code=f"frame-changed-{change.now.word.replace(' ', '-')}", level="warn", where="frame", value=f"{change.by_mm:.1f} mm",
            message=f"{change.now.word} has changed, {change.now.where}, {names}: {change.by_mm:+.1f} mm (+/- {change.within_mm:.1f} mm)",
            remedy="stop, let it cool, read it again: see `ladderframe survey --against` for what then",
        )  # fmt: skip
