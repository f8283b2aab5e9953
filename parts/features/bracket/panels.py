"""From an outline to the sheet part: base, seat and gussets turned so that the seen face is the top, joined by bends, and placed."""

from __future__ import annotations

from dataclasses import dataclass, replace

from parts.features.bracket.outline import Gusset, Outline, base_contour, seat_contour
from parts.features.bracket.site import Site
from parts.features.marks import label
from parts.flat import edge_between
from parts.holes import Hole
from parts.outline import Contour, Point, Transform
from parts.sheet import Bend, Mark, Panel, Placement, SheetPart

TICK_MM = 8.0
OFF_EDGE_MM = 0.5
BASE, SEAT = "base", "seat"
GUSSETS = ("gusset-left", "gusset-right")  #: as the seen face is looked at
FLIP_V = Transform(d=-1.0)


@dataclass(frozen=True, kw_only=True)
class Cuts:
    """Openings: of the base in (p, q), of the seat in (u, v) of its contour."""

    base: tuple[Hole, ...] = ()
    seat: tuple[Hole, ...] = ()


def seat_point(site: Site, outline: Outline, p: float, out: float) -> Point:
    """(u, v) on the seat of a point at p, `out` off the face."""
    return p + outline.half_bend, out - site.corner_mm


def part_of(site: Site, outline: Outline, cuts: Cuts, part_id: str) -> tuple[SheetPart, Placement]:
    """The part, its base's lower left corner at (0, 0) as seen when fitted, and where that lies on the vehicle."""
    w, b, c = outline.half_base, outline.half_bend, outline.relief_mm
    base = Panel(name=BASE, contour=base_contour(outline), holes=cuts.base, marks=_base_tick(site, outline))
    wide = 2 * b
    seat = Panel(name=SEAT, contour=seat_contour(site, outline), holes=cuts.seat, marks=_seat_tick(site, outline))
    joined: list[tuple[Panel, Point, Point, float]] = [(seat, (b, 0.0), (-b, 0.0), wide)]
    if outline.gussets is not None:
        left, right = outline.gussets
        joined.append((_panel(GUSSETS[1], right, False), outline.free[-1], (w, -c), right.bend_mm))
        joined.append((_panel(GUSSETS[0], left, True), (-w, -c), outline.free[0], left.bend_mm))
    if site.upright < 0:  # the same picture upside down: u of every child runs the other way
        base = _moved(base, FLIP_V)
        joined = [(_moved(p, Transform(a=-1.0, tx=length)), _down(two), _down(one), length) for p, one, two, length in joined]
    first_out = 1.0 if site.along < 0 else -1.0
    texts = (part_id, f"{site.rail.side[0].upper()}")
    lettered = label(base, texts, first_out)
    children = [p for p, *_ in joined]
    if lettered is base:
        children[0] = label(children[0], texts, first_out if site.upright > 0 else -first_out)
    bends = tuple(
        Bend(
            parent=BASE, child=child.name, edge=edge_between(lettered.contour, one, two), angle_deg=90.0,
            inside_radius_mm=site.inside_radius_mm,
        )
        for child, (_, one, two, _) in zip(children, joined, strict=True)
    )  # fmt: skip
    x0, y0, _, _ = lettered.contour.box
    z0 = site.z(y0) if site.upright > 0 else site.tangent_z_mm + y0
    root = _moved(lettered, Transform.shift(-x0, -y0))
    part = SheetPart(name=part_id, thickness_mm=site.thickness_mm, panels=(root, *children), bends=bends)
    return part, site.placed(x0, z0)


def _down(p: Point) -> Point:
    return p[0], -p[1]


def _panel(name: str, gusset: Gusset, mirrored: bool) -> Panel:
    """Drawn for the right side; on the left its bend edge is walked the other way."""
    panel = Panel(name=name, contour=gusset.contour)
    return _moved(panel, Transform(a=-1.0, tx=gusset.bend_mm)) if mirrored else panel


def _moved(panel: Panel, t: Transform) -> Panel:
    contour = panel.contour.moved(t)
    if t.mirrored and panel.name != BASE:  # a child begins with its bend edge
        contour = _started(contour)
    return replace(
        panel,
        contour=contour,
        holes=tuple(h.moved(t) for h in panel.holes),
        marks=tuple(m.moved(t) for m in panel.marks),
        labels=tuple(n.shifted(t.tx, t.ty) for n in panel.labels),
    )


def _started(contour: Contour) -> Contour:
    """From its segment along v = 0 that begins at u = 0: the bend edge, whatever else lies on that line."""
    for i, s in enumerate(contour.segments):
        if s.is_line and abs(s.a[0]) + abs(s.a[1]) + abs(s.b[1]) < 1e-6 and s.b[0] > 0:
            return contour.started_at(i)
    raise AssertionError("a child panel lost its bend edge")


def _base_tick(site: Site, outline: Outline) -> tuple[Mark, ...]:
    """Where the place asked for lies, at the base's free edge."""
    p = site.p_of_x(site.x_mm)
    if not -outline.half_base + 1.0 < p < outline.half_base - 1.0:
        return ()
    edge = outline.free_q(p)
    line = ((p, edge + OFF_EDGE_MM), (p, edge + TICK_MM))
    return (Mark(name="place on the base", strokes=(line,)),)


def _seat_tick(site: Site, outline: Outline) -> tuple[Mark, ...]:
    """Where the place asked for lies, at the seat's free edge, square across the vehicle."""
    far = site.bracket.depth_mm
    line = tuple(seat_point(site, outline, site.p_of_x(site.x_mm, out), out) for out in (far - OFF_EDGE_MM, far - TICK_MM))
    return (Mark(name="place on the seat", strokes=(line,)),)
