"""A survey from another line than the drawing's is no bent frame, and is said to be one."""

from __future__ import annotations

import pytest

from generator.survey.stage import survey
from tests.generator.survey import ladder
from tests.generator.survey.ladder import full, shape, taken


def codes(off: tuple[float, float, float]) -> dict[str, str]:
    moved = {key: off for key in shape()}
    along = [("along", key, None) for key in ("A-left", "A-right")]
    frame = ladder.ladder(taken(shape(moved), [*full(), *along]))
    return {f.code: f.message for f in survey(frame).findings if f.code.startswith("frame-off-datum")}


@pytest.mark.parametrize(
    ("off", "code", "words"),
    [
        ((0.0, 0.0, 300.0), "frame-off-datum-z", "300 mm up"), ((0.0, 0.0, -26.0), "frame-off-datum-z", "26 mm down"),
        ((0.0, 40.0, 0.0), "frame-off-datum-y", "40 mm to the right"), ((-50.0, 0.0, 0.0), "frame-off-datum-x", "50 mm forward"),
    ],
)  # fmt: skip
def test_all_points_off_alike_are_told(off: tuple[float, float, float], code: str, words: str) -> None:
    found = codes(off)
    assert list(found) == [code] and words in found[code]


def test_what_a_frame_may_bend_is_not() -> None:
    assert codes((10.0, -10.0, 20.0)) == {}
