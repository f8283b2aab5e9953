"""Brackets and frames to test with, and what is read off a made one, in vehicle axes."""

from __future__ import annotations

import math
from collections.abc import Callable
from typing import Any

import numpy as np
import pytest
from numpy.typing import NDArray

from parts.families import CrossmemberBracket, RailPlate
from parts.formed import Formed, formed
from parts.frame import Frame
from parts.piece import Piece
from parts.sheet import Placement
from parts.spec import Position
from tests.parts.frame.makers import (
    drawn,
    frame,
    kicked,
    station,
    turned,
)

Array = NDArray[np.float64]
TURN, KICK = math.radians(8), math.radians(12)


def bracket(**fields: Any) -> CrossmemberBracket:
    plain: dict[str, Any] = {
        "id": "seat", "at": Position(x_mm=800.0), "drop_mm": 70.0, "thickness_mm": 4.0, "width_mm": 130.0, "depth_mm": 100.0,
    }  # fmt: skip
    plain.update(fields)
    if "under" in fields or "seat_z_mm" in fields:
        plain["drop_mm"] = None
    return CrossmemberBracket(**plain)


def winding(**changes: Any) -> Any:
    """Straight to x = 1500, then 8 deg inboard and 12 deg up at once, its depth tapering from 150 to 110."""
    run = 1500.0
    along = run / math.cos(TURN)
    return drawn(
        station("front", 0),
        station("turn", 1500, turn=400, kick=300),
        station("rear", 3000, y=430 - run * math.tan(TURN), z=600 + along * math.tan(KICK), depth=110),
        **changes,
    )


def plated(on: Frame, **fields: Any) -> Frame:
    """With a 3 mm plate called box from x 300 to 1400, its ends square."""
    plain: dict[str, Any] = {
        "id": "box", "thickness_mm": 3.0, "seat": "toes", "start": Position(x_mm=300.0), "end": Position(x_mm=1400.0),
        "front_end": "square", "rear_end": "square",
    }  # fmt: skip
    return on.with_faces(RailPlate(**{**plain, **fields}).faces(on))


FRAMES: dict[str, tuple[Callable[[], Frame], float]] = {
    "straight": (frame, 800.0),
    "turned": (lambda: frame(turned()), 2000.0),
    "kicked": (lambda: frame(kicked()), 2000.0),
    "tapering": (lambda: frame(kicked(rear_depth=110)), 2000.0),
    "winding": (lambda: frame(winding()), 2300.0),
}
ALL = pytest.mark.parametrize("name", FRAMES)


def on_frame(name: str, **fields: Any) -> tuple[Piece, ...]:
    make, x = FRAMES[name]
    return bracket(**{"at": Position(x_mm=x), "drop_mm": 55.0, **fields}).build(make())


def vehicle(piece: Piece, points: list[tuple[float, float, float]]) -> Array:
    place = piece.placements[0]
    return np.array([place.point(*p) for p in points])


def panel_points(piece: Piece, name: str, z: float) -> Array:
    shape = formed(piece.part)
    panel = next(p for p in piece.part.panels if p.name == name)
    return vehicle(piece, [shape.places[name].point(u, v, z) for u, v in panel.contour.polyline(0.01)])


def normal(piece: Piece, shape: Formed, name: str) -> Array:
    place: Placement = piece.placements[0]
    a, b = np.array(place.point(0, 0, 0)), np.array(place.point(*shape.places[name].normal))
    turned_normal: Array = b - a
    return turned_normal


def codes(piece: Piece) -> dict[str, str]:
    """The 4 mm steel of these brackets meets the structural code's floor of 5 mm for load that comes and goes: left out here."""
    return {f.code: f.level for f in piece.findings if f.code != "fillet-leg-conflict"}
