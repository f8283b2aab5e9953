"""Plain vectors in space, for parts that lie in no one plane."""

from __future__ import annotations

import math

from parts.sheet import Placement, Vec3


def dot(a: Vec3, b: Vec3) -> float:
    return a[0] * b[0] + a[1] * b[1] + a[2] * b[2]


def cross(a: Vec3, b: Vec3) -> Vec3:
    return a[1] * b[2] - a[2] * b[1], a[2] * b[0] - a[0] * b[2], a[0] * b[1] - a[1] * b[0]


def minus(a: Vec3, b: Vec3) -> Vec3:
    return a[0] - b[0], a[1] - b[1], a[2] - b[2]


def along(p: Vec3, *ways: tuple[Vec3, float]) -> Vec3:
    """`p` moved by each of (direction, length)."""
    x, y, z = p
    for way, by in ways:
        x, y, z = x + way[0] * by, y + way[1] * by, z + way[2] * by
    return x, y, z


def size(a: Vec3) -> float:
    return math.sqrt(dot(a, a))


def unit(a: Vec3) -> Vec3:
    """Raises ZeroDivisionError where there is no direction."""
    length = size(a)
    return a[0] / length, a[1] / length, a[2] / length


def square_to(a: Vec3, way: Vec3) -> Vec3:
    """What of `a` is square to the unit vector `way`."""
    return along(a, (way, -dot(a, way)))


def mean(points: tuple[Vec3, ...]) -> Vec3:
    n = len(points)
    return sum(p[0] for p in points) / n, sum(p[1] for p in points) / n, sum(p[2] for p in points) / n


def inside(place: Placement, p: Vec3) -> Vec3:
    """(u, v, z) of a vehicle point in a panel's own coordinates."""
    d = minus(p, place.origin)
    return dot(d, place.u), dot(d, place.v), dot(d, place.normal)
