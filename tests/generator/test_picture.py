"""The picture of a part: its faces close round the steel, the nearest is painted last, it says the sizes, and it is the same every time."""

from __future__ import annotations

import math
import xml.etree.ElementTree as ElementTree
from itertools import pairwise, product

import pytest

from generator.draw.picture import AZIMUTHS_DEG, ELEVATIONS_DEG, picture_svg
from generator.draw.scene import Face, View, solids_of
from parts.formed import formed
from parts.holes import Hole
from parts.outline import Contour, Point, rectangle
from parts.sheet import Bend, Label, Panel, SheetPart, Vec3

BLOCK = SheetPart(name="block", thickness_mm=5.0, panels=(Panel(name="p", contour=rectangle(0.0, 0.0, 60.0, 40.0)),))
PIERCED = SheetPart(
    name="pierced",
    thickness_mm=5.0,
    panels=(Panel(name="p", contour=rectangle(0.0, 0.0, 60.0, 40.0), holes=(Hole(name="h", x_mm=30.0, y_mm=20.0, diameter_mm=20.0),)),),
)


def _bracket(turn: float) -> SheetPart:
    """A base, a seat folded off its upper edge and two gussets off its sides, all turned the same way."""
    base = Panel(
        name="base",
        contour=rectangle(0.0, 0.0, 160.0, 120.0),
        holes=(Hole(name="bolt", x_mm=40.0, y_mm=40.0, diameter_mm=40.0),),
        labels=(Label(text="bracket-left", x_mm=70.0, y_mm=20.0),),
    )
    seat = Panel(name="seat", contour=rectangle(0.0, 0.0, 160.0, 90.0).rounded([0.0, 0.0, 25.0, 25.0]))
    one = Panel(name="one", contour=Contour(((0.0, 0.0), (110.0, 0.0), (110.0, 20.0), (20.0, 70.0), (0.0, 70.0)), (0.0,) * 5))
    two = Panel(name="two", contour=Contour(((0.0, 0.0), (110.0, 0.0), (110.0, 70.0), (90.0, 70.0), (0.0, 20.0)), (0.0,) * 5))
    bends = (
        Bend(parent="base", child="seat", edge=2, angle_deg=turn, inside_radius_mm=5.0),
        Bend(parent="base", child="one", edge=1, angle_deg=turn, inside_radius_mm=5.0, offset_mm=5.0),
        Bend(parent="base", child="two", edge=3, angle_deg=turn, inside_radius_mm=5.0, offset_mm=5.0),
    )
    return SheetPart(name="bracket", thickness_mm=4.0, panels=(base, seat, one, two), bends=bends)


def _zed() -> SheetPart:
    panels = (
        Panel(name="a", contour=rectangle(0.0, 0.0, 200.0, 60.0)),
        Panel(name="b", contour=rectangle(0.0, 0.0, 200.0, 80.0)),
        Panel(name="c", contour=Contour(((20.0, 0.0), (180.0, 0.0), (160.0, 60.0), (40.0, 60.0)), (0.0,) * 4)),
    )
    bends = (
        Bend(parent="a", child="b", edge=2, angle_deg=90.0, inside_radius_mm=6.0),
        Bend(parent="b", child="c", edge=2, angle_deg=-120.0, inside_radius_mm=6.0),
    )
    return SheetPart(name="zed", thickness_mm=4.0, panels=panels, bends=bends)


PARTS = {"pierced": PIERCED, "bracket": _bracket(90.0), "other way": _bracket(-90.0), "zed": _zed()}
VIEWS = [View.of(a, e) for a, e in product(AZIMUTHS_DEG, ELEVATIONS_DEG)]


def _dot(p: Vec3, q: Vec3) -> float:
    return sum(a * b for a, b in zip(p, q, strict=True))


def _triangles(loop: tuple[Vec3, ...]) -> list[tuple[Vec3, Vec3, Vec3]]:
    return [(loop[0], b, c) for b, c in pairwise(loop[1:])]


def _cross(p: Vec3, q: Vec3) -> Vec3:
    return p[1] * q[2] - p[2] * q[1], p[2] * q[0] - p[0] * q[2], p[0] * q[1] - p[1] * q[0]


def _sixfold_volume(loop: tuple[Vec3, ...]) -> float:
    return sum(_dot(a, _cross(b, c)) for a, b, c in _triangles(loop))


def test_faces_close_round_the_steel_and_look_outwards() -> None:
    """By the divergence theorem the faces' volume is the steel's; a face turned over or lost would show."""
    assert sum(_sixfold_volume(f.outline) for f in solids_of(formed(BLOCK), 0.01)) / 6 == pytest.approx(60 * 40 * 5)
    for turn in (90.0, -90.0):
        part = _bracket(turn)
        volume = sum(_sixfold_volume(f.outline) for f in solids_of(formed(part), 0.001)) / 6
        # panels t x area (holes left out of the outlines), seat less two corners r^2 (1 - pi/4), gussets 7700 - 50 * 90 / 2 each;
        # bends by Pappus: mean width (120 and 110 at the gussets) x angle x t x (r + t/2)
        areas = 160 * 120 + 160 * 90 - 2 * 25**2 * (1 - math.pi / 4) + 2 * (7700 - 2250)
        bends = (160 + 115 + 115) * math.pi / 2 * 4 * (5 + 2)
        assert volume == pytest.approx(4 * areas + bends, rel=1e-4)  # chords 0.001 mm off the arcs


