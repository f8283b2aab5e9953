"""A rail's section as it was measured at some places: how much it differs there from the drawing, straight between the places."""

from __future__ import annotations

from collections.abc import Iterable, Sequence
from dataclasses import dataclass
from typing import TYPE_CHECKING

from parts.frame.linear import Linear
from parts.frame.profile import Profile
from parts.frame.section import Section

if TYPE_CHECKING:
    from parts.frame.measured import SectionReading


@dataclass(frozen=True, kw_only=True)
class FoundSection:
    """Each over s as found, as measured less as drawn; nothing known: 0.

    The opening between the flanges is known at the web and at the toes; between them it is straight. What was not read follows from what
    was: at the web from the depth, at the toes from the web's and how far each toe stands away. By how much the opening is wider at the
    toes than what was read of both toes accounts for, is shared by those that were not read, else by both.
    """

    deeper: Linear = Linear()
    at_web: Linear = Linear()  #: opening against the web
    at_toe: Linear = Linear()
    upper_away: Linear = Linear()  #: upper toe off square to the web, + away from the section's inside
    lower_away: Linear = Linear()
    upper_wider: Linear = Linear()  #: flange over all
    lower_wider: Linear = Linear()

    @property
    def opening_known(self) -> bool:
        return self.at_web.known

    def wider_mm(self, s: float, share: float) -> float:
        """How much wider than drawn the opening is at s; `share` of the way from the web's inside (0) to the toes (1)."""
        return (1.0 - share) * self.at_web.at(s) + share * self.at_toe.at(s)

    @property
    def places(self) -> tuple[float, ...]:
        return tuple(sorted({*self.at_web.places, *self.at_toe.places}))

    def openings(self, s0: float, s1: float) -> tuple[float, ...]:
        """Where between two places the opening may be least: at both, and wherever it was measured."""
        return (s0, *(s for s in self.places if s0 < s < s1), s1)


def found_section(section: Section, base: Profile, placed: Iterable[tuple[float, SectionReading]]) -> FoundSection:
    """Args: `base`, the drawn side view over s as found; `placed`, (s as found, reading)."""
    readings = sorted(placed, key=lambda p: (p[0], p[1].name))
    deeper = Linear.of((s, r.depth_mm - base.depth_at(s)) for s, r in readings if r.depth_mm is not None)
    telling = [(s, r) for s, r in readings if any(size is not None for size in _of_opening(r))]
    web, toe = _openings(section, base, telling)
    away = [(s, _away(wide - narrow, r)) for (_, narrow), (_, wide), (s, r) in zip(web, toe, telling, strict=True)]
    return FoundSection(
        deeper=deeper, at_web=Linear.of(web), at_toe=Linear.of(toe),
        upper_away=Linear.of((s, upper) for s, (upper, _) in away), lower_away=Linear.of((s, lower) for s, (_, lower) in away),
        upper_wider=Linear.of((s, r.upper_flange_mm - section.flange_mm) for s, r in readings if r.upper_flange_mm is not None),
        lower_wider=Linear.of((s, r.lower_flange_mm - section.flange_mm) for s, r in readings if r.lower_flange_mm is not None),
    )  # fmt: skip


def _away(wider: float, reading: SectionReading) -> tuple[float, float]:
    """How far the upper and the lower toe stand away, which together is how much wider the opening is at the toes than at the web."""
    read = (reading.upper_square_mm, reading.lower_square_mm)
    rest = wider - sum(toe or 0.0 for toe in read)
    shared = [1.0 if toe is None else 0.0 for toe in read]
    if sum(shared) == 0.0:
        shared = [1.0, 1.0]
    upper, lower = ((toe or 0.0) + rest * part / sum(shared) for toe, part in zip(read, shared, strict=True))
    return upper, lower


def _of_opening(reading: SectionReading) -> tuple[float | None, ...]:
    """The sizes that tell of the opening."""
    return reading.opening_web_mm, reading.opening_toe_mm, reading.depth_mm, reading.upper_square_mm, reading.lower_square_mm


def _openings(
    section: Section, base: Profile, readings: Sequence[tuple[float, SectionReading]]
) -> tuple[list[tuple[float, float]], list[tuple[float, float]]]:
    web, toe = [], []
    for s, r in readings:
        drawn = base.depth_at(s) - 2 * section.flange_thickness_mm
        leaning = (r.upper_square_mm or 0.0) + (r.lower_square_mm or 0.0)
        if r.opening_web_mm is not None:
            at_web = r.opening_web_mm - drawn
        elif r.depth_mm is not None:
            thick = sum(section.flange_thickness_mm if t is None else t for t in (r.upper_thickness_mm, r.lower_thickness_mm))
            at_web = r.depth_mm - thick - drawn
        elif r.opening_toe_mm is not None:  # then nothing says that it is another one at the web, but how the toes lean
            at_web = r.opening_toe_mm - leaning - drawn
        else:
            at_web = 0.0
        web.append((s, at_web))
        toe.append((s, r.opening_toe_mm - drawn if r.opening_toe_mm is not None else at_web + leaning))
    return web, toe
