"""A rail plate while it is being made: panels drawn on the facets of a face, u rearward and z up, with all that is known so far."""

from __future__ import annotations

from collections.abc import Iterable
from dataclasses import dataclass, replace
from functools import cached_property
from typing import TYPE_CHECKING

from parts.errors import BadInput, Fault, Finding
from parts.features.between import edges_between
from parts.features.choices import EndKind
from parts.features.seat import Seat
from parts.frame.faces import Facet, UprightFace
from parts.frame.rail import Rail
from parts.holes import Hole
from parts.material import least_inside_radius_mm
from parts.outline import Contour, Path, Point
from parts.piece import BoltLine, Drilling, HardwareItem, Removal, WeldJoint
from parts.sheet import Label, Mark, Vec3
from parts.shop import Shop

if TYPE_CHECKING:
    from parts.families.rail_plate import RailPlate
    from parts.features.rings import LaidRing
    from parts.features.split_line import SplitLine
    from parts.features.stops import LaidStop
    from parts.frame.frame import Frame


EDGE_MM = 0.12  #: how near to its line a plate's long edge lies: curves are refitted to 0.02, stubs beside a kick left out to 0.1


@dataclass(frozen=True, kw_only=True)
class Setting:
    """What every feature may ask: the plate's parameters, what it lies on, and what the shop can do. Does not change."""

    plate: RailPlate
    frame: Frame
    shop: Shop
    rail: Rail
    seat: Seat
    face: UprightFace
    opposite_x_mm: tuple[float, ...] = ()  #: where the joints of the other rail's plate are laid off on its upper corner

    @property
    def where(self) -> str:
        return f"part {self.plate.id}"

    @property
    def side(self) -> str:
        return self.rail.side

    @property
    def place(self) -> str:
        return f"{self.plate.id} {self.rail.side}"

    def upper(self) -> Path:
        """The plate's upper edge in the unrolled web (s, z), over the whole rail."""
        return self._edges[1]

    def lower(self) -> Path:
        return self._edges[0]

    @cached_property
    def bend_radius(self) -> tuple[float, str]:
        """(inside radius of the plate's bends in mm, where it comes from). Asked for only where the plate bends.

        Raises:
            BadInput: the shop gives none, and the table of least radii does not reach this thickness or grade.
        """
        if self.shop.inside_radius_mm is not None:
            return self.shop.inside_radius_mm, "as the shop gives it"
        try:
            return least_inside_radius_mm(self.plate.thickness_mm, self.plate.grade)
        except BadInput as error:
            remedy = "give shop.inside_radius: what the shop's tools and the mill's sheet allow"
            raise BadInput(replace(f, where=self.where, remedy=remedy) for f in error.faults) from None

    @property
    def inside_radius_mm(self) -> float:
        return self.bend_radius[0]

    def height_at(self, s: float) -> float:
        """Of the plate at s, upright."""
        return self.upper().y_at(s) - self.lower().y_at(s)

    def room_at(self, s: float) -> float:
        """Height that its seat has for it at s, upright."""
        filled = edges_between(self)
        if filled is not None:
            return filled[1].y_at(s) - filled[0].y_at(s)
        profile, inset = self.rail.profile, self.seat.inset_mm
        return profile.upper_z(s, inset) - profile.lower_z(s, inset)

    @cached_property
    def _edges(self) -> tuple[Path, Path]:
        profile, seat, plate = self.rail.profile, self.seat, self.plate
        lower, upper = edges_between(self) or (profile.lower_path(seat.inset_mm), profile.upper_path(seat.inset_mm))
        if plate.height_mm is not None and plate.hang == "lower":
            upper = profile.lower_path(seat.inset_mm + plate.height_mm)
        elif plate.height_mm is not None:
            lower = profile.upper_path(seat.inset_mm + plate.height_mm)
        return lower, upper

    def vehicle(self, facet: Facet, u: float, z: float, out_mm: float = 0.0) -> Vec3:
        """The vehicle point on the plate's z = 0 face at (u, z), `out_mm` further along the plate's normal."""
        (x, y, _), (c, d, _) = facet.point(u, z), facet.direction
        sign = self.face.normal_sign
        return x - sign * d * out_mm, y + sign * c * out_mm, z


@dataclass(frozen=True, kw_only=True)
class DraftPanel:
    """One facet's worth of plate. `u0`, `u1` bound what is flat: the bend tangents, or the plate's end where there is no bend."""

    facet: Facet
    u0: float
    u1: float
    bend_before: bool
    bend_after: bool
    contour: Contour
    holes: tuple[Hole, ...] = ()
    marks: tuple[Mark, ...] = ()
    labels: tuple[Label, ...] = ()  #: as they are read with u to the right; turned round where the plate is seen from its other side
    covers: tuple[tuple[str, Contour], ...] = ()  #: (name, outline) of what is laid on its seen face: nothing else comes under it

    def off_bends(self, u: float) -> float:
        """From u to the nearest bend tangent; large where the panel has none."""
        distances = ([u - self.u0] if self.bend_before else []) + ([self.u1 - u] if self.bend_after else [])
        return min(distances, default=1e9)


