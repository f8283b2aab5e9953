"""Rows of places along a plate on the web, laid off as with a tape along the rail and square to it."""

from __future__ import annotations

from dataclasses import dataclass
from typing import NamedTuple

from parts.features.draft import Draft, Setting
from parts.outline import Point


class Place(NamedTuple):
    """A place on the web: the tape along the upper corner, up from the lower outside face, and where that is unrolled."""

    tape_mm: float
    up_mm: float
    at: Point


@dataclass(frozen=True, kw_only=True)
class Rows:
    """Rows of openings along a plate."""

    setting: Setting
    tapes_mm: tuple[float, ...]

    @staticmethod
    def on(draft: Draft, *, pitch_mm: float, edge_mm: float) -> Rows:
        """Evenly spaced, in the middle of the plate, the outermost at least `edge_mm` from its ends; at least one."""
        profile = draft.setting.rail.profile
        first, last = profile.tape(draft.s0_mm), profile.tape(draft.s1_mm)
        count = max(1, int((last - first - 2 * edge_mm) // pitch_mm) + 1)
        start = (first + last - (count - 1) * pitch_mm) / 2
        return Rows(setting=draft.setting, tapes_mm=tuple(start + k * pitch_mm for k in range(count)))

    def span(self, tape_mm: float) -> tuple[float, float]:
        """(lowest, highest) up of the plate on the line square to the rail there."""
        plate, inset = self.setting.plate, self.setting.seat.inset_mm
        low, high = inset, self.setting.rail.profile.depth_at_tape(tape_mm) - inset
        if plate.height_mm is None:
            return low, high
        return (low, low + plate.height_mm) if plate.hang == "lower" else (high - plate.height_mm, high)

    def most_rows(self, asked: int, apart_mm: float) -> int:
        """How many rows of `asked` stand at least `apart_mm` from each other everywhere; at least one."""
        height = min(high - low for low, high in map(self.span, self.tapes_mm))
        return max(1, min(asked, int(height // apart_mm)))

    def row(self, part: float) -> list[Point]:
        """A row at `part` of the plate's height from its lower edge."""
        out = []
        for tape in self.tapes_mm:
            low, high = self.span(tape)
            out.append(self.place(tape, low + part * (high - low)).at)
        return out

    def place(self, tape_mm: float, up_mm: float) -> Place:
        return Place(tape_mm, up_mm, self.setting.rail.profile.web_point(tape_mm, up_mm))
