"""Where a bracket stands: the face, the straight facet of it, and the bracket's own coordinates there.

Bracket coordinates in mm: p runs along the face, to the right as the seen face is looked at; q stands upright, 0 at the tangent line of
the seat's bend on the base and below 0 over the base, whichever way up the bracket is; `out` is square off the face.
"""

from __future__ import annotations

import math
from dataclasses import dataclass, replace
from functools import cached_property
from typing import TYPE_CHECKING

from parts.errors import BadInput, Fault, Finding, Level
from parts.frame.course import Stretch
from parts.frame.faces import Facet, UprightFace
from parts.frame.rail import Rail
from parts.sheet import Placement, Vec3
from parts.shop import Shop
from parts.welds import FilletLeg

if TYPE_CHECKING:
    from parts.families.crossmember_bracket import CrossmemberBracket
    from parts.frame.frame import Frame

FLAT_EDGE_MM = 1e-6
SLOPE_STEP_MM = 0.01


def web_face(rail: Rail) -> UprightFace:
    """The face of the web that looks to the vehicle's centre; of a closed rail its inboard web's outside."""
    section = rail.section
    if not rail.opens_inboard:
        offset, away, thickness = 0.0, -1, section.web_mm
    elif section.kind == "closed":
        offset, away, thickness = section.toe_offset_mm, 1, section.web_mm
    else:
        offset, away, thickness = section.inner_web_offset_mm, 1, section.web_mm
    return UprightFace(
        name="web", rail=rail, offset_mm=offset, away=away, s0_mm=0.0, s1_mm=rail.length_s_mm,
        stack_mm=0.0 if section.kind == "closed" else thickness, thickness_mm=thickness,
    )  # fmt: skip


