"""Faces of a formed part, which of them are seen from a direction, and in which order to paint them."""

from __future__ import annotations

import heapq
import math
from collections.abc import Callable, Iterable, Sequence
from dataclasses import dataclass
from itertools import pairwise

from generator.draw.strokes import text_strokes
from parts.formed import Formed
from parts.outline import Contour, Point, Segment
from parts.sheet import Panel, Placement, Vec3
from parts.vectors import cross, dot, minus

Place = Callable[[Point], Point]
Loop = tuple[Vec3, ...]

DARK, LIGHT = 0.60, 0.97  #: share of white on a face turned from the light and one turned to it
EDGE = ("#1c1c1c", 0.9)
FOLD = ("#8a8a8a", 0.5)
ETCH = ("#4a4a4a", 0.5)


@dataclass(frozen=True, kw_only=True)
class Face:
    """One flat face with what is drawn on it. `outline` runs counter-clockwise seen from outside the steel."""

    outline: Loop
    normal: Vec3
    openings: tuple[Loop, ...] = ()
    inner: tuple[tuple[Loop, Vec3], ...] = ()  #: walls of the openings
    edges: tuple[Loop, ...] = ()  #: drawn dark
    folds: tuple[Loop, ...] = ()  #: where a bend begins: drawn light
    turns: tuple[tuple[Loop, Vec3], ...] = ()  #: edges with the neighbour's normal: drawn dark where the neighbour turns away
    etched: tuple[Loop, ...] = ()


@dataclass(frozen=True, kw_only=True)
class Painted:
    """A face as it lies on the view."""

    layers: tuple[tuple[tuple[tuple[Point, ...], ...], str], ...]  #: loops filled in one colour, in order
    lines: tuple[tuple[tuple[Point, ...], tuple[str, float]], ...]

    @property
    def points(self) -> list[Point]:
        return [p for loops, _ in self.layers for loop in loops for p in loop]

    def drawn(self, place: Place) -> list[str]:
        """SVG elements."""
        out: list[str] = []
        for loops, colour in self.layers:
            path = " ".join("M" + "L".join(_pair(place(p)) for p in loop) + "Z" for loop in loops)
            # a hair of the same colour hides the seams between neighbours
            out.append(f'<path d="{path}" fill="{colour}" fill-rule="evenodd" stroke="{colour}" stroke-width="0.4"/>')
        for points, (colour, width) in self.lines:
            path = "M" + "L".join(_pair(place(p)) for p in points)
            out.append(f'<path d="{path}" fill="none" stroke="{colour}" stroke-width="{width:g}" stroke-linecap="round"/>')
        return out


@dataclass(frozen=True, kw_only=True)
class View:
    """A direction to look from. `towards` points from the part to the eye; `right` and `up` span the picture."""

    towards: Vec3
    right: Vec3
    up: Vec3

    @staticmethod
    def of(azimuth_deg: float, elevation_deg: float) -> View:
        """From the +z side turned `azimuth_deg` towards +x and raised `elevation_deg` towards +y, which stands upright."""
        a, e = math.radians(azimuth_deg), math.radians(elevation_deg)
        towards = (math.sin(a) * math.cos(e), math.sin(e), math.cos(a) * math.cos(e))
        right = (math.cos(a), 0.0, -math.sin(a))
        return View(towards=towards, right=right, up=cross(towards, right))

    def flat(self, p: Vec3) -> Point:
        return dot(p, self.right), dot(p, self.up)

    def colour(self, normal: Vec3) -> str:
        """Grey by how squarely the face looks at a light above the eye's left shoulder."""
        light = (-0.45 * dot(normal, self.right) + 0.70 * dot(normal, self.up) + 0.55 * dot(normal, self.towards)) / 0.9975
        grey = round(255 * (DARK + (LIGHT - DARK) * max(0.0, light)))
        return f"#{grey:02x}{grey:02x}{grey:02x}"

    def sees(self, normal: Vec3) -> bool:
        return dot(normal, self.towards) > 1e-9

    def order(self, faces: Iterable[Face], size_mm: float) -> list[Face]:
        """The faces that look this way, the farthest first; `size_mm` is about how large the part is."""
        seen = [f for f in faces if self.sees(f.normal)]
        return [seen[i] for i in _far_to_near([_Flat.of(f, self) for f in seen], 1e-5 * size_mm)]

    def painted(self, face: Face) -> Painted:
        """`face` with its openings' walls and its lines, on the view."""
        walls = [w for w in face.inner if self.sees(w[1])]
        layers: list[tuple[tuple[tuple[Point, ...], ...], str]] = [((self._loop(loop),), self.colour(normal)) for loop, normal in walls]
        layers.append((tuple(self._loop(loop) for loop in (face.outline, *face.openings)), self.colour(face.normal)))
        lines = [(self._loop(e), FOLD) for e in face.folds] + [(self._loop(e), EDGE) for e in face.edges]
        lines += [(self._loop(e), EDGE) for e, normal in face.turns if not self.sees(normal)]
        lines += [(self._loop((*o, o[0])), EDGE) for o in face.openings] + [(self._loop(e), ETCH) for e in face.etched]
        return Painted(layers=tuple(layers), lines=tuple(lines))

    def _loop(self, loop: Loop) -> tuple[Point, ...]:
        return tuple(self.flat(p) for p in loop)


