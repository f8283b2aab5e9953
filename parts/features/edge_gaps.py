"""What a rail plate's own edges leave to the flanges of its rail as found, and what they may leave."""

from __future__ import annotations

from collections.abc import Callable
from functools import cache
from typing import TYPE_CHECKING

from parts.features.between import edges_between, shares, wider_mm
from parts.features.draft import EDGE_MM
from parts.features.joints import is_seated
from parts.laid_flat import Place
from parts.shape_gaps import Bounds

if TYPE_CHECKING:
    from parts.features.draft import Setting


def bounds_of(setting: Setting) -> Bounds:
    """Along edges that face a flange over a gap: that gap, from 0 to the weld gap. Along all others: none, up to a weld gap either way."""
    weld, root = setting.shop.weld_gap_mm, setting.shop.root_gap_mm
    lower, upper = setting.lower(), setting.upper()
    more = _more(setting)

    def bounds(place: Place) -> tuple[float, float, float]:
        s, z, _ = setting.rail.szo(place.point)
        if not setting.seat.between_flanges or place.edge not in ("upper", "lower") or not is_seated(setting, place.edge):
            return 0.0, -weld, weld
        if abs((upper if place.edge == "upper" else lower).y_at(s) - z) > EDGE_MM:
            return 0.0, -weld, weld  # a notch, a cut corner
        return root + more(place.edge, s), 0.0, weld

    return bounds


def _more(setting: Setting) -> Callable[[str, float], float]:
    """How much more than the root gap an edge leaves at s, before the plate is shifted: at the tighter one of its two faces.

    The edge that the plate hangs by lies over the flange's inner face as it is at the web, so its gap grows by how far the toe stands
    away. What else the opening has over the plate that goes in everywhere is left at the other edge.
    """
    found, face, plate = setting.rail.found, setting.face, setting.plate
    if found is None or not found.section.opening_known:
        return lambda edge, s: 0.0
    section, faces = found.section, shares(setting)
    away = section.upper_away if plate.hang == "upper" else section.lower_away
    filled = edges_between(setting) is not None and plate.height_mm is None
    least = min(wider_mm(setting, s) for s in section.openings(face.s0_mm, face.s1_mm))

    @cache
    def more(edge: str, s: float) -> float:
        if edge == plate.hang:
            return min(share * away.at(s) for share in faces)
        return min(section.wider_mm(s, share) - least - share * away.at(s) for share in faces) if filled else 0.0

    return more
