"""Whether a sheet part can be made at all: everything the kernel would swallow silently is refused here, in 2-D, with its numbers."""

from __future__ import annotations

import math

from parts.errors import BadInput, Fault
from parts.flat import ordered
from parts.formed import collisions
from parts.holes import Hole
from parts.outline import SAME_MM, Contour
from parts.sheet import Bend, Panel, SheetPart

SHORTEST_MM = 0.2  #: no edge shorter than this is cut: a burner cannot turn in it
FARTHEST = 1e5  #: mm or deg: past this a number is a slip
STEEPEST_DEG = 170.0
LEAST_WEB_MM = 0.5  #: steel that must be left beside an opening for it to be one; the shop's own rules ask for far more


def check(part: SheetPart) -> None:
    """Raise `BadInput` with every fault of `part`."""
    found = faults(part)
    if found:
        raise BadInput(found)


def faults(part: SheetPart) -> list[Fault]:
    """Everything that keeps `part` from being one sound piece of sheet: numbers, outlines, openings, bends, folding."""
    where = f"part {part.name}"
    broken = _numbers(part, where)
    if broken:
        return broken
    out: list[Fault] = []
    for panel in part.panels:
        out += _outline(panel, where)
        bend_edges = {b.edge for b in part.bends if b.parent == panel.name}
        bend_edges |= {0 for b in part.bends if b.child == panel.name}
        out += _openings(panel, bend_edges, where)
    try:
        tree = ordered(part)
    except BadInput as error:
        return out + list(error.faults)
    out += _bends(tree, {p.name: p for p in part.panels}, where)
    loose = sorted({p.name for p in part.panels[1:]} - {b.child for b in tree})
    if loose:
        limit = "every panel but the first hangs from one bend"
        remedy = "join it to another panel by a bend, or leave it out"
        out.append(Fault(where=where, field="panels", value=", ".join(loose), limit=limit, remedy=remedy))
    return out or collisions(part)


def _numbers(part: SheetPart, where: str) -> list[Fault]:
    """NaN and infinity make the kernel loop for ever: nothing else is looked at while one is there."""
    values: dict[str, float] = {"thickness": part.thickness_mm}
    for bend in part.bends:
        values[f"bend to {bend.child} angle"] = bend.angle_deg
        values[f"bend to {bend.child} inside radius"] = bend.inside_radius_mm
        values[f"bend to {bend.child} offset"] = bend.offset_mm
    for panel in part.panels:
        for i, ((x, y), bulge) in enumerate(zip(panel.contour.points, panel.contour.bulges, strict=True)):
            values[f"panel {panel.name} point {i + 1}"] = _worst(x, y, bulge)
        for h in panel.holes:
            values[f"hole {h.name} size"] = _worst(h.diameter_mm, h.length_mm, h.angle_deg, h.corner_radius_mm)
            values[f"hole {h.name} place"] = _worst(h.x_mm, h.y_mm)
    remedy = "look for a division by nothing or a slip of the unit in what it was computed from"
    out = [
        Fault(where=where, field=key, value=f"{value:g}", limit="must be a finite number below 100 m", remedy=remedy)
        for key, value in values.items()
        if not abs(value) <= FARTHEST
    ]
    if part.thickness_mm <= 0:
        remedy = "give the thickness of the sheet"
        out.append(Fault(where=where, field="thickness", value=f"{part.thickness_mm:g} mm", limit="must be more than 0", remedy=remedy))
    for bend in part.bends:
        if bend.inside_radius_mm < 0:
            field, value = f"bend to {bend.child} inside radius", f"{bend.inside_radius_mm:g} mm"
            remedy = "the angle, not the radius, says which way it turns"
            out.append(Fault(where=where, field=field, value=value, limit="must not be negative", remedy=remedy))
    return out


def _worst(*values: float) -> float:
    """The one that is not a number, else the one farthest from 0: a sum would let two that cancel out pass."""
    return max(values, key=lambda v: math.inf if math.isnan(v) else abs(v))


def _outline(panel: Panel, where: str) -> list[Fault]:
    field = f"outline of panel {panel.name}"
    short = [s for s in panel.contour.segments if s.length < SHORTEST_MM]
    if short:
        (x, y), size = short[0].a, short[0].length
        limit = f"has an edge of {size:.3f} mm at ({x:.2f}, {y:.2f}); {SHORTEST_MM} mm is the shortest that is cut"
        return [Fault(where=where, field=field, limit=limit, remedy="move the feature that makes it")]
    crossing = panel.contour.self_crossing()
    if crossing is not None:
        x, y = crossing
        remedy = "two features or two edges overlap there: move or shrink one"
        return [Fault(where=where, field=field, limit=f"crosses itself near ({x:.1f}, {y:.1f}) mm", remedy=remedy)]
    if panel.contour.area <= 0:
        remedy = "list its points counter-clockwise, seen from the top face"
        return [Fault(where=where, field=field, limit="encloses nothing, or runs clockwise", remedy=remedy)]
    return []


