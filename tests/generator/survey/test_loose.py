"""A number that hangs on what nobody measured: not told where it hangs on it much, told with the drawing's own error where little."""

from __future__ import annotations

import math
from dataclasses import replace
from typing import Literal

import pytest

from generator.survey.measures import Measure
from generator.survey.stage import survey
from parts.frame.measured import ControlPoint, Reading
from tests.generator.survey.ladder import full, ladder, shape, taken
from tests.parts.frame.makers import frame

KINDS: tuple[tuple[Literal["offset", "height"], int], ...] = (("offset", 1), ("height", 2))


def skew_width(by_mm: float, accuracy_mm: float) -> Measure:
    """A pair drawn 860 apart, its right point `by_mm` further back; its offsets are read, how far along it lies is not."""
    points = (ControlPoint(name="A-left", side="left", x_mm=100.0), ControlPoint(name="A-right", side="right", x_mm=100.0 + by_mm))
    drawn = frame(control_points=points).control_coordinates
    readings = tuple(
        Reading(name=f"{kind}-{key}", kind=kind, start=key, value_mm=drawn[key][axis], accuracy_mm=accuracy_mm)
        for key in drawn
        for kind, axis in KINDS
    )
    (width,) = [m for m in survey(frame(control_points=points, readings=readings)).measures if m.word == "width"]
    return width


def test_what_hangs_on_an_unmeasured_place_by_a_sixth_is_not_told() -> None:
    """100 back over 860: each mm along changes the width by 100 / 865.8 = 0.1155 mm at either end, 0.163 for both. A twentieth is the
    most."""
    width = skew_width(100.0, 0.2)
    assert width.value_mm is None and width.status == "cannot tell"


def test_what_hangs_on_it_a_little_is_told_with_the_drawing_s_error() -> None:
    """20 back over 860: 20 / 860.23 sqrt 2 = 0.0329; of 10 mm that the drawing may be off (sigma), 0.329 mm. The offsets: 0.1 sqrt 2 x
    0.9997 = 0.1414. Together 0.358."""
    width = skew_width(20.0, 0.2)
    assert width.value_mm == pytest.approx(math.hypot(860.0, 20.0), abs=0.01)
    assert width.sigma_mm == pytest.approx(0.358, abs=0.001)


@pytest.mark.parametrize(("accuracy", "told"), [(34.0, True), (37.0, False)])
def test_what_is_known_no_better_than_an_inch_is_not_told(accuracy: float, told: bool) -> None:
    """Level from two heights of sigma a/2: a / sqrt 2, which is 25 mm at 35.4."""
    own = [replace(r, accuracy_mm=accuracy) if r.kind == "height" else r for r in taken(shape(), full())]
    (level,) = [m for m in survey(ladder(own)).measures if m.word == "level" and m.where == "A"]
    assert (level.value_mm is not None) == told
