"""Gussets and frames to test with, and what is read off a made one, in vehicle axes."""

from __future__ import annotations

import math
from typing import Any

import numpy as np
from numpy.typing import NDArray

from parts.families import CrossmemberBracket, Gusset
from parts.families.gusset import Place
from parts.formed import formed
from parts.frame import Frame
from parts.landing import within
from parts.piece import Piece
from parts.pockets import pocketed
from parts.sheet import Panel, Placement
from parts.shop import Shop
from parts.spec import Position
from tests.parts.frame.makers import cross, cross_section, frame, turned

Array = NDArray[np.float64]
DIN = Shop()


def gusset(**fields: Any) -> Gusset:
    plain: dict[str, Any] = {
        "id": "corner", "on": "web", "to": "cm", "to_face": "front", "thickness_mm": 4.0, "leg_on_mm": 100.0, "leg_to_mm": 80.0,
        "toe_mm": 20.0,
    }  # fmt: skip
    return Gusset(**{**plain, **fields})


def straight(**fields: Any) -> Frame:
    """60 x 150 x 4 channel, web outside at y = 430, top at z = 600; a crossmember 50 x 100 at x = 1800, its web in front."""
    return frame(crossmembers=(cross(**fields),))


def swept() -> Frame:
    """Rails that run in by 8 deg behind x = 1500, and a crossmember there."""
    return frame(turned(-8.0), crossmembers=(cross(at=None, x_mm=2100.0),))


def seat(**fields: Any) -> CrossmemberBracket:
    plain: dict[str, Any] = {
        "id": "seat", "at": Position(x_mm=800.0), "drop_mm": 30.0, "thickness_mm": 4.0, "width_mm": 150.0, "depth_mm": 110.0,
        "gussets": False,
    }  # fmt: skip
    return CrossmemberBracket(**{**plain, **fields})


def under_seat(**fields: Any) -> Gusset:
    plain: dict[str, Any] = {
        "id": "prop", "on": "seat", "to": "seat", "on_face": None, "to_face": None, "leg_on_mm": 65.0, "leg_to_mm": 95.0, "toe_mm": 14.0,
        "places": (Place(offset_mm=55.0),), "tabs_to": 1,
    }  # fmt: skip
    return gusset(**{**plain, **fields})


def with_parts(on: Frame, *parts: Any, shop: Shop = DIN) -> Frame:
    for part in parts:
        pieces = part.build(on, shop)
        on = on.with_faces(part.faces(on, shop)).with_built(part.id, pieces)
    return on


def kit(on: Frame, *parts: Any, shop: Shop = DIN) -> dict[str, Piece]:
    """By id, slots cut."""
    pieces: list[Piece] = []
    for part in parts:
        made = part.build(on, shop)
        pieces += made
        on = on.with_faces(part.faces(on, shop)).with_built(part.id, made)
    return {p.id: p for p in pocketed(pieces)}


def panels(piece: Piece, index: int = 0) -> dict[str, tuple[Panel, Placement]]:
    """Each panel of one placement and where it lies in the vehicle."""
    shape = formed(piece.part)
    return {p.name: (p, within(piece.placements[index], shape.places[p.name])) for p in piece.part.panels}


def ring(panel: Panel, at: Placement, z: float) -> Array:
    return np.array([at.point(u, v, z) for u, v in panel.contour.points])


def legs(piece: Piece, index: int = 0) -> tuple[Array, Array]:
    """Both edges that stand on faces, without tabs, as (4, 3): from the first point on u's axis, and the last edge before the snipe."""
    panel, at = panels(piece, index)["plate"]
    t = piece.part.thickness_mm
    points = panel.contour.points
    first = [points[0], points[1]]
    last = [points[-2], points[-1]]
    return (
        np.array([at.point(u, v, z) for u, v in first for z in (0.0, t)]),
        np.array([at.point(u, v, z) for u, v in last for z in (0.0, t)]),
    )


def codes(piece: Piece) -> dict[str, str]:
    """4 mm steel meets the structural code's floor of 5 mm for load that comes and goes: left out here."""
    return {f.code: f.level for f in piece.findings if f.code != "fillet-leg-conflict"}


def tan(deg: float) -> float:
    return math.tan(math.radians(deg))


__all__ = ["cross", "cross_section"]
