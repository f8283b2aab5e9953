"""Where a rail plate lies in its section: how far from the web, and how far its edges keep from the flanges."""

from __future__ import annotations

from dataclasses import dataclass
from typing import Literal

from parts.errors import Fault
from parts.frame.section import Section

SeatKind = Literal["toes", "flush", "stepped", "outside", "inside"]
SEATS: tuple[SeatKind, ...] = ("toes", "flush", "stepped", "outside", "inside")
LEAST_LANDING_MM = 0.5  #: of a flange's edge that must stay under the plate: common practice, no source


@dataclass(frozen=True, kw_only=True)
class Seat:
    """A plate's back (z = 0) face is `offset_mm` from the web's outside face; insets are square from the flanges' outer faces."""

    kind: SeatKind
    offset_mm: float
    away: int  #: +1: the plate stands to the open side of that face
    upper_inset_mm: float
    lower_inset_mm: float
    on_web: bool  #: flat against the web, so that plugs and bolts go straight through both
    leg_mm: float
    edge: Literal["fillet", "bevel", "butt"]
    onto: str  #: what its long edges are welded to

    @property
    def seen_from(self) -> str:
        return "the open side" if self.away > 0 else "outside"


def seat_of(
    kind: SeatKind, section: Section, *, thickness_mm: float, step_mm: float, bevelled: bool, leg_mm: float, root_gap_mm: float, where: str
) -> Seat | Fault:
    """The seat, or the fault that keeps the plate from lying there."""
    toes, flange = section.toe_offset_mm, section.flange_thickness_mm
    if section.kind == "closed" and kind != "outside":
        return Fault(where=where, field="seat", value=kind, limit="a closed section takes plates on its outside only", remedy='seat = "outside"')
    if kind == "toes":
        lip = section.lip_mm
        inset = (0.0 if bevelled else leg_mm) - lip
        landing = flange + lip - leg_mm
        if not bevelled and landing < LEAST_LANDING_MM:
            limit = f"a fillet of {leg_mm:g} mm leaves {landing:.1f} mm of the {flange:g} mm flange edge under the plate"
            remedy = f'at most {flange - LEAST_LANDING_MM:g} mm, or edge = "bevelled"'
            return Fault(where=where, field="leg", value=f"{leg_mm:g} mm", limit=limit, remedy=remedy)
        return _seat(kind, toes, 1, inset, leg_mm, "bevel" if bevelled else "fillet", "flange edge")
    if kind in ("flush", "stepped"):
        step = step_mm if kind == "stepped" else 0.0
        back = toes - step - thickness_mm
        least = section.web_mm + section.inside_radius_mm
        if back < least:
            limit = f"a plate of {thickness_mm:g} mm that far in would stand {back:.1f} mm from the web's outside; the corners end at {least:g} mm"
            return Fault(where=where, field="step", value=f"{step:g} mm", limit=limit, remedy=f"at most {toes - thickness_mm - least:g} mm")
        edge: Literal["butt", "fillet"] = "butt" if kind == "flush" else "fillet"
        return _seat(kind, back, 1, flange + root_gap_mm, leg_mm, edge, "flange edge" if kind == "flush" else "flange inside")
    if kind == "outside":
        return _seat(kind, 0.0, -1, section.flat_from_corner_mm + leg_mm, leg_mm, "fillet", "web outside", on_web=True)
    inset = section.inside_flat_from_corner_mm + leg_mm
    return _seat(kind, section.inner_web_offset_mm, 1, inset, leg_mm, "fillet", "web inside", on_web=True)


def _seat(
    kind: SeatKind, offset: float, away: int, inset: float, leg: float, edge: Literal["fillet", "bevel", "butt"], onto: str, *, on_web: bool = False
) -> Seat:
    return Seat(
        kind=kind, offset_mm=offset, away=away, upper_inset_mm=inset, lower_inset_mm=inset, on_web=on_web, leg_mm=leg, edge=edge, onto=onto
    )