@dataclass(frozen=True, kw_only=True)
class Site:
    """What every feature of the bracket may ask. Does not change."""

    bracket: CrossmemberBracket
    frame: Frame
    shop: Shop
    rail: Rail
    face: UprightFace
    facet: Facet
    x_mm: float  #: of the place asked for, the same on both rails
    bearing_mm: float  #: z of the seat's face that the crossmember lies against
    inside_radius_mm: float
    leg: FilletLeg  #: of the fillet round the base, by the rules

    @property
    def where(self) -> str:
        return f"part {self.bracket.id}"

    def fault(self, field: str, value: str, limit: str, remedy: str) -> Fault:
        return Fault(where=self.where, field=field, value=value, limit=limit, remedy=remedy)

    def finding(self, code: str, level: Level, message: str, *, value: str = "", limit: str = "", remedy: str = "", source: str) -> Finding:
        """A finding about this bracket."""
        return Finding(code=code, level=level, where=self.place, message=message, value=value, limit=limit, remedy=remedy, source=source)

    @property
    def place(self) -> str:
        return f"{self.bracket.id} {self.rail.side}"

    @property
    def leg_mm(self) -> float:
        """Of the fillet round the base."""
        return self.leg.leg_mm if self.bracket.leg_mm is None else self.bracket.leg_mm

    @property
    def thickness_mm(self) -> float:
        return self.bracket.thickness_mm

    @property
    def corner_mm(self) -> float:
        """Inside radius and thickness: how far a bend reaches from its tangent line."""
        return self.inside_radius_mm + self.thickness_mm

    @property
    def on_web(self) -> bool:
        return self.face.name == "web"

    @property
    def onto(self) -> str:
        """What the base stands on, in words."""
        return f"{self.rail.name} web" if self.on_web else f"{self.face.name} {self.rail.side}"

    @property
    def upright(self) -> int:
        """+1 where q runs up (the base stands below the seat), -1 where it runs down."""
        return 1 if self.bracket.base == "below" else -1

    @property
    def along(self) -> int:
        """+1 where p runs rearward: seen from the side that the face looks to."""
        return -self.face.normal_sign

    @property
    def inside_section(self) -> bool:
        """Whether the rail's flanges reach past the face: what stands off it stands between them."""
        return self.face.away > 0 and self.face.offset_mm < self.rail.section.toe_offset_mm - FLAT_EDGE_MM

    @property
    def hangs(self) -> bool:
        """Whether a base may reach below the rail: nothing of the rail stands in front of the face."""
        return self.face.offset_mm <= FLAT_EDGE_MM if self.face.away < 0 else not self.inside_section

    @property
    def tangent_z_mm(self) -> float:
        """z of q = 0. The seat's outer face lies a bend's reach above it, its inner face an inside radius (both seen with q up)."""
        outer = (self.bracket.carries == "on top") == (self.upright > 0)
        return self.bearing_mm - self.upright * (self.corner_mm if outer else self.inside_radius_mm)

    @property
    def seat_z_mm(self) -> tuple[float, float]:
        """(lower, upper) face of the seat."""
        inner, outer = (self.z(self.inside_radius_mm), self.z(self.corner_mm))
        return min(inner, outer), max(inner, outer)

    @cached_property
    def slot_out_mm(self) -> float:
        """How far out the middle of the slots lies: half way over what is flat of the seat."""
        return (self.corner_mm + self.bracket.depth_mm) / 2

    @cached_property
    def centre_u_mm(self) -> float:
        """Of p = 0: the slots' middle is the middle of the seat's width."""
        return self.u_of_x(self.x_mm, self.slot_out_mm)

    def u_of_x(self, x: float, out: float = 0.0) -> float:
        """u of the face's point from which a vehicle point at x stands `out` square off it."""
        return self.facet.u_at_x(x + self.face.normal_sign * self.facet.direction[1] * out)

    def p_of_x(self, x: float, out: float = 0.0) -> float:
        return self.along * (self.u_of_x(x, out) - self.centre_u_mm)

    def u(self, p: float) -> float:
        return self.centre_u_mm + self.along * p

    def s(self, p: float) -> float:
        """On the rail, along the web's normal."""
        return self.facet.s_at(self.u(p))

    def p(self, s: float) -> float:
        return self.along * (self.facet.u_at(s) - self.centre_u_mm)

    def z(self, q: float) -> float:
        return self.tangent_z_mm + self.upright * q

    def q(self, z: float) -> float:
        return self.upright * (z - self.tangent_z_mm)

    def vehicle(self, p: float, q: float, out: float = 0.0) -> Vec3:
        (x, y, z), (c, d, _) = self.facet.point(self.u(p), self.z(q)), self.facet.direction
        sign = self.face.normal_sign
        return x - sign * d * out, y + sign * c * out, z

    def placed(self, p: float, z: float) -> Placement:
        """A panel against the face whose (0, 0) lies at p and height z, its u along p, its v up."""
        c, d, _ = self.facet.direction
        return Placement(origin=self.vehicle(p, self.q(z)), u=(self.along * c, self.along * d, 0.0), v=(0.0, 0.0, 1.0))

    @property
    def slope_deg(self) -> float:
        """Of the rail's upper corner at the bracket, + where it rises rearward."""
        return math.degrees(self.rail.profile.slope_rad(self.s(0.0)))

    @property
    def turn_deg(self) -> float:
        """Of the face in plan, off the vehicle's length."""
        return math.degrees(self.facet.heading_rad)

    def low(self, s: float) -> float:
        """The lowest z at which the base still lies on its face, its weld with it; see `high`."""
        return self._edge(s, 0)

    def high(self, s: float) -> float:
        """The highest z: on a web the end of its flat, on a plate the plate's edge; between the flanges clear of them too."""
        return self._edge(s, 1)

    def _edge(self, s: float, which: int) -> float:
        weld = self.leg_mm if self.bracket.attach == "weld" else 0.0
        section, profile = self.rail.section, self.rail.profile
        inner = section.flange_thickness_mm + self.bracket.clearance_mm if self.inside_section else -math.inf
        sign = 1.0 if which == 0 else -1.0
        if self.face.edges is None:
            flat = section.inside_flat_from_corner_mm if self.inside_section else section.flat_from_corner_mm
            inset = max(flat + weld, inner)
            return profile.lower_z(s, inset) if which == 0 else profile.upper_z(s, inset)
        edge = self.face.edges[which]
        rise = (edge.y_at(s + SLOPE_STEP_MM) - edge.y_at(s - SLOPE_STEP_MM)) / (2 * SLOPE_STEP_MM)
        plate = edge.y_at(s) + sign * weld * math.hypot(1.0, rise)
        if not self.inside_section:
            return plate
        flange = profile.lower_z(s, inner) if which == 0 else profile.upper_z(s, inner)
        return max(plate, flange) if which == 0 else min(plate, flange)

    def room_z(self, s: float) -> tuple[float, float]:
        """(lowest, highest) z between the flanges, the clearance kept; infinite off the section."""
        if not self.inside_section:
            return -math.inf, math.inf
        inset = self.rail.section.flange_thickness_mm + self.bracket.clearance_mm
        return self.rail.profile.lower_z(s, inset), self.rail.profile.upper_z(s, inset)


