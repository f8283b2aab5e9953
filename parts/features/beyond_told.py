"""What is said of a pipe that goes on behind a plate: the hole that the rail's web needs for it, with its place and size."""

from __future__ import annotations

import math
from dataclasses import replace

from parts.errors import Finding
from parts.features.beyond import Beyond, WebCrossing, beyond
from parts.features.bolts import ruled
from parts.features.draft import Draft, Setting
from parts.features.pipes import Crossing
from parts.frame.placed import PlacedHole
from parts.frame.space import KeepOut
from parts.hole_rules import RailHole, Use, flange_hole_findings

GEOMETRY = "geometry of the frame file"
NEAR_MM = 400.0  #: of the rail's own holes that a new one is held against
LAID_OFF_MM = 0.2  #: a hole that far off the numbers told, or so much smaller, is the one that was asked for: they are rounded
DEG = 180.0 / math.pi
STEEPEST_DEG = 75.0  #: as for the plate: a pipe that lies flatter runs along the web


def pipe_behind(draft: Draft, crossing: Crossing, pipe: KeepOut, air_mm: float, own: str) -> Draft:
    """Findings and notes; nothing about the plate changes. `own`: the opening's name."""
    assert pipe.diameter_mm is not None
    setting = draft.setting
    found = beyond(setting, crossing.point, crossing.behind)
    for web in found.webs:
        draft = _web(draft, web, pipe, air_mm, own)
    if found.end == "flange":
        return _flange(draft, found, pipe, own)
    if found.end == "inside" and (found.webs or not setting.seat.on_web):
        message = (
            f"{pipe.name} goes through opening {own} and ends in {setting.rail.name}, {found.behind_mm:.1f} mm behind the plate's back"
        )
        remedy = "if it goes on, give the frame file all of its line: what it meets is told then"
        return draft.finding(_finding(setting, "pipe-ends-behind", "note", message, f"{found.behind_mm:.1f} mm", remedy))
    if not found.webs and setting.seat.on_web:
        message = f"opening {own} is cut in the plate only: the web behind it is not"
        remedy = "a hole in the web too is a matter of its own: the rules for holes in a rail"
        return draft.finding(_finding(setting, "opening-over-web", "note", message, "", remedy))
    return draft


def _finding(setting: Setting, code: str, level: str, message: str, value: str, remedy: str) -> Finding:
    return Finding(
        code=code, level="warn" if level == "warn" else "note", where=setting.place, message=message, value=value, remedy=remedy,
        source=GEOMETRY,
    )  # fmt: skip


def _laid_off(setting: Setting, s: float, z: float) -> str:
    tape, up = setting.rail.profile.tape_and_up(s, z)
    station, along = setting.rail.laid_off(tape)
    return f"{along:.1f} mm rearward of {station} along the upper corner and {up:.1f} mm up, square to the rail from its lower face"


