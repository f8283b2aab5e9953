"""Rules for holes in a rail, each at, just inside and just outside its limit.

Sources of the limits: TM 9-2320-289-34 p. 9-7 (13 mm apart, fewer than 4 on a vertical line, 2 t from a reinforcement's edge, no
flange holes, no torch-cut holes); one maker's current guide (38 mm to the flange, 25 mm or 1.5 d apart, at most 19 mm, 3 in a row,
13 mm beside a reinforcement); VSB 6 section H (bolt + 1.0 mm, drilled, not elongated); 49 CFR 393.201 (flange holes).
"""

from __future__ import annotations

import math
from typing import Any

import pytest
from hypothesis import given
from hypothesis import strategies as st

from parts.errors import BadInput, Finding
from parts.hardware import rail_hole
from parts.hole_rules import (
    FLANGE_LAW,
    MAKERS_GUIDE,
    REPAIR_MANUAL,
    VEHICLE_CODE,
    RailHole,
    Use,
    beside_reinforcement_findings,
    flange_hole_findings,
    reinforcement_hole_findings,
    web_hole_findings,
    web_hole_limits,
)

TINY = 1e-6
HOBBY = Use(commercial="no", heat_treated="no")
COMMERCIAL = Use(commercial="yes", heat_treated="no")
HEAT_TREATED = Use(commercial="no", heat_treated="yes")
RAIL: dict[str, Any] = {"inside_low_mm": 8.0, "inside_high_mm": 192.0}  # a 200 mm rail with 8 mm flanges


def hole(name: str = "new", *, along: float = 0.0, up: float = 100.0, diameter: float = 13.0, **more: Any) -> RailHole:
    return RailHole(name=name, along_mm=along, up_mm=up, diameter_mm=diameter, **more)


def codes(found: tuple[Finding, ...]) -> list[tuple[str, str]]:
    return [(f.code, f.level) for f in found]


def web(new: RailHole, *others: RailHole, use: Use = COMMERCIAL) -> tuple[Finding, ...]:
    return web_hole_findings("rail left", new, **RAIL, neighbours=others, use=use)


def test_a_hole_in_the_open_web_breaks_no_rule() -> None:
    assert web(hole(bolt_mm=12.0)) == ()


@pytest.mark.parametrize("more", [0.0, TINY, 10.0])
@pytest.mark.parametrize(("flange", "limit_up"), [("lower", 8 + 38 + 6.5), ("upper", 192 - 38 - 6.5)])
def test_38_mm_to_the_flange(flange: str, limit_up: float, more: float) -> None:
    """One maker's guide: hole edge to the inside of the flange."""
    inward = more if flange == "lower" else -more
    assert web(hole(up=limit_up + inward)) == ()
    found = web(hole(up=limit_up - (inward or (2 * TINY if flange == "lower" else -2 * TINY))))
    assert codes(found) == [(f"hole-near-{flange}-flange", "warn")]
    assert (found[0].source, found[0].limit) == (MAKERS_GUIDE.source, "at least 38 mm")


def test_a_message_holds_its_numbers() -> None:
    (found,) = web(hole(up=8 + 30 + 6.5))
    assert found.message == "30 mm from the hole's edge to the inside of the lower flange, at least 38 mm asked (binds commercial rails)"
    assert (found.where, found.value, found.limit) == ("rail left", "30 mm", "at least 38 mm")


@pytest.mark.parametrize(
    ("diameter", "other", "gap"),
    # One maker's guide: 25 mm; above 16 mm 1.5 d of the larger, where that is more (16.5: 24.75, 18: 27, 19: 28.5).
    [(13, 13, 25), (16, 16, 25), (16.5, 16, 25), (18, 18, 27), (13, 19, 28.5), (19, 13, 28.5)],
)
def test_gap_between_two_holes(diameter: float, other: float, gap: float) -> None:
    along = (diameter + other) / 2 + gap
    assert web(hole(diameter=diameter), hole("old", along=along, diameter=other)) == ()
    assert web(hole(diameter=diameter), hole("old", along=-along, diameter=other)) == ()
    (found,) = web(hole(diameter=diameter), hole("old", along=along - 2 * TINY, diameter=other))
    assert (found.code, found.level, found.limit) == ("holes-close", "warn", f"at least {gap:g} mm")
    assert "hole new and hole old" in found.message


