"""How a brake stretches steel, against printed numbers.

Sources, each named beside its rows: DIN 6935 (k = 0.65 + 0.5 lg(r/s), compensation value v), as reproduced in handbooks and in one
worked example of a trade textbook; FAA-H-8083-31, chapter on sheet metal, U-channel example; bend allowance A (R + K T) and deduction
2 (R + T) tan(A/2) - BA, computed beforehand with another program; Machinery's Handbook, straight stock for a 90 deg bend (constants
as reproduced, page not seen). Tolerance: half the last printed digit.
"""

from __future__ import annotations

import math

import pytest
from hypothesis import given
from hypothesis import strategies as st

from parts.bending import Din6935, KFactor, ShopRow, ShopTable, allowance_mm, deduction_mm, setback_mm
from parts.errors import BadInput

INCH = 25.4

# (r, s, opening angle, k, half of its last digit, v, half of its last digit)
DIN_ROWS = {
    "worked example, k read off a chart (textbook)": (6.0, 5.0, 60.0, 0.7, 0.05, 5.77, 0.005),
    "the same, k by the formula (DIN 6935)": (6.0, 5.0, 60.0, 0.689591, 5e-7, 5.822941, 5e-7),
    "r 1 s 1 (computed beforehand)": (1.0, 1.0, 90.0, 0.65, 5e-3, 1.918695, 5e-7),
    "r 4 s 3 (computed beforehand)": (4.0, 3.0, 90.0, 0.712469, 5e-7, 6.038098, 5e-7),
    "r 6 s 6 (computed beforehand)": (6.0, 6.0, 90.0, 0.65, 5e-3, 11.512169, 5e-7),
    "r 6 s 5 opened to 135 (computed beforehand)": (6.0, 5.0, 135.0, 0.689591, 5e-7, 3.046301, 5e-7),
    "r/s over 5 (computed beforehand)": (30.0, 5.0, 90.0, 1.0, 5e-7, 18.949119, 5e-7),
}


def compensation_mm(r: float, s: float, opening_deg: float, k_factor: float) -> float:
    """DIN 6935's v: both legs to the outer tangent up to an opening of 90 deg, to the outer apex above it."""
    turn = 180.0 - opening_deg
    both = 2 * (r + s) if opening_deg <= 90.0 else 2 * setback_mm(turn, r, s)
    return both - allowance_mm(turn, r, s, k_factor)


@pytest.mark.parametrize("row", DIN_ROWS.values(), ids=DIN_ROWS.keys())
def test_din_6935(row: tuple[float, ...]) -> None:
    r, s, opening, k, k_half, v, v_half = row
    found = Din6935().k(r, s, 180.0 - opening)
    assert 2 * found == pytest.approx(k, abs=k_half)
    assert compensation_mm(r, s, opening, k / 2 if k_half == 0.05 else found) == pytest.approx(v, abs=v_half)


@pytest.mark.parametrize("opening", [90.0, 120.0, 135.0, 165.0])
def test_to_the_apex_the_compensation_value_is_the_deduction(opening: float) -> None:
    """From 90 deg up DIN 6935's v and the shop's bend deduction are one formula."""
    assert compensation_mm(6.0, 5.0, opening, 0.35) == pytest.approx(deduction_mm(180.0 - opening, 6.0, 5.0, 0.35), abs=1e-12)


def test_k_of_din_6935_has_its_ends_where_the_standard_puts_them() -> None:
    rule = Din6935()
    assert rule.k(25.0001, 5.0, 90.0) == 0.5
    assert rule.k(25.0, 5.0, 90.0) == pytest.approx((0.65 + 0.5 * math.log10(5)) / 2)
    assert rule.k(0.3, 5.0, 90.0) == pytest.approx((0.65 + 0.5 * math.log10(0.06)) / 2)
    assert rule.k(0.25, 5.0, 90.0) == 0.0, "the formula gives -0.0003 there; no layer outside the steel"


@pytest.mark.parametrize("radius", [0.2499, 0.1, 0.0])
def test_below_a_twentieth_of_the_thickness_there_is_no_k(radius: float) -> None:
    with pytest.raises(BadInput) as caught:
        Din6935().k(radius, 5.0, 90.0)
    (fault,) = caught.value.faults
    assert fault.field == "inside_radius"
    assert "r/s = 0.05" in fault.limit
    assert "0.25 mm or more" in fault.limit
    assert fault.remedy


def test_u_channel_of_the_faa_handbook() -> None:
    """R 0.16 in, T 0.04 in, mould lines 1 / 2 / 1 in: setback 0.2 in, flats 0.8 / 1.6 / 0.8 in; whole tenths, so exact."""
    setback = setback_mm(90.0, 0.16 * INCH, 0.04 * INCH) / INCH
    assert setback == pytest.approx(0.2, abs=1e-12)
    assert [mould - ends * setback for mould, ends in ((1.0, 1), (2.0, 2), (1.0, 1))] == pytest.approx([0.8, 1.6, 0.8], abs=1e-12)


@pytest.mark.parametrize(
    ("t", "r", "angle", "k", "allowance", "deduction"),
    [(3.0, 3.0, 90.0, 0.42, 6.691592, 5.308408), (4.0, 4.0, 120.0, 0.40, 11.728613, 15.984200)],
)
def test_allowance_and_deduction(t: float, r: float, angle: float, k: float, allowance: float, deduction: float) -> None:
    assert allowance_mm(angle, r, t, k) == pytest.approx(allowance, abs=5e-7)
    assert deduction_mm(angle, r, t, k) == pytest.approx(deduction, abs=5e-7)
    assert allowance_mm(-angle, r, t, k) == allowance_mm(angle, r, t, k), "a bend down stretches as one up"
    assert deduction_mm(-angle, r, t, k) == deduction_mm(angle, r, t, k)


