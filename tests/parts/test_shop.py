"""The shop section. K by DIN 6935 as in its formula: k = 0.65 + 0.5 lg(r/s), K = k/2; k = 0.712469 at r 4, s 3 (computed from the
formula, seven digits, tolerance half the last digit)."""

from __future__ import annotations

import pytest

from parts.errors import BadInput
from parts.shop import MeasuredBend, Shop, ShopBend


def test_every_field_has_a_default() -> None:
    shop = Shop()
    assert shop.process == "laser"
    assert shop.weld_gap_mm == 1.6  # AWS D1.1: a gap over 1.6 mm is added to the leg
    assert shop.bend_rule().k(inside_radius_mm=3, thickness_mm=3, angle_deg=90) == 0.42


def test_each_rule_gives_its_own_k() -> None:
    assert Shop(bend=ShopBend(k=0.33)).bend_rule().k(3, 3, 90) == 0.33
    assert Shop(bend=ShopBend(rule="din6935")).bend_rule().k(4, 3, 90) == pytest.approx(0.712469 / 2, abs=0.0000005)
    rows = (MeasuredBend(thickness_mm=3, inside_radius_mm=3, k=0.40), MeasuredBend(thickness_mm=3, inside_radius_mm=5, k=0.44))
    rule = Shop(bend=ShopBend(rule="table", rows=rows)).bend_rule()
    assert rule.k(5, 3, 90) == 0.44
    assert rule.k(4, 3, 90) == pytest.approx(0.42, abs=1e-12)  # halfway between the two rows


def test_a_table_without_rows_is_refused() -> None:
    with pytest.raises(BadInput, match=r"\[\[shop.bend.row\]\]"):
        ShopBend(rule="table")


@pytest.mark.parametrize("field", ["weld_gap_mm", "root_gap_mm", "inside_radius_mm"])
def test_values_out_of_range_are_refused(field: str) -> None:
    with pytest.raises(BadInput, match=field.removesuffix("_mm")):
        Shop(**{field: -1.0})  # type: ignore[arg-type]  # one field at a time, by name
