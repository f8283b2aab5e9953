"""`rail_plate`: a plate that closes or doubles a rail, cut to the rail's own line in plan, side view and taper.

Covers channel and hat rails on every seat and closed rails on the outside. Does not cover plates on flanges, or a plate that would
have to bend two ways at once.
"""

from __future__ import annotations

from dataclasses import dataclass, replace
from typing import TYPE_CHECKING, ClassVar, Literal

from parts import spec
from parts.errors import BadInput, Fault
from parts.families.rail_plate_parts import Drains, Opening, Recess, Split, Stops, Trim, repeated
from parts.features.choices import END_KINDS, SEATS, SPLIT_UP, WAYS, EndKind, Opens, SeatKind, SplitUp, Way
from parts.shop import Shop
from parts.spec import Position

if TYPE_CHECKING:
    from parts.families.family import WorkedCase
    from parts.frame.faces import UprightFace
    from parts.frame.frame import Frame
    from parts.frame.section import RailSide
    from parts.piece import Piece

STOCK_SHOP = Shop()


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
    from parts.hardware import clearance_hole, washer

    try:
        clearance_hole(size), washer(size)
    except BadInput as error:
        return [replace(f, where=where, field="bolt") for f in error.faults]
    return []


@dataclass(frozen=True, kw_only=True)
class RailPlate:
    """The parameters of a rail plate."""

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
    shape: Literal["each its own", "shared"] = spec.choice(
        "for both sides: each cut to its own rail, or one outline for both where that serves within the weld gap, else refused",
        ("each its own", "shared"), default="each its own",
    )  # fmt: skip
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
    openings: tuple[Opening, ...] = spec.tables(Opening, "access and pipe openings", key="opening")
    recesses: tuple[Recess, ...] = spec.tables(Recess, "cut-ins from a long edge for what stays", key="recess")
    drains: Drains | None = spec.table(Drains, "drains at the low points of each bay of a closed box", default=None)
    trims: tuple[Trim, ...] = spec.tables(Trim, "etched lines where a piece may be cut off later", key="trim")
    splits: tuple[Split, ...] = spec.tables(Split, "places where it is made of two pieces, butt-welded at an angle", key="split")
    split_up: SplitUp = spec.choice(
        "where needed: pieces larger than every listed sheet for them are split, at places that it looks for", SPLIT_UP, default="never"
    )
    split_angle_deg: float = spec.angle(
        "of its joints to the rail's length; under 90 their lower ends lie further to the rear", least=30, most=150, default=45.0
    )
    stagger_mm: float | None = spec.length(
        "for both sides: a given joint of the right rail lies so much further to the rear than the left's, a looked-for one at least so "
        "far off it; else the rail's depth there",
        least=-1500, most=1500, default=None,
    )  # fmt: skip
    stops: Stops | None = spec.table(Stops, "stepped: stops behind it on the flanges, for tacking", default=None)
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
        from parts.material import steel

        try:
            steel(self.grade)
        except BadInput as error:
            faults += [replace(f, where=f"part {self.id}", field="grade") for f in error.faults]
        faults += bolt_faults(self.bolt, f"part {self.id}")
        for key, entries in (("opening", self.openings), ("recess", self.recesses), ("trim", self.trims)):
            faults += repeated(key, entries, f"part {self.id}")
        if self.shape == "shared" and self.side != "both":
            limit, remedy = "is for a part of both sides", 'side = "both", or leave shape out'
            faults.append(Fault(where=f"part {self.id}", field="shape", value="shared", limit=limit, remedy=remedy))
        if faults:
            raise BadInput(faults)

    @property
    def needs(self) -> tuple[str, ...]:
        return ()

    @property
    def sides(self) -> tuple[RailSide, ...]:
        return ("left", "right") if self.side == "both" else (self.side,)

    def build(self, frame: Frame, shop: Shop = STOCK_SHOP) -> tuple[Piece, ...]:
        """The plate's pieces on each side: one, or several where it is split, and the filler pieces of its notches.

        Raises:
            BadInput: with every fault of the plate on this frame.
        """
        from parts.features.plate import build

        return build(self, frame, shop)

    def faces(self, frame: Frame, shop: Shop = STOCK_SHOP) -> tuple[UprightFace, ...]:
        """The plate's seen face on each side, for what is seated on it."""
        from parts.features.plate import faces

        return faces(self, frame, shop)

    @classmethod
    def worked(cls) -> WorkedCase:
        from parts.families.rail_plate_worked import worked

        return worked()
