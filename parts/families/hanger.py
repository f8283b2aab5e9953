"""`hanger`: a folded tab on a rail's web, a plate or a crossmember that carries a pipe where it runs.

Covers flat places on straights of a rail, on the flat panels of a part, and on the flat sides of a crossmember. Does not cover places on a
turn of the rail, on a round crossmember, or pipes that run steeply at the face.
"""

from __future__ import annotations

from collections.abc import Callable
from dataclasses import dataclass, replace
from typing import TYPE_CHECKING, ClassVar, Literal

from parts import spec
from parts.errors import BadInput, Fault
from parts.frame.section import RailSide
from parts.frame.space import SpacePoint
from parts.shop import Shop
from parts.spec import Position

if TYPE_CHECKING:
    from parts.families.family import WorkedCase
    from parts.frame.faces import UprightFace
    from parts.frame.frame import Frame
    from parts.piece import Piece

PLAIN = Shop()  #: a shop of which nothing is said
THICKEST_MM = 12.0  #: where the table of least inside radii ends
WEBS = ("web", "web-outside")
KINDS = ("clip", "ring", "rubber")
WAYS = ("auto", "front", "rear", "below", "above", "left", "right")


@dataclass(frozen=True, kw_only=True)
class HangerPlace:
    """One place of several."""

    UNIQUE: ClassVar[tuple[str, ...]] = ("at",)

    at: Position = spec.position("where along the rail")


