"""A shaded line picture of one formed part, seen slantwise from the side that shows most of it. Arithmetic and text only: no kernel.

Lengths in mm. The root panel's v stands upright on the picture; parallel lines stay parallel, so sizes can be compared by eye.
"""

from __future__ import annotations

import math
import re
from collections.abc import Sequence
from xml.sax.saxutils import escape

from generator.draw.scene import View, solids_of
from generator.draw.strokes import text_strokes, text_width
from parts.formed import formed
from parts.outline import Point
from parts.sheet import SheetPart, Vec3

WIDE, HIGH = 640.0, 400.0  #: room for the part, in picture units
MARGIN = 44.0
TITLE, SMALL = 15.0, 10.0  #: heights of letters
BEND_LINE = "#8a8a8a"
INK = "#1c1c1c"
DRAWN = re.compile(r"[ML ](-?[0-9.]+) (-?[0-9.]+)(?=[ML\"Z])")  #: a point of a path
AZIMUTHS_DEG = (30.0, -30.0, 60.0, -60.0, 150.0, -150.0, 120.0, -120.0)
ELEVATIONS_DEG = (28.0, -28.0)


def picture_svg(part: SheetPart, title: str, *, units: str = "mm") -> str:
    """The formed part as an SVG picture with its overall sizes, thickness and number of holes and bends.

    Args:
        part: sizes as formed.
        title: the part's id.
        units: "mm" or "in": of the sizes shown.

    Returns:
        The text of an SVG file; the same part gives the same text.

    Raises:
        BadInput: its panels and bends do not make one tree.
    """
    shape = formed(part)
    low, high = shape.box()
    size = max(q - p for p, q in zip(low, high, strict=True))
    view = _best_view(part)
    painted = [view.painted(f) for f in view.order(solids_of(shape, sagitta_mm=size / 2000), size)]
    sizes = _sizes(view, low, high)
    page = _Page([p for item in painted for p in item.points] + [p for _, a, b in sizes for p in (a, b)])
    body = [line for item in painted for line in item.drawn(page.place)]
    middle = page.place(view.flat(((low[0] + high[0]) / 2, (low[1] + high[1]) / 2, (low[2] + high[2]) / 2)))
    for mm, a, b in sizes:
        body += _dimension(page.place(a), page.place(b), middle, _length(mm, units, bare=True))
    holes = sum(len(p.holes) for p in part.panels)
    words = [
        f"steel {_length(part.thickness_mm, units)}",
        f"{' x '.join(_length(q - p, units, bare=True) for p, q in zip(low, high, strict=True))} {units} over all",
        f"{holes} hole{'' if holes == 1 else 's'}" if holes else "no holes",
        f"{len(part.bends)} bend{'' if len(part.bends) == 1 else 's'}" if part.bends else "flat",
    ]
    top = page.high + 2 * MARGIN
    body.append(_letters(title, MARGIN / 2, top + TITLE, TITLE, 1.3))
    body.append(_letters(", ".join(words), MARGIN / 2, top + TITLE + 2 * SMALL, SMALL, 0.8))
    return _document(f"{title}: {', '.join(words)}", page.wide + 2 * MARGIN, top + TITLE + 3.5 * SMALL, body)


def _best_view(part: SheetPart) -> View:
    """The view in which the panels' faces, large and small, are seen most squarely."""
    shape = formed(part)
    normals = [(abs(p.contour.area), shape.places[p.name].normal) for p in part.panels]
    whole = sum(a for a, _ in normals)

    def seen(view: View) -> float:
        d = view.towards
        return round(sum(math.sqrt(a / whole * abs(n[0] * d[0] + n[1] * d[1] + n[2] * d[2])) for a, n in normals), 6)

    views = [View.of(azimuth, elevation) for elevation in ELEVATIONS_DEG for azimuth in AZIMUTHS_DEG]
    return max(views, key=seen)  # the first of equals


class _Page:
    """Where points of the view come to lie on the paper, whose y runs down."""

    def __init__(self, corners: Sequence[Point]) -> None:
        xs, ys = [p[0] for p in corners], [p[1] for p in corners]
        self.left, self.top = min(xs), max(ys)
        self.scale = min(WIDE / (max(xs) - min(xs)), HIGH / (max(ys) - min(ys)))
        self.wide, self.high = (max(xs) - min(xs)) * self.scale, (max(ys) - min(ys)) * self.scale

    def place(self, p: Point) -> Point:
        return MARGIN + (p[0] - self.left) * self.scale, MARGIN + (self.top - p[1]) * self.scale


def _length(mm: float, units: str, *, bare: bool = False) -> str:
    number = f"{mm / 25.4:.3f}" if units == "in" else f"{round(mm, 1):g}"
    return number if bare else f"{number} {units}"


