"""What of a twist shims out and what stays: stands and corner loads set by hand.

14 mm over 860 mm takes 18 N at each corner (webs-only joints) or 69 N (flange joints): computed with shells for the reference frame.
"""

from __future__ import annotations

from dataclasses import replace
from typing import Any

import pytest

from generator.survey.stage import Survey, survey
from generator.survey.stands import NEWTON_PER_KG
from parts.frame.measured import Support, SurveySet
from parts.frame.placing import SIDES
from parts.sheet import Vec3
from tests.generator.survey.ladder import control_points, full, heights, ladder, plan_of, shape, taken
from tests.parts.frame.makers import drawn, frame, station

REAR_UP: dict[str, Vec3] = {"E-right": (0.0, 0.0, 14.0)}
LOWER = 450.0  #: the rails' lower face: 600 less 150 deep


def stands(tops: tuple[float | None, ...] = (None,) * 4, loads: tuple[float | None, ...] = (None,) * 4) -> tuple[Support, ...]:
    """Left front, right front, left rear, right rear, at pairs A and E."""
    places: list[tuple[str, float]] = [("left", 100.0), ("right", 100.0), ("left", 3500.0), ("right", 3500.0)]
    extra: dict[str, Any]
    found = []
    for (side, x), top, load in zip(places, tops, loads, strict=True):
        extra = {"height_mm": top, "load_kg": load}
        found.append(Support(side=side, x_mm=x, kind="stand", **extra))  # type: ignore[arg-type]
    return tuple(found)


def surveyed(*supports: Support, carries: tuple[str, ...] = (), moves: dict[str, Vec3] | None = None) -> Survey:
    told = SurveySet(name="found", stage="found", carries=carries, supports=supports)
    return survey(ladder(taken(shape(REAR_UP if moves is None else moves), full()), sets=(told,)))


def words(found: Survey) -> str:
    assert found.split is not None
    return " ".join(found.split.notes)


def test_twisted_stands_shim_out_wholly() -> None:
    """The right rear stand 14 too high, the frame lying on it: all of the twist is the stands'."""
    found = surveyed(*stands((LOWER, LOWER, LOWER, LOWER + 14)))
    assert found.split is not None
    assert found.split.twist_mm == pytest.approx(14.0, abs=0.02)
    assert found.split.stands_mm == pytest.approx(14.0, abs=1e-9)
    assert "that much shims out" in words(found)
    assert "cannot be told from heights" in words(found)  # what stays
    assert [(s.where.partition(",")[0], round(s.by_mm or 0.0, 1)) for s in found.shims] == [("stand 4", -14.0)]


def test_a_stand_that_does_not_touch_is_named_before_anything_is_told_of_the_twist() -> None:
    """All four tops in one plane under a corner that is 14 up: 14 mm of air there, nothing to lower, nothing that shims out."""
    found = surveyed(*stands((LOWER,) * 4))
    assert found.split is not None and found.split.stands_mm is None
    assert "stand 4, right rail at x = 3500 mm does not touch: 14 mm of air" in words(found) and "that much shims out" not in words(found)
    assert [(s.where.partition(",")[0], s.by_mm, "just touches" in s.do) for s in found.shims] == [("stand 4", None, True)]


def test_a_level_line_or_rails_of_another_depth_are_no_air() -> None:
    """All tops 12 under the drawn lower face: the line lies 12 high, or the rails are 12 deeper; the frame stands on all four."""
    found = surveyed(*stands((LOWER - 12, LOWER - 12, LOWER - 12, LOWER + 2)))
    assert "mm of air" not in words(found) and found.split is not None
    assert found.split.stands_mm == pytest.approx(14.0, abs=1e-9)


def test_less_air_than_tops_are_read_to_is_not_told() -> None:
    for under, told in ((2.9, False), (3.1, True)):
        found = surveyed(*stands((LOWER, LOWER, LOWER, LOWER + 14 - under)))
        assert ("mm of air" in words(found)) is told