@dataclass(frozen=True, kw_only=True)
class Draft:
    """A plate so far: its panels, and everything that its features have said and asked for."""

    setting: Setting
    s0_mm: float
    s1_mm: float
    panels: tuple[DraftPanel, ...]
    ends: tuple[EndKind, EndKind]  #: front, rear
    gap_mm: float = 0.0  #: the most that is left between plate and seat, round the rail's turns
    faults: tuple[Fault, ...] = ()
    findings: tuple[Finding, ...] = ()
    notes: tuple[str, ...] = ()
    bolts: tuple[BoltLine, ...] = ()
    welds: tuple[WeldJoint, ...] = ()
    drilling: tuple[Drilling, ...] = ()
    removals: tuple[Removal, ...] = ()
    hardware: tuple[HardwareItem, ...] = ()
    picked: frozenset[str] = frozenset()  #: holes of the frame that the plate already takes up
    made: frozenset[str] = frozenset()  #: "opening NAME", "recess NAME", "trim NAME": what was asked for by a place and is on this piece
    cleared: frozenset[str] = frozenset()  #: brackets that a recess makes room for
    rings: tuple[LaidRing, ...] = ()  #: round openings, on its seen face
    stops: tuple[LaidStop, ...] = ()  #: behind it, on the flanges
    split_at: tuple[SplitLine | None, SplitLine | None] = (None, None)  #: (front, rear): where another piece of the plate goes on
    run_s_mm: tuple[float, float] | None = None  #: from the first of those pieces to the last; None: it is the only one
    bend_conflicts: int = 0  #: holes, cuts and ends that a bend is in the way of: another chain of facets may have none

    def panel_at(self, s: float) -> int | None:
        """Number of the panel that faces s; None past the plate's ends."""
        if not self.s0_mm - 1e-6 <= s <= self.s1_mm + 1e-6:
            return None
        for i, panel in enumerate(self.panels):
            if s <= panel.facet.s_end_mm or i == len(self.panels) - 1:
                return i
        return None

    def at(self, s: float, z: float) -> tuple[int, Point] | None:
        """(panel, (u, z)) of a point of the unrolled web, along the web's normal; None past the plate's ends, or past a joint of it."""
        index = self.panel_at(s)
        if index is None:
            return None
        (front, rear), point = self.split_at, (self.panels[index].facet.u_at(s), z)
        if front is not None and index == 0 and front.past_mm(point) < 0:
            return None
        if rear is not None and index == len(self.panels) - 1 and rear.past_mm(point) >= 0:
            return None
        return index, point

    @property
    def whole_s_mm(self) -> tuple[float, float]:
        """The stretch that it covers together with the pieces that it is joined to."""
        return self.run_s_mm if self.run_s_mm is not None else (self.s0_mm, self.s1_mm)

    def with_panel(self, index: int, panel: DraftPanel) -> Draft:
        return replace(self, panels=(*self.panels[:index], panel, *self.panels[index + 1 :]))

    def with_holes(self, index: int, holes: Iterable[Hole]) -> Draft:
        panel = self.panels[index]
        return self.with_panel(index, replace(panel, holes=(*panel.holes, *holes)))

    def fault(self, field: str, limit: str, *, value: str = "", remedy: str = "", bends: bool = False) -> Draft:
        """`bends`: bend lines elsewhere might do away with it."""
        fault = Fault(where=self.setting.where, field=field, value=value, limit=limit, remedy=remedy)
        if fault in self.faults:
            return self
        return replace(self, faults=(*self.faults, fault), bend_conflicts=self.bend_conflicts + int(bends))

    def finding(self, finding: Finding) -> Draft:
        return replace(self, findings=(*self.findings, finding))

    def note(self, text: str) -> Draft:
        return replace(self, notes=(*self.notes, text))

    def room(self, index: int, centre: Point) -> float:
        """The least steel from a point to anything else on its panel: edge, opening or bend tangent; negative inside an opening."""
        panel = self.panels[index]
        if not panel.contour.contains(centre):
            return -1.0
        gaps = [panel.contour.distance(centre), panel.off_bends(centre[0])]
        for hole in panel.holes:
            near = ((hole.x_mm - centre[0]) ** 2 + (hole.y_mm - centre[1]) ** 2) ** 0.5
            if near - hole.reach_mm < min(gaps):
                shape = hole.contour()
                gaps.append(-1.0 if shape.contains(centre) else shape.distance(centre))
        gaps += [-1.0 if shape.contains(centre) else shape.distance(centre) for _, shape in panel.covers]
        return min(gaps)