def solids_of(shape: Formed, sagitta_mm: float) -> list[Face]:
    """All outside faces of the steel, arcs and bends in steps that miss by at most `sagitta_mm`."""
    out: list[Face] = []
    for panel in shape.part.panels:
        bent = {b.edge for b in shape.part.bends if b.parent == panel.name}
        if any(b.child == panel.name for b in shape.part.bends):
            bent.add(0)
        out += _panel_faces(panel, shape.places[panel.name], shape.part.thickness_mm, bent, sagitta_mm)
    for zone in shape.zones:
        out += _zone_faces(shape.strips(zone, sagitta_mm))
    return out


def _panel_faces(panel: Panel, at: Placement, t: float, bent: set[int], sagitta_mm: float) -> list[Face]:
    up = at.normal
    down = _times(up, -1.0)
    chains = [_steps(s.a, s.b, s.bulge, sagitta_mm) for s in panel.contour.segments]
    ring = [p for chain in chains for p in chain[:-1]]
    holes = [h.contour().polyline(sagitta_mm) for h in panel.holes]
    marks = {
        face: [s for m in panel.marks if m.face == face for s in m.strokes]
        + [s for n in panel.labels if n.face == face for s in text_strokes(n.text, n.x_mm, n.y_mm, n.height_mm, n.angle_deg)]
        for face in ("top", "bottom")
    }
    inner: list[tuple[Loop, Vec3]] = []
    for hole in holes:
        for a, b in zip(hole, (*hole[1:], hole[0]), strict=True):
            inner.append(((at.point(*a), at.point(*b), at.point(*b, t), at.point(*a, t)), _times(_outward(a, b, at), -1.0)))

    def face(z: float, normal: Vec3, name: str) -> Face:
        loop = ring if z else ring[::-1]
        return Face(
            outline=tuple(at.point(*p, z) for p in loop),
            normal=normal,
            openings=tuple(tuple(at.point(*p, z) for p in hole) for hole in holes),
            inner=tuple(inner),
            edges=tuple(tuple(at.point(*p, z) for p in c) for i, c in enumerate(chains) if i not in bent),
            folds=tuple(tuple(at.point(*p, z) for p in c) for i, c in enumerate(chains) if i in bent),
            etched=tuple(tuple(at.point(*p, z) for p in s) for s in marks[name]),
        )

    out = [face(t, up, "top"), face(0.0, down, "bottom")]
    segments = panel.contour.segments
    for i, chain in enumerate(chains):
        if i in bent:
            continue
        before, after = segments[i - 1], segments[(i + 1) % len(segments)]
        sharp = [_corner(before, segments[i]), _corner(segments[i], after)]
        for k, (a, b) in enumerate(pairwise(chain)):
            low, high = (at.point(*a), at.point(*b)), (at.point(*b, t), at.point(*a, t))
            ends = [(low[0], high[1])] * (k == 0 and sharp[0]) + [(low[1], high[0])] * (k == len(chain) - 2 and sharp[1])
            out.append(Face(outline=(*low, *high), normal=_outward(a, b, at), edges=(low, high, *ends)))
    return out


def _zone_faces(rows: Sequence[Sequence[Vec3]]) -> list[Face]:
    """From stations of (first end, second end) at z = 0 and then at z = thickness: both skins and the two free ends."""
    out: list[Face] = []
    for first, second in ((2, 3), (1, 0)):  # seen from outside, the ends of the z = 0 skin change places
        loops = [(one[first], one[second], two[second], two[first]) for one, two in pairwise(rows)]
        normals = [_normal(loop) for loop in loops]
        for k, loop in enumerate(loops):
            turns = [((loop[0], loop[1]), n) for n in normals[max(0, k - 1) : k]]
            turns += [((loop[2], loop[3]), n) for n in normals[k + 1 : k + 2]]
            out.append(Face(outline=loop, normal=normals[k], edges=((loop[0], loop[3]), (loop[1], loop[2])), turns=tuple(turns)))
    for first, second in ((0, 2), (3, 1)):
        for one, two in pairwise(rows):
            loop = (one[first], one[second], two[second], two[first])
            out.append(Face(outline=loop, normal=_normal(loop), edges=((loop[0], loop[3]), (loop[1], loop[2]))))
    return out


def _corner(one: Segment, two: Segment) -> bool:
    """Whether the contour turns where two segments meet, by more than half a degree."""
    return math.dist(one.tangent_at(1.0), two.tangent_at(0.0)) > 0.01


def _steps(a: Point, b: Point, bulge: float, sagitta_mm: float) -> list[Point]:
    """From a to b, both included."""
    return [a, b] if bulge == 0.0 else list(Contour((a, b), (bulge, 0.0)).polyline(sagitta_mm))


