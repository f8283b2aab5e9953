"""What a picture of a survey marks besides the points: what is out and the worst of it, damage, the shape as it was before."""

from __future__ import annotations

from collections.abc import Iterator, Sequence
from typing import TYPE_CHECKING

from generator.draw.sheet import Box, Sheet
from generator.survey.unknown import BY_HEIGHT
from generator.survey.words import most_twisted, worst
from parts.outline import Point

if TYPE_CHECKING:
    from generator.survey.measures import Measure
    from generator.survey.stage import Survey

OUT_MM = 1.8  #: half a side of the square round a point of what is out
LEAST_MM = 1.6  #: half of what damage takes on paper at least, each way
OWN_POINTS = {"sag": 1, "side bow": 1, "twist": 2, "sway": 2}  #: word -> how many of its points, the last ones, it is said of


def shown_out(survey: Survey) -> list[Measure]:
    """What is out, and every twist that is seen, whether or not there is a limit for it."""
    return [m for m in survey.measures if m.judged and m.value_mm is not None and _is_out(m)]


def _is_out(measure: Measure) -> bool:
    return (measure.status == "out" and measure.word != "thickness left") or (measure.word == "twist" and measure.is_seen)


def out_points(survey: Survey, *, upright: bool) -> frozenset[str]:
    """The points of it that a picture can show: heights from the side, all else from above."""
    own = [m for m in shown_out(survey) if (m.word in BY_HEIGHT) == upright]
    return frozenset(key for m in own for key in m.points[-OWN_POINTS.get(m.word, len(m.points)) :])


def out_elsewhere(survey: Survey, *, upright: bool) -> Iterator[str]:
    """What is out and shows in the other picture alone."""
    words = dict.fromkeys(m.word for m in shown_out(survey) if (m.word in BY_HEIGHT) != upright)
    if words:
        yield f"Out or twisted, as seen from {'above' if upright else 'the side'}: {', '.join(words)}."


def worst_told(survey: Survey) -> str:
    """The number that is out by the most of its limit; where nothing is out, the largest twist that is seen; else nothing."""
    own = shown_out(survey)
    out = [m for m in own if m.status == "out"]
    most = worst(out) if out else most_twisted(own) if own else None
    if most is None or most.off_mm is None:
        return ""
    limit = f"limit {most.limit_mm:g} mm" if most.limit_mm is not None else "no limit is known"
    by = f" +/- {most.uncertainty_mm:.1f} mm" if most.uncertainty_mm is not None else ""
    return f"Worst: {most.word}, {most.where}: off by {most.off_mm:+.1f} mm{by}; {limit}."


def out_mark(sheet: Sheet, at: Point) -> None:
    x, y = at
    corners = [(x - OUT_MM, y - OUT_MM), (x + OUT_MM, y - OUT_MM), (x + OUT_MM, y + OUT_MM), (x - OUT_MM, y + OUT_MM)]
    sheet.line(corners, 0.35, closed=True)
    sheet.take(corners, 0.5)


def damage_mark(sheet: Sheet, a: Point, b: Point) -> Point:
    """Hatched both ways between two corners, large enough to be seen; returns its middle."""
    box = damage_box(a, b)
    sheet.hatched(box)
    for y in (box[1], (box[1] + box[3]) / 2, box[3]):
        sheet.take_line((box[0], y), (box[2], y), 0.5)
    return (box[0] + box[2]) / 2, (box[1] + box[3]) / 2


def damage_box(a: Point, b: Point) -> Box:
    (x0, x1), (y0, y1) = (_stretched((a[i], b[i])) for i in (0, 1))
    return x0, y0, x1, y1


def _stretched(ends: Sequence[float]) -> tuple[float, float]:
    middle, half = sum(ends) / 2, max(LEAST_MM, abs(ends[1] - ends[0]) / 2)
    return middle - half, middle + half
