"""What must hold between what was measured and the frame: points, sets, places."""

from __future__ import annotations

from collections.abc import Iterator
from contextlib import suppress
from itertools import islice
from typing import TYPE_CHECKING

from parts.errors import BadInput, Fault
from parts.frame.names import label, nearest_names, unknown_place
from parts.frame.placing import OnRail

if TYPE_CHECKING:
    from parts.frame.frame import Frame

MOST_TOLD = 200
PLAIN_MM = 100.0  #: off the string by so much, a point is on its own side of it whatever is bent; our choice


def reading_faults(frame: Frame) -> list[Fault]:
    """Every fault of readings, section readings and sets that shows against the rest of the frame."""
    return [*_first(_points(frame)), *_first(_sets(frame)), *_first(_known_twice(frame)), *_first(_hands(frame)),
            *_first(_places(frame))]  # fmt: skip


def _first(faults: Iterator[Fault]) -> Iterator[Fault]:
    """Most of them alike: so many are told, each with the nearest names, which take long to find."""
    yield from islice(faults, MOST_TOLD)
    if next(faults, None) is not None:
        limit = f"has more than {MOST_TOLD} such faults"
        yield Fault(where="", field="reading", limit=limit, remedy="mend these first and run again")


def _points(frame: Frame) -> Iterator[Fault]:
    """Readings are taken at control points."""
    pairs = {p.name: p.sides for p in frame.control_points if p.side == "both"}
    known = {p.key(side) for p in frame.control_points for side in p.sides}
    for reading in frame.readings:
        for field, name in (("from", reading.start), ("to", reading.end)):
            if name is None or name in known:
                continue
            fault = unknown_place(name, known, "the frame has no control point", field=field)
            if name in pairs:
                limit, remedy = "is a pair of control points", f"{name}-left or {name}-right"
                fault = Fault(where="", field=field, value=name, limit=limit, remedy=remedy)
            yield fault.inside(f"reading {reading.name}")


def _sets(frame: Frame) -> Iterator[Fault]:
    """Where sets are declared, a set that is not is a slip; where none is, any name will do."""
    declared = [s.name for s in frame.sets]
    if not declared:
        return
    things = [(f"reading {r.name}", r.set) for r in frame.readings] + [(label(s), s.set) for s in frame.section_readings]
    for where, name in things:
        if name not in declared:
            near = nearest_names(name, declared)
            remedy = (f"nearest: {', '.join(near)}; " if near else "") + f'or declare it: [[set]] name = "{name}"'
            yield Fault(where=where, field="set", value=name, limit="the frame declares sets, and none of that name", remedy=remedy)


def _known_twice(frame: Frame) -> Iterator[Fault]:
    """A coordinate is held at one value in a set; repeats are for what is adjusted."""
    first: dict[tuple[str, str, str], str] = {}
    for reading in frame.readings:
        if reading.held:
            other = first.setdefault((reading.set, reading.start, reading.kind), reading.name)
            if other != reading.name:
                limit = f"{reading.kind} of {reading.start} is held by reading {other} already"
                yield Fault(where=f"reading {reading.name}", field="kind", value=reading.kind, limit=limit, remedy="leave one of them out")


def _hands(frame: Frame) -> Iterator[Fault]:
    """What lies left of the string is below 0: read without its sign it would be pulled across the frame."""
    drawn: dict[str, float] = {}
    for point in frame.control_points:
        for side in point.sides:
            with suppress(BadInput):  # a place that is not there has its own fault
                drawn[point.key(side)] = frame.control_place(point, side).point[1]
    for reading in frame.readings:
        y = drawn.get(reading.start, 0.0)
        if reading.kind not in ("offset", "known y") or min(abs(y), abs(reading.value_mm)) < PLAIN_MM or y * reading.value_mm > 0:
            continue
        hand = "left" if y < 0 else "right"
        sign = "below" if y < 0 else "above"
        limit = f"{reading.start} is drawn {abs(y):.0f} mm to the {hand} of the string, and what lies to the {hand} is {sign} 0"
        remedy = f"change its sign: {-reading.value_mm:g} mm; or name the point of the other rail"
        yield Fault(where=f"reading {reading.name}", field="value", value=f"{reading.value_mm:g} mm", limit=limit, remedy=remedy)


def _places(frame: Frame) -> Iterator[Fault]:
    """Section readings and supports stand on the rails."""
    for reading in frame.section_readings:
        yield from _off_rail(frame, reading, label(reading))
    for told in frame.sets:
        for number, support in enumerate(told.supports, start=1):
            yield from _off_rail(frame, support, f"set {told.name} support {support.name or f'number {number}'}")


def _off_rail(frame: Frame, thing: OnRail, where: str) -> Iterator[Fault]:
    for side in thing.sides:
        try:
            frame.rail(side).tape_at(thing.position)
        except BadInput as error:
            yield from (fault.inside(where) for fault in error.faults)
