"""Rules for bends at their limits.

Sources: least inside radii: DIN 6935:1975 (a copy), across the rolling direction; beyond 120 deg the next thickness up; A36 is 400 to
550 MPa, so the middle column (390 to 490); unknown steel takes the last. Die V = 8 t for 3 to 8 mm and flange about 0.7 V: tool charts of
the trade. 3 t + r, 2 t + r from a hole's edge to the tangent: trade pages, which disagree.
"""

from __future__ import annotations

import math
from dataclasses import replace

import pytest

from generator.rules.bends import brake_length, flange_length, hole_to_bend, inside_radius, legs_mm
from parts.errors import Finding
from parts.outline import Contour
from parts.shop import Shop
from tests.generator.rules.makers import TINY, angle_piece, hole, one, piece, silent, straight, subject, told


@pytest.mark.parametrize(
    ("thickness", "angle", "grade", "least"),
    # DIN 6935:1975, rows to 3, 4, 5, 6 mm; middle column, then the first (S235JR: 360 MPa at 3 mm and above) and the last
    [(3, 90, "A36", 4), (4, 90, "A36", 5), (4, -90, "A36", 5), (4, 120, "A36", 5), (4, 121, "A36", 8), (5, 90, "A36", 8),
     (6, 90, "A36", 10), (6, 90, "S235JR", 8), (3, 90, "unknown", 5), (4, 90, "unknown", 6)],
)  # fmt: skip
def test_the_least_inside_radius(thickness: float, angle: float, grade: str, least: float) -> None:
    def found(radius: float) -> list[tuple[str, str]]:
        return told(inside_radius, angle_piece(thickness=thickness, angle=angle, grade=grade, radius=radius))

    assert found(least) == found(least + TINY) == found(least + 5) == []
    assert found(least - TINY) == found(least - 0.5) == [("inside-radius", "stop")]


def test_a_tight_radius_is_told_with_its_column_and_row() -> None:
    found = one(inside_radius, angle_piece(thickness=4, radius=3))
    assert (found.value, found.limit) == ("3 mm", "at least 5 mm")
    assert "DIN 6935:1975" in found.source and "column to 490" in found.source and "row to 4 mm" in found.source


def test_beyond_the_table_nothing_is_known_and_that_is_told() -> None:
    """The table ends at 12 mm."""
    assert told(inside_radius, angle_piece(thickness=12, radius=25, legs=(200, 200))) == []
    found = one(inside_radius, angle_piece(thickness=12.5, radius=40, legs=(200, 200)))
    assert (found.code, found.level) == ("inside-radius-unknown", "note") and "cannot tell" in found.message


def test_a_flat_plate_has_no_bend_to_judge() -> None:
    for rule in (inside_radius, flange_length, brake_length, hole_to_bend):
        assert silent(rule, piece(), None, Shop(brake_length_mm=500.0))


@pytest.mark.parametrize(("thickness", "least"), [(3, 16.8), (4, 22.4), (5, 28.0), (8, 44.8)])  # 0.7 x 8 t
@pytest.mark.parametrize("angle", [90.0, 45.0, -90.0, 135.0])
def test_the_leg_of_a_bend(thickness: float, least: float, angle: float) -> None:
    """Outside, by hand: what is flat, and (r + t) tan of half the turn; beyond 90 deg r + t, the outer tangent (DIN 6935's legs)."""
    radius = 2.0 * thickness
    flat = least - (radius + thickness) * math.tan(math.radians(min(abs(angle), 90.0)) / 2)

    def found(length: float, which: int) -> list[tuple[str, str]]:
        legs = (length, 300.0) if which == 0 else (300.0, length)
        return told(flange_length, angle_piece(thickness=thickness, radius=radius, angle=angle, legs=legs))

    for which in (0, 1):
        assert found(flat + 1e-5, which) == found(flat + 5, which) == []
        assert found(flat - 1e-4, which) == found(flat - 1, which) == [("flange-short", "note")]


def test_the_leg_does_not_depend_on_the_shops_k() -> None:
    of = angle_piece(legs=(100.0, 30.0))
    for k in (0.33, 0.5):
        one = subject(of, k=k)
        assert sorted(legs_mm(one.flat, one.flat.bends[0])) == pytest.approx([39.0, 109.0], abs=1e-9)  # flat + r + t, by hand


