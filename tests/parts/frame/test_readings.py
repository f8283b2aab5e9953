"""Readings, their accuracy, sets, limits: what each may hold, and what binds them to the frame."""

from __future__ import annotations

import math
from collections.abc import Callable
from typing import Any

import pytest

from parts.errors import BadInput, Fault
from parts.frame.instruments import bound_mm, instrument_names, scale_mm
from parts.frame.measured import ControlPoint, Limits, Reading, SectionReading, Support, SurveySet
from parts.frame.reading import DEFAULTS, KNOWN, READING_KINDS
from tests.parts.frame.makers import at, check_fault, demo_frame, frame, hole

POINTS = (ControlPoint(name="p", at=at("mid")), ControlPoint(name="q", at=at("front", 100)))


def reading(**fields: Any) -> Reading:
    return Reading(**{"name": "r", "kind": "height", "start": "p-left", "value_mm": 600.0, **fields})


def measured(*readings: Reading, **fields: Any) -> Any:
    return frame(control_points=POINTS, readings=readings, **fields)


# EU Directive 2014/32/EU, annex X, chapter I, table 1: a + b L, class I 0.1 + 0.1 L, class II 0.3 + 0.2 L in mm, L in metres rounded up.
# 1/16 in for 7 to 30 ft: NIST Handbook 44, 5.52; 1/16 in = 25.4 / 16 = 1.5875 mm. Exact.
@pytest.mark.parametrize(
    ("instrument", "length_mm", "expected_mm"),
    [
        ("tape I", 3000.0, 0.4), ("tape I", 5000.0, 0.6), ("tape I", 8000.0, 0.9), ("tape I", 3000.1, 0.5),
        ("tape II", 3000.0, 0.9), ("tape II", 5000.0, 1.3), ("tape II", 8000.0, 1.9), ("tape II", 2500.0, 0.9), ("tape II", -8000.0, 1.9),
        ("1/16 in tape", 2133.6, 1.5875), ("1/16 in tape", 9144.0, 1.5875), ("1/16 in tape", 9200.0, 3.175),
    ],
)  # fmt: skip
def test_what_a_tape_s_class_allows(instrument: str, length_mm: float, expected_mm: float) -> None:
    assert scale_mm(instrument, length_mm) == pytest.approx(expected_mm, abs=1e-12)


def test_aiming_comes_on_top_as_the_root_of_the_sum_of_squares() -> None:
    """Class II at 5 m: 1.3 mm, and 1 mm for both ends (common practice): sqrt(1.69 + 1) = 1.640 mm; sigma is half of a 95 % bound."""
    taken = reading(kind="distance", end="q-right", value_mm=5000.0, instrument="tape II")
    assert taken.bound_mm == pytest.approx(math.sqrt(2.69), abs=1e-12)
    assert taken.sigma_mm == pytest.approx(math.sqrt(2.69) / 2, abs=1e-12)
    assert all(bound_mm(name, length) > scale_mm(name, length) > 0 for name in instrument_names() for length in (0.0, 900.0, 14000.0))


def test_an_accuracy_that_is_given_counts_before_the_instrument() -> None:
    own = reading(accuracy_mm=3.0, instrument="water level")
    assert (own.sigma_mm, own.taken_with, own.accuracy_told) == (1.5, "", "3 mm, as given")


@pytest.mark.parametrize("kind", [k for k in READING_KINDS if k not in KNOWN])
def test_where_nothing_is_said_each_kind_has_a_named_default(kind: Any) -> None:
    end = "q-right" if kind in ("distance", "plan", "rise") else None
    bare, named = (reading(kind=kind, end=end, value_mm=2000.0, instrument=i) for i in (None, DEFAULTS[kind]))
    assert bare.sigma_mm == named.sigma_mm > 0
    assert bare.accuracy_told == f"{named.bound_mm:.1f} mm, taken to be a {DEFAULTS[kind]}'s"
    assert named.accuracy_told == f"{named.bound_mm:.1f} mm, {DEFAULTS[kind]}"


def test_what_is_known_is_held_and_not_adjusted() -> None:
    known = reading(kind="known z")
    assert known.held and (known.sigma_mm, known.accuracy_told) == (0.0, "held")


