"""What a rail plate's own edges leave to the flanges of its rail as found, and what they may leave."""

from __future__ import annotations

from collections.abc import Callable
from functools import cache
from typing import TYPE_CHECKING

from parts.features.between import edges_between, wider_mm
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
    slack = _slack(setting)

    def bounds(place: Place) -> tuple[float, float, float]:
        s, z, _ = setting.rail.szo(place.point)
        if not setting.seat.between_flanges or place.edge not in ("upper", "lower") or not is_seated(setting, place.edge):
            return 0.0, -weld, weld
        if abs((upper if place.edge == "upper" else lower).y_at(s) - z) > EDGE_MM:
            return 0.0, -weld, weld  # a notch, a cut corner
        return root + (0.0 if place.edge == setting.plate.hang else slack(s)), 0.0, weld

    return bounds


def _slack(setting: Setting) -> Callable[[float], float]:
    """How much wider the opening is at s than the plate that goes in everywhere needs, before it is shifted."""
    found, face = setting.rail.found, setting.face
    if edges_between(setting) is None or found is None or setting.plate.height_mm is not None:
        return lambda s: 0.0
    least = min(wider_mm(setting, s) for s in found.section.openings(face.s0_mm, face.s1_mm))
    return cache(lambda s: wider_mm(setting, s) - least)