def test_normals_are_those_of_the_outlines() -> None:
    for part in PARTS.values():
        for face in solids_of(formed(part), 0.05):
            area = [0.0, 0.0, 0.0]
            for a, b, c in _triangles(face.outline):
                n = _cross((b[0] - a[0], b[1] - a[1], b[2] - a[2]), (c[0] - a[0], c[1] - a[1], c[2] - a[2]))
                area = [p + q for p, q in zip(area, n, strict=True)]
            size = math.sqrt(sum(v * v for v in area))
            assert face.normal == pytest.approx([v / size for v in area], abs=1e-6)


def _inside(loop: list[Point], p: Point) -> bool:
    turns = 0.0
    for (ax, ay), (bx, by) in zip(loop, loop[1:] + loop[:1], strict=True):
        ux, uy, vx, vy = ax - p[0], ay - p[1], bx - p[0], by - p[1]
        turns += math.atan2(ux * vy - uy * vx, ux * vx + uy * vy)
    return abs(turns) > math.pi


def _depth_at(face: Face, view: View, p: Point) -> float | None:
    """How near the face comes to the eye at `p` of the view; None where it does not cover `p`."""
    if not _inside([view.flat(q) for q in face.outline], p) or any(_inside([view.flat(q) for q in o], p) for o in face.openings):
        return None
    start = tuple(p[0] * r + p[1] * u for r, u in zip(view.right, view.up, strict=True))
    gap = tuple(q - s for q, s in zip(face.outline[0], start, strict=True))
    return _dot((gap[0], gap[1], gap[2]), face.normal) / _dot(view.towards, face.normal)


@pytest.mark.parametrize("name", PARTS)
@pytest.mark.parametrize("view", VIEWS[::3], ids=lambda v: f"{v.towards[0]:.2f} {v.towards[1]:.2f}")
def test_the_nearest_face_is_painted_last(name: str, view: View) -> None:
    """Held against rays shot through a grid of points."""
    faces = solids_of(formed(PARTS[name]), 0.3)
    painted = view.order(faces, 200.0)
    points = [view.flat(p) for f in painted for p in f.outline]
    x0, x1, y0, y1 = min(p[0] for p in points), max(p[0] for p in points), min(p[1] for p in points), max(p[1] for p in points)
    covered = 0
    for i, j in product(range(17), range(17)):
        p = x0 + (x1 - x0) * (i + 0.513) / 17, y0 + (y1 - y0) * (j + 0.487) / 17
        depths = [d for f in painted if (d := _depth_at(f, view, p)) is not None]
        if depths:
            covered += 1
            assert depths[-1] == pytest.approx(max(depths), abs=0.05), p
    assert covered > 40


def test_painting_in_another_order_would_be_seen() -> None:
    view = VIEWS[0]
    painted = view.order(solids_of(formed(_zed()), 0.3), 200.0)[::-1]
    points = [view.flat(p) for f in painted for p in f.outline]
    wrong = 0
    for p in points:
        depths = [d for f in painted if (d := _depth_at(f, view, (p[0] + 0.01, p[1] + 0.02))) is not None]
        wrong += bool(depths) and depths[-1] < max(depths) - 0.05
    assert wrong > 10


def test_says_what_the_part_is() -> None:
    root = ElementTree.fromstring(picture_svg(_bracket(90.0), "bracket <left> & co"))
    title = root.findtext("{http://www.w3.org/2000/svg}title")
    # along u: 160 + 2 (offset side: r + t = 9); along v: 120 + 9; along z: r + t + 90, over the gussets' 9 + 70
    assert title == "bracket <left> & co: steel 4 mm, 178 x 129 x 99 mm over all, 1 hole, 3 bends"
    inches = picture_svg(BLOCK, "block", units="in")
    assert "steel 0.197 in, 2.362 x 1.575 x 0.197 in over all, no holes, flat" in inches


def test_the_same_part_gives_the_same_text_within_its_own_paper() -> None:
    long = [Panel(name="p", contour=rectangle(0.0, 0.0, size, 144.0)) for size in (1200.0, 1950.0, 4000.0)]
    plates = [SheetPart(name=f"plate {p.contour.box[2]:g}", thickness_mm=3.0, panels=(p,)) for p in long]
    for part in (*PARTS.values(), *plates):
        text = picture_svg(part, part.name)
        assert picture_svg(part, part.name) == text
        root = ElementTree.fromstring(text)
        left, top, wide, high = map(float, root.attrib["viewBox"].split())
        for path in root.iter("{http://www.w3.org/2000/svg}path"):
            for pair in path.attrib["d"].replace("Z", "").replace("M", "L").split("L")[1:]:
                x, y = map(float, pair.split())
                assert left < x < left + wide and top < y < top + high
        assert "nan" not in text and "-0.00" not in text