def test_a_slanted_leg_counts_as_long_as_at_its_middle() -> None:
    """A leg from 10 to 30 mm along the bend: 20 at its middle, and 20 + 9 outside; the limit is 22.4 for 4 mm. From 0.5 to 15.5: 8 + 9."""
    def slanted(a: float, b: float) -> Contour:
        return Contour(((0.0, 0.0), (200.0, 0.0), (200.0, b), (0.0, a)), (0.0,) * 4)

    assert told(flange_length, angle_piece(leg=slanted(10.0, 30.0))) == []
    found = one(flange_length, angle_piece(leg=slanted(0.5, 15.5)))
    assert (found.value, found.limit) == ("17.0 mm", "22.4 mm")


@pytest.mark.parametrize("thickness", [3.0 - 1e-3, 8.0 + 1e-3])
def test_the_charts_say_nothing_of_thinner_or_thicker_sheet(thickness: float) -> None:
    """V = 8 t is given for 3 to 8 mm."""
    assert silent(flange_length, angle_piece(thickness=thickness, radius=20.0, legs=(5.0, 5.0)))


def test_a_bend_as_long_as_the_brake() -> None:
    def found(brake: float) -> list[tuple[str, str]]:
        return told(brake_length, angle_piece(width=1250.0), None, Shop(brake_length_mm=brake))

    assert found(1250.0) == found(1250.0 + TINY) == []
    assert found(1250.0 - TINY) == found(1000.0) == [("bend-too-long", "stop")]
    assert silent(brake_length, angle_piece(width=12000.0)), "a shop that does not say how long its brake is is not judged"


# 4 mm, inside radius 5: 3 t + r = 17, 2 t + r = 13
def near_bend(gap: float, diameter: float = 13.0) -> list[tuple[str, str]]:
    return told(hole_to_bend, angle_piece(holes=[hole(100.0, gap + diameter / 2, diameter)]))


def test_a_hole_beside_a_bend() -> None:
    assert near_bend(17.0) == near_bend(17.0 + TINY) == near_bend(30.0) == []
    assert near_bend(17.0 - TINY) == near_bend(15.0) == near_bend(13.0) == [("hole-near-bend", "note")]
    assert near_bend(13.0 - TINY) == near_bend(1.0) == [("hole-near-bend", "warn")]


def test_a_slot_is_measured_by_its_edge_and_the_nearest_hole_is_told() -> None:
    """A slot of 10 x 40 square to the bend reaches 20 mm towards it from its centre."""
    slot = hole(60.0, 36.0, 10.0, "slot", kind="slot", length_mm=40.0, angle_deg=90.0)
    found = one(hole_to_bend, angle_piece(legs=(100.0, 80.0), holes=[slot, hole(150.0, 14.5 + 6.5)]))
    assert found.message.startswith("hole lies 14.5 mm from a bend (and 1 more")
    assert (found.value, found.limit) == ("14.5 mm", "3 t + r = 17.0 mm")


def test_what_the_part_says_of_a_hole_is_not_said_twice() -> None:
    said = Finding(code="hole-near-bend", level="warn", where="angle right", message="slot-1 lies 15.0 mm from the bend", value="15.0 mm")
    holes = [hole(100.0, 15.0 + 6.5)]
    assert told(hole_to_bend, angle_piece(holes=holes, findings=(said,))) == []
    assert told(hole_to_bend, angle_piece(holes=[hole(100.0, 14.0 + 6.5)], findings=(said,))) == [("hole-near-bend", "note")]


def test_a_hole_in_the_base_counts_too_and_the_use_of_the_vehicle_does_not() -> None:
    of = angle_piece()
    base = of.part.panels[0]
    part = replace(of.part, panels=(replace(base, holes=(hole(100.0, 10.0 + 6.5),)), of.part.panels[1]))
    for commercial in (False, True):
        assert told(hole_to_bend, replace(of, part=part), straight(commercial=commercial)) == [("hole-near-bend", "warn")]
