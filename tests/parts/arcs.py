"""Circles and arcs for tests."""

from __future__ import annotations

import math

from parts.outline import Contour, Segment


def circle(r: float, x: float = 0.0, y: float = 0.0) -> Contour:
    return Contour(((x + r, y), (x - r, y)), (1.0, 1.0))


def arc(radius: float, start_deg: float, sweep_deg: float) -> Segment:
    """On the circle of `radius` round (0, 0)."""
    a, b = (math.radians(v) for v in (start_deg, start_deg + sweep_deg))
    ends = [(radius * math.cos(v), radius * math.sin(v)) for v in (a, b)]
    return Segment(ends[0], ends[1], math.tan(math.radians(sweep_deg) / 4))
