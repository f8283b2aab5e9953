"""Crossmembers: their section, how they are joined to the rails, and the box they take up."""

from __future__ import annotations

from dataclasses import dataclass
from typing import ClassVar, Literal

from parts import spec
from parts.errors import BadInput, Fault
from parts.frame.placing import FURTHEST_MM, SIDES, at_or_x
from parts.frame.section import RailSide
from parts.spec import Position

Opens = Literal["forward", "rearward", "up", "down"]
Joint = Literal["webs", "webs and flanges", "gusseted", "bolted"]


@dataclass(frozen=True, kw_only=True)
class CrossmemberSection:
    """Sizes over all: `depth` is its height, `width` lies along the vehicle; a hat's lips count into them."""

    kind: Literal["channel", "hat", "closed", "tube"] = spec.choice(
        "channel, hat (with lips turned outward), closed (a box) or tube (round)", ("channel", "hat", "closed", "tube")
    )
    depth_mm: float = spec.length("height over all; of a tube: its outside diameter", least=15, most=400)
    width_mm: float | None = spec.length("along the vehicle, over all; a tube has none", least=15, most=500, default=None)
    thickness_mm: float = spec.length("of the steel", least=1, most=16)
    inside_radius_mm: float = spec.length("inside its corners", least=0, most=50, default=0.0)
    lip_mm: float = spec.length("hat only: width of each lip past the side it stands on", least=0, most=100, default=0.0)

    def __post_init__(self) -> None:
        faults = spec.faults_of(self)
        if not faults:
            faults = self._proportions()
        if faults:
            raise BadInput(faults)

    def _proportions(self) -> list[Fault]:
        faults: list[Fault] = []
        if self.kind == "tube" and self.width_mm is not None and self.width_mm != self.depth_mm:
            limit = f"a tube is as wide as it is deep: {self.depth_mm:g} mm"
            faults.append(Fault(where="", field="width", value=f"{self.width_mm:g} mm", limit=limit, remedy="leave the width out"))
        if self.kind != "tube" and self.width_mm is None:
            faults.append(Fault(where="", field="width", limit=f"is needed for a {self.kind}"))
        if (self.kind == "hat") != (self.lip_mm > 0):
            limit = "a hat has lips" if self.kind == "hat" else "only a hat has lips"
            faults.append(Fault(where="", field="lip", value=f"{self.lip_mm:g} mm", limit=limit))
        wall = self.thickness_mm + self.inside_radius_mm
        if min(self.over_x_mm, self.depth_mm) - 2 * self.lip_mm <= 2 * wall:
            limit = f"leaves no room inside: at most {min(self.over_x_mm, self.depth_mm) / 2 - self.lip_mm - self.inside_radius_mm:g} mm"
            faults.append(
                Fault(where="", field="thickness", value=f"{self.thickness_mm:g} mm", limit=limit, remedy="check width and depth")
            )
        return faults

    @property
    def over_x_mm(self) -> float:
        """Extent along the vehicle."""
        return self.depth_mm if self.width_mm is None else self.width_mm


@dataclass(frozen=True, kw_only=True)
class Crossmember:
    """A crossmember as drawn: it runs level and square across the vehicle, its point the middle of its width."""

    WORD: ClassVar[str] = "crossmember"

    name: str = spec.name("its name, its own in the file")
    at: Position | None = spec.position("where its middle is, by a name and an offset along the upper corner", default=None)
    x_mm: float | None = spec.length("where its middle is along the vehicle, in place of at", least=-6000, most=FURTHEST_MM, default=None)
    section: CrossmemberSection = spec.table(CrossmemberSection, "its section")
    opens: Opens = spec.choice("the side a channel or hat is open to", ("forward", "rearward", "up", "down"), default="rearward")
    drop_mm: float = spec.length("from the rail's upper corner straight down to its top; below 0: it stands above", least=-400, most=600)
    joint: Joint = spec.choice(
        "webs: welded or riveted to the webs only; webs and flanges: also to the flanges; gusseted: with corner plates; bolted",
        ("webs", "webs and flanges", "gusseted", "bolted"),
        default="webs",
    )
    removable: bool = spec.flag("whether it can come out before plates go on", default=False)

    def __post_init__(self) -> None:
        faults = spec.faults_of(self) + at_or_x(self.at, self.x_mm)
        if faults:
            raise BadInput(faults)

    @property
    def sides(self) -> tuple[RailSide, ...]:
        return SIDES

    @property
    def position(self) -> Position:
        return self.at if self.at is not None else Position(x_mm=self.x_mm)


@dataclass(frozen=True, kw_only=True)
class PlacedCrossmember:
    """A crossmember in its frame, in vehicle axes. Where the two rails disagree about its place it stands midway."""

    name: str
    drawn: Crossmember
    x_mm: float  #: its middle
    top_mm: float  #: z of its top
    y_left_mm: float  #: where it meets the left rail's web (the face that looks inboard), at its middle
    y_right_mm: float
    s_left_mm: tuple[float, float]  #: s range that it takes up on the left rail
    s_right_mm: tuple[float, float]

    @property
    def box(self) -> tuple[float, float, float, float]:
        """(x0, x1, z0, z1): front, rear, bottom, top."""
        half = self.drawn.section.over_x_mm / 2
        return self.x_mm - half, self.x_mm + half, self.top_mm - self.drawn.section.depth_mm, self.top_mm

    @property
    def removable(self) -> bool:
        return self.drawn.removable

    @property
    def joint(self) -> Joint:
        return self.drawn.joint

    @property
    def kind(self) -> str:
        return self.drawn.section.kind

    def s_range(self, side: RailSide) -> tuple[float, float]:
        """(front, rear) s on that rail, measured at the web."""
        return self.s_left_mm if side == "left" else self.s_right_mm
