"""Named places: stations and everything on the rails, each at its tape length along its rail's upper corner.

A hole's place is its centre, a crossmember's the middle of its width, a mount's its hole; a place off the upper corner counts at its
foot, found square to the rail. A feature may be placed by another one's name, in any order, as long as the names do not run in a ring.
"""

from __future__ import annotations

from collections import deque
from collections.abc import Iterable, Mapping, Sequence
from dataclasses import replace
from difflib import get_close_matches
from types import MappingProxyType
from typing import TYPE_CHECKING

from parts.errors import BadInput, Fault, quoted
from parts.frame.crossmember import Crossmember
from parts.frame.features import BodyMount
from parts.frame.placing import OnFace, OnRail
from parts.spec import Position

if TYPE_CHECKING:
    from parts.frame.rail import Rail
    from parts.frame.section import RailSide

Feature = OnRail | Crossmember
Need = tuple["RailSide", str]


def nearest_names(name: str, known: Iterable[str], count: int = 3) -> tuple[str, ...]:
    """The known names most like `name`, likest first; none where nothing is like it."""
    by_fold = {k.casefold(): k for k in known}
    return tuple(by_fold[k] for k in get_close_matches(name.casefold(), list(by_fold), n=count, cutoff=0.5))


def unknown_place(name: str, known: Iterable[str], limit: str, field: str = "at") -> Fault:
    """A fault that offers the nearest known names, else lists the first of them."""
    names = sorted(known)
    near = nearest_names(name, names)
    if near:
        remedy = "nearest: " + ", ".join(near)
    else:
        remedy = "known: " + (", ".join(names[:12]) + (" ..." if len(names) > 12 else "") if names else "none")
    return Fault(where="", field=field, value=quoted(name), limit=f"{limit} of that name", remedy=remedy)


def label(feature: Feature) -> str:
    """What a fault calls it: `hole pin-front`."""
    return f"{feature.WORD} {feature.name}"


def resolve(rails: Mapping[RailSide, Rail], features: Sequence[Feature]) -> tuple[dict[RailSide, Rail], list[Fault]]:
    """The rails with every feature's place added to their stations, and what could not be placed."""
    resolver = _Resolver(rails, features)
    resolver.run()
    return resolver.rails(), resolver.faults + resolver.left_over()


class _Resolver:
    """Places features as soon as the names they need are placed; each is looked at once, whatever the order in the file."""

    def __init__(self, rails: Mapping[RailSide, Rail], features: Sequence[Feature]) -> None:
        self.bare = rails
        self.features = features
        self.places: dict[RailSide, dict[str, float]] = {side: dict(rail.places) for side, rail in rails.items()}
        self.faults: list[Fault] = []
        self.waiting: dict[Need, list[int]] = {}
        self.missing: dict[int, set[Need]] = {}

    def rails(self) -> dict[RailSide, Rail]:
        return {side: replace(rail, places=MappingProxyType(self.places[side])) for side, rail in self.bare.items()}

    def run(self) -> None:
        ready: deque[int] = deque()
        for index, feature in enumerate(self.features):
            at = feature.position.at
            needs = set() if at is None else {(side, at) for side in feature.sides if at not in self.places[side]}
            if not needs:
                ready.append(index)
                continue
            self.missing[index] = needs
            for need in needs:
                self.waiting.setdefault(need, []).append(index)
        while ready:
            for need in self._place(self.features[ready.popleft()]):
                for index in self.waiting.pop(need, ()):
                    self.missing[index].discard(need)
                    if not self.missing[index]:
                        del self.missing[index]
                        ready.append(index)

    def _place(self, feature: Feature) -> list[Need]:
        """Place one feature on its sides; the needs that this meets."""
        met: list[Need] = []
        try:
            if isinstance(feature, Crossmember):
                x = crossmember_x(feature, {side: self._rail(side) for side in feature.sides})
                tapes = {side: self._rail(side).tape_at(Position(x_mm=x)) for side in feature.sides}
            else:
                tapes = {side: tape_of(feature, self._rail(side)) for side in feature.sides}
        except BadInput as bad:
            self.faults += [fault.inside(label(feature)) for fault in bad.faults]
            return met
        for side, tape in tapes.items():
            if feature.name not in self.places[side]:  # a name given twice is a fault of its own: the first one keeps it
                self.places[side][feature.name] = tape
                met.append((side, feature.name))
        return met

    def _rail(self, side: RailSide) -> Rail:
        return replace(self.bare[side], places=self.places[side])

    def left_over(self) -> list[Fault]:
        """Names that exist nowhere, and rings of names. What only hangs on another fault is not reported again."""
        declared = {(side, f.name): i for i, f in enumerate(self.features) for side in f.sides}
        faults: list[Fault] = []
        done: set[int] = set()
        for index, needs in self.missing.items():
            for side, name in sorted(needs):
                if (side, name) not in declared:
                    known = [*self.places[side], *(n for s, n in declared if s == side and n not in self.places[side])]
                    faults.append(unknown_place(name, known, f"rail {side} has no place").inside(label(self.features[index])))
            chain: list[int] = []
            here: int | None = index
            while here is not None and here in self.missing and here not in done and here not in chain:
                chain.append(here)
                here = next((declared[need] for need in sorted(self.missing[here]) if need in declared), None)
            if here in chain:
                ring = [self.features[i].name for i in chain[chain.index(here) :]]
                limit = "places that hang on each other in a ring: " + " -> ".join([*ring, ring[0]][:12])
                remedy = "place one of them by a station or by x"
                faults.append(Fault(where=label(self.features[index]), field="at", value=ring[0], limit=limit, remedy=remedy))
            done.update(chain)
        return faults


def tape_of(feature: OnRail, rail: Rail) -> float:
    """Tape length of a feature's place on `rail`, whose places hold the name it hangs on.

    Raises:
        BadInput: no such name, or past the rail's ends.
    """
    position = feature.position
    if position.at is not None or position.x_mm is None:
        return rail.tape_at(position)
    return rail.on_rail(_tape_of_x(feature, rail, position.x_mm), position)


def _tape_of_x(feature: OnRail, rail: Rail, x: float) -> float:
    """The place whose own point, not the upper corner above it, has this x."""
    if isinstance(feature, OnFace) and feature.face == "web":
        s = rail.plan.s_at_x(x)
        return rail.profile.tape(s) if feature.up_mm is None else rail.profile.tape_above(s, feature.up_mm)
    offset = 0.0
    if isinstance(feature, OnFace):
        offset = feature.in_mm or 0.0
    elif isinstance(feature, BodyMount):
        offset = mount_offset(feature, rail)
    course = rail.plan.offset_course(offset)
    s, _ = rail.plan.project(*course.point(course.t_at_first(x)))
    if isinstance(feature, OnFace) and feature.face == "lower flange":
        return rail.profile.tape_above(s, 0.0)
    return rail.profile.tape(s)


def mount_offset(mount: BodyMount, rail: Rail) -> float:
    """A mount's hole as an offset from the web's outside face, + towards the open side."""
    return -mount.out_mm if rail.opens_inboard else mount.out_mm


def crossmember_x(crossmember: Crossmember, rails: Mapping[RailSide, Rail]) -> float:
    """x of a crossmember's middle: as given, or midway between the two rails' places of that name."""
    position = crossmember.position
    if position.at is None and position.x_mm is not None:
        return position.x_mm
    found = [rail.plan.point(rail.s_at(position))[0] for rail in rails.values()]
    return sum(found) / len(found)
