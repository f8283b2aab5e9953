"""The frame: a thin container of rails and what they carry, as the frame file gives it, and of what follows from it."""

from __future__ import annotations

import copy
from collections.abc import Iterable, Mapping
from dataclasses import dataclass, replace
from functools import cached_property
from types import MappingProxyType
from typing import TYPE_CHECKING, Literal

from parts import spec
from parts.errors import BadInput, Fault
from parts.frame.checks import frame_faults, rail_pair_faults, told_once
from parts.frame.crossmember import Crossmember, PlacedCrossmember
from parts.frame.features import BodyMount, Bracket, Condition, FrameHole, KeepVisible
from parts.frame.measured import FIRST_SET, ControlPoint, Limits, Reading, SectionReading, SurveySet
from parts.frame.names import Feature, resolve, unknown_place
from parts.frame.placed import (
    FacePlace,
    PlacedHole,
    PlacedMount,
    PlacedPatch,
    across_of,
    face_place,
    placed_crossmember,
    placed_hole,
    placed_mount,
    placed_patch,
)
from parts.frame.placing import SIDES
from parts.frame.rail import Rail
from parts.frame.section import Face, RailSide
from parts.frame.space import KeepOut
from parts.frame.station import DrawnRail
from parts.sheet import Vec3

if TYPE_CHECKING:
    from parts.frame.faces import UprightFace
    from parts.frame.found import Found
    from parts.frame.offers import FlatFace, Seat
    from parts.piece import Piece

HeatTreated = Literal["yes", "no", "unknown"]


@dataclass(frozen=True, kw_only=True)
class Steel:
    """What the frame is made of."""

    grade: str = spec.text("the frame's steel as far as it is known: mild steel, a stamped mark, unknown", longest=60)
    heat_treated: HeatTreated = spec.choice(
        "whether the rails are heat-treated; unknown is treated as yes: nothing is welded to them", ("yes", "no", "unknown")
    )

    def __post_init__(self) -> None:
        spec.checked(self)


@dataclass(frozen=True, kw_only=True)
class Use:
    """What the vehicle is used for: rules bind only the use that they are written for."""

    road: bool = spec.flag("driven on public roads")
    commercial: bool = spec.flag("used for hire or business")

    def __post_init__(self) -> None:
        spec.checked(self)


@dataclass(frozen=True, kw_only=True)
class Datum:
    """In words, where x = 0 and z = 0 are on the vehicle."""

    x: str = spec.text("what x = 0 is: a hole, the front end of the rails")
    z: str = spec.text("what z = 0 is: the floor, a level line under the frame")

    def __post_init__(self) -> None:
        spec.checked(self)


