"""Every measure on hand-made shapes: the drawn frame with one thing moved by hand, so that number and sign are known without arithmetic."""

from __future__ import annotations

import pytest

from generator.survey.measures import NORMAL_95, Measure, status_of
from generator.survey.stage import survey
from parts.frame.measured import ControlPoint
from parts.sheet import Vec3
from tests.generator.survey.ladder import full, heights, ladder, plan_of, shape, taken
from tests.parts.frame.makers import frame, kicked

RIGHT = [f"{n}-right" for n in "ABCDE"]


def measured(moves: dict[str, Vec3]) -> dict[tuple[str, str], Measure]:
    """Read without noise: what comes out is the shape."""
    return {(m.word, m.where): m for m in survey(ladder(taken(shape(moves), full()))).measures}


def off(moves: dict[str, Vec3], word: str, where: str) -> float:
    value = measured(moves)[word, where].off_mm
    assert value is not None
    return value


def test_a_frame_as_drawn_is_off_by_nothing() -> None:
    """To a hundredth: least squares on readings that agree."""
    for measure in measured({}).values():
        assert measure.off_mm == pytest.approx(0.0, abs=0.01), measure


@pytest.mark.parametrize(
    ("moves", "word", "where", "by"),
    [
        ({key: (6.0, 0.0, 0.0) for key in RIGHT}, "diamond", "overall, A to E", 6.0),  # the right rail 6 further back
        ({key: (-6.0, 0.0, 0.0) for key in RIGHT}, "diamond", "B to C", -6.0),
        ({"E-right": (0.0, 0.0, 14.0)}, "twist", "E against A", 14.0),
        ({"E-left": (0.0, 0.0, 14.0)}, "twist", "E against A", -14.0),
        ({"A-right": (0.0, 0.0, 8.0)}, "twist", "C against A", -8.0),  # the datum pair leans: the rest is twisted the other way
        ({"C-right": (0.0, 0.0, -5.0)}, "sag", "right rail at C", -5.0),
        ({"C-right": (0.0, 0.0, -5.0)}, "sag", "left rail at C", 0.0),
        ({"C-left": (0.0, 4.0, 0.0), "C-right": (0.0, 4.0, 0.0)}, "sway", "C", 4.0),
        ({"C-left": (0.0, -3.0, 0.0)}, "side bow", "left rail at C", -3.0),
        ({"C-left": (0.0, -3.0, 0.0)}, "width", "C", 3.0),
        ({"A-right": (7.0, 0.0, 0.0)}, "one rail ahead", "A against E", 7.0),  # the right rail is 7 shorter
        ({"E-right": (7.0, 0.0, 0.0)}, "one rail ahead", "A against E", -7.0),
        ({key: (7.0, 0.0, 0.0) for key in RIGHT}, "one rail ahead", "A against E", 0.0),  # both ends: diamond, not this
        ({"A-left": (0.0, 0.0, -3.0)}, "level", "A", 3.0),
        ({"E-right": (5.0, 0.0, 0.0)}, "length", "right rail, A to E", 5.0),
        ({"E-right": (5.0, 0.0, 0.0)}, "length", "left rail, A to E", 0.0),
    ],
)
def test_what_was_moved_comes_out_with_its_sign(moves: dict[str, Vec3], word: str, where: str, by: float) -> None:
    """Tolerance: 5 hundredths, for what a move of some mm changes in second order (9^2 / (2 x 860) = 0.047 of a width)."""
    assert off(moves, word, where) == pytest.approx(by, abs=0.05)


def test_square_of_a_slid_rail_is_what_pythagoras_says() -> None:
    """3400 x 860, the right rail 6 back: sqrt(3406^2 + 860^2) - sqrt(3394^2 + 860^2) = 11.633, by hand."""
    moves: dict[str, Vec3] = {key: (6.0, 0.0, 0.0) for key in RIGHT}
    assert off(moves, "square", "overall, A to E") == pytest.approx(11.633, abs=0.01)


@pytest.mark.parametrize(
    ("off_mm", "by", "limit", "status"),
    [
        (2.0, 1.0, 3.0, "in"), (2.1, 1.0, 3.0, "cannot tell"), (4.0, 1.0, 3.0, "cannot tell"), (4.1, 1.0, 3.0, "out"),
        (-2.0, 1.0, 3.0, "in"), (-4.1, 1.0, 3.0, "out"), (0.0, 3.1, 3.0, "cannot tell"),
    ],
)  # fmt: skip
def test_in_out_and_cannot_tell(off_mm: float, by: float, limit: float, status: str) -> None:
    """|v| + 1.96 s <= limit; |v| - 1.96 s > limit; else nobody can tell."""
    assert status_of(off_mm, by, limit) == status


