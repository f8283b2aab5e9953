"""A part whose first panel begins at (0, 0), as its files have it, and where that then lies."""

from __future__ import annotations

from dataclasses import replace

from parts.outline import Transform
from parts.sheet import Panel, Placement, SheetPart


def laid(part: SheetPart, places: tuple[Placement, ...]) -> tuple[SheetPart, tuple[Placement, ...]]:
    """The same part in the same places, its root panel moved so that the box round that panel begins at u = 0, v = 0."""
    x0, y0, _, _ = part.panels[0].contour.box
    moved = tuple(Placement(origin=at.point(x0, y0), u=at.u, v=at.v) for at in places)
    return replace(part, panels=(_moved(part.panels[0], Transform.shift(-x0, -y0)), *part.panels[1:])), moved


def _moved(panel: Panel, t: Transform) -> Panel:
    return replace(
        panel,
        contour=panel.contour.moved(t),
        holes=tuple(h.moved(t) for h in panel.holes),
        marks=tuple(replace(m, strokes=tuple(tuple(t.apply(p) for p in s) for s in m.strokes)) for m in panel.marks),
        labels=tuple(replace(one, x_mm=one.x_mm + t.tx, y_mm=one.y_mm + t.ty) for one in panel.labels),
    )
