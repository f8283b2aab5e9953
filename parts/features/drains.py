"""Drains: a hole at every low point of each bay of a closed box, as low in the plate as its seat and weld allow."""

from __future__ import annotations

import math
from collections.abc import Iterator

from parts.errors import Finding
from parts.features.bays import STEP_MM, Bay, Low, bays, bottom_z, lows
from parts.features.draft import EDGE_MM, Draft
from parts.features.spot import laid_off
from parts.holes import Hole
from parts.outline import Point

EDGE_THICKNESSES = 2.0  #: hole edge to the plate's own edge: TM 9-2320-289-34 p. 9-7
APART_DIAMETERS = 10.0  #: a level low shorter than this has one drain, in its middle. Builder's choice
REACH_MM = 150.0  #: how far from its low point a drain may be set, where that has no room. Builder's choice
GEOMETRY = "the job asks for a drain there; what it keeps off: TM 9-2320-289-34 p. 9-7 (2 t)"


def drains(draft: Draft) -> Draft:
    setting = draft.setting
    asked = setting.plate.drains
    if asked is None:
        return draft
    if setting.seat.on_web:
        remedy = 'leave drains out, or seat = "toes", "flush" or "stepped"'
        return draft.fault("drains", f"a plate {setting.seat.kind} on the web closes no box", value=setting.seat.kind, remedy=remedy)
    if setting.plate.height_mm is not None and setting.plate.hang == "upper":
        return draft.note("the box is open along its lower edge: no drains are needed")
    d, made, standing, told = asked.diameter_mm, 0, 0.0, list[str]()
    for bay in bays(draft):
        for s in (s for low in lows(draft, bay) for s in _points(draft, low, d)):
            if draft.at(s, setting.lower().y_at(s)) is None:
                continue  # another piece's, past a joint of the plate
            place = _place(draft, bay, s, d)
            if place is None:
                draft = _no_room(draft, bay, s, d)
                continue
            index, (u, z) = place
            made += 1
            name = f"drain-{made}"
            draft = draft.with_holes(index, [Hole(name=name, x_mm=u, y_mm=z, diameter_mm=d, purpose="drain of a closed box")])
            standing = max(standing, z - d / 2 - bottom_z(draft, s))
            told.append(f"{name} {laid_off(setting, draft.panels[index].facet.s_at(u), z)}")
    if not made:
        return draft
    return draft.note(
        f"drains of {d:g} mm (builder's choice: no size found in the trade) at the low points of each bay, a level bay at both its ends, "
        f"as which way it runs off is how the vehicle stands: {', '.join(told)}; at most {standing:.1f} mm of water stays below them"
    )


def _points(draft: Draft, low: Low, d: float) -> list[float]:
    """Where one low is drained: a level one at both its ends."""
    if low.s1_mm - low.s0_mm >= APART_DIAMETERS * d:
        return [low.s0_mm, low.s1_mm]
    middle = (low.s0_mm + low.s1_mm) / 2
    return [min((middle, low.s0_mm, low.s1_mm), key=lambda s: (round(bottom_z(draft, s), 6), abs(s - middle)))]


def edge_mm(draft: Draft) -> float:
    """From a drain's edge to the plate's: clear of the weld's toe on a stepped plate."""
    setting = draft.setting
    return max(EDGE_THICKNESSES * setting.plate.thickness_mm, setting.seat.leg_mm if setting.seat.edge == "fillet" else 0.0)


def _place(draft: Draft, bay: Bay, low: float, d: float) -> tuple[int, Point] | None:
    """The place nearest to the low point that keeps clear of everything; of two as near the lower one."""
    for pair in _outwards(bay, low, d):
        found = [p for s in pair if (p := _fits(draft, s, d)) is not None]
        if found:
            return min(found, key=lambda p: p[1][1])
    return None


def _outwards(bay: Bay, low: float, d: float) -> Iterator[tuple[float, ...]]:
    first, last = bay.s0_mm + d / 2, bay.s1_mm - d / 2
    for k in range(math.floor(REACH_MM / STEP_MM) + 1):
        ways = dict.fromkeys((low - k * STEP_MM, low + k * STEP_MM))
        yield tuple(s for s in ways if first <= s <= last)


def _fits(draft: Draft, s: float, d: float) -> tuple[int, Point] | None:
    """(panel, centre) of a drain at s, if there is room for it."""
    setting, profile = draft.setting, draft.setting.rail.profile
    edge = edge_mm(draft)
    above = d / 2 + edge
    z = max(
        profile.lower_path(setting.seat.inset_mm + above).y_at(s),
        profile.lower_path(setting.rail.section.flange_thickness_mm + d / 2).y_at(s),
    )
    place = draft.at(s, z)
    if place is None:
        return None
    index, (u, z) = place
    panel = draft.panels[index]
    if (panel.bend_before or panel.bend_after) and panel.off_bends(u) < above + setting.inside_radius_mm:
        return None
    if not panel.contour.contains((u, z)):
        return None
    short = above - draft.room(index, (u, z))
    if 0 < short < EDGE_MM:  # a curved edge, refitted
        z += short
    return (index, (u, z)) if draft.room(index, (u, z)) >= above - 1e-9 else None


def _no_room(draft: Draft, bay: Bay, s: float, d: float) -> Draft:
    setting = draft.setting
    at = laid_off(setting, s, bottom_z(draft, s))
    keeps = f"{edge_mm(draft):g} mm from edges, openings and bends"
    return draft.finding(
        Finding(
            code="drain-no-room", level="warn", where=setting.place, source=GEOMETRY, value=f"{d:g} mm", limit=keeps,
            message=f"the bay from {bay.front} to {bay.rear} has its low point at {at}: within {REACH_MM:g} mm of it no drain of {d:g} mm "
            f"keeps {keeps}",
            remedy="a smaller drain, or move what is in its way",
        )
    )  # fmt: skip
