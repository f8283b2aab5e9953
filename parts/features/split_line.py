"""The line along which two pieces of a plate meet, and how a laid plate is parted on such lines."""

from __future__ import annotations

import math
from collections.abc import Sequence
from dataclasses import dataclass, replace
from itertools import pairwise
from typing import TYPE_CHECKING

from parts.features.choices import EndKind
from parts.features.stubs import stubs
from parts.frame.faces import Facet
from parts.outline import Contour, Point, Segment
from parts.trimming import cut

if TYPE_CHECKING:
    from parts.features.around import Filler
    from parts.features.draft import Draft, DraftPanel


@dataclass(frozen=True, kw_only=True)
class SplitLine:
    """The middle of the gap between two pieces, on one facet, from the plate's lower to its upper edge in (u, z)."""

    facet: Facet
    index: int  #: of the panel of the whole plate that it lies on
    lower: Point
    upper: Point
    centre: Point  #: where it crosses the middle of the plate's height; on a tapering plate not half way between its ends
    gap_mm: float
    tape_mm: float  #: of its centre, along the rail's upper corner
    angle_deg: float  #: to the rail's length
    proposed: bool = False

    @property
    def across(self) -> Point:
        """Unit vector from the lower end to the upper one."""
        du, dz = self.upper[0] - self.lower[0], self.upper[1] - self.lower[1]
        size = math.hypot(du, dz)
        return du / size, dz / size

    @property
    def rearward(self) -> Point:
        """Unit vector square to it, to the side of the rear piece."""
        a, b = self.across
        return b, -a

    @property
    def segment(self) -> Segment:
        return Segment(self.lower, self.upper)

    @property
    def s_range(self) -> tuple[float, float]:
        """Of the rail, that the gap takes up."""
        (a, _), half = self.rearward, self.gap_mm / 2
        us = [p[0] + k * half * a for p in (self.lower, self.upper) for k in (-1, 1)]
        return self.facet.s_at(min(us)), self.facet.s_at(max(us))

    def past_mm(self, p: Point) -> float:
        """How far a point of its panel lies to the rear of it, square to it; below 0: to the front."""
        a, b = self.rearward
        return (p[0] - self.lower[0]) * a + (p[1] - self.lower[1]) * b

    def off_mm(self, other: SplitLine) -> float:
        """The least distance from its gap's edge to that of another joint on its panel, anywhere on it; not above 0 if they cross."""
        return self.segment.gap(other.segment) - (self.gap_mm + other.gap_mm) / 2

    def left_mm(self, behind: SplitLine) -> float:
        """What is left of the shorter long edge between it and a joint behind it on its panel; below 0 where they cross."""
        return min(self._left(behind, p, q) for p, q in ((self.lower, behind.lower), (self.upper, behind.upper)))

    def _left(self, behind: SplitLine, p: Point, q: Point) -> float:
        """Along the edge from p, its own end, to q, that of the other; a gap takes more of an edge that it meets at a slant."""
        size = math.dist(p, q)
        along = ((q[0] - p[0]) / size, (q[1] - p[1]) / size) if size > 1e-9 else (1.0, 0.0)
        way = 1.0 if along[0] >= 0 else -1.0
        taken = (line.gap_mm / 2 / abs(line.rearward[0] * along[0] + line.rearward[1] * along[1]) for line in (self, behind))
        return way * size - sum(taken)

    def beyond(self, rear: bool, reach_mm: float) -> Contour:
        """Everything that the front piece leaves out (`rear`: the rear piece), as far as `reach_mm`: half the gap and all past it."""
        (a, b), (c, d) = self.across, self.rearward
        near, far = (self.gap_mm / 2, -reach_mm) if rear else (-self.gap_mm / 2, reach_mm)
        low, high = -reach_mm, math.dist(self.lower, self.upper) + reach_mm

        def at(along: float, past: float) -> Point:
            return self.lower[0] + along * a + past * c, self.lower[1] + along * b + past * d

        ring = Contour((at(low, near), at(low, far), at(high, far), at(high, near)), (0.0,) * 4)
        return ring if ring.area > 0 else ring.reversed()


