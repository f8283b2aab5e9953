"""Trim lines: etched across a plate where a piece of it may be cut off later."""

from __future__ import annotations

import math
from collections.abc import Iterator
from dataclasses import replace
from itertools import pairwise
from typing import TYPE_CHECKING

from parts.features.draft import EDGE_MM, Draft, DraftPanel
from parts.features.marks import LABEL_HEIGHTS_MM, OFF_EDGE_MM, OFF_HOLE_MM, ROUND_LABEL_MM, ring_of, width_of
from parts.features.rows import Rows
from parts.features.spot import away_mm, over_bend_mm, spot_at, tape_of
from parts.outline import Point, Segment
from parts.sheet import Label, Mark

if TYPE_CHECKING:
    from parts.families.rail_plate_parts import Trim

SHORTEST_MM = 1.0  #: of an etched stroke
BESIDE_MM = 3.0  #: from the line to its label


def trims(draft: Draft) -> Draft:
    for one in draft.setting.plate.trims:
        draft = _trim(draft, one)
    return draft


def _trim(draft: Draft, one: Trim) -> Draft:
    setting = draft.setting
    tape = tape_of(draft, "trim.at", one.at)
    if isinstance(tape, Draft):
        return tape
    spot = spot_at(draft, tape, Rows(setting=setting, tapes_mm=(tape,)).span(tape)[1])
    if spot is None:
        return draft
    value, panel = f"{one.name} at {one.at}", draft.panels[spot.index]
    draft = replace(draft, made=draft.made | {f"trim {one.name}"})
    turn = math.radians(one.angle_deg)
    (a, b), c, s = spot.along, math.cos(turn), math.sin(turn)
    way = (a * c + b * s, b * c - a * s)  # rearward along the rail, turned down by the angle
    line = _across(draft, panel, (spot.centre[0], setting.upper().y_at(panel.facet.s_at(spot.centre[0]))), way)
    if line is None:
        limit = "does not run from the plate's upper edge to its lower edge: an end, a bend or a cut from the edge is in its way"
        remedy = "move it along the rail, or an angle nearer to 90 deg"
        return draft.fault("trim.at", limit, value=value, remedy=remedy, bends=panel.bend_before or panel.bend_after)
    over = over_bend_mm(panel, min(line.a[0], line.b[0]), max(line.a[0], line.b[0]))
    if over > -OFF_EDGE_MM:
        limit = f"runs {over:.1f} mm into a bend of the plate" if over > 0 else f"runs within {-over:.1f} mm of a bend of the plate"
        remedy = f"move it {away_mm(over + OFF_EDGE_MM, spot.along[0])} or more away from the bend"
        return draft.fault("trim.at", limit, value=value, remedy=remedy, bends=True)
    strokes = tuple(_strokes(panel, line))
    if not strokes:
        return draft.fault("trim.at", "lies wholly over openings of the plate", value=value, remedy="move it along the rail")
    mark = Mark(name=f"trim {one.name}", strokes=strokes)
    panel = replace(panel, marks=(*panel.marks, mark))
    text = one.label or f"trim {one.name}"
    label = label_beside(panel, line, text)
    if label is not None:
        panel = replace(panel, labels=(*panel.labels, label))
    draft = draft.with_panel(spot.index, panel)
    crossed = [name for name, c in panel.covers if any(s.crossings(line) for s in c.segments)]
    if crossed:
        two_thick = f"trim line {one.name} runs over {' and '.join(crossed)}"
        draft = draft.note(f"{two_thick}: it is not etched there, and a cut along it goes through two thicknesses")
    missing = "" if label is not None else "; no room to etch its name beside it"
    off = f", {one.angle_deg:g} deg to the rail" if abs(one.angle_deg - 90.0) > 1e-9 else ", square to the rail"
    return draft.note(f"trim line {one.name} is etched at {one.at}{off}: not cut, and the seams run on past it{missing}")


def _across(draft: Draft, panel: DraftPanel, start: Point, way: Point) -> Segment | None:
    """From the plate's upper edge at `start` along `way` to its lower edge; None where it meets anything else of the outline."""
    _, z0, _, z1 = panel.contour.box
    reach = 3.0 * (z1 - z0) / max(0.2, -way[1]) if way[1] < 0 else 0.0
    if reach <= 0:
        return None
    ray = Segment(start, (start[0] + reach * way[0], start[1] + reach * way[1]))
    if panel.contour.distance(start) > EDGE_MM:
        return None
    met = [p for s in panel.contour.segments for p in s.crossings(ray)]
    after = sorted((math.dist(start, p), p) for p in met if math.dist(start, p) > 1.0)
    if not after:
        return None
    end = after[0][1]
    inside = panel.contour.contains((start[0] + way[0], start[1] + way[1]))
    lower = abs(draft.setting.lower().y_at(panel.facet.s_at(end[0])) - end[1]) <= EDGE_MM
    return Segment(start, end) if inside and lower else None


def _strokes(panel: DraftPanel, line: Segment) -> Iterator[tuple[Point, Point]]:
    """The line, kept off the plate's edges, its openings, and what is laid on it."""
    length = line.length
    taken = [(-math.inf, OFF_EDGE_MM), (length - OFF_EDGE_MM, math.inf)]
    for shape in (*(h.contour() for h in panel.holes), *(c for _, c in panel.covers)):
        at = [line.part_at(p) * length for s in shape.segments for p in s.crossings(line)]
        if at:
            taken.append((min(at) - OFF_HOLE_MM, max(at) + OFF_HOLE_MM))
    low = taken[0][1]
    for start, end in sorted(taken)[1:]:
        if start - low >= SHORTEST_MM:
            yield line.point_at(low / length), line.point_at(start / length)
        low = max(low, end)


def label_beside(panel: DraftPanel, line: Segment, text: str, *, clear_of_line_mm: float = 0.0) -> Label | None:
    """Beside the line, along it, read from below upwards; rearward of it if there is room, else in front."""
    up = line.reversed()
    dx, dz = up.tangent_at(0.5)
    angle = math.degrees(math.atan2(dz, dx))
    for height in LABEL_HEIGHTS_MM:
        width = width_of(text, height)
        spare = line.length - width - 2 * ROUND_LABEL_MM
        if spare < 0:
            continue
        for aside in (BESIDE_MM + clear_of_line_mm + height, -BESIDE_MM - clear_of_line_mm):  # letters stand to the left of their line
            for part in (0.5, 0.2, 0.8, 0.0, 1.0):
                foot = up.point_at((ROUND_LABEL_MM + spare * part) / line.length)
                label = Label(text=text, x_mm=foot[0] + aside * dz, y_mm=foot[1] - aside * dx, height_mm=height, angle_deg=angle)
                if _free(panel, label, line):
                    return label
    return None


def _free(panel: DraftPanel, label: Label, line: Segment) -> bool:
    box = ring_of(label)
    if not panel.contour.contains(box.points[0]) or panel.contour.gap(box) < ROUND_LABEL_MM or line.gap(box.segments[0]) < 1.0:
        return False
    x0, _, x1, _ = box.box
    if over_bend_mm(panel, x0, x1) > 0:
        return False
    shapes = [h.contour() for h in panel.holes] + [c for _, c in panel.covers] + [ring_of(one) for one in panel.labels]
    if any(s.gap(box) < ROUND_LABEL_MM or s.contains(box.points[0]) or box.contains(s.points[0]) for s in shapes):
        return False
    strokes = [Segment(a, b) for m in panel.marks for stroke in m.strokes for a, b in pairwise(stroke)]
    return all(min(stroke.gap(e) for e in box.segments) >= 1.0 for stroke in strokes)
