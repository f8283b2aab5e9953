"""Fillet and plug sizes against AWS D1.1 4.5.5 and 4.11, AWS D1.1:2025 table 7.7, AISC 360 J2.2b; limits exact."""

from __future__ import annotations

import math

import pytest
from hypothesis import given
from hypothesis import strategies as st

from parts.csv_table import read_table
from parts.errors import BadInput
from parts.welds import (
    FilletRow,
    fillet_leg_mm,
    fillet_over_gap,
    plug_findings,
    plug_hole_mm,
    plug_pitch_mm,
    stitch_length_mm,
)


@pytest.mark.parametrize(
    ("thickness", "least", "most", "fill"),
    # AWS D1.1 4.5.5, worked by hand: t + 8; the larger of that + 3 and 2.25 x depth of weld; filled whole up to 16 mm.
    [(3, 11, 14, 3), (4, 12, 15, 4), (6, 14, 17, 6), (8.8, 16.8, 19.8, 8.8), (10, 18, 22.5, 10), (16, 24, 36, 16),
     (20, 28, 36, 16), (40, 48, 51, 20)],  # above 16 mm from memory
)  # fmt: skip
def test_plug_hole(thickness: float, least: float, most: float, fill: float) -> None:
    hole = plug_hole_mm(thickness)
    assert (hole.least_mm, hole.most_mm, hole.fill_mm) == pytest.approx((least, most, fill), abs=1e-9)
    assert hole.allows(hole.least_mm)
    assert hole.allows(hole.most_mm)
    assert not hole.allows(hole.least_mm - 1e-6)
    assert not hole.allows(hole.most_mm + 1e-6)


def test_plug_pitch() -> None:
    """AWS D1.1 4.5.5: at least 4 diameters."""
    assert plug_pitch_mm(12.0) == 48.0


def test_good_plugs_have_no_finding() -> None:
    assert plug_findings("rail-plate", diameter_mm=12, thickness_mm=4, pitch_mm=48, quenched="no") == ()


@pytest.mark.parametrize(
    ("diameter", "pitch", "code"),
    [(12 - 1e-6, 48, "plug-hole-size"), (15 + 1e-6, 61, "plug-hole-size"), (12, 48 - 1e-6, "plug-pitch"), (10, 48, "plug-hole-size")],
)
def test_plugs_off_their_limits(diameter: float, pitch: float, code: str) -> None:
    (found,) = plug_findings("rail-plate", diameter_mm=diameter, thickness_mm=4, pitch_mm=pitch, quenched="no")
    assert (found.code, found.level, found.where) == (code, "warn", "rail-plate")
    assert "AWS D1.1" in found.source


@pytest.mark.parametrize(
    ("quenched", "yield_mpa", "stopped"),
    # AWS D1.1: no plug welds on quenched and tempered steel above 485 MPa yield.
    [("no", None, False), ("no", 700, False), ("yes", 485, False), ("yes", 485.1, True), ("yes", None, True),
     ("unknown", None, True), ("unknown", 690, True), ("unknown", 250, False)],
)  # fmt: skip
def test_no_plugs_on_quenched_steel(quenched: str, yield_mpa: float | None, stopped: bool) -> None:
    found = plug_findings("rail-plate", diameter_mm=12, thickness_mm=4, quenched=quenched, yield_mpa=yield_mpa)  # type: ignore[arg-type]
    assert [(f.code, f.level) for f in found] == [("plug-quenched", "stop")] * stopped


@pytest.mark.parametrize(
    ("part", "onto", "low_hydrogen", "leg"),
    # AISC 360 table J2.4 / AWS D1.1:2025 table 7.7, static load, no edge: 3 up to 6 mm, 5 up to 13 mm (6 up to 19, 8 above: from memory),
    # by the thinner part for a low-hydrogen process, else by the thicker; never above the thinner part.
    [
        (3, 3, True, 3), (6, 6, True, 3), (6.01, 6.01, True, 5), (13, 13, True, 5), (13.01, 20, True, 6), (19, 19, True, 6),
        (19.01, 30, True, 8), (4, 10, True, 3), (10, 4, True, 3), (4, 10, False, 4), (10, 4, False, 4), (6, 10, False, 5),
        (6, 25, False, 6), (2, 2, True, 2), (8, 25, False, 8),
    ],
)  # fmt: skip
def test_least_leg(part: float, onto: float, low_hydrogen: bool, leg: float) -> None:
    fillet = fillet_leg_mm(part, onto, low_hydrogen, along_edge=False, cyclic=False)
    assert (fillet.leg_mm, fillet.least_mm, fillet.most_mm, fillet.built_out) == (leg, leg, None, False)
    assert ("thinner part, low-hydrogen process" if low_hydrogen else "not low-hydrogen") in fillet.notes[0]


