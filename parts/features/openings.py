"""Openings in a plate, for a hand, a tool or a pipe: placed by tape, or where a pipe of the frame goes through."""

from __future__ import annotations

import math
from collections.abc import Sequence
from dataclasses import replace
from typing import TYPE_CHECKING

from parts.errors import Finding
from parts.features.beyond_told import pipe_behind
from parts.features.draft import Draft
from parts.features.pipes import Crossing, crossings
from parts.features.rings import ringed
from parts.features.spot import bends_may_pull, spot_at, tape_of, with_fit
from parts.frame.names import unknown_place
from parts.frame.space import KeepOut
from parts.holes import Hole
from parts.outline import Contour

if TYPE_CHECKING:
    from parts.families.rail_plate_parts import Opening

CHOICE = "builder's choice: no number found"
LEAST_FLAT_MM = 0.5  #: between two corner arcs
STEEPEST_DEG = 75.0  #: a pipe that lies flatter in the plate than this runs along it: no hole is made for it. Builder's choice
TOUCH_MM = 0.1  #: over a flange's edge by less is beside it
SAGITTA_MM = 0.05
AS_ROUND_MM = 1.0  #: a hole longer than wide by no more than this is made round


def openings(draft: Draft) -> Draft:
    for one in draft.setting.plate.openings:
        draft = _for_pipe(draft, one, one.path) if one.path is not None else _by_place(draft, one)
    return draft


def _by_place(draft: Draft, one: Opening) -> Draft:
    assert one.at is not None
    tape = tape_of(draft, "opening.at", one.at)
    if isinstance(tape, Draft):
        return tape
    spot = spot_at(draft, tape, one.up_mm)
    if spot is None:
        return draft
    purpose = f"opening {one.name}"
    if one.diameter_mm is not None:
        hole = Hole(name=f"opening-{one.name}", x_mm=spot.centre[0], y_mm=spot.centre[1], diameter_mm=one.diameter_mm, purpose=purpose)
    else:
        assert one.length_mm is not None and one.height_mm is not None
        slot = one.shape == "long-round"
        hole = Hole(
            name=f"opening-{one.name}", kind="slot" if slot else "rectangle", x_mm=spot.centre[0], y_mm=spot.centre[1],
            diameter_mm=one.height_mm, length_mm=one.length_mm, angle_deg=spot.angle_deg, purpose=purpose,
            corner_radius_mm=0.0 if slot else _corner_mm(draft, one, min(one.length_mm, one.height_mm)),
        )  # fmt: skip
    return _made(draft, one, spot.index, hole, one.name, f"{one.name} at {one.at}", spot.along[0])


def _corner_mm(draft: Draft, one: Opening, short_mm: float) -> float:
    asked = one.corner_radius_mm
    return asked if asked is not None else min(draft.setting.plate.corner_radius_mm, max(0.0, (short_mm - LEAST_FLAT_MM) / 2))


def _for_pipe(draft: Draft, one: Opening, name: str) -> Draft:
    frame = draft.setting.frame
    pipe = next((k for k in frame.keep_out if k.name == name), None)
    if pipe is None:
        fault = unknown_place(name, [k.name for k in frame.keep_out], "the frame has no keep_out", field="opening.for")
        fault = replace(fault, where=draft.setting.where)
        return draft if fault in draft.faults else replace(draft, faults=(*draft.faults, fault))
    if pipe.shape != "path" or pipe.diameter_mm is None:
        limit = f"is a {pipe.shape}: a pipe is a keep_out of shape path"
        return draft.fault("opening.for", limit, value=name, remedy="place the opening with at, and give its size")
    air = one.clearance_mm if one.clearance_mm is not None else pipe.clearance_mm
    made = 0
    for crossing in crossings(draft, pipe):
        own = one.name if not made else f"{one.name}-{made + 1}"
        hole = _pipe_hole(draft, one, crossing, pipe.diameter_mm + 2 * air, own, f"pipe {name}")
        panel = draft.panels[crossing.index]
        if not panel.contour.contains(hole.centre) and panel.contour.distance(hole.centre) > hole.reach_mm:
            continue  # it passes above, below or beside the plate
        made += 1
        draft = _through(draft, one, pipe, crossing, hole, air, own)
    return draft


def uncrossed(drafts: Sequence[Draft]) -> list[Finding]:
    """What is said of openings for pipes that go through none of the plate's pieces on this side."""
    setting = drafts[0].setting
    done = frozenset[str]().union(*(d.made for d in drafts))
    found: list[Finding] = []
    for one in setting.plate.openings:
        if one.path is not None and f"opening {one.name}" not in done:
            message = f"{one.path} does not go through this plate: opening {one.name} is not made"
            found.append(Finding(code="opening-not-crossed", level="note", where=setting.place, message=message, source="the frame file"))
    return found


def _pipe_hole(draft: Draft, one: Opening, crossing: Crossing, across: float, own: str, purpose: str) -> Hole:
    long = crossing.length_mm(across, draft.setting.plate.thickness_mm) if crossing.off_square_rad < math.radians(STEEPEST_DEG) else across
    slot = long - across > AS_ROUND_MM if one.shape is None else one.shape == "long-round" and long > across + 1e-6
    turn = math.degrees(math.atan2(crossing.way[1], crossing.way[0]))
    turn += -180.0 if turn > 90 else 180.0 if turn <= -90 else 0.0
    return Hole(
        name=f"opening-{own}", kind="slot" if slot else "round", x_mm=crossing.centre[0], y_mm=crossing.centre[1], purpose=purpose,
        diameter_mm=across if slot else long, length_mm=long if slot else 0.0, angle_deg=turn if slot else 0.0,
    )  # fmt: skip