def facet_of(face: UprightFace, s: float, shop: Shop, where: str) -> Facet:
    """The straight facet that faces s.

    Raises:
        BadInput: the rail turns there.
    """
    stretch = stretch_at(face.rail, s)
    if not stretch.is_line:
        limit = (
            f"{face.rail.name} turns here: s {stretch.begin_mm:.0f} to {stretch.end_mm:.0f} mm; its nearest straights begin "
            f"{s - stretch.begin_mm:.0f} mm in front and {stretch.end_mm - s:.0f} mm behind"
        )
        raise BadInput(Fault(where=where, field="at", limit=limit, remedy="move it onto a straight: a base is one flat panel"))
    facets = face.facets(gap_mm=shop.weld_gap_mm)
    middle = (stretch.begin_mm + stretch.end_mm) / 2
    return next((f for f in facets if any(p == stretch for p in f.spans) and f.s_start_mm <= middle <= f.s_end_mm), face.facet_at(s))


def stretch_at(rail: Rail, s: float) -> Stretch:
    pieces = rail.plan.pieces()
    return next((p for p in pieces if s <= p.end_mm), pieces[-1])


def straight_faults(site: Site) -> list[Fault]:
    """The whole width must stand on one straight of the rail, and on the face."""
    half = site.bracket.width_mm / 2
    s0, s1 = sorted((site.s(-half), site.s(half)))
    rail, face = site.rail, site.face
    stretch = stretch_at(rail, site.s(0.0))
    pieces = rail.plan.pieces()
    bend = 0.0 if site.on_web else face.thickness_mm  # about as far as a plate's own bend reaches from the corner
    out: list[Fault] = []
    width = f"{site.bracket.width_mm:g} mm"
    first, last = stretch.begin_mm > pieces[0].begin_mm, stretch.end_mm < pieces[-1].end_mm
    for turns, over, which in ((first, stretch.begin_mm + bend - s0, "front"), (last, s1 - stretch.end_mm + bend, "rear")):
        if turns and over > FLAT_EDGE_MM:
            limit = f"its {which} edge would stand {over:.1f} mm into the turn of {rail.name}"
            out.append(site.fault("width", width, limit, _moved(over, which)))
    ends = face.whole_s_mm or (face.s0_mm, face.s1_mm)
    what = f"end of {rail.name}" if site.on_web else f"end of what is whole of plate {face.name} on {rail.name}"
    for over, which in ((ends[0] - s0, "front"), (s1 - ends[1], "rear")):
        if over > FLAT_EDGE_MM:
            limit = f"its {which} edge would lie {over:.1f} mm past the {which} {what}"
            out.append(site.fault("at", str(site.bracket.at), limit, _moved(over, which)))
    return out


def _moved(over: float, which: str) -> str:
    return f"move it {math.ceil(over)} mm or more {'rearward' if which == 'front' else 'forward'}, or make it narrower"


def faulted(error: BadInput, where: str, field: str) -> list[Fault]:
    """The faults of a lower floor as faults of this part's `field`."""
    return [replace(f, where=where, field=f"{field}.{f.field}" if f.field not in ("", field) else field) for f in error.faults]
