"""What to do, first things first: the order, the side and the amount of each step, set by hand."""

from __future__ import annotations

from typing import Any

import pytest

from generator.survey.network import Network, Observation
from generator.survey.proposal import Proposal
from generator.survey.snoop import Suspect
from generator.survey.stage import survey
from generator.survey.todo import Step
from generator.survey.unknown import deciding
from parts.frame.features import Condition
from parts.frame.measured import ControlPoint, Limits
from parts.sheet import Vec3
from tests.generator.survey.ladder import full, heights, ladder, plan_of, shape, taken
from tests.generator.survey.test_scenarios import misread
from tests.parts.frame.makers import frame, kicked

RIGHT = [f"{n}-right" for n in "ABCDE"]


def steps(moves: dict[str, Vec3], limits: Limits | None = None) -> tuple[Step, ...]:
    return survey(ladder(taken(shape(moves), full()), limits=limits)).steps


def test_a_straight_frame_asks_for_nothing() -> None:
    assert steps({}) == ()


@pytest.mark.parametrize(
    ("moves", "do", "where", "by"),
    [
        ({key: (9.0, 0.0, 0.0) for key in RIGHT}, "push the right rail forward", "overall, A to E", 9.0),
        ({key: (-9.0, 0.0, 0.0) for key in RIGHT}, "push the left rail forward", "overall, A to E", 9.0),
        ({"C-left": (0.0, 0.0, -8.0)}, "lift the rail", "left rail at C", 8.0),
        ({"C-left": (0.0, 0.0, 8.0)}, "pull the rail down", "left rail at C", 8.0),
        ({"C-left": (0.0, -8.0, 0.0)}, "draw", "C", 8.0),
        ({"C-left": (0.0, 8.0, 0.0), "C-right": (0.0, 8.0, 0.0)}, "pull the section to the left", "C", 8.0),
        ({"C-left": (0.0, -19.0, 0.0), "C-right": (0.0, -19.0, 0.0)}, "pull", "C", 19.0),  # once, as sway
        ({"C-left": (0.0, -19.0, 0.0)}, "pull", "left rail at C", 19.0),  # once, as the one rail's bow
        ({"E-right": (8.0, 0.0, 0.0)}, "the rail is longer than drawn", "right rail, A to E", 8.0),
    ],
)
def test_what_is_out_is_pulled_back_the_way_it_came(moves: dict[str, Vec3], do: str, where: str, by: float) -> None:
    """Tolerance 0.1 mm: what a move of 19 mm changes in second order, 19^2 / (2 x 1700) = 0.106 at the most."""
    own = [s for s in steps(moves) if do in s.do]
    assert [s.where for s in own] == [where]
    assert own[0].by_mm == pytest.approx(by, abs=0.11)


def test_the_whole_length_is_pulled_once_not_bay_by_bay() -> None:
    assert len([s for s in steps({key: (9.0, 0.0, 0.0) for key in RIGHT}) if "forward" in s.do]) == 1


def test_mending_comes_before_reading_before_shimming_before_pulling() -> None:
    moves: dict[str, Vec3] = {"E-right": (0.0, 0.0, 14.0), "C-left": (0.0, -9.0, -9.0)}
    plan = [p for p in full() if p != ("height", "D-left", None)]
    frame = ladder(taken(shape(moves), plan), conditions=(Condition(name="hurt", kind="crack", side="left", x_mm=1200.0),),
                   limits=Limits(twist_mm=5.0))  # fmt: skip
    told = [s.do for s in survey(frame).steps]
    wanted = (
        "have it mended", "read the height of D-left", "lower it", "read every height again", "if it is still out then: right side down",
        "if it is still out then: lift", "draw the rails together",
    )  # fmt: skip
    places = [next(i for i, do in enumerate(told) if do.startswith(w)) for w in wanted]
    assert places == sorted(places)


def test_a_twist_is_pulled_once_where_it_is_most() -> None:
    """Growing evenly from A to E: 0, 3, 6, 9 and 12 mm. Pulled at every pair by its own amount it would be twisted the other way."""
    moves: dict[str, Vec3] = {f"{n}-right": (0.0, 0.0, 3.0 * i) for i, n in enumerate("ABCDE")}
    own = [(s.where, round(s.by_mm or 0.0)) for s in steps(moves, Limits(twist_mm=2.0)) if "side down" in s.do]
    assert own == [("E against A", 12)]


def test_a_rail_that_sags_is_lifted_once_and_one_that_waves_both_ways() -> None:
    hangs: dict[str, Vec3] = {"B-left": (0.0, 0.0, -5.0), "C-left": (0.0, 0.0, -9.0), "D-left": (0.0, 0.0, -5.0)}
    assert [(s.where, round(s.by_mm or 0.0)) for s in steps(hangs) if "lift the rail" in s.do] == [("left rail at C", 9)]
    waves: dict[str, Vec3] = {"B-left": (0.0, 0.0, -6.0), "D-left": (0.0, 0.0, 6.0), "C-right": (0.0, 0.0, -7.0)}
    own = {(s.where, "lift" in s.do) for s in steps(waves) if "against its ends" in s.do}
    assert own == {("left rail at B", True), ("left rail at D", False), ("right rail at C", True)}


