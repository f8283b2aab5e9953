"""The section of a rail: its sizes, which side it opens to, and the landmarks that parts are seated against."""

from __future__ import annotations

from dataclasses import dataclass
from typing import Literal

from parts import spec
from parts.errors import BadInput, Fault

SectionKind = Literal["channel", "hat", "closed"]
Opening = Literal["inboard", "outboard"]
RailSide = Literal["left", "right"]
FLANGE_FACES = ("upper flange", "lower flange")
FACES = ("web", *FLANGE_FACES)
Face = Literal["web", "upper flange", "lower flange"]


@dataclass(frozen=True, kw_only=True)
class Section:
    """A rail's section. Offsets are measured square from the web's outside face (its back) towards the open side."""

    kind: SectionKind = spec.choice(
        "channel: a web and two flanges; hat: the toes carry lips turned outward; closed: a box with a second web",
        ("channel", "hat", "closed"),
        default="channel",
    )
    flange_mm: float = spec.length("width of the flanges over all, from the web's outside face to the toes", least=20, most=200)
    web_mm: float = spec.length("thickness of the web", least=1, most=16)
    flange_thickness_mm: float = spec.length("thickness of the flanges (and lips)", least=1, most=25)
    inside_radius_mm: float = spec.length("radius inside the corner of web and flange; 0: a sharp corner", least=0, most=50, default=0.0)
    open: Opening = spec.choice("the side the toes point to (a closed section: the side its second web is on)", ("inboard", "outboard"))
    lip_mm: float = spec.length("hat only: how far each lip stands out past the flange's outer face", least=0, most=100, default=0.0)

    def __post_init__(self) -> None:
        faults = spec.faults_of(self)
        if not faults:
            faults = self._proportions()
        if faults:
            raise BadInput(faults)

    def _proportions(self) -> list[Fault]:
        faults: list[Fault] = []
        webs = 2 if self.kind == "closed" else 1
        room = self.flange_mm - webs * self.web_mm - webs * self.inside_radius_mm
        if room <= 0:
            limit = f"must leave a flat on the flange: more than {self.flange_mm - room:g} mm (web and inside radius)"
            faults.append(
                Fault(where="", field="flange", value=f"{self.flange_mm:g} mm", limit=limit, remedy="measure the flange over all")
            )
        if self.kind == "hat" and self.lip_mm <= 0:
            faults.append(
                Fault(where="", field="lip", value=f"{self.lip_mm:g} mm", limit="a hat section has lips", remedy="give the lip's width")
            )
        if self.kind != "hat" and self.lip_mm:
            remedy = 'write kind = "hat", or leave the lip out'
            faults.append(Fault(where="", field="lip", value=f"{self.lip_mm:g} mm", limit="only a hat section has lips", remedy=remedy))
        return faults

    @property
    def outside_radius_mm(self) -> float:
        """Of the corner between web and flange; 0 where the inside is sharp (welded up), else inside radius + web."""
        return self.inside_radius_mm + self.web_mm if self.inside_radius_mm else 0.0

    @property
    def toe_offset_mm(self) -> float:
        """Offset of the toe plane: the flange edges, the face of a hat's lips, or the outside of a closed section's second web."""
        return self.flange_mm

    @property
    def inner_web_offset_mm(self) -> float:
        return self.web_mm

    @property
    def flat_from_corner_mm(self) -> float:
        """How far in from the flange's outer face the web's outside is flat (its outside radius ends)."""
        return self.outside_radius_mm

    @property
    def inside_flat_from_corner_mm(self) -> float:
        """How far in from the flange's outer face the web's inside is flat (flange thickness + inside radius)."""
        return self.flange_thickness_mm + self.inside_radius_mm

    @property
    def least_depth_mm(self) -> float:
        """The least depth over all that leaves a flat on the web inside."""
        return 2 * self.inside_flat_from_corner_mm


def opening_sign(opening: Opening, side: RailSide) -> int:
    """+1 where a rail on that side opens to +Y (the vehicle's right), -1 to -Y."""
    inboard = 1 if side == "left" else -1
    return inboard if opening == "inboard" else -inboard
