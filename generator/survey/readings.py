"""From the readings of one set to a network: the centreline string and the level line are the datum, the drawing is where to start."""

from __future__ import annotations

from collections.abc import Mapping, Sequence
from types import MappingProxyType
from typing import TYPE_CHECKING

from generator.survey.network import Coordinate, Network, Observation, ObservationKind
from parts.frame.frame import Frame
from parts.frame.measured import Reading, SurveySet
from parts.sheet import Vec3

if TYPE_CHECKING:
    from generator.survey.adjust import Adjusted

#: kind of a reading -> the equation it is
KINDS: Mapping[str, ObservationKind] = MappingProxyType(
    {"distance": "distance", "plan": "plan", "rise": "rise", "height": "z", "along": "x", "offset": "y"}
)
AXES = {"known x": 0, "known y": 1, "known z": 2}
DEFAULT_SET = "found"
AS_FOUND = ("found", "straightened")


def set_names(frame: Frame) -> tuple[str, ...]:
    """Every set there is, in the order of time: those declared, then those that readings use undeclared."""
    used = [*(r.set for r in frame.readings), *(s.set for s in frame.section_readings)]
    return tuple(dict.fromkeys([*(s.name for s in frame.sets), *used]))


def set_of(frame: Frame, name: str) -> SurveySet | None:
    """What is told of a set; None where nothing is."""
    return next((s for s in frame.sets if s.name == name), None)


def chosen_set(frame: Frame) -> str:
    """The last set of the frame as found or straightened; what is tacked or welded is not the frame that parts are made for."""
    names = [n for n in set_names(frame) if (told := set_of(frame, n)) is None or told.stage in AS_FOUND]
    read = {r.set for r in frame.readings}
    with_readings = [n for n in names if n in read]
    return (with_readings or names or [DEFAULT_SET])[-1]


def network_of(frame: Frame, set_name: str) -> Network:
    """Every control point of the frame, and the readings of the set; what is known is held."""
    rough = frame.control_coordinates
    held: dict[str, list[float | None]] = {}
    observations: list[Observation] = []
    for reading in frame.readings:
        if reading.set != set_name:
            continue
        if reading.kind in AXES:
            held.setdefault(reading.start, [None, None, None])[AXES[reading.kind]] = reading.value_mm
        else:
            observations.append(_observation(reading))
    fixed: dict[str, Coordinate] = {key: (v[0], v[1], v[2]) for key, v in held.items()}
    return Network(points=tuple(rough), observations=tuple(observations), held=MappingProxyType(fixed), rough=rough)


def _observation(reading: Reading) -> Observation:
    return Observation(
        name=reading.name, kind=KINDS[reading.kind], start=reading.start, end=reading.end, value_mm=reading.value_mm,
        sigma_mm=reading.sigma_mm,
    )  # fmt: skip


def without(network: Network, names: frozenset[str]) -> Network:
    """The same network with these readings left out."""
    kept = tuple(o for o in network.observations if o.name not in names)
    return Network(points=network.points, observations=kept, held=network.held, rough=network.rough)


def heights_of(adjusted: Adjusted) -> Mapping[str, float]:
    """z by point, of those that readings set in height against each other: a level reading, a rise, a known height.

    Where they fall into parts that nothing levels with each other, as one pair by a rise and the rest by a level line: of the largest.
    """
    from generator.survey.measures import sigma_of

    network = adjusted.network
    read = {o.start for o in network.observations if o.kind == "z"} | {k for k, v in network.held.items() if v[2] is not None}
    rises = [(o.start, o.end) for o in network.observations if o.kind == "rise" and o.end is not None]
    read |= {key for pair in rises for key in pair}

    def climb(p: Sequence[Vec3]) -> float:
        return p[1][2] - p[0][2]

    left, largest = [k for k in network.points if k in read], list[str]()
    while len(left) > len(largest):
        datum = left[0]
        level = [k for k in left if k == datum or sigma_of(climb, (datum, k), adjusted) is not None]
        largest = max(largest, level, key=len)
        left = [k for k in left if k not in set(level)]
    return {k: adjusted.coordinates[k][2] for k in largest}
