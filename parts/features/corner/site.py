"""One gusset in its corner: what every feature of it may ask."""

from __future__ import annotations

import math
from dataclasses import dataclass
from functools import cached_property
from typing import TYPE_CHECKING

from parts.errors import Fault, Finding, Level
from parts.features.corner.corner import BOTH, Corner
from parts.frame.frame import Frame
from parts.frame.offers import FlatFace
from parts.frame.rail import Rail
from parts.piece import Piece
from parts.sheet import Vec3
from parts.shop import Shop
from parts.welds import FilletLeg, fillet_leg_mm

if TYPE_CHECKING:
    from parts.families.gusset import Gusset, Place

SNIPE_SHARE = 1 / 3  #: of the shorter leg, the most that is sniped unasked
AXES = ("x", "y", "z")
WAYS = (("rear", "front"), ("right", "left"), ("up", "down"))


@dataclass(frozen=True, kw_only=True)
class Site:
    """One gusset in its corner. Does not change."""

    gusset: Gusset
    frame: Frame
    shop: Shop
    rail: Rail
    corner: Corner
    t_mm: float  #: of its mid-plane along the corner's line
    place: Place

    @property
    def where(self) -> str:
        return f"part {self.gusset.id}"

    @property
    def named(self) -> str:
        """What findings call it."""
        return f"{self.gusset.id} {self.rail.side}"

    def fault(self, field: str, value: str, limit: str, remedy: str) -> Fault:
        return Fault(where=self.where, field=field, value=value, limit=limit, remedy=remedy)

    def finding(self, code: str, level: Level, message: str, *, value: str = "", limit: str = "", remedy: str = "", source: str) -> Finding:
        return Finding(code=code, level=level, where=self.named, message=message, value=value, limit=limit, remedy=remedy, source=source)

    @property
    def faces(self) -> tuple[FlatFace, FlatFace]:
        return self.corner.faces

    @cached_property
    def leg_lengths_mm(self) -> tuple[float, float]:
        return self.gusset.leg_on_mm, self.gusset.leg_to_mm

    @cached_property
    def rules(self) -> tuple[FilletLeg, FilletLeg]:
        """The fillets along both legs by the rule tables."""
        first, second = (fillet_leg_mm(self.gusset.thickness_mm, f.thickness_mm, False, along_edge=False) for f in self.faces)
        return first, second

    def weld_mm(self, leg: int) -> float:
        return self.rules[leg].leg_mm if self.gusset.fillet_mm is None else self.gusset.fillet_mm

    def half_mm(self, leg: int) -> float:
        """Half the width that a leg and its two fillets take up on the face."""
        return self.gusset.thickness_mm / 2 + self.weld_mm(leg)

    @property
    def middle(self) -> Vec3:
        return self.corner.point(self.t_mm)

    def sided(self, sign: float) -> str:
        """The way that the plate's normal (+1) or its back (-1) looks, in words."""
        return way_word(self.corner, sign, self.rail)

    def hosts(self) -> tuple[Piece, ...]:
        """The pieces that its legs stand on."""
        names = {f.piece for f in self.faces}
        return tuple(piece for _, piece in self.frame.built if piece.id in names)


def way_word(corner: Corner, sign: float, rail: Rail) -> str:
    axis = corner.axis
    positive = corner.line[axis] * sign > 0
    if axis == 1:
        return "outboard" if positive == (rail.side == "right") else "inboard"
    return WAYS[axis][0 if positive else 1]


def face_name(face: FlatFace) -> str:
    """`rail left web`, `cm-mid front`, `gearbox-seat-left base`."""
    return face.name if face.piece else face.onto


def told(site: Site, t: float) -> str:
    """A place along the corner in vehicle axes: `z 512.0 mm`."""
    axis = site.corner.axis
    return f"{AXES[axis]} {site.corner.point(t)[axis]:.1f} mm"


def assumed_snipe_mm(gusset: Gusset) -> float:
    return gusset.snipe_mm if gusset.snipe_mm is not None else SNIPE_SHARE * min(gusset.leg_on_mm, gusset.leg_to_mm)


def in_corner(site: Site) -> tuple[float, str]:
    """(how far from the corner's line something is in the way, what): where flat steel begins, or the weld that joins the two faces."""
    one, two = site.faces
    found: list[tuple[float, str]] = [(0.0, "nothing")]
    for leg in BOTH:
        flat = site.corner.flat(leg, site.t_mm, site.half_mm(leg), site.leg_lengths_mm[leg])
        if flat is not None and flat[0] > 1e-6:
            same = one.piece and one.piece == two.piece
            found.append((flat[0], "the bend between them" if same else f"what lies before the flat of {face_name(site.faces[leg])}"))
    if not one.piece or one.piece != two.piece:
        joint = fillet_leg_mm(one.thickness_mm, two.thickness_mm, False, along_edge=False).leg_mm
        found.append((joint, f"the {joint:.3g} mm fillet between them"))
    return max(found)


def short_legs(site: Site, snipe_mm: float) -> tuple[float, list[Fault]]:
    """(mm that are missing, why) where a leg does not stand on flat steel all along."""
    missing, faults = 0.0, []
    for leg, field in zip(BOTH, ("leg_on", "leg_to"), strict=True):
        length, half, face = site.leg_lengths_mm[leg], site.half_mm(leg), site.faces[leg]
        value = f"{length:g} mm"
        flat = site.corner.flat(leg, site.t_mm, half, length)
        if flat is None:
            limit = f"{face_name(face)} has no flat steel {2 * half:.1f} mm wide, plate and fillets, at {told(site, site.t_mm)}"
            missing += length
            faults.append(site.fault(field, value, limit, "another place or other faces"))
            continue
        if flat[0] > snipe_mm + 1e-6:
            limit = f"{face_name(face)} is flat only from {flat[0]:.1f} mm off the corner on, and the leg begins at {snipe_mm:.1f} mm"
            missing += flat[0] - snipe_mm
            remedy = "a longer leg, or other faces"
            if site.gusset.snipe_mm is not None:
                remedy = f"snipe = {math.ceil(in_corner(site)[0])} mm, or leave it out"
            faults.append(site.fault(field if site.gusset.snipe_mm is None else "snipe", f"{snipe_mm:.1f} mm", limit, remedy))
        if flat[1] < length - 1e-6:
            limit = f"{face_name(face)} ends, or is flat no more, {flat[1]:.1f} mm from the corner, fillets' width counted in"
            missing += length - flat[1]
            faults.append(site.fault(field, value, limit, f"at most {math.floor(flat[1])} mm, or another place"))
    return missing, faults


def middle_t(site: Site) -> float | None:
    """The middle of the longest stretch over which both faces carry their leg; None where there is none."""
    snipe, (first, second) = assumed_snipe_mm(site.gusset), site.leg_lengths_mm
    stations = site.corner.stations(((snipe, first), (snipe, second)), (site.half_mm(0), site.half_mm(1)))
    low, high = max(stations, key=lambda s: s[1] - s[0], default=(0.0, 0.0))
    return (low + high) / 2 if stations else None
