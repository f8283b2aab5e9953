"""Joints that are looked for, where a piece of a plate is larger than every sheet: as few as will do, each at the quietest free place."""

from __future__ import annotations

from collections.abc import Callable, Sequence
from dataclasses import dataclass
from functools import cached_property
from itertools import pairwise

from parts.blank import held_by, sizes
from parts.errors import BadInput
from parts.features.draft import Draft
from parts.features.fold import fold
from parts.features.split_line import SplitLine, between
from parts.features.split_room import Grounds
from parts.flat import unfold
from parts.outline import Contour
from parts.shop import Sheet

STEP_MM = 5.0  #: of the tape between places that are looked at
CLEAR_MM = 25.0  #: from a joint to everything that it keeps clear of. Builder's choice: no number found
MOST_JOINTS = 20


def clear_of_all(grounds: Grounds, line: SplitLine) -> bool:
    return all(near.mm >= CLEAR_MM for near in grounds.near(line))


@dataclass(frozen=True, kw_only=True)
class Search:
    """Places for joints on one stretch of plate between `front` and `rear` (None: its own ends)."""

    grounds: Grounds
    sheets: tuple[Sheet, ...]
    front: SplitLine | None
    rear: SplitLine | None
    clear_mm: float = CLEAR_MM  #: from a joint to every other
    free: Callable[[Grounds, SplitLine], bool] = clear_of_all
    as_given: bool = False  #: as near to the ends as a given joint may lie, and in whole millimetres from a station, to be told

    @property
    def draft(self) -> Draft:
        return self.grounds.draft

    def blank(self, front: SplitLine | None, rear: SplitLine | None) -> Contour | None:
        """The flat pattern's outline; None where the shop's bend rule gives none.

        Raises:
            ValueError: the lines leave no piece, or several.
        """
        setting = self.draft.setting
        piece = between(self.draft, front, rear)
        try:
            part, _ = fold(piece, setting.plate.id)
            return unfold(part, setting.shop.bend_rule()).contour
        except BadInput:
            return None

    def fits(self, front: SplitLine | None, rear: SplitLine | None) -> bool:
        """Whether a sheet holds what lies between; also where no bend rule says how large that is, which is refused elsewhere."""
        try:
            blank = self.blank(front, rear)
        except ValueError:
            return False
        return blank is None or held_by(blank, self.sheets)

    def clear(self, one: SplitLine | None, two: SplitLine | None) -> bool:
        """Whether two joints keep off each other over their whole length; those on two panels each keep off the bend between."""
        return one is None or two is None or one.index != two.index or one.off_mm(two) >= self.clear_mm - 1e-9

    @property
    def size(self) -> tuple[float, float]:
        """Raises ValueError: the lines leave no piece, or several."""
        blank = self.blank(self.front, self.rear)
        return next(sizes(blank)) if blank is not None else (0.0, 0.0)

    @cached_property
    def places(self) -> Sequence[SplitLine]:
        """Every place that is free, front to rear: clear of all, and a rail's depth from the stretch's ends."""
        setting = self.draft.setting
        profile, angle = setting.rail.profile, setting.plate.split_angle_deg
        first = profile.tape(self.draft.s0_mm) if self.front is None else self.front.tape_mm
        last = profile.tape(self.draft.s1_mm) if self.rear is None else self.rear.tape_mm
        out: list[SplitLine] = []
        for k in range(1, int((last - first) // STEP_MM) + 1):
            tape = first + k * STEP_MM
            if self.as_given:
                _, along = setting.rail.laid_off(tape)
                tape += round(along) - along
            elif min(tape - first, last - tape) < profile.depth_at_tape(tape):
                continue
            line = self.grounds.line(tape, angle, proposed=True)
            if not isinstance(line, SplitLine) or not self.free(self.grounds, line):
                continue
            if self.clear(self.front, line) and self.clear(line, self.rear):
                out.append(line)
        return out

    def joints(self, apart_from: Sequence[float], apart_mm: float | None) -> Sequence[SplitLine] | None:
        """As few as will do; None where there is no place for them.

        Args:
            apart_from: tape lengths of the other rail's joints, as they lie on this one.
            apart_mm: from them; None: the rail's depth.
        """
        furthest = self._greedy()
        if furthest is None:
            return None
        nearest = self._greedy(backwards=True)
        if nearest is None or len(nearest) != len(furthest):
            return [self.places[i] for i in furthest]
        out: list[SplitLine] = []
        before = self.front
        for low in reversed(nearest):
            high = self._furthest_from(before)
            window = [line for line in self.places[low : (high if high is not None else low) + 1] if self.clear(before, line)]
            if not window:
                return [self.places[i] for i in furthest]
            before = min(window, key=lambda line: self._badness(line, apart_from, apart_mm))
            out.append(before)
        if all(self.fits(a, b) for a, b in pairwise((self.front, *out, self.rear))):
            return out
        return [self.places[i] for i in furthest]

    def _badness(self, line: SplitLine, apart_from: Sequence[float], apart_mm: float | None) -> tuple[float, float, float]:
        """First by what is missing to the stagger, then by how far off the quiet place it is."""
        least = abs(apart_mm) if apart_mm is not None else self.draft.setting.rail.profile.depth_at_tape(line.tape_mm)
        missing = max((least - abs(line.tape_mm - other) for other in apart_from), default=0.0)
        return max(round(missing, 6), 0.0), round(self.grounds.off_quiet_mm(line), 3), line.tape_mm

    def _greedy(self, *, backwards: bool = False) -> Sequence[int] | None:
        """Numbers of the places that come of going as far as a sheet reaches each time; from the front, or from the rear."""
        out: list[int] = []
        end: SplitLine | None = self.rear if backwards else self.front
        while not (self.fits(self.front, end) if backwards else self.fits(end, self.rear)):
            index = self._nearest_to(end) if backwards else self._furthest_from(end)
            if index is None or index in out or len(out) >= MOST_JOINTS:
                return None
            out.append(index)
            end = self.places[index]
        return out

    def _furthest_from(self, front: SplitLine | None) -> int | None:
        """The last place up to which a piece from `front` fits."""
        low, high = -1, len(self.places)  # low fits (or is none), high does not
        while high - low > 1:
            middle = (low + high) // 2
            line = self.places[middle]
            behind = front is not None and (line.tape_mm <= front.tape_mm or not self.clear(front, line))
            low, high = (middle, high) if behind or self.fits(front, line) else (low, middle)
        if low < 0 or (front is not None and self.places[low].tape_mm <= front.tape_mm):
            return None
        return low if self.clear(front, self.places[low]) else None

    def _nearest_to(self, rear: SplitLine | None) -> int | None:
        """The first place from which a piece to `rear` fits."""
        low, high = -1, len(self.places)  # high fits (or is none), low does not
        while high - low > 1:
            middle = (low + high) // 2
            line = self.places[middle]
            past = rear is not None and (line.tape_mm >= rear.tape_mm or not self.clear(line, rear))
            low, high = (low, middle) if past or self.fits(line, rear) else (middle, high)
        if high == len(self.places) or (rear is not None and self.places[high].tape_mm >= rear.tape_mm):
            return None
        return high if self.clear(self.places[high], rear) else None
