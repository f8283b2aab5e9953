"""`mount_pad`: a pad for an engine, gearbox or body mount, folded up from a rail to a given point and tilt.

The base stands on a rail's web (either face), on the outside of a flange, or on a rail plate; the top is a plane through the given
point. Its normal is that of slopes in two upright planes: N is proportional to (-tan along, -tan across, 1), so that a level laid along
the vehicle reads `tilt_along` and one laid across reads `tilt_across`, in whatever order. Covers bases on straight stretches of a rail.
Does not cover bases across a turn, hollow stands, or whether the pad is strong enough for what it carries.
"""

from __future__ import annotations

from collections.abc import Callable
from dataclasses import dataclass, replace
from typing import TYPE_CHECKING, ClassVar, Literal

from parts import spec
from parts.errors import BadInput, Fault
from parts.shop import Shop
from parts.spec import Position

if TYPE_CHECKING:
    from parts.families.family import WorkedCase
    from parts.frame.faces import UprightFace
    from parts.frame.frame import Frame
    from parts.frame.section import RailSide
    from parts.piece import Piece

PLAIN = Shop()  #: a shop of which nothing is said
THICKEST_MM = 12.0  #: where the table of least inside radii ends
WEB_FACES = ("web", "web-outboard")
FLANGE_FACES = ("upper-flange", "lower-flange")
Leaves = Literal["auto", "upper", "lower", "inboard", "outboard"]
LEAVES: tuple[Leaves, ...] = ("auto", "upper", "lower", "inboard", "outboard")
Pattern = Literal["one", "two", "four", "ring"]
PATTERNS: tuple[Pattern, ...] = ("one", "two", "four", "ring")


