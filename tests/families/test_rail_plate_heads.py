"""Heads, open holes and brackets that a rail plate meets."""

from __future__ import annotations

from typing import Any

import pytest

from parts.families.rail_plate import Around, PickUp
from parts.frame import Frame
from parts.frame.features import Bracket, FrameHole
from tests.families.rail_plates import (
    axes,
    codes,
    crossmember,
    hole,
    one,
    straight,
)  # fmt: skip
from tests.parts.frame.makers import at


def pick(name: str, **more: Any) -> tuple[PickUp, ...]:
    return (PickUp(hole=name, **more),)


# --- heads under a plate ---


@pytest.mark.parametrize("filled", ["rivet", "bolt", "nut"])
def test_a_head_gets_a_clearance_hole_or_goes_on_the_list(filled: str) -> None:
    """Head measured 20 mm across: 1 mm of air all round, 22 mm."""
    on = straight(holes=(hole("h", at("front", 500), 75, 10, filled=filled, head_diameter_mm=20),))
    piece = one(on, seat="inside")
    point, _, axis = axes(piece)["clear-h"]
    assert (point[0], point[2], axis.diameter_mm) == pytest.approx((500, 525, 22))
    assert not piece.removals
    piece = one(on, seat="inside", heads="remove")
    assert not axes(piece)
    (removal,) = piece.removals
    assert (removal.name, removal.what, removal.where) == ("h", filled, "rail right web") and removal.how


def test_a_head_too_near_the_edge_goes_on_the_list() -> None:
    """Plate from 11 up; hole at 25 up, 22 mm clearance: 14 - 11 = 3 mm of steel, 6 asked (2 thicknesses)."""
    on = straight(holes=(hole("h", at("front", 500), 25, 10, filled="rivet", head_diameter_mm=20),))
    piece = one(on, seat="inside")
    assert not axes(piece)
    assert "no room in the plate for a clearance hole of 22.0 mm" in piece.removals[0].why


def test_a_head_in_a_window_is_in_nothings_way() -> None:
    on = straight(
        holes=(hole("h", at("front", 800), 75, 10, filled="bolt"), hole("o", at("front", 810), 60, 10)),
        crossmembers=(crossmember("cm", 800, removable=True, drop=25),),
    )
    piece = one(on, seat="inside", around=(Around(crossmember="cm", way="window", out_first=True),))
    assert [r.what for r in piece.removals] == ["crossmember"]
    assert "covers-open-hole" not in codes(piece)


def test_an_open_hole_under_a_plate_on_the_web_is_told_and_one_behind_a_boxing_plate_is_not() -> None:
    on = straight(holes=(hole("o", at("front", 500), 75, 10),))
    assert "covers-open-hole" in codes(one(on, seat="outside"))
    assert "covers-open-hole" not in codes(one(on, seat="outside", pick_up=pick("o")))
    assert "covers-open-hole" not in codes(one(on, seat="toes"))


@pytest.mark.parametrize(
    ("seat", "in_mm", "height", "told"),
    [
        # Head 24 across: 12 either way. Flush: plate 57 to 60 from the web; on the toes 60 to 63; stepped 16: 41 to 44.
        ("flush", 46.0, None, True), ("flush", 44.0, None, False), ("toes", 49.0, None, True), ("toes", 47.0, None, False),
        ("stepped", 30.0, None, True), ("stepped", 50.0, None, True), ("flush", 46.0, 60.0, False),
    ],
)  # fmt: skip
def test_heads_on_a_flange_where_the_plates_edge_goes(seat: str, in_mm: float, height: float | None, told: bool) -> None:
    """On the upper flange; a plate of 60 mm that hangs from the lower one is not near it."""
    on = straight(
        holes=(
            FrameHole(
                name="f",
                at=at("front", 500),
                face="upper flange",
                in_mm=in_mm,
                diameter_mm=12,
                filled="bolt",
                head_diameter_mm=24,
                head_height_mm=9,
            ),
        )
    )
    assert ("head-at-edge" in codes(one(on, seat=seat, height_mm=height))) == told


# --- brackets and numbers ---


def bracket(**more: Any) -> Frame:
    values: dict[str, Any] = {"name": "b", "at": at("front", 500), "up_mm": 75, "length_mm": 60, "height_mm": 50, "out_mm": 40}
    return straight(brackets=(Bracket(**(values | more)),))


@pytest.mark.parametrize(
    ("seat", "more", "meets"),
    [
        ("outside", {}, True), ("inside", {}, False), ("toes", {}, False),
        ("inside", {"inner_face": True}, True), ("outside", {"inner_face": True}, False),
        ("toes", {"inner_face": True}, False), ("toes", {"inner_face": True, "out_mm": 57}, True),  # 4 + 57 = 61 past the toes at 60
        ("outside", {"up_mm": 8, "height_mm": 4}, False),  # under the plate's edge at 11
        ("flush", {"face": "lower flange", "up_mm": None, "in_mm": 50, "height_mm": 20, "inner_face": True}, True),
        ("flush", {"face": "lower flange", "up_mm": None, "in_mm": 30, "height_mm": 20, "inner_face": True}, False),
    ],
)  # fmt: skip
@pytest.mark.parametrize("fate", ["kept", "cut off"])
def test_brackets(seat: str, more: dict[str, Any], meets: bool, fate: str) -> None:
    piece = one(bracket(fate=fate, **more), seat=seat)
    closed_in = more.get("inner_face", False) and seat in ("toes", "flush")
    assert ("bracket-in-the-way" in codes(piece)) == (meets and fate == "kept")
    assert [r.name for r in piece.removals] == (["b"] if fate == "cut off" and (meets or closed_in) else [])
