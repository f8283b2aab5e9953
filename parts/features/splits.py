"""Joints across a plate: given ones, and where a piece is larger than every sheet, proposed ones. Left and right do not stand opposite."""

from __future__ import annotations

from collections.abc import Iterator, Sequence
from dataclasses import dataclass, field, replace
from itertools import pairwise
from typing import TYPE_CHECKING

from parts.errors import BadInput, Fault, Finding
from parts.features.draft import Draft, Setting
from parts.features.heads import heads
from parts.features.openings import openings
from parts.features.pickups import pickups
from parts.features.recesses import recesses
from parts.features.split_line import SplitLine, parted
from parts.features.split_none import held_text, limit_text, no_place, size_text
from parts.features.split_room import BENDS, LEAST_MM, Grounds
from parts.features.split_up import CLEAR_MM, Search

if TYPE_CHECKING:
    from parts.families.rail_plate_parts import Split
    from parts.features.around import Filler

TIMES = 1.0  #: of the rail's depth, that left and right joints stand apart: common practice, no source
PRACTICE = "common practice, no source"
CHOICE = "builder's choice: no number found"
STEEP_DEG = 45.0
MIDDLE_SHARE = 0.1  #: of a bay to either side of its middle

Laid = list[tuple[Draft, "tuple[Filler, ...]"]]


@dataclass(frozen=True, kw_only=True)
class Placed:
    """Joints on one stretch of plate, and what is said of them."""

    lines: tuple[SplitLine, ...] = ()
    faults: tuple[Fault, ...] = ()
    findings: tuple[Finding, ...] = ()
    conflicts: int = 0
    met: frozenset[int] = field(default_factory=frozenset)  #: numbers of the given ones that lie on it

    def also(self, other: Placed) -> Placed:
        return Placed(
            lines=tuple(sorted((*self.lines, *other.lines), key=lambda line: line.tape_mm)), faults=(*self.faults, *other.faults),
            findings=(*self.findings, *other.findings), conflicts=self.conflicts + other.conflicts, met=self.met | other.met,
        )  # fmt: skip


def splits(draft: Draft, fillers: tuple[Filler, ...]) -> Laid:
    """The pieces of one stretch of plate, front to rear; the stretch itself where it has no joint."""
    plate = draft.setting.plate
    if draft.faults or not (plate.splits or plate.split_up == "where needed"):
        return [(draft, fillers)]
    grounds = Grounds(draft=_opened(draft))
    placed = _given(grounds)
    if plate.split_up == "where needed" and not placed.faults:
        placed = placed.also(_looked_for(grounds, placed.lines))
    made = draft.made | {f"split {k}" for k in placed.met}
    told = replace(
        draft, made=made, faults=(*draft.faults, *placed.faults), findings=(*draft.findings, *placed.findings),
        bend_conflicts=draft.bend_conflicts + placed.conflicts,
    )  # fmt: skip
    if placed.faults or not placed.lines:
        return [(told, fillers)]
    for line in placed.lines:
        told = replace(told, findings=(*told.findings, *_said(grounds, line)))
    try:
        return parted(told, fillers, placed.lines)
    except ValueError as error:
        fault = Fault(where=draft.setting.where, field="split.at", limit=str(error), remedy="move it along the rail, or steeper")
        return [(replace(told, faults=(*told.faults, fault)), fillers)]


def _opened(draft: Draft) -> Draft:
    """The whole stretch with what a joint may not run through; what is wrong with that is told of the pieces."""
    for feature in (recesses, pickups, openings, heads):
        draft = feature(draft)
    return draft


def shift_mm(setting: Setting, tape_mm: float) -> float:
    """How far to the rear a given joint lies on this rail: the right one's are staggered."""
    plate = setting.plate
    if plate.side != "both" or setting.rail.side == "left":
        return 0.0
    return plate.stagger_mm if plate.stagger_mm is not None else TIMES * setting.rail.profile.depth_at_tape(tape_mm)


def _tape(setting: Setting, one: Split) -> float:
    """Raises BadInput: the rail has no such place, or its end comes before it."""
    rail, shift = setting.rail, 0.0
    try:
        tape = rail.tape_at(one.at)
        shift = shift_mm(setting, tape)
        return rail.on_rail(tape + shift, one.at)
    except BadInput as error:
        value = _value(one, shift) if shift else ""
        raise BadInput(replace(f, where=setting.where, field="split.at", value=value or f.value) for f in error.faults) from None


def _value(one: Split, shift: float) -> str:
    return f"{one.at}{f', staggered {shift:+.1f} mm' if shift else ''}"


