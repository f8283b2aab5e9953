"""Steel grades and least inside radii. Radii against DIN 6935:1975 (a copy; the 2011 edition not seen), printed to 0.1 mm and exact."""

from __future__ import annotations

import math
from itertools import pairwise

import pytest

from parts.csv_table import read_table
from parts.errors import BadInput
from parts.material import UNKNOWN, RadiusRow, grades, least_inside_radius_mm, steel

# DIN 6935:1975: thickness up to, then the least radius for least tensile strength up to 390, 490 and 640 MPa.
DIN_6935 = (
    (1, 1, 1.2, 1.6), (1.5, 1.6, 2, 2.5), (2.5, 2.5, 3, 4), (3, 3, 4, 5), (4, 5, 5, 6), (5, 6, 8, 8), (6, 8, 10, 10), (7, 10, 12, 12),
    (8, 12, 16, 16), (10, 16, 20, 20), (12, 20, 25, 25),
)  # fmt: skip
# A grade in each column at every thickness: S235JR at least 360 MPa (EN 10025-2), A36 400 MPa (ASTM A36), unknown: the last.
COLUMNS = ("S235JR", "A36", "unknown")


@pytest.mark.parametrize("row", DIN_6935)
def test_least_radius_in_every_cell(row: tuple[float, ...]) -> None:
    thickness, *radii = row
    assert [least_inside_radius_mm(thickness, grade)[0] for grade in COLUMNS] == radii


@pytest.mark.parametrize(("below", "above"), list(pairwise(DIN_6935)))
def test_a_thickness_just_over_a_row_takes_the_next(below: tuple[float, ...], above: tuple[float, ...]) -> None:
    assert [least_inside_radius_mm(below[0] + 1e-6, grade)[0] for grade in COLUMNS] == list(above[1:])


@pytest.mark.parametrize(
    ("thickness", "grade", "angle", "along", "radius"),
    [
        (4, "A36", 90, False, 5), (4, "A36", 120, False, 5), (4, "A36", -120, False, 5),
        (4, "A36", 120.1, False, 8), (4, "A36", -150, False, 8), (4, "A36", 90, True, 8), (4, "A36", 150, True, 8),
        (3 / 16 * 25.4, "A36", 90, False, 8), (0.1345 * 25.4, "A36", 90, False, 5), (0.25 * 25.4, "A36", 90, False, 12),
    ],
)  # fmt: skip
def test_steep_bends_and_the_rolling_direction(thickness: float, grade: str, angle: float, along: bool, radius: float) -> None:
    """DIN 6935:1975: along the rolling direction or beyond 120 degrees the next thickness up, once. 3/16 in, 10 ga, 1/4 in plate."""
    assert least_inside_radius_mm(thickness, grade, angle, along)[0] == radius


def test_the_source_names_standard_column_row_and_why() -> None:
    _, plain = least_inside_radius_mm(4, "A36")
    assert plain == "DIN 6935:1975 least inside radius, least tensile strength 400 MPa, column to 490, row to 4 mm"
    _, up = least_inside_radius_mm(4, "unknown", 130, True)
    assert "last column, as the strength of steel 'unknown' is not known" in up
    assert up.endswith("row to 5 mm (next thickness up: along the rolling direction and beyond 120 degrees)")


def test_a_thin_sheet_is_judged_by_its_own_strength() -> None:
    """EN 10025-2 (from memory): S355 has at least 510 MPa below 3 mm and 470 from 3 mm on, which are two columns."""
    assert least_inside_radius_mm(2.99, "S355")[0] == 5  # last column, row to 3
    assert least_inside_radius_mm(3, "S355")[0] == 4  # middle column, row to 3


@pytest.mark.parametrize(
    ("thickness", "angle", "along", "says"),
    [
        (12.1, 90, False, "12.1 mm: the table of least radii covers above 0 to 12 mm"),
        (0, 90, False, "above 0 to 12 mm"),
        (-3, 90, False, "above 0 to 12 mm"),
        (math.nan, 90, False, "above 0 to 12 mm"),
        (math.inf, 90, False, "above 0 to 12 mm"),
        (12, 90, True, "ends at 12 mm, and this bend needs the next thickness up"),
        (12, 121, False, "ends at 12 mm, and this bend needs the next thickness up"),
        (4, 0, False, "a bend turns above 0 to 180 degrees"),
        (4, 180.5, False, "a bend turns above 0 to 180 degrees"),
        (4, math.nan, False, "a bend turns above 0 to 180 degrees"),
    ],
)
def test_what_the_radius_table_does_not_cover(thickness: float, angle: float, along: bool, says: str) -> None:
    with pytest.raises(BadInput, match=says):
        least_inside_radius_mm(thickness, "A36", angle, along)


