"""Boxes of steel in space, and how far one is from another: for what a part has to stay clear of."""

from __future__ import annotations

import math
from collections.abc import Iterator
from dataclasses import dataclass, replace

from parts.frame.crossmember import PlacedCrossmember
from parts.frame.features import Bracket
from parts.frame.frame import Frame
from parts.frame.placed import PlacedMount, PlacedPatch
from parts.frame.rail import Rail
from parts.landing import panel_places
from parts.piece import Piece
from parts.prisms import Prism, clash
from parts.sheet import Panel, Placement, Vec3
from parts.vectors import along, cross, dot, minus, size

SAME_WAY = 1e-9
SLOPE_STEP_MM = 0.5
TOUCH_MM = 1e-6
FURTHEST_MM = 400  #: that a part is told to be moved


@dataclass(frozen=True, kw_only=True)
class Block:
    """A box: its middle, its three unit axes, half its size along each."""

    name: str
    middle: Vec3
    axes: tuple[Vec3, Vec3, Vec3]
    half_mm: tuple[float, float, float]

    def reach(self, way: Vec3) -> float:
        return sum(h * abs(dot(a, way)) for a, h in zip(self.axes, self.half_mm, strict=True))

    def gap_mm(self, other: Block, way: Vec3) -> float:
        """Between the two as seen along a unit vector; below 0: how far one would have to go that way, or back, to be past the other."""
        return abs(dot(minus(other.middle, self.middle), way)) - self.reach(way) - other.reach(way)

    @property
    def prism(self) -> Prism:
        (a, b, c), (u, v, n) = self.half_mm, self.axes
        ring = ((-a, -b), (a, -b), (a, b), (-a, b))
        return Prism(origin=along(self.middle, (n, -c)), u=u, v=v, ring=ring, thickness_mm=2 * c)

    def clear_mm(self, other: Block) -> float:
        """Between the two, square to their faces or edges; below 0: how far they would have to be moved apart."""
        ways = [*self.axes, *other.axes]
        ways += [w for a in self.axes for b in other.axes if size(w := cross(a, b)) > SAME_WAY]
        between = minus(other.middle, self.middle)
        gaps = []
        for way in ways:
            length = size(way)
            gaps.append((abs(dot(between, way)) - self.reach(way) - other.reach(way)) / length)
        return max(gaps)


def block(name: str, place: Placement, low: Vec3, high: Vec3) -> Block:
    """Between two corners in the coordinates of `place`."""
    middle = place.point(*((a + b) / 2 for a, b in zip(low, high, strict=True)))
    a, b, c = ((q - p) / 2 for p, q in zip(low, high, strict=True))
    return Block(name=name, middle=middle, axes=(place.u, place.v, place.normal), half_mm=(a, b, c))


def panel_blocks(piece: Piece) -> tuple[Block, ...]:
    """The box round each flat panel of a piece; bend zones are left out."""
    out = []
    for panel, place in panel_places(piece):
        x0, y0, x1, y1 = panel.contour.box
        out.append(block(f"{piece.id} {panel.name}", place, (x0, y0, 0.0), (x1, y1, piece.part.thickness_mm)))
    return tuple(out)


def crossmember_block(cm: PlacedCrossmember) -> Block:
    """All the room that it takes up between the webs."""
    x0, x1, z0, z1 = cm.box
    home = Placement(origin=(0.0, 0.0, 0.0), u=(1.0, 0.0, 0.0), v=(0.0, 1.0, 0.0))
    return block(f"crossmember {cm.name}", home, (x0, cm.y_left_mm, z0), (x1, cm.y_right_mm, z1))


def rail_blocks(rail: Rail, s: float, half_mm: float) -> tuple[Block, ...]:
    """Web and flanges as they are at s, carried on straight for `half_mm` to either side. On a turn that is a tangent."""
    profile, section = rail.profile, rail.section
    depth, low, high = rail.depth_at(s), profile.lower_z(s), profile.upper_z(s)
    rise = (profile.upper_z(s + SLOPE_STEP_MM) - profile.upper_z(s - SLOPE_STEP_MM)) / (2 * SLOPE_STEP_MM)
    c, d, _ = rail.direction(s)
    run = (1 + rise * rise) ** 0.5
    way: Vec3 = (c / run, d / run, rise / run)
    normal = rail.normal(s)
    # Axes along the rail, off the web, and square to both; its height as it is upright there, however the corners taper.
    up = cross(way, normal) if cross(way, normal)[2] > 0 else cross(normal, way)
    outer = rail.point(s, (low + high) / 2)
    half = min(depth, high - low) / 2
    place = Placement(origin=outer, u=way, v=normal)
    sign = 1.0 if dot(place.normal, up) > 0 else -1.0
    webs = [(0.0, section.web_mm)]
    if section.kind == "closed":
        webs.append((section.flange_mm - section.web_mm, section.flange_mm))
    out = [block(f"the web of {rail.name}", place, (-half_mm, a, -half), (half_mm, b, half)) for a, b in webs]
    for which, end in (("upper", half * sign), ("lower", -half * sign)):
        inner = end - section.flange_thickness_mm * (1.0 if end > 0 else -1.0)
        ends = (min(end, inner), max(end, inner))
        out.append(block(f"the {which} flange of {rail.name}", place, (-half_mm, 0.0, ends[0]), (half_mm, section.flange_mm, ends[1])))
        if section.kind == "hat":  # along the toes, out past the flange's outer face
            lip = end + math.copysign(section.lip_mm, end)
            inner_lip, ends = section.flange_mm - section.flange_thickness_mm, (min(end, lip), max(end, lip))
            name = f"the lip of the {which} flange of {rail.name}"
            out.append(block(name, place, (-half_mm, inner_lip, ends[0]), (half_mm, section.flange_mm, ends[1])))
    return tuple(out)