def _given(grounds: Grounds) -> Placed:
    setting, placed = grounds.draft.setting, Placed()
    plate = setting.plate
    for k, one in enumerate(plate.splits):
        try:
            tape = _tape(setting, one)
        except BadInput as error:
            placed = placed.also(Placed(faults=error.faults))
            continue
        line = grounds.line(tape, one.angle_deg if one.angle_deg is not None else plate.split_angle_deg)
        if line is None:
            continue
        value = _value(one, shift_mm(setting, setting.rail.tape_at(one.at)))
        if isinstance(line, str):
            fault = Fault(where=setting.where, field="split.at", value=value, limit=f"{setting.rail.name}: {line}", remedy=MOVE)
            panels = grounds.draft.panels
            placed = placed.also(Placed(faults=(fault,), met=frozenset({k}), conflicts=int(len(panels) > 1)))
            continue
        faults, conflicts = _blocked(grounds, line, value)
        placed = placed.also(Placed(lines=(line,), faults=faults, met=frozenset({k}), conflicts=conflicts, findings=_close(grounds, line)))
    crossed = tuple(_crossed(setting, placed.lines))
    return placed.also(Placed(faults=crossed, findings=() if crossed else tuple(_close_to_each_other(setting, placed.lines))))


MOVE = "move it along the rail, or an angle nearer to 90 deg"


def _blocked(grounds: Grounds, line: SplitLine, value: str) -> tuple[tuple[Fault, ...], int]:
    setting, faults, conflicts = grounds.draft.setting, [], 0
    for near in grounds.near(line):
        least = grounds.least_mm(near)
        if near.mm < least - 1e-9:
            how = f"runs {-near.mm:.1f} mm into {near.name}" if near.mm <= 0 and near.kind == BENDS else (
                f"runs into {near.name}" if near.mm <= 0 else f"comes within {near.mm:.1f} mm of {near.name}"
            )  # fmt: skip
            limit = f"{setting.rail.name}: the joint {how}; {least:g} mm is the least"
            faults.append(Fault(where=setting.where, field="split.at", value=value, limit=limit, remedy=MOVE))
            conflicts += int(near.kind == BENDS)
    return tuple(faults), conflicts


def _crossed(setting: Setting, lines: Sequence[SplitLine]) -> list[Fault]:
    """Two joints that meet, or leave nothing of an edge between them."""
    found: list[Fault] = []
    for one, two in pairwise(lines):
        if one.index != two.index:
            continue
        apart = one.left_mm(two)
        if apart < LEAST_MM:
            value = f"{one.tape_mm:.0f} and {two.tape_mm:.0f} mm on the tape of {setting.rail.name}"
            limit = f"two joints leave {max(apart, 0.0):.1f} mm of plate between them at one edge; {LEAST_MM:g} mm is the least"
            found.append(Fault(where=setting.where, field="split.at", value=value, limit=limit, remedy="leave one of them out"))
    return found


def _close_to_each_other(setting: Setting, lines: Sequence[SplitLine]) -> Iterator[Finding]:
    for one, two in pairwise(lines):
        if one.index == two.index and one.off_mm(two) < CLEAR_MM - 1e-9:
            message = f"the joint at {place_text(setting, one)} lies close to the one at {place_text(setting, two)}"
            yield Finding(
                code="split-near", level="warn", where=setting.place, message=message, value=f"{one.off_mm(two):.1f} mm",
                limit=f"{CLEAR_MM:g} mm clear of a joint", remedy="move it along the rail", source=CHOICE,
            )  # fmt: skip


def _close(grounds: Grounds, line: SplitLine) -> tuple[Finding, ...]:
    """What a given joint lies nearer to than one that is looked for would."""
    setting = grounds.draft.setting
    near = [n for n in grounds.near(line) if n.mm < CLEAR_MM - 1e-9]
    if not near:
        return ()
    told = ", ".join(dict.fromkeys(f"{n.name} ({max(n.mm, 0.0):.1f} mm)" for n in sorted(near, key=lambda n: n.mm)))
    return (
        Finding(
            code="split-near", level="warn", where=setting.place, message=f"the joint at {place_text(setting, line)} lies close to {told}",
            value=f"{max(min(n.mm for n in near), 0.0):.1f} mm", limit=f"{CLEAR_MM:g} mm clear of a joint", remedy="move it along the rail",
            source=CHOICE,
        ),
    )  # fmt: skip


def place_text(setting: Setting, line: SplitLine) -> str:
    """`x = 1500 mm (mid -300 mm) on rail left`."""
    station, along = setting.rail.laid_off(line.tape_mm)
    return f"x = {x_of(setting, line):.0f} mm ({station} {along:+.0f} mm) on {setting.rail.name}"


def x_of(setting: Setting, line: SplitLine) -> float:
    """Of its centre, in the vehicle."""
    return setting.vehicle(line.facet, *line.centre)[0]


def foot_x_mm(setting: Setting, line: SplitLine) -> float:
    """Of the place on the upper corner from which it is laid off: on a slope not that of its centre."""
    return setting.rail.plan.point(setting.rail.profile.s_of_tape(line.tape_mm))[0]


def opposite_tapes(setting: Setting) -> tuple[float, ...]:
    """Where the other rail's joints would lie on this one."""
    rail = setting.rail
    return tuple(rail.profile.tape(rail.plan.s_at_x(x)) for x in setting.opposite_x_mm)


