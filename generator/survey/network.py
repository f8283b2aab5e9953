"""A survey as points and observations: what is adjusted, and what comes out. Knows no frame."""

from __future__ import annotations

from collections.abc import Mapping
from dataclasses import dataclass, field
from types import MappingProxyType
from typing import Literal

from parts.sheet import Vec3

ObservationKind = Literal["distance", "plan", "rise", "x", "y", "z"]
Coordinate = tuple[float | None, float | None, float | None]  #: (x, y, z) in mm; None: not known


@dataclass(frozen=True, kw_only=True)
class Observation:
    """One reading as an equation.

    `distance`: straight from `start` to `end` in space; `plan`: the same between their floor marks, horizontal; `rise`: z of `end` less
    z of `start`; `x`, `y`, `z`: that coordinate of `start`.
    """

    name: str
    kind: ObservationKind
    start: str
    end: str | None = None
    value_mm: float
    sigma_mm: float  #: standard deviation, more than 0


@dataclass(frozen=True, kw_only=True)
class Network:
    """What is adjusted together.

    Attributes:
        points: every point's name, in the order of the coordinates.
        observations: every reading, repeats too.
        held: coordinates that are known and not adjusted, by point; a None in it is adjusted.
        rough: where points lie roughly, as drawn; points may be missing.
    """

    points: tuple[str, ...]
    observations: tuple[Observation, ...]
    held: Mapping[str, Coordinate] = field(default_factory=lambda: MappingProxyType({}), hash=False)
    rough: Mapping[str, Vec3] = field(default_factory=lambda: MappingProxyType({}), hash=False)
