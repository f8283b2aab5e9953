"""How large a frame is drawn, and how many times larger what is off: alike in both pictures where one scale serves both."""

from __future__ import annotations

import math
from collections.abc import Sequence
from dataclasses import dataclass
from typing import TYPE_CHECKING

from generator.draw.sheet import HIGH
from generator.survey.picture_rails import Lines, edges, outline
from generator.survey.picture_spots import Spot, plan_spots, side_spots
from parts.frame.placing import SIDES

if TYPE_CHECKING:
    from generator.survey.later import Later
    from generator.survey.stage import Survey

SCALES = (5, 10, 15, 20, 25, 30, 40, 50, 75, 100, 150, 200, 300, 500, 1000)
ENLARGED = (1, 2, 5, 10, 20, 50, 100, 200, 500)
TOP, LOW = 31.0, HIGH - 42.0  #: of the room for the frame, mm on paper
STRIP = (LOW - TOP) / 2  #: of each rail seen from the side
ROOM_ABOVE, ROOM_BESIDE = (246.0, 82.0), (246.0, STRIP - 32.0)
MOST_ABOVE, MOST_BESIDE = 17.0, 24.0  #: mm on paper that the largest deviation may take, with its ellipse
STILL_SERVES = 4.0  #: a scale under which a picture's deviations are so many times smaller than they might be does not serve it


@dataclass(frozen=True, kw_only=True)
class Scales:
    """The frame is drawn 1 : `frame`; what is off is `enlarged` times as large beside it."""

    frame: int
    enlarged: int
    other: int | None = None  #: how many times it is in the other picture, where that is not the same

    @property
    def off(self) -> float:
        """mm on paper for each mm off."""
        return self.enlarged / self.frame


def scales(spots: Sequence[Spot], long_mm: float, wide_mm: float, room: tuple[float, float], most: float = MOST_ABOVE) -> Scales:
    """Round ones: the frame as large as the room lets it, and the largest deviation with its ellipse no more than `most`."""
    frame = _frame(long_mm, wide_mm, room)
    return Scales(frame=frame, enlarged=_enlarged(spots, frame, most) or 1)


def both(survey: Survey, held: Later | None = None) -> tuple[Scales, Scales]:
    """Of the picture from above and of the one from the side."""
    rails = [survey.frame.rail(side) for side in SIDES]
    frame = max(_frame(*_extent([outline(r) for r in rails]), ROOM_ABOVE), _frame(*_extent([edges(r) for r in rails]), ROOM_BESIDE))
    over, along = plan_spots(survey, held), side_spots(survey, held)
    # Readings taken from another datum than the drawing's are off by more than there is paper: the frame is drawn smaller for them.
    frame = next((s for s in SCALES if s >= frame and _reach(over) / s <= MOST_ABOVE and _reach(along) / s <= MOST_BESIDE), SCALES[-1])
    above, beside = _enlarged(over, frame, MOST_ABOVE), _enlarged(along, frame, MOST_BESIDE)
    one = min((e for e in (above, beside) if e is not None), default=1)
    own = [e or one for e in (above, beside)]
    if max(own) <= STILL_SERVES * one:
        return Scales(frame=frame, enlarged=one), Scales(frame=frame, enlarged=one)
    return Scales(frame=frame, enlarged=own[0], other=own[1]), Scales(frame=frame, enlarged=own[1], other=own[0])


def _frame(long_mm: float, wide_mm: float, room: tuple[float, float]) -> int:
    return next((s for s in SCALES if long_mm / s <= room[0] and wide_mm / s <= room[1]), SCALES[-1])


def _extent(lines: Sequence[Lines]) -> tuple[float, float]:
    xs, ys = zip(*(p for own in lines for line in own for p in line), strict=True)
    return max(xs) - min(xs), max(ys) - min(ys)


def _reach(spots: Sequence[Spot]) -> float:
    """mm that the largest deviation takes, with its ellipse."""
    reach = [math.hypot(s.off[0] or 0.0, s.off[1] or 0.0) + (s.ellipse.long_mm if s.ellipse else s.bar_mm or 0.0) for s in spots]
    reach += [math.hypot(*s.was) for s in spots if s.was is not None]
    return max(reach, default=0.0)


def _enlarged(spots: Sequence[Spot], frame: int, most: float) -> int | None:
    """None where nothing is off, or known to be."""
    largest = _reach(spots)
    if largest <= 0.0:
        return None
    return max((e for e in ENLARGED if e * largest / frame <= most), default=1)
