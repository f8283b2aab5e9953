"""Rivet and bolt heads that a plate on the web would sit on: clearance holes over them, or onto the removal list."""

from __future__ import annotations

from dataclasses import replace

from parts.errors import Finding
from parts.features.draft import Draft
from parts.frame.placed import PlacedHole
from parts.holes import Hole
from parts.piece import Removal

ROUND_A_HEAD_MM = 1.0  #: of air all round a head in its clearance hole: common practice, no source
EDGE_THICKNESSES = 2.0  #: hole edge to the plate's own edge: TM 9-2320-289-34 p. 9-7


def heads(draft: Draft) -> Draft:
    setting = draft.setting
    if setting.seat.on_web:
        for own in setting.frame.holes_on(setting.rail.side, draft.s0_mm, draft.s1_mm, "web"):
            if own.name in draft.picked:
                continue
            draft = _cleared(draft, own) if own.filled != "open" else _open(draft, own)
        return draft
    if setting.seat.kind in ("flush", "stepped"):
        return _in_flanges(draft)
    return draft


def _cleared(draft: Draft, own: PlacedHole) -> Draft:
    setting = draft.setting
    place = draft.at(own.s_mm, own.z_mm)
    if place is None:
        return draft
    index, centre = place
    size = own.head_across_mm + 2 * ROUND_A_HEAD_MM
    panel = draft.panels[index]
    if not panel.contour.contains(centre) and panel.contour.distance(centre) > size / 2:
        return draft
    if setting.plate.heads == "clear" and draft.room(index, centre) >= size / 2 + EDGE_THICKNESSES * setting.plate.thickness_mm:
        purpose = f"clears the {own.filled} head of {own.name}"
        return draft.with_holes(index, [Hole(name=f"clear-{own.name}", x_mm=centre[0], y_mm=centre[1], diameter_mm=size, purpose=purpose)])
    why = f"{setting.plate.id} lies over it"
    if setting.plate.heads == "clear":
        why += f"; no room in the plate for a clearance hole of {size:.1f} mm"
    how = (
        "take the head off or pilot-drill it, drill the shank under size, drive it out; refill with the next larger bolt, class 9.8 or better, drilled to fit"
        if own.filled == "rivet"
        else "undo it; it goes back in through the plate only if the plate gets a hole for it"
    )
    removal = Removal(name=own.name, what=own.filled, where=f"{setting.rail.name} web", point=own.point, why=why, how=how)
    return replace(draft, removals=(*draft.removals, removal))


def _open(draft: Draft, own: PlacedHole) -> Draft:
    """An open hole of the web that the plate would close."""
    place = draft.at(own.s_mm, own.z_mm)
    if place is None or not draft.panels[place[0]].contour.contains(place[1]):
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
    """Heads on a flange's inside that stand where a plate between the flanges has its edge."""
    setting = draft.setting
    low, high = setting.seat.offset_mm, setting.seat.offset_mm + setting.plate.thickness_mm
    for face in ("upper flange", "lower flange"):
        for own in setting.frame.holes_on(setting.rail.side, draft.s0_mm, draft.s1_mm, face):  # type: ignore[arg-type]
            reach = own.head_across_mm / 2
            if own.filled != "open" and own.in_mm + reach > low and own.in_mm - reach < high:
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
