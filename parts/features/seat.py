"""Where a rail plate lies in its section: how far from the web, and how far its edges keep from the flanges."""

from __future__ import annotations

from dataclasses import dataclass
from typing import Literal, Protocol

from parts.errors import Fault
from parts.features.choices import SeatKind
from parts.frame.section import Section

LEAST_LANDING_MM = 0.5  #: of a flange's edge that must stay under the plate: common practice, no source


class Say(Protocol):
    """Makes a fault of the part that is being seated."""

    def __call__(self, field: str, value: str, limit: str, remedy: str) -> Fault: ...


@dataclass(frozen=True, kw_only=True)
class Seat:
    """A plate's back (z = 0) face is `offset_mm` from the web's outside face; its edges keep `inset_mm`, square, from the flanges'
    outer faces."""

    kind: SeatKind
    offset_mm: float
    away: int  #: +1: the plate stands to the open side of that face
    inset_mm: float
    leg_mm: float
    edge: Literal["fillet", "bevel", "butt"]
    onto: str  #: what its long edges are welded to

    @property
    def on_web(self) -> bool:
        """Flat against the web, so that plugs and bolts go straight through both."""
        return self.kind in ("outside", "inside")

    @property
    def between_flanges(self) -> bool:
        """Its edges face the flanges' inner faces over a root gap."""
        return self.kind in ("flush", "stepped")


def seat_of(
    kind: SeatKind, section: Section, *, thickness_mm: float, step_mm: float, bevelled: bool, leg_mm: float, root_gap_mm: float, where: str
) -> Seat | Fault:
    """The seat, or the fault that keeps the plate from lying there."""

    def fault(field: str, value: str, limit: str, remedy: str) -> Fault:
        return Fault(where=where, field=field, value=value, limit=limit, remedy=remedy)

    if section.kind == "closed" and kind != "outside":
        return fault("seat", kind, "a closed section takes plates on its outside only", 'seat = "outside"')
    if bevelled and kind != "toes":
        return fault(
            "edge", "bevelled", f"only a plate on the toes is bevelled; this one's seat is {kind}", 'seat = "toes", or leave edge out'
        )
    if kind == "toes":
        return _on_toes(section, bevelled, leg_mm, fault)
    if kind in ("flush", "stepped"):
        return _between(kind, section, thickness_mm, step_mm, leg_mm, root_gap_mm, fault)
    if kind == "outside":
        inset = section.flat_from_corner_mm + leg_mm
        return Seat(kind=kind, offset_mm=0.0, away=-1, inset_mm=inset, leg_mm=leg_mm, edge="fillet", onto="web outside")
    inset = section.inside_flat_from_corner_mm + leg_mm
    return Seat(kind=kind, offset_mm=section.inner_web_offset_mm, away=1, inset_mm=inset, leg_mm=leg_mm, edge="fillet", onto="web inside")


def _on_toes(section: Section, bevelled: bool, leg_mm: float, fault: Say) -> Seat | Fault:
    lip, flange = section.lip_mm, section.flange_thickness_mm
    if not bevelled and (landing := flange + lip - leg_mm) < LEAST_LANDING_MM:
        wide = f"{flange + lip:g} mm {'lip' if lip else 'flange edge'}"
        limit = f"a fillet of {leg_mm:g} mm leaves {landing:.1f} mm of the {wide} under the plate"
        return fault("leg", f"{leg_mm:g} mm", limit, f'at most {flange + lip - LEAST_LANDING_MM:g} mm, or edge = "bevelled"')
    inset = (0.0 if bevelled else leg_mm) - lip
    onto = "lip" if lip else "flange edge"
    edge: Literal["bevel", "fillet"] = "bevel" if bevelled else "fillet"
    return Seat(kind="toes", offset_mm=section.toe_offset_mm, away=1, inset_mm=inset, leg_mm=leg_mm, edge=edge, onto=onto)


def _between(
    kind: SeatKind, section: Section, thickness: float, step_mm: float, leg_mm: float, root_gap_mm: float, fault: Say
) -> Seat | Fault:
    flush = kind == "flush"
    toes, least = section.toe_offset_mm, section.web_mm + section.inside_radius_mm
    step = 0.0 if flush else step_mm
    back = toes - step - thickness
    if back < least:
        limit = f"a plate of {thickness:g} mm that far in would stand {back:.1f} mm from the web's outside; the corners end at {least:g} mm"
        most = toes - least - (0.0 if flush else thickness)
        remedy = f"at most {most:g} mm" if most > 0 else 'seat = "toes"'
        return fault("thickness" if flush else "step", f"{thickness if flush else step:g} mm", limit, remedy)
    if root_gap_mm <= 0:
        limit = "with shop.root_gap = 0 the plate is exactly as deep as the opening between the flanges: it does not go in"
        return fault("seat", kind, limit, 'shop.root_gap = "1 mm", or seat = "toes"')
    inset = section.flange_thickness_mm + root_gap_mm
    onto = "flange edge" if flush else "flange inside"
    return Seat(kind=kind, offset_mm=back, away=1, inset_mm=inset, leg_mm=leg_mm, edge="butt" if flush else "fillet", onto=onto)
