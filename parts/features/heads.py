"""Rivet and bolt heads that a plate on the web would sit on: clearance holes over them, or onto the removal list."""

from __future__ import annotations

from dataclasses import replace

from parts.errors import Finding
from parts.features.draft import Draft
from parts.features.held import RIVET_OUT
from parts.frame.placed import PlacedHole
from parts.frame.section import Face
from parts.holes import Hole
from parts.outline import Point
from parts.piece import Removal

FLANGE_FACES: tuple[Face, Face] = ("upper flange", "lower flange")
ROUND_A_HEAD_MM = 1.0  #: of air all round a head in its clearance hole: common practice, no source
EDGE_THICKNESSES = 2.0  #: hole edge to the plate's own edge: TM 9-2320-289-34 p. 9-7


def heads(draft: Draft) -> Draft:
    setting = draft.setting
    if not setting.seat.on_web:
        return _in_flanges(draft)
    for own in setting.frame.holes_on(setting.rail.side, draft.s0_mm, draft.s1_mm, "web"):
        place = draft.at(own.s_mm, own.z_mm)
        if place is None or own.name in draft.picked:
            continue
        if own.filled == "open":
            draft = _open(draft, own, place)
        elif not _beside(draft, place, own.head_across_mm / 2):
            draft = _cleared(draft, own, place)
    return draft


def _beside(draft: Draft, place: tuple[int, Point], reach_mm: float) -> bool:
    """Whether a head stands wholly in an opening of the plate, or off its edge."""
    index, centre = place
    panel = draft.panels[index]
    if not panel.contour.contains(centre):
        return panel.contour.distance(centre) >= reach_mm
    shapes = (h.contour() for h in panel.holes)
    return any(shape.contains(centre) and shape.distance(centre) >= reach_mm for shape in shapes)


def _cleared(draft: Draft, own: PlacedHole, place: tuple[int, Point]) -> Draft:
    setting = draft.setting
    index, centre = place
    size = own.head_across_mm + 2 * ROUND_A_HEAD_MM
    if setting.plate.heads == "clear" and draft.room(index, centre) >= size / 2 + EDGE_THICKNESSES * setting.plate.thickness_mm:
        purpose = f"clears the {own.filled} head of {own.name}"
        return draft.with_holes(index, [Hole(name=f"clear-{own.name}", x_mm=centre[0], y_mm=centre[1], diameter_mm=size, purpose=purpose)])
    why = f"{setting.plate.id} lies over it"
    if setting.plate.heads == "clear":
        why += f"; no room in the plate for a clearance hole of {size:.1f} mm"
    refill = "to use its hole again, pick it up with a bolt"
    removal = Removal(
        name=own.name,
        what=own.filled,
        where=f"{setting.rail.name} web",
        point=own.point,
        why=why,
        how=f"{RIVET_OUT if own.filled == 'rivet' else 'undo it'}; {refill}",
    )
    return replace(draft, removals=(*draft.removals, removal))


def _open(draft: Draft, own: PlacedHole, place: tuple[int, Point]) -> Draft:
    """An open hole of the web that the plate would close."""
    if draft.room(*place) < 0:
        return draft
    return draft.finding(
        Finding(
            code="covers-open-hole",
            level="warn",
            where=draft.setting.place,
            message=f"the plate closes the open hole {own.name} ({own.diameter_mm:g} mm) in the web",
            remedy=f'pick it up (pick_up = [{{ hole = "{own.name}", by = "pin" }}]) if anything is to go through it',
            source="common practice, no source",
        )
    )


def _in_flanges(draft: Draft) -> Draft:
    """Heads on a flange's inside that stand where the plate has its edge."""
    setting, rail = draft.setting, draft.setting.rail
    low, high = setting.seat.offset_mm, setting.seat.offset_mm + setting.plate.thickness_mm
    for face in FLANGE_FACES:
        for own in setting.frame.holes_on(rail.side, draft.s0_mm, draft.s1_mm, face):
            reach = own.head_across_mm / 2
            inside = rail.flange_z(face, own.s_mm, rail.section.flange_thickness_mm)
            edge = setting.upper().y_at(own.s_mm) - inside if face == "upper flange" else inside - setting.lower().y_at(own.s_mm)
            if own.filled == "open" or own.in_mm + reach <= low or own.in_mm - reach >= high or -edge >= own.head_stands_mm:
                continue
            draft = draft.finding(
                Finding(
                    code="head-at-edge",
                    level="warn",
                    where=setting.place,
                    message=f"the {own.filled} {own.name} in the {face} stands where the plate's edge goes: its head spans "
                    f"{own.in_mm - reach:.1f} to {own.in_mm + reach:.1f} mm from the web, the plate {low:.1f} to {high:.1f} mm",
                    remedy="step the plate in, or relieve its edge there by hand",
                    source="geometry of the frame file",
                )
            )
    return draft
