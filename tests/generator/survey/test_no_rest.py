"""An adjustment that does not come to rest tells nothing: no number, no verdict, no point to build on."""

from __future__ import annotations

from dataclasses import replace

import pytest

from generator.survey import judge
from generator.survey.adjust import Adjusted, adjust
from generator.survey.network import Network
from generator.survey.stage import survey
from tests.generator.survey import ladder
from tests.generator.survey.ladder import full, shape, taken


def restless(network: Network) -> Adjusted:
    return replace(adjust(network), converged=False)


def test_no_verdict_from_an_adjustment_that_found_no_rest(monkeypatch: pytest.MonkeyPatch) -> None:
    frame = ladder.ladder(taken(shape(), full()))
    assert {m.status for m in survey(frame).measures} > {"in"}  # else there would be nothing to take back
    monkeypatch.setattr(judge, "adjust", restless)
    found = survey(frame)
    assert {m.status for m in found.measures} == {"cannot tell"} and {m.value_mm for m in found.measures} == {None}
    assert not found.points and not found.shims and not found.heights
    (unknown,) = found.unknown  # and not that heights are missing, or readings too rough
    assert "contradict each other" in unknown.sentence
    assert found.sections  # and it can still be printed
