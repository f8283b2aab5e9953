"""`gusset`: a corner plate between two flat faces, sniped for the welds in the corner, with an optional flange along its free edge.

Covers faces of a straight stretch of rail, of crossmembers with flat sides, and of parts of the job, at any angle between them. Does
not cover round tubes, and corners over a turn of the rail.
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

OWN_STEEL = ("web", "upper flange", "lower flange")
FLANGE_WAYS = ("up", "down", "front", "rear", "inboard", "outboard")
PLAIN = Shop()  #: a shop of which nothing is said
MOST_PLACES = 50
LEAST_LEG_MM = 12.0  #: of leg on its face, beyond the snipe: less would burn away. Common practice, no source
THICKEST_MM = 12.0  #: where the table of least inside radii ends


@dataclass(frozen=True, kw_only=True)
class Place:
    """Where along its corner a gusset stands: its mid-plane. Of these at most one; none: the middle of what both faces have."""

    at: Position | None = spec.position(
        "where the corner runs along the rail: the place on it; where the rails disagree, midway", default=None
    )
    drop_mm: float | None = spec.length(
        "where the corner stands upright: from the rail's upper corner straight down; where the rails disagree, midway",
        least=-400, most=800, default=None,
    )  # fmt: skip
    z_mm: float | None = spec.length("where the corner stands upright: height in vehicle axes", least=-2000, most=5000, default=None)
    offset_mm: float | None = spec.length(
        "from the middle of what both faces have, + rearward, up or to the right", least=-2000, most=2000, default=None
    )

    def __post_init__(self) -> None:
        faults = spec.faults_of(self)
        given = [k for k, v in (("at", self.at), ("drop", self.drop_mm), ("z", self.z_mm), ("offset", self.offset_mm)) if v is not None]
        if len(given) > 1:
            limit, remedy = "give a place once: as at, drop, z or offset", "leave all out for the middle"
            faults.append(Fault(where="", field=given[0], value=" and ".join(given), limit=limit, remedy=remedy))
        if faults:
            raise BadInput(faults)

    @property
    def field(self) -> str:
        """What a fault about the place is named by."""
        named = (("at", self.at), ("drop", self.drop_mm), ("z", self.z_mm), ("offset", self.offset_mm))
        return next((f"place.{k}" for k, v in named if v is not None), "place")

    @property
    def value(self) -> str:
        if self.at is not None:
            return str(self.at)
        given = next((v for v in (self.drop_mm, self.z_mm, self.offset_mm) if v is not None), None)
        return "the middle" if given is None else f"{given:g} mm"


@dataclass(frozen=True, kw_only=True)
class Gusset:
    """The parameters of a gusset."""

    FAMILY: ClassVar[str] = "gusset"
    SUMMARY: ClassVar[str] = "corner plate between two flat faces of rail, crossmember or parts, sniped for the weld; flange, tabs"

    id: str = spec.name("the part's id: its files carry it")
    side: Literal["left", "right", "pair"] = spec.choice("the side of the vehicle it is for", ("left", "right", "pair"), default="pair")
    on: str = spec.text(
        "what its first leg stands on: web (the face that looks inboard), upper flange, lower flange, or the id of a part of the job",
        longest=64, default="web",
    )  # fmt: skip
    on_face: str | None = spec.name("of that part: the panel; left out: the one that makes an open corner", default=None)
    to: str = spec.name("what its second leg stands on: a crossmember of the frame by name, or the id of a part of the job")
    to_face: str | None = spec.name(
        "front, rear, top or underside of that crossmember, or that part's panel; left out: the one that makes an open corner", default=None
    )
    places: tuple[Place, ...] = spec.tables(Place, "where along the corner, one gusset each; none: one in its middle", key="place")
    thickness_mm: float = spec.length("thickness of the steel", least=1.5, most=THICKEST_MM)
    grade: str = spec.text("steel of the gusset", longest=40, default="A36")
    leg_on_mm: float = spec.length("from the corner to the end of the first leg", least=20, most=800)
    leg_to_mm: float = spec.length("from the corner to the end of the second leg", least=20, most=800)
    toe_mm: float = spec.length("height of the blunt ends of its legs, square off the face", least=6, most=300, default=15.0)
    toe_to_mm: float | None = spec.length("of the second leg's, where it differs", least=6, most=300, default=None)
    snipe_mm: float | None = spec.length(
        "from the corner to where each leg begins; left out: clear of what is in the corner", least=1, most=300, default=None
    )
    snipe_shape: Literal["straight", "round"] = spec.choice("how the corner is cut off", ("straight", "round"), default="straight")
    edge_radius_mm: float | None = spec.length(
        "radius of the free edge, hollowed towards the corner; left out: straight", least=10, most=5000, default=None
    )
    flange_mm: float | None = spec.length(
        "width of a flange bent off the free edge, over all; left out: none", least=10, most=200, default=None
    )
    flange_way: Literal["up", "down", "front", "rear", "inboard", "outboard"] | None = spec.choice(
        "where the flange points; left out: up, rear or inboard", FLANGE_WAYS, default=None
    )
    hole_mm: float | None = spec.length("diameter of a lightening hole as far from all edges as it can be: builder's choice, no number was "
                                        "found", least=5, most=500, default=None)  # fmt: skip
    fillet_mm: float | None = spec.length("leg of its fillets; else by the rule tables", least=1, most=20, default=None)
    tabs_on: int = spec.integer("tabs of the first leg in slots of the part it stands on", least=0, most=6, default=0)
    tabs_to: int = spec.integer("tabs of the second leg in slots of the part it stands on", least=0, most=6, default=0)
    tab_mm: float = spec.length("length of a tab along its leg", least=6, most=200, default=20.0)
    tab_recess_mm: float = spec.length(
        "how far a tab ends below the far face, to be plug-welded; 0: flush", least=0, most=10, default=0.0
    )
    tab_play_mm: float | None = spec.length(
        "air on each side of a tab in its slot; else by the cutting process", least=0.05, most=3, default=None
    )

    def __post_init__(self) -> None:
        from parts.material import steel

        where = f"part {self.id}"
        faults = spec.faults_of(self, where)
        checks: list[tuple[str, Callable[[], object]]] = [("grade", lambda: steel(self.grade))]
        for field, check in checks:
            try:
                check()
            except BadInput as error:
                faults += [replace(f, where=where, field=field) for f in error.faults]
        if self.to in OWN_STEEL:
            limit, remedy = "is the first face's: a corner has two", 'on = "web" and to = a crossmember or a part'
            faults.append(Fault(where=where, field="to", value=self.to, limit=limit, remedy=remedy))
        for field, leg in (("leg_on", self.leg_on_mm), ("leg_to", self.leg_to_mm)):
            if self.snipe_mm is not None and leg - self.snipe_mm < LEAST_LEG_MM and not faults:
                limit = f"leaves less than {LEAST_LEG_MM:g} mm beyond a snipe of {self.snipe_mm:g} mm"
                remedy = "a longer leg or a smaller snipe"
                faults.append(Fault(where=where, field=field, value=f"{leg:g} mm", limit=limit, remedy=remedy))
        if len(self.places) > MOST_PLACES:
            limit, remedy = f"at most {MOST_PLACES} in one part", "several parts"
            faults.append(Fault(where=where, field="place", value=f"{len(self.places)} places", limit=limit, remedy=remedy))
        if self.flange_mm is not None and self.edge_radius_mm is not None:
            limit, remedy = "a flange is bent off a straight edge", "leave edge_radius or flange out"
            faults.append(Fault(where=where, field="edge_radius", value=f"{self.edge_radius_mm:g} mm", limit=limit, remedy=remedy))
        if faults:
            raise BadInput(faults)

    @property
    def needs(self) -> tuple[str, ...]:
        """What may be parts: a crossmember's name is no part's id and is passed over."""
        return tuple(dict.fromkeys(name for name in (self.on, self.to) if name not in OWN_STEEL))

    @property
    def stands(self) -> tuple[Place, ...]:
        """Its places; the middle of its corner where none is given."""
        return self.places or (Place(),)

    @property
    def sides(self) -> tuple[RailSide, ...]:
        return ("left", "right") if self.side == "pair" else (self.side,)

    def faces(self, frame: Frame, shop: Shop = PLAIN) -> tuple[UprightFace, ...]:
        return ()

    def build(self, frame: Frame, shop: Shop = PLAIN) -> tuple[Piece, ...]:
        """A piece for each shape: equal ones are one piece with several placements.

        Raises:
            BadInput: with every fault of the gusset on this frame.
        """
        from parts.features.corner.build import build

        return build(self, frame, shop)

    @classmethod
    def worked(cls) -> WorkedCase:
        from parts.families.gusset_worked import worked

        return worked()
