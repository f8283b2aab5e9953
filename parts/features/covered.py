"""What a part may not hide or be welded to: a stamped number, heat-treated or unknown steel, a commercial vehicle's frame."""

from __future__ import annotations

from typing import TYPE_CHECKING

from parts.errors import Finding
from parts.features.draft import Draft
from parts.frame.placed import PlacedPatch

if TYPE_CHECKING:
    from parts.frame.frame import Frame


def covered(draft: Draft) -> Draft:
    """Findings only; nothing about the plate changes."""
    setting = draft.setting
    draft = _mounts(_numbers(draft))
    for finding in steel_findings(setting.frame, setting.place, setting.plate.attach):
        draft = draft.finding(finding)
    return draft


def _numbers(draft: Draft) -> Draft:
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
        if z1 < low or z0 > high or _in_sight(draft, patch):
            continue
        remedy = "end the plate before it, or seat it on another face"
        draft = draft.finding(number_finding(setting.place, f"the plate would cover {patch.name}", patch, setting.rail.name, remedy))
    return draft


def _mounts(draft: Draft) -> Draft:
    """Body mounts that stand off the rail to the plate's seen side, along its length: the plate lies where they are fastened."""
    setting = draft.setting
    for mount in setting.frame.placed_mounts:
        half = mount.drawn.length_mm / 2
        if mount.side != setting.rail.side or mount.s_mm + half <= draft.s0_mm or mount.s_mm - half >= draft.s1_mm:
            continue
        over_rail = 0.0 <= mount.offset_mm <= setting.rail.section.flange_mm  # it stands on the flange: the plate passes under it
        if over_rail or (mount.offset_mm - setting.seat.offset_mm) * setting.seat.away <= 0:
            continue
        draft = draft.finding(
            Finding(
                code="covers-body-mount",
                level="warn",
                where=setting.place,
                message=f"the plate lies where body mount {mount.name} stands off the rail: the mount comes off first",
                value=f"s {mount.s_mm - half:.0f} to {mount.s_mm + half:.0f} mm on {setting.rail.name}",
                limit="the body keeps its mount, at its place and height",
                remedy=f'carry it through to the same point: a part with family = "mount_pad", on = "{setting.plate.id}", '
                f'carries = "{mount.name}"; or end the plate before it',
                source="geometry of the frame file",
            )
        )
    return draft


def _in_sight(draft: Draft, patch: PlacedPatch) -> bool:
    """Whether an opening of the plate leaves all of a patch of the web free."""
    places = [draft.at(*corner) for corner in patch.corners]
    if None in places or len({p[0] for p in places if p is not None}) != 1:
        return False
    corners = [p for p in places if p is not None]
    shapes = (h.contour() for h in draft.panels[corners[0][0]].holes)
    return any(all(shape.contains(point) for _, point in corners) for shape in shapes)


def number_finding(place: str, what: str, patch: PlacedPatch, rail: str, remedy: str) -> Finding:
    """What is said where a part would hide, weld or drill something that must stay as it is."""
    s0, s1 = patch.s_range
    return Finding(
        code="covers-keep-visible",
        level="stop",
        where=place,
        message=f"{what}, which must stay visible",
        value=f"s {s0:.0f} to {s1:.0f} mm on {rail}",
        limit="not covered, welded or ground",
        remedy=remedy,
        source="18 U.S.C. 511 (removing, obliterating or altering a number); covering it: local law",
    )


def steel_findings(frame: Frame, place: str, attach: str) -> tuple[Finding, ...]:
    """What keeps a part from being welded to this frame; nothing where it is bolted."""
    if attach == "bolt":
        return ()
    found: list[Finding] = []
    remedy = 'attach = "bolt" on a seat on the web; a licensed engineer or certified welder decides'
    if frame.steel.heat_treated != "no":
        known = "heat-treated" if frame.steel.heat_treated == "yes" else "of unknown heat treatment, which counts as heat-treated"
        found.append(
            Finding(
                code="weld-heat-treated",
                level="stop",
                where=place,
                message=f"the frame's steel is {known}: nothing is welded to it",
                value=frame.steel.grade,
                limit="no welding to heat-treated or unknown rails",
                remedy=remedy,
                source="AWS D1.1 (no plug welds on quenched steel over 485 MPa); heavy-frame practice for the rest",
            )
        )
    if frame.use.commercial:
        found.append(
            Finding(
                code="weld-commercial",
                level="stop",
                where=place,
                message="the vehicle is used commercially: nothing is welded to its frame without its maker's written word on record",
                limit="no welding to the frame",
                remedy=remedy,
                source="49 CFR 393.201",
            )
        )
    return tuple(found)