def test_weighed_corners_say_what_stays_within_the_reference() -> None:
    """Left front and right rear carry 18 N more each, the others 18 N less: cross load 18 N; 14 mm at 18 N, 14 x 18/69 = 3.65 at 69 N.

    So 14 - 14 = 0 to 14 - 3.65 = 10.35 mm would stay.
    """
    extra = 18.0 / NEWTON_PER_KG
    found = surveyed(*stands(loads=(22 + extra, 22 - extra, 22 - extra, 22 + extra)))
    assert found.split is not None and found.split.stays_mm is not None
    assert found.split.stays_mm == pytest.approx((0.0, 14.0 - 14.0 * 18 / 69), abs=0.02)


def test_corners_loaded_the_other_way_hide_twist() -> None:
    """Right front and left rear carry more: that presses twist out, so more than 14 mm would show with equal corners."""
    extra = 18.0 / NEWTON_PER_KG
    found = surveyed(*stands(loads=(22 - extra, 22 + extra, 22 + extra, 22 - extra)))
    assert found.split is not None and found.split.stays_mm is not None
    assert found.split.stays_mm == pytest.approx((14.0 + 14.0 * 18 / 69, 28.0), abs=0.02)


def test_what_is_bolted_on_leaves_nothing_to_be_told() -> None:
    found = surveyed(*stands((LOWER,) * 4), carries=("body", "engine"))
    assert "cannot be told while body, engine is on the frame" in words(found)
    assert found.split is not None and found.split.stays_mm is None


def test_without_stands_it_says_what_it_needs() -> None:
    assert "[[set.support]]" in words(surveyed())


def test_a_frame_that_lies_level_is_not_shimmed() -> None:
    found = surveyed(*stands((LOWER,) * 4), moves={})
    assert (found.shims, found.split) == ((), None)


def test_one_low_corner_is_raised_and_the_others_are_let_alone() -> None:
    found = surveyed(*stands(), moves={"A-left": (0.0, 0.0, -9.0)})
    assert [(s.where, round(s.by_mm or 0.0, 1)) for s in found.shims] == [("stand 1, left rail at x = 100 mm", 9.0)]
    (step,) = [s for s in found.steps if s.where.startswith("stand 1")]
    assert step.do.startswith("raise: shim under the stand")


def test_a_low_side_is_raised_at_both_ends() -> None:
    moves: dict[str, Vec3] = {f"{n}-left": (0.0, 0.0, -6.0) for n in "ABCDE"}
    assert {round(s.by_mm or 0.0, 1) for s in surveyed(*stands(), moves=moves).shims} in ({6.0}, {-6.0})


def test_where_a_stand_is_drawn_lower_its_top_may_be_lower() -> None:
    """A right rail drawn 20 lower at the rear, on stands that follow it: neither is twisted.

    To 0.01: depth is square to the rail, 150 / cos(20 / 3400) - 150 = 0.003.
    """
    low = drawn(station("front", 0), station("mid", 100), station("low", 3500, z=580), station("rear", 3600, z=580), side="right")
    high = drawn(*(station(name, x, y=-430) for name, x in (("front", 0), ("mid", 100), ("low", 3500), ("rear", 3600))), side="left")
    bare = frame(high, low, control_points=control_points())
    told = SurveySet(name="found", stage="found", carries=(), supports=stands((LOWER, LOWER, LOWER, LOWER - 20)))
    moved = {**bare.control_coordinates, "C-left": (1900.0, -430.0, 620.0)}  # something twisted, so that the split is asked for
    found = survey(frame(high, low, control_points=control_points(), readings=tuple(taken(moved, full())), sets=(told,)))
    assert found.split is not None
    assert found.split.twist_mm == pytest.approx(0.0, abs=0.02)
    assert found.split.stands_mm == pytest.approx(0.0, abs=0.01)


def test_stands_between_the_corners_are_cleared_first_and_only_then_are_the_corners_set() -> None:
    """A middle stand that is left as it is would carry the rail while the corners are moved under it."""
    middle = tuple(Support(side=side, x_mm=1900.0, kind="stand") for side in SIDES)
    found = surveyed(*stands(), *middle)
    told = [(s.where.partition(",")[0], s.by_mm is None) for s in found.shims]
    assert told == [("stand 5", True), ("stand 6", True), ("stand 4", False)]
    own = [s for s in found.steps if s.where.startswith("stand")]
    assert ["wind it clear" in s.do for s in own] == [True, True, False]
    assert own[-1].by_mm == pytest.approx(14.0, abs=0.02)