def _outward(a: Point, b: Point, at: Placement) -> Vec3:
    """Square to the edge from a to b of a counter-clockwise contour, away from the steel."""
    length = math.dist(a, b)
    x, y = (b[1] - a[1]) / length, (a[0] - b[0]) / length
    return x * at.u[0] + y * at.v[0], x * at.u[1] + y * at.v[1], x * at.u[2] + y * at.v[2]


@dataclass(frozen=True, kw_only=True)
class _Flat:
    """A face on the view, with its plane: depth = base + slope . (x, y), larger is nearer."""

    loop: tuple[Point, ...]
    slope: Point
    base: float
    box: tuple[float, float, float, float]
    middle: float  #: mean depth

    @staticmethod
    def of(face: Face, view: View) -> _Flat:
        loop = tuple(view.flat(p) for p in face.outline)
        nx, ny, nz = (dot(face.normal, d) for d in (view.right, view.up, view.towards))
        slope = (-nx / nz, -ny / nz)
        depths = [dot(p, view.towards) for p in face.outline]
        base = sum(d - slope[0] * x - slope[1] * y for d, (x, y) in zip(depths, loop, strict=True)) / len(loop)
        xs, ys = [p[0] for p in loop], [p[1] for p in loop]
        return _Flat(loop=loop, slope=slope, base=base, box=(min(xs), min(ys), max(xs), max(ys)), middle=sum(depths) / len(depths))

    def depth(self, p: Point) -> float:
        return self.base + self.slope[0] * p[0] + self.slope[1] * p[1]

    def holds(self, p: Point) -> bool:
        inside = False
        for (ax, ay), (bx, by) in zip(self.loop, (*self.loop[1:], self.loop[0]), strict=True):
            if (ay > p[1]) != (by > p[1]) and p[0] < ax + (p[1] - ay) / (by - ay) * (bx - ax):
                inside = not inside
        return inside

    def meets(self, other: _Flat) -> list[Point]:
        """Points that both cover."""
        p, q = self.box, other.box
        if p[0] > q[2] or q[0] > p[2] or p[1] > q[3] or q[1] > p[3]:
            return []
        out = [x for x in self.loop if other.holds(x)] + [x for x in other.loop if self.holds(x)]
        for a, b in zip(self.loop, (*self.loop[1:], self.loop[0]), strict=True):
            if max(a[0], b[0]) < q[0] or min(a[0], b[0]) > q[2] or max(a[1], b[1]) < q[1] or min(a[1], b[1]) > q[3]:
                continue
            for c, d in zip(other.loop, (*other.loop[1:], other.loop[0]), strict=True):
                det = (b[0] - a[0]) * (d[1] - c[1]) - (b[1] - a[1]) * (d[0] - c[0])
                if det == 0.0:
                    continue
                s = ((c[0] - a[0]) * (d[1] - c[1]) - (c[1] - a[1]) * (d[0] - c[0])) / det
                r = ((c[0] - a[0]) * (b[1] - a[1]) - (c[1] - a[1]) * (b[0] - a[0])) / det
                if 0.0 < s < 1.0 and 0.0 < r < 1.0:
                    out.append((a[0] + s * (b[0] - a[0]), a[1] + s * (b[1] - a[1])))
        return out


def _far_to_near(flats: Sequence[_Flat], same_mm: float) -> list[int]:
    """An order in which no face is painted over one that lies before it; knots are cut at the farthest face."""
    behind: list[set[int]] = [set() for _ in flats]  #: what has to be painted before
    for i, one in enumerate(flats):
        for j in range(i + 1, len(flats)):
            gaps = [one.depth(p) - flats[j].depth(p) for p in one.meets(flats[j])]
            gap = max(gaps, key=abs, default=0.0)
            if gap > same_mm:
                behind[i].add(j)
            elif gap < -same_mm:
                behind[j].add(i)
    before: list[list[int]] = [[] for _ in flats]
    for i, needs in enumerate(behind):
        for j in needs:
            before[j].append(i)
    waiting = {i: len(needs) for i, needs in enumerate(behind)}
    ready = [(flats[i].middle, i) for i, n in waiting.items() if n == 0]
    heapq.heapify(ready)
    out: list[int] = []
    while waiting:
        i = heapq.heappop(ready)[1] if ready else min(waiting, key=lambda k: (flats[k].middle, k))
        if i not in waiting:
            continue
        del waiting[i]
        out.append(i)
        for j in sorted(before[i]):
            if j in waiting:
                waiting[j] -= 1
                if waiting[j] == 0:
                    heapq.heappush(ready, (flats[j].middle, j))
    return out


def _normal(loop: Sequence[Vec3]) -> Vec3:
    """Of a four-cornered face, by its diagonals; zero where it has no area."""
    n = cross(minus(loop[2], loop[0]), minus(loop[3], loop[1]))
    length = math.sqrt(dot(n, n))
    return _times(n, 1.0 / length) if length > 0 else (0.0, 0.0, 0.0)


def _pair(p: Point) -> str:
    return f"{p[0]:.2f} {p[1]:.2f}".replace("-0.00", "0.00")




def _times(p: Vec3, k: float) -> Vec3:
    return k * p[0], k * p[1], k * p[2]