def _said(grounds: Grounds, line: SplitLine) -> list[Finding]:
    """Of a joint that is made: steeper than 45 deg, in the middle of a bay, or opposite the other rail's."""
    setting, out = grounds.draft.setting, list[Finding]()
    at = place_text(setting, line)
    if STEEP_DEG + 0.5 < line.angle_deg < 180 - STEEP_DEG - 0.5:
        message = f"the joint at {at} is steeper than 45 deg against the rail: its weld runs nearly straight across"
        out.append(
            Finding(
                code="split-steep", level="warn" if setting.frame.use.commercial else "note", where=setting.place, message=message,
                value=f"{line.angle_deg:g} deg", limit="45 deg or less, or 135 deg and more", remedy="split_angle = 45",
                source="VSB 6 section H (heavy vehicles): no full vertical weld",
            )
        )  # fmt: skip
    share = grounds.share_of_bay(line)
    if abs(share - 0.5) < MIDDLE_SHARE:
        low, high = grounds.bay(line.facet.s_at(line.centre[0]))
        message = f"the joint at {at} lies in the middle of its bay (s {low:.0f} to {high:.0f} mm), where the rail bends most"
        out.append(
            Finding(
                code="split-mid-bay", level="note", where=setting.place, message=message, value=f"{100 * share:.0f} % of the bay",
                limit="about a quarter of the bay from either end of it", remedy="move it along the rail", source=PRACTICE,
            )
        )  # fmt: skip
    depth = setting.rail.profile.depth_at_tape(line.tape_mm)
    apart = min((abs(line.tape_mm - other) for other in opposite_tapes(setting)), default=None)
    wanted = depth if setting.plate.stagger_mm is None else min(depth, abs(setting.plate.stagger_mm))
    if apart is not None and apart < depth - 0.5:
        message = f"the joint at {at} stands {apart:.0f} mm along the rail from the left rail's: the rail's depth, {depth:.0f} mm, is kept"
        out.append(
            Finding(
                code="split-opposite", level="warn" if apart < wanted - 0.5 or not apart else "note", where=setting.place, message=message,
                value=f"{apart:.0f} mm", limit=f"at least {depth:.0f} mm", remedy="a larger stagger, or another place", source=PRACTICE,
            )
        )  # fmt: skip
    return out


def _looked_for(grounds: Grounds, given: tuple[SplitLine, ...]) -> Placed:
    """A joint wherever a piece is larger than every sheet for it."""
    setting = grounds.draft.setting
    plate = setting.plate
    sheets = tuple(s for s in setting.shop.sheets if s.serves(plate.thickness_mm, plate.grade))
    if not sheets:
        said = f'split_up = "where needed", and no sheet of {plate.thickness_mm:g} mm {plate.grade} is listed: no joint is looked for'
        finding = Finding(
            code="split-no-sheet", level="note", where=setting.place, message=said, remedy="list the shop's sheets: [[shop.sheet]]",
            source="the job file",
        )  # fmt: skip
        return Placed(findings=(finding,))
    placed, stops = Placed(), (None, *given, None)
    for front, rear in pairwise(stops):
        search = Search(grounds=grounds, sheets=sheets, front=front, rear=rear)
        if search.fits(front, rear):
            continue
        try:
            size = size_text(search)
        except ValueError:
            continue  # they are told of where the plate is parted
        held = held_text(sheets)
        lines = search.joints(opposite_tapes(setting), plate.stagger_mm)
        if lines is None:
            placed = placed.also(Placed(findings=(no_place(search),)))
            continue
        where = ", ".join(place_text(setting, line) for line in lines)
        finding = Finding(
            code="split-proposed", level="note", where=setting.place,
            message=f"a piece of {size} is larger than every sheet ({held}): joined at {where}; {CLEAR_MM:g} mm or more clear of "
            "crossmembers, bends, openings, ends, brackets and other joints, as near as may be to a quarter of its bay, where a beam held "
            "at both ends bends least",
            value=size, limit=limit_text(sheets), remedy="[[part.split]] gives a joint its own place",
            source=f"[[shop.sheet]] of the job file; the place: {PRACTICE}",
        )  # fmt: skip
        placed = placed.also(Placed(lines=tuple(lines), findings=(finding,)))
    return placed


def unsplit(setting: Setting, drafts: Sequence[Draft]) -> list[Fault]:
    """A fault for every given joint that lies on no stretch of the plate on this rail."""
    done = frozenset[str]().union(*(d.made for d in drafts))
    found: list[Fault] = []
    for k, one in enumerate(setting.plate.splits):
        if f"split {k}" in done:
            continue
        try:
            tape = _tape(setting, one)
        except BadInput:
            continue  # told already
        s, at = setting.rail.profile.s_of_tape(tape), _value(one, shift_mm(setting, setting.rail.tape_at(one.at)))
        limit = (
            f"is not on the plate: it lies at s = {s:.0f} mm on {setting.rail.name}, the plate runs from {setting.face.s0_mm:.0f} to "
            f"{setting.face.s1_mm:.0f} mm less what crossmembers take"
        )
        found.append(Fault(where=setting.where, field="split.at", value=at, limit=limit, remedy="move it along the rail"))
    return found
