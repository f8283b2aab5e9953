"""Names that the new frame lacks: what may stand in their stead there, nearest first.

Two frames are laid beside each other at the stations that both have: a place is looked for at the same tape length from the nearest of
these, on a frame that shares none at the same tape length from the front end.
"""

from __future__ import annotations

import itertools
from collections.abc import Iterator, Sequence
from dataclasses import dataclass
from typing import Any

from generator.adapt.fields import DROPPED, Edits, Path, Spot, spots
from generator.adapt.lanes import GRID
from parts.families.family import Family
from parts.frame.frame import Frame
from parts.frame.names import nearest_names
from parts.frame.section import RailSide
from parts.spec import Position
from parts.units import Units

SAME_PLACE_MM = 25.0  #: two features of one kind this near each other are taken for the same: builder's choice
SAME_CROSSMEMBER_MM = 400.0  #: a crossmember is one of few: the nearest this near stands in
BOTH: tuple[RailSide, ...] = ("left", "right")
MOST_MIXES = 24


@dataclass(frozen=True, kw_only=True)
class Stead:
    """What may be put for one missing name, and why."""

    edits: Edits
    why: str


@dataclass(frozen=True, kw_only=True)
class Missing:
    """A name that the new frame lacks, and what may stand in its stead, best first; nothing where only another part would do."""

    spot: Spot
    name: str
    what: str  #: "hole", "crossmember", "place"
    steads: tuple[Stead, ...]


