"""A part whose first panel begins at (0, 0), as its files have it, and where that then lies."""

from __future__ import annotations

from dataclasses import replace

from parts.sheet import Placement, SheetPart


def laid(part: SheetPart, places: tuple[Placement, ...]) -> tuple[SheetPart, tuple[Placement, ...]]:
    """The same part in the same places, its root panel moved so that the box round that panel begins at u = 0, v = 0."""
    x0, y0, _, _ = part.panels[0].contour.box
    moved = tuple(Placement(origin=at.point(x0, y0), u=at.u, v=at.v) for at in places)
    return replace(part, panels=(part.panels[0].shifted(-x0, -y0), *part.panels[1:])), moved
