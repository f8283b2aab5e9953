"""Whether one piece's shape would do in another's place: shifted to balance its edges, the gap that is left along each and at holes."""

from __future__ import annotations

import math
from collections import Counter
from collections.abc import Sequence
from dataclasses import dataclass
from functools import cached_property
from itertools import pairwise

import numpy as np

from parts.laid_flat import Edge, LaidFlat
from parts.minimax import minimax
from parts.outline import Contour, Point, Transform
from parts.shape_gaps import Asked, Bounds, Gap, bend_gaps, edge_gaps, hole_gaps, hole_misses, kind_of, off_mm

STEP_MM = 0.1  #: to which a shift is told: nobody lays a plate off finer
ROUNDS = 6
EDGES: tuple[Edge, ...] = ("upper", "lower", "front", "rear")


@dataclass(frozen=True, kw_only=True)
class Shift:
    """How the shape is moved in its plane, from where its front end and lower edge would lie like the other's."""

    rearward_mm: float = 0.0
    up_front_mm: float = 0.0
    up_rear_mm: float = 0.0

    @property
    def is_none(self) -> bool:
        return self == Shift()


@dataclass(frozen=True, kw_only=True)
class OneShape:
    """`shape` put where `own` belongs. `why_not`: what no shift mends, in words; "" where the gaps decide."""

    shift: Shift
    edges: tuple[Gap, ...]  #: the worst of each edge: first that to a flange, then that of notches and ends that look the same way
    holes: tuple[Gap, ...]
    bends: tuple[Gap, ...]
    why_not: str = ""

    @property
    def worst(self) -> Gap | None:
        return max((*self.edges, *self.holes, *self.bends), key=lambda g: g.over, default=None)

    @property
    def fits(self) -> bool:
        return not self.why_not and all(g.fits for g in (*self.edges, *self.holes, *self.bends))

    @property
    def margin_mm(self) -> float:
        """How much could be added to the worst gap before it no longer fits; below 0: by how much it does not. Infinite without gaps."""
        gaps = (*self.edges, *self.holes, *self.bends)
        return min(((g.most_mm - g.least_mm) / 2 * (1.0 - g.over) for g in gaps if math.isfinite(g.over)), default=math.inf)

    def edge(self, word: Edge) -> Gap | None:
        return next((g for g in self.edges if g.what == word), None)


def one_shape(own: LaidFlat, shape: LaidFlat, bounds: Bounds, *, gap_mm: float) -> OneShape:
    """`shape` in place of `own`, shifted so that the worst of all gaps is as small as it can be. What carries a seat is not tilted.

    Args:
        bounds: see `Bounds`; asked at places of `own`.
        gap_mm: the largest gap under a weld: what a bend in another place may leave.
    """
    if (why := _unlike(own, shape)) is not None:
        return OneShape(shift=Shift(), edges=(), holes=(), bends=(), why_not=why)
    trial = _Trial(own=own, shape=shape, bounds=bounds, gap_mm=gap_mm)
    found = trial.at(trial.shifted(holes=True))
    # where no shift does for all, the one that is best for the edges: what is off at the holes shows beside it
    return found if found.fits else trial.at(trial.shifted(holes=False))


def place_of(own: LaidFlat, shape: LaidFlat, shift: Shift) -> Transform:
    """From the shape's flat to that of `own`, both with x rearward: where a shift has it.

    Turned about the middle of the height at its front end, then shifted; before that both have the lower left corner of their box alike.
    """
    x0, y0, x1, y1 = own.box
    turn = math.atan2(shift.up_rear_mm - shift.up_front_mm, max(x1 - x0, 1.0))
    start = Transform.shift(-shape.box[0], -shape.box[1] - (y1 - y0) / 2)
    back = Transform.shift(x0 + shift.rearward_mm, (y0 + y1) / 2 + shift.up_front_mm)
    return start.then(Transform.rotation(turn)).then(back)


def _unlike(own: LaidFlat, shape: LaidFlat) -> str | None:
    if len(own.pattern.bends) != len(shape.pattern.bends):
        return f"one is bent {len(own.pattern.bends)} times, the other {len(shape.pattern.bends)} times"
    kinds, others = Counter(kind_of(h) for h in own.holes), Counter(kind_of(h) for h in shape.holes)
    if odd := (kinds - others) + (others - kinds):
        names = [h.name for h in (*own.holes, *shape.holes) if kind_of(h) in odd]
        return f"their holes differ: {', '.join(dict.fromkeys(names))}"
    return None


