"""`rail_plate`: a plate that closes or doubles a rail, cut to the rail's own line in plan, side view and taper.

Covers channel and hat rails on every seat and closed rails on the outside. Does not cover plates on flanges, or a plate that would
have to bend two ways at once.
"""

from __future__ import annotations

import math
from collections.abc import Callable
from dataclasses import dataclass, replace
from typing import ClassVar, Literal

from parts import spec
from parts.errors import BadInput, Fault
from parts.families.family import WorkedCase
from parts.features.around import WAYS, Filler, Obstacle, Opens, Way, around, obstacles, runs, unmet
from parts.features.bolts import bolts
from parts.features.brackets import brackets
from parts.features.covered import covered
from parts.features.draft import Draft, Setting
from parts.features.ends import END_KINDS, EndKind, reach_mm
from parts.features.fillers import filler_piece
from parts.features.fold import fold
from parts.features.heads import heads
from parts.features.joints import joints
from parts.features.lay import Run, lay
from parts.features.legs import fillet_of, legs
from parts.features.marks import marks
from parts.features.measures import measures
from parts.features.pickups import missed, pickups
from parts.features.plugs import plugs
from parts.features.seat import SEATS, SeatKind, seat_of
from parts.features.stubs import stubs
from parts.frame.faces import Facet, UprightFace
from parts.frame.frame import Frame
from parts.frame.section import RailSide
from parts.hardware import clearance_hole, washer
from parts.material import steel
from parts.piece import Piece
from parts.shop import Shop
from parts.soundness import faults as unsound
from parts.spec import Position

STOCK_SHOP = Shop()
FEATURES: tuple[Callable[[Draft], Draft], ...] = (
    pickups, heads, brackets, bolts, plugs, marks, legs, joints, covered, measures
)  # fmt: skip


@dataclass(frozen=True, kw_only=True)
class Around:
    """The way round one crossmember."""

    UNIQUE: ClassVar[tuple[str, ...]] = ("crossmember",)

    crossmember: str = spec.name("name of a crossmember of the frame")
    way: Way = spec.choice("split the plate on it, notch it open to one edge, or a closed window", WAYS)
    opens: Opens = spec.choice("the edge a notch is open to", ("lower", "upper", "nearest"), default="nearest")
    out_first: bool = spec.flag("the crossmember comes out before the plate goes on (a window needs that)", default=False)

    def __post_init__(self) -> None:
        spec.checked(self)


@dataclass(frozen=True, kw_only=True)
class PickUp:
    """One of the frame's own holes that the plate takes up."""

    UNIQUE: ClassVar[tuple[str, ...]] = ("hole",)

    hole: str = spec.name("name of a hole in the rail's web")
    by: Literal["pin", "bolt"] = spec.choice(
        "pin: the plate's hole is as large as the frame's; bolt: a clearance hole", ("pin", "bolt"), default="pin"
    )
    bolt: str = spec.text("size of the bolt, M12 or 1/2 in", longest=20, default="")
    fit: Literal["fine", "medium", "coarse"] = spec.choice(
        "fit of the bolt's hole in the plate (ISO 273)", ("fine", "medium", "coarse"), default="medium"
    )

    def __post_init__(self) -> None:
        faults = spec.faults_of(self)
        if self.by == "bolt" and not self.bolt:
            faults.append(Fault(where="", field="bolt", limit="is needed where a hole is picked up by a bolt", remedy='bolt = "M12"'))
        elif self.by == "pin" and self.bolt:
            faults.append(
                Fault(where="", field="bolt", value=self.bolt, limit="a pin takes no bolt", remedy='by = "bolt", or leave bolt out')
            )
        elif self.bolt:
            faults += bolt_faults(self.bolt, "")
        if faults:
            raise BadInput(faults)


def bolt_faults(size: str, where: str) -> list[Fault]:
    """A size that the tables of bolts, holes and washers do not have."""
    try:
        clearance_hole(size), washer(size)
    except BadInput as error:
        return [replace(f, where=where, field="bolt") for f in error.faults]
    return []