def test_radii_never_fall_with_thickness_or_strength() -> None:
    rows = read_table("inside_radius", RadiusRow).rows
    assert [row.thickness_mm for row in rows] == sorted({row.thickness_mm for row in rows})
    for row in rows:
        assert row.to_390_mm <= row.to_490_mm <= row.to_640_mm
    for name in ("to_390_mm", "to_490_mm", "to_640_mm"):
        column = [getattr(row, name) for row in rows]
        assert column == sorted(column)


@pytest.mark.parametrize(
    ("name", "yield_mpa", "least", "most"),
    [
        ("A36", 250, 400, 550),  # ASTM A36: tensile range as reproduced; yield from memory
        ("S235JR", 235, 360, 510),  # EN 10025-2, from memory
        ("S275JR", 275, 410, 560),  # EN 10025-2, from memory
        ("S355", 355, 470, 630),  # EN 10025-2, from memory
        ("S355MC", 355, 430, 550),  # EN 10149-2, from memory
        ("S420MC", 420, 480, 620),  # EN 10149-2, from memory
    ],
)
def test_strengths(name: str, yield_mpa: float, least: float, most: float) -> None:
    metal = steel(name)
    assert (metal.yield_mpa, metal.tensile_mpa) == (yield_mpa, (least, most))
    assert "from memory" in metal.sure


@pytest.mark.parametrize(
    ("name", "ksi"),
    # From memory: ASTM A1011 HSLAS 50 class 2: 60 ksi; ASTM A513 type 5 1020: 80 ksi; ASTM A572 50: 65 ksi; SAE J1397 hot rolled:
    # 1008 44, 1010 47, 1020 55 ksi. Standards that give MPa as well round them: to the ten: within 5 MPa.
    [("HSLA 50", 60), ("1020 DOM", 80), ("A572 50", 65), ("SAE 1008", 44), ("SAE 1010", 47), ("SAE 1020", 55)],
)
def test_strengths_given_in_ksi(name: str, ksi: float) -> None:
    assert steel(name).tensile_mpa[0] == pytest.approx(ksi * 6.894757, abs=5.0)


@pytest.mark.parametrize("name", grades())
def test_every_grade_is_steel(name: str) -> None:
    """7850 kg/m3: EN 1991-1-1, never the gauge table's 41.82 lb/ft2/in, which is 2.4 % more."""
    metal = steel(name)
    assert metal.density_kg_m3 == 7850.0
    assert 200_000 <= metal.elastic_modulus_mpa <= 210_000  # AISC 360: 200 GPa; EN 1993-1-1: 210 GPa (from memory)
    assert metal.source
    for least, most in (metal.tensile_mpa, metal.thin_tensile_mpa):
        assert least is None or most is None or least < most
        assert metal.yield_mpa is None or (least is not None and metal.yield_mpa < least)
    assert metal.mass_kg(1e9) == pytest.approx(7850.0)


@pytest.mark.parametrize(
    ("text", "grade"),
    [("a36", "A36"), ("ASTM A36", "A36"), ("astm-a36", "A36"), (" S235JR ", "S235JR"), ("1.0038", "S235JR"), ("S355J2", "S355"),
     ("dom", "1020 DOM"), ("Mild steel", "mild"), ("C1010", "SAE 1010"), ("UNKNOWN", "unknown")],
)  # fmt: skip
def test_names_of_a_grade(text: str, grade: str) -> None:
    assert steel(text).grade == grade


def test_a_trade_word_promises_no_strength() -> None:
    """`mild` is no standard: what it promises is not guessed, so its bends take the last column."""
    for metal in (steel("mild"), UNKNOWN):
        assert (metal.yield_mpa, metal.tensile_mpa) == (None, (None, None))
    assert steel("unknown") is UNKNOWN
    assert least_inside_radius_mm(4, "mild")[0] == 6


@pytest.mark.parametrize(("text", "near"), [("S235JO", "S235JR"), ("A63", "A36"), ("S355NC", "S355MC"), ("1010 steel", "1010")])
def test_an_unknown_grade_offers_the_nearest(text: str, near: str) -> None:
    with pytest.raises(BadInput, match="no such grade in the table; nearest: ") as caught:
        steel(text)
    assert near in str(caught.value).split("; known:")[0]


@pytest.mark.parametrize("text", ["", "?", "x" * 1_000_000, "aluminium\n6061"])
def test_a_name_far_from_any_grade_lists_them_all(text: str) -> None:
    with pytest.raises(BadInput) as caught:
        steel(text)
    message = str(caught.value)
    assert "known: 1020 DOM, A36" in message
    assert len(message) < 400
    assert "\n" not in message
