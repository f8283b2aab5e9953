"""Again, later: only in like states, what moved and which way, the verdict beside the old one, what to do."""

from __future__ import annotations

import os
from collections.abc import Mapping, Sequence
from dataclasses import replace
from typing import Any

import pytest

from generator.show import text_lines
from generator.survey.later import Later, later
from generator.survey.later_told import directed
from generator.survey.stage import survey
from generator.survey.states import likeness
from parts.frame.frame import Frame
from parts.frame.measured import Limits, Reading, Support, SurveySet
from parts.sheet import Vec3
from tests.generator.survey.ladder import Planned, full, heights, ladder, plan_of, shape, taken
from tests.generator.survey.test_moved import most_of

PAIRS = 300 if os.environ.get("LADDERFRAME_SAMPLES") == "long" else 25


def supports(*tops: float | None, kind: Any = "stand", loads: Sequence[float | None] = (None,) * 4) -> tuple[Support, ...]:
    """Four under the ladder's ends: left front, right front, left rear, right rear."""
    places = [("left", 300.0), ("right", 300.0), ("left", 3300.0), ("right", 3300.0)]
    told = tops or (450.0,) * 4
    return tuple(
        Support(side=side, x_mm=x, kind=kind, height_mm=top, load_kg=load)  # type: ignore[arg-type]
        for (side, x), top, load in zip(places, told, loads, strict=True)
    )


FOUND = SurveySet(name="found", stage="found", supports=supports())


def frame_of(
    moves: Mapping[str, Vec3] | None = None, new: SurveySet | None = None, *, plan: Sequence[Planned] | None = None, seed: int | None = None
) -> Frame:
    """The ladder read twice: straight, and with some points moved; without noise where there is no seed."""
    plan = plan or full()
    late = new or SurveySet(name="late", stage="tacked", supports=supports())
    one = [replace(r, set="found") for r in taken(shape(), plan, None if seed is None else 2 * seed)]
    two = [replace(r, set="late") for r in taken(shape(moves), plan, None if seed is None else 2 * seed + 1)]
    return ladder([*one, *two], sets=(FOUND, replace(late, name="late")), limits=Limits(twist_mm=6.0))


def told_of(frame: Frame) -> Later:
    return later(survey(frame, "late"), survey(frame, "found"))


def text_of(told: Later) -> str:
    return " ".join("\n".join(text_lines(told.sections)).split())


def states(old: SurveySet | None, new: SurveySet | None) -> tuple[str, ...]:
    frame = ladder()
    return likeness((frame, "found", old), (frame, "late", new)).reasons


def test_like_states() -> None:
    assert states(FOUND, replace(FOUND, name="late", stage="welded")) == ()


@pytest.mark.parametrize(
    ("new", "said"),
    [
        (None, "nothing is known of what carried the frame in set 'late'"),
        (replace(FOUND, supports=()), "nothing is known"),
        (replace(FOUND, carries=("body",)), "only in set 'late' it carried: body"),
        (replace(FOUND, supports=supports(kind="wheel")), "has a wheel 1, left rail at x = 300 mm, the other one has none there"),
        (replace(FOUND, supports=supports()[:3]), "set 'found' has a stand 4, right rail at x = 3300 mm"),
        (replace(FOUND, supports=supports(450.0, 450.0, 450.0, 456.0)), "was at 450 mm and is at 456 mm"),
    ],
)
def test_unlike_states_are_named(new: SurveySet | None, said: str) -> None:
    assert any(said in reason for reason in states(FOUND, new)), states(FOUND, new)


def test_a_frame_that_was_shimmed_in_between_is_told_what_to_do() -> None:
    """Not where anything else is unlike too: then shims are not what it hangs on."""
    told = told_of(frame_of(new=SurveySet(name="late", supports=supports(450.0, 450.0, 450.0, 456.0))))
    assert told.by_datum is None
    assert "anew after the shimming, before anything is tacked" in text_of(told)
    assert "rolls the frame" in text_of(told)
    assert "after the shimming" in told.findings[0].remedy
    other = told_of(frame_of(new=SurveySet(name="late", supports=supports(450.0, 450.0, 450.0, 456.0), carries=("body",))))
    assert "after the shimming" not in text_of(other)
    assert "after the shimming" not in other.findings[0].remedy


def test_a_load_taken_off_is_named() -> None:
    old = replace(FOUND, supports=supports(loads=(200.0, 200.0, 150.0, 150.0)))
    new = replace(FOUND, supports=supports(loads=(120.0, 205.0, 150.0, 150.0)))
    reasons = states(old, new)
    assert len(reasons) == 1  # 5 kg more is what a scale is off by
    assert "carried 200 kg and carries 120 kg" in reasons[0]


def test_tops_that_are_not_told_are_left_open() -> None:
    frame = ladder()
    told = likeness((frame, "found", FOUND), (frame, "late", replace(FOUND, supports=supports(None, 450.0, 450.0, 450.0))))
    assert told.reasons == ()
    assert "may be theirs" in told.open[0]


def test_in_unlike_states_no_movement_is_told() -> None:
    """10 mm, plainly there, on wheels where it stood on stands before."""
    frame = frame_of({"E-right": (0.0, 0.0, 10.0)}, SurveySet(name="late", supports=supports(kind="wheel")))
    told = told_of(frame)
    assert told.by_datum is None
    assert told.moved == ()
    assert told.changed == ()
    text = text_of(told)
    assert "No movement is told" in text
    assert "mm up" not in text
    assert "change (mm)" not in text
    assert [f.code for f in told.findings] == ["frame-not-compared"]