def test_the_uncertainty_of_a_twist_is_that_of_its_four_heights() -> None:
    """Heights of 1 mm (95 %), so sigma 0.5 each; each rise sigma 0.5 sqrt 2; their difference 0.5 sqrt 4 = 1.0; 95 %: 1.96."""
    twist = measured({})["twist", "E against A"]
    assert twist.sigma_mm == pytest.approx(1.0, abs=0.01)
    assert twist.uncertainty_mm == pytest.approx(NORMAL_95, abs=0.02)


def test_the_uncertainty_of_a_sag_is_that_of_its_three_heights() -> None:
    """C lies 1800/3400 of the way: 0.5 sqrt(1 + (9/17)^2 + (8/17)^2) = 0.6129, by hand."""
    sag = measured({})["sag", "right rail at C"]
    assert sag.sigma_mm == pytest.approx(0.6129, abs=0.005)


# ------------------------------------------------------------------ a frame that is drawn kicked: what is drawn is taken off


def on_a_kick(moves: dict[str, Vec3], *, tape_only: bool = False) -> dict[tuple[str, str], Measure]:
    """Level to x = 1500, then up at 18 deg: pairs A, B before the kick, C, D behind it."""
    xs = (100.0, 1200.0, 1900.0, 2400.0)
    points = tuple(ControlPoint(name=name, x_mm=x) for name, x in zip("ABCD", xs, strict=True))
    bare = frame(kicked(), control_points=points)
    truth = dict(bare.control_coordinates)
    for key, (dx, dy, dz) in moves.items():
        x, y, z = truth[key]
        truth[key] = (x + dx, y + dy, z + dz)
    plan = plan_of("ABCD") if tape_only else full("ABCD")
    return {(m.word, m.where): m for m in survey(frame(kicked(), control_points=points, readings=tuple(taken(truth, plan)))).measures}


def test_a_kicked_frame_as_drawn_is_off_by_nothing() -> None:
    for measure in on_a_kick({}).values():
        assert measure.off_mm == pytest.approx(0.0, abs=0.01), measure


def test_kick_up_height_is_the_climb_over_the_kick() -> None:
    """Drawn: from B on the level to D at 900 tan 18 deg = 292.4 behind the corner at 1500; the left rail's rear 5 too low."""
    found = on_a_kick({"D-left": (0.0, 0.0, -5.0), "C-left": (0.0, 0.0, -5.0)})
    left, right = found["kick-up", "left rail, B to D"], found["kick-up", "right rail, B to D"]
    assert left.drawn_mm == pytest.approx(292.43, abs=0.01)  # 900 x 0.324920, by hand
    assert left.off_mm == pytest.approx(-5.0, abs=0.02)
    assert right.off_mm == pytest.approx(0.0, abs=0.02)
    assert left.status == "out"


def test_a_point_low_on_the_web_is_no_kick() -> None:
    """A straight rail, B's point 75 mm down its web: the points climb and fall by 75, the rail does not."""
    points = tuple(
        ControlPoint(name=name, x_mm=x, face="web", up_mm=75.0) if name == "B" else ControlPoint(name=name, x_mm=x)
        for name, x in zip("ABC", (100.0, 1200.0, 2400.0), strict=True)
    )
    truth = frame(control_points=points).control_coordinates
    assert truth["A-left"][2] - truth["B-left"][2] == pytest.approx(75.0)
    found = survey(frame(control_points=points, readings=tuple(taken(truth, full("ABC"))))).measures
    assert not [m for m in found if m.word == "kick-up"]


def test_a_tape_on_a_kicked_frame_tells_square_but_never_that_it_is_level_or_in_twist() -> None:
    found = on_a_kick({"D-right": (0.0, 0.0, 14.0)}, tape_only=True)
    assert found["square", "overall, A to D"].status == "in"
    assert {m.status for (word, _), m in found.items() if word in ("twist", "sag", "level", "kick-up")} == {"cannot tell"}


@pytest.mark.parametrize(
    ("moves", "word", "where", "by"),
    [
        ({"A-right": (7.0, 0.0, 0.0)}, "one rail ahead", "A against E", 7.0),
        ({"E-right": (7.0, 0.0, 0.0)}, "one rail ahead", "A against E", -7.0),
        ({"C-left": (0.0, 4.0, 0.0), "C-right": (0.0, 4.0, 0.0)}, "sway", "C", 4.0),
        ({"C-left": (0.0, -3.0, 0.0)}, "side bow", "left rail at C", -3.0),
    ],
)
def test_without_a_string_the_signs_are_the_same(moves: dict[str, Vec3], word: str, where: str, by: float) -> None:
    """Tapes and heights alone: off the line through the ends' middles. Tolerance: 7 mm lengthwise turns that line by nothing, the second
    order is 7^2 / (2 x 860) = 0.03 mm."""
    found = survey(ladder(taken(shape(moves), [*plan_of("ABCDE"), *heights("ABCDE")]))).measures
    (own,) = [m for m in found if (m.word, m.where) == (word, where)]
    assert own.off_mm == pytest.approx(by, abs=0.05)
