"""The frame's own holes in a rail plate: pinned or bolted through, over them along the web's normal, and bends that give way to them."""

from __future__ import annotations

import math
import re
from typing import Any

import numpy as np
import pytest

from parts.errors import BadInput
from parts.families.rail_plate import PickUp
from parts.piece import Piece
from parts.spec import Position
from tests.families.rail_plates import (
    DEG,
    axes,
    build,
    codes,
    crossmember,
    hole,
    near,
    one,
    straight,
)  # fmt: skip
from tests.parts.frame.makers import at, drawn, frame, station


def pick(name: str, **more: Any) -> tuple[PickUp, ...]:
    return (PickUp(hole=name, **more),)


# --- the frame's own holes ---


@pytest.mark.parametrize("seat", ["toes", "flush", "stepped", "outside", "inside"])
def test_a_pin_goes_through_a_hole_of_the_frames_own_size(seat: str) -> None:
    piece = one(straight(holes=(hole("pin", at("front", 500), 75),)), seat=seat, pick_up=pick("pin"))
    point, _, axis = axes(piece)["pin"]
    assert (point[0], point[2]) == pytest.approx((500, 525)) and axis.diameter_mm == 16
    assert not piece.bolts and not piece.drilling and not piece.removals


@pytest.mark.parametrize(
    ("seat", "head_y", "nut_y", "grip", "tube"),
    [
        # Web outside y 430, inside 426; head on the plate's seen face, nut on the web's far side. Between web and plate a crush tube.
        ("toes", 367, 430, 63, 56),  # plate 367-370, web 426-430
        ("flush", 370, 430, 60, 53),  # plate 370-373
        ("stepped", 386, 430, 44, 37),  # plate 386-389
        ("inside", 423, 430, 7, None),
        ("outside", 433, 426, 7, None),
    ],
)
def test_a_bolt_clamps_plate_and_web(seat: str, head_y: float, nut_y: float, grip: float, tube: float | None) -> None:
    on = straight(holes=(hole("bolt", at("front", 500), 75, 13),))
    piece = one(on, seat=seat, step_mm=16, pick_up=pick("bolt", by="bolt", bolt="M12"))
    (bolt,) = piece.bolts
    assert bolt.head == pytest.approx((500, head_y, 525)) and bolt.nut == pytest.approx((500, nut_y, 525))
    assert bolt.grip_mm == pytest.approx(grip) == pytest.approx(math.dist(bolt.head, bolt.nut))
    tubes = [i.designation for i in piece.hardware if "crush tube" in i.designation]
    assert tubes == ([f"crush tube for M12, {tube:.1f} mm long, cut to fit"] if tube else [])
    assert [i.quantity for i in piece.hardware if i.designation == "washer M12"] == [2]


@pytest.mark.parametrize(("fit", "size"), [("fine", 13.0), ("medium", 13.5), ("coarse", 14.5)])
def test_the_bolts_hole_by_its_fit(fit: str, size: float) -> None:
    """M12: ISO 273 fine 13, medium 13.5, coarse 14.5 mm."""
    piece = one(straight(holes=(hole("b", at("front", 500), 75, 13),)), pick_up=pick("b", by="bolt", bolt="m 12", fit=fit))
    assert axes(piece)["b"][2].diameter_mm == size
    assert "nut M12 class 8" in [i.designation for i in piece.hardware]


def test_a_frames_hole_too_small_for_its_bolt_is_opened_out() -> None:
    """M16 in a rail: ISO 273 fine, 17 mm (VSB 6: at most bolt + 1 mm). The hole is 13: drilled out, measured as the frame file has it."""
    piece = one(straight(holes=(hole("b", at("mid", -900), 60, 13),)), pick_up=pick("b", by="bolt", bolt="M16"))
    (drilling,) = piece.drilling
    assert (drilling.diameter_mm, drilling.existing_mm, drilling.face) == (17, 13, "web")
    assert (drilling.datum, drilling.along_mm, drilling.up_mm) == ("front", near(900), near(60))


@pytest.mark.parametrize(("diameter", "loose"), [(12.0, False), (13.0, False), (16.0, True)])
def test_a_loose_pick_up_is_told(diameter: float, loose: bool) -> None:
    piece = one(straight(holes=(hole("b", at("front", 500), 75, diameter),)), pick_up=pick("b", by="bolt", bolt="M12"))
    assert ("pick-up-loose" in codes(piece)) == loose