@pytest.mark.parametrize(
    ("move", "said"),
    [
        ((0.0, 0.0, 4.0), "D-right 4.0 mm up"), ((0.0, 0.0, -4.0), "D-right 4.0 mm down"), ((0.0, 4.0, 0.0), "D-right 4.0 mm right"),
        ((0.0, -4.0, 0.0), "D-right 4.0 mm left"), ((5.0, 0.0, 0.0), "D-right 5.0 mm rearward"),
        ((-5.0, 0.0, 0.0), "D-right 5.0 mm forward"),
    ],
)  # fmt: skip
def test_what_moved_and_which_way(move: Vec3, said: str) -> None:
    told = told_of(frame_of({"D-right": move}))
    assert told.moved == ("D-right",)
    assert said in text_of(told)
    assert next(f.code for f in told.findings) == "frame-moved-D-right"


def test_two_directions_where_both_are_more_than_their_error() -> None:
    assert directed((0.2, -3.0, 4.0), (1.0, 1.0, 1.0)) == "3.0 mm left, 4.0 mm up"
    assert directed((0.2, -0.3, 0.4), (1.0, 1.0, 1.0)) == "0.4 mm up"


def test_the_same_again_is_no_movement() -> None:
    told = told_of(frame_of())
    assert told.compared
    assert told.moved == ()
    assert told.changed == ()
    assert told.findings == ()
    assert "No point has moved" in text_of(told)
    assert "Weld on in short runs" in text_of(told)


def test_a_frame_that_was_raised_as_a_whole_kept_its_shape() -> None:
    """All points 6 mm up, by the same level line: all moved, none against the others."""
    told = told_of(frame_of({key: (0.0, 0.0, 6.0) for key in shape()}))
    assert told.by_datum is not None
    assert len(told.by_datum.moved) == 10
    assert told.shape is not None
    assert told.shape.moved == ()
    assert "It has kept its shape" in text_of(told)


def test_the_datum_is_named() -> None:
    text = text_of(told_of(frame_of(plan=[*plan_of("ABCDE"), *heights("ABCDE")])))
    assert "Fitted, best on all points: along, sideways, turned seen from above." in text
    assert "Shared: up or down, tipped lengthwise, tipped sideways" in text


def test_the_verdict_stands_beside_the_old_one() -> None:
    """A corner 14 mm up: twist was in and is out by the user's limit of 6 mm."""
    told = told_of(frame_of({"E-right": (0.0, 0.0, 14.0)}))
    twist = next(c for c in told.numbers if c.now.word == "twist" and c.decides)
    assert (twist.was.status, twist.now.status) == ("in", "out")
    assert twist.by_mm == pytest.approx(14.0, abs=0.05)
    assert twist.is_seen
    assert "twist" in [c.now.word for c in told.worse]
    assert "Out now and not before: twist" in text_of(told)


def test_what_is_done_hangs_on_the_stage() -> None:
    moves = {"C-left": (0.0, 6.0, 0.0)}
    tacked, welded, found = (
        text_of(told_of(frame_of(moves, replace(FOUND, name="late", stage=stage)))) for stage in ("tacked", "welded", "found")
    )
    assert "grind off the tacks next to C-left" in tacked
    assert "the next runs go on the opposite side" in welded
    assert "grind off" not in welded
    assert "look at the stands" in found


def test_hot_steel_is_told_in_numbers() -> None:
    """3400 mm x 12e-6 x 30 K = 1.2 mm; the coefficient of EN 1993-1-1, 3.2.6."""
    assert "reads 1.2 mm longer" in text_of(told_of(frame_of({"C-left": (0.0, 6.0, 0.0)})))


def test_a_width_that_closed_shows_where_neither_point_does() -> None:
    """2 mm each towards the other: under what a point is held to, but the tape across says 4 mm."""
    told = told_of(frame_of({"C-left": (0.0, 1.5, 0.0), "C-right": (0.0, -1.5, 0.0)}))
    assert told.moved == ()
    assert [(c.now.word, c.now.where) for c in told.changed] == [("width", "C")]
    assert "But changed: width at C by -3.0 mm" in text_of(told)


def test_another_file_of_another_drawing_is_refused() -> None:
    one, two = frame_of(), replace(frame_of(), control_points=tuple(replace(p, x_mm=(p.x_mm or 0) + 3) for p in frame_of().control_points))
    told = later(survey(two, "late"), survey(one, "found"))
    assert any("drawn elsewhere" in r for r in told.alike.reasons)
    assert told.by_datum is None


def test_noise_alone_says_nothing() -> None:
    """Points twice and numbers once, each with a third of 1 in 20: of n comparisons no more than the binomial 99.9 % bound say anything."""
    told = [told_of(frame_of(seed=i)) for i in range(PAIRS)]
    assert sum(bool(t.moved or t.changed) for t in told) <= most_of(PAIRS, 0.05)


def test_a_planted_4_mm_is_found_in_noise() -> None:
    found = sum("D-left" in told_of(frame_of({"D-left": (0.0, 0.0, 4.0)}, seed=i)).moved for i in range(PAIRS))
    assert found >= PAIRS - most_of(PAIRS, 0.1)


def test_a_set_without_readings() -> None:
    one = Reading(name="h", kind="height", start="A-left", value_mm=600.0, set="found")
    frame = ladder([one], sets=(FOUND, replace(FOUND, name="late")))
    told = told_of(frame)
    assert "set 'late' has no readings" in told.alike.reasons