def _openings(panel: Panel, bend_edges: set[int], where: str) -> list[Fault]:
    out: list[Fault] = []
    shapes: list[tuple[Hole, Contour]] = []
    for hole in panel.holes:
        fault = _size(hole, where) or _on_panel(hole, panel, bend_edges, where)
        if fault is not None:
            out.append(fault)
            continue
        shape = hole.contour()
        for other, other_shape in shapes:
            near = math.dist(hole.centre, other.centre) < hole.reach_mm + other.reach_mm + LEAST_WEB_MM
            if near and (shape.gap(other_shape) < LEAST_WEB_MM or other_shape.contains(hole.centre) or shape.contains(other.centre)):
                limit = f"runs into {other.name}: the two leave less than {LEAST_WEB_MM} mm of steel between them"
                remedy = "move or shrink one of them"
                out.append(Fault(where=where, field=f"hole {hole.name}", value=_shown(hole), limit=limit, remedy=remedy))
                break
        shapes.append((hole, shape))
    return out


def _size(hole: Hole, where: str) -> Fault | None:
    limit = remedy = ""
    if hole.diameter_mm <= 0 or (hole.kind == "rectangle" and hole.length_mm <= 0):
        limit, remedy = "needs a size above 0", "give its size"
    elif hole.kind == "slot" and hole.length_mm <= hole.diameter_mm:
        limit, remedy = "a slot is longer than it is wide", "give its length over all, or make it round"
    elif hole.kind == "rectangle" and not 0 <= 2 * hole.corner_radius_mm < min(hole.length_mm, hole.diameter_mm):
        limit, remedy = "corner radii must leave a straight stretch on each side", "make the corner radius smaller"
    return Fault(where=where, field=f"hole {hole.name}", value=_shown(hole), limit=limit, remedy=remedy) if limit else None


def _on_panel(hole: Hole, panel: Panel, bend_edges: set[int], where: str) -> Fault | None:
    contour = panel.contour
    if not contour.contains(hole.centre):
        away, nearest = min((s.distance(hole.centre), i) for i, s in enumerate(contour.segments))
        limit = f"its centre lies {away:.1f} mm off panel {panel.name}"
        if nearest in bend_edges:
            limit += ", in a bend zone or past it: that edge is the bend's tangent line"
        return Fault(where=where, field=f"hole {hole.name}", value=_shown(hole), limit=limit, remedy="move it onto the plate")
    if contour.distance(hole.centre) > hole.reach_mm + LEAST_WEB_MM:
        return None
    shape = hole.contour()
    gaps = [(min(s.gap(e) for e in shape.segments), i, s) for i, s in enumerate(contour.segments)]
    gap, index, edge = min(gaps, key=lambda g: g[0])
    within = gap > 0.0 and all(contour.contains(p) for p in shape.points)
    if gap >= LEAST_WEB_MM and within:
        return None
    short = LEAST_WEB_MM - (gap if within else edge.distance(hole.centre) - hole.reach_mm)
    move = f"move it {math.ceil(10 * short - 1e-6) / 10:.1f} mm or more"
    if index in bend_edges:
        limit = f"lies in a bend zone or on its edge: the tangent line is {edge.distance(hole.centre):.1f} mm from its centre"
        remedy = f"{move} away from the bend"
    elif hole.kind != "round" and sum(1 for g, _, _ in gaps if g == 0.0) > 1:
        limit, remedy = f"cuts panel {panel.name} in two or runs out of it on more than one side", "shorten it or turn it"
    else:
        limit = f"breaks through the edge of panel {panel.name} or leaves under {LEAST_WEB_MM} mm beside it"
        remedy = f"{move} inwards"
    return Fault(where=where, field=f"hole {hole.name}", value=_shown(hole), limit=limit, remedy=remedy)


def _bends(tree: list[Bend], panels: dict[str, Panel], where: str) -> list[Fault]:
    out: list[Fault] = []
    taken = {(b.child, 0): b.child for b in tree}
    for bend in tree:
        field = f"bend to {bend.child}"
        for name, edge in ((bend.parent, bend.edge), (bend.child, 0)):
            segments = panels[name].contour.segments
            if not (0 <= edge < len(segments) and segments[edge].is_line):
                limit, remedy = f"must leave panel {name} along one straight edge", f"it has edges 0 to {len(segments) - 1}"
                out.append(Fault(where=where, field=field, value=f"edge {edge}", limit=limit, remedy=remedy))
        other = taken.setdefault((bend.parent, bend.edge), bend.child)
        if other != bend.child:
            limit, remedy = f"panel {bend.parent} carries another bend on that edge: {other}", "split the edge, with a relief between"
            out.append(Fault(where=where, field=field, value=f"edge {bend.edge}", limit=limit, remedy=remedy))
        (ax, ay), (bx, by) = panels[bend.child].contour.points[:2]
        if max(abs(ay), abs(by)) > SAME_MM or bx <= ax:
            value, remedy = f"({ax:g}, {ay:g}) to ({bx:g}, {by:g})", "place it with as_child"
            limit = f"panel {bend.child} must begin with its bend edge, along +u on v = 0"
            out.append(Fault(where=where, field=field, value=value, limit=limit, remedy=remedy))
        if not 0 < abs(bend.angle_deg) <= STEEPEST_DEG:
            value = f"{bend.angle_deg:g} deg"
            limit = f"a brake turns it by more than 0 and at most {STEEPEST_DEG:g} deg"
            remedy = "give what the brake turns, not the opening angle"
            out.append(Fault(where=where, field=field, value=value, limit=limit, remedy=remedy))
    return out


def _shown(hole: Hole) -> str:
    sizes = f"{hole.diameter_mm:g}" if hole.kind == "round" else f"{hole.diameter_mm:g} x {hole.length_mm:g}"
    return f"{hole.kind} {sizes} mm at ({hole.x_mm:.2f}, {hole.y_mm:.2f})"
