"""A network as arrays: what each reading should be at given coordinates, and how that changes with them."""

from __future__ import annotations

from dataclasses import dataclass
from typing import TYPE_CHECKING

import numpy as np

from generator.survey.network import Network, Observation

if TYPE_CHECKING:
    from numpy.typing import NDArray

AXES = {"x": 0, "y": 1, "z": 2}
BETWEEN = ("distance", "plan", "rise")
NEAR_MM = 1e-6  #: two points nearer to each other than this have no direction from one to the other


@dataclass(frozen=True, kw_only=True, eq=False)
class Equations:
    """Readings over 3n coordinates, (x, y, z) by point in the order of the network's points.

    Attributes:
        a, b: (m, 3) row of each coordinate of a reading's start and end.
        share: (m, 3) which axes it looks along, 0 or 1. A distance: all; a plan: x and y; else: one.
        straight: (m,) True of distance and plan, which are lengths; the others are differences of coordinates.
        single: (m,) True of x, y, z, which have no end.
        read, sigma: (m,) mm.
        adjusted: (3n,) False of held coordinates.
    """

    a: NDArray[np.int64]
    b: NDArray[np.int64]
    share: NDArray[np.float64]
    straight: NDArray[np.bool_]
    single: NDArray[np.bool_]
    read: NDArray[np.float64]
    sigma: NDArray[np.float64]
    adjusted: NDArray[np.bool_]

    def values(self, at: NDArray[np.float64]) -> NDArray[np.float64]:
        """(m,) what each reading would be at the coordinates (3n,)."""
        apart = self._apart(at)
        sums: NDArray[np.float64] = apart.sum(axis=1)
        return np.where(self.straight, np.sqrt((apart * apart).sum(axis=1)), sums)

    def off(self, at: NDArray[np.float64]) -> NDArray[np.float64]:
        """(m,) computed less read, in standard deviations of each reading."""
        out: NDArray[np.float64] = (self.values(at) - self.read) / self.sigma
        return out

    def slopes(self, at: NDArray[np.float64]) -> NDArray[np.float64]:
        """(m, 3n) derivatives of `values`, mm per mm; 0 at held coordinates."""
        apart = self._apart(at)
        long = np.maximum(np.sqrt((apart * apart).sum(axis=1)), NEAR_MM)
        by_end = np.where(self.straight[:, None], apart / long[:, None], self.share)
        out = np.zeros((len(self.read), len(at)))
        rows = np.arange(len(self.read))[:, None]
        np.add.at(out, (rows, self.b), by_end)
        np.add.at(out, (rows, self.a), np.where(self.single[:, None], 0.0, -by_end))
        out[:, ~self.adjusted] = 0.0
        return out

    def curvature(self, at: NDArray[np.float64], off: NDArray[np.float64]) -> NDArray[np.float64]:
        """(k, k) over the adjusted coordinates: second derivatives of the readings, each times how far it is `off` (m,), over sigma.

        Of a length, (1 - u u') / length between its ends, u its direction; nothing else is curved.
        """
        apart = self._apart(at)
        long = np.maximum(np.sqrt((apart * apart).sum(axis=1)), NEAR_MM)
        u = apart / long[:, None]
        weight = self.straight * off / (self.sigma * long)
        block = (self.share[:, :, None] * np.eye(3) - u[:, :, None] * u[:, None, :]) * weight[:, None, None]
        out = np.zeros((len(at), len(at)))
        for rows, columns, sign in ((self.a, self.a, 1.0), (self.b, self.b, 1.0), (self.a, self.b, -1.0), (self.b, self.a, -1.0)):
            np.add.at(out, (rows[:, :, None], columns[:, None, :]), sign * block)
        return out[np.ix_(self.adjusted, self.adjusted)]

    def _apart(self, at: NDArray[np.float64]) -> NDArray[np.float64]:
        out: NDArray[np.float64] = (at[self.b] - np.where(self.single[:, None], 0.0, at[self.a])) * self.share
        return out


def equations(network: Network, observations: tuple[Observation, ...] | None = None) -> Equations:
    """The network's readings, or these in their place, as arrays.

    Raises:
        KeyError: a reading between points that are not the network's.
    """
    rows = {key: 3 * i for i, key in enumerate(network.points)}
    own = network.observations if observations is None else observations
    starts = np.array([rows[o.start] for o in own], dtype=np.int64).reshape(-1, 1)
    ends = np.array([rows[o.end if o.end is not None else o.start] for o in own], dtype=np.int64).reshape(-1, 1)
    adjusted = np.ones(3 * len(network.points), dtype=bool)
    for key, held in network.held.items():
        adjusted[rows[key] : rows[key] + 3] = [value is None for value in held]
    return Equations(
        a=starts + np.arange(3), b=ends + np.arange(3), share=np.array([_share(o) for o in own], dtype=float).reshape(-1, 3),
        straight=np.array([o.kind in ("distance", "plan") for o in own], dtype=bool),
        single=np.array([o.kind not in BETWEEN for o in own], dtype=bool),
        read=np.array([o.value_mm for o in own], dtype=float), sigma=np.array([o.sigma_mm for o in own], dtype=float), adjusted=adjusted,
    )  # fmt: skip


def _share(observation: Observation) -> tuple[float, float, float]:
    if observation.kind == "distance":
        return 1.0, 1.0, 1.0
    if observation.kind == "plan":
        return 1.0, 1.0, 0.0
    axis = AXES.get(observation.kind, 2)  # a rise is along z
    return float(axis == 0), float(axis == 1), float(axis == 2)