def test_tangent_and_apex_differ_where_the_bend_is_sharp() -> None:
    """T 4, R 4, turned by 120 deg: both legs to the apex are 2 (8 tan 60 - 8) = 11.7 mm longer than to the outer tangent."""
    assert 2 * (setback_mm(120.0, 4.0, 4.0) - 8.0) == pytest.approx(11.7, abs=0.05)


@pytest.mark.parametrize("c", [0.55, 0.64, 0.71])
def test_straight_stock_of_machinerys_handbook(c: float) -> None:
    """L = c T + 1.57 R for 90 deg, in inches; soft, half-hard and hard stock. T and R 0.125 in, c 0.64: 0.27625 in.

    c is K pi/2. Tolerance: half the last digit of c and of 1.57, each times an eighth of an inch.
    """
    t = r = 0.125
    k = c / (math.pi / 2)
    tolerance = 0.005 * t + 0.005 * r
    assert allowance_mm(90.0, r, t, k) == pytest.approx(c * t + 1.57 * r, abs=tolerance)
    if c == 0.64:
        assert allowance_mm(90.0, r, t, k) == pytest.approx(0.27625, abs=tolerance)


def test_one_k_for_all_and_its_range() -> None:
    assert KFactor(value=0.42).k(3.0, 3.0, 90.0) == 0.42
    for wrong in (-0.01, 0.51, math.nan, math.inf):
        with pytest.raises(BadInput, match=r"must be 0 to 0\.5"):
            KFactor(value=wrong)


SHOP = ShopTable(
    rows=(
        ShopRow(thickness_mm=3.0, inside_radius_mm=3.0, k=0.40),
        ShopRow(thickness_mm=3.0, inside_radius_mm=6.0, k=0.46),
        ShopRow(thickness_mm=3.0, inside_radius_mm=3.0, k=0.36, angle_deg=30.0),
        ShopRow(thickness_mm=4.0, inside_radius_mm=5.0, k=0.43),
    )
)


def test_the_shops_own_rows() -> None:
    assert SHOP.k(3.0, 3.0, 90.0) == 0.40
    assert SHOP.k(6.0, 3.0, 90.0) == 0.46
    assert SHOP.k(4.0, 3.0, 90.0) == pytest.approx(0.42), "a third of the way from 0.40 to 0.46"
    assert SHOP.k(4.0, 3.0, -90.0) == SHOP.k(4.0, 3.0, 90.0)
    assert SHOP.k(3.0, 3.0, 45.0) == 0.36, "45 is nearer 30 than 90"
    assert SHOP.k(3.0, 3.0, 75.0) == 0.40
    assert SHOP.k(3.0, 3.0, 60.0) == 0.36, "as near to both: the smaller"
    assert SHOP.k(5.0, 4.0, 90.0) == 0.43
    assert SHOP.k(5.0, 4.05, 90.0) == 0.43, "a sheet may be 2 % off its nominal thickness"


@pytest.mark.parametrize(
    ("radius", "thickness", "field", "says"),
    [
        (3.0, 5.0, "thickness", "has 3, 4 mm"),
        (5.0, 4.1, "thickness", "has 3, 4 mm"),
        (2.9, 3.0, "inside_radius", "3 to 6 mm"),
        (6.1, 3.0, "inside_radius", "3 to 6 mm"),
        (5.1, 4.0, "inside_radius", "5 to 5 mm"),
    ],
)
def test_nothing_is_extrapolated(radius: float, thickness: float, field: str, says: str) -> None:
    with pytest.raises(BadInput) as caught:
        SHOP.k(radius, thickness, 90.0)
    (fault,) = caught.value.faults
    assert fault.field == field
    assert says in fault.limit
    assert fault.value
    assert fault.remedy


def test_rows_of_other_angles_and_thicknesses_are_not_mixed() -> None:
    """Two rows as near as each other must not be run together into one line of radii."""
    table = ShopTable(
        rows=(
            ShopRow(thickness_mm=3.0, inside_radius_mm=2.0, k=0.30, angle_deg=80.0),
            ShopRow(thickness_mm=3.0, inside_radius_mm=4.0, k=0.34, angle_deg=80.0),
            ShopRow(thickness_mm=3.0, inside_radius_mm=3.0, k=0.50, angle_deg=100.0),
            ShopRow(thickness_mm=3.05, inside_radius_mm=3.0, k=0.10, angle_deg=90.0),
        )
    )
    assert table.k(3.0, 3.0, 90.0) == pytest.approx(0.32)
    with pytest.raises(BadInput, match="has none mm"):
        ShopTable(rows=()).k(3.0, 3.0, 90.0)


@given(st.floats(0.5, 12.0), st.floats(0.05, 8.0), st.floats(1.0, 160.0))
def test_k_never_leaves_the_sheet(t: float, ratio: float, angle: float) -> None:
    """The layer that keeps its length lies in the inner half; the zone is longer than its inside face and shorter than its outside."""
    r = max(ratio, 0.0502) * t
    k = Din6935().k(r, t, angle)
    assert 0.0 < k <= 0.5
    assert math.radians(angle) * r < allowance_mm(angle, r, t, k) < math.radians(angle) * (r + t)
