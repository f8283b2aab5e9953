"""Openings cut through a panel: round holes, slots and rounded rectangles. Sizes only; no polygons."""

from __future__ import annotations

import math
from dataclasses import dataclass, replace
from typing import Literal

from parts.outline import Contour, Transform

HoleKind = Literal["round", "slot", "rectangle"]


@dataclass(frozen=True, kw_only=True)
class Hole:
    """One opening, placed by its centre in the coordinates of its panel.

    round: `diameter_mm`. slot: `diameter_mm` is its width, `length_mm` over all. rectangle: `diameter_mm` is its width across,
    `length_mm` its length, `corner_radius_mm` in each corner. `angle_deg` turns the length from +u towards +v.
    """

    name: str
    kind: HoleKind = "round"
    x_mm: float
    y_mm: float
    diameter_mm: float
    length_mm: float = 0.0
    angle_deg: float = 0.0
    corner_radius_mm: float = 0.0
    purpose: str = ""  #: what goes through it: "bolt M12", "plug weld", "alignment pin", "rivet head clearance" ...

    @property
    def centre(self) -> tuple[float, float]:
        return self.x_mm, self.y_mm

    @property
    def reach_mm(self) -> float:
        """The radius of the smallest circle round the centre that holds the opening."""
        if self.kind == "round":
            return self.diameter_mm / 2
        if self.kind == "slot":
            return self.length_mm / 2
        r = self.corner_radius_mm
        return math.hypot(self.length_mm / 2 - r, self.diameter_mm / 2 - r) + r

    def contour(self) -> Contour:
        """The opening's edge, counter-clockwise: two half circles, or lines and arcs."""
        half_l, half_w = self.length_mm / 2, self.diameter_mm / 2
        if self.kind == "round":
            shape = Contour(((half_w, 0.0), (-half_w, 0.0)), (1.0, 1.0))
        elif self.kind == "slot":
            x = half_l - half_w
            shape = Contour(((x, -half_w), (x, half_w), (-x, half_w), (-x, -half_w)), (1.0, 0.0, 1.0, 0.0))
        else:
            shape = Contour(
                ((half_l, -half_w), (half_l, half_w), (-half_l, half_w), (-half_l, -half_w)), (0.0,) * 4
            ).rounded(self.corner_radius_mm)
        return shape.moved(Transform.rotation(math.radians(self.angle_deg))).moved(Transform.shift(self.x_mm, self.y_mm))

    def moved(self, t: Transform) -> Hole:
        """The same opening under a rigid motion of the plane (a mirrored one turns its angle round)."""
        x, y = t.apply(self.centre)
        turn = math.radians(self.angle_deg)
        dx, dy = t.direction((math.cos(turn), math.sin(turn)))
        angle = 0.0 if self.kind == "round" else math.degrees(math.atan2(dy, dx))
        if angle > 90.0 + 1e-9 or angle <= -90.0 + 1e-9:  # a slot looks the same turned by half a turn
            angle += -180.0 if angle > 0 else 180.0
        return replace(self, x_mm=x, y_mm=y, angle_deg=angle)
