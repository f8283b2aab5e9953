"""Which points are handed on: those that can only move together with all others. Worked out by thought on small surveys."""

from __future__ import annotations

import pytest

from generator.survey.stage import survey
from tests.generator.survey.ladder import full, heights, ladder, offsets, plan_of, shape, taken

ALL = {f"{n}-{side}" for n in "ABCDE" for side in ("left", "right")}


def test_a_whole_survey_determines_every_point() -> None:
    moves = {"C-left": (1.0, 2.0, 3.0), "E-right": (-2.0, 1.0, -4.0)}
    truth = shape(moves)
    found = survey(ladder(taken(truth, full())))
    assert set(found.points) == ALL
    for key, (x, y, z) in truth.items():  # x is free as a whole: it lies by best fit to the drawing, (1 - 2) / 10 mm from the truth
        assert found.points[key] == pytest.approx((x + 0.1, y, z), abs=0.02)


def test_without_a_string_the_frame_may_shift_and_turn_as_one() -> None:
    found = survey(ladder(taken(shape(), [*plan_of("ABCDE"), *heights("ABCDE")])))
    assert set(found.points) == ALL


def test_a_point_without_a_height_is_left_out_and_the_others_stay() -> None:
    plan = [p for p in full() if p != ("height", "C-left", None)]
    assert set(survey(ladder(taken(shape(), plan))).points) == ALL - {"C-left"}


def test_a_point_nobody_read_is_left_out() -> None:
    found = survey(ladder(taken(shape(), full("ABCD"))))
    assert set(found.points) == ALL - {"E-left", "E-right"}


def test_heights_and_offsets_alone_leave_every_place_along_open() -> None:
    assert survey(ladder(taken(shape(), [*heights("ABCDE"), *offsets("ABCDE")]))).points == {}


def test_heights_alone_still_tell_twist_and_sag() -> None:
    """Widths and places along are the drawing's there: they change a twist of 14 mm by its 860 mm by next to nothing."""
    found = survey(ladder(taken(shape({"E-right": (0.0, 0.0, 14.0)}), heights("ABCDE"))))
    twist = {m.where: m for m in found.measures if m.word == "twist"}["E against A"]
    assert twist.value_mm == pytest.approx(14.0, abs=1e-6)
    assert twist.sigma_mm == pytest.approx(1.0, abs=0.05)
    assert all(m.status == "cannot tell" for m in found.measures if m.word in ("square", "diamond", "width", "length"))


def test_along_ties_the_place_along_to_the_datum() -> None:
    truth = {key: (x + 4.0, y, z) for key, (x, y, z) in shape().items()}
    found = survey(ladder(taken(truth, [*full(), ("along", "A-left", None), ("along", "A-right", None)])))
    assert found.points["E-right"] == pytest.approx(truth["E-right"], abs=0.02)
