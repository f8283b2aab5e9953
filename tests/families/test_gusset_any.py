"""Gussets of any size in corners of any angle: legs on their faces, the angle, the area and the welds by numpy alone."""

from __future__ import annotations

import math

import numpy as np
from hypothesis import HealthCheck, given, settings
from hypothesis import strategies as st

from parts.errors import BadInput
from parts.piece import Piece
from tests.families.gussets import cross, cross_section, gusset, legs
from tests.parts.frame.makers import frame, turned

EXACT = 1e-6
COUNT = {"accepted": 0, "refused": 0}


def shoelace(points: np.ndarray) -> float:
    x, y = points.T
    return float(np.sum(x * np.roll(y, -1) - y * np.roll(x, -1)) / 2)


@settings(max_examples=60, deadline=None, derandomize=True, database=None, suppress_health_check=[HealthCheck.too_slow])
@given(
    turn=st.floats(-14, 14).filter(lambda a: abs(a) > 0.01), rear=st.booleans(), left=st.booleans(), first=st.floats(30, 250),
    second=st.floats(30, 250), toe=st.floats(6, 40), thick=st.floats(2, 8), snipe=st.one_of(st.none(), st.floats(3, 40)),
)  # fmt: skip
def any_one(turn: float, rear: bool, left: bool, first: float, second: float, toe: float, thick: float, snipe: float | None) -> None:
    closed = cross_section(kind="closed")
    on = frame(turned(turn), crossmembers=(cross(at=None, x_mm=2050.0, section=closed),))
    make = {
        "leg_on_mm": first, "leg_to_mm": second, "toe_mm": toe, "thickness_mm": thick, "snipe_mm": snipe,
        "to_face": "rear" if rear else "front",
    }  # fmt: skip
    try:
        (piece,) = gusset(side="left" if left else "right", **make).build(on)
    except BadInput as error:
        COUNT["refused"] += 1
        assert all(f.where == "part corner" and f.field and f.limit and f.remedy for f in error.faults), error
        return
    COUNT["accepted"] += 1
    held(piece, turn, rear, left, first, second, toe)


def held(piece: Piece, turn: float, rear: bool, left: bool, first: float, second: float, toe: float) -> None:
    rad, sign = math.radians(turn), -1.0 if left else 1.0
    on_rail, on_crossmember = legs(piece)
    # The right rail behind x = 1500 runs along (cos, sin) of the turn; its inside face lies 4 mm to the vehicle's middle.
    normal = np.array([-math.sin(rad), math.cos(rad)])
    assert np.allclose((on_rail[:, :2] * [1.0, sign] - [1500.0, 430.0]) @ normal, -4.0, atol=EXACT)
    assert np.allclose(on_crossmember[:, 0], 2075.0 if rear else 2025.0, atol=EXACT)
    angle = math.radians(90.0) + (rad if rear else -rad)
    points = np.array(piece.part.panels[0].contour.points)
    snipe = points[0][0]
    c, s = math.cos(angle), math.sin(angle)
    own = [(snipe, 0), (first, 0), (first, toe)]
    own += [(second * c + toe * s, second * s - toe * c), (second * c, second * s), (snipe * c, snipe * s)]
    assert np.allclose(points, own, atol=EXACT)
    assert abs(piece.part.panels[0].contour.area - shoelace(np.array(own))) < EXACT
    for weld in piece.welds:
        line = np.array(weld.points)
        length = (first if "web" in weld.onto else second) - snipe - 6.0
        assert abs(np.linalg.norm(line[1] - line[0]) - length) < EXACT
        if "web" in weld.onto:
            assert np.allclose((line[:, :2] * [1.0, sign] - [1500.0, 430.0]) @ normal, -4.0, atol=EXACT)


def test_any_corner() -> None:
    any_one()
    assert COUNT["accepted"] >= 20 and COUNT["refused"] >= 2, COUNT