@dataclass(frozen=True, kw_only=True, eq=False)
class _Trial:
    """One shape in one place, at any shift."""

    own: LaidFlat
    shape: LaidFlat
    bounds: Bounds
    gap_mm: float

    @cached_property
    def asked(self) -> Sequence[Asked]:
        to = place_of(self.own, self.shape, Shift())
        vertices = sorted(to.apply(p)[0] for p in self.shape.contour.points)
        between = [(a + b) / 2 for a, b in pairwise(vertices)]  # a notch that only the shape has lies between two of them
        return [(place, self.bounds(place)) for place in self.own.places((*vertices, *between))]

    def at(self, shift: Shift) -> OneShape:
        to = place_of(self.own, self.shape, shift)
        gaps = edge_gaps(self.asked, self.shape.contour.moved(to))
        kinds = [(word, root) for word in EDGES for root in (True, False)]
        worst = [max((g for g in gaps if (g.what, g.is_root) == one), key=lambda g: g.over, default=None) for one in kinds]
        return OneShape(
            shift=shift, edges=tuple(g for g in worst if g is not None), holes=tuple(hole_gaps(self.own, self.shape, to)),
            bends=tuple(bend_gaps(self.own, self.shape, to, self.gap_mm)),
        )  # fmt: skip

    def shifted(self, *, holes: bool) -> Shift:
        """Edges look straight out, so that every step is exact for straight ones; a few do for all."""
        shift = best = Shift()
        least = math.inf
        for _ in range(ROUNDS):
            slopes, offsets = self._rows(shift, holes)
            worst = max((abs(o) for o in offsets), default=0.0)
            if worst >= least:
                break
            best, least = shift, worst
            shift = self._stepped(shift, slopes, offsets)
        return best

    def _rows(self, shift: Shift, holes: bool) -> tuple[list[tuple[float, float, float]], list[float]]:
        """(how each miss changes with the three numbers of a shift, the misses), both in shares of what may be."""
        x0, y0, x1, y1 = self.own.box
        length, middle = max(x1 - x0, 1.0), (y0 + y1) / 2
        to = place_of(self.own, self.shape, shift)
        contour: Contour = self.shape.contour.moved(to)
        slopes: list[tuple[float, float, float]] = []
        offsets: list[float] = []

        def row(p: Point, way: Point, miss: float, half: float) -> None:
            """A miss along `way` at p shrinks by what the shape is moved that way there."""
            far = (p[0] - x0) / length
            lift = -(p[1] - middle) / length  # what a turn moves a place above the middle along
            slopes.append((-way[0] / half, (-way[1] * (1 - far) + way[0] * lift) / half, (-way[1] * far - way[0] * lift) / half))
            offsets.append(miss / half)

        for place, (gap, least, most) in self.asked:
            off = off_mm(place, contour)
            if off is not None:
                row(place.flat, place.normal, gap + off - (least + most) / 2, max((most - least) / 2, 1e-6))
        for _, mine, (dx, dy), room in hole_misses(self.own, self.shape, to) if holes else ():
            row(mine, (1.0, 0.0), dx, room)
            row(mine, (0.0, 1.0), dy, room)
        return slopes, offsets

    def _stepped(self, shift: Shift, slopes: Sequence[tuple[float, float, float]], offsets: Sequence[float]) -> Shift:
        """The shift that is best by what the gaps are at the present one, to `STEP_MM`."""
        if not slopes:
            return shift
        table, misses = np.array(slopes), np.array(offsets)
        if self.own.piece.seats:  # a seat stays level
            by = minimax(np.column_stack([table[:, 0], table[:, 1] + table[:, 2]]), misses)[[0, 1, 1]]
        else:
            by = minimax(table, misses)
        return Shift(
            rearward_mm=_told(shift.rearward_mm + float(by[0])), up_front_mm=_told(shift.up_front_mm + float(by[1])),
            up_rear_mm=_told(shift.up_rear_mm + float(by[2])),
        )  # fmt: skip


def _told(value: float) -> float:
    return round(round(value / STEP_MM) * STEP_MM, 6) + 0.0