@dataclass(frozen=True, kw_only=True)
class MountPad:
    """The parameters of a mount pad."""

    FAMILY: ClassVar[str] = "mount_pad"
    SUMMARY: ClassVar[str] = "engine, gearbox or body-mount pad, folded up from a rail to a given point and tilt"

    id: str = spec.name("the part's id: its files carry it")
    side: Literal["left", "right", "pair"] = spec.choice("the rail it is for", ("left", "right", "pair"), default="pair")
    on: str = spec.name(
        "what the base stands on: web (the face that looks inboard), web-outboard, upper-flange, lower-flange (their outsides), or the "
        "id of a rail plate of the job", default="web",
    )  # fmt: skip
    at: Position | None = spec.position("the point on the top, along the rail; where the two rails disagree, midway", default=None)
    out_mm: float | None = spec.length(
        "from the web's outside face straight across the vehicle to the point: + inboard, below 0 outboard; rails that disagree: midway",
        least=-600, most=900, default=None,
    )  # fmt: skip
    y_mm: float | None = spec.length(
        "in place of out: from the vehicle's centreline to the point, on the part's own side; below 0: past it", least=-900, most=2500,
        default=None,
    )  # fmt: skip
    rise_mm: float | None = spec.length(
        "from the rail's upper corner up to the point; below 0: under it; rails that disagree: midway", least=-900, most=900, default=None
    )
    z_mm: float | None = spec.length("in place of rise: height of the point in vehicle axes", least=-2000, most=5000, default=None)
    carries: str | None = spec.name("in place of all these: the body mount of the frame that is carried through", default=None)
    tilt_along_deg: float = spec.angle("slope of the top along the vehicle, + rises rearward", least=-60, most=60, default=0.0)
    tilt_across_deg: float = spec.angle("slope of the top across, + rises the way of across_rises", least=-60, most=60, default=0.0)
    across_rises: Literal["inboard", "right"] = spec.choice(
        "inboard: left and right pads mirror each other; right: both lean one way", ("inboard", "right"), default="inboard"
    )
    thickness_mm: float = spec.length("thickness of the steel", least=1.5, most=THICKEST_MM)
    grade: str = spec.text("steel of the pad", longest=40, default="A36")
    width_mm: float = spec.length("of the base along the rail", least=30, most=600)
    height_mm: float | None = spec.length(
        "of the base, from the outside corner of its bend to its free edge; else all that the face has", least=20, most=500, default=None
    )
    leaves: Leaves = spec.choice("the edge of the base that the stand is bent off; auto: by where the point lies", LEAVES, default="auto")
    fold: Literal["auto", "straight", "arm"] = spec.choice(
        "straight: the top bent off the base; arm: an arm between them, bent twice; auto: straight where it can be",
        ("auto", "straight", "arm"), default="auto",
    )  # fmt: skip
    foot_mm: float | None = spec.length(
        "arm: where its bend's outside corner lies on the base: on a web or plate down from the rail's upper corner, on a flange in from "
        "the web's outside face; else as the rail leaves room", least=-300, most=500, default=None,
    )  # fmt: skip
    top_width_mm: float | None = spec.length("of the top's free edge; else the base's width", least=20, most=600, default=None)
    top_reach_mm: float = spec.length("from the point to the top's free edge", least=10, most=400)
    top_back_mm: float | None = spec.length(
        "arm: from the point back to the outside corner of the top's bend; else what the holes need", least=10, most=400, default=None
    )
    pattern: Pattern = spec.choice("holes in the top for the isolator, round the point; ring: on a circle", PATTERNS, default="one")
    top_bolt: str = spec.text("size of the bolts through the top, M12 or 1/2 in", longest=20, default="M12")
    top_hole_mm: float | None = spec.length("diameter of those holes; else a clearance hole for the bolt", least=4, most=120, default=None)
    pitch_along_mm: float = spec.length("two, four: middle to middle along the vehicle (0: not that way)", least=0, most=400, default=0.0)
    pitch_across_mm: float = spec.length("two, four: middle to middle across the vehicle", least=0, most=400, default=0.0)
    ring_mm: float | None = spec.length("ring: diameter of the circle through the holes' middles", least=10, most=400, default=None)
    ring_holes: int = spec.integer("ring: how many holes", least=2, most=24, default=4)
    centre_hole_mm: float = spec.length("diameter of an opening in the middle of the pattern; 0: none", least=0, most=300, default=0.0)
    turn_deg: float = spec.angle("the pattern turned on the top, counter-clockwise from above", least=-180, most=180, default=0.0)
    attach: Literal["weld", "bolt"] = spec.choice("the base welded round, or bolted", ("weld", "bolt"), default="weld")
    leg_mm: float | None = spec.length("leg of the fillet round the base; else by the rule tables", least=1, most=20, default=None)
    bolt: str = spec.text("bolted: size of the base's bolts", longest=20, default="M12")
    bolts: int = spec.integer("bolted: how many; open holes under the base are used first, then new ones", least=1, most=8, default=4)
    pick_up: tuple[str, ...] = spec.names("bolted: holes of the rail that the base takes up, whatever is in them now", default=())
    flange_holes: bool = spec.flag("a flange may be drilled, whatever the rules say of it", default=False)
    clearance_mm: float = spec.length("air to the rail's flanges where the stand goes past them", least=0.5, most=30, default=3.0)

    def __post_init__(self) -> None:
        where = f"part {self.id}"
        faults = [*spec.faults_of(self, where), *self._tables(where)]
        told = {f.field for f in faults}
        faults += [f for f in (*self._place(where), *self._holes(where, told), *self._base(where)) if f.field not in told]
        if faults:
            raise BadInput(faults)

    def _tables(self, where: str) -> list[Fault]:
        """Grades and sizes that the tables do not have."""
        from parts.hardware import clearance_hole, spanner_room
        from parts.material import steel

        checks: list[tuple[str, Callable[[], object]]] = [("grade", lambda: steel(self.grade))]
        checks.append(("top_bolt", lambda: (clearance_hole(self.top_bolt), spanner_room(self.top_bolt))))
        if self.attach == "bolt":
            checks.append(("bolt", lambda: (clearance_hole(self.bolt), spanner_room(self.bolt))))
        faults: list[Fault] = []
        for field, check in checks:
            try:
                check()
            except BadInput as error:
                faults += [replace(f, where=where, field=field) for f in error.faults]
        return faults

    def _place(self, where: str) -> list[Fault]:
        """The point once, each way."""
        given = {"out": self.out_mm, "y": self.y_mm, "rise": self.rise_mm, "z": self.z_mm}
        if self.carries is not None:
            named = [k for k, v in {"at": self.at, **given}.items() if v is not None]
            named += [k for k, v in (("tilt_along", self.tilt_along_deg), ("tilt_across", self.tilt_across_deg)) if v]
            limit, remedy = "the body mount's own point is carried through, level", f"leave {', '.join(named)} out, or carries"
            return [Fault(where=where, field="carries", value=self.carries, limit=limit, remedy=remedy)] if named else []
        faults = []
        if self.at is None:
            remedy = 'at = "NAME", or carries = "BODY MOUNT"'
            faults.append(Fault(where=where, field="at", limit="the point on the top needs a place along the rail", remedy=remedy))
        for one, two, what in (("out", "y", "across the vehicle"), ("rise", "z", "in height")):
            named = [k for k in (one, two) if given[k] is not None]
            if len(named) != 1:
                limit, remedy = f"give the point's place {what} once: as {one} or {two}", f"{one} = LENGTH moves to another frame"
                faults.append(Fault(where=where, field=one, value=" and ".join(named), limit=limit, remedy=remedy))
        return faults

    def _holes(self, where: str, told: set[str]) -> list[Fault]:
        """`told`: fields that are wrong by themselves."""
        from parts.bolt_size import bolt_size

        def fault(field: str, value: str, limit: str, remedy: str) -> Fault:
            return Fault(where=where, field=field, value=value, limit=limit, remedy=remedy)

        out: list[Fault] = []
        along, across = self.pitch_along_mm, self.pitch_across_mm
        if self.pattern == "two" and (along > 0) == (across > 0):
            limit, remedy = "two holes stand apart one way", "one of pitch_along and pitch_across above 0"
            out.append(fault("pitch_along", f"{along:g} mm", limit, remedy))
        if self.pattern == "four":
            out += [fault(k, "0 mm", "four holes stand apart both ways", f"{k} = LENGTH") for k, v in
                    (("pitch_along", along), ("pitch_across", across)) if v <= 0]  # fmt: skip
        if self.pattern in ("one", "ring"):
            for key, value in (("pitch_along", along), ("pitch_across", across)):
                if value:
                    out.append(fault(key, f"{value:g} mm", f'pattern = "{self.pattern}" has no pitches', "leave it out"))
        if (self.pattern == "ring") != (self.ring_mm is not None):
            given = "" if self.ring_mm is None else f"{self.ring_mm:g} mm"
            limit = "a ring of holes needs its circle, another pattern has none"
            out.append(fault("ring", given, limit, 'pattern = "ring" with ring = DIAMETER'))
        if self.pattern == "one" and self.centre_hole_mm:
            limit, remedy = "the one hole is in the middle already", "top_hole = DIAMETER"
            out.append(fault("centre_hole", f"{self.centre_hole_mm:g} mm", limit, remedy))
        if self.top_hole_mm is not None and "top_bolt" not in told and self.top_hole_mm < (through := bolt_size(self.top_bolt).diameter_mm):
            limit, remedy = f"a bolt {self.top_bolt} does not go through", f"{through:g} mm or more, or a smaller top_bolt"
            out.append(fault("top_hole", f"{self.top_hole_mm:g} mm", limit, remedy))
        if self.carries is not None and self.pattern != "one":
            limit = "a body mount that is carried through has one hole"
            out.append(fault("pattern", self.pattern, limit, 'pattern = "one"'))
        return out

    def _base(self, where: str) -> list[Fault]:
        out: list[Fault] = []
        flange = self.on in FLANGE_FACES
        fitting = ("auto", "inboard", "outboard") if flange else ("auto", "upper", "lower")
        if self.leaves not in fitting:
            limit = f"a base on {'a flange' if flange else 'an upright face'} has no {self.leaves} edge"
            out.append(Fault(where=where, field="leaves", value=self.leaves, limit=limit, remedy=f"one of {', '.join(fitting)}"))
        if self.fold == "straight":
            for key, given in (("foot", self.foot_mm), ("top_back", self.top_back_mm)):
                if given is not None:
                    limit, remedy = "follows from the point where the top is bent straight off the base", 'leave it out, or fold = "arm"'
                    out.append(Fault(where=where, field=key, value=f"{given:g} mm", limit=limit, remedy=remedy))
        if self.pick_up and self.attach != "bolt":
            limit, remedy = "holes are picked up by bolts, and this base is welded", 'attach = "bolt"'
            out.append(Fault(where=where, field="pick_up", value=", ".join(self.pick_up), limit=limit, remedy=remedy))
        return out

    @property
    def needs(self) -> tuple[str, ...]:
        return () if self.on in WEB_FACES or self.on in FLANGE_FACES else (self.on,)

    @property
    def sides(self) -> tuple[RailSide, ...]:
        return ("left", "right") if self.side == "pair" else (self.side,)

    def faces(self, frame: Frame, shop: Shop = PLAIN) -> tuple[UprightFace, ...]:
        return ()

    def build(self, frame: Frame, shop: Shop = PLAIN) -> tuple[Piece, ...]:
        """One pad a side: each on its own rail, at one x, one height and one distance from the centreline.

        Raises:
            BadInput: with every fault of the pad on this frame.
        """
        from parts.features.pad.build import build

        return build(self, frame, shop)

    @classmethod
    def worked(cls) -> WorkedCase:
        from parts.families.mount_pad_worked import worked

        return worked()
