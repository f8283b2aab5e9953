"""A straight ladder frame with pairs of control points, and surveys of it: from a known shape, with known noise."""

from __future__ import annotations

from collections.abc import Iterable, Mapping, Sequence
from itertools import pairwise
from random import Random
from typing import Any

from generator.survey import shapes
from parts.frame.frame import Frame
from parts.frame.measured import ControlPoint, Reading
from parts.sheet import Vec3
from tests.parts.frame.makers import cross, frame

XS = (100.0, 1000.0, 1900.0, 2700.0, 3500.0)
Planned = tuple[str, str, str | None]  #: (kind, from, to)
LETTERS = "ABCDEFGH"
TAPE, LEVEL, STRING = 1.4, 1.0, 2.0  #: mm, 95 %: a class II tape read by hand, a good water level, a string and a square


def control_points(xs: Sequence[float] = XS) -> tuple[ControlPoint, ...]:
    """Pairs A, B, ... on the upper corners."""
    return tuple(ControlPoint(name=LETTERS[i], x_mm=x) for i, x in enumerate(xs))


def crossmembers(xs: Sequence[float] = XS) -> tuple[Any, ...]:
    """One at each pair: cm-A, cm-B, ..."""
    return tuple(cross(name=f"cm-{LETTERS[i]}", at=None, x_mm=x) for i, x in enumerate(xs))


def ladder(readings: Iterable[Reading] = (), xs: Sequence[float] = XS, **fields: Any) -> Frame:
    fields.setdefault("crossmembers", crossmembers(xs))
    return frame(control_points=control_points(xs), readings=tuple(readings), **fields)


def shape(moves: Mapping[str, Vec3] | None = None, xs: Sequence[float] = XS) -> dict[str, Vec3]:
    """The drawn points, some of them moved by (dx, dy, dz)."""
    points = dict(ladder(xs=xs).control_coordinates)
    for key, (dx, dy, dz) in (moves or {}).items():
        x, y, z = points[key]
        points[key] = (x + dx, y + dy, z + dz)
    return points


def reading(points: Mapping[str, Vec3], kind: str, start: str, end: str | None = None, *, off: float = 0.0, accuracy: float) -> Reading:
    """One reading of these points, `off` by so much."""
    a, b = points[start], points[end or start]
    value = {
        "distance": lambda: shapes.length(a, b), "height": lambda: a[2], "offset": lambda: a[1], "along": lambda: a[0],
        "rise": lambda: b[2] - a[2],
    }[kind]()  # fmt: skip
    name = "-".join(k for k in (kind[0], start, end or "") if k)
    return Reading(name=name, kind=kind, start=start, end=end, value_mm=value + off, accuracy_mm=accuracy)  # type: ignore[arg-type]


def plan_of(names: str) -> list[Planned]:
    """(kind, from, to) of a tape survey of the pairs `names`: widths, lengths and diagonals of bays, overall lengths and diagonals."""
    found: list[Planned] = [("distance", f"{n}-left", f"{n}-right") for n in names]
    bays = [*pairwise(names)]
    if len(names) > 2:
        bays.append((names[0], names[-1]))
    for a, b in bays:
        found += [("distance", f"{a}-{s}", f"{b}-{t}") for s in ("left", "right") for t in ("left", "right")]
    return found


def heights(names: str) -> list[Planned]:
    return [("height", f"{n}-{side}", None) for n in names for side in ("left", "right")]


def offsets(names: str) -> list[Planned]:
    return [("offset", f"{n}-{side}", None) for n in names for side in ("left", "right")]


def taken(points: Mapping[str, Vec3], plan: Sequence[Planned], seed: int | None = None) -> list[Reading]:
    """The plan's readings of these points; with a seed each off by normal noise of half its accuracy."""
    random = Random(seed)
    accuracies = {"distance": TAPE, "height": LEVEL, "rise": LEVEL, "offset": STRING, "along": TAPE}
    found = []
    for kind, start, end in plan:
        accuracy = accuracies[kind]
        off = 0.0 if seed is None else random.gauss(0.0, accuracy / 2)
        found.append(reading(points, kind, start, end, off=off, accuracy=accuracy))
    return found


def full(names: str = LETTERS[: len(XS)]) -> list[Planned]:
    """A whole survey: tape, heights and string."""
    return [*plan_of(names), *heights(names), *offsets(names)]
