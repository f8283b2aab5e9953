"""What a frame carries on its rails: holes and what fills them, brackets, body mounts, what must stay visible, its condition."""

from __future__ import annotations

from dataclasses import dataclass
from typing import ClassVar, Literal

from parts import spec
from parts.errors import Fault
from parts.frame.placing import OnFace, OnRail

Filling = Literal["open", "bolt", "rivet", "nut"]
FILLINGS: tuple[Filling, ...] = ("open", "bolt", "rivet", "nut")
# Heads that nobody has measured yet, as multiples of the hole's diameter, from memory: a round rivet head is 1.75 d wide and 0.75 d
# high; a washer is 2 d wide, a hexagon head 0.7 d and a nut 0.9 d high on a washer of 0.2 d.
HEAD_SHARE: dict[Filling, tuple[float, float]] = {"open": (0.0, 0.0), "rivet": (1.75, 0.75), "bolt": (2.0, 0.9), "nut": (2.0, 1.1)}


@dataclass(frozen=True, kw_only=True)
class FrameHole(OnFace):
    """A hole in a rail, placed by its centre, and what fills it."""

    WORD: ClassVar[str] = "hole"
    diameter_mm: float = spec.length("diameter of the hole (of a rivet or bolt: of its shank)", least=2, most=150)
    filled: Filling = spec.choice("what is in it now", FILLINGS, default="open")
    head_diameter_mm: float | None = spec.length(
        "width over the head, nut or washer as measured; else taken from the hole's diameter", least=2, most=200, default=None
    )
    head_height_mm: float | None = spec.length("how far the head stands off the face, as measured", least=0, most=100, default=None)
    purpose: str = spec.text("what it is for", longest=120, default="")

    def own_faults(self) -> list[Fault]:
        faults = super().own_faults()
        wide = self.head_diameter_mm
        if wide is not None and self.filled == "open":
            remedy = "say what fills it, or leave the head out"
            faults.append(Fault(where="", field="head_diameter", value=f"{wide:g} mm", limit="an open hole has no head", remedy=remedy))
        elif wide is not None and wide <= self.diameter_mm:
            limit = f"a head is wider than its hole: more than {self.diameter_mm:g} mm"
            faults.append(Fault(where="", field="head_diameter", value=f"{wide:g} mm", limit=limit, remedy="measure across the head"))
        return faults

    @property
    def head_across_mm(self) -> float:
        """Width over the head, nut or washer; 0 for an open hole."""
        return self.head_diameter_mm if self.head_diameter_mm is not None else HEAD_SHARE[self.filled][0] * self.diameter_mm

    @property
    def head_stands_mm(self) -> float:
        """How far the head stands off the face; 0 for an open hole."""
        return self.head_height_mm if self.head_height_mm is not None else HEAD_SHARE[self.filled][1] * self.diameter_mm


@dataclass(frozen=True, kw_only=True)
class Bracket(OnFace):
    """Something fastened to a face of a rail, as the box that holds it; it stays, or it is cut off first."""

    WORD: ClassVar[str] = "bracket"
    fate: Literal["kept", "cut off"] = spec.choice("whether it stays", ("kept", "cut off"), default="kept")
    held_by: Literal["weld", "rivets", "bolts"] = spec.choice("what holds it", ("weld", "rivets", "bolts"), default="weld")
    inner_face: bool = spec.flag("true: on the side of the web or flange that lies inside the section", default=False)
    length_mm: float = spec.length("along the rail, at and x being its middle", least=3, most=2000)
    height_mm: float = spec.length("across the face, up or in being its middle", least=3, most=600)
    out_mm: float = spec.length("how far it stands off the face", least=1, most=600)
    purpose: str = spec.text("what it carries or carried", longest=120, default="")


@dataclass(frozen=True, kw_only=True)
class BodyMount(OnRail):
    """A pad that the cab or bed stands on; its point is its hole, and the pad lies level round it."""

    WORD: ClassVar[str] = "body_mount"
    out_mm: float = spec.length("hole's centre outboard of the web's outside face; below 0: over the flange, inboard", least=-300, most=500)
    above_mm: float = spec.length("pad's top over the rail's upper corner; below 0: under it", least=-400, most=300, default=0.0)
    hole_mm: float = spec.length("diameter of the hole in the pad", least=4, most=80)
    length_mm: float = spec.length("of the pad along the rail", least=10, most=500)
    width_mm: float = spec.length("of the pad across the rail", least=10, most=500)
    thickness_mm: float = spec.length("of the pad", least=1, most=30)

    def own_faults(self) -> list[Fault]:
        faults = super().own_faults()
        least = min(self.length_mm, self.width_mm)
        if not faults and self.hole_mm >= least:
            limit = f"must lie on the pad: less than {least:g} mm"
            faults.append(Fault(where="", field="hole", value=f"{self.hole_mm:g} mm", limit=limit, remedy="check hole, length and width"))
        return faults


@dataclass(frozen=True, kw_only=True)
class KeepVisible(OnFace):
    """A patch of a face that may not be covered, welded or ground: a stamped number."""

    WORD: ClassVar[str] = "keep_visible"
    what: str = spec.text("what is there", longest=120)
    length_mm: float = spec.length("along the rail, at and x being its middle", least=3, most=1000)
    height_mm: float = spec.length("across the face, up or in being its middle", least=3, most=300)


@dataclass(frozen=True, kw_only=True)
class Condition(OnFace):
    """Damage or an old repair found on the steel."""

    WORD: ClassVar[str] = "condition"
    PLACE_OPTIONAL: ClassVar[bool] = True

    kind: Literal["crack", "rust-through", "thin", "loose rivet", "old weld", "dent"] = spec.choice(
        "what was found", ("crack", "rust-through", "thin", "loose rivet", "old weld", "dent")
    )
    length_mm: float | None = spec.length(
        "how far it reaches along the rail, at and x being its middle", least=0.1, most=12000, default=None
    )
    least_thickness_mm: float | None = spec.length("least thickness of steel left, as measured", least=0, most=25, default=None)
    note: str = spec.text("anything else that was seen", longest=300, default="")

    def own_faults(self) -> list[Fault]:
        faults = super().own_faults()
        if self.kind == "thin" and self.least_thickness_mm is None:
            limit = "is needed where the condition is thin"
            faults.append(Fault(where="", field="least_thickness", limit=limit, remedy="measure with a thickness gauge or a calliper"))
        return faults
