"""What a plate may not hide or be welded to: a stamped number, heat-treated or unknown steel, a commercial vehicle's frame."""

from __future__ import annotations

from parts.errors import Finding
from parts.features.draft import Draft


def covered(draft: Draft) -> Draft:
    """Findings only; nothing about the plate changes."""
    return _steel(_number(draft))


def _number(draft: Draft) -> Draft:
    setting = draft.setting
    if setting.seat.kind != "outside":
        return draft
    for patch in setting.frame.placed_keep_visible:
        if patch.side != setting.rail.side or patch.face != "web":
            continue
        s0, s1 = patch.s_range
        if s1 < draft.s0_mm or s0 > draft.s1_mm:
            continue
        z0, z1 = patch.across_range
        low, high = setting.lower().y_at((s0 + s1) / 2), setting.upper().y_at((s0 + s1) / 2)
        if z1 < low or z0 > high:
            continue
        draft = draft.finding(
            Finding(
                code="covers-keep-visible",
                level="stop",
                where=setting.place,
                message=f"the plate would cover {patch.name}, which must stay visible",
                value=f"s {s0:.0f} to {s1:.0f} mm on {setting.rail.name}",
                limit="not covered, welded or ground",
                remedy="end the plate before it, or seat it on another face",
                source="18 U.S.C. 511 (removing, obliterating or altering a number); covering it: local law",
            )
        )
    return draft


def _steel(draft: Draft) -> Draft:
    setting = draft.setting
    steel, use = setting.frame.steel, setting.frame.use
    if setting.plate.attach == "bolt":
        return draft
    remedy = 'attach = "bolt" on a seat on the web; a licensed engineer or certified welder decides'
    if steel.heat_treated != "no":
        known = "heat-treated" if steel.heat_treated == "yes" else "of unknown heat treatment, which counts as heat-treated"
        draft = draft.finding(
            Finding(
                code="weld-heat-treated",
                level="stop",
                where=setting.place,
                message=f"the frame's steel is {known}: nothing is welded to it",
                value=steel.grade,
                limit="no welding to heat-treated or unknown rails",
                remedy=remedy,
                source="AWS D1.1 (no plug welds on quenched steel over 485 MPa); heavy-frame practice for the rest",
            )
        )
    if use.commercial:
        draft = draft.finding(
            Finding(
                code="weld-commercial",
                level="stop",
                where=setting.place,
                message="the vehicle is used commercially: nothing is welded to its frame unless the vehicle maker's written word is recorded",
                limit="no welding to the frame",
                remedy=remedy,
                source="49 CFR 393.201",
            )
        )
    return draft