class Names:
    """Two frames, the job's own and the other, laid beside each other."""

    def __init__(self, own: Frame, other: Frame, units: Units) -> None:
        self.own, self.other, self.units = own, other, units

    def missing(self, part: Family) -> tuple[Missing, ...]:
        """Every name in the part that its own frame has and the other lacks."""
        sides = tuple(getattr(part, "sides", ())) or BOTH
        found = list(self._missing(part, sides))
        inside = [m for m in found if not any(o is not m and _holds(o, m) for o in found)]
        return tuple(inside)

    def _missing(self, part: Family, sides: Sequence[RailSide]) -> Iterator[Missing]:
        for spot in spots(part):
            if isinstance(spot.value, Position) and spot.value.at is not None:
                name = spot.value.at
                if self._has_place(self.own, name, sides) and not self._has_place(self.other, name, sides):
                    yield Missing(spot=spot, name=name, what="place", steads=tuple(self._places(spot, spot.value, name, sides)))
            elif spot.keys == ("stem",) and isinstance(spot.value, str):
                yield from self._stem(spot, spot.value, sides)
            elif spot.spec.kind in ("name", "text") and isinstance(spot.value, str) and spot.key not in ("id", "name", "grade"):
                yield from self._named(spot, spot.value, sides)
            elif spot.spec.kind == "names":
                for i, name in enumerate(spot.value):
                    one = Spot(path=(*spot.path, i), keys=(*spot.keys, i), spec=spot.spec, value=name, entry=spot.entry)
                    yield from self._named(one, name, sides)

    @staticmethod
    def _has_place(frame: Frame, name: str, sides: Sequence[RailSide]) -> bool:
        return all(name in frame.rail(side).places for side in sides)

    def _named(self, spot: Spot, name: str, sides: Sequence[RailSide]) -> Iterator[Missing]:
        """A hole, crossmember, mount or pipe by its name."""
        for what in ("hole", "crossmember", "body mount", "pipe", "bracket"):
            if _has(self.own, what, name, sides):
                if not _has(self.other, what, name, sides):
                    yield Missing(spot=spot, name=name, what=what, steads=tuple(self._instead(spot, what, name, sides)))
                return

    def _instead(self, spot: Spot, what: str, name: str, sides: Sequence[RailSide]) -> Iterator[Stead]:
        known = [n for n in _names(self.other, what) if _has(self.other, what, n, sides) and not _has(self.own, what, n, sides)]
        reach = SAME_CROSSMEMBER_MM if what == "crossmember" else SAME_PLACE_MM
        near = sorted((off, n) for n in known if (off := self._off(name, n, sides)) is not None and off <= reach)
        for off, other in near[:2]:
            yield Stead(edits=self._put(spot, other), why=f"no {what} {name} there; {other} is where it was, to {off:.0f} mm")
        for other in nearest_names(name, [n for n in known if n not in {n for _, n in near}]):
            if self._off(name, other, sides) is None:
                yield Stead(edits=self._put(spot, other), why=f"no {what} {name} there; {other} is the most like it in name")
        others = [n for n in _names(self.other, what) if _has(self.other, what, n, sides)]
        far = sorted((off, n) for n in others if (off := self._off(name, n, sides)) is not None)
        word = f"; the nearest there is {far[0][1]}, {far[0][0]:.0f} mm off" if far else ""
        if (path := _can_go(spot)) is not None:
            yield Stead(edits={path: DROPPED}, why=f"no {what} {name} there{word}")

    @staticmethod
    def _put(spot: Spot, value: Any) -> Edits:
        return {spot.path: value}

    def _stem(self, spot: Spot, stem: str, sides: Sequence[RailSide]) -> Iterator[Missing]:
        """Holes by the beginning of their names."""
        mine = [n for n in _names(self.own, "hole") if n.startswith(stem) and _has(self.own, "hole", n, sides)]
        if not mine or any(n.startswith(stem) for n in _names(self.other, "hole")):
            return
        free = [n for n in _names(self.other, "hole") if _has(self.other, "hole", n, sides)]
        chosen: list[str] = []
        for name in mine:
            near = sorted((off, n) for n in free if n not in chosen and (off := self._off(name, n, sides)) is not None)
            if near and near[0][0] <= SAME_PLACE_MM:
                chosen.append(near[0][1])
        whole = len(chosen) == len(mine)
        edits: Edits = {spot.path: DROPPED, ("holes",): tuple(chosen)}
        why = f"no hole there begins with {stem}; these lie where {', '.join(mine)} should"
        yield Missing(spot=spot, name=stem, what="hole", steads=(Stead(edits=edits, why=why),) if whole else ())

    def _places(self, spot: Spot, value: Position, name: str, sides: Sequence[RailSide]) -> Iterator[Stead]:
        """Another name for the place: a feature of the same kind that lies there, then a tape length from a station of both frames."""
        for what in ("hole", "crossmember", "body mount", "bracket"):
            if _has(self.own, what, name, sides):
                known = [n for n in _names(self.other, what) if self._has_place(self.other, n, sides)]
                reach = SAME_CROSSMEMBER_MM if what == "crossmember" else SAME_PLACE_MM
                new = [n for n in known if not _has(self.own, what, n, sides)]
                near = sorted((off, n) for n in new if (off := self._off(name, n, sides)) is not None)
                if near and near[0][0] <= reach:
                    off, other = near[0]
                    why = f"no {what} {name} there; {other} is where it was, to {off:.0f} mm"
                    yield Stead(edits={spot.path: Position(at=other, offset_mm=value.offset_mm)}, why=why)
        for station, offset in self._from_stations(name, sides):
            place = Position(at=station, offset_mm=self._on_grid(offset + value.offset_mm))
            there = self._nearest_place(station, offset, sides)
            why = f"no place {name} there; it lies {abs(offset):.1f} mm {'behind' if offset >= 0 else 'before'} {station}{there}"
            yield Stead(edits={spot.path: place}, why=why)

    def _on_grid(self, length_mm: float) -> float:
        grid = GRID[self.units]
        return float(round(length_mm / float(grid)) * grid)

    def _from_stations(self, name: str, sides: Sequence[RailSide]) -> Iterator[tuple[str, float]]:
        """(station of both frames, tape length from it on the own frame), the nearest first."""
        tapes = {s: self._apart(s, name, sides) for s in self._stations(sides)}
        for station in sorted(tapes, key=lambda s: abs(tapes[s]))[:2]:
            yield station, tapes[station]
        if not tapes:
            front = self.own.rail(sides[0]).station_names[0]
            yield self.other.rail(sides[0]).station_names[0], self._apart(front, name, sides)

    def _stations(self, sides: Sequence[RailSide]) -> list[str]:
        rails = [f.rail(side) for f in (self.own, self.other) for side in sides]
        return [n for n in rails[0].station_names if all(n in r.station_names for r in rails)]

    def _apart(self, station: str, name: str, sides: Sequence[RailSide]) -> float:
        """Tape length on the own frame from a station back to a place; where the rails differ, the mean."""
        return sum(self.own.rail(s).places[name] - self.own.rail(s).places[station] for s in sides) / len(sides)

    def _nearest_place(self, station: str, offset: float, sides: Sequence[RailSide]) -> str:
        rail = self.other.rail(sides[0])
        at = rail.places[station] + offset
        off, near = min((abs(tape - at), n) for n, tape in rail.places.items())
        return f"; the nearest name there is {near}, {off:.0f} mm off" if near != station else ""

    def _off(self, own: str, other: str, sides: Sequence[RailSide]) -> float | None:
        """How far the feature `other` of the other frame lies, on the tape and up, from where `own` should; None: cannot be told."""
        rails = [(s, self.own.rail(s), self.other.rail(s)) for s in sides]
        if any(own not in a.places or other not in b.places for _, a, b in rails):
            return None
        station, offset = next(iter(self._from_stations(own, sides)))
        worst = 0.0
        for side, _, rail in rails:
            along = rail.places[other] - rail.places[station] - offset
            up = 0.0
            if _has(self.own, "hole", own, (side,)) and _has(self.other, "hole", other, (side,)):
                a, b = self.own.hole(own, side), self.other.hole(other, side)
                if a.drawn.face != b.drawn.face:
                    return None
                up = b.place.up_mm - a.place.up_mm
            worst = max(worst, (along**2 + up**2) ** 0.5)
        return worst


