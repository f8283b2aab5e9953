"""The search on parts whose limits are known in closed form: the least change, of the fewest parameters, no claim beyond what was tried."""

from __future__ import annotations

from collections.abc import Callable
from dataclasses import dataclass
from fractions import Fraction
from typing import Any

import pytest

from generator.adapt.bench import Bench, Trial, Trials
from generator.adapt.fields import spots
from generator.adapt.lanes import Ruler, Steps, lanes_of
from generator.adapt.search import Nearest, Search
from parts import spec
from parts.errors import Fault
from parts.frame.frame import Frame
from parts.shop import Sheet, Shop
from parts.units import MM_PER_IN
from tests.generator.adapt.makers import bare_flatbed, frame_of

TENTH = Fraction(1, 10)
RULER = Ruler(units="mm", shop=Shop(), size_mm=1000)


@dataclass(frozen=True, kw_only=True)
class Stub:
    """Four parameters and no geometry."""

    id: str = spec.name("its id", default="stub")
    a_mm: float = spec.length("one", least=1, most=1000, default=100.0)
    b_mm: float = spec.length("another", least=1, most=1000, default=100.0)
    thickness_mm: float = spec.length("its sheet", least=1, most=25, default=4.0)
    bolt: str = spec.text("its bolts", default="M12")
    way: str = spec.choice("a way", ("split", "notch", "window"), default="window")

    needs = ()


Rule = Callable[[Stub], bool]


class StubBench(Bench):
    """Judges a stub by rules, each with the key that its fault names."""

    rules: dict[str, Rule]

    def build(self, part: Any) -> Trial:
        self.builds += 1
        wrong = [Fault(where="", field=key, limit=f"rule of {key}") for key, rule in self.rules.items() if not rule(part)]
        return Trial(part=part, faults=tuple(wrong))


def nearest(**rules: Rule) -> Nearest:
    frame: Frame = frame_of(bare_flatbed())
    bench = StubBench(frame=frame, shop=Shop(), judge=lambda p, f, where: ())
    bench.rules = rules
    part: Any = Stub()
    return Search(Trials(bench=bench, part=part, most=400), RULER, {}, frozenset()).run()


def test_the_first_value_on_the_grid_that_fits() -> None:
    """87.34 is the limit: 87.3 fits, 87.4 does not."""
    assert nearest(a=lambda s: s.a_mm <= 87.34).edits == {("a_mm",): 87.3}
    assert nearest(a=lambda s: s.a_mm >= 100.05).edits == {("a_mm",): 100.1}


def test_of_two_ways_the_nearer() -> None:
    assert nearest(a=lambda s: s.a_mm <= 70 or s.a_mm >= 121).edits == {("a_mm",): 121.0}
    assert nearest(a=lambda s: s.a_mm <= 80 or s.a_mm >= 121).edits == {("a_mm",): 80.0}


def test_a_parameter_that_no_fault_names() -> None:
    """The fault names the way; 6 mm less of b does it, which is less than another word."""
    assert nearest(way=lambda s: s.b_mm <= 94).edits == {("b_mm",): 94.0}


def test_one_that_cures_two_faults_leaves_the_other_as_it_was() -> None:
    found = nearest(a=lambda s: s.a_mm <= 90, a_mm=lambda s: s.a_mm <= 90)
    assert found.edits == {("a_mm",): 90.0}


def test_two_faults_two_changes() -> None:
    assert nearest(a=lambda s: s.a_mm <= 90, b=lambda s: s.b_mm >= 110).edits == {("a_mm",): 90.0, ("b_mm",): 110.0}


def test_two_at_once_where_neither_alone_is_enough() -> None:
    """Both must reach 120, and both keys are faulty until they do."""

    def both(s: Stub) -> bool:
        return min(s.a_mm, s.b_mm) >= 120

    assert nearest(a=both, b=both).edits == {("a_mm",): 120.0, ("b_mm",): 120.0}


def test_what_lies_too_far_is_not_found_and_what_was_tried_is_told() -> None:
    """100 to 500 is five times as much: another part."""
    found = nearest(a=lambda s: s.a_mm >= 500)
    assert found.edits == {} and not found.trial.fits
    assert {"a", "b", "thickness", "bolt"} <= set(found.tried) and found.builds <= 400


def test_sizes_come_from_tables() -> None:
    assert nearest(bolt=lambda s: s.bolt != "M12" and int(s.bolt[1:]) < 12).edits == {("bolt",): "M10"}  # ISO 273 has M10 below M12
    assert nearest(thickness=lambda s: s.thickness_mm < 3.5).edits == {("thickness_mm",): 3.0}
    (spot,) = [s for s in spots(Stub()) if s.key == "thickness"]
    rack = Ruler(units="mm", shop=Shop(sheets=(Sheet(length_mm=1000, width_mm=500, thickness_mm=2.0),)), size_mm=100)
    (lane,) = lanes_of(spot, rack)
    assert lane.change(1) == {("thickness_mm",): 2.0} and lane.length == 1  # what the shop has on its rack, no other


def test_a_word_that_a_remedy_names_comes_first() -> None:
    (spot,) = [s for s in spots(Stub()) if s.key == "way"]
    told, other = lanes_of(spot, RULER, [Fault(where="", field="way", limit="", remedy='way = "notch" or "split"')])
    assert [told.change(n) for n in (1, 2)] == [{("way",): "notch"}, {("way",): "split"}]
    assert told.told and other.length == 0


@pytest.mark.parametrize(
    ("old", "sign", "grid", "first", "end", "count"),
    [
        (3.0, 1, TENTH, 3.1, 3.5, 5),
        (3.0, -1, TENTH, 2.9, 2.5, 5),
        (3.04, 1, TENTH, 3.1, 3.5, 5),
        (3.04, -1, TENTH, 3.0, 2.5, 6),
        (-0.05, 1, TENTH, 0.0, 0.3, 4),
        (25.4, 1, MM_PER_IN / 64, 25.796875, 50.8, 64),
    ],
)
def test_the_grid(old: float, sign: int, grid: Fraction, first: float, end: float, count: int) -> None:
    """Counted on the fingers; 65/64 in x 25.4 = 25.796875 mm."""
    steps = Steps(old=old, sign=sign, grid=grid)
    assert steps.value(1) == first
    assert steps.count(end) == count
    assert steps.value(count) == pytest.approx(end, abs=1e-9)
    assert steps.number(end) == count