def test_the_gap_is_measured_slantwise() -> None:
    """3-4-5: centres 30 along and 40 up are 50 apart, less 2 x 12.5 is 25."""
    assert web(hole(diameter=12.5 * 2 - 9, up=80.0), hole("old", along=30.0, up=120.0, diameter=16.0)) == ()
    assert codes(web(hole(diameter=16.0, up=80.0), hole("old", along=24.0, up=112.0, diameter=16.0))) == [("holes-close", "warn")]


def test_the_strictest_wins_within_a_level_only() -> None:
    """10 mm apart breaks 13 mm (manual) and 25 mm (maker), both warnings: one finding, the maker's."""
    (found,) = web(hole(), hole("old", along=23.0))
    assert (found.limit, found.source) == ("at least 25 mm", MAKERS_GUIDE.source)
    assert len(web(hole(), hole("old", along=23.0), hole("older", along=-23.0))) == 2


def test_a_hole_that_leaves_13_but_not_25_mm_breaks_the_makers_rule_only() -> None:
    assert REPAIR_MANUAL.gap_mm(13.0) == 13.0
    (found,) = web(hole(), hole("old", along=13 + 13))
    assert found.source == MAKERS_GUIDE.source


@pytest.mark.parametrize(("count", "bad"), [(2, False), (3, False), (4, True), (5, True)])
def test_never_four_on_one_vertical_line(count: int, bad: bool) -> None:
    """Manual and maker agree on 3, so one finding names both."""
    holes = [hole(f"h{i}", up=60.0 + 38.0 * i) for i in range(count)]
    found = web_hole_findings("rail", holes[0], inside_low_mm=8, inside_high_mm=400, neighbours=holes, use=COMMERCIAL)
    assert codes(found) == [("holes-on-one-line", "warn")] * bad
    if bad:
        assert found[0].message.startswith(f"one vertical line cuts {count} holes, at most 3 allowed")
        assert found[0].source == f"{REPAIR_MANUAL.source}; {MAKERS_GUIDE.source}"


@pytest.mark.parametrize(("shift", "bad"), [(12.9, True), (13.0, False), (13.1, False), (-12.9, True), (-13.0, False)])
def test_a_line_cuts_holes_that_stand_aside(shift: float, bad: bool) -> None:
    """The fourth 13 mm hole counts until it stands a whole hole aside: then no line cuts all four."""
    holes = [hole(f"h{i}", up=60.0 + 38.0 * i) for i in range(3)]
    found = web_hole_findings(
        "rail", hole("new", along=shift, up=60.0 + 38.0 * 3), inside_low_mm=8, inside_high_mm=400, neighbours=holes, use=COMMERCIAL
    )
    assert codes(found) == [("holes-on-one-line", "warn")] * bad


def test_holes_to_both_sides_are_not_on_one_line() -> None:
    """Two to the left and two to the right of the new hole each overlap it, but no vertical line cuts more than three."""
    others = [hole(f"h{i}", along=side * 8.0, up=up) for i, (side, up) in enumerate([(-1, 60), (-1, 180), (1, 60 + 40), (1, 260)])]
    new = hole(up=140.0)
    found = web_hole_findings("rail", new, inside_low_mm=8, inside_high_mm=400, neighbours=others, use=COMMERCIAL)
    assert "holes-on-one-line" not in [f.code for f in found]


@pytest.mark.parametrize(("diameter", "bad"), [(18.9, False), (19.0, False), (19.0 + 2 * TINY, True), (25.0, True)])
def test_at_most_19_mm(diameter: float, bad: bool) -> None:
    assert codes(web(hole(diameter=diameter))) == [("hole-large", "warn")] * bad