@dataclass(frozen=True, kw_only=True)
class Frame:
    """A vehicle's frame in vehicle axes: x rearward, y to the right, z up, in mm.

    Raises:
        BadInput: with every fault of the frame, when it is made.
    """

    format: int = spec.integer("version of the file's layout", least=1, most=1)
    name: str = spec.text("what the frame is, in a few words", longest=100)
    units: Literal["mm", "in"] = spec.choice("what a plain number in the file is", ("mm", "in"))
    steel: Steel = spec.table(Steel, "what the frame is made of")
    use: Use = spec.table(Use, "what the vehicle is used for")
    datum: Datum = spec.table(Datum, "where x = 0 and z = 0 are")
    rails: tuple[DrawnRail, ...] = spec.tables(DrawnRail, "one of side both, or one left and one right", required=True, key="rail")
    holes: tuple[FrameHole, ...] = spec.tables(FrameHole, "holes in the rails, and what fills them", key="hole")
    crossmembers: tuple[Crossmember, ...] = spec.tables(Crossmember, "what ties the rails together", key="crossmember")
    brackets: tuple[Bracket, ...] = spec.tables(Bracket, "what is fastened to the rails and stays or is cut off", key="bracket")
    body_mounts: tuple[BodyMount, ...] = spec.tables(BodyMount, "what the cab and bed stand on", key="body_mount")
    keep_visible: tuple[KeepVisible, ...] = spec.tables(KeepVisible, "what may not be covered, welded or ground", key="keep_visible")
    keep_out: tuple[KeepOut, ...] = spec.tables(KeepOut, "room that no part may enter", key="keep_out")
    conditions: tuple[Condition, ...] = spec.tables(Condition, "damage and old repairs that were found", key="condition")
    control_points: tuple[ControlPoint, ...] = spec.tables(ControlPoint, "points that are measured", key="control_point")
    readings: tuple[Reading, ...] = spec.tables(Reading, "measurements as read off", key="reading")
    readings_file: str | None = spec.text("a CSV file beside this one with more readings", longest=200, default=None)
    section_readings: tuple[SectionReading, ...] = spec.tables(SectionReading, "the rails' section as measured", key="section_reading")
    sets: tuple[SurveySet, ...] = spec.tables(SurveySet, "what is to be known of each set of readings, in order of time", key="set")
    limits: Limits | None = spec.table(Limits, "how far off is still in, in place of the manuals' figures", default=None)
    faces: tuple[UprightFace, ...] = ()  #: upright faces that parts built before put on this frame
    built: tuple[tuple[str, Piece], ...] = ()  #: (id of the part, piece) of parts built before
    found: Found | None = None  #: what its rails were measured to be; None: they lie as drawn

    def __post_init__(self) -> None:
        for field in ("readings", "section_readings"):
            object.__setattr__(self, field, tuple(r if r.set else replace(r, set=self.first_set) for r in getattr(self, field)))
        if faults := self.faults():
            raise BadInput(faults)

    @property
    def first_set(self) -> str:
        """The set of readings that name none."""
        return self.sets[0].name if self.sets else FIRST_SET

    def faults(self) -> list[Fault]:
        """Everything that is wrong between the parts of the frame; empty once it is made."""
        faults = spec.faults_of(self)
        pair = rail_pair_faults(self.rails)
        if pair:
            return faults + pair
        return faults + told_once([*self._resolved[1], *frame_faults(self)])

    @cached_property
    def _resolved(self) -> tuple[dict[RailSide, Rail], list[Fault]]:
        if self.found is not None:
            return dict(self.found.rails), []
        drawn = {side: next(r for r in self.rails if r.side in (side, "both")) for side in SIDES}
        return resolve({side: Rail.of(drawn[side], side) for side in SIDES}, self.features)

    @property
    def features(self) -> tuple[Feature, ...]:
        """Everything that has a place along the rails, and whose name is one."""
        return (
            *self.holes,
            *self.crossmembers,
            *self.brackets,
            *self.body_mounts,
            *self.keep_visible,
            *self.conditions,
            *self.control_points,
        )

    @property
    def sides(self) -> tuple[RailSide, ...]:
        return SIDES

    @property
    def mirrored(self) -> bool:
        """Whether the left rail is the right one's mirror image."""
        return len(self.rails) == 1 and self.found is None

    def rail(self, side: RailSide) -> Rail:
        return self._resolved[0][side]

    @cached_property
    def _holes(self) -> Mapping[RailSide, Mapping[str, PlacedHole]]:
        return {
            side: {h.name: placed_hole(h, self.rail(side)) for h in self.holes if side in h.sides and h.name in self.rail(side).places}
            for side in SIDES
        }

    @property
    def hole_keys(self) -> frozenset[tuple[RailSide, str]]:
        """(side, name) of every hole."""
        return frozenset((side, name) for side in SIDES for name in self._holes[side])

    def hole(self, name: str, side: RailSide) -> PlacedHole:
        """A rail's own hole by name.

        Raises:
            BadInput: that rail has no hole of that name; the nearest names are offered.
        """
        holes = self._holes[side]
        if name not in holes:
            raise BadInput(unknown_place(name, holes, f"rail {side} has no hole", field="hole"))
        return holes[name]

    def holes_on(
        self, side: RailSide, s0: float | None = None, s1: float | None = None, face: Face | None = None
    ) -> tuple[PlacedHole, ...]:
        """The rail's holes of one face (or all), from front to rear, whose edge or head reaches into s0 <= s <= s1."""

        def reaches(hole: PlacedHole) -> bool:
            reach = max(hole.diameter_mm, hole.head_across_mm) / 2
            return (s0 is None or hole.s_mm + reach >= s0) and (s1 is None or hole.s_mm - reach <= s1)

        found = (h for h in self._holes[side].values() if face in (None, h.face) and reaches(h))
        return tuple(sorted(found, key=lambda h: (h.s_mm, h.z_mm, h.name)))

    @cached_property
    def placed_crossmembers(self) -> tuple[PlacedCrossmember, ...]:
        """From front to rear."""
        rails = self._resolved[0]
        known = (c for c in self.crossmembers if all(c.name in rails[side].places for side in SIDES))
        return tuple(sorted((placed_crossmember(c, rails) for c in known), key=lambda c: (c.x_mm, c.name)))

    def crossmember(self, name: str) -> PlacedCrossmember:
        """A crossmember by name.

        Raises:
            BadInput: there is none of that name; the nearest names are offered.
        """
        for placed in self.placed_crossmembers:
            if placed.name == name:
                return placed
        known = [c.name for c in self.crossmembers]
        raise BadInput(unknown_place(name, known, "the frame has no crossmember", field="crossmember"))

    def crossmembers_at(self, side: RailSide, s0: float, s1: float) -> tuple[PlacedCrossmember, ...]:
        """The crossmembers that touch s0 <= s <= s1 on that rail, from front to rear."""
        return tuple(c for c in self.placed_crossmembers if c.s_range(side)[1] >= s0 and c.s_range(side)[0] <= s1)

    @cached_property
    def placed_brackets(self) -> tuple[PlacedPatch, ...]:
        return tuple(
            placed_patch(b, self.rail(side), b.length_mm, b.height_mm)
            for b in self.brackets
            for side in b.sides
            if b.name in self.rail(side).places
        )

    @cached_property
    def placed_mounts(self) -> tuple[PlacedMount, ...]:
        return tuple(placed_mount(m, self.rail(side)) for m in self.body_mounts for side in m.sides if m.name in self.rail(side).places)

    @cached_property
    def placed_keep_visible(self) -> tuple[PlacedPatch, ...]:
        return tuple(
            placed_patch(k, self.rail(side), k.length_mm, k.height_mm)
            for k in self.keep_visible
            for side in k.sides
            if k.name in self.rail(side).places
        )

    @cached_property
    def placed_conditions(self) -> tuple[PlacedPatch, ...]:
        """Each as a patch: its length along the rail, and the whole height of its face where up and in are left out."""
        return tuple(
            placed_patch(c, self.rail(side), c.length_mm or 0.0, 0.0 if across_of(c) is not None else None)
            for c in self.conditions
            for side in c.sides
            if c.name in self.rail(side).places
        )

    def control_place(self, point: ControlPoint, side: RailSide) -> FacePlace:
        """Where a control point lies on that rail: see `ControlPoint`."""
        rail, at = self.rail(side), point.position.at
        across = across_of(point)
        if across is not None:
            return face_place(rail, point.face, rail.places[point.name], across)
        if at is not None and not point.position.offset_mm and at in self._holes[side]:
            return self._holes[side][at].place
        return face_place(rail, "upper flange", rail.places[point.name], 0.0)

    @cached_property
    def control_coordinates(self) -> Mapping[str, Vec3]:
        """Control point key (see `ControlPoint.key`) -> (x, y, z) as drawn."""
        return MappingProxyType({p.key(side): self.control_place(p, side).point for p in self.control_points for side in p.sides})

    def lying(self, found: Found) -> Frame:
        """The same frame with its rails as found: see `parts.frame.found.as_found`. What other parts put on it is gone."""
        other = copy.copy(self)
        for name in [name for name in vars(other) if name not in self.__dataclass_fields__]:
            del vars(other)[name]  # worked out on the rails as drawn
        return other._also(found=found, faces=(), built=())

    def with_faces(self, faces: Iterable[UprightFace]) -> Frame:
        """The same frame, on which other parts may also be seated against these faces; a face of the same name and side is replaced."""
        merged = {(f.name, f.side): f for f in (*self.faces, *faces)}
        return self._also(faces=tuple(merged.values()))

    def with_built(self, part: str, pieces: Iterable[Piece]) -> Frame:
        """The same frame, on which the panels and the seats of this part's pieces are there for other parts to land on."""
        return self._also(built=(*self.built, *((part, piece) for piece in pieces)))

    def _also(self, **fields: object) -> Frame:
        """The frame itself has not changed: what has been checked and worked out once goes along."""
        other = copy.copy(self)
        for name, value in fields.items():
            object.__setattr__(other, name, value)
        return other

    def face(self, name: str, side: RailSide) -> UprightFace:
        """A face that another part put on this frame.

        Raises:
            BadInput: there is none of that name on that side; the nearest names are offered.
        """
        known = {f.name: f for f in self.faces if f.side == side}
        if name not in known:
            raise BadInput(unknown_place(name, known, f"no part before this one has a face on the {side} side", field="on"))
        return known[name]

    def seat(self, name: str, side: RailSide) -> Seat:
        """The seat of a part built before.

        Raises:
            BadInput: no part of that id has a seat on that side; the nearest ids are offered.
        """
        known = {seat.name: seat for _, piece in self.built for seat in piece.seats if seat.side == side}
        if name not in known:
            raise BadInput(unknown_place(name, known, f"no part before this one has a seat on the {side} side", field="on"))
        return known[name]

    def flats(self, part: str, side: RailSide) -> tuple[FlatFace, ...]:
        """Both faces of every panel of the pieces of a part built before, on that side and on neither.

        Raises:
            BadInput: no part of that id has a piece there; the nearest ids are offered.
        """
        from parts.landing import flat_faces

        here = [(owner, piece) for owner, piece in self.built if piece.side in (side, "both", "centre")]
        known = {owner for owner, _ in here}
        if part not in known:
            raise BadInput(unknown_place(part, known, f"no part before this one has a piece on the {side} side", field="on"))
        return tuple(face for owner, piece in here if owner == part for face in flat_faces(piece))
