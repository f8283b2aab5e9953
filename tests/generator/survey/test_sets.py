"""Which set of readings is taken, and what is held, known and left free."""

from __future__ import annotations

from dataclasses import replace
from typing import Any, Literal

import pytest

from generator.survey.stage import survey
from parts.errors import BadInput
from parts.frame.measured import Reading, SurveySet
from parts.sheet import Vec3
from tests.generator.survey.ladder import full, heights, ladder, offsets, plan_of, shape, taken


def in_set(name: str, moves: dict[str, Vec3]) -> list[Reading]:
    return [replace(r, name=f"{name}-{r.name}", set=name) for r in taken(shape(moves), full())]


def told(name: str, stage: str) -> SurveySet:
    fields: dict[str, Any] = {"name": name, "stage": stage}
    return SurveySet(**fields)


KNOWN_KINDS: tuple[tuple[str, Literal["known x", "known y", "known z"]], ...] = (("x", "known x"), ("y", "known y"), ("z", "known z"))

SETS = (told("first", "found"), told("pulled", "straightened"), told("after", "tacked"))
READINGS = [*in_set("first", {"E-right": (0.0, 0.0, 14.0)}), *in_set("pulled", {}), *in_set("after", {"E-right": (0.0, 0.0, 5.0)})]


def test_the_last_set_as_found_or_straightened_is_taken_where_none_is_named() -> None:
    found = survey(ladder(READINGS, sets=SETS))
    assert found.set_name == "pulled"
    assert "no twist seen" in found.verdict_text


def test_a_named_set_is_taken() -> None:
    assert "twisted 14 mm" in survey(ladder(READINGS, sets=SETS), "first").verdict_text
    assert "twisted 5 mm" in survey(ladder(READINGS, sets=SETS), "after").verdict_text


def test_a_set_that_nothing_tells_of_is_as_found() -> None:
    assert survey(ladder(taken(shape(), full()))).set_name == "found"


def test_an_unknown_set_is_refused_with_the_nearest() -> None:
    with pytest.raises(BadInput) as caught:
        survey(ladder(READINGS, sets=SETS), "puled")
    assert "nearest: pulled" in caught.value.faults[0].remedy


def test_a_set_without_readings_says_so() -> None:
    found = survey(ladder(READINGS, sets=(*SETS, told("empty", "found"))), "empty")
    assert [f.code for f in found.findings] == ["frame-not-measured"]
    assert "the set 'empty' has no readings" in found.sections[0].notes[0]


def test_a_height_that_is_known_is_a_height() -> None:
    plan = [p for p in full() if p != ("height", "E-right", None)]
    known = Reading(name="k", kind="known z", start="E-right", value_mm=614.0)
    found = survey(ladder([*taken(shape({"E-right": (0.0, 0.0, 14.0)}), plan), known]))
    assert found.unknown == ()
    assert found.heights["E-right"] == 614.0
    assert [g.bay.name for g in found.growth] == ["D to E"]


def test_what_is_known_is_held_and_not_adjusted() -> None:
    """Both front points known to lie at x = 103: the whole frame, drawn at 100, lies 3 further back."""
    known = [Reading(name=f"k-{s}", kind="known x", start=f"A-{s}", value_mm=103.0) for s in ("left", "right")]
    found = survey(ladder([*taken(shape(), full()), *known]))
    assert found.points["A-left"][0] == 103.0
    assert found.points["E-right"][0] == pytest.approx(3503.0, abs=1e-3)


def test_a_pair_levelled_by_itself_does_not_hide_the_heights_of_the_others() -> None:
    """A by a rise alone, B to E by the level line: what is missing of a sag is the height of A, not the eight that were read."""
    plan = [*plan_of("ABCDE"), *offsets("ABCDE"), ("rise", "A-left", "A-right"), *heights("BCDE")]
    found = survey(ladder(taken(shape(), plan)))
    assert set(found.heights) == {f"{n}-{side}" for n in "BCDE" for side in ("left", "right")}
    assert {str(w) for u in found.unknown for w in u.settle} == {"the height of A-left", "the height of A-right"}


def test_points_that_are_known_and_not_read_are_judged_as_they_are_given() -> None:
    """Every point's x, y and z given by somebody else's survey: the right rear corner 14 mm up, and nothing to adjust."""
    points = shape({"E-right": (0.0, 0.0, 14.0)})
    known = [
        Reading(name=f"k-{axis}-{key}", kind=kind, start=key, value_mm=points[key][i])
        for key in points
        for i, (axis, kind) in enumerate(KNOWN_KINDS)
    ]
    found = survey(ladder(known))
    (twist,) = [m for m in found.measures if m.word == "twist" and m.where == "E against A"]
    assert twist.value_mm == pytest.approx(14.0, abs=0.05)
    assert twist.uncertainty_mm == pytest.approx(0.0, abs=1e-9)
    assert "square, twisted 14 mm" in found.verdict_text
    assert "frame-not-measured" not in {f.code for f in found.findings}
    assert found.points["E-right"] == points["E-right"]
    assert found.sections


def test_where_known_places_and_a_tape_disagree_the_known_ones_are_named_too() -> None:
    """Both ends of the left rail held 3430 apart, taped 3400 three times: what is held is never set aside, and may be the wrong one."""
    ends = (("A-left", 100.0), ("E-left", 3530.0))
    known = [Reading(name=f"k-{key}", kind="known x", start=key, value_mm=x) for key, x in ends]
    found = survey(ladder([*taken(shape(), full()), *known]))
    told = [s.do for s in found.steps if s.where.startswith("reading")]
    assert any("or what is given as known of A-left" in do for do in told)
