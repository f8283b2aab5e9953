"""The kit on its frame, as rules that look past one piece see it: what lies where along each rail, and what is drilled into it."""

from __future__ import annotations

import math
from bisect import bisect_left, bisect_right
from collections.abc import Iterator, Mapping, Sequence
from dataclasses import dataclass
from functools import cached_property

from generator.rules.ends import End, ends_of
from generator.rules.lie import Lying, lyings
from parts.frame.frame import Frame
from parts.frame.section import RailSide
from parts.piece import Drilling, Piece
from parts.sheet import Vec3
from parts.shop import Shop

SAME_MM = 0.5  #: two parts that ask for one hole
JOINED_MM = 10.0  #: an end that near to a butt weld is the one that it joins: its root gap, and a turn of the rail

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

    def is_at(self, other: NewHole) -> bool:
        """Whether two parts ask for one hole."""
        return math.hypot(self.s_mm - other.s_mm, self.z_mm - other.z_mm) < SAME_MM


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

    def holes_of(self, piece: Piece, side: RailSide) -> list[NewHole]:
        """What the piece asks for in that rail's web, in its own order."""
        rail = self.frame.rail(side)
        asked = [d for d in piece.drilling if d.face == "web" and d.rail == rail.name]
        places = [rail.szo(d.point) for d in asked]
        return [NewHole(piece=piece, drilling=d, s_mm=s, z_mm=z) for d, (s, z, _) in zip(asked, places, strict=True)]

    @cached_property
    def _new_holes(self) -> Mapping[RailSide, tuple[NewHole, ...]]:
        """A hole that several parts share is that of the first."""
        found: dict[RailSide, tuple[NewHole, ...]] = {}
        for side in self.frame.sides:
            taken: dict[tuple[int, int], list[NewHole]] = {}
            for hole in (h for piece in self.pieces for h in self.holes_of(piece, side)):
                a, b = int(hole.s_mm // SAME_MM), int(hole.z_mm // SAME_MM)
                around = (h for i in (a - 1, a, a + 1) for j in (b - 1, b, b + 1) for h in taken.get((i, j), ()))
                if not any(hole.is_at(h) for h in around):
                    taken.setdefault((a, b), []).append(hole)
            found[side] = tuple(sorted((h for cell in taken.values() for h in cell), key=lambda h: h.s_mm))
        return found

    @cached_property
    def _hole_s(self) -> Mapping[RailSide, Sequence[float]]:
        return {side: [h.s_mm for h in holes] for side, holes in self._new_holes.items()}

    def new_holes(self, side: RailSide, s0: float, s1: float) -> tuple[NewHole, ...]:
        """Of all pieces, each place once: those whose middles lie in s0 <= s <= s1."""
        ss = self._hole_s[side]
        return self._new_holes[side][bisect_left(ss, s0) : bisect_right(ss, s1)]

    @cached_property
    def own_ends(self) -> Mapping[str, tuple[End, ...]]:
        """The ends of every piece that reinforces a rail, by the piece's id; not where another piece of its plate goes on."""
        return {
            p.id: tuple(e for one in self.lyings[p.id] if one.reinforces for e in ends_of(one) if not self._goes_on(e)) for p in self.pieces
        }

    @cached_property
    def _butts(self) -> Sequence[tuple[frozenset[str], tuple[Vec3, ...]]]:
        """(ids of both pieces, the weld's line) of every butt weld between two pieces."""
        known = {p.id for p in self.pieces}
        return [(frozenset((p.id, w.onto)), w.points) for p in self.pieces for w in p.welds if w.kind == "butt" and w.onto in known]

    def _goes_on(self, end: End) -> bool:
        """Whether a butt weld joins it to another piece over most of its height."""
        s0, s1 = end.s_mm
        zs = [end.panel.place.point(u, v)[2] for u, v in end.chain]
        for ids, line in self._butts:
            if end.lying.piece.id not in ids:
                continue
            places = [end.lying.rail.szo(p) for p in line]
            near = all(s0 - JOINED_MM <= s <= s1 + JOINED_MM for s, _, _ in places)
            climb = max(z for _, z, _ in places) - min(z for _, z, _ in places)
            if near and climb > (max(zs) - min(zs)) / 2:
                return True
        return False

    @cached_property
    def ends(self) -> Mapping[RailSide, tuple[End, ...]]:
        """The ends of every reinforcement on a rail, front to rear."""
        found: dict[RailSide, list[End]] = {side: [] for side in self.frame.sides}
        for ends in self.own_ends.values():
            for end in ends:
                found[end.lying.rail.side].append(end)
        return {side: tuple(sorted(ends, key=lambda e: e.s_mm)) for side, ends in found.items()}

    def ends_near(self, side: RailSide, s0: float, s1: float) -> Iterator[End]:
        """Reinforcement ends that reach into s0 <= s <= s1, front to rear, where two lie alike the earlier piece's first."""
        ends = self.ends[side]
        low = bisect_left(self._end_s[side], s0 - self._longest_end[side])
        high = bisect_right(self._end_s[side], s1)
        return (ends[k] for k in range(low, high) if ends[k].s_mm[1] >= s0)

    @cached_property
    def _end_s(self) -> Mapping[RailSide, Sequence[float]]:
        return {side: [e.s_mm[0] for e in ends] for side, ends in self.ends.items()}

    @cached_property
    def _longest_end(self) -> Mapping[RailSide, float]:
        return {side: max((e.s_mm[1] - e.s_mm[0] for e in ends), default=0.0) for side, ends in self.ends.items()}
