"""The flat pattern of a sheet part: its panels laid out in one plane, bend zones between them as wide as the bend rule says.

A pure transform: needs K, no kernel. A part's root panel keeps its own coordinates in the flat.
"""

from __future__ import annotations

import math
from dataclasses import dataclass, replace
from functools import cached_property

from parts.bending import BendRule, allowance_mm
from parts.errors import BadInput, Fault
from parts.holes import Hole
from parts.outline import Contour, Point, Segment, Transform
from parts.segment import distance, minus
from parts.sheet import Bend, Label, Mark, Panel, SheetPart


@dataclass(frozen=True, kw_only=True)
class FlatBend:
    """One bend zone in the flat: its centre line, and what the brake is told. + `angle_deg` turns up, towards the seen (top) face."""

    name: str
    line: tuple[Point, Point]
    angle_deg: float
    inside_radius_mm: float
    k_factor: float
    length_mm: float  #: mean of the zone's two bend edges
    width_mm: float  #: the bend allowance


@dataclass(frozen=True, kw_only=True)
class Flat:
    """One flat pattern, seen from the top face, in mm."""

    name: str
    thickness_mm: float
    contour: Contour
    holes: tuple[Hole, ...]
    bends: tuple[FlatBend, ...]
    marks: tuple[Mark, ...]
    labels: tuple[Label, ...]

    @cached_property
    def area_mm2(self) -> float:
        """Of the steel that is left: holes taken off."""
        return self.contour.area - sum(h.contour().area for h in self.holes)

    @cached_property
    def cut_length_mm(self) -> float:
        return self.contour.perimeter + sum(h.contour().perimeter for h in self.holes)

    def at_its_corner(self) -> Flat:
        """The same pattern, its box's lower left corner at (0, 0): where a tape is hooked on."""
        x0, y0, _, _ = self.contour.box
        t = Transform.shift(-x0, -y0)
        return replace(
            self,
            contour=self.contour.moved(t),
            holes=tuple(h.moved(t) for h in self.holes),
            bends=tuple(replace(b, line=(t.apply(b.line[0]), t.apply(b.line[1]))) for b in self.bends),
            marks=tuple(m.moved(t) for m in self.marks),
            labels=tuple(n.shifted(-x0, -y0) for n in self.labels),
        )

    @property
    def pierces(self) -> int:
        return 1 + len(self.holes)

    @property
    def volume_mm3(self) -> float:
        """Of the formed part, by Pappus: t A_flat, and w theta t^2 (1/2 - K) more for each bend that K puts off mid-thickness."""
        t = self.thickness_mm
        bends = sum(b.length_mm * math.radians(abs(b.angle_deg)) * t * t * (0.5 - b.k_factor) for b in self.bends)
        return t * self.area_mm2 + bends


def unfold(part: SheetPart, rule: BendRule) -> Flat:
    """Lay `part` flat.

    Raises:
        BadInput: the bend rule does not reach one of its bends, or the flat pattern would overlap itself.
    """
    panels = {p.name: p for p in part.panels}
    places, ks, widths = flat_places(part, rule)
    contour = Contour.of(_walk(part.panels[0].name, 0, part, places)).tidy()
    crossing = contour.self_crossing()
    if crossing is not None:
        x, y = crossing
        raise BadInput(
            Fault(
                where=f"part {part.name}",
                field="flat pattern",
                limit=f"overlaps itself near ({x:.1f}, {y:.1f}) mm: it cannot be cut from one sheet",
                remedy="shorten a flange or give the corner a relief",
            )
        )
    return Flat(
        name=part.name,
        thickness_mm=part.thickness_mm,
        contour=contour,
        holes=tuple(h.moved(places[p.name]) for p in part.panels for h in p.holes),
        bends=tuple(_flat_bend(b, panels, places, ks[b.child], widths[b.child]) for b in ordered(part)),
        marks=tuple(_mark(m, places[p.name]) for p in part.panels for m in p.marks),
        labels=tuple(_label(m, places[p.name]) for p in part.panels for m in p.labels),
    )


def flat_places(part: SheetPart, rule: BendRule) -> tuple[dict[str, Transform], dict[str, float], dict[str, float]]:
    """(from each panel's coordinates to the flat's, and by the bend's child K and the zone's width in mm).

    Raises:
        BadInput: as `unfold`, but for patterns that overlap.
    """
    panels = {p.name: p for p in part.panels}
    places = {part.panels[0].name: Transform()}
    widths: dict[str, float] = {}
    ks: dict[str, float] = {}
    for bend in ordered(part):
        ks[bend.child] = rule.k(bend.inside_radius_mm, part.thickness_mm, abs(bend.angle_deg))
        widths[bend.child] = allowance_mm(bend.angle_deg, bend.inside_radius_mm, part.thickness_mm, ks[bend.child])
        places[bend.child] = _beside(panels[bend.parent], bend, widths[bend.child]).then(places[bend.parent])
    return places, ks, widths


