"""What a rule is: who says it, what use it is written for, and the function that holds one piece against it."""

from __future__ import annotations

from collections.abc import Callable, Sequence
from dataclasses import dataclass
from functools import cached_property
from typing import Literal

from generator.rules.lie import Lying
from generator.rules.scene import Scene
from parts.errors import Finding, Level
from parts.flat import Flat
from parts.frame.frame import Frame
from parts.piece import Piece
from parts.shop import Shop

Bound = Literal["commercial", "hobby", "heat-treated"]
SLACK = 1e-9  # a limit is met at the limit, whatever the last bit of a sum says


@dataclass(frozen=True, kw_only=True)
class Source:
    """Who says a thing, and of which vehicles. `binds` empty: of every one."""

    text: str
    level: Level
    binds: tuple[Bound, ...] = ()

    def bound_by(self, frame: Frame) -> bool:
        """What is not known of a frame's heat treatment counts as yes: a rule that may bind is held."""
        answers = {
            "commercial": frame.use.commercial,
            "hobby": not frame.use.commercial,
            "heat-treated": frame.steel.heat_treated != "no",
        }
        return not self.binds or any(answers[use] for use in self.binds)

    def level_for(self, frame: Frame) -> Level:
        """A rule that is not written for this vehicle's use is a note, never more."""
        return self.level if self.bound_by(frame) else "note"

    def aside(self, frame: Frame) -> str:
        """What a message adds where the rule was written for another use."""
        return "" if self.bound_by(frame) else f" (written for {' or '.join(self.binds)} vehicles, which this one is not)"


@dataclass(frozen=True, kw_only=True)
class Subject:
    """One piece to be judged, with all that a rule may ask about it."""

    piece: Piece
    flat: Flat
    scene: Scene

    @property
    def frame(self) -> Frame:
        return self.scene.frame

    @property
    def shop(self) -> Shop:
        return self.scene.shop

    @property
    def thickness_mm(self) -> float:
        return self.piece.part.thickness_mm

    @cached_property
    def lyings(self) -> tuple[Lying, ...]:
        """The piece on its rail, once a placement; none for what goes between the rails."""
        return self.scene.lyings[self.piece.id]

    @property
    def place(self) -> str:
        return place_of(self.piece)

    def finding(
        self, code: str, source: Source, message: str, *, value: str = "", limit: str = "", remedy: str = "", level: Level | None = None
    ) -> Finding:
        """A finding of this piece at the level that its source has for this vehicle, unless another is given."""
        return Finding(
            code=code, level=level or source.level_for(self.frame), where=self.place, message=message + source.aside(self.frame),
            value=value, limit=limit, remedy=remedy, source=source.text,
        )  # fmt: skip

    def said(self, code: str, word: str = "") -> bool:
        """Whether the piece's own family has told this already; `word`: something that stands in its message or value."""
        return any(f.code == code and (word in f.message or word == f.value) for f in self.piece.findings)


Check = Callable[[Subject], Sequence[Finding] | None]


@dataclass(frozen=True, kw_only=True)
class Rule:
    """A rule as it is listed. `check` gives None where the rule has nothing to say of a piece: no bend, no hole, another use."""

    asks: str
    codes: tuple[str, ...]
    sources: tuple[Source, ...]
    check: Check


def place_of(piece: Piece) -> str:
    """The piece as findings name it: `boxing left`, `boxing left 2`."""
    stem, side, rest = piece.id.partition(f"-{piece.side}")
    return " ".join(p for p in (stem, side.lstrip("-"), rest.lstrip("-")) if p)


def part_on_side(piece: Piece) -> str:
    """The part that the piece is of, and its side: `boxing left` for all its pieces there."""
    stem, side, _ = piece.id.partition(f"-{piece.side}")
    return f"{stem} {side.lstrip('-')}".strip()