@dataclass(frozen=True, kw_only=True)
class Hanger:
    """The parameters of a hanger."""

    FAMILY: ClassVar[str] = "hanger"
    SUMMARY: ClassVar[str] = (
        "folded tab on a web, a plate or a crossmember for a pipe: with a bolt for a clip, a ring, or a slot for a rubber"
    )

    id: str = spec.name("the part's id: its files carry it")
    side: Literal["left", "right", "both"] = spec.choice(
        "the rail; on a crossmember it has no say", ("left", "right", "both"), default="left"
    )
    on: str = spec.name(
        "web (the face that looks inboard), web-outside, the id of a part before, or a crossmember of the frame", default="web"
    )
    pipe: str | None = spec.name("the keep_out of shape path that is the pipe: its line and diameter", default=None)
    point: SpacePoint | None = spec.table(
        SpacePoint,
        "in place of pipe: the pipe's centre; it runs along the rail there, past a crossmember along the vehicle. On both sides "
        "y is the right one's",
        default=None,
    )
    diameter_mm: float | None = spec.length("with point: the pipe's outside diameter", least=2, most=300, default=None)
    carries: Literal["brake", "fuel", "hot", "other"] = spec.choice(
        "what the pipe carries, for what is said about it: brake fluid, fuel, hot gas", ("brake", "fuel", "hot", "other"), default="other"
    )
    at: Position | None = spec.position("where along the rail", default=None)
    places: tuple[HangerPlace, ...] = spec.tables(HangerPlace, "in place of at: several places", key="place")
    every_mm: float | None = spec.length(
        "in place of at: tabs along the pipe from start to end, at most this apart, none in a turn or near a crossmember",
        least=50,
        most=3000,
        default=None,
    )
    start: Position | None = spec.position("with every: the first place", default=None)
    end: Position | None = spec.position("with every: the last place", default=None)
    off_crossmember_mm: float = spec.length("with every: from a tab to the next crossmember", least=0, most=500, default=30.0)
    y_mm: float | None = spec.length("on a crossmember, pipe across the vehicle: where along it", least=-3000, most=3000, default=None)
    kind: Literal["clip", "ring", "rubber"] = spec.choice(
        "clip: the leg runs beside the pipe, one hole for the bolt of a pipe clip; ring: the leg stands across, the pipe goes through it "
        "in a grommet; rubber: the leg stands across, with a slot for the bolt of a rubber that carries the pipe", KINDS,
    )  # fmt: skip
    base: Literal["auto", "front", "rear", "below", "above", "left", "right"] = spec.choice(
        "which way the base lies from the pipe or the leg; auto: front or below, else whatever has room", WAYS, default="auto"
    )
    thickness_mm: float = spec.length("thickness of the steel", least=1, most=THICKEST_MM)
    grade: str = spec.text("steel of the tab", longest=40, default="A36")
    grommet_mm: float = spec.length("ring: the grommet's wall round the pipe", least=0, most=20, default=2.0)
    band_mm: float = spec.length("clip: band and lining between the pipe and the leg", least=0, most=20, default=1.5)
    clip_off_mm: float | None = spec.length(
        "clip: from the pipe's centre to the clip's bolt; else what band and washer need", least=4, most=300, default=None
    )
    rubber_mm: float = spec.length("rubber: from the pipe's centre to the slot's middle, towards the face", least=5, most=400, default=60.0)
    travel_mm: float = spec.length("rubber: how far the bolt can be set along its slot", least=1, most=80, default=15.0)
    bolt: str = spec.text("clip, rubber: size of the bolt through the leg", longest=20, default="M6")
    rim_mm: float | None = spec.length("steel round the leg's hole; else 2 t, at least 6 mm", least=1, most=60, default=None)
    width_mm: float | None = spec.length("of the tab along its bend; else what hole, rim and bolts need", least=8, most=300, default=None)
    foot_mm: float | None = spec.length("of the base, from the leg's outer face to its free edge; else what it needs", least=8, most=300,
                                        default=None)  # fmt: skip
    longest_mm: float = spec.length("a leg longer than this is told", least=10, most=600, default=150.0)
    attach: Literal["weld", "bolt"] = spec.choice(
        "the base welded round, or bolted through the web or plate", ("weld", "bolt"), default="weld"
    )
    leg_mm: float | None = spec.length("leg of the fillet round the base; else by the rule tables", least=1, most=20, default=None)
    base_bolt: str = spec.text("bolted: size of the bolts", longest=20, default="M8")
    bolts: int = spec.integer("bolted: how many new holes", least=0, most=2, default=1)
    pick_up: tuple[str, ...] = spec.names("bolted: holes of the rail's web that the base takes up, before any new one", default=())

    def __post_init__(self) -> None:
        from parts.hardware import clearance_hole
        from parts.material import steel

        where = f"part {self.id}"
        faults = spec.faults_of(self, where)
        checks: list[tuple[str, Callable[[], object]]] = [("grade", lambda: steel(self.grade))]
        if self.kind != "ring":
            checks.append(("bolt", lambda: clearance_hole(self.bolt, "medium")))
        if self.attach == "bolt":
            checks.append(("base_bolt", lambda: clearance_hole(self.base_bolt, "medium")))
        for field, check in checks:
            try:
                check()
            except BadInput as error:
                faults += [replace(f, where=where, field=field) for f in error.faults]
        faults += [replace(f, where=where) for f in (*self._pipe_faults(), *self._place_faults(), *self._base_faults())]
        if faults:
            raise BadInput(faults)

    def _pipe_faults(self) -> list[Fault]:
        if (self.pipe is None) == (self.point is None):
            value = "" if self.pipe is None else f"{self.pipe} and a point"
            limit, remedy = "give the pipe once: its name, or point and diameter", "pipe = NAME, or point = { x, y, z } with diameter"
            return [Fault(where="", field="pipe", value=value, limit=limit, remedy=remedy)]
        if (self.point is None) != (self.diameter_mm is None):
            limit = "a point needs the pipe's diameter" if self.diameter_mm is None else "a path has a diameter of its own"
            remedy = "diameter = LENGTH" if self.diameter_mm is None else "leave it out"
            return [Fault(where="", field="diameter", limit=limit, remedy=remedy)]
        return []

    def _place_faults(self) -> list[Fault]:
        asked = [k for k, v in (("at", self.at), ("place", self.places or None), ("every", self.every_mm)) if v is not None]
        out = []
        if len(asked) > 1:
            limit, remedy = "give the places once", "at for one, [[part.place]] for several, every with start and end for a row"
            out.append(Fault(where="", field=asked[1], value=" and ".join(asked), limit=limit, remedy=remedy))
        for field, value in (("start", self.start), ("end", self.end)):
            if (value is None) == (self.every_mm is not None):
                limit = "is needed with every" if value is None else "goes with every alone"
                remedy = f"{field} = a place along the rail" if value is None else "leave it out, or give every"
                out.append(Fault(where="", field=field, value="" if value is None else str(value), limit=limit, remedy=remedy))
        if self.every_mm is not None and self.pipe is None:
            limit, remedy = "goes along a pipe that has a line", "pipe = NAME of a keep_out of shape path, or at"
            out.append(Fault(where="", field="every", value=f"{self.every_mm:g} mm", limit=limit, remedy=remedy))
        return out

    def _base_faults(self) -> list[Fault]:
        out = []
        if self.attach == "weld" and self.pick_up:
            limit, remedy = "holes are picked up by bolts, and this base is welded", 'attach = "bolt"'
            out.append(Fault(where="", field="pick_up", value=", ".join(self.pick_up), limit=limit, remedy=remedy))
        if self.attach == "bolt" and self.bolts == 0 and not self.pick_up:
            limit, remedy = "leaves a bolted base without a bolt", "at least 1, or name holes under pick_up"
            out.append(Fault(where="", field="bolts", value="0", limit=limit, remedy=remedy))
        return out

    @property
    def needs(self) -> tuple[str, ...]:
        return () if self.on in WEBS else (self.on,)

    @property
    def sides(self) -> tuple[RailSide, ...]:
        return ("left", "right") if self.side == "both" else (self.side,)

    def faces(self, frame: Frame, shop: Shop = PLAIN) -> tuple[UprightFace, ...]:
        return ()

    def build(self, frame: Frame, shop: Shop = PLAIN) -> tuple[Piece, ...]:
        """One piece a shape: equal tabs are one piece with several placements.

        Raises:
            BadInput: with every fault of the hanger on this frame.
        """
        from parts.features.tab.build import build

        return build(self, frame, shop)

    @classmethod
    def worked(cls) -> WorkedCase:
        from parts.families.hanger_worked import worked

        return worked()