def _web(draft: Draft, web: WebCrossing, pipe: KeepOut, air_mm: float, own: str) -> Draft:
    setting = draft.setting
    assert pipe.diameter_mm is not None
    rail, across = setting.rail, pipe.diameter_mm + 2 * air_mm
    wall = f"the {web.wall} of {rail.name}"
    if web.off_square_rad >= STEEPEST_DEG / DEG:
        off = web.off_square_rad * DEG
        message = f"{pipe.name} goes on through {wall} behind opening {own}, {off:.0f} deg off square: it runs along it"
        return draft.finding(_finding(setting, "pipe-through-web", "warn", message, "", "lay the pipe otherwise"))
    long, bare = web.long_mm(across, rail.thickness_mm), web.long_mm(pipe.diameter_mm, rail.thickness_mm)
    there = _nearest_hole(setting, web)
    if there is not None:
        hole, beside = there
        room = hole.diameter_mm / 2 - beside - bare / 2
        size = f"{hole.diameter_mm:g} mm"
        if room >= (long - bare) / 2 - LAID_OFF_MM:
            return draft.note(f"{pipe.name} goes on through hole {hole.name} of {rail.name}'s web, {size}")
        at = f"{pipe.name} goes on through {wall} behind opening {own}, {beside:.1f} mm off the middle of hole {hole.name} of {size}"
        if room >= -LAID_OFF_MM:
            message = f"{at}: {max(room, 0.0):.1f} mm are left round it, where {air_mm:g} mm of air are asked for"
            remedy = "a smaller clearance, if that is room enough for a grommet; else move the pipe to the hole's middle, or open the hole"
            return draft.finding(_finding(setting, "pipe-through-web", "note", message, f"{max(room, 0.0):.1f} mm", remedy))
        message = f"{at}: it does not pass. It needs a round hole of {long:.1f} mm, its middle {_laid_off(setting, web.s_mm, web.z_mm)}"
        remedy = f"lay the pipe through the middle of {hole.name}, or open or move that hole, in the frame file too"
        return draft.finding(_finding(setting, "pipe-through-web", "warn", message, f"{long:.1f} mm", remedy))
    message = (
        f"{pipe.name} goes on through {wall} behind opening {own}, and nothing is cut there: it needs a round hole of {long:.1f} mm, its "
        f"middle {_laid_off(setting, web.s_mm, web.z_mm)}"
    )
    if web.straight_mm < web.straight_needed_mm(across, rail.thickness_mm) - 1e-9:
        message += f"; the pipe bends or ends {web.straight_mm:.1f} mm from there, and the hole is that of a straight one"
    remedy = "drill it by the rules for holes in a rail before the plate goes on, or end or turn the pipe in front of the web"
    if web.wall == "web":
        remedy += "; if it is there, give it to the frame file as a [[hole]]"
    draft = draft.finding(_finding(setting, "pipe-through-web", "warn", message, f"{long:.1f} mm", remedy))
    return _ruled(draft, web, long, own) if web.wall == "web" else draft


def _nearest_hole(setting: Setting, web: WebCrossing) -> tuple[PlacedHole, float] | None:
    """(the open hole that the pipe's middle line goes through, how far off its middle)"""
    if web.wall != "web":
        return None  # a frame file knows no holes of a second web
    rail = setting.rail
    tape, up = rail.profile.tape_and_up(web.s_mm, web.z_mm)
    found = []
    for hole in setting.frame.holes_on(rail.side, web.s_mm, web.s_mm, "web"):
        off = ((hole.tape_mm - tape) ** 2 + (hole.up_mm - up) ** 2) ** 0.5
        if hole.filled == "open" and off < hole.diameter_mm / 2:
            found.append((off, hole.name, hole))
    return (min(found)[2], min(found)[0]) if found else None


def _ruled(draft: Draft, web: WebCrossing, size_mm: float, own: str) -> Draft:
    """What the rules say of that hole, should it be drilled."""
    setting = draft.setting
    near = setting.frame.holes_on(setting.rail.side, web.s_mm - NEAR_MM, web.s_mm + NEAR_MM, "web")
    others = [RailHole(name=h.name, along_mm=h.s_mm, up_mm=h.z_mm, diameter_mm=h.diameter_mm) for h in near]
    new = RailHole(name=f"web hole for opening-{own}", along_mm=web.s_mm, up_mm=web.z_mm, diameter_mm=size_mm)
    for finding in ruled(setting.frame, setting.rail, setting.place, [new], others):
        remedy = "a smaller pipe, or less clearance" if finding.code == "hole-large" else finding.remedy
        draft = draft.finding(replace(finding, remedy=remedy))
    return draft


def _flange(draft: Draft, found: Beyond, pipe: KeepOut, own: str) -> Draft:
    setting = draft.setting
    tape, _ = setting.rail.profile.tape_and_up(found.s_mm, found.z_mm)
    station, along = setting.rail.laid_off(tape)
    message = (
        f"{pipe.name} goes through opening {own} and on through the {found.flange} of {setting.rail.name}, {along:.1f} mm rearward of "
        f"{station}, {found.behind_mm:.1f} mm behind the plate's back: nothing is cut there"
    )
    remedy = "lay the pipe so that it leaves the box through the web"
    draft = draft.finding(_finding(setting, "pipe-through-flange", "warn", message, "", remedy))
    use = Use(commercial="yes" if setting.frame.use.commercial else "no", heat_treated=setting.frame.steel.heat_treated)
    for finding in flange_hole_findings(f"{setting.place}, {found.flange} at opening {own}", use=use):
        draft = draft.finding(finding)
    return draft
