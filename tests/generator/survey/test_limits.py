"""The manuals' figures with number and page, the user's own in their place, and none where nobody gives one.

TM 9-2320-289-34 p. 9-3 (3 mm, diagonals 5 mm), TM 9-2320-260-34-2 (6 mm), TB 9-2300-247-40 p. 11 (13 mm), TM 9-2320-361-34 p. 13-2 (front
3 mm, rear 8 mm, on its wheels).
"""

from __future__ import annotations

import dataclasses

import pytest

from generator.survey.limits import KEYS, WORDS, Word, limit_of
from parts.frame.measured import Limits

PRINTED: list[tuple[Word, float | None, str]] = [
    ("square", 5.0, "TM 9-2320-289-34 p. 9-3"), ("diamond", 6.0, "TM 9-2320-260-34-2"), ("twist", None, "[limits] twist"),
    ("sag", 3.0, "TM 9-2320-289-34 p. 9-3"), ("sway", 3.0, "TM 9-2320-289-34 p. 9-3"), ("side bow", 13.0, "TB 9-2300-247-40 p. 11"),
    ("one rail ahead", 3.0, "TM 9-2320-289-34 p. 9-3"), ("length", 3.0, "TM 9-2320-289-34 p. 9-3"),
    ("width", 3.0, "TM 9-2320-289-34 p. 9-3"), ("kick-up", 3.0, "TM 9-2320-289-34 p. 9-3"), ("level", 3.0, "common practice, no source"),
    ("thickness left", None, "[limits] thickness_left"),
]  # fmt: skip


@pytest.mark.parametrize(("word", "mm", "source"), PRINTED)
def test_a_manual_s_figure_warns_and_names_its_page(word: Word, mm: float | None, source: str) -> None:
    limit = limit_of(word, None)
    assert (limit.mm, limit.level) == (mm, "warn")
    assert source in limit.source


def test_every_word_has_a_row() -> None:
    assert {word for word, _, _ in PRINTED} == set(WORDS) == set(KEYS)


def test_on_its_wheels_the_rear_may_lean_more() -> None:
    assert (limit_of("level", None, on_wheels=True).mm, limit_of("level", None, on_wheels=True, rear=True).mm) == (3.0, 8.0)
    assert "TM 9-2320-361-34 p. 13-2" in limit_of("level", None, on_wheels=True, rear=True).source


@pytest.mark.parametrize("word", WORDS)
def test_the_users_own_takes_its_place_and_stops(word: Word) -> None:
    key = f"{KEYS[word]}_mm"
    limit = limit_of(word, dataclasses.replace(Limits(), **{key: 1.25}), on_wheels=True, rear=True)
    assert (limit.mm, limit.level) == (1.25, "stop")
    assert f"[limits] {KEYS[word]}" in limit.source
