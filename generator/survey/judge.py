"""The verdict: readings adjusted, those not believed set aside, every word asked, and what follows put together."""

from __future__ import annotations

from collections.abc import Mapping, Sequence
from dataclasses import dataclass, replace
from functools import cached_property
from types import MappingProxyType

import numpy as np

from generator.survey import quantities as asking
from generator.survey.adjust import Adjusted, adjust
from generator.survey.better import better
from generator.survey.damage import Damage
from generator.survey.datum import off_datum
from generator.survey.determined import determined
from generator.survey.findings import findings
from generator.survey.grow import grown
from generator.survey.measures import NO_REST, Measure, hanging_on, measured, resting_on, sigma_of
from generator.survey.network import Network
from generator.survey.pairs import Pair, pairs_of
from generator.survey.quantities import Asked, Quantity
from generator.survey.readings import heights_of, set_of, without
from generator.survey.snoop import Suspect, suspects
from generator.survey.stage import UNCHECKED, Survey, on_wheels
from generator.survey.stands import shims, split
from generator.survey.todo import steps
from generator.survey.unknown import BY_HEIGHT, deciding, unknowns
from parts.errors import Finding
from parts.frame.frame import Frame
from parts.sheet import Vec3

UPRIGHT = ("z", "rise")
SHOWS = 0.01  #: redundancy; our choice
PLAINLY_WRONG = 20.0  #: sigmas; our choice


@dataclass(frozen=True, kw_only=True, eq=False)
class Believed:
    """All readings adjusted, and without those that are not believed."""

    whole: Adjusted
    adjusted: Adjusted
    suspects: tuple[Suspect, ...]

    @property
    def doubted(self) -> tuple[str, ...]:
        return tuple(dict.fromkeys(name for s in self.suspects for name in s.observations))

    @cached_property
    def ends(self) -> Mapping[str, set[str]]:
        """The points of each reading."""
        return {o.name: {k for k in (o.start, o.end) if k} for o in self.whole.network.observations}

    @cached_property
    def unchecked(self) -> tuple[str, ...]:
        """Readings in which an error would not show."""
        observations = self.adjusted.network.observations
        return tuple(o.name for o, r in zip(observations, self.adjusted.redundancy, strict=True) if r < UNCHECKED)

    def unchecked_of(self, measure: Measure) -> tuple[str, ...]:
        """Those of them that were taken between the measure's own points, along the way it looks."""
        kinds = {o.name: o.kind for o in self.adjusted.network.observations}
        at, upright = set(measure.points), measure.word in BY_HEIGHT
        return tuple(n for n in self.unchecked if self.ends[n] <= at and (kinds[n] in UPRIGHT) == upright)

    def hung_on(self, measure: Measure) -> str:
        """The suspects that a measure may hang on: readings between its own points; and any other that is not plainly wrong.

        A reading that is off by 20 sigmas, as in another unit, bends the whole network when it is left in: what it says of places that
        it was not taken at is nothing to go by. One that is off by a few may be right, and its neighbour wrong.
        """
        if not measure.points:
            return ""
        own = [name for name in self.doubted if self.ends[name] <= set(measure.points)]
        near = [name for s in self.suspects if abs(s.normalised) < PLAINLY_WRONG for name in s.observations]
        return ", ".join(dict.fromkeys([*own, *near]))


def believed(network: Network) -> Believed:
    """Set aside every reading that is not believed, and the whole of a tied group: what is left says what it says without them."""
    whole = adjust(network)
    found = tuple(_plausible(s, whole) for s in suspects(whole))
    doubted = frozenset(name for s in found for name in s.observations)
    return Believed(whole=whole, adjusted=adjust(without(network, doubted)) if doubted else whole, suspects=found)


def _plausible(suspect: Suspect, whole: Adjusted) -> Suspect:
    """A tied group without the readings that nothing else tells anything of: each would have to be off by a hundred times what is seen."""
    shows = {o.name: r for o, r in zip(whole.network.observations, whole.redundancy, strict=True)}
    kept = tuple(name for name in suspect.observations if shows[name] >= SHOWS)
    return replace(suspect, observations=kept) if kept else suspect


