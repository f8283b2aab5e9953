"""Whether a tab's steel runs into a rail: its own, or, from a crossmember or a part between them, either of the two."""

from __future__ import annotations

import math
from collections.abc import Iterator

from parts.features.blocks import Block, panel_blocks, panel_prism, rail_blocks
from parts.features.tab.shape import Tab
from parts.frame.frame import Frame
from parts.frame.rail import Rail
from parts.landing import panel_places
from parts.piece import Piece
from parts.prisms import clash
from parts.sheet import Vec3

TOUCH_MM = 1e-6
PAST_MM = 60.0
STEP_MM = 20.0  #: of a rail that is taken for straight: on a turn of 400 mm radius it is 0.13 mm off


def rails_in_way(tab: Tab, piece: Piece, frame: Frame) -> list[tuple[str, float]]:
    """(web, flange or lip that the tab would run into, how far the two would have to be moved apart). What it stands on it touches."""
    own = tab.host.side
    deepest: dict[str, float] = {}
    mine = panel_blocks(piece)
    steel = [panel_prism(panel, at, piece.part.thickness_mm) for panel, at in panel_places(piece)]
    on_web = tab.host.rail is not None and not tab.host.piece
    for side in frame.sides if own is None else (own,):
        for block, longer in _along(frame.rail(side), mine, with_webs=not on_web):
            if min(b.clear_mm(block) for b in mine) < -TOUCH_MM and any(clash(p, block.prism) is not None for p in steel):
                deep = -min(b.clear_mm(longer) for b in mine)  # along the rail is no way out of it
                deepest[block.name] = max(deepest.get(block.name, 0.0), deep)
    return list(deepest.items())


def _along(rail: Rail, mine: tuple[Block, ...], *, with_webs: bool) -> Iterator[tuple[Block, Block]]:
    """The rail's steel in short straight lengths, as far as the tab reaches along it; each with the same carried on straight."""
    places = [rail.szo(corner) for block in mine for corner in _corners(block)]
    if min(o for _, _, o in places) > rail.section.flange_mm or max(o for _, _, o in places) < 0:
        return
    ends = min(s for s, _, _ in places), max(s for s, _, _ in places)
    # A length is cut square to a rail that slopes: its flanges lie before and behind the place that it is taken at.
    lean = max(rail.depth_at(_on(rail, s)) / 2 * abs(math.sin(_slope(rail, s))) for s in (*ends, sum(ends) / 2))
    low, high = _on(rail, ends[0] - lean), _on(rail, ends[1] + lean)
    if high <= low:
        return
    count = max(1, math.ceil((high - low) / STEP_MM))
    half = (high - low) / count / 2
    webs = 2 if rail.section.kind == "closed" else 1
    for k in range(count):
        s = low + (2 * k + 1) * half
        up, down = (_half(rail, s, half, convex) for convex in (-1, 1))
        upper, lower, both, longer = (rail_blocks(rail, s, length) for length in (up, down, max(up, down), high - low + PAST_MM))
        for number, long in list(enumerate(longer))[0 if with_webs else webs :]:
            own = upper if "upper" in long.name else lower if "lower" in long.name else both
            yield own[number], long


def _half(rail: Rail, s: float, half: float, convex: int) -> float:
    """Half of a length, so that the next one on a flange joins it: where the rail kicks up (`convex` 1) the lower flange is the longer."""
    slope, heading = _slope(rail, s), rail.plan.heading_rad(s)
    out = half / math.cos(slope)
    kicks, turns = [0.0], [0.0]
    for sign in (-1, 1):
        other = _on(rail, s + sign * 2 * half)
        kicks.append(convex * sign * (_slope(rail, other) - slope))
        turns.append(abs(math.remainder(rail.plan.heading_rad(other) - heading, math.tau)))
    return out + rail.depth_at(s) / 2 * math.tan(max(kicks) / 2) + rail.section.flange_mm * math.tan(max(turns) / 2)


def _slope(rail: Rail, s: float) -> float:
    return rail.profile.upper.heading(rail.profile.tape(_on(rail, s)))


def _on(rail: Rail, s: float) -> float:
    return min(max(s, 0.0), rail.length_s_mm)


def _corners(block: Block) -> Iterator[Vec3]:
    (a, b, c), (u, v, n) = block.half_mm, block.axes
    for i in (-a, a):
        for j in (-b, b):
            for k in (-c, c):
                x, y, z = (m + i * p + j * q + k * r for m, p, q, r in zip(block.middle, u, v, n, strict=True))
                yield x, y, z
