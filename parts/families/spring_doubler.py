"""`spring_doubler`: a flat plate against a rail's web round a spring's hanger, bolted through the hanger's own rivet holes.

Covers channel and hat rails, on one straight of the rail. Does not cover plates across a turn or a kick, hangers riveted to a flange,
what later parts put on the same patch of the web, or whether rail and hanger are strong enough.
"""

from __future__ import annotations

from collections.abc import Callable
from dataclasses import dataclass, replace
from typing import TYPE_CHECKING, ClassVar, Literal

from parts import spec
from parts.errors import BadInput, Fault
from parts.shop import Shop

if TYPE_CHECKING:
    from parts.families.family import WorkedCase
    from parts.frame.faces import UprightFace
    from parts.frame.frame import Frame
    from parts.frame.section import RailSide
    from parts.piece import Piece

PLAIN = Shop()  #: a shop of which nothing is said
LEAST_CORNER_MM = 1.0  #: a smaller one is a burner's wobble


@dataclass(frozen=True, kw_only=True)
class SpringDoubler:
    """The parameters of a spring-hanger doubler."""

    FAMILY: ClassVar[str] = "spring_doubler"
    SUMMARY: ClassVar[str] = "flat doubler on a rail's web round a spring's hanger, bolted through the hanger's own rivet holes"

    id: str = spec.name("the part's id: its files carry it")
    side: Literal["left", "right", "both"] = spec.choice("the rail it is for", ("left", "right", "both"), default="both")
    seat: Literal["inside", "outside"] = spec.choice("the face of the web that it lies on", ("inside", "outside"), default="inside")
    holes: tuple[str, ...] = spec.names("holes of the rail's web that it takes up", default=())
    stem: str | None = spec.name("in place of holes: every hole of the web whose name begins so", default=None)
    hanger: Literal["inside", "outside"] = spec.choice(
        "the face of the web that the hanger stands on", ("inside", "outside"), default="outside"
    )
    foot_mm: float = spec.length("thickness of the hanger's foot, which the bolts go through too; 0: none", least=0, most=50)
    thickness_mm: float = spec.length("thickness of the plate", least=1.5, most=25)
    grade: str = spec.text("steel of the plate", longest=40, default="A36")
    edge_along_mm: float | None = spec.length(
        "from the outermost holes' edges to the plate's ends; else the larger of 2 thicknesses and the hole's diameter",
        least=1, most=600, default=None,
    )  # fmt: skip
    edge_across_mm: float | None = spec.length(
        "from the outermost holes' edges to its long edges; else as edge_along", least=1, most=200, default=None
    )
    corners: Literal["rounded", "clipped"] = spec.choice("shape of its corners", ("rounded", "clipped"), default="rounded")
    corner_mm: float | None = spec.length(
        "radius of a rounded corner, leg of a clipped one, 0: sharp; else as large as keeps the edge distance",
        least=0, most=150, default=None,
    )  # fmt: skip
    bolt: str | None = spec.text("size of the bolts; else the next above the widest of the holes", longest=20, default=None)
    strength: Literal["9.8", "10.9"] = spec.choice(
        "least class of the bolts (inch sizes: grade 8 for either)", ("9.8", "10.9"), default="10.9"
    )

    def __post_init__(self) -> None:
        from parts.hardware import clearance_hole, head, washer
        from parts.material import steel

        where = f"part {self.id}"
        faults = spec.faults_of(self, where)
        checks: list[tuple[str, Callable[[], object]]] = [("grade", lambda: steel(self.grade))]
        if (bolt := self.bolt) is not None:
            checks.append(("bolt", lambda: (clearance_hole(bolt), washer(bolt), head(bolt))))
        for field, check in checks:
            try:
                check()
            except BadInput as error:
                faults += [replace(f, where=where, field=field) for f in error.faults]
        if bool(self.holes) == (self.stem is not None):
            given = f"{', '.join(self.holes)} and {self.stem}" if self.holes else ""
            limit, remedy = "say once which holes it takes up: by holes or by stem", 'stem = "hanger-front-", or holes = ["NAME", ...]'
            faults.append(Fault(where=where, field="holes", value=given, limit=limit, remedy=remedy))
        for name in sorted({n for n in self.holes if self.holes.count(n) > 1}):
            faults.append(Fault(where=where, field="holes", value=name, limit="is named more than once", remedy="name it once"))
        if self.corner_mm is not None and 0 < self.corner_mm < LEAST_CORNER_MM:
            limit, value = f"must be 0 (sharp) or at least {LEAST_CORNER_MM:g} mm", f"{self.corner_mm:g} mm"
            faults.append(Fault(where=where, field="corner", value=value, limit=limit, remedy="0 for sharp corners"))
        if faults:
            raise BadInput(faults)

    @property
    def needs(self) -> tuple[str, ...]:
        return ()

    @property
    def sides(self) -> tuple[RailSide, ...]:
        return ("left", "right") if self.side == "both" else (self.side,)

    @property
    def asked(self) -> tuple[str, str]:
        """(field, value) of what says which holes it takes up, for faults."""
        return ("stem", self.stem) if self.stem is not None else ("holes", ", ".join(self.holes))

    def faces(self, frame: Frame, shop: Shop = PLAIN) -> tuple[UprightFace, ...]:
        return ()

    def build(self, frame: Frame, shop: Shop = PLAIN) -> tuple[Piece, ...]:
        """One plate a side, each round its own rail's holes.

        Raises:
            BadInput: with every fault of the plate on this frame.
        """
        from parts.features.spring.build import build

        return build(self, frame, shop)

    @classmethod
    def worked(cls) -> WorkedCase:
        from parts.families.spring_doubler_worked import worked

        return worked()
