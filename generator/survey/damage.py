"""Damage comes first: what is cracked, rusted through, worn thin or loose, from what was found and from section readings."""

from __future__ import annotations

from dataclasses import dataclass

from generator.survey.limits import limit_of
from generator.survey.measures import NORMAL_95, Measure, Status
from parts.errors import Finding, Level
from parts.frame.features import Condition
from parts.frame.frame import Frame
from parts.frame.measured import SectionReading
from parts.frame.placed import PlacedPatch
from parts.frame.section import RailSide, Section

FOUND = "the frame file; that damage is mended first: common practice, no source"
#: kind -> (level, what it is called, what is done)
KINDS: dict[str, tuple[Level, str, str]] = {
    "crack": ("warn", "a crack", "have it mended by who may, and looked at again, before anything is made to fit"),
    "rust-through": ("warn", "rusted through", "new steel there before anything is made to fit"),
    "thin": ("warn", "worn thin", "a licensed engineer or certified welder decides whether it is replaced first"),
    "loose rivet": ("warn", "a loose rivet", "replace it by a bolt of the next size, or the readings across it will not stay"),
    "old weld": ("note", "an old weld", "look for cracks at its ends"),
    "dent": ("note", "a dent", "keep readings off it"),
}
#: order in which damage is told
WORST = tuple(KINDS)


@dataclass(frozen=True, kw_only=True)
class Damage:
    """One place where the steel is not whole."""

    name: str
    kind: str
    side: RailSide
    place: str
    left_mm: float | None  #: thickness left, where it was measured
    new_mm: float | None
    level: Level
    limit: str = ""
    source: str = FOUND

    @property
    def finding(self) -> Finding:
        """Named after the thing, so that a job accepts this damage and no other."""
        _, what, remedy = KINDS[self.kind]
        left = f"{self.left_mm:g} mm left of {self.new_mm:g} mm" if self.left_mm is not None and self.new_mm is not None else ""
        message = f"{self.name}, {self.place}: {what}" + (f", {left}" if left else "")
        return Finding(code=f"frame-damaged-{self.name}", level=self.level, where=f"frame, {self.side} rail", message=message,
                       value=f"{self.left_mm:g} mm" if self.left_mm is not None else "", limit=self.limit, remedy=remedy,
                       source=self.source)  # fmt: skip


def damage(frame: Frame, thickness: tuple[Measure, ...]) -> tuple[Damage, ...]:
    """What was found, worst first, and what section readings show to be worn."""
    found = [_of_condition(frame, patch) for patch in frame.placed_conditions]
    found += [d for reading, own in _by_reading(frame, thickness) if (d := _of_reading(frame, reading, own)) is not None]
    return tuple(sorted(found, key=lambda d: (WORST.index(d.kind), d.name, d.side)))


def thicknesses(frame: Frame, set_name: str | None = None) -> tuple[Measure, ...]:
    """Every thickness that section readings of the set (None: of any) tell, held against the least that may be left."""
    found: list[Measure] = []
    limit = limit_of("thickness left", frame.limits)
    for reading in frame.section_readings:
        if set_name is not None and reading.set != set_name:
            continue
        for side in reading.sides:
            for face, left, new in _walls(reading, frame.rail(side).section):
                by = reading.accuracy_mm
                status: Status = "cannot tell"
                why = f"{left:g} mm give or take {by:g} mm is on both sides of the limit"
                if limit.mm is None:
                    why = f"no limit: {limit.source}"
                if limit.mm is not None and left - by >= limit.mm:
                    status, why = "in", ""
                elif limit.mm is not None and left + by < limit.mm:
                    status, why = "out", ""
                found.append(
                    Measure(word="thickness left", where=f"{side} rail at {reading.name}, {face}", value_mm=left, drawn_mm=new,
                            sigma_mm=by / NORMAL_95, limit_mm=limit.mm, source=limit.source, status=status, why=why, level=limit.level,
                            points=(reading.name, side))
                )  # fmt: skip
    return tuple(found)


def _walls(reading: SectionReading, section: Section) -> list[tuple[str, float, float]]:
    """(face, thickness left, thickness when new) of what was measured."""
    walls = (
        ("web", reading.web_thickness_mm, section.web_mm),
        ("upper flange", reading.upper_thickness_mm, section.flange_thickness_mm),
        ("lower flange", reading.lower_thickness_mm, section.flange_thickness_mm),
    )
    return [(face, left, new) for face, left, new in walls if left is not None]


def _by_reading(frame: Frame, thickness: tuple[Measure, ...]) -> list[tuple[str, list[Measure]]]:
    found: dict[tuple[str, ...], list[Measure]] = {}
    for measure in thickness:
        found.setdefault(measure.points, []).append(measure)
    return [(key[0], own) for key, own in found.items()]


def _of_reading(frame: Frame, name: str, own: list[Measure]) -> Damage | None:
    """The worst of one reading, if its steel is thinner than new by more than the reading may be off, or out of the user's limit."""
    worn = [m for m in own if m.status == "out" or (m.status != "in" and (m.off_mm or 0.0) + (m.uncertainty_mm or 0.0) < 0)]
    if not worn:
        return None
    worst = min(worn, key=lambda m: (m.value_mm or 0.0) - m.drawn_mm)
    side: RailSide = "left" if worst.points[1] == "left" else "right"
    face = worst.where.rpartition(", ")[2]
    level: Level = worst.level if worst.status == "out" else "warn"
    limit = f"{worst.limit_mm:g} mm" if worst.limit_mm is not None else ""
    return Damage(name=name, kind="thin", side=side, place=face, left_mm=worst.value_mm, new_mm=worst.drawn_mm, level=level, limit=limit,
                  source=worst.source)  # fmt: skip


def _of_condition(frame: Frame, patch: PlacedPatch) -> Damage:
    own = patch.drawn
    assert isinstance(own, Condition)
    section = frame.rail(patch.side).section
    new = section.web_mm if patch.face == "web" else section.flange_thickness_mm
    limit = limit_of("thickness left", frame.limits)
    left = own.least_thickness_mm
    level = KINDS[own.kind][0]
    under = left is not None and limit.mm is not None and left < limit.mm
    place = f"{patch.face}, {patch.place.tape_mm:.0f} mm from the rail's front end"
    return Damage(name=own.name, kind=own.kind, side=patch.side, place=place, left_mm=left, new_mm=None if left is None else new,
                  level=limit.level if under else level, limit=f"{limit.mm:g} mm" if left is not None and limit.mm is not None else "",
                  source=limit.source if under else FOUND)  # fmt: skip
