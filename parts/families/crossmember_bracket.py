"""`crossmember_bracket`: a formed seat that a builder bolts a removable crossmember to, level however the rail slopes or turns.

Covers bases on the web's inboard face or on a rail plate, on straight stretches of a rail. Does not cover seats on a flange, bases
across a turn, or the crossmember itself.
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

BASES = ("below", "above")
PLAIN = Shop()  #: a shop of which nothing is said
THICKEST_MM = 12.0  #: where the table of least inside radii ends
LEAST_TRAVEL_MM = 1.0  #: a slot with less has sides too short to cut


@dataclass(frozen=True, kw_only=True)
class CrossmemberBracket:
    """The parameters of a crossmember bracket."""

    FAMILY: ClassVar[str] = "crossmember_bracket"
    SUMMARY: ClassVar[str] = "formed seat for a removable crossmember, level across and lengthways, on a rail's web or on its plate"

    id: str = spec.name("the part's id: its files carry it")
    side: Literal["left", "right", "pair"] = spec.choice("the rail it is for", ("left", "right", "pair"), default="pair")
    on: str = spec.name("what the base stands on: web (the face that looks inboard), or the id of a rail plate of the job", default="web")
    at: Position = spec.position("the middle of its slots; where the two rails disagree, midway")
    drop_mm: float | None = spec.length(
        "from the rail's upper corner straight down to the seat's face that the crossmember lies against; where the rails disagree, midway",
        least=-400, most=800, default=None,
    )  # fmt: skip
    under: str | None = spec.name("in place of drop: level with the underside of this crossmember of the frame", default=None)
    seat_z_mm: float | None = spec.length("in place of drop: height of that face in vehicle axes", least=-2000, most=5000, default=None)
    carries: Literal["on top", "underneath"] = spec.choice(
        "the crossmember lies on the seat, or hangs under it and drops out downwards", ("on top", "underneath"), default="on top"
    )
    thickness_mm: float = spec.length("thickness of the steel", least=1.5, most=THICKEST_MM)
    grade: str = spec.text("steel of the bracket", longest=40, default="A36")
    base: Literal["below", "above"] = spec.choice("the base and its gussets stand below the seat or above it", BASES, default="below")
    width_mm: float = spec.length("of the seat along the rail, over all", least=30, most=600)
    depth_mm: float = spec.length("of the seat, from its face to its free edge", least=30, most=500)
    height_mm: float | None = spec.length(
        "of the base, from the seat's outer face to its free edge; else all that the face has", least=20, most=500, default=None
    )
    gussets: bool = spec.flag("side returns bent off the base's upright edges and welded to the seat", default=True)
    slots: int = spec.integer("slots across the vehicle", least=1, most=2, default=1)
    slot_bolt: str = spec.text("size of the bolts through the seat, M12 or 1/2 in", longest=20, default="M12")
    slot_travel_mm: float = spec.length("how far a bolt can move along the vehicle; 0: round holes", least=0, most=300, default=30.0)
    slot_pitch_mm: float | None = spec.length("two slots: middle to middle; else half the seat's flat", least=10, most=400, default=None)
    attach: Literal["weld", "bolt"] = spec.choice("the base welded round, or bolted through the web", ("weld", "bolt"), default="weld")
    leg_mm: float | None = spec.length("leg of the fillet round the base; else by the rule tables", least=1, most=20, default=None)
    bolt: str = spec.text("bolted: size of the bolts", longest=20, default="M12")
    bolt_columns: int = spec.integer("bolted: columns of new holes, in two rows where there is height", least=0, most=4, default=2)
    pick_up: tuple[str, ...] = spec.names("bolted: holes of the rail's web that the base takes up, before any new one", default=())
    clearance_mm: float = spec.length("air to the rail's flanges where it goes past or round them", least=0.5, most=30, default=3.0)

    def __post_init__(self) -> None:
        from parts.hardware import clearance_hole
        from parts.material import steel

        where = f"part {self.id}"
        faults = spec.faults_of(self, where)
        checks: list[tuple[str, Callable[[], object]]] = [
            ("grade", lambda: steel(self.grade)),
            ("slot_bolt", lambda: clearance_hole(self.slot_bolt, "medium")),
        ]
        if self.attach == "bolt":
            checks.append(("bolt", lambda: clearance_hole(self.bolt, "medium")))
        for field, check in checks:
            try:
                check()
            except BadInput as error:
                faults += [replace(f, where=where, field=field) for f in error.faults]
        asked = [k for k, v in (("drop", self.drop_mm), ("under", self.under), ("seat_z", self.seat_z_mm)) if v is not None]
        if len(asked) != 1:
            limit = "give the seat's height once: as drop, under or seat_z"
            remedy = "drop = LENGTH, under = CROSSMEMBER or seat_z = LENGTH; drop and under move to another frame"
            faults.append(Fault(where=where, field="drop", value=" and ".join(asked), limit=limit, remedy=remedy))
        if 0 < self.slot_travel_mm < LEAST_TRAVEL_MM:
            limit, remedy = f"must be 0 (round holes) or at least {LEAST_TRAVEL_MM:g} mm", "0 for round holes"
            faults.append(Fault(where=where, field="slot_travel", value=f"{self.slot_travel_mm:g} mm", limit=limit, remedy=remedy))
        if self.attach == "bolt" and self.bolt_columns == 0 and not self.pick_up:
            limit, remedy = "leaves a bolted base without a bolt", "at least 1, or name holes under pick_up"
            faults.append(Fault(where=where, field="bolt_columns", value="0", limit=limit, remedy=remedy))
        if faults:
            raise BadInput(faults)

    @property
    def needs(self) -> tuple[str, ...]:
        return () if self.on == "web" else (self.on,)

    @property
    def height_asked(self) -> tuple[str, str]:
        """(field, value) of what gives the seat's height, for faults."""
        if self.under is not None:
            return "under", self.under
        return ("drop", f"{self.drop_mm:g} mm") if self.drop_mm is not None else ("seat_z", f"{self.seat_z_mm:g} mm")

    @property
    def sides(self) -> tuple[RailSide, ...]:
        return ("left", "right") if self.side == "pair" else (self.side,)

    def faces(self, frame: Frame, shop: Shop = PLAIN) -> tuple[UprightFace, ...]:
        return ()

    def build(self, frame: Frame, shop: Shop = PLAIN) -> tuple[Piece, ...]:
        """One bracket a side: each on its own rail, at one x and one height.

        Raises:
            BadInput: with every fault of the bracket on this frame.
        """
        from parts.features.bracket.build import build

        return build(self, frame, shop)

    @classmethod
    def worked(cls) -> WorkedCase:
        from parts.families.crossmember_bracket_worked import worked

        return worked()