@pytest.mark.parametrize("skew", [0.0, 4.0])
def test_a_string_that_lies_off_a_straight_frame_is_laid_anew_and_nothing_is_pulled(skew: float) -> None:
    """All of the frame 5 mm to the right of the string, or 5 mm at the front and 9 at the rear: nothing is bent."""
    xs = {"A": 100.0, "B": 1000.0, "C": 1900.0, "D": 2700.0, "E": 3500.0}
    moves: dict[str, Vec3] = {f"{n}-{s}": (0.0, 5.0 + skew * (x - 100.0) / 3400.0, 0.0) for n, x in xs.items() for s in ("left", "right")}
    told = [s.do for s in steps(moves)]
    assert [do for do in told if do.startswith("lay the string anew")]
    assert not [do for do in told if "pull" in do or "push" in do]


def test_an_end_that_went_sideways_by_itself_is_pulled_not_the_string() -> None:
    moves: dict[str, Vec3] = {f"A-{s}": (0.0, 12.0, 0.0) for s in ("left", "right")}
    told = steps(moves)
    assert not [s for s in told if "string" in s.do]
    assert [(s.where, s.do) for s in told if "section" in s.do] == [("A", "pull the section to the left")]


def test_what_nothing_checks_is_read_again_before_steel_is_moved_on_its_word() -> None:
    """One height in each place: that of C is 14 mm off, or misread by so much, and nobody can tell which."""
    told = steps({"C-right": (0.0, 0.0, 14.0)})
    pull = next(i for i, s in enumerate(told) if "pull the rail down" in s.do)
    again = [i for i, s in enumerate(told) if s.where == "reading h-C-right"]
    assert again and again[0] < pull


def test_one_of_a_tied_group_is_looked_for_with_one_reading_first() -> None:
    """A single bay: four sides and two diagonals make one condition, so one of six is off by 25 mm; not all six are."""
    xs = (100.0, 1000.0)
    own = misread(shape(xs=xs), [*plan_of("AB"), *heights("AB")], "A-left", "B-right", 25.0)
    (step,) = [s for s in survey(ladder(own, xs=xs)).steps if s.where.startswith("readings ")]
    assert step.where.count("d-") == 6 and "begin with the tape from" in step.do


@pytest.mark.parametrize(
    ("kind", "end", "told"),
    [("z", None, "the height of P"), ("y", None, "the offset of P from the string"), ("x", None, "how far along x P lies"),
     ("rise", "Q", "the rise from P to Q"), ("plan", "Q", "the plan distance from P to Q, between floor marks")],
)
def test_what_would_decide_is_told_as_the_frame_file_has_it(kind: Any, end: str | None, told: str) -> None:
    one = Observation(name="", kind=kind, start="P", end=end, value_mm=0.0, sigma_mm=1.0)
    suspect = Suspect(observations=("a", "b"), error_mm=9.0, error_sigmas=9.0, normalised=-9.0, decided_by=Proposal(observation=one))
    assert deciding(suspect, Network(points=("P", "Q"), observations=())) == told
    assert deciding(suspect, Network(points=("P", "Q"), observations=(one,))) == f"{told}, once more"


@pytest.mark.parametrize(
    ("moves", "do", "where", "by"),
    [
        ({"E-right": (0.0, 0.0, 14.0)}, "right side down, left side up", "E against A", 14.0),
        ({"E-left": (0.0, 0.0, 14.0)}, "right side up, left side down", "E against A", 14.0),
        ({"C-left": (0.0, 8.0, 0.0)}, "spread the rails", "C", 8.0),
        ({"C-left": (0.0, -8.0, 0.0)}, "draw the rails together", "C", 8.0),
        ({"A-right": (7.0, 0.0, 0.0)}, "draw the right rail's end out", "A against E", 7.0),  # the right rail is 7 shorter
        ({"E-right": (7.0, 0.0, 0.0)}, "draw the left rail's end out", "A against E", 7.0),  # the right rail is 7 longer
        ({"E-right": (-8.0, 0.0, 0.0)}, "the rail is shorter than drawn", "right rail, A to E", 8.0),
        ({"C-left": (0.0, -8.0, 0.0), "C-right": (0.0, -8.0, 0.0)}, "pull the section to the right", "C", 8.0),
        ({"C-left": (0.0, -19.0, 0.0)}, "pull the rail to the right", "left rail at C", 19.0),
    ],
)
def test_to_either_hand_it_is_pulled_back(moves: dict[str, Vec3], do: str, where: str, by: float) -> None:
    """Tolerance as above, 19^2 / (2 x 1700)."""
    own = [s for s in steps(moves, Limits(twist_mm=5.0)) if do in s.do]
    assert [s.where for s in own] == [where]
    assert own[0].by_mm == pytest.approx(by, abs=0.11)


@pytest.mark.parametrize(("off", "do"), [(-9.0, "then lift it behind it"), (9.0, "then pull it down behind it")])
def test_a_rail_that_is_off_behind_its_kick_is_moved_back_up_or_down(off: float, do: str) -> None:
    xs = (100.0, 1200.0, 1900.0, 2400.0)
    points = tuple(ControlPoint(name=name, x_mm=x) for name, x in zip("ABCD", xs, strict=True))
    truth = dict(frame(kicked(), control_points=points).control_coordinates)
    for key in ("C-left", "D-left", "C-right", "D-right"):
        x, y, z = truth[key]
        truth[key] = (x, y, z + off)
    found = survey(frame(kicked(), control_points=points, readings=tuple(taken(truth, full("ABCD")))))
    own = [s for s in found.steps if do in s.do]
    assert [s.where for s in own] == ["left rail, B to D", "right rail, B to D"]
    assert [s.by_mm for s in own] == pytest.approx([9.0, 9.0], abs=0.05)