@dataclass(frozen=True, kw_only=True)
class RailPlate:
    FAMILY: ClassVar[str] = "rail_plate"
    SUMMARY: ClassVar[str] = "boxing plate or doubler that follows a rail in plan, side view and taper"

    id: str = spec.name("the part's id: its files carry it")
    side: Literal["left", "right", "both"] = spec.choice("the rail it is for", ("left", "right", "both"), default="both")
    thickness_mm: float = spec.length("thickness of the plate", least=0.5, most=25)
    grade: str = spec.text("steel of the plate", longest=40, default="A36")
    seat: SeatKind = spec.choice(
        "toes: on the flange edges; flush: between the flanges, level with the toes; stepped: further in; outside, inside: on the web",
        SEATS,
    )
    edge: Literal["set in", "bevelled"] = spec.choice(
        "on the toes: set in from the flanges' outer faces by the fillet's leg, or level with them and bevelled",
        ("set in", "bevelled"),
        default="set in",
    )
    step_mm: float = spec.length("stepped: from the toes in to the plate's face", least=1, most=190, default=16.0)
    leg_mm: float | None = spec.length(
        "leg of the fillet along the plate; else the least by the rule tables", least=1, most=20, default=None
    )
    hang: Literal["lower", "upper"] = spec.choice(
        "the flange that the plate hangs from: the rail's depth error goes to the other edge", ("lower", "upper"), default="lower"
    )
    height_mm: float | None = spec.length(
        "height of the plate, square from its hung edge; else it fills its seat", least=10, most=400, default=None
    )
    start: Position = spec.position("its front end: the furthest point")
    end: Position = spec.position("its rear end: the furthest point")
    front_end: EndKind = spec.choice("shape of the front end", END_KINDS, default="angled")
    rear_end: EndKind = spec.choice("shape of the rear end", END_KINDS, default="angled")
    end_angle_deg: float = spec.angle("between the cut and the rail's length, angled ends and fish-mouths", least=20, most=80, default=45.0)
    mouth_radius_mm: float = spec.length("radius in the bottom of a fish-mouth", least=0, most=50, default=10.0)
    corner_radius_mm: float = spec.length("radius in the corners of notches and windows, at the most", least=0, most=50, default=6.0)
    crossmembers: Way = spec.choice("the way round every crossmember that is not named under around", WAYS, default="split")
    around: tuple[Around, ...] = spec.tables(Around, "the way round single crossmembers")
    pick_up: tuple[PickUp, ...] = spec.tables(PickUp, "holes of the frame that the plate takes up")
    attach: Literal["weld", "plug", "bolt"] = spec.choice(
        "welded along its edges, by plug welds, or bolted", ("weld", "plug", "bolt"), default="weld"
    )
    plug_diameter_mm: float | None = spec.length("plug welds: hole in the plate; else thickness + 8 mm", least=5, most=60, default=None)
    plug_pitch_mm: float = spec.length(
        "plug welds: centre to centre along the rail (at least 4 diameters)", least=20, most=1000, default=120.0
    )
    plug_rows: int = spec.integer("plug welds: rows, one above the other", least=1, most=4, default=2)
    bolt: str = spec.text("bolted: size of the bolts", longest=20, default="M12")
    bolt_pitch_mm: float = spec.length("bolted: centre to centre along the rail", least=40, most=1000, default=120.0)
    heads: Literal["clear", "remove"] = spec.choice(
        "rivet and bolt heads under the plate: clearance holes, or all come out", ("clear", "remove"), default="clear"
    )

    def __post_init__(self) -> None:
        faults = spec.faults_of(self, f"part {self.id}")
        try:
            steel(self.grade)
        except BadInput as error:
            faults += [replace(f, where=f"part {self.id}", field="grade") for f in error.faults]
        faults += bolt_faults(self.bolt, f"part {self.id}")
        if faults:
            raise BadInput(faults)

    @property
    def needs(self) -> tuple[str, ...]:
        return ()

    @property
    def _sides(self) -> tuple[RailSide, ...]:
        return ("left", "right") if self.side == "both" else (self.side,)

    def build(self, frame: Frame, shop: Shop = STOCK_SHOP) -> tuple[Piece, ...]:
        """The plate's pieces on each side: one, or several where it is split, and the filler pieces of its notches.

        Raises:
            BadInput: with every fault of the plate on this frame.
        """
        found: list[Fault] = []
        pieces: list[Piece] = []
        for side in self._sides:
            try:
                pieces += self._build_side(frame, shop, side)
            except BadInput as error:
                found += [f for f in error.faults if f not in found]
        if found:
            raise BadInput(found)
        return tuple(pieces)

    def faces(self, frame: Frame, shop: Shop = STOCK_SHOP) -> tuple[UprightFace, ...]:
        out = []
        for side in self._sides:
            setting = self._setting(frame, shop, side)
            face, t = setting.face, self.thickness_mm
            stack = setting.rail.thickness_mm + t if setting.seat.on_web else 0.0
            offset = face.offset_mm + face.away * t
            edges = (setting.lower(), setting.upper())
            out.append(replace(face, offset_mm=offset, stack_mm=stack, thickness_mm=t, edges=edges, whole_s_mm=self._whole(setting)))
        return tuple(out)

    def _whole(self, setting: Setting) -> tuple[float, float]:
        """From where to where the plate has its whole height: behind its shaped ends, which on a slope lean besides."""
        stops: list[float] = []
        for kind, s, inwards in ((self.front_end, setting.face.s0_mm, 1), (self.rear_end, setting.face.s1_mm, -1)):
            height = abs(setting.height_at(s))
            leaning = height * abs(math.sin(setting.rail.profile.slope_rad(s)))
            stops.append(s + inwards * (reach_mm(kind, height, self.end_angle_deg) + leaning))
        return stops[0], stops[1]

    def _setting(self, frame: Frame, shop: Shop, side: RailSide) -> Setting:
        """Raises BadInput: the seat cannot be, or its ends are not on this rail or in the wrong order."""
        rail, where = frame.rail(side), f"part {self.id}"
        faults: list[Fault] = []
        ends: list[float] = []
        for field, position in (("start", self.start), ("end", self.end)):
            try:
                ends.append(rail.s_at(position))
            except BadInput as error:
                faults += [replace(f, where=where, field=f"{field}.{f.field}" if f.field else field) for f in error.faults]
        if len(ends) == 2 and ends[1] <= ends[0]:
            limit = f"the end lies {ends[0] - ends[1]:.0f} mm in front of the start ({self.start}) on {rail.name}"
            faults.append(Fault(where=where, field="end", value=str(self.end), limit=limit, remedy="swap start and end"))
        leg = self.leg_mm if self.leg_mm is not None else fillet_of(self, rail.section).leg_mm
        seat = seat_of(
            self.seat, rail.section, thickness_mm=self.thickness_mm, step_mm=self.step_mm, bevelled=self.edge == "bevelled",
            leg_mm=leg, root_gap_mm=shop.root_gap_mm, where=where,
        )  # fmt: skip
        if isinstance(seat, Fault):
            faults.append(seat)
        if faults or isinstance(seat, Fault):
            raise BadInput(faults)
        face = UprightFace(
            name=self.id, rail=rail, offset_mm=seat.offset_mm, away=seat.away, s0_mm=ends[0], s1_mm=ends[1],
            stack_mm=rail.thickness_mm if seat.on_web else 0.0, thickness_mm=rail.thickness_mm,
        )  # fmt: skip
        return Setting(plate=self, frame=frame, shop=shop, rail=rail, seat=seat, face=face)

    def _build_side(self, frame: Frame, shop: Shop, side: RailSide) -> list[Piece]:
        setting = self._setting(frame, shop, side)
        best = self._best(setting)
        drafts = [draft for draft, _ in best]
        faults = list(dict.fromkeys(f for d in drafts for f in d.faults))
        faults += [self._not_on(setting, name) for name in missed(drafts)]
        pieces: list[Piece] = []
        for number, (draft, fillers) in enumerate(best, start=1):
            if not draft.faults:
                pieces += self._pieces(draft, fillers, number if len(best) > 1 else None)
        faults += [f for p in pieces for f in unsound(p.part)]
        if faults:
            raise BadInput(faults)
        return pieces

    def _best(self, setting: Setting) -> list[tuple[Draft, tuple[Filler, ...]]]:
        """The first chain of facets whose bends are in nothing's way; else the one with the fewest conflicts.

        Raises:
            BadInput: no plate can be laid on any of them; the faults are those of the first.
        """
        face = setting.face
        best: list[tuple[Draft, tuple[Filler, ...]]] = []
        least, failed = math.inf, None
        for chain in face.chains(setting.shop.weld_gap_mm):
            try:
                drafts = self._drafts(setting, chain, face.s0_mm, face.s1_mm)
            except BadInput as error:
                failed = failed or error
                continue
            conflicts = sum(d.bend_conflicts for d, _ in drafts)
            if conflicts < least:
                best, least = drafts, conflicts
            if conflicts == 0:
                break
        if not best:
            assert failed is not None, "a face has one chain at least"
            raise failed
        return best

    def _not_on(self, setting: Setting, name: str) -> Fault:
        own, face = setting.frame.hole(name, setting.rail.side), setting.face
        limit = (
            f"is not on the plate: it lies at s = {own.s_mm:.0f} mm on {setting.rail.name}, "
            f"the plate runs from {face.s0_mm:.0f} to {face.s1_mm:.0f} mm less what crossmembers take"
        )
        remedy = "move the plate's end past it, or leave it out"
        return Fault(where=setting.where, field="pick_up.hole", value=name, limit=limit, remedy=remedy)

    def _drafts(self, setting: Setting, chain: tuple[Facet, ...], s0: float, s1: float) -> list[tuple[Draft, tuple[Filler, ...]]]:
        found, faults = obstacles(setting, chain, s0, s1)
        out = [self._draft(setting, chain, run, found) for run in runs(setting, found, s0, s1)]
        if not out:
            limit = "nothing is left of the plate between its crossmembers"
            raise BadInput([*faults, Fault(where=setting.where, field="start, end", limit=limit, remedy="move its ends past one of them")])
        first, fillers = out[0]
        if not faults:
            first = replace(first, notes=(*first.notes, *unmet(setting, found)))
        out[0] = (replace(first, faults=(*faults, *first.faults)), fillers)
        return out

    def _draft(self, setting: Setting, chain: tuple[Facet, ...], run: Run, found: list[Obstacle]) -> tuple[Draft, tuple[Filler, ...]]:
        draft = lay(setting, chain, run)
        draft, fillers = around(draft, found)
        draft = stubs(draft)
        for feature in FEATURES:
            draft = feature(draft)
        return draft, fillers

    def _pieces(self, draft: Draft, fillers: tuple[Filler, ...], number: int | None) -> list[Piece]:
        setting = draft.setting
        stem = f"{self.id}-{setting.rail.side}"
        name = stem if number is None else f"{stem}-{number}"
        part, placement = fold(draft, name)
        pieces = [
            Piece(
                id=name, family=self.FAMILY, side=setting.rail.side, part=part, grade=self.grade, placements=(placement,),
                bolts=draft.bolts, welds=draft.welds, drilling=draft.drilling, removals=draft.removals, hardware=draft.hardware,
                findings=draft.findings, notes=draft.notes,
            )
        ]  # fmt: skip
        if not any(panel.labels for panel in part.panels):
            pieces[0] = replace(pieces[0], notes=(*draft.notes, "no room to etch its id: mark it by hand before it leaves the sheet"))
        return pieces + [filler_piece(draft, filler, f"{stem}-filler-{filler.name}", onto=name) for filler in fillers]

    @classmethod
    def worked(cls) -> WorkedCase:
        from parts.families.rail_plate_worked import worked

        return worked()