def mount_block(mount: PlacedMount) -> Block:
    """A body mount's pad: level, its length along the rail, `point` its hole's centre on its top."""
    place = Placement(origin=mount.point, u=mount.along, v=cross((0.0, 0.0, 1.0), mount.along))
    half, wide = mount.drawn.length_mm / 2, mount.drawn.width_mm / 2
    return block(f"body mount {mount.name} {mount.side}", place, (-half, -wide, -mount.drawn.thickness_mm), (half, wide, 0.0))


def bracket_block(patch: PlacedPatch, rail: Rail) -> Block:
    """The box of a bracket of the frame, on the outside or the inside of its face."""
    own = patch.drawn
    assert isinstance(own, Bracket), "placed_brackets holds brackets"
    out, section = patch.place.outward, rail.section
    if patch.face == "web":
        slope, (x, y, _) = rail.profile.upper.heading(patch.place.tape_mm), rail.direction(patch.place.s_mm)
        way: Vec3 = (x * math.cos(slope), y * math.cos(slope), math.sin(slope))
        steel = section.web_mm
    else:
        way, steel = cross(rail.normal(patch.place.s_mm), out), section.flange_thickness_mm
    levels = (-steel - own.out_mm, -steel) if own.inner_face else (0.0, own.out_mm)
    place = Placement(origin=patch.place.point, u=way, v=cross(out, way))
    half, tall = own.length_mm / 2, own.height_mm / 2
    return block(f"bracket {patch.name}", place, (-half, -tall, levels[0]), (half, tall, levels[1]))


def panel_prism(panel: Panel, place: Placement, thickness_mm: float) -> Prism:
    """One flat panel, its openings cut out."""
    return Prism(
        origin=place.origin, u=place.u, v=place.v, ring=panel.contour.polyline(0.05), thickness_mm=thickness_mm,
        openings=tuple(h.contour().polyline(0.05) for h in panel.holes),
    )  # fmt: skip


def way_out_mm(mine: tuple[Block, ...], steel: Block, way: Vec3, air_mm: float = 0.0) -> float | None:
    """How far, in whole mm, everything has to go along a unit vector, + or back - whichever is less, to be past a block with that much
    air; None where it is in the way all along `FURTHEST_MM`."""
    for far in range(1, FURTHEST_MM + 1):
        for by in (far, -far):
            if all(replace(b, middle=along(b.middle, (way, by))).clear_mm(steel) >= air_mm - TOUCH_MM for b in mine):
                return float(by)
    return None


def built_in_way(piece: Piece, frame: Frame) -> Iterator[tuple[Block, float]]:
    """(panel of a part built before that shares room with the piece, how far they would have to be moved apart)."""
    own = [panel_prism(panel, at, piece.part.thickness_mm) for panel, at in panel_places(piece)]
    mine = panel_blocks(piece)
    for _, other in frame.built:
        for theirs, (panel, at) in zip(panel_blocks(other), panel_places(other), strict=True):
            clear = min(b.clear_mm(theirs) for b in mine)
            if clear < -TOUCH_MM and any(clash(p, panel_prism(panel, at, other.part.thickness_mm)) for p in own):
                yield theirs, -clear


def mounts_in_way(piece: Piece, frame: Frame) -> Iterator[tuple[Block, float]]:
    """(pad of a body mount of the frame that shares room with the piece, how far they would have to be moved apart)."""
    own = [panel_prism(panel, at, piece.part.thickness_mm) for panel, at in panel_places(piece)]
    mine = panel_blocks(piece)
    for mount in frame.placed_mounts:
        theirs = mount_block(mount)
        clear = min(b.clear_mm(theirs) for b in mine)
        if clear < -TOUCH_MM and any(clash(p, theirs.prism) for p in own):
            yield theirs, -clear
