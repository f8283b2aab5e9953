"""The ends of a rail plate: square, angled and fish-mouthed, hung from either flange, on level, sloped and tapering rails."""

from __future__ import annotations

import math
from typing import Any

import pytest

from parts.families.rail_plate import RailPlate
from parts.outline import Contour
from parts.segment import Segment
from parts.shop import Shop
from parts.spec import Position
from tests.families.rail_plates import DEG, KICK, RADIUS, TURN, check_piece, codes, one, straight, swept
from tests.parts.frame.makers import at

SLOPE_RUN = (1000 / math.cos(TURN) - RADIUS * math.tan(TURN / 2) + RADIUS * TURN / 2) / math.cos(KICK)
TAPER = math.atan(50 / SLOPE_RUN)  # the lower edge rises by this more than the upper one


def outline(**parameters: Any) -> Contour:
    """In (x - 200, z - 453) for the straight right rail: seen from inboard, its front is to the left."""
    piece = one(straight(), seat="toes", **parameters)
    (panel,) = piece.part.panels
    return panel.contour


def has_corner(contour: Contour, x: float, y: float) -> bool:
    return any(math.dist(p, (x, y)) < 1e-6 for p in contour.points)


@pytest.mark.parametrize(
    ("front", "rear", "hang", "corners"),
    [
        # Plate 1000 x 144: at 45 deg an end goes 144 mm over its height; the hung edge is the long one.
        ("square", "square", "lower", [(0, 0), (1000, 0), (1000, 144), (0, 144)]),
        ("angled", "square", "lower", [(0, 0), (1000, 0), (1000, 144), (144, 144)]),
        ("square", "angled", "lower", [(0, 0), (1000, 0), (856, 144), (0, 144)]),
        ("angled", "angled", "upper", [(144, 0), (856, 0), (1000, 144), (0, 144)]),
    ],
)
def test_square_and_angled_ends(front: str, rear: str, hang: str, corners: list[tuple[float, float]]) -> None:
    contour = outline(front_end=front, rear_end=rear, hang=hang)
    assert len(contour.points) == 4
    assert all(has_corner(contour, *c) for c in corners), contour.points


@pytest.mark.parametrize("angle", [20.0, 30.0, 60.0, 80.0])
def test_the_angle_lies_between_the_cut_and_the_rails_length(angle: float) -> None:
    contour = outline(front_end="angled", rear_end="angled", end_angle_deg=angle)
    lean = 144 / math.tan(angle * DEG)
    assert has_corner(contour, lean, 144) and has_corner(contour, 1000 - lean, 144)


@pytest.mark.parametrize("angle", [30.0, 45.0, 60.0])
@pytest.mark.parametrize("radius", [0.0, 10.0])
def test_fish_mouth(angle: float, radius: float) -> None:
    """Both tips at the end; the mouth goes in half the height / tan angle, less r (1 / sin angle - 1) that the radius rounds off."""
    contour = outline(front_end="fish-mouth", rear_end="fish-mouth", end_angle_deg=angle, mouth_radius_mm=radius)
    assert all(has_corner(contour, x, y) for x in (0, 1000) for y in (0, 144))
    deep = 72 / math.tan(angle * DEG) - radius * (1 / math.sin(angle * DEG) - 1)
    for x in (deep, 1000 - deep):
        assert contour.distance((x, 72)) == pytest.approx(0.0, abs=1e-6)
    assert not contour.contains((deep - 0.01, 72)) and contour.contains((deep + 0.01, 72))
    assert {round(s.radius, 6) for s in contour.segments if not s.is_line} == ({radius} if radius else set())


def test_a_mouths_radius_never_takes_its_tips() -> None:
    """A strip of 20 mm with 50 mm asked: the largest that leaves a fifth of each side is 0.8 x 10 / cos 45 deg = 11.3 mm."""
    piece = one(straight(), seat="toes", height_mm=20, front_end="fish-mouth", mouth_radius_mm=50)
    (panel,) = piece.part.panels
    assert has_corner(panel.contour, 0, 0) and has_corner(panel.contour, 0, 20)
    assert {round(s.radius, 3) for s in panel.contour.segments if not s.is_line} == {round(8 / math.cos(45 * DEG), 3)}