def _sizes(view: View, low: Vec3, high: Vec3) -> list[tuple[float, Point, Point]]:
    """For each direction its size and the edge of the box round the part, on the view, beside which it is written.

    That is the edge farthest from the middle, the lower one of equals. A direction seen nearly end on is left out.
    """
    out: list[tuple[float, Point, Point]] = []
    middle = view.flat(((low[0] + high[0]) / 2, (low[1] + high[1]) / 2, (low[2] + high[2]) / 2))
    whole = math.dist(low, high)
    for axis in range(3):
        edges: list[tuple[float, float, Point, Point]] = []
        for one in (low, high):
            for two in (low, high):
                ends: list[Point] = []
                for end in (low, high):
                    corner = [0.0, 0.0, 0.0]
                    corner[axis], corner[(axis + 1) % 3], corner[(axis + 2) % 3] = end[axis], one[(axis + 1) % 3], two[(axis + 2) % 3]
                    ends.append(view.flat((corner[0], corner[1], corner[2])))
                a, b = sorted(ends)
                edges.append((round(_off(a, b, middle) / whole, 6), -round((a[1] + b[1]) / whole, 6), a, b))
        _, _, a, b = max(edges)
        if math.dist(a, b) > 0.04 * whole:
            out.append((high[axis] - low[axis], a, b))
    return out


def _off(a: Point, b: Point, p: Point) -> float:
    """From p to the line through a and b."""
    return abs((b[0] - a[0]) * (p[1] - a[1]) - (b[1] - a[1]) * (p[0] - a[0])) / (math.dist(a, b) or 1.0)


def _dimension(a: Point, b: Point, middle: Point, text: str) -> list[str]:
    length = math.dist(a, b)
    dx, dy = (b[0] - a[0]) / length, (b[1] - a[1]) / length
    nx, ny = -dy, dx
    if (middle[0] - a[0]) * nx + (middle[1] - a[1]) * ny > 0:
        nx, ny = -nx, -ny
    near, far = 5.0, 16.0
    lines = [((p[0] + near * nx, p[1] + near * ny), (p[0] + (far + 4) * nx, p[1] + (far + 4) * ny)) for p in (a, b)]
    p, q = (a[0] + far * nx, a[1] + far * ny), (b[0] + far * nx, b[1] + far * ny)
    wide = text_width(text, SMALL)
    gap = (wide + SMALL) / 2 if length > wide + 3 * SMALL else 0.0
    mx, my = (p[0] + q[0]) / 2, (p[1] + q[1]) / 2
    if gap:
        lines += [(p, (mx - gap * dx, my - gap * dy)), ((mx + gap * dx, my + gap * dy), q)]
    else:
        lines.append((p, q))
        mx, my = mx + (SMALL + wide / 2 * abs(nx)) * nx, my + (SMALL + wide / 2 * abs(nx)) * ny
    lines += [((e[0] - 3 * (dx + nx), e[1] - 3 * (dy + ny)), (e[0] + 3 * (dx + nx), e[1] + 3 * (dy + ny))) for e in (p, q)]
    upright = abs(dx) < 1e-6  # read from the right, as on any drawing
    angle = (90.0 if upright else math.degrees(math.atan2(-dy, dx))) if gap else 0.0
    turn = math.radians(angle)
    x = mx - wide / 2 * math.cos(turn) + SMALL / 2 * math.sin(turn)
    y = my + wide / 2 * math.sin(turn) + SMALL / 2 * math.cos(turn)
    path = " ".join(f"M{_pair(s)}L{_pair(e)}" for s, e in lines)
    return [f'<path d="{path}" stroke="{INK}" stroke-width="0.5" fill="none"/>', _letters(text, x, y, SMALL, 0.8, angle)]


def _letters(text: str, x: float, y: float, height: float, width: float, angle_deg: float = 0.0) -> str:
    """Letters in our own strokes, so that the picture looks alike with any set of fonts; y is the base line's, downwards."""
    strokes = text_strokes(text, x, -y, height, angle_deg)
    path = " ".join("M" + "L".join(_pair((px, -py)) for px, py in stroke) for stroke in strokes)
    return f'<path d="{path}" stroke="{INK}" stroke-width="{width:g}" fill="none" stroke-linecap="round" stroke-linejoin="round"/>'


def _pair(p: Point) -> str:
    return f"{p[0]:.2f} {p[1]:.2f}".replace("-0.00", "0.00")


def _document(title: str, wide: float, high: float, body: Sequence[str]) -> str:
    """As wide and high as asked, and wider or higher where something drawn reaches past that: a size written beside its line, a title."""
    drawn = [(float(x), float(y)) for line in body for x, y in DRAWN.findall(line)]
    left, top = (math.floor(min(0.0, min(p[i] for p in drawn) - SMALL)) for i in (0, 1))
    right, low = (math.ceil(max(most, max(p[i] for p in drawn) + SMALL)) for i, most in ((0, wide), (1, high)))
    box = f"{left} {top} {right - left} {low - top}"
    head = f'<svg xmlns="http://www.w3.org/2000/svg" viewBox="{box}" width="{right - left}" height="{low - top}" role="img">'
    paper = f'<rect x="{left}" y="{top}" width="{right - left}" height="{low - top}" fill="white"/>'
    return "\n".join([head, f"<title>{escape(title)}</title>", paper, *body, "</svg>", ""])
