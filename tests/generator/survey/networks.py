"""Networks of points in space with readings between them, from known coordinates with known noise."""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import replace
from itertools import combinations

import numpy as np

from generator.survey.network import Coordinate, Network, Observation, ObservationKind
from parts.sheet import Vec3


def reading(name: str, kind: ObservationKind, start: str, end: str | None, value: float, sigma: float = 1.0) -> Observation:
    return Observation(name=name, kind=kind, start=start, end=end, value_mm=value, sigma_mm=sigma)


def true_value(kind: str, a: Vec3, b: Vec3) -> float:
    """Written out again, not taken from the engine."""
    dx, dy, dz = (q - p for p, q in zip(a, b, strict=True))
    if kind == "distance":
        return float((dx * dx + dy * dy + dz * dz) ** 0.5)
    return float({"plan": (dx * dx + dy * dy) ** 0.5, "rise": dz, "x": a[0], "y": a[1], "z": a[2]}[kind])


def points(n: int, random: np.random.Generator) -> dict[str, Vec3]:
    """n points, a frame's length, width and height apart."""
    spread = random.uniform((0.0, -450.0, 0.0), (4500.0, 450.0, 600.0), (n, 3))
    return {f"p{i}": (float(p[0]), float(p[1]), float(p[2])) for i, p in enumerate(spread)}


def network(
    truth: dict[str, Vec3],
    plan: Sequence[tuple[ObservationKind, str, str | None]],
    random: np.random.Generator,
    sigma: float = 0.7,
    rough_mm: float = 20.0,
    held: dict[str, Coordinate] | None = None,
) -> Network:
    """Readings of the plan, each off by normal noise; rough coordinates off by `rough_mm`."""
    observations = tuple(
        reading(f"r{i}", kind, start, end, true_value(kind, truth[start], truth[end or start]) + float(random.normal(0.0, sigma)), sigma)
        for i, (kind, start, end) in enumerate(plan)
    )
    rough: dict[str, Vec3] = {}
    for key, (x, y, z) in truth.items():
        dx, dy, dz = (float(d) for d in random.normal(0.0, rough_mm, 3))
        rough[key] = (x + dx, y + dy, z + dz)
    return Network(points=tuple(truth), observations=observations, rough=rough, held=held or {})


def every_way(names: Sequence[str]) -> list[tuple[ObservationKind, str, str | None]]:
    """A tape from each point to each other, and a height at each."""
    return [*(("distance", a, b) for a, b in combinations(names, 2)), *(("z", a, None) for a in names)]


def mixed(names: Sequence[str], count: int, random: np.random.Generator) -> list[tuple[ObservationKind, str, str | None]]:
    """`count` readings of all kinds between points drawn at random; each point is in some."""
    found: list[tuple[ObservationKind, str, str | None]] = []
    while len(found) < count:
        i, j = random.choice(len(names), 2, replace=False)
        i = len(found) % len(names)
        if i == j:
            continue
        kind: ObservationKind = ("distance", "distance", "distance", "plan", "rise", "z")[int(random.integers(6))]
        found.append((kind, names[i], None if kind == "z" else names[int(j)]))
    return found


def off_by(own: Network, name: str, error: float = 0.0, factor: float = 1.0) -> Network:
    """The same with one reading misread."""
    changed = tuple(replace(o, value_mm=o.value_mm * factor + error) if o.name == name else o for o in own.observations)
    return replace(own, observations=changed)
