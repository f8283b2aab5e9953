"""Where a changed part is tried: built on the frame with the parts before it, laid flat, judged; what was tried once is not built again."""

from __future__ import annotations

import re
from collections.abc import Callable, Sequence
from dataclasses import dataclass, field
from typing import TYPE_CHECKING

from generator.adapt.fields import Edits, changed
from parts.errors import BadInput, Fault, Finding
from parts.flat import Flat, unfold
from parts.pockets import pocketed

if TYPE_CHECKING:
    from parts.families.family import Family
    from parts.frame.frame import Frame
    from parts.piece import Piece
    from parts.shop import Shop

#: What the shop's rules say of pieces, the last ones being those that are asked about.
Judge = Callable[[Sequence["Piece"], Sequence[Flat], "Frame"], tuple[Finding, ...]]
SIDES = re.compile(r"\b(?:left|right)\b")
NUMBERS = re.compile(r"-?\d+(?:\.\d+)?")


@dataclass(frozen=True, kw_only=True, eq=False)
class Trial:
    """A part as it came out on a frame: pieces with their flat patterns, or the faults that stand in the way."""

    part: Family
    pieces: tuple[Piece, ...] = ()
    flats: tuple[Flat, ...] = ()
    faults: tuple[Fault, ...] = ()
    stops: tuple[Finding, ...] = ()  #: findings of level stop, of its own and of the shop's rules
    refused: bool = False  #: its parameters break a rule of their own, whatever the frame

    @property
    def fits(self) -> bool:
        return not self.faults

    @property
    def fault_keys(self) -> frozenset[tuple[str, str]]:
        """What is wrong, without numbers and sides: whether a change cures a fault is told by these."""
        return frozenset(fault_key(f) for f in self.faults)

    @property
    def stop_keys(self) -> frozenset[tuple[str, str]]:
        return frozenset(stop_key(f) for f in self.stops)


def fault_key(fault: Fault) -> tuple[str, str]:
    """One fault's key and rule, without numbers and sides."""
    return fault.field, NUMBERS.sub("#", SIDES.sub("*", fault.limit))


def stop_key(finding: Finding) -> tuple[str, str]:
    """One stop's code and place, without numbers."""
    return finding.code, NUMBERS.sub("#", finding.where)


@dataclass(kw_only=True, eq=False)
class Bench:
    """One frame with the parts built so far."""

    frame: Frame
    shop: Shop
    judge: Judge
    pieces: tuple[Piece, ...] = ()
    flats: tuple[Flat, ...] = ()
    failed: set[str] = field(default_factory=set)  #: ids of parts that could not be built
    builds: int = 0

    def build(self, part: Family) -> Trial:
        """The part on this frame; nothing is kept of it."""
        self.builds += 1
        try:
            own = part.build(self.frame, self.shop)
            whole = pocketed([*self.pieces, *own])[len(self.pieces) :]
            flats = tuple(unfold(p.part, self.shop.bend_rule()).at_its_corner() for p in whole)
        except BadInput as error:
            return Trial(part=part, faults=tuple(dict.fromkeys(f.inside(f"part {part.id}") for f in error.faults)))
        pieces = tuple(whole)
        ids = {p.id for p in pieces}
        ruled = self.judge((*self.pieces, *pieces), (*self.flats, *flats), self.frame)
        mine = (*(f for p in pieces for f in p.findings), *(f for f in ruled if _about(f, part.id, ids)))
        return Trial(part=part, pieces=pieces, flats=flats, stops=tuple(dict.fromkeys(f for f in mine if f.level == "stop")))

    def keep(self, trial: Trial) -> None:
        """Let later parts stand on this one."""
        if not trial.fits:
            self.failed.add(trial.part.id)
            return
        part = trial.part
        self.frame = self.frame.with_faces(part.faces(self.frame, self.shop)).with_built(part.id, trial.pieces)
        self.pieces += trial.pieces
        self.flats += trial.flats


def _about(finding: Finding, part: str, pieces: set[str]) -> bool:
    where = finding.where
    return where == part or where.startswith(f"{part} ") or where in pieces


@dataclass(kw_only=True, eq=False)
class Trials:
    """Trials of one part with changes, each made once, up to a number of builds."""

    bench: Bench
    part: Family
    most: int
    done: dict[frozenset[tuple[object, ...]], Trial] = field(default_factory=dict)

    @property
    def spent(self) -> bool:
        return len(self.done) >= self.most

    def of(self, edits: Edits) -> Trial:
        """The part with these changes made.

        Raises:
            OutOfTrials: the number of builds is used up.
        """
        key = frozenset((p, repr(v)) for p, v in edits.items())
        if key not in self.done:
            if self.spent:
                raise OutOfTrials
            try:
                part = changed(self.part, edits)
            except BadInput as error:
                faults = tuple(f.inside(f"part {self.part.id}") for f in error.faults)
                self.done[key] = Trial(part=self.part, faults=faults, refused=True)
            else:
                self.done[key] = self.bench.build(part)
        return self.done[key]


class OutOfTrials(Exception):
    """As many builds were tried as are tried for one part."""