def corner_angle(before: Segment, after: Segment) -> float:
    """Inside angle between two edges, in degrees."""
    (a, b), (c, d) = before.tangent_at(1.0), after.tangent_at(0.0)
    return 180 - math.degrees(math.atan2(a * d - b * c, a * c + b * d))


@pytest.mark.parametrize("hang", ["lower", "upper"])
def test_ends_on_a_slope_are_laid_off_from_the_hung_edge(hang: str) -> None:
    """Wholly on the straight behind the turn: 18 deg up, the lower edge 2.696 deg more. Square: 90 deg to the hung edge, so 90 -/+ 2.696 to
    the other. Angled: 45 deg at the hung edge's corners and the hung edge is the longer by about twice the height."""
    on = swept()
    plate: dict[str, Any] = {"seat": "inside", "start": at("rear", -700), "end": at("rear", -100), "hang": hang}
    square = one(on, **plate).part.panels[0].contour
    corners = sorted(corner_angle(square.segments[i - 1], square.segments[i]) for i in range(4))
    off = math.degrees(TAPER)
    assert corners == pytest.approx([90 - off, 90, 90, 90 + off], abs=1e-3)

    piece = one(on, **plate, front_end="angled", rear_end="angled")
    contour, place = piece.part.panels[0].contour, piece.placements[0]
    edges = sorted(contour.segments, key=lambda s: -s.length)[:2]
    slopes = []
    for edge in edges:
        (xa, ya, za), (xb, yb, zb) = (place.point(*p) for p in (edge.a, edge.b))
        slopes.append(math.atan(abs(zb - za) / math.hypot(xb - xa, yb - ya)))
    hung, other = (KICK + TAPER, KICK) if hang == "lower" else (KICK, KICK + TAPER)
    assert slopes == pytest.approx([hung, other], abs=1e-6), "the hung edge is the long one"
    long = next(i for i, s in enumerate(contour.segments) if s == edges[0])
    for before in (contour.segments[long - 1], edges[0]):
        after = contour.segments[(contour.segments.index(before) + 1) % len(contour.segments)]
        assert corner_angle(before, after) == pytest.approx(45, abs=1e-3)


@pytest.mark.parametrize("hang", ["lower", "upper"])
def test_the_furthest_point_is_at_the_asked_place(hang: str) -> None:
    """600 mm of tape before the rear end: the hung edge's corner is at x 2500 - 600 cos 18 cos 8 deg on the web's inside (4 mm off)."""
    piece = one(swept(), seat="inside", start=at("rear", -600), end=at("rear", -100), hang=hang, front_end="angled", rear_end="angled")
    place = piece.placements[0]
    xs = [place.point(*p)[0] for p in piece.part.panels[0].contour.points]
    for extreme, before in ((min, 600), (max, 100)):
        assert extreme(xs) == pytest.approx(2500 - before * math.cos(KICK) * math.cos(TURN) - 4 * math.sin(TURN), abs=1e-6)


@pytest.mark.parametrize("kind", ["square", "angled", "fish-mouth"])
@pytest.mark.parametrize("side", ["left", "right"])
def test_every_end_on_the_kick_and_the_turn(kind: str, side: str) -> None:
    """Across both, ends on the level and on the slope."""
    on = swept()
    values: dict[str, Any] = {"side": side, "thickness_mm": 4, "seat": "flush", "front_end": kind, "rear_end": kind}
    plate = RailPlate(id="plate", start=Position(x_mm=900), end=at("rear", -120), **values)
    (piece,) = plate.build(on)
    check_piece(piece, plate, on, Shop())


def test_a_square_end_that_leans_past_the_rails_end_is_told() -> None:
    """Up to the very rear end, hung low: the upper corner leans forward, nothing stands over. Hung high: the lower corner leans back by
    about the height's sine, 84 sin 18 deg = 26 mm."""
    assert "past-rail-end" not in codes(one(swept(), seat="flush", start=at("rear", -500), end=at("rear"), hang="lower"))
    piece = one(swept(), seat="flush", start=at("rear", -500), end=at("rear"), hang="upper")
    told = next(f for f in piece.findings if f.code == "past-rail-end")
    over = float(told.message.split(" stands ")[1].split()[0])
    assert over == pytest.approx(90 * math.sin(KICK), abs=2), told.message