def parted(draft: Draft, fillers: Sequence[Filler], lines: Sequence[SplitLine]) -> list[tuple[Draft, tuple[Filler, ...]]]:
    """The pieces of a laid plate, front to rear, each with its filler pieces; what was said of the whole stays with the first.

    Args:
        lines: front to rear, each from edge to edge of one flat panel.

    Raises:
        ValueError: a line does not part the plate in two.
    """
    if not lines:
        return [(draft, tuple(fillers))]
    out: list[tuple[Draft, tuple[Filler, ...]]] = []
    stops: list[SplitLine | None] = [None, *lines, None]
    for number, (front, rear) in enumerate(pairwise(stops)):
        piece = between(draft, front, rear)
        if number:
            piece = replace(piece, faults=(), findings=(), notes=(), removals=(), bend_conflicts=0)
        own = tuple(f for f in fillers if _is_between(f, front, rear, draft))
        out.append((stubs(piece), own))
    return out


def between(draft: Draft, front: SplitLine | None, rear: SplitLine | None) -> Draft:
    """The part of a laid plate between two lines; None: to its own end.

    Raises:
        ValueError: a line does not part its panel in two, or the two cross: the pieces beside this one would have steel in common.
    """
    if front is not None and rear is not None and front.index == rear.index and front.left_mm(rear) <= 0:
        raise ValueError("two joints meet: they leave nothing of an edge between them")
    first = front.index if front is not None else 0
    last = rear.index if rear is not None else len(draft.panels) - 1
    panels = list(draft.panels[first : last + 1])
    s0, s1 = draft.s0_mm, draft.s1_mm
    if front is not None:
        panels[0] = _kept(panels[0], front, rear=True)
        s0 = panels[0].facet.s_at(panels[0].u0)
    if rear is not None:
        panels[-1] = _kept(panels[-1], rear, rear=False)
        s1 = panels[-1].facet.s_at(panels[-1].u1)
    ends: tuple[EndKind, EndKind] = (draft.ends[0] if front is None else "joint", draft.ends[1] if rear is None else "joint")
    run = (draft.s0_mm, draft.s1_mm)
    return replace(draft, s0_mm=s0, s1_mm=s1, panels=tuple(panels), ends=ends, split_at=(front, rear), run_s_mm=run)


def _kept(panel: DraftPanel, line: SplitLine, *, rear: bool) -> DraftPanel:
    """What is left of a panel on the rear (front) side of a line."""
    x0, z0, x1, z1 = panel.contour.box
    pieces = cut(panel.contour, line.beyond(rear, x1 - x0 + 4 * (z1 - z0)))
    if len(pieces) != 1:
        raise ValueError(f"the line leaves {len(pieces)} pieces on one side of it")
    contour = pieces[0]
    us = [u for u, _ in contour.points]
    holes = tuple(h for h in panel.holes if (line.past_mm(h.centre) >= 0) == rear)
    if rear:
        return replace(panel, contour=contour, u0=min(us), bend_before=False, holes=holes)
    return replace(panel, contour=contour, u1=max(us), bend_after=False, holes=holes)


def _is_between(filler: Filler, front: SplitLine | None, rear: SplitLine | None, draft: Draft) -> bool:
    index = next(i for i, panel in enumerate(draft.panels) if panel.facet is filler.facet)
    return (front is None or _is_past(filler, index, front)) and (rear is None or not _is_past(filler, index, rear))


def _is_past(filler: Filler, index: int, line: SplitLine) -> bool:
    if index != line.index:
        return index > line.index
    x0, z0, x1, z1 = filler.contour.box
    return line.past_mm(((x0 + x1) / 2, (z0 + z1) / 2)) >= 0
