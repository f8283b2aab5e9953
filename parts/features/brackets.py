"""Brackets on the rail that a plate meets: those marked to be cut off go on the removal list, those that stay are in its way."""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import replace

from parts.errors import Finding
from parts.features.draft import Draft
from parts.frame.features import Bracket
from parts.frame.placed import PlacedPatch
from parts.piece import Removal

HOW = {
    "weld": "grind its welds down, knock it off, dress the face flush; do not cut into the rail",
    "rivets": "take the rivets' heads off or pilot-drill them, drill the shanks under size, drive them out",
    "bolts": "undo it",
}


def cut_off(patch: PlacedPatch, own: Bracket, rail: str, why: str) -> Removal:
    """A bracket of the frame that comes off, and how."""
    where = f"{rail} {own.face}{' inside' if own.inner_face else ''}"
    return Removal(name=own.name, what="bracket", where=where, point=patch.place.point, why=why, how=HOW[own.held_by])


def brackets(draft: Draft) -> Draft:
    setting = draft.setting
    for patch in setting.frame.placed_brackets:
        own = patch.drawn
        if patch.side != setting.rail.side or not isinstance(own, Bracket) or patch.name in draft.cleared:
            continue
        in_way, closed_in = meets(draft, patch, own), _closed_in(draft, patch, own)
        if not in_way and not (closed_in and own.fate == "cut off"):
            continue
        if own.fate == "cut off":
            why = f"{setting.plate.id} {'goes there' if in_way else 'closes it in'}"
            draft = replace(draft, removals=(*draft.removals, cut_off(patch, own, setting.rail.name, why)))
            continue
        s0, s1 = patch.s_range
        draft = draft.finding(
            Finding(
                code="bracket-in-the-way",
                level="stop",
                where=setting.place,
                message=f"the plate runs into bracket {own.name}, which stays: it takes s {s0:.0f} to {s1:.0f} mm on {setting.rail.name}",
                value=f"plate s {draft.s0_mm:.0f} to {draft.s1_mm:.0f} mm",
                limit="two pieces of steel cannot be in one place",
                remedy='end the plate before it, seat it on another face, or mark it fate = "cut off" in the frame file',
                source="geometry of the frame file",
            )
        )
    return draft


def meets(draft: Draft, patch: PlacedPatch, own: Bracket) -> bool:
    """Whether the box of the bracket and the plate share room: along, in height, and across the section."""
    setting = draft.setting
    s0, s1 = patch.s_range
    if s1 <= draft.s0_mm or s0 >= draft.s1_mm:
        return False
    plate = sorted((setting.seat.offset_mm, setting.seat.offset_mm + setting.seat.away * setting.plate.thickness_mm))
    if patch.face != "web":
        return own.inner_face and _overlap(patch.across_range, plate) and _reaches_edge(draft, patch, own)
    middle = min(max((s0 + s1) / 2, draft.s0_mm), draft.s1_mm)
    if not _overlap(patch.across_range, (setting.lower().y_at(middle), setting.upper().y_at(middle))):
        return False
    web = setting.rail.thickness_mm
    return _overlap((web, web + own.out_mm) if own.inner_face else (-own.out_mm, 0.0), plate)


def _reaches_edge(draft: Draft, patch: PlacedPatch, own: Bracket) -> bool:
    """Whether what stands on a flange's inside reaches past the plate's edge there."""
    setting, rail, s = draft.setting, draft.setting.rail, patch.place.s_mm
    inside = rail.section.flange_thickness_mm + own.out_mm
    if patch.face == "upper flange":
        return setting.upper().y_at(s) > rail.flange_z("upper flange", s, inside)
    return setting.lower().y_at(s) < rail.flange_z("lower flange", s, inside)


def _overlap(one: Sequence[float], two: Sequence[float]) -> bool:
    return one[0] < two[1] - 1e-6 and two[0] < one[1] - 1e-6


def _closed_in(draft: Draft, patch: PlacedPatch, own: Bracket) -> bool:
    """Whether the bracket ends up inside the box that the plate makes of the rail."""
    s0, s1 = patch.s_range
    return own.inner_face and not draft.setting.seat.on_web and s1 > draft.s0_mm and s0 < draft.s1_mm
