"""Small sheet parts for tests: rectangles joined by bends."""

from __future__ import annotations

from parts.holes import Hole
from parts.outline import Contour, rectangle
from parts.sheet import Bend, Mark, Panel, SheetPart


def panel(name: str, width: float, height: float, *, u0: float = 0.0, holes: tuple[Hole, ...] = (), marks: tuple[Mark, ...] = ()) -> Panel:
    """A rectangle u0..u0+width by 0..height; its edges are 0 (v = 0), 1 (the far u), 2 (v = height), 3 (u = u0)."""
    return Panel(name=name, contour=rectangle(u0, 0.0, u0 + width, height), holes=holes, marks=marks)


def plate(contour: Contour, *holes: Hole, thickness: float = 4.0) -> SheetPart:
    """One flat panel."""
    return SheetPart(name="p", thickness_mm=thickness, panels=(Panel(name="face", contour=contour, holes=holes),))


def part(t: float, panels: tuple[Panel, ...], *bends: Bend) -> SheetPart:
    return SheetPart(name="p", thickness_mm=t, panels=panels, bends=bends)


def bend(parent: str, child: str, edge: int, angle: float, radius: float = 4.0, offset: float = 0.0) -> Bend:
    return Bend(parent=parent, child=child, edge=edge, angle_deg=angle, inside_radius_mm=radius, offset_mm=offset)


def hole(name: str, x: float, y: float, diameter: float = 6.0) -> Hole:
    return Hole(name=name, x_mm=x, y_mm=y, diameter_mm=diameter)


def slot(name: str, x: float, y: float, width: float, length: float, angle: float = 0.0) -> Hole:
    return Hole(name=name, kind="slot", x_mm=x, y_mm=y, diameter_mm=width, length_mm=length, angle_deg=angle)


def l_shape(angle: float, *, t: float = 3.0, r: float = 4.0, a: float = 50.0, b: float = 30.0, width: float = 100.0) -> SheetPart:
    """Root 0..width by its flat length, the leg on its far edge (v up); outside legs a and b where the angle is 90."""
    reach = t + r
    root = panel("root", width, a - reach, holes=(hole("r", 10.0, 8.0),))
    return part(t, (root, panel("leg", width, b - reach, holes=(hole("l", 20.0, 10.0),))), bend("root", "leg", 2, angle, r))
