"""Pads to test with, and what is read off a made one in vehicle axes."""

from __future__ import annotations

import math
from typing import Any

import numpy as np
from numpy.typing import NDArray

from parts.families import MountPad, RailPlate
from parts.formed import Formed, formed
from parts.frame import Frame
from parts.piece import Piece
from parts.spec import Position

Array = NDArray[np.float64]


def pad(**fields: Any) -> MountPad:
    """On the web's inside at x = 800: the top's face 30 under the upper corner, 150 inboard of the web's outside."""
    plain: dict[str, Any] = {
        "id": "pad", "at": Position(x_mm=800.0), "out_mm": 150.0, "rise_mm": -30.0, "thickness_mm": 4.0, "width_mm": 110.0,
        "top_reach_mm": 40.0,
    }  # fmt: skip
    plain.update(fields)
    for one, two in (("y_mm", "out_mm"), ("z_mm", "rise_mm")):
        if one in fields:
            plain[two] = None
    if "carries" in fields:
        plain.update(at=None, out_mm=None, rise_mm=None)
    return MountPad(**plain)


def plated(on: Frame, **fields: Any) -> Frame:
    """With a 3 mm plate called box from x 300 to 1400, its ends square."""
    plain: dict[str, Any] = {
        "id": "box", "thickness_mm": 3.0, "seat": "toes", "start": Position(x_mm=300.0), "end": Position(x_mm=1400.0),
        "front_end": "square", "rear_end": "square",
    }  # fmt: skip
    return on.with_faces(RailPlate(**{**plain, **fields}).faces(on))


def place_of(piece: Piece, shape: Formed, panel: str, u: float, v: float, z: float) -> Array:
    """A point of a panel in vehicle axes, through the pure folding and the placement alone."""
    return np.array(piece.placements[0].point(*shape.places[panel].point(u, v, z)))


def corners(piece: Piece, panel: str, z: float) -> Array:
    shape = formed(piece.part)
    own = next(p for p in piece.part.panels if p.name == panel)
    return np.array([place_of(piece, shape, panel, u, v, z) for u, v in own.contour.polyline(0.01)])


def upward(piece: Piece, panel: str = "top") -> Array:
    """The panel's unit normal, the end of it that points up: by the cross product of two lines in it."""
    shape = formed(piece.part)
    a, b, c = (place_of(piece, shape, panel, u, v, 0.0) for u, v in ((0.0, 0.0), (100.0, 0.0), (0.0, 100.0)))
    across: Array = np.cross(b - a, c - a) / 1e4
    return across if across[2] > 0 else -across


def on_upper_face(piece: Piece, name: str) -> Array:
    """Where a hole of the top pierces its upper face."""
    shape = formed(piece.part)
    top = next(p for p in piece.part.panels if p.name == "top")
    own = next(h for h in top.holes if h.name == name)
    ends = [place_of(piece, shape, "top", own.x_mm, own.y_mm, z) for z in (0.0, piece.part.thickness_mm)]
    return max(ends, key=lambda p: float(p[2]))


def slopes(along_deg: float, right_deg: float) -> Array:
    """The unit normal of a plane that rises by `along_deg` rearward and by `right_deg` to the right, each in its own upright plane."""
    normal = np.array([-math.tan(math.radians(along_deg)), -math.tan(math.radians(right_deg)), 1.0])
    unit: Array = normal / np.linalg.norm(normal)
    return unit


def codes(piece: Piece) -> dict[str, str]:
    """Without what the tables say of the fillet's leg in 4 mm steel."""
    return {f.code: f.level for f in piece.findings if f.code != "fillet-leg-conflict"}
