"""Edges too short to be cut, where a kick of the rail ends just beside an end or a notch: laid into the longer edge beside them."""

from __future__ import annotations

import math
from collections.abc import Sequence
from dataclasses import replace

from parts.features.draft import Draft, DraftPanel
from parts.frame.faces import REFIT_MM, STUB_MM
from parts.outline import SAME_MM, Contour, Point, Segment, through

SHARPEST_RAD = math.radians(45)  #: a stub that turns more than this off both its neighbours is a corner of its own: it is left, and refused


def stubs(draft: Draft) -> Draft:
    """The corner that goes is missed by less than 0.2 mm: the stub's length by the sine of the turn. Bend edges keep their corners."""
    for index, panel in enumerate(draft.panels):
        contour = without_stubs(panel.contour, _bend_corners(panel))
        if contour is not panel.contour:
            draft = draft.with_panel(index, replace(panel, contour=contour))
    return draft


def without_stubs(contour: Contour, kept: Sequence[Point] = ()) -> Contour:
    """`kept`: corners that stay where they are."""
    segments = list(contour.segments)
    for _ in range(len(segments)):
        found = next((i for i, s in enumerate(segments) if s.length < STUB_MM), None)
        if found is None or len(segments) < 4:
            break
        segments = segments[found:] + segments[:found]
        stub, after, before = segments[0], segments[1], segments[-1]
        ways = [(_turn(stub, after), stub.b, True), (_turn(before, stub), stub.a, False)]
        ways = [w for w in ways if w[0] < SHARPEST_RAD and all(math.dist(w[1], p) > SAME_MM for p in kept)]
        if not ways:
            return contour
        if min(ways)[2]:
            segments[:2] = [_over(stub.a, after, after.b)]
        else:
            segments = [*segments[1:-1], _over(before.a, before, stub.b)]
    return contour if len(segments) == len(contour.segments) else Contour.of(segments)


def _turn(one: Segment, two: Segment) -> float:
    (a, b), (c, d) = one.tangent_at(1.0), two.tangent_at(0.0)
    return abs(math.atan2(a * d - b * c, a * c + b * d))


def _over(a: Point, longer: Segment, b: Point) -> Segment:
    """From a to b along what is left of the longer one: straight for a line, through its middle for an arc."""
    return Segment(a, b) if longer.is_line else through(a, longer.point_at(0.5), b, REFIT_MM / 10)


def _bend_corners(panel: DraftPanel) -> list[Point]:
    bends = [u for u, there in ((panel.u0, panel.bend_before), (panel.u1, panel.bend_after)) if there]
    return [p for p in panel.contour.points if any(abs(p[0] - u) < SAME_MM for u in bends)]