@pytest.mark.parametrize(("filled", "how"), [("rivet", "drive it out"), ("bolt", "undo it")])
def test_what_fills_a_picked_up_hole_comes_out(filled: str, how: str) -> None:
    piece = one(straight(holes=(hole("r", at("front", 500), 75, 13, filled=filled),)), seat="inside", pick_up=pick("r"))
    (removal,) = piece.removals
    assert (removal.name, removal.what, removal.point) == ("r", filled, near((500, 430, 525))) and how in removal.how
    assert list(axes(piece)) == ["r"], "no clearance hole besides"


def test_each_split_piece_takes_up_the_holes_over_it() -> None:
    on = straight(holes=(hole("a", at("front", 400), 75), hole("b", at("front", 1100), 75)), crossmembers=(crossmember("cm", 800),))
    pieces = build(on, pick_up=(*pick("a"), *pick("b")))
    assert [list(axes(p)) for p in pieces] == [["a"], ["b"]]
    for piece, x in zip(pieces, (400, 1100), strict=True):
        (point, _, _), *_ = axes(piece).values()
        assert point == pytest.approx((x, 370, 525))


def test_a_pick_up_in_a_crossmembers_way_or_past_the_end_is_refused_by_name() -> None:
    on = straight(holes=(hole("a", at("front", 800), 75), hole("b", at("front", 1300), 75)), crossmembers=(crossmember("cm", 800),))
    with pytest.raises(BadInput) as error:
        build(on, pick_up=(*pick("a"), *pick("b")))
    assert [(f.field, f.value) for f in error.value.faults] == [("pick_up.hole", "a"), ("pick_up.hole", "b")]
    assert all("is not on the plate" in f.limit and "move the plate's end" in f.remedy for f in error.value.faults)


# --- bends give way to holes ---


def bent(hole_s: float, radius: float, **shop: Any) -> Piece:
    """A hole of 16 mm at that s in the web of a level frame that turns by 12 deg at x 1500."""
    y = 430 - 1000 * math.tan(12 * DEG)
    on = frame(
        drawn(station("front", 0), station("bend", 1500, turn=radius), station("rear", 2500, y=y)),
        holes=(hole("pin", at("front", hole_s), 75),),
    )
    return one(on, seat="outside", start=Position(x_mm=1000), end=at("rear", -200), pick_up=pick("pin"), **shop)


def test_bend_lines_move_to_clear_a_hole() -> None:
    """12 deg at radius 900 outside the turn: 900 (1 / cos 6 deg - 1) = 4.96 > 1.6, 900 (1 / cos 3 deg - 1) = 1.24: two bends of 6 deg, at 3
    and 9 deg of the arc: s = 1500 - 900 tan 6 deg + 900 x 3 deg = 1452.5. A hole there makes them move; one elsewhere does not."""
    s = 1500 - 900 * math.tan(6 * DEG) + 900 * 3 * DEG
    usual = bent(s - 60, 900)
    assert [b.angle_deg for b in usual.part.bends] == pytest.approx([-6, -6])
    moved = bent(s, 900)
    assert sum(b.angle_deg for b in moved.part.bends) == pytest.approx(-12)
    assert [b.angle_deg for b in moved.part.bends] != pytest.approx([-6, -6])
    point, _, _ = axes(moved)["pin"]
    heading = 3 * DEG
    on_web = (1500 - 900 * math.tan(6 * DEG) + 900 * math.sin(heading), 430 - 900 * (1 - math.cos(heading)), 525)
    off = np.array(point) - np.array(on_web)
    normal = np.array((math.sin(heading), math.cos(heading), 0))
    assert np.linalg.norm(off - (off @ normal) * normal) < 1e-6, "still over the frame's hole along the web's normal"
    assert 0 <= off @ normal <= 1.6


def test_a_hole_that_no_bend_can_clear_is_refused_with_its_distance() -> None:
    """A sharp turn bends at its corner and nowhere else: 5 mm beside it lies the hole. Inside radius 4: the tangent is 4 tan 6 deg off."""
    with pytest.raises(BadInput) as error:
        bent(1495, 0)
    (fault,) = error.value.faults
    assert fault.field == "hole pin" and "bend" in fault.limit
    (told,) = re.findall(r"tangent line is ([0-9.]+) mm from its centre", fault.limit)
    assert float(told) == pytest.approx(5 - 4 * math.tan(6 * DEG), abs=0.05)
    (away,) = re.findall(r"move it ([0-9.]+) mm", fault.remedy)
    least = 8 - 5 + 4 * math.tan(6 * DEG) + 0.5  # half a millimetre of steel is the least beside an opening
    assert least <= float(away) <= least + 0.1, "rounded up, never down"
