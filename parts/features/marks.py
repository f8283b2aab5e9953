"""Etched single strokes: a tick on both edges where a named station of the rail lies, and the part's id with the way up and front."""

from __future__ import annotations

import math
from collections.abc import Sequence
from dataclasses import replace
from itertools import pairwise

from parts.features.draft import Draft, DraftPanel
from parts.outline import Box, Contour, Point, Segment, Transform, rectangle
from parts.sheet import Label, Mark, Panel

TICK_MM = 8.0
OFF_EDGE_MM = 0.5
OFF_HOLE_MM = 1.0
LABEL_HEIGHTS_MM = (8.0, 6.0, 4.5, 3.5)
ROUND_LABEL_MM = 2.0  #: of clear plate round what is etched
BELOW = 0.2  #: of the height, what letters with tails reach below their line
CHARACTER_WIDTHS = 0.9  #: of the height, what one etched character takes up at the most, gap included


def marks(draft: Draft) -> Draft:
    """Ticks at the stations that the plate passes, from both long edges inwards."""
    setting = draft.setting
    rail = setting.rail
    for name in rail.station_names:
        s = rail.station_s(name)
        index = draft.panel_at(s)
        if index is None:
            continue
        panel = draft.panels[index]
        u = panel.facet.u_at(s)
        if not panel.u0 < u < panel.u1:
            continue
        low, high = setting.lower().y_at(s), setting.upper().y_at(s)
        size = min(TICK_MM, (high - low) / 4)
        ends = ((u, low + OFF_EDGE_MM), (u, low + size)), ((u, high - OFF_EDGE_MM), (u, high - size))
        strokes = tuple(stroke for stroke in ends if clear(panel, *stroke))
        if strokes:
            mark = Mark(name=f"station {name}", strokes=strokes)
            draft = draft.with_panel(index, replace(panel, marks=(*panel.marks, mark)))
    return draft


def clear(panel: DraftPanel, a: Point, b: Point) -> bool:
    """Whether a stroke lies on the plate and over no opening."""
    stroke = Segment(a, b)
    if not (panel.contour.contains(a) and panel.contour.contains(b)):
        return False
    shapes = [h.contour() for h in panel.holes]
    return all(not shape.contains(a) and min(stroke.gap(s) for s in shape.segments) > OFF_HOLE_MM for shape in shapes) and all(
        stroke.gap(s) > OFF_EDGE_MM / 2 for s in panel.contour.segments
    )


def label(panel: Panel, texts: Sequence[str], front: float) -> Panel:
    """The first of `texts` that fits, and under it an arrow to the front; without the arrow, or smaller, where room is short.

    The panel is seen from its top face, v up. `front` is +1 where the vehicle's front lies towards +u, -1 towards -u.
    """
    for text in texts:
        for height in LABEL_HEIGHTS_MM:
            width = width_of(text, height)
            for arrow in (True, False):
                place = _room(panel, width, (2.6 if arrow else 1.4) * height)
                if place is None:
                    continue
                x, y = place
                low = y + (1.4 if arrow else 0.2) * height
                lettered = replace(panel, labels=(*panel.labels, Label(text=text, x_mm=x, y_mm=low, height_mm=height)))
                if not arrow:
                    return lettered
                strokes = _arrow(x, y + 0.4 * height, width, 0.45 * height, front)
                return replace(lettered, marks=(*lettered.marks, Mark(name="front", strokes=strokes)))
    return panel


def _arrow(x: float, y: float, width: float, size: float, front: float) -> tuple[tuple[Point, ...], ...]:
    tip, tail = (x + width, x) if front > 0 else (x, x + width)
    return ((tail, y), (tip, y)), ((tip - front * size, y + size / 2), (tip, y), (tip - front * size, y - size / 2))


def _room(panel: Panel, width: float, tall: float) -> Point | None:
    """Lower left corner of a free box, nearest to the panel's middle."""
    x0, y0, x1, y1 = panel.contour.box
    if width + 2 * ROUND_LABEL_MM > x1 - x0 or tall + 2 * ROUND_LABEL_MM > y1 - y0:
        return None
    middle = ((x0 + x1 - width) / 2, (y0 + y1 - tall) / 2)
    steps = [(i, j) for i in range(-12, 13) for j in range(-4, 5)]
    shapes: list[Contour] = [h.contour() for h in panel.holes]
    lines = [*panel.contour.segments, *(s for shape in shapes for s in shape.segments)]
    lines += [Segment(a, b) for m in panel.marks for s in m.strokes for a, b in pairwise(s)]
    lines += [s for one in panel.labels for s in ring_of(one).segments]
    boxed = [(s, s.box) for s in lines]
    for i, j in sorted(steps, key=lambda s: (abs(s[0]) + 2 * abs(s[1]), s)):
        x, y = middle[0] + i * (x1 - x0) / 26, middle[1] + j * (y1 - y0) / 12
        centre = (x + width / 2, y + tall / 2)
        if not panel.contour.contains(centre) or any(s.contains(centre) for s in shapes):
            continue
        if not any(_near(s, b, (x, y, x + width, y + tall)) for s, b in boxed):
            return x, y
    return None


def width_of(text: str, height_mm: float) -> float:
    """The most that a text takes up along its line."""
    return max(len(text), 4) * height_mm * CHARACTER_WIDTHS


def turned_round(one: Label) -> Label:
    """A label where its panel is mirrored in x to be seen from the other side: over the same box, still read from left to right."""
    turn, width = math.radians(one.angle_deg), width_of(one.text, one.height_mm)
    x, y = one.x_mm + width * math.cos(turn), one.y_mm + width * math.sin(turn)
    return replace(one, x_mm=-x, y_mm=y, angle_deg=0.0 - one.angle_deg)


def ring_of(one: Label) -> Contour:
    """The box that a label takes up."""
    height = one.height_mm
    turned = Transform.rotation(math.radians(one.angle_deg)).then(Transform.shift(one.x_mm, one.y_mm))
    return rectangle(0.0, -height * BELOW, width_of(one.text, height), height * (1 + BELOW)).moved(turned)


def _near(line: Segment, its: Box, box: Box) -> bool:
    """Whether a line comes within `ROUND_LABEL_MM` of a box (or lies in it)."""
    x0, y0, x1, y1 = box
    d = ROUND_LABEL_MM
    if its[2] < x0 - d or its[0] > x1 + d or its[3] < y0 - d or its[1] > y1 + d:
        return False
    frame = rectangle(*box)
    return frame.contains(line.a) or any(line.gap(s) < d for s in frame.segments)
