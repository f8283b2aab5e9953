"""Which readings to take of a frame, in the order in which somebody with a tape, a level and a string walks round it."""

from __future__ import annotations

import math
from collections.abc import Iterator, Sequence
from dataclasses import dataclass
from typing import TYPE_CHECKING

from generator.survey import shapes
from generator.survey.pairs import Bay, Pair, Points, bays_of, pairs_of
from parts.frame.placing import SIDES

if TYPE_CHECKING:
    from parts.frame.frame import Frame
    from parts.frame.measured import ReadingKind

#: Instruments' classes, by which a form is judged; who has a finer or a rougher one writes it in the form.
LEVEL, STRING, PLUMBED = "water level", "string", "plumbed tape"
TAPES = {"mm": "tape II", "in": "1/16 in tape"}  #: by the units that the frame file is in
AGAIN = "-again"


@dataclass(frozen=True, kw_only=True)
class Line:
    """One reading to take, and what it would be on the frame as drawn."""

    name: str
    kind: ReadingKind
    start: str
    end: str | None = None
    drawn_mm: float
    instrument: str


@dataclass(frozen=True, kw_only=True)
class Leg:
    """What is read in one go with one instrument."""

    title: str
    how: str
    lines: tuple[Line, ...]


@dataclass(frozen=True, kw_only=True)
class _Wish:
    kind: ReadingKind
    start: str
    end: str | None = None


def walk(frame: Frame, prefix: str = "") -> tuple[Leg, ...]:
    """The legs in order; heights and string by every control point, tapes by pairs and what lies between them.

    Args:
        prefix: put before every reading's name, where names are taken.
    """
    drawn = frame.control_coordinates
    pairs = pairs_of(frame)
    rounds = _round(frame)
    bays = bays_of(pairs)
    tape = TAPES[frame.units]
    planned: list[tuple[str, str, str, str, Sequence[_Wish]]] = [
        ("h", LEVEL, "Heights above the level line", "Down the left rail, back up the right one; the first point once more at the end: it "
         "must read as before, or something moved.", [_Wish(kind="height", start=key) for key in rounds]),
        ("r", LEVEL, "Across with the level, front to rear", "How much higher the right point is than the left one; below 0 where it is "
         "lower.", [_Wish(kind="rise", start=p.left, end=p.right) for p in pairs]),
        ("w", tape, "Widths, rear to front", "Straight from point to point, tape taut.",
         [_Wish(kind="distance", start=p.left, end=p.right) for p in reversed(pairs)]),
        ("b", tape, "Bay by bay, front to rear: both rails, then both diagonals", "Straight from point to point, also where the rail kicks "
         "up or turns: never along the rail.", [*_bays(bays), *_loners(frame, pairs, drawn)]),
        ("a", tape, "Over all: both rails, then both diagonals", "Two people; somebody holds the tape up in the middle.",
         [w for bay in bays if bay.overall for w in _braced(bay)]),
        ("s", STRING, "From the centreline string", "Down the left rail, back up the right one; right is above 0, left is below.",
         [_Wish(kind="offset", start=key) for key in rounds]),
        ("x", PLUMBED, "Plumbed to the floor: along the string from x = 0", "Drop the bob from the point, square it over to the string.",
         [_Wish(kind="along", start=key) for p in _ends(pairs) for key in p.keys]),
        ("p", PLUMBED, "Between the marks on the floor: both diagonals", "Bob at rest, close to the floor.", _floor(pairs)),
    ]  # fmt: skip
    legs = []
    for letter, instrument, title, how, wishes in planned:
        lines = tuple(_lines(prefix + letter, instrument, wishes, drawn))
        if letter == "h" and lines:
            lines = (*lines, again(lines[0]))
        if lines:
            legs.append(Leg(title=title, how=how, lines=lines))
    return tuple(legs)


def again(line: Line) -> Line:
    """The same reading taken once more."""
    return Line(name=line.name + AGAIN, kind=line.kind, start=line.start, end=line.end, drawn_mm=line.drawn_mm, instrument=line.instrument)


def value_of(kind: ReadingKind, a: tuple[float, float, float], b: tuple[float, float, float]) -> float:
    """What a reading of that kind is between two points in mm; of a single point, `b` is not asked."""
    match kind:
        case "distance":
            return shapes.length(a, b)
        case "plan":
            return math.hypot(b[0] - a[0], b[1] - a[1])
        case "rise":
            return b[2] - a[2]
        case "height" | "known z":
            return a[2]
        case "along" | "known x":
            return a[0]
        case "offset" | "known y":
            return a[1]


def _lines(letters: str, instrument: str, wishes: Sequence[_Wish], drawn: Points) -> Iterator[Line]:
    for i, wish in enumerate(wishes, 1):
        a, b = drawn[wish.start], drawn[wish.end or wish.start]
        yield Line(name=f"{letters}{i}", kind=wish.kind, start=wish.start, end=wish.end, drawn_mm=value_of(wish.kind, a, b),
                   instrument=instrument)  # fmt: skip


def _round(frame: Frame) -> list[str]:
    """Every control point: the left rail's from front to rear, then the right one's from rear to front."""
    drawn = frame.control_coordinates
    keys = {side: sorted((drawn[p.key(side)][0], p.key(side)) for p in frame.control_points if side in p.sides) for side in SIDES}
    return [key for _, key in keys["left"]] + [key for _, key in reversed(keys["right"])]


def _bays(bays: Sequence[Bay]) -> Iterator[_Wish]:
    for bay in bays:
        if not bay.overall:
            yield from _braced(bay)


def _braced(bay: Bay) -> Iterator[_Wish]:
    front, rear = bay.front, bay.rear
    for a, b in ((front.left, rear.left), (front.right, rear.right), (front.left, rear.right), (front.right, rear.left)):
        yield _Wish(kind="distance", start=a, end=b)


def _loners(frame: Frame, pairs: Sequence[Pair], drawn: Points) -> Iterator[_Wish]:
    """Points without a like on the other rail: from both points of the two pairs nearest to each."""
    paired = {key for pair in pairs for key in pair.keys}
    for key in _round(frame):
        if key not in paired:
            near = sorted(pairs, key=lambda p: abs(p.x_mm - drawn[key][0]))[:2]
            for pair in sorted(near, key=lambda p: p.x_mm):
                yield from (_Wish(kind="distance", start=other, end=key) for other in pair.keys)


def _ends(pairs: Sequence[Pair]) -> tuple[Pair, ...]:
    return tuple(dict.fromkeys((pairs[0], pairs[-1]))) if pairs else ()


def _floor(pairs: Sequence[Pair]) -> list[_Wish]:
    if len(pairs) < 2:
        return []
    front, rear = pairs[0], pairs[-1]
    return [_Wish(kind="plan", start=front.left, end=rear.right), _Wish(kind="plan", start=front.right, end=rear.left)]


def free_prefix(frame: Frame, set_name: str, names: Sequence[str]) -> str:
    """What to put before these names so that the set has none of them yet: "", else a number."""
    taken = {reading.name for reading in frame.readings if reading.set == set_name}
    prefixes = ["", *(f"{i}-" for i in range(2, len(taken) + 3))]
    return next(p for p in prefixes if not any(p + name in taken for name in names))