@pytest.mark.parametrize(
    ("bolt", "diameter", "bad"), [(12, 13.0, False), (12, 13.0 + 2 * TINY, True), (12, 13.5, True), (10, 11, False), (16, 17.5, True)]
)
def test_at_most_a_millimetre_of_play(bolt: float, diameter: float, bad: bool) -> None:
    """VSB 6 section H: ISO 273 medium passes at M10 and not at M12."""
    found = web(hole(diameter=diameter, bolt_mm=bolt))
    assert codes(found) == [("hole-loose", "stop")] * bad
    assert all(f.source == VEHICLE_CODE.source for f in found)


@pytest.mark.parametrize(("size", "bolt"), [("M12", 12.0), ("M16", 16.0), ("1/2 in", 12.7), ("5/8 in", 15.875)])
def test_the_hole_for_a_rail_passes_the_rule_for_rails(size: str, bolt: float) -> None:
    assert web(hole(diameter=rail_hole(size).diameter_mm, bolt_mm=bolt)) == ()


def test_drilled_and_round() -> None:
    """Manual and VSB 6 both refuse torch-cut holes, at their own levels; only VSB 6 speaks of elongated ones."""
    assert sorted(codes(web(hole(method="flame cut")))) == [("hole-flame-cut", "stop"), ("hole-flame-cut", "warn")]
    assert codes(web(hole(elongated=True))) == [("hole-elongated", "stop")]


BROKEN: dict[str, Any] = {"method": "flame cut", "bolt_mm": 10.0, "elongated": True}


@pytest.mark.parametrize(
    ("use", "levels"),
    [
        (COMMERCIAL, {"hole-loose": {"stop"}, "hole-near-lower-flange": {"warn"}, "hole-flame-cut": {"stop", "warn"}}),
        (HEAT_TREATED, {"hole-loose": {"note"}, "hole-near-lower-flange": {"warn"}, "hole-flame-cut": {"note", "warn"}}),
        (HOBBY, {"hole-loose": {"note"}, "hole-near-lower-flange": {"note"}, "hole-flame-cut": {"note"}}),
        (Use(), {"hole-loose": {"stop"}, "hole-near-lower-flange": {"warn"}, "hole-flame-cut": {"stop", "warn"}}),
    ],
)
def test_a_rule_binds_only_the_use_it_is_written_for(use: Use, levels: dict[str, set[str]]) -> None:
    found = web(hole(up=30.0, **BROKEN), use=use)
    for code, expected in levels.items():
        assert {f.level for f in found if f.code == code} == expected
    assert web_hole_findings("rail left", hole(up=30.0, **BROKEN), **RAIL) == web(hole(up=30.0, **BROKEN), use=Use())


def test_what_does_not_bind_says_so() -> None:
    (bound,) = web(hole(up=30.0), use=COMMERCIAL)
    (free,) = web(hole(up=30.0), use=HOBBY)
    (unknown,) = web(hole(up=30.0), use=Use())
    assert "(binds commercial rails)" in bound.message
    assert "(written for commercial or heat-treated rails, which this one is not)" in free.message
    assert "not known of this one, so held" in unknown.message


def test_flange_holes() -> None:
    """49 CFR 393.201, a law for commercial vehicles, lifted by the vehicle maker's word; the manual warns beside it."""
    assert codes(flange_hole_findings("rail left", use=COMMERCIAL)) == [("flange-hole", "stop"), ("flange-hole", "warn")]
    assert flange_hole_findings("rail left", use=COMMERCIAL)[0].source == FLANGE_LAW.source
    assert codes(flange_hole_findings("rail left", use=COMMERCIAL, makers_word=True)) == [("flange-hole", "warn")]
    assert codes(flange_hole_findings("rail left", use=HEAT_TREATED)) == [("flange-hole", "note"), ("flange-hole", "warn")]
    assert codes(flange_hole_findings("rail left", use=HOBBY)) == [("flange-hole", "note")]
    assert codes(flange_hole_findings("rail left")) == [("flange-hole", "stop"), ("flange-hole", "warn")]