def judged(frame: Frame, set_name: str, network: Network, thick: tuple[Measure, ...], worn: tuple[Damage, ...]) -> Survey:
    """The survey of a network that has readings."""
    told = set_of(frame, set_name)
    found = believed(network)
    pairs, drawn = pairs_of(frame), frame.control_coordinates
    asked = Asked(
        pairs=pairs, drawn=drawn, own=frame.limits, string=_on_string(pairs, found.adjusted), on_wheels=on_wheels(told)
    )  # fmt: skip
    wanted = asking.quantities(asked)
    measures = tuple(resting_on(m, found.unchecked_of(m)) for m in _measures(wanted, asked, found))
    heights = heights_of(found.adjusted) if found.adjusted.converged else {}
    level = tuple(p for p in pairs if all(key in heights for key in p.keys))
    growing = measured(asking.growth(replace(asked, pairs=level)), drawn, found.adjusted) if found.adjusted.converged else ()
    missing = unknowns(wanted, measures, network, heights, pairs, drawn)
    sharper = better(wanted, measures, found.adjusted) if found.adjusted.converged else ()
    twisted = any(m.is_seen for m in measures if m.word == "twist")
    leans = any(m.status == "out" or (m.status != "in" and m.is_seen) for m in measures if m.word == "level")
    shimmed = shims(frame, told, pairs, heights, drawn, found.adjusted) if leans or twisted else ()
    points = determined(found.adjusted) if found.adjusted.converged else {}
    return Survey(
        frame=frame, set_name=set_name, set=told, network=network, whole=found.whole, adjusted=found.adjusted, suspects=found.suspects,
        unknown=missing, unchecked=found.unchecked, better=tuple(str(b) for b in sharper),
        measures=(*measures, *thick), steps_of_twist=growing,
        growth=grown(growing, frame.placed_crossmembers) if twisted else (), pairs=pairs, points=MappingProxyType(points),
        sigmas=_sigmas(found.adjusted, points), heights=heights, damage=worn, shims=shimmed,
        split=split(frame, told, pairs, heights, drawn) if twisted else None,
        steps=steps(worn, [(s, deciding(s, network)) for s in found.suspects], missing, shimmed, measures, drawn),
        findings=findings(worn, [*off_datum(points, heights, drawn), *(_suspect(s) for s in found.suspects)], (*measures, *thick)),
    )  # fmt: skip


def _on_string(pairs: tuple[Pair, ...], adjusted: Adjusted) -> bool:
    """Whether the readings say how far both ends' middles lie off the centreline string."""
    if len(pairs) < 2:
        return False
    front, rear, keys = asking.yaw_and_shift(pairs)
    return all(sigma_of(form, keys, adjusted) is not None for form in (front, rear))


def _measures(wanted: Sequence[Quantity], asked: Asked, found: Believed) -> tuple[Measure, ...]:
    measures = measured(wanted, asked.drawn, found.adjusted)
    if not found.adjusted.converged:
        return tuple(replace(m, value_mm=None, sigma_mm=None, degrees=None, status="cannot tell", why=NO_REST) for m in measures)
    if not found.suspects:
        return measures
    whole = measured(wanted, asked.drawn, found.whole)
    pairs = zip(measures, whole, strict=True)
    return tuple(hanging_on(one, other, names) if (names := found.hung_on(one)) else one for one, other in pairs)


def _sigmas(adjusted: Adjusted, points: Mapping[str, Vec3]) -> Mapping[str, Vec3]:
    spread = np.sqrt(np.maximum(np.diag(adjusted.covariance), 0.0)).reshape(-1, 3) * adjusted.scale
    order = {key: i for i, key in enumerate(adjusted.network.points)}
    return MappingProxyType({key: _vec(spread[order[key]]) for key in points})


def _vec(row: Sequence[float]) -> Vec3:
    return float(row[0]), float(row[1]), float(row[2])


def _suspect(suspect: Suspect) -> Finding:
    """Named after the first reading of the group."""
    names = ", ".join(suspect.observations)
    slip = f", as if: {suspect.unit_slip}" if suspect.unit_slip else ""
    off = f"off by {suspect.error_mm:+.1f} mm ({abs(suspect.normalised):.1f} sigmas){slip}"
    message = f"the reading {names} is not believed: probably {off}"
    if len(suspect.observations) > 1:
        message = f"one of the readings {names} is not believed, and nothing that was read says which: "
        message += f"the first, if it is that one, is {off}"
    return Finding(
        code=f"survey-suspect-{suspect.observations[0]}", level="warn", where="frame", message=message, value=f"{suspect.error_mm:.1f} mm",
        remedy="take it again before anything is pulled or made to fit", source="data snooping at 0.1 %, two-sided",
    )  # fmt: skip
