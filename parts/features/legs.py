"""The fillet along a plate's edges: its leg by the rule tables, and every point on which the tables and the plate disagree."""

from __future__ import annotations

from dataclasses import replace
from typing import TYPE_CHECKING

from parts.errors import Finding, Level
from parts.features.draft import Draft
from parts.features.seat import LEAST_LANDING_MM
from parts.welds import SLACK, FilletLeg, fillet_leg_mm

if TYPE_CHECKING:
    from parts.families.rail_plate import RailPlate
    from parts.frame.section import Section


def fillet_of(plate: RailPlate, section: Section) -> FilletLeg:
    """By the rules, for a process that is not known to be low-hydrogen. A stepped plate is welded on its face, not along its edge.

    On the toes the leg takes its width off the flange's edge: where the floor for load that comes and goes would leave nothing of it
    under the plate, the table's least is laid, and the conflict told.
    """
    t, onto = plate.thickness_mm, section.web_mm if plate.seat in ("outside", "inside") else section.flange_thickness_mm
    rule = fillet_leg_mm(t, onto, False, along_edge=plate.seat != "stepped")
    wide = section.flange_thickness_mm + section.lip_mm
    if plate.seat != "toes" or wide - rule.leg_mm >= LEAST_LANDING_MM:
        return rule
    static = fillet_leg_mm(t, onto, False, cyclic=False)
    conflict = (
        f"the {rule.leg_mm:g} mm asked for load that comes and goes would leave nothing of the {wide:g} mm edge under the plate: "
        f'the table\'s {static.leg_mm:g} mm is laid; edge = "bevelled" needs no such room'
    )
    return replace(static, notes=(*static.notes, conflict))


def legs(draft: Draft) -> Draft:
    """Notes and findings; the leg itself is part of the seat."""
    setting = draft.setting
    plate, seat = setting.plate, setting.seat
    if plate.attach != "weld" or seat.edge != "fillet":
        return draft
    rule = fillet_of(plate, setting.rail.section)
    draft = draft.note(f"fillet leg {seat.leg_mm:g} mm ({'as asked' if plate.leg_mm is not None else rule.notes[0]})")
    for finding in leg_findings(setting.place, rule, plate.leg_mm, plate.thickness_mm):
        draft = draft.finding(finding)
    if seat.kind == "stepped" and plate.step_mm < seat.leg_mm - SLACK:
        message = f"stepped in {plate.step_mm:g} mm, less than its fillet of {seat.leg_mm:g} mm: the weld would hang over the toes"
        draft = draft.finding(
            Finding(
                code="step-under-leg", level="warn", where=setting.place, message=message, value=f"{seat.leg_mm:g} mm",
                limit=f"step at least {seat.leg_mm:g} mm", remedy='or seat = "flush"', source=rule.source,
            )
        )  # fmt: skip
    return draft


def leg_findings(place: str, rule: FilletLeg, asked_mm: float | None, thickness_mm: float) -> tuple[Finding, ...]:
    """What the rules say of the leg asked for along an edge; of their own where none is asked for, what they conflict about."""

    def finding(code: str, level: Level, message: str, limit: str = "", remedy: str = "") -> Finding:
        value = f"{rule.leg_mm if asked_mm is None else asked_mm:g} mm"
        return Finding(code=code, level=level, where=place, message=message, value=value, limit=limit, remedy=remedy, source=rule.source)

    if asked_mm is None:
        return tuple(finding("fillet-leg-conflict", "note", conflict) for conflict in rule.notes[1:])
    if asked_mm < min(rule.least_mm, rule.leg_mm) - SLACK:
        message = f"a fillet of {asked_mm:g} mm is less than the {rule.leg_mm:g} mm asked here: {'; '.join(rule.notes)}"
        return (finding("fillet-leg-small", "warn", message, f"at least {rule.leg_mm:g} mm", "leave leg out"),)
    if rule.most_mm is not None and asked_mm > max(rule.most_mm, rule.leg_mm) + SLACK:
        message = f"a fillet of {asked_mm:g} mm does not fit the edge of {thickness_mm:g} mm plate"
        return (finding("fillet-leg-large", "warn", message, f"at most {rule.most_mm:g} mm along that edge", "leave leg out"),)
    return ()
