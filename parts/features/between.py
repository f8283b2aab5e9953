"""How high a plate between the flanges is on a rail whose opening was measured: the least opening over its length, less both gaps."""

from __future__ import annotations

from dataclasses import replace
from typing import TYPE_CHECKING

from parts.frame.profile import Profile
from parts.outline import Path

if TYPE_CHECKING:
    from parts.features.draft import Setting

ROUNDS = 30
SAME_MM = 1e-9


def shares(setting: Setting) -> tuple[float, float]:
    """How far from the web's inside (0) to the toes (1) both faces of the plate stand."""
    section, seat, face = setting.rail.section, setting.seat, setting.face
    room = section.flange_mm - section.web_mm
    back = (seat.offset_mm - section.web_mm) / room
    front = (seat.offset_mm + face.away * setting.plate.thickness_mm - section.web_mm) / room
    low, high = sorted(min(max(share, 0.0), 1.0) for share in (back, front))
    return low, high


def wider_mm(setting: Setting, s: float) -> float:
    """How much wider than drawn the opening is for the plate at s: by the tighter of its two faces; 0 where nothing was measured."""
    found = setting.rail.found
    return 0.0 if found is None else min(found.section.wider_mm(s, share) for share in shares(setting))


def edges_between(setting: Setting) -> tuple[Path, Path] | None:
    """(lower, upper) edge in (s, z) of a plate that fills the opening as measured; None where nothing of it was measured.

    The edge that it hangs by lies over the flange's inner face as ever. The other one follows the drawn opening, made tighter or wider
    over the whole length by what is least between the plate's ends: the plate has to go in everywhere, and its edges stay straight.
    """
    found, face, inset = setting.rail.found, setting.face, setting.seat.inset_mm
    if found is None or not found.section.opening_known or not setting.seat.between_flanges:
        return None
    least = min(wider_mm(setting, s) for s in found.section.openings(face.s0_mm, face.s1_mm))
    profile = setting.rail.profile
    filled = Profile(stations=tuple(replace(p, depth_mm=found.base.depth_at(p.s_mm) + least) for p in profile.stations))
    if setting.plate.hang == "upper":
        return filled.lower_path(inset), profile.upper_path(inset)
    return profile.lower_path(inset), _standing_on(profile, filled).upper_path(inset)


def _standing_on(profile: Profile, filled: Profile) -> Profile:
    """`filled` with its lower corner's straight lines on those of `profile`: its kicks have the same radii, so its arcs too."""
    for _ in range(ROUNDS):
        lines = replace(filled.lower, radii_mm=(0.0,) * len(filled.stations))
        gaps = [z - lines.second_at(s) for s, z in profile.lower.vertices]
        if max(abs(gap) for gap in gaps) <= SAME_MM:
            break
        filled = Profile(stations=tuple(replace(p, z_mm=p.z_mm + gap) for p, gap in zip(filled.stations, gaps, strict=True)))
    return filled