EACH: list[tuple[str, Callable[[], Any], str, str, str]] = [
    ("no end", lambda: reading(kind="rise"), "", "to", "from one point to another"),
    ("an end too many", lambda: reading(end="q-left"), "", "to", "taken at one point"),
    ("to itself", lambda: reading(kind="plan", end="p-left"), "", "to", "between two points"),
    ("a length of nothing", lambda: reading(kind="distance", end="q-left", value_mm=0.0), "", "value", "more than 0"),
    ("a vehicle too long", lambda: reading(value_mm=15000.0), "", "value", "-14000 to 14000 mm"),
    ("accuracy of nothing", lambda: reading(accuracy_mm=0.0), "", "accuracy", "0.01 to 100 mm"),
    ("an unknown instrument", lambda: reading(instrument="tape III"), "", "with", "must be one of tape I, tape II"),
    ("known, and give or take", lambda: reading(kind="known z", accuracy_mm=1.0), "", "accuracy", "held as given"),
    ("known, with a level", lambda: reading(kind="known z", instrument="laser"), "", "with", "held as given"),
    ("no such point", lambda: measured(reading(start="p-lfet")), "reading r", "from", "no control point of that name"),
    ("half of a pair", lambda: measured(reading(kind="rise", end="q")), "reading r", "to", "is a pair of control points"),
    ("a name twice", lambda: measured(reading(), reading(value_mm=601.0)), "reading r", "name", "another reading of that set"),
    ("a hole's name", lambda: measured(reading(name="pin"), holes=(hole(),)), "reading pin", "name", "a hole has this name"),
    (
        "held at two values", lambda: measured(reading(name="a", kind="known z"), reading(name="b", kind="known z")), "reading b", "kind",
        "held by reading a already",
    ),
    (
        "a set nobody declared", lambda: measured(reading(set="fuond"), sets=(SurveySet(name="found"),)), "reading r", "set",
        "declares sets, and none of that name",
    ),
    ("a section of nothing", lambda: SectionReading(name="s", at=at("mid")), "", "depth", "one size at least"),
    (
        "a section off the rail", lambda: frame(section_readings=(SectionReading(name="s", x_mm=3700.0, depth_mm=150.0),)),
        "section_reading s", "x", "past its rear end",
    ),
    (
        "a section twice",
        lambda: frame(section_readings=tuple(SectionReading(name="s", at=at("mid"), side=s, depth_mm=150.0) for s in ("both", "left"))),
        "section_reading s", "name", "of that side and set",
    ),
    (
        "a stand at no place", lambda: frame(sets=(SurveySet(name="found", supports=(Support(at=at("mdi")),)),)),
        "set found support number 1", "at", "has no place of that name",
    ),
    (
        "two stands at one place",
        lambda: SurveySet(name="found", supports=(Support(at=at("mid")), Support(at=at("mid"), side="left"))),
        "support number 2", "at", "another support of this set stands at the same place: left mid",
    ),
    ("two places", lambda: Support(at=at("mid"), x_mm=5.0), "", "at", "not both"),
    ("a stage unknown", lambda: SurveySet(name="found", stage="painted"), "", "stage", "found, straightened, tacked, welded"),  # type: ignore[arg-type]
    ("a limit of nothing", lambda: Limits(twist_mm=0.0), "", "twist", "0.1 to 200 mm"),
]  # fmt: skip


@pytest.mark.parametrize(("make", "where", "field", "limit"), [e[1:] for e in EACH], ids=[e[0] for e in EACH])
def test_each_fault_is_named(make: Callable[[], Any], where: str, field: str, limit: str) -> None:
    check_fault(make, where, field, limit)


def test_readings_of_two_sets_may_share_a_name() -> None:
    sets = (SurveySet(name="found"), SurveySet(name="tacked", stage="tacked"))
    both = measured(reading(), reading(set="tacked"), sets=sets)
    assert [r.set for r in both.readings] == ["found", "tacked"]


@pytest.mark.parametrize(("sets", "expected"), [((), "found"), ((SurveySet(name="march"), SurveySet(name="may")), "march")])
def test_what_names_no_set_belongs_to_the_first_one(sets: tuple[SurveySet, ...], expected: str) -> None:
    section = SectionReading(name="s", at=at("mid"), depth_mm=150.0)
    own = measured(reading(), sets=sets, section_readings=(section,))
    assert {own.readings[0].set, own.section_readings[0].set, own.first_set} == {expected}


def test_where_no_set_is_declared_any_name_will_do() -> None:
    assert measured(reading(set="autumn")).readings[0].set == "autumn"


def test_ten_thousand_slips_are_told_by_the_first_of_them() -> None:
    """The nearest names of each take a millisecond to find."""
    with pytest.raises(BadInput) as caught:
        measured(*(reading(name=f"r{i}", start=f"p-lfet{i}") for i in range(10_000)))
    faults: tuple[Fault, ...] = caught.value.faults
    assert len(faults) == 201
    assert faults[-1].limit == "has more than 200 such faults"


def test_the_flatbed_s_stands_lie_where_its_rails_lie() -> None:
    """The lower faces are drawn at 600 - 150 = 450 mm; the demo's stands are up to half a millimetre off that."""
    for support in demo_frame("orchard-flatbed").sets[0].supports:
        assert support.height_mm == pytest.approx(450.0, abs=0.5)


@pytest.mark.parametrize("kind", ["offset", "known y"])
def test_an_offset_without_its_sign_is_refused_with_the_sign_it_needs(kind: Any) -> None:
    """P's left point lies 430 mm left of the string, which is below 0. Adjusted as +430 the frame would be pulled by 860 mm."""
    check_fault(lambda: measured(reading(kind=kind, value_mm=431.5)), "reading r", "value", "430 mm to the left of the string")
    with pytest.raises(BadInput) as caught:
        measured(reading(kind=kind, value_mm=431.5))
    assert "-431.5 mm" in caught.value.faults[0].remedy
    assert measured(reading(kind=kind, value_mm=-431.5)).readings
    assert measured(reading(kind=kind, value_mm=12.0)).readings  # a bent frame, or a string that was moved aside
    assert measured(reading(kind=kind, start="q-right", value_mm=431.5)).readings
