"""The kit on its frame, as rules that look past one piece see it: what lies where along each rail, and what is drilled into it."""

from __future__ import annotations

from bisect import bisect_left, bisect_right
from collections.abc import Mapping, Sequence
from dataclasses import dataclass
from functools import cached_property

from generator.rules.ends import End, ends_of
from generator.rules.lie import Lying, lyings
from parts.frame.frame import Frame
from parts.frame.section import RailSide
from parts.piece import Drilling, Piece
from parts.shop import Shop


@dataclass(frozen=True, kw_only=True)
class NewHole:
    """A hole that a piece asks for in a rail's web: `existing_mm` where it is there already and is opened out."""

    piece: Piece
    drilling: Drilling
    s_mm: float
    z_mm: float

    @property
    def diameter_mm(self) -> float:
        return self.drilling.diameter_mm


@dataclass(frozen=True, kw_only=True)
class Scene:
    """Rails, pieces and shop. Made once for a kit; what only some rules ask for is worked out when it is asked for."""

    frame: Frame
    shop: Shop
    pieces: tuple[Piece, ...]

    @cached_property
    def lyings(self) -> Mapping[str, tuple[Lying, ...]]:
        """By the piece's id."""
        return {p.id: lyings(p, self.frame) for p in self.pieces}

    @cached_property
    def order(self) -> Mapping[str, int]:
        """Where each piece stands in the kit, by its id: what two pieces share is told of the later one."""
        return {p.id: k for k, p in enumerate(self.pieces)}

    @cached_property
    def _new_holes(self) -> Mapping[RailSide, tuple[NewHole, ...]]:
        found: dict[RailSide, list[NewHole]] = {side: [] for side in self.frame.sides}
        for piece in self.pieces:
            for drilling in piece.drilling:
                for side in self.frame.sides:
                    rail = self.frame.rail(side)
                    if drilling.face == "web" and drilling.rail == rail.name:
                        s, z, _ = rail.szo(drilling.point)
                        found[side].append(NewHole(piece=piece, drilling=drilling, s_mm=s, z_mm=z))
        return {side: tuple(sorted(holes, key=lambda h: h.s_mm)) for side, holes in found.items()}

    @cached_property
    def _hole_s(self) -> Mapping[RailSide, Sequence[float]]:
        return {side: [h.s_mm for h in holes] for side, holes in self._new_holes.items()}

    def new_holes(self, side: RailSide, s0: float, s1: float) -> tuple[NewHole, ...]:
        """Those whose middles lie in s0 <= s <= s1."""
        ss = self._hole_s[side]
        return self._new_holes[side][bisect_left(ss, s0) : bisect_right(ss, s1)]

    @cached_property
    def ends(self) -> Mapping[RailSide, tuple[End, ...]]:
        """The ends of every reinforcement, front to rear."""
        found: dict[RailSide, list[End]] = {side: [] for side in self.frame.sides}
        for piece in self.pieces:
            for lying in self.lyings[piece.id]:
                if lying.reinforces:
                    found[lying.rail.side] += ends_of(lying)
        return {side: tuple(sorted(ends, key=lambda e: (e.s_mm[0], e.s_mm[1]))) for side, ends in found.items()}

    def ends_near(self, side: RailSide, s0: float, s1: float) -> tuple[End, ...]:
        """Reinforcement ends that reach into s0 <= s <= s1."""
        ends = self.ends[side]
        low = bisect_left(self._end_s[side], s0 - self._longest_end[side])
        high = bisect_right(self._end_s[side], s1)
        return tuple(e for e in ends[low:high] if e.s_mm[1] >= s0)

    @cached_property
    def _end_s(self) -> Mapping[RailSide, Sequence[float]]:
        return {side: [e.s_mm[0] for e in ends] for side, ends in self.ends.items()}

    @cached_property
    def _longest_end(self) -> Mapping[RailSide, float]:
        return {side: max((e.s_mm[1] - e.s_mm[0] for e in ends), default=0.0) for side, ends in self.ends.items()}
