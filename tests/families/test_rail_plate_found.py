"""Rail plates on rails as they were found, against numbers worked by hand."""

from __future__ import annotations

from typing import Any

import pytest

from parts.families.rail_plate import PickUp
from parts.frame import Frame
from parts.frame.found import as_found
from parts.frame.measured import ControlPoint, SectionReading
from parts.outline import Point
from parts.shop import Shop
from parts.spec import Position
from tests.families.rail_plates import axes, hole, near, one, straight
from tests.parts.frame.makers import at

GAP = 1.0  #: shop.root_gap's default
FILL: dict[str, Any] = {"seat": "stepped", "step_mm": 16.0}


def read(x: float, **sizes: float) -> SectionReading:
    return SectionReading(name=f"at-{x:g}", side="right", at=at("front", x), **sizes)  # type: ignore[arg-type]


def height(on: Frame, **parameters: Any) -> tuple[float, float]:
    """(lowest, highest) z of the plate."""
    piece = one(on, **{**FILL, **parameters})
    place = piece.placements[0]
    zs = [place.point(u, v)[2] for u, v in piece.part.panels[0].contour.points]
    return min(zs), max(zs)


def test_the_least_opening_over_its_length_less_two_gaps() -> None:
    """150 deep, flanges of 4: 142 drawn. Read 142 at 100, 139.6 at 700, 143 at 1300 the same at web and toe; the plate runs 200 to 1200:
    139.6 - 2 = 137.6 high, from the lower inner face at 454 and the gap: 455 to 592.6."""
    on = as_found(straight(), {}, [read(x, opening_web_mm=o, opening_toe_mm=o) for x, o in ((100, 142.0), (700, 139.6), (1300, 143.0))])
    assert height(on) == near((455.0, 592.6))
    assert height(on, hang="upper") == near((457.4, 595.0))
    # from 1000 on, half way from 139.6 to 143, it is least at the plate's own front end: 141.3
    assert height(on, start=Position(x_mm=1000)) == near((455.0, 455 + 141.3 - 2))


def test_between_web_and_toe_it_is_straight() -> None:
    """Web inside at 4, toes at 60. A plate of 3 stepped in 16 stands from 41 to 44 off the web's outside: 37/56 and 40/56 of the way.
    Web 142, toes 136.4: 5.6 tighter there, so 4.0 at its front face, which is the tighter one: 138 - 2."""
    on = as_found(straight(), {}, [read(700, opening_web_mm=142.0, opening_toe_mm=136.4)])
    assert height(on) == near((455.0, 455 + 136.0))
    flush = height(on, seat="flush")
    assert flush == near((455.0, 455 + 136.4 - 2))
    wider = as_found(straight(), {}, [read(700, opening_web_mm=142.0, opening_toe_mm=147.6)])  # then the back face is: 5.6 x 37/56
    assert height(wider) == near((455.0, 455 + 142 + 3.7 - 2))


def test_a_depth_alone_tells_the_opening() -> None:
    """Lower inner face at 600 - 149 + 4 in front and 600 - 151 + 4 behind; the edge a gap over it, the upper one 149 - 8 - 2 higher."""
    on = as_found(straight(), {}, [read(300, depth_mm=149.0), read(900, depth_mm=151.0)])
    assert height(on) == near((454.0, 456.0 + 139.0), 0.01)  # the edges fall 2 mm in 600


def test_a_plate_over_the_toes_follows_the_depth() -> None:
    on = as_found(straight(), {}, [read(700, depth_mm=152.0)])
    low, high = height(on, seat="toes", leg_mm=3.0)
    assert (low, high) == near((600 - 152 + 3, 597))


def test_more_height_than_was_found_is_refused_with_what_there_is() -> None:
    on = as_found(straight(), {}, [read(700, opening_web_mm=139.6, opening_toe_mm=139.6)])
    with pytest.raises(ValueError, match=r"height: 140 mm: is deeper than its seat: there are 137.6 mm"):
        one(on, **FILL, height_mm=140.0)


def test_the_plates_holes_meet_the_rails_holes_as_found() -> None:
    """Every pin hole lies on the axis of the rail's own, on the straight and on the laid-askew rail, along the web's normal."""
    pins = (hole("a", at("front", 400), 70), hole("b", at("mid", -700), 90))
    made = straight(holes=pins, control_points=points())
    drawn = made.control_coordinates.items()
    measured = {k: (x + (2 if k[0] == "m" else 0), y + 0.004 * x, z + (5 if k[0] == "m" else 0)) for k, (x, y, z) in drawn}
    on = as_found(made, measured)
    piece = one(on, pick_up=picks("a", "b"), shop=Shop())
    for name, (point, way, _) in axes(piece).items():
        own = on.hole(name, "right")
        off = point - own.point
        assert abs(off @ way / (way @ way) ** 0.5) > 40 and float(((off - (off @ way) / (way @ way) * way) ** 2).sum()) ** 0.5 < 1e-6, name


def points() -> tuple[ControlPoint, ...]:
    return tuple(ControlPoint(name=n, at=at("front", x)) for n, x in (("f", 100.0), ("m", 1300.0), ("r", 3500.0)))


def picks(*names: str) -> tuple[PickUp, ...]:
    return tuple(PickUp(hole=n) for n in names)


def test_heights_shape_the_outline_and_bend_nothing() -> None:
    """The rail sags 6 mm at 1300 between 100 and 2500: the plate's edges have a corner there, its lower one at 450 + leg - 6."""
    made = straight(control_points=points())
    low = {k: (x, y, z - (6 if k.startswith("m") else 0)) for k, (x, y, z) in made.control_coordinates.items()}
    piece = one(as_found(made, low), seat="toes", leg_mm=3.0, end=at("mid"))
    assert len(piece.part.panels) == 1 and piece.part.bends == ()
    place = piece.placements[0]
    corners: list[Point] = [(place.point(u, v)[0], place.point(u, v)[2]) for u, v in piece.part.panels[0].contour.points]
    for z_mm in (591.0, 447.0):  # the lower corner lies on the middle of both slopes, -6 in 1200 and 6 in 2200: 0.17 mm off upright
        assert min(abs(x - 1300) + abs(z - z_mm) for x, z in corners) < 0.18
