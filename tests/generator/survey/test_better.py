"""Which reading, taken once more, would make a verdict: by the standard deviation of a mean, sigma / sqrt n."""

from __future__ import annotations

from dataclasses import replace

import pytest

from generator.survey.stage import Survey, survey
from parts.frame.measured import Reading
from parts.sheet import Vec3
from tests.generator.survey.ladder import full, ladder, shape, taken

UP_1: dict[str, Vec3] = {"A-right": (0.0, 0.0, 1.0)}


def readings(moves: dict[str, Vec3], accuracy: float) -> list[Reading]:
    return [replace(r, accuracy_mm=accuracy) if r.kind == "height" else r for r in taken(shape(moves), full())]


def line(found: Survey, lead: str) -> str:
    (own,) = [text for text in found.better if text.startswith(lead)]
    return own


def level_at_a(found: Survey) -> tuple[str, float]:
    (own,) = [m for m in found.measures if m.word == "level" and m.where == "A"]
    assert own.uncertainty_mm is not None
    return own.status, own.uncertainty_mm


def test_the_heights_to_be_read_again_are_named_and_what_they_promise_comes_true() -> None:
    """A leans 1 mm by heights of sigma 1: +/- 1.96 sqrt 2 = 2.77, and 1 + 2.77 is past 3 mm. Each of them twice: sigma 1 / sqrt 2 each,
    +/- 1.96, and 1 + 1.96 is not."""
    own = readings(UP_1, 2.0)
    found = survey(ladder(own))
    status, by = level_at_a(found)
    assert status == "cannot tell" and by == pytest.approx(2.772, abs=0.01)
    told = line(found, "Level, A: +1.0 mm give or take 2.8 mm, limit 3 mm.")
    assert "Take once more: the height of A-left, the height of A-right; +/- 2.0 mm then, and in if the number stays" in told
    again = [replace(r, name=f"{r.name}-2") for r in own if r.kind == "height" and r.start in ("A-left", "A-right")]
    status, by = level_at_a(survey(ladder([*own, *again])))
    assert status == "in" and by == pytest.approx(1.960, abs=0.01)
    assert any(told in note for s in found.sections for note in s.notes)


def test_one_more_height_is_asked_for_where_one_is_enough() -> None:
    """Sigma 0.8: +/- 1.96 x 0.8 x sqrt 2 = 2.22, past 2 mm; one of them twice: 0.8 sqrt 1.5, +/- 1.92."""
    told = line(survey(ladder(readings(UP_1, 1.6))), "Level, A")
    assert "the height of A-left;" in told and "A-right" not in told
    assert "+/- 1.9 mm then" in told


def test_what_no_reading_like_these_settles_says_so_and_asks_for_none() -> None:
    """Sigma 10: each of two heights three times is +/- 1.96 x 10 x sqrt(2/3) = 16.0, far past 3 mm."""
    told = line(survey(ladder(readings(UP_1, 20.0))), "Level, A")
    assert "Take once more" not in told
    assert "with 4 more it would be +/- 16.0 mm. Read by a finer way." in told


def test_a_reading_that_was_not_taken_is_asked_for_where_it_gives_the_number_itself() -> None:
    """A length of four bays, each read to 2.8 mm (sigma 1.4): about 1.96 x 1.4 x 2 = 5.5 mm, past 3 mm. One tape over all, by itself, is
    1.96 x 1.4 = 2.74 mm, and with the bays less."""
    overall = ("A-left", "E-left")
    own = [replace(r, accuracy_mm=2.8) if r.kind == "distance" else r for r in taken(shape(), full()) if not ends_at(r, "A", "E")]
    told = line(survey(ladder(own)), "Length, left rail, A to E")
    assert f"Take once more: the tape from {overall[0]} to {overall[1]};" in told and "and in if the number stays" in told


def ends_at(one: Reading, first: str, last: str) -> bool:
    return one.end is not None and one.start.startswith(first) and one.end.startswith(last)


def test_where_everything_can_be_told_nothing_is_asked_for() -> None:
    assert survey(ladder(readings({}, 1.0))).better == ()