def ordered(part: SheetPart) -> list[Bend]:
    """The bends from the root outwards, every parent before its children.

    Raises:
        BadInput: the panels and bends do not make one tree, or a bend names a panel that is not there.
    """
    where, names = f"part {part.name}", {p.name for p in part.panels}
    strays = sorted({n for b in part.bends for n in (b.parent, b.child) if n not in names})
    if strays or len(names) != len(part.panels):
        limit = f"no panel is called {', '.join(strays)}" if strays else "two panels have one name"
        remedy = "give each panel its own name and use it"
        raise BadInput(Fault(where=where, field="bends" if strays else "panels", limit=limit, remedy=remedy))
    if not part.panels:
        raise BadInput(Fault(where=where, field="panels", limit="a part has one panel or more", remedy="give it one"))
    known = {part.panels[0].name}
    left = list(part.bends)
    out: list[Bend] = []
    while left:
        ready = [b for b in left if b.parent in known and b.child not in known]
        if not ready:
            raise BadInput(
                Fault(
                    where=where,
                    field="bends",
                    limit=f"bend to '{left[0].child}' does not hang from panel '{part.panels[0].name}' by one path",
                    remedy="every panel but the first is the child of one bend, and no chain of bends comes back to where it began",
                )
            )
        out.append(ready[0])
        known.add(ready[0].child)
        left.remove(ready[0])
    return out


def _beside(parent: Panel, bend: Bend, width_mm: float) -> Transform:
    """From the child's coordinates to its parent's, in the flat."""
    edge = parent.contour.segments[bend.edge]
    dx, dy = edge.tangent_at(0.0)
    (bx, by), off = edge.b, bend.offset_mm
    origin = (bx - dx * off + dy * width_mm, by - dy * off - dx * width_mm)
    return Transform.frame(origin, (-dx, -dy))


def _walk(name: str, first: int, part: SheetPart, places: dict[str, Transform]) -> list[Segment]:
    """The edge of panel `name` and of all that hangs from it, in flat coordinates, from its segment `first` on."""
    panel = next(p for p in part.panels if p.name == name)
    hanging = {b.edge: b for b in part.bends if b.parent == name}
    out: list[Segment] = []
    for i, segment in enumerate(panel.contour.segments):
        if i < first:
            continue
        placed = segment.moved(places[name])
        bend = hanging.get(i)
        if bend is None:
            out.append(placed)
            continue
        child = next(p for p in part.panels if p.name == bend.child)
        edge = child.contour.segments[0].moved(places[bend.child])
        out.append(Segment(placed.a, edge.b))
        out.extend(_walk(bend.child, 1, part, places))
        out.append(Segment(edge.a, placed.b))
    return out


def _flat_bend(bend: Bend, panels: dict[str, Panel], places: dict[str, Transform], k: float, width: float) -> FlatBend:
    one = panels[bend.parent].contour.segments[bend.edge].moved(places[bend.parent])
    two = panels[bend.child].contour.segments[0].moved(places[bend.child])
    ends = [((p[0] + q[0]) / 2, (p[1] + q[1]) / 2) for p, q in ((one.a, two.b), (one.b, two.a))]
    return FlatBend(
        name=f"{bend.parent}/{bend.child}",
        line=(ends[0], ends[1]),
        angle_deg=bend.angle_deg,
        inside_radius_mm=bend.inside_radius_mm,
        k_factor=k,
        length_mm=(one.chord + two.chord) / 2,
        width_mm=width,
    )


def _mark(mark: Mark, t: Transform) -> Mark:
    return replace(mark, strokes=tuple(tuple(t.apply(p) for p in s) for s in mark.strokes))


def _label(label: Label, t: Transform) -> Label:
    x, y = t.apply((label.x_mm, label.y_mm))
    turn = math.radians(label.angle_deg)
    dx, dy = t.direction((math.cos(turn), math.sin(turn)))
    return replace(label, x_mm=x, y_mm=y, angle_deg=math.degrees(math.atan2(dy, dx)))


def edge_between(contour: Contour, a: Point, b: Point) -> int:
    """The number of the contour's segment that runs from `a` to `b` (to 0.001 mm). Raises ValueError if there is none."""
    for i, s in enumerate(contour.segments):
        if distance(s.a, a) < 1e-3 and distance(s.b, b) < 1e-3:
            return i
    raise ValueError(f"no edge from {a} to {b}")


def as_child(panel: Panel, edge: int, origin: Point) -> Panel:
    """`panel` moved so that its segment `edge` lies on v = 0 as segment 0, the steel at v > 0 and `origin` at u = 0."""
    s = panel.contour.segments[edge]
    d = minus(s.b, s.a)
    t = Transform.frame(origin, (d[0] / s.chord, d[1] / s.chord)).inverse()
    return replace(
        panel,
        contour=panel.contour.started_at(edge).moved(t),
        holes=tuple(h.moved(t) for h in panel.holes),
        marks=tuple(_mark(m, t) for m in panel.marks),
        labels=tuple(_label(m, t) for m in panel.labels),
    )
