"""The flat faces that a built piece offers: where they lie and which way they look, worked by hand on a folded angle."""

from __future__ import annotations

import math

import numpy as np
import pytest

from parts.holes import Hole
from parts.landing import flat_faces, panel_places, within
from parts.outline import rectangle
from parts.piece import Piece
from parts.sheet import HOME, Bend, Panel, Placement, SheetPart

T, R = 3.0, 4.0
#: Base 100 x 80 in x, y, its steel from z 0 to 3; a leg bent up 90 deg off its edge at y = 80: r + t = 7 further, its far side at y = 87.
ANGLE = SheetPart(
    name="angle",
    thickness_mm=T,
    panels=(
        Panel(name="base", contour=rectangle(0, 0, 100, 80), holes=(Hole(name="a", x_mm=20, y_mm=30, diameter_mm=11),)),
        Panel(name="leg", contour=rectangle(0, 0, 100, 60), holes=(Hole(name="b", x_mm=45, y_mm=25, diameter_mm=13),)),
    ),
    bends=(Bend(parent="base", child="leg", edge=2, angle_deg=90.0, inside_radius_mm=R),),
)


def piece(*placements: Placement) -> Piece:
    return Piece(id="angle-left", family="x", side="left", part=ANGLE, grade="A36", placements=placements or (HOME,))


def test_both_faces_of_every_panel_look_out_of_the_steel() -> None:
    """Base: up at z = 3, down at z = 0. Leg: its inside looks to -y at y = 80 + 4, its outside to +y at y = 87."""
    faces = flat_faces(piece())
    found = [(f.panel, f.placement.normal, f.placement.origin) for f in faces]
    expected = [
        ("base", (0, 0, 1), 2, 3.0), ("base", (0, 0, -1), 2, 0.0), ("leg", (0, -1, 0), 1, 84.0), ("leg", (0, 1, 0), 1, 87.0)
    ]  # fmt: skip
    assert len(found) == 4
    for (panel, normal, origin), (name, way, axis, level) in zip(found, expected, strict=True):
        assert panel == name
        assert np.array(normal) == pytest.approx(np.array(way), abs=1e-12)
        assert origin[axis] == pytest.approx(level, abs=1e-12)


def test_outlines_and_holes_lie_over_each_other_on_both_faces() -> None:
    """Seen from behind everything is mirrored, and still in its place: hole a at (20, 30), b 45 from one end of the leg, 25 up it."""
    base_top, base_back, leg_top, leg_back = flat_faces(piece())
    for face in (base_top, base_back):
        assert face.outline.area == pytest.approx(8000.0)
        (hole,) = face.holes
        assert face.placement.point(hole.x_mm, hole.y_mm)[:2] == pytest.approx((20.0, 30.0), abs=1e-12)
    where = [np.array(f.placement.point(f.holes[0].x_mm, f.holes[0].y_mm)) for f in (leg_top, leg_back)]
    assert where[0] - where[1] == pytest.approx(np.array([0.0, -3.0, 0.0]), abs=1e-12)
    assert where[0][2] == pytest.approx(T + R + 25.0, abs=1e-12)
    assert leg_back.outline.contains((leg_back.holes[0].x_mm, leg_back.holes[0].y_mm))


def test_every_placement_has_its_own_faces() -> None:
    turn = Placement(origin=(500.0, -200.0, 50.0), u=(0.0, 1.0, 0.0), v=(0.0, 0.0, 1.0))  # the base stands upright, looks to +x
    faces = flat_faces(piece(HOME, turn))
    assert len(faces) == 8
    assert faces[4].placement.normal == pytest.approx((1.0, 0.0, 0.0), abs=1e-12)
    assert faces[4].placement.point(0, 0) == pytest.approx((503.0, -200.0, 50.0), abs=1e-12)
    assert {f.onto for f in faces} == {"angle-left"} and {f.side for f in faces} == {"left"}


def test_placements_one_in_another() -> None:
    """Turned 90 deg about z and shifted, then 90 deg about x: by matrices."""
    outer = Placement(origin=(10.0, 20.0, 30.0), u=(1.0, 0.0, 0.0), v=(0.0, 0.0, 1.0))
    inner = Placement(origin=(1.0, 2.0, 3.0), u=(0.0, 1.0, 0.0), v=(-1.0, 0.0, 0.0))
    both = within(outer, inner)
    a = np.column_stack([outer.u, outer.v, outer.normal])
    b = np.column_stack([inner.u, inner.v, inner.normal])
    p = np.array([4.0, -5.0, 6.0])
    by_hand = a @ (b @ p + np.array(inner.origin)) + np.array(outer.origin)
    assert np.array(both.point(*p)) == pytest.approx(by_hand, abs=1e-12)


def test_panel_places_of_the_folded_leg() -> None:
    places = {panel.name: at for panel, at in panel_places(piece())}
    assert places["base"] == HOME
    assert places["leg"].point(0, 60)[2] == pytest.approx(T + R + 60.0, abs=1e-12)
    assert math.dist(places["leg"].u, (0, 0, 0)) == pytest.approx(1.0)
