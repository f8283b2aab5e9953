"""What a bar runs into, or goes past with little air: the rails, the crossmembers, and what was built before it."""

from __future__ import annotations

import math
from typing import TYPE_CHECKING

from parts.errors import Finding
from parts.features.bar.drawn import FLANGES
from parts.features.bar.lie import Lie
from parts.features.bar.sizes import EDGE_THICKNESSES, least_flange_mm, least_width_mm
from parts.features.blocks import (
    Block,
    bracket_block,
    crossmember_block,
    mount_block,
    panel_blocks,
    panel_prism,
    rail_blocks,
    way_out_mm,
)
from parts.frame.features import Bracket
from parts.frame.frame import Frame
from parts.frame.offers import Seat
from parts.landing import panel_places
from parts.piece import Piece
from parts.prisms import clash
from parts.sheet import Placement, Vec3
from parts.vectors import cross, dot, mean, minus, size

if TYPE_CHECKING:
    from parts.families.fixture_bar import FixtureBar

TOUCH_MM = 1e-6
LYING_MM = 0.05
SAME_WAY = 1e-6  #: sine of the angle between a panel and a seat that is its face
PAST_MM = 60.0  #: of rail to either side of the bar that is looked at
GEOMETRY = "geometry of the frame file and the parts before"
AIR = "common practice, no source"


def in_the_way(bar: FixtureBar, lie: Lie, piece: Piece, frame: Frame) -> tuple[Finding, ...]:
    out: list[Finding] = []
    mine = panel_blocks(piece)
    for end in lie.ends:
        rail = frame.rail(end.seat.side)
        s = rail.plan.project(end.middle[0], end.middle[1])[0]
        for steel in rail_blocks(rail, s, bar.width_mm / 2 + PAST_MM):
            out += _told(bar, lie, mine, steel, False)
    own = [panel_prism(panel, at, piece.part.thickness_mm) for panel, at in panel_places(piece)]
    for cm in frame.placed_crossmembers:
        clear = min(one.clear_mm(crossmember_block(cm)) for one in mine)
        if clear < -TOUCH_MM:
            message = f"it runs {-clear:.1f} mm into the room of crossmember {cm.name}"
            remedy = f"take {cm.name} out first" if cm.removable else _moved(lie, mine, crossmember_block(cm))
            level = "warn" if cm.removable else "stop"
            out.append(
                Finding(
                    code="bar-in-the-way", level="stop" if level == "stop" else "warn", where=bar.id, message=message,
                    value=f"{-clear:.1f} mm", limit="two pieces of steel cannot be in one place", remedy=remedy, source=GEOMETRY,
                )
            )  # fmt: skip
    fastened = [mount_block(m) for m in frame.placed_mounts]
    for patch in frame.placed_brackets:
        if isinstance(patch.drawn, Bracket) and patch.drawn.fate != "cut off":
            fastened.append(bracket_block(patch, frame.rail(patch.side)))
    for steel in fastened:
        out += _told(bar, lie, mine, steel, any(clash(p, steel.prism) for p in own))
    return (*out, *_built(bar, lie, piece, mine, frame))


def _told(bar: FixtureBar, lie: Lie, mine: tuple[Block, ...], steel: Block, clashes: bool) -> list[Finding]:
    """`clashes`: of what is no box round a panel, whether the steel itself meets."""
    clear = min(one.clear_mm(steel) for one in mine)
    if clear >= bar.clearance_mm - TOUCH_MM:
        return []
    if clear < -TOUCH_MM or clashes:
        message, code = f"it runs {max(-clear, 0.0):.1f} mm into {steel.name}", "bar-in-the-way"
        remedy = _ways_out(bar, lie, mine, steel)
        value, limit = f"{max(-clear, 0.0):.1f} mm", "two pieces of steel cannot be in one place"
        return [Finding(code=code, level="stop", where=bar.id, message=message, value=value, limit=limit, remedy=remedy, source=GEOMETRY)]
    message = f"{clear:.1f} mm of air to {steel.name}; {bar.clearance_mm:g} mm asked"
    lying = clear < LYING_MM  # it may be meant to: what stands proud there would lift it off its seats
    remedy = "see that nothing stands proud there; clearance = 0" if lying else _ways_out(bar, lie, mine, steel)
    value, limit = f"{clear:.1f} mm", f"at least {bar.clearance_mm:g} mm"
    return [Finding(code="bar-tight", level="warn", where=bar.id, message=message, value=value, limit=limit, remedy=remedy, source=AIR)]


