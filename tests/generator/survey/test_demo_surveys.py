"""The built-in surveys, which were invented from known shapes: each verdict finds its shape again."""

from __future__ import annotations

import pytest

from generator.job import read_frame
from generator.survey.measures import Measure
from generator.survey.stage import Survey, survey


def surveyed(name: str, set_name: str | None = None) -> Survey:
    return survey(read_frame(f"demo:{name}"), set_name)


def at(found: Survey, word: str, where: str) -> Measure:
    return next(m for m in found.measures if m.word == word and m.where == where)


@pytest.mark.parametrize("set_name", ["found", "tacked"])
def test_the_flatbed_is_in_on_everything(set_name: str) -> None:
    """Its shape was made with less than 1 mm of everything, and with 1.4 mm more in the middle once tacked."""
    found = surveyed("orchard-flatbed", set_name)
    assert {m.status for m in found.measures if m.judged} == {"in"}
    assert found.suspects == () and found.unchecked == ()


def test_the_flatbed_s_set_as_found_is_taken() -> None:
    assert surveyed("orchard-flatbed").set_name == "found"


def test_the_pickup_sags_and_is_twisted_as_it_was_made() -> None:
    """Made with 6 mm of twist at the rear, and the right rail 4.4 mm under the line through its ends in the middle: 3 mm of bow, and its
    rear end 3 mm up, which lifts that line by 3 x 0.46 at cp-mid."""
    found = surveyed("mill-pickup")
    twist, sag = at(found, "twist", "cp-rear against cp-front"), at(found, "sag", "right rail at cp-mid")
    assert twist.off_mm == pytest.approx(6.0, abs=twist.uncertainty_mm) and twist.is_seen
    assert sag.off_mm == pytest.approx(-(3.0 + 3.0 * 0.46), abs=sag.uncertainty_mm) and sag.status == "out"
    assert found.suspects == () and len(found.points) == 14
    assert found.verdict_text.startswith("Verdict: square, twisted 6 mm; out: sag")


def test_a_tape_alone_tells_no_twist() -> None:
    """Two pairs of its points lie higher than the others, so that a tape that runs uphill tells a little of heights: too little."""
    found = surveyed("river-wagon")
    assert "whether it is twisted cannot be told" in found.verdict_text
    assert any("No heights were taken" in u.sentence or "No height at" in u.sentence for u in found.unknown)


@pytest.mark.parametrize("name", ["orchard-flatbed", "mill-pickup", "river-wagon"])
def test_the_adjustment_comes_to_rest(name: str) -> None:
    """The wagon's heights are free: they are led back to the drawing little by little."""
    found = surveyed(name)
    assert found.adjusted is not None and found.adjusted.converged
    assert "contradict" not in " ".join(m.why for m in found.measures)


@pytest.mark.parametrize("name", ["orchard-flatbed", "mill-pickup", "river-wagon"])
def test_the_word_is_never_printed(name: str) -> None:
    """Nothing that carries a person is called that by a program."""
    found = surveyed(name)
    text = " ".join(str(s) for s in (*found.sections, *found.findings)).lower()
    assert "safe" not in text


def test_the_wagon_s_inch_tapes_agree_and_are_judged() -> None:
    """Tapes alone on a frame at two heights: what is free turns with the points, and rest is slow to come. Made square to 1 mm, read to
    1/16 in; none of its 20 tapes is off by more than that."""
    found = surveyed("river-wagon")
    assert found.adjusted is not None and found.adjusted.converged
    assert found.suspects == ()
    assert found.adjusted.residuals_mm == pytest.approx([0.0] * 20, abs=25.4 / 16)
    width = at(found, "width", "cp-front")
    assert width.value_mm == pytest.approx(34.0 * 25.4, abs=25.4 / 16)
    assert all("contradict" not in m.why for m in found.measures)
