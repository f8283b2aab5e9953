"""The bays of a closed box: between crossmembers and plate ends, and where the water in each of them collects."""

from __future__ import annotations

import math
from dataclasses import dataclass
from typing import Literal

from parts.features.draft import Draft

STEP_MM = 1.0  #: between places at which the bottom's slope is taken
SHALLOW_MM = 1.0  #: less water than that stands anywhere. Builder's choice
LEVEL_DEG = 0.5  #: a bottom that slopes less than this is level: how the vehicle stands decides where water runs. Builder's choice


@dataclass(frozen=True, kw_only=True)
class Low:
    """A low stretch of a bay's bottom: level, or a single point (s0 = s1)."""

    s0_mm: float
    s1_mm: float


@dataclass(frozen=True, kw_only=True)
class Bay:
    s0_mm: float
    s1_mm: float
    front: str  #: what closes it: a crossmember's name, or "the plate's front end"
    rear: str


def bays(draft: Draft) -> list[Bay]:
    """Front to rear, of the whole run that the plate is a piece of. A crossmember that goes into the box parts two of them, whatever way
    the plate takes round it; a butt joint of the plate does not."""
    setting, (first, last) = draft.setting, draft.whole_s_mm
    rail = setting.rail
    stops: list[tuple[float, float, str]] = []
    if rail.opens_inboard:
        for cm in setting.frame.crossmembers_at(rail.side, first, last):
            s0, s1 = cm.s_range(rail.side)
            _, _, z0, z1 = cm.box
            low, high = rail.opening_between_flanges((s0 + s1) / 2)
            if z1 > low and z0 < high:
                stops.append((s0, s1, cm.name))
    out: list[Bay] = []
    start, front = first, "the plate's front end"
    for s0, s1, name in sorted(stops):
        if s0 > start:
            out.append(Bay(s0_mm=start, s1_mm=s0, front=front, rear=name))
        if s1 > start:
            start, front = s1, name
    if start < last:
        out.append(Bay(s0_mm=start, s1_mm=last, front=front, rear="the plate's rear end"))
    return out


def bottom_z(draft: Draft, s: float) -> float:
    """Of the box inside: the lower flange's inner face."""
    rail = draft.setting.rail
    return rail.profile.lower_z(s, rail.section.flange_thickness_mm)


def lows(draft: Draft, bay: Bay) -> list[Low]:
    """Every low of the bay's bottom: a kick may leave one at either end, or one in the middle."""
    length = bay.s1_mm - bay.s0_mm
    count = max(1, math.ceil(length / STEP_MM))
    ss = [bay.s0_mm + length * k / count for k in range(count + 1)]
    zs = [bottom_z(draft, s) for s in ss]
    level = math.tan(math.radians(LEVEL_DEG))
    ways = [_way((zs[k + 1] - zs[k]) / (ss[k + 1] - ss[k]), level) for k in range(count)]
    out: list[Low] = []
    k = 0
    falls = True  # into the bay's front end
    while k <= count:
        end = k
        while end < count and ways[end] == 0:
            end += 1
        rises = end == count or ways[end] > 0
        if falls and rises:
            out.append(Low(s0_mm=ss[k], s1_mm=ss[end]))
        elif falls or rises:
            out += _pool(ss[k : end + 1], zs[k : end + 1], rising=rises)
        if end == count:
            break
        falls, k = ways[end] < 0, end + 1
    return out


def _pool(ss: list[float], zs: list[float], *, rising: bool) -> list[Low]:
    """What stays on a level stretch that on one side goes on down: where it leans the other way, it holds water at its other end."""
    if rising:
        ss, zs = ss[::-1], zs[::-1]
    crest = zs.index(max(zs))
    foot = zs.index(min(zs[: crest + 1]))
    return [Low(s0_mm=ss[foot], s1_mm=ss[foot])] if zs[crest] - zs[foot] > SHALLOW_MM else []


def _way(slope: float, level: float) -> Literal[-1, 0, 1]:
    return 0 if abs(slope) <= level else (1 if slope > 0 else -1)

