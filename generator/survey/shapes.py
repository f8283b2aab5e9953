"""What the trade's words come to on points in space: plain closed forms. x rearward, y right, z up, all in mm.

Each is a function of points alone, so that it can be asked of the frame as drawn and of the frame as measured, and so that how far off
it may be follows from its gradient.
"""

from __future__ import annotations

import math

from parts.sheet import Vec3
from parts.vectors import minus, size

Pair3 = tuple[Vec3, Vec3]  #: (left, right)


def length(a: Vec3, b: Vec3) -> float:
    """Straight from a to b, as a tape runs."""
    return size(minus(b, a))


def diagonals(front: Pair3, rear: Pair3) -> tuple[float, float]:
    """(left front to right rear, right front to left rear)."""
    return length(front[0], rear[1]), length(front[1], rear[0])


def square(front: Pair3, rear: Pair3) -> float:
    """d1 - d2: + where left front to right rear is the longer diagonal."""
    one, two = diagonals(front, rear)
    return one - two


def diamond(front: Pair3, rear: Pair3) -> float:
    """(d1^2 - d2^2) / (4 length): how far the right rail lies behind the left one (+), length being the rails' mean."""
    one, two = diagonals(front, rear)
    return (one * one - two * two) / (2 * (length(front[0], rear[0]) + length(front[1], rear[1])))


def rise(pair: Pair3) -> float:
    """How much higher the right point lies."""
    return pair[1][2] - pair[0][2]


def roll_deg(pair: Pair3) -> float:
    """asin(rise / width), width straight from point to point: + where the right side is up."""
    return math.degrees(math.asin(rise(pair) / length(*pair)))


def twist(datum: Pair3, pair: Pair3) -> float:
    """Rise of a pair less the datum pair's, the latter brought to this pair's width: + where the right side climbs."""
    return rise(pair) - rise(datum) * length(*pair) / length(*datum)


def twist_deg(datum: Pair3, pair: Pair3) -> float:
    """Roll of a pair less the datum pair's."""
    return roll_deg(pair) - roll_deg(datum)


def _along(start: Vec3, end: Vec3, point: Vec3) -> tuple[float, float]:
    """(share of the way, off it to the right in mm) of a point against the line from start to end, seen from above."""
    ux, uy = end[0] - start[0], end[1] - start[1]
    span = math.hypot(ux, uy)
    px, py = point[0] - start[0], point[1] - start[1]
    return (px * ux + py * uy) / (span * span), (py * ux - px * uy) / span


def sag(start: Vec3, end: Vec3, point: Vec3) -> float:
    """How far a rail's point lies over (+) or under (-) the line through the rail's end points."""
    share, _ = _along(start, end, point)
    return point[2] - (start[2] + share * (end[2] - start[2]))


def bow(start: Vec3, end: Vec3, point: Vec3) -> float:
    """How far a rail's point lies to the right (+) or left (-) of the line through the rail's end points, seen from above."""
    return _along(start, end, point)[1]


def centre(pair: Pair3) -> Vec3:
    (ax, ay, az), (bx, by, bz) = pair
    return (ax + bx) / 2, (ay + by) / 2, (az + bz) / 2


def sway(front: Pair3, rear: Pair3, pair: Pair3) -> float:
    """How far a pair's middle lies to the right (+) of the line through the first and the last pair's middles."""
    return bow(centre(front), centre(rear), centre(pair))


def sway_off_string(pair: Pair3) -> float:
    """How far a pair's middle lies to the right (+) of the centreline string."""
    return centre(pair)[1]


def behind(front: Pair3, rear: Pair3, pair: Pair3) -> float:
    """How far a pair's right point lies behind its left one (+), along the line through the first and the last pair's middles."""
    (ax, ay, _), (bx, by, _) = centre(front), centre(rear)
    span = math.hypot(bx - ax, by - ay)
    (lx, ly, _), (rx, ry, _) = pair
    return ((rx - lx) * (bx - ax) + (ry - ly) * (by - ay)) / span


def behind_off_string(pair: Pair3) -> float:
    """The same along the centreline string."""
    return pair[1][0] - pair[0][0]