@pytest.mark.parametrize(
    ("part", "onto", "leg", "most", "built_out"),
    [
        # AISC 360 J2.2b: along an edge at most t under 6 mm, else t - 2. Cyclic floor 5 mm, capped by the thinner part.
        (3, 4, 3, 3, False), (4, 4, 4, 4, False), (4, 10, 4, 4, False), (5, 5, 5, 5, False), (5.99, 8, 5, 5.99, False),
        (6, 8, 6, 4, True), (6.35, 8, 6.35, 4.35, True), (6.99, 8, 6.99, 4.99, True), (7, 8, 5, 5, False), (8, 8, 5, 6, False),
        (6, 4, 4, 4, False), (6, 3, 3, 4, False), (16, 16, 6, 14, False),
    ],
)  # fmt: skip
def test_leg_along_an_edge_under_load_that_comes_and_goes(part: float, onto: float, leg: float, most: float, built_out: bool) -> None:
    fillet = fillet_leg_mm(part, onto, True)
    assert fillet.most_mm is not None
    assert (fillet.leg_mm, fillet.most_mm) == pytest.approx((leg, most), abs=1e-9)
    assert fillet.built_out is built_out
    assert any("built out" in note for note in fillet.notes) is built_out


@pytest.mark.parametrize(
    ("part", "onto", "conflict"), [(4, 4, True), (3, 8, True), (8, 3, True), (4.99, 8, True), (5, 5, False), (8, 8, False)]
)
def test_the_cyclic_floor_is_shown_as_a_conflict_where_it_cannot_be_kept(part: float, onto: float, conflict: bool) -> None:
    """The 5 mm floor for cyclic load (AWS D1.1:2025 table 7.7, note) against a thinner part under 5 mm."""
    notes = fillet_leg_mm(part, onto, True, along_edge=False).notes
    assert any("5 mm floor for load that comes and goes cannot be kept" in note for note in notes) is conflict
    still = fillet_leg_mm(part, onto, True, along_edge=False, cyclic=False).notes
    assert not any("floor" in note for note in still)


@given(part=st.floats(1, 60), onto=st.floats(1, 60), low_hydrogen=st.booleans(), along_edge=st.booleans(), cyclic=st.booleans())
def test_a_leg_is_never_above_what_it_joins(part: float, onto: float, low_hydrogen: bool, along_edge: bool, cyclic: bool) -> None:
    """AWS D1.1:2025 table 7.7, note: never needed above the thinner part; along an edge never above its thickness."""
    fillet = fillet_leg_mm(part, onto, low_hydrogen, along_edge=along_edge, cyclic=cyclic)
    assert fillet.leg_mm <= (part if fillet.built_out else min(part, onto))
    if fillet.most_mm is not None and not fillet.built_out:
        assert fillet.leg_mm <= fillet.most_mm + 1e-9
    assert fillet.leg_mm >= min(3.0, part, onto)


def test_the_fillet_table_is_sorted_and_open_at_the_top() -> None:
    rows = read_table("fillet_leg", FilletRow).rows
    tops = [row.thickness_most_mm or math.inf for row in rows]
    assert tops == sorted(set(tops))
    assert tops[-1] == math.inf
    assert [row.leg_mm for row in rows] == sorted({row.leg_mm for row in rows})


@pytest.mark.parametrize(
    ("gap", "leg", "level"),
    # AWS D1.1: up to 1.6 mm as it is, above that the gap is added to the leg, never over 5 mm.
    [(0, 4, None), (1.6, 4, None), (1.6 + 1e-6, 5.600001, "warn"), (5, 9, "warn"), (5 + 1e-6, 9.000001, "stop"), (12, 16, "stop")],
)
def test_gap_under_a_fillet(gap: float, leg: float, level: str | None) -> None:
    found_leg, findings = fillet_over_gap("rail-plate", 4, gap)
    assert found_leg == pytest.approx(leg, abs=1e-9)
    assert [f.level for f in findings] == ([level] if level else [])


@pytest.mark.parametrize(("leg", "length"), [(3, 38), (9.5, 38), (10, 40)])
def test_stitch_length(leg: float, length: float) -> None:
    """AISC 360 J2.2b: at least 4 legs and 38 mm."""
    assert stitch_length_mm(leg) == length


@pytest.mark.parametrize("value", [0, -1, math.nan, math.inf, 100.1])
def test_thicknesses_out_of_range(value: float) -> None:
    for ask in (lambda: plug_hole_mm(value), lambda: fillet_leg_mm(value, 4, True), lambda: fillet_leg_mm(4, value, True)):
        with pytest.raises(BadInput, match="must be above 0, at most 100 mm"):
            ask()
    with pytest.raises(BadInput, match="must be 0 mm or more"):
        fillet_over_gap("x", 4, -1)