@pytest.mark.parametrize(
    ("edge", "thickness", "bad"), [(8.0, 4.0, False), (8.0 - 2 * TINY, 4.0, True), (9.525, 4.7625, False), (9.5, 4.7625, True)]
)
def test_two_thicknesses_from_a_reinforcements_edge(edge: float, thickness: float, bad: bool) -> None:
    found = reinforcement_hole_findings("rail-plate", edge_mm=edge, thickness_mm=thickness, use=COMMERCIAL)
    assert codes(found) == [("reinforcement-hole-edge", "warn")] * bad


@pytest.mark.parametrize(("gap", "bad"), [(13.0, False), (13.0 - 2 * TINY, True), (0.0, True), (-5.0, True)])
def test_13_mm_beside_a_reinforcement(gap: float, bad: bool) -> None:
    found = beside_reinforcement_findings("rail left", gap_mm=gap, use=COMMERCIAL)
    assert codes(found) == [("hole-beside-reinforcement", "warn")] * bad


@given(
    diameter=st.floats(5.0, 19.0),
    columns=st.integers(1, 4),
    rows=st.integers(1, 3),
    use=st.sampled_from([HOBBY, COMMERCIAL, HEAT_TREATED, Use()]),
)
def test_a_pattern_at_the_limits_breaks_no_rule(diameter: float, columns: int, rows: int, use: Use) -> None:
    """What `web_hole_limits` gives is enough for every set and use, in a web just high enough."""
    limits = web_hole_limits(diameter)
    assert diameter <= limits.largest_mm
    assert rows <= limits.most_on_a_line
    pitch = diameter + limits.hole_gap_mm
    first = 8.0 + limits.flange_gap_mm + diameter / 2
    top = first + (rows - 1) * pitch + diameter / 2 + limits.flange_gap_mm
    holes = [hole(f"{c}{r}", along=c * pitch, up=first + r * pitch, diameter=diameter) for c in range(columns) for r in range(rows)]
    for one in holes:
        assert web_hole_findings("rail", one, inside_low_mm=8.0, inside_high_mm=top, neighbours=holes, use=use) == ()


def test_the_limits_are_the_strictest() -> None:
    limits = web_hole_limits(13.0)
    assert (limits.flange_gap_mm, limits.hole_gap_mm, limits.largest_mm) == (38, 25, 19)
    assert (limits.most_on_a_line, limits.beside_reinforcement_mm) == (3, 13)
    assert web_hole_limits(18.0).hole_gap_mm == 27.0


@pytest.mark.parametrize(
    ("field", "value", "says"),
    [("diameter_mm", 0.0, "diameter: 0.0: must be above 0 mm"), ("diameter_mm", math.nan, "diameter: nan"),
     ("diameter_mm", -1.0, "diameter"), ("up_mm", math.inf, "up: inf: a finite number"), ("along_mm", math.nan, "along: nan"),
     ("bolt_mm", 0.0, "bolt: 0.0")],
)  # fmt: skip
def test_a_hole_that_is_none(field: str, value: float, says: str) -> None:
    fields: dict[str, Any] = {"name": "x", "along_mm": 0.0, "up_mm": 0.0, "diameter_mm": 13.0, field: value}
    with pytest.raises(BadInput, match=f"hole x: {says}"):
        RailHole(**fields)


def test_every_fault_of_a_hole_at_once() -> None:
    with pytest.raises(BadInput) as caught:
        RailHole(name="x", along_mm=math.nan, up_mm=math.inf, diameter_mm=-1.0, bolt_mm=0.0)
    assert len(caught.value.faults) == 4


@pytest.mark.parametrize(("low", "high"), [(8.0, 8.0), (192.0, 8.0), (math.nan, 8.0)])
def test_flanges_in_order(low: float, high: float) -> None:
    with pytest.raises(BadInput, match="must lie above"):
        web_hole_findings("rail", hole(), inside_low_mm=low, inside_high_mm=high)
