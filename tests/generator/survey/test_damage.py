"""Damage comes first, is named after the thing, and no stage forgets it before the job accepts it."""

from __future__ import annotations

from typing import Any

import pytest

from generator.survey.stage import Survey, survey
from parts.frame.features import Condition
from parts.frame.measured import Limits, SectionReading
from tests.generator.survey.ladder import full, ladder, shape, taken


def condition(**fields: Any) -> Condition:
    return Condition(**{"name": "hurt", "kind": "crack", "side": "left", "x_mm": 1200.0, **fields})


def levels(found: Survey) -> dict[str, str]:
    return {f.code: f.level for f in found.findings}


@pytest.mark.parametrize(
    ("kind", "level"),
    [("crack", "warn"), ("rust-through", "warn"), ("loose rivet", "warn"), ("old weld", "note"), ("dent", "note")],
)
def test_what_was_found_is_told_by_name(kind: str, level: str) -> None:
    assert levels(survey(ladder(conditions=(condition(kind=kind),))))["frame-damaged-hurt"] == level


def test_damage_is_told_first_and_done_first() -> None:
    found = survey(ladder(taken(shape({"E-right": (0.0, 0.0, 14.0)}), full()), conditions=(condition(),)))
    assert found.findings[0].code == "frame-damaged-hurt"
    assert found.sections[0].title == "Damage first"
    assert found.steps[0].where.startswith("hurt: left rail, web, 1200 mm")


def reading(**fields: Any) -> SectionReading:
    return SectionReading(**{"name": "s1", "side": "left", "x_mm": 1200.0, **fields})


@pytest.mark.parametrize(
    ("left", "limit", "status", "level"),
    [
        (3.0, None, "cannot tell", "warn"),  # 4 mm new, 3.0 + 0.5 is less: worn, and nobody gives a limit
        (3.0, 3.8, "out", "stop"),  # 3.0 + 0.5 < 3.8
        (3.4, 3.0, "cannot tell", "warn"),  # 3.4 - 0.5 < 3.0 <= 3.4 + 0.5
        (3.4, 3.8, "cannot tell", "warn"),  # 3.4 + 0.5 >= 3.8
        (3.4, 2.8, "in", None),  # 3.4 - 0.5 = 2.9
        (3.6, None, "cannot tell", None),  # 3.6 + 0.5 reaches 4: nothing worn can be seen
    ],
)
def test_steel_left_is_held_against_the_users_own_limit(left: float, limit: float | None, status: str, level: str | None) -> None:
    """A web of 4 mm, a calliper good to 0.5 mm (95 %): sums by hand."""
    own = Limits(thickness_left_mm=limit) if limit is not None else None
    found = survey(ladder(section_readings=(reading(web_thickness_mm=left, accuracy_mm=0.5),), limits=own))
    (measure,) = [m for m in found.measures if m.word == "thickness left"]
    assert measure.status == status
    assert levels(found).get("frame-damaged-s1") == level


def test_a_thin_place_under_the_users_limit_stops() -> None:
    thin = condition(kind="thin", least_thickness_mm=2.5)
    assert levels(survey(ladder(conditions=(thin,), limits=Limits(thickness_left_mm=3.0))))["frame-damaged-hurt"] == "stop"
    assert levels(survey(ladder(conditions=(thin,), limits=Limits(thickness_left_mm=2.0))))["frame-damaged-hurt"] == "warn"