def test_nothing_is_shimmed_under_wheels() -> None:
    """On its wheels it lies as springs and tyres let it: it goes onto stands, and no amount is told."""
    found = surveyed(*(replace(s, kind="wheel") for s in stands()))
    assert [s.by_mm for s in found.shims] == [None]
    assert [s.where for s in found.steps if "on four stands" in s.do] == ["all points"]
    assert not [s for s in found.steps if s.do.startswith(("raise", "lower"))]
    assert "cannot be told on wheels" in words(found)


@pytest.mark.parametrize(("accuracy", "shimmed"), [(1.0, True), (7.8, True), (8.1, False), (20.0, False)])
def test_nothing_is_shimmed_for_a_lean_that_the_heights_error_may_make(accuracy: float, shimmed: bool) -> None:
    """Two heights of sigma a/2 each: their difference is sigma a / sqrt 2, 95 % 1.96 a / 1.4142 = 1.386 a. 14 mm less that is out of 3 mm
    to a = 11 / 1.386 = 7.94. Tapes tell nothing of heights here: the frame is drawn level.
    """
    readings = [replace(r, accuracy_mm=accuracy) if r.kind == "height" else r for r in taken(shape(REAR_UP), full())]
    found = survey(ladder(readings))
    assert [round(s.by_mm or 0.0) for s in found.shims] == ([-14] if shimmed else [])


@pytest.mark.parametrize(("up", "shimmed"), [(1.2, False), (1.6, True)])
def test_beside_a_corner_that_is_off_noise_is_not_shimmed(up: float, shimmed: bool) -> None:
    """Heights of 1 mm: a difference of two of them may be off by 1.386 mm."""
    found = surveyed(*stands(), moves={**REAR_UP, "A-left": (0.0, 0.0, up)})
    assert [s.where.partition(",")[0] for s in found.shims] == (["stand 1", "stand 4"] if shimmed else ["stand 4"])


def test_between_two_pairs_a_stand_lies_as_far_along_as_it_stands() -> None:
    """At x = 2900, a quarter of the way from D at 2700 to E at 3500, the rail that is 16 mm up at E and right at D is 4 mm up."""
    rear = tuple(Support(side=side, x_mm=2900.0, kind="stand") for side in SIDES)
    found = surveyed(*stands()[:2], *rear, moves={"E-right": (0.0, 0.0, 16.0)})
    assert [(s.where.partition(",")[0], round(s.by_mm or 0.0, 1)) for s in found.shims] == [("stand 4", -4.0)]


@pytest.mark.parametrize(("kind", "limits", "status"), [("wheel", [3.0, 8.0], "in"), ("stand", [3.0, 3.0], "out")])
def test_on_its_wheels_the_rear_may_lean_by_8_and_on_stands_by_3(kind: Any, limits: list[float], status: str) -> None:
    """TM 9-2320-361-34 p. 13-2: front 3 mm, rear 8 mm. The rear leans by 5 mm, give or take 1.4."""
    found = surveyed(*(replace(s, kind=kind) for s in stands()), moves={"E-right": (0.0, 0.0, 5.0)})
    level = [m for m in found.measures if m.word == "level"]
    assert [m.where for m in level] == ["A", "E"]
    assert [m.limit_mm for m in level] == limits
    assert level[1].status == status


def test_a_level_that_rests_on_one_rise_says_so() -> None:
    plan = [*plan_of("ABCDE"), *heights("BCDE"), ("rise", "A-left", "A-right")]
    level = next(m for m in survey(ladder(taken(shape(), plan))).measures if m.word == "level" and m.where == "A")
    assert level.rests_on == ("r-A-left-A-right",)
    assert (level.status, "if r-A-left-A-right is right" in level.why) == ("in", True)