def _through(draft: Draft, one: Opening, pipe: KeepOut, crossing: Crossing, hole: Hole, air: float, own: str) -> Draft:
    off, value = math.degrees(crossing.off_square_rad), f"{one.name} for {pipe.name}"
    if off >= STEEPEST_DEG:
        limit = f"the pipe meets the plate {off:.0f} deg off square: it runs along it; {STEEPEST_DEG:g} deg is the most"
        return draft.fault("opening.for", limit, value=value, remedy="place an opening with at, or lay the pipe otherwise")
    assert pipe.diameter_mm is not None
    needed = crossing.straight_needed_mm(pipe.diameter_mm + 2 * air, draft.setting.plate.thickness_mm)
    straight = min(crossing.before_mm, crossing.after_mm)
    if straight < needed - 1e-9:
        limit = f"the pipe bends or ends {straight:.1f} mm from the middle of the plate; {needed:.1f} mm of straight pipe go through"
        remedy = "move the pipe's bend off the plate, or place an opening with at and give its size"
        return draft.fault("opening.for", limit, value=value, remedy=remedy)
    size = f"long-round {hole.diameter_mm:.1f} x {hole.length_mm:.1f} mm" if hole.kind == "slot" else f"round {hole.diameter_mm:.1f} mm"
    draft = draft.note(
        f"opening {own}: {pipe.name} ({pipe.diameter_mm:g} mm, {air:g} mm of air all round) goes through {off:.1f} deg off square: {size}"
    )
    if air <= 0:
        draft = draft.finding(
            Finding(
                code="pipe-without-air", level="warn", where=draft.setting.place, message=f"opening {own} leaves no air round {pipe.name}",
                value="0 mm", remedy="clearance = room for a grommet: the bare edge chafes through a pipe",
                source="common practice, no source",
            )
        )  # fmt: skip
    before = len(draft.faults)
    draft = _made(draft, one, crossing.index, hole, own, value)
    return draft if len(draft.faults) > before else pipe_behind(draft, crossing, pipe, air, own)


def _made(draft: Draft, one: Opening, index: int, hole: Hole, own: str, value: str, along_u: float = 1.0) -> Draft:
    """The opening and its ring, if they fit; what is left of the plate above and below."""
    shape = hole.contour()
    before, pipe = len(draft.faults), one.path or ""
    draft = replace(draft, made=draft.made | {f"opening {one.name}"})
    field = "opening.at" if one.path is None else "opening.for"
    draft = with_fit(draft, index, shape, field=field, value=value, along_u=along_u, pipe=pipe)
    if len(draft.faults) > before:
        return draft
    x0, _, x1, _ = shape.box
    if bends_may_pull(draft, index, x0, x1):
        draft = replace(draft, bend_conflicts=draft.bend_conflicts + 1)
    draft = draft.with_holes(index, [hole])
    below, above = left_mm(draft, index, shape)
    message = f"opening {own} leaves {below:.1f} mm of plate below it and {above:.1f} mm above"
    remedy = "a ring round it, or a smaller one nearer to half height" if one.ring is None else ""
    draft = draft.finding(
        Finding(
            code="opening-plate-left", level="note", where=draft.setting.place, message=message, value=f"{min(below, above):.1f} mm",
            limit=CHOICE, remedy=remedy, source=CHOICE,
        )
    )  # fmt: skip
    if draft.setting.seat.kind == "toes" and (over := _over_flanges_mm(draft, index, shape)) > TOUCH_MM:
        draft = draft.finding(_over_flange(draft, one, own, over))
    if draft.setting.seat.on_web and one.path is None:
        message = f"opening {own} is cut in the plate only: the web behind it is not"
        draft = draft.finding(
            Finding(
                code="opening-over-web", level="note", where=draft.setting.place, message=message, source="geometry of the frame file",
                remedy="a hole in the web too is a matter of its own: the rules for holes in a rail",
            )
        )  # fmt: skip
    if one.ring is None:
        return draft
    return ringed(draft, one.ring, index, hole, own, value, along_u=along_u, pipe=pipe)


def _over_flanges_mm(draft: Draft, index: int, shape: Contour) -> float:
    """How far a shape reaches past what is open between the flanges: over a flange's edge, or a hat's lip."""
    rail, facet = draft.setting.rail, draft.panels[index].facet
    found = [0.0]
    for u, z in shape.polyline(SAGITTA_MM):
        low, high = rail.opening_between_flanges(facet.s_at(u))
        found += [low - z, z - high]
    return max(found)


def _over_flange(draft: Draft, one: Opening, own: str, over: float) -> Finding:
    lip = "its lip or " if draft.setting.rail.section.lip_mm else ""
    message = f"opening {own} lies over {lip}the flange's edge by {over:.1f} mm: the rail behind it is not cut, nothing goes through there"
    remedy = "a smaller one, nearer to half height" if one.path is None else f"lay pipe {one.path} nearer to half height"
    return Finding(
        code="opening-over-flange", level="warn", where=draft.setting.place, message=message, value=f"{over:.1f} mm",
        limit="the rail is open between its flanges' inner faces", remedy=remedy, source="geometry of the frame file",
    )  # fmt: skip


def left_mm(draft: Draft, index: int, shape: Contour) -> tuple[float, float]:
    """Plate left (below, above) a shape: the least distance from it to the outline under and over it, cuts from the edges included."""
    panel = draft.panels[index]
    x0, z0, x1, z1 = shape.box
    facing = [s for s in panel.contour.segments if s.box[0] < x1 and s.box[2] > x0]
    found: list[float] = []
    for sign in (-1.0, 1.0):
        edges = [s for s in facing if sign * (s.point_at(0.5)[1] - (z0 + z1) / 2) > 0]
        found.append(min((s.gap(e) for s in shape.segments for e in edges), default=0.0))
    return found[0], found[1]