def mixes(missing: Sequence[Missing]) -> Iterator[tuple[Edits, dict[Path, str]]]:
    """Ways to fill in all missing names at once, the best of each first: the changes, and why by place."""
    rows = [m.steads for m in missing if m.steads]
    ranked = sorted(itertools.product(*(range(len(r)) for r in rows)), key=lambda c: (sum(c), c))
    for choice in ranked[:MOST_MIXES]:
        edits: dict[Path, Any] = {}
        why: dict[Path, str] = {}
        for row, n in zip(rows, choice, strict=True):
            edits |= row[n].edits
            why |= {p: row[n].why for p in row[n].edits}
        yield edits, why


def _holds(outer: Missing, inner: Missing) -> bool:
    """Whether what is put for one, an entry left out, takes the other with it."""
    gone = outer.steads[-1].edits if outer.steads else {}
    only = len(outer.steads) == 1
    return only and any(v is DROPPED and inner.spot.path[: len(p)] == p and inner.spot.path != p for p, v in gone.items())


def _can_go(spot: Spot) -> Path | None:
    """What is left out with a name: its place in a list, the entry that it makes, or a key that need not be there."""
    if isinstance(spot.path[-1], int):
        return spot.path
    if len(spot.path) >= 3 and isinstance(spot.path[-2], int):
        return spot.path[:-1]
    return None if spot.spec.required else spot.path


def _names(frame: Frame, what: str) -> list[str]:
    rows: dict[str, Sequence[Any]] = {
        "hole": frame.holes, "crossmember": frame.crossmembers, "body mount": frame.body_mounts, "bracket": frame.brackets,
        "pipe": [k for k in frame.keep_out if k.shape == "path"],
    }  # fmt: skip
    return list(dict.fromkeys(one.name for one in rows[what]))


def _has(frame: Frame, what: str, name: str, sides: Sequence[RailSide]) -> bool:
    if name not in _names(frame, what):
        return False
    rows: dict[str, Sequence[Any]] = {"hole": frame.holes, "body mount": frame.body_mounts, "bracket": frame.brackets}
    there = {side for one in rows.get(what, ()) if one.name == name for side in one.sides}
    return what not in rows or set(sides) <= there