def _ways_out(bar: FixtureBar, lie: Lie, mine: tuple[Block, ...], steel: Block) -> str:
    """What would keep the air, each with its number: a shorter or a narrower bar, lower flanges, seats elsewhere."""
    near = [one for one in mine if one.clear_mm(steel) < bar.clearance_mm - TOUCH_MM]
    ways = []

    def lacks(way: Vec3) -> int:
        return math.ceil(max(bar.clearance_mm - one.gap_mm(steel, way) for one in near) - 1e-6)

    shorter = lacks(lie.run)
    least = max(end.hole_mm for end in lie.ends) / 2 + EDGE_THICKNESSES * bar.thickness_mm
    if bar.over_mm - shorter >= least - TOUCH_MM:
        ways.append(f"over {shorter} mm less")
    narrower = 2 * lacks(lie.across)
    if bar.width_mm - narrower >= least_width_mm(bar, lie) - TOUCH_MM:
        ways.append(f"width {narrower} mm less")
    by = way_out_mm(mine, steel, lie.normal, bar.clearance_mm)
    only_flanges = all(one.name.split()[-1] in FLANGES for one in near)
    if only_flanges and by is not None and by < 0:
        tall = math.floor(bar.flange_mm + by)
        ways.append(f"flange = {tall} mm" if tall >= least_flange_mm(bar, lie) else 'form = "flat"')
    if by is not None and (only_flanges or not ways):
        up = by * lie.normal[2] > 0
        ways.append(f"seats {abs(by):.0f} mm {'higher' if up else 'lower'}")
    return ", or ".join(ways) if ways else "move what it ties along the rail"


def _moved(lie: Lie, mine: tuple[Block, ...], steel: Block) -> str:
    by = way_out_mm(mine, steel, (1.0, 0.0, 0.0))
    if by is None:
        return "move what it ties along the rail"
    return f"move what it ties {abs(by):.0f} mm or more {'rearward' if by > 0 else 'forward'} along the rail"


def _built(bar: FixtureBar, lie: Lie, piece: Piece, mine: tuple[Block, ...], frame: Frame) -> tuple[Finding, ...]:
    """Panels of parts built before; what it lies on it may touch."""
    out: list[Finding] = []
    steel = [(place, panel_prism(panel, place, piece.part.thickness_mm)) for panel, place in panel_places(piece)]
    for _, other in frame.built:
        for block, (panel, place) in zip(panel_blocks(other), panel_places(other), strict=True):
            clear = min(one.clear_mm(block) for one in mine)
            if clear >= bar.clearance_mm - TOUCH_MM:
                continue
            seats = [end.seat for end in lie.ends if end.seat.name == bar.ties and other.id == f"{bar.ties}-{end.seat.side}"]
            tied, theirs = bool(seats), panel_prism(panel, place, other.part.thickness_mm)
            under = [seat for seat in seats if _is_face(place, other.part.thickness_mm, seat)]
            if any(clash(own, theirs) for at, own in steel if not any(_lies_on(at, seat) for seat in under)):
                message = f"it runs {max(-clear, 0.0):.1f} mm into {block.name}"
                remedy = _ways_out(bar, lie, mine, block)
                value, limit = f"{max(-clear, 0.0):.1f} mm", "two pieces of steel cannot be in one place"
                out.append(
                    Finding(
                        code="bar-in-the-way", level="stop", where=bar.id, message=message, value=value, limit=limit, remedy=remedy,
                        source=GEOMETRY,
                    )
                )  # fmt: skip
            elif clear > TOUCH_MM and not tied:
                message = f"{clear:.1f} mm of air to {block.name}; {bar.clearance_mm:g} mm asked"
                value, limit = f"{clear:.1f} mm", f"at least {bar.clearance_mm:g} mm"
                remedy = _ways_out(bar, lie, mine, block)
                out.append(
                    Finding(
                        code="bar-tight", level="warn", where=bar.id, message=message, value=value, limit=limit, remedy=remedy, source=AIR
                    )
                )
    return tuple(out)


def _is_face(place: Placement, thickness_mm: float, seat: Seat) -> bool:
    """Whether a seat is one of the two faces of a panel that lies there."""
    off = dot(minus(mean(seat.points), place.origin), place.normal)
    return size(cross(place.normal, seat.normal)) < SAME_WAY and min(abs(off), abs(off - thickness_mm)) < LYING_MM


def _lies_on(place: Placement, seat: Seat) -> bool:
    """Whether the bar's panel there lies on that seat: its bearing face goes through the middle of the seat's bolts. The seat may lean
    against it by less than a brake sets, or twist by less than moves a hole: the bar then stands on the seat's high side, and is not in it.
    """
    return abs(dot(minus(mean(seat.points), place.origin), place.normal)) < LYING_MM
