"""What a rail plate refuses, each with its field, value, limit and remedy; and what it makes but says must not be done."""

from __future__ import annotations

import math
import re
from dataclasses import replace
from typing import Any

import pytest

from parts.errors import BadInput, Fault
from parts.families.rail_plate import Around, PickUp, RailPlate
from parts.frame import Frame
from parts.frame.features import FrameHole, KeepVisible
from parts.frame.frame import Steel, Use
from parts.frame.section import Section
from parts.shop import Shop
from parts.spec import Position
from tests.families.rail_plates import DEG, build, check_piece, codes, crossmember, hole, one, straight, swept
from tests.families.test_rail_plate_seats import CLOSED
from tests.parts.frame.makers import at, drawn, frame, station


def refused(on: Frame, shop: Shop | None = None, **parameters: Any) -> Fault:
    with pytest.raises(BadInput) as error:
        build(on, shop, **parameters)
    assert all(f.where.startswith("part plate") for f in error.value.faults), error.value
    (fault,) = error.value.faults
    return fault


@pytest.mark.parametrize(
    ("parameters", "field", "value", "limit"),
    [
        ({"thickness_mm": 152.0}, "thickness", "152 mm", "must be 0.5 to 25 mm"),
        ({"thickness_mm": 0.18}, "thickness", "0.18 mm", "must be 0.5 to 25 mm"),
        ({"thickness_mm": math.nan}, "thickness", "nan mm", "must be a finite number"),
        ({"seat": "on top"}, "seat", "on top", "must be one of toes, flush, stepped, outside, inside"),
        ({"edge": "round"}, "edge", "round", "must be one of set in, bevelled"),
        ({"end_angle_deg": 10.0}, "end_angle", "10 deg", "must be 20 to 80 deg"),
        ({"plug_rows": 9}, "plug_rows", "9", "must be 1 to 4"),
        ({"grade": "A37"}, "grade", "A37", "no such grade"),
        ({"bolt": "M11"}, "bolt", "M11", "covers ISO 273"),
        ({"bolt": "M12x40"}, "bolt", "M12x40", "not a bolt size"),
    ],
)
def test_parameters_out_of_range(parameters: dict[str, Any], field: str, value: str, limit: str) -> None:
    fault = refused(straight(), **parameters)
    assert (fault.field, fault.value) == (field, value)
    assert limit in fault.limit or limit in fault.remedy
    assert fault.remedy or "must be one of" in fault.limit or "finite" in fault.limit


def test_every_fault_of_the_parameters_at_once() -> None:
    with pytest.raises(BadInput) as error:
        build(straight(), thickness_mm=-1.0, grade="cheese", bolt="M99", hang="side")
    assert {f.field for f in error.value.faults} == {"thickness", "grade", "bolt", "hang"}


@pytest.mark.parametrize(
    ("values", "limit"),
    [
        ({"by": "bolt"}, "is needed where a hole is picked up by a bolt"),
        ({"by": "bolt", "bolt": "M11"}, "covers ISO 273"),
        ({"by": "pin", "bolt": "M12"}, "a pin takes no bolt"),
    ],
)
def test_pick_up_parameters(values: dict[str, Any], limit: str) -> None:
    with pytest.raises(BadInput) as error:
        PickUp(hole="pin", **values)
    (fault,) = error.value.faults
    assert fault.field == "bolt" and (limit in fault.limit or limit in fault.remedy) and fault.remedy


@pytest.mark.parametrize(
    ("parameters", "field", "limit"),
    [
        ({"start": at("frnt")}, "start.at", "rail right has no place"),
        ({"end": at("rear", 10)}, "end.at", "10.0 mm past its rear end"),
        ({"start": Position(x_mm=-50)}, "start.x", "50.0 mm in front of its front end"),
        ({"start": Position(x_mm=1300)}, "end", "the end lies 100 mm in front of the start"),
        ({"start": Position(x_mm=1200)}, "end", "the end lies 0 mm in front of the start"),
        ({"end": Position(x_mm=200.5)}, "start, end", "the plate would be 0.5 mm long"),
        ({"pick_up": (PickUp(hole="pim"),)}, "pick_up.hole", "rail right has no hole"),
        ({"pick_up": (PickUp(hole="flange-hole"),)}, "pick_up.hole", "is in the upper flange: a rail plate takes up holes of the web"),
        ({"pick_up": (PickUp(hole="pin"),), "end": Position(x_mm=400)}, "pick_up.hole", "is not on the plate: it lies at s = 500 mm"),
        ({"pick_up": (PickUp(hole="pin"),), "end": Position(x_mm=503)}, "pick_up.hole", "breaks through the edge"),
        ({"pick_up": (PickUp(hole="low"),), "seat": "inside"}, "pick_up.hole", "breaks through the edge"),
        ({"around": (Around(crossmember="cmm", way="split"),)}, "crossmember", "the frame has no crossmember"),
        ({"attach": "bolt"}, "attach", "a bolted plate lies flat on the web"),
        ({"attach": "plug", "seat": "flush"}, "attach", "plug welds need steel behind the plate"),
        ({"edge": "bevelled", "seat": "flush"}, "edge", "only a plate on the toes is bevelled"),
        ({"front_end": "angled", "end_angle_deg": 20.0, "end": Position(x_mm=500)}, "end_angle", "leave nothing of its upper edge"),
        ({"attach": "bolt", "seat": "outside", "end": Position(x_mm=240)}, "bolt", "1 place for a bolt, where 2 are the least"),
    ],
)  # fmt: skip
def test_places_and_references(parameters: dict[str, Any], field: str, limit: str) -> None:
    on = straight(
        holes=(
            hole("pin", at("front", 500), 75),
            hole("low", at("front", 600), 13),
            FrameHole(name="flange-hole", at=at("front", 500), face="upper flange", in_mm=35, diameter_mm=12),
        ),
        crossmembers=(crossmember("cm", 2800),),
    )
    fault = refused(on, **parameters)
    assert fault.field == field and limit in fault.limit, fault
    assert fault.remedy, fault


# --- seats that cannot be ---


@pytest.mark.parametrize("seat", ["toes", "flush", "stepped", "inside"])
def test_a_closed_section_takes_no_plate_inside(seat: str) -> None:
    fault = refused(straight(CLOSED), seat=seat)
    assert (fault.field, fault.value) == ("seat", seat) and "outside only" in fault.limit and "outside" in fault.remedy


def test_a_leg_that_leaves_no_flange_edge() -> None:
    fault = refused(straight(), leg_mm=3.8)
    assert (fault.field, fault.value) == ("leg", "3.8 mm") and "leaves 0.2 mm of the 4 mm flange edge" in fault.limit
    assert 'at most 3.5 mm, or edge = "bevelled"' in fault.remedy


@pytest.mark.parametrize(("seat", "field"), [("flush", "thickness"), ("stepped", "step")])
def test_a_plate_too_far_in(seat: str, field: str) -> None:
    """Corners end 4 + 4 = 8 mm from the web's outside; toes at 20. Flush 16 mm: back at 4. Stepped 16 with 3 mm: 20 - 16 - 3 = 1."""
    narrow = Section(flange_mm=20, web_mm=4, flange_thickness_mm=4, inside_radius_mm=4, open="inboard")
    fault = refused(straight(narrow), seat=seat, thickness_mm=16 if seat == "flush" else 3)
    assert fault.field == field and "the corners end at 8 mm" in fault.limit
    assert fault.remedy == ("at most 12 mm" if seat == "flush" else "at most 9 mm")


@pytest.mark.parametrize("seat", ["flush", "stepped"])
def test_exactly_as_deep_as_the_opening_is_refused(seat: str) -> None:
    """Without a root gap the plate fills 142 of 142 mm between the flanges; with a height of its own it may take 140."""
    fault = refused(straight(), Shop(root_gap_mm=0), seat=seat)
    assert fault.field == "seat" and "exactly as deep as the opening" in fault.limit and "root_gap" in fault.remedy
    one(straight(), seat=seat, height_mm=140)
    for height in (140.1, 142.0, 143.0):  # between gap and flange, exactly as deep, deeper
        fault = refused(straight(), seat=seat, height_mm=height)
        assert (fault.field, fault.value) == ("height", f"{height:g} mm")
        assert "there are 140.0 mm" in fault.limit and "1 mm of root gap kept to either flange" in fault.limit and fault.remedy


@pytest.mark.parametrize("hang", ["lower", "upper"])
def test_a_height_that_fits_the_front_but_not_the_tapered_rear(hang: str) -> None:
    """100 mm fits 150 - 10 in front; behind the turn the depth tapers to 100, less 10: 90 at the rear end, under 100 before that."""
    one(swept(), seat="flush", height_mm=100, start=Position(x_mm=200), end=at("rear", -500), hang=hang)
    fault = refused(swept(), seat="flush", height_mm=100, start=Position(x_mm=200), end=at("rear", -50), hang=hang)
    assert fault.field == "height" and "is deeper than its seat" in fault.limit


def test_a_section_with_no_room_for_a_plate() -> None:
    """A web 40 deep: 8 + 3 mm off either side leaves 18 mm; a leg of 6 leaves 12; a leg of 8 leaves 8, under the least of 10."""
    shallow = frame(drawn(station("front", 0, depth=40), station("rear", 3600, depth=40)))
    one(shallow, seat="inside", leg_mm=6)
    fault = refused(shallow, seat="inside", leg_mm=8)
    assert fault.field == "seat" and "leaves a plate 8.0 mm high" in fault.limit and "smaller fillet leg" in fault.remedy


# --- bends ---


def test_no_guess_at_a_bend_radius() -> None:
    """DIN 6935:1975 ends at 12 mm. A thicker plate that bends needs the shop's own radius; one that does not bend needs none."""
    sweep: dict[str, Any] = {"seat": "outside", "start": Position(x_mm=900), "end": at("rear", -150), "leg_mm": 4}
    fault = refused(swept(), thickness_mm=14, **sweep)
    assert (fault.field, fault.value) == ("thickness", "14 mm")
    assert "covers above 0 to 12 mm" in fault.limit and "shop.inside_radius" in fault.remedy
    piece = one(swept(), Shop(inside_radius_mm=28), thickness_mm=14, **sweep)
    assert [b.inside_radius_mm for b in piece.part.bends] == [28]
    assert not one(swept(), thickness_mm=14, seat="outside", leg_mm=4).part.bends
    assert [b.inside_radius_mm for b in one(swept(), thickness_mm=12, **sweep).part.bends] == [25]


def test_a_bend_that_would_cut_a_sharp_corner_of_the_rail() -> None:
    """Outside a sharp turn of 20 deg the plate's inside radius of 20 mm reaches 20 (1 / cos 10 deg - 1) cos 10 deg = 0.30 mm into the rail,
    square to its web; 4 mm reach 0.06, which no pressed corner minds."""
    sharp = swept(turn_deg=20, radius=0)
    sweep: dict[str, Any] = {"seat": "outside", "start": Position(x_mm=900), "end": at("rear", -150)}
    fault = refused(sharp, Shop(inside_radius_mm=20), **sweep)
    cut = 20 * (1 / math.cos(10 * DEG) - 1) * math.cos(10 * DEG)  # square to the web
    assert fault.field == "start, end" and f"would cut {cut:.2f} mm into rail right" in fault.limit and "20.0 deg" in fault.limit
    assert "inside_radius" in fault.remedy
    one(sharp, Shop(inside_radius_mm=4), **sweep)


def test_a_bend_that_would_stand_off_a_sharp_turn() -> None:
    """Inside a sharp turn of 20 deg a bend with a back radius of 100 + 3 mm leaves 103 (1 / cos 10 deg - 1) = 1.59 x cos 10 deg = 1.56 mm
    square to the toes: allowed; with 150 mm 2.32 mm: over the weld gap of 1.6."""
    sharp = swept(turn_deg=20, radius=0)
    sweep: dict[str, Any] = {"seat": "toes", "start": Position(x_mm=900), "end": at("rear", -150)}
    piece = one(sharp, Shop(inside_radius_mm=100), **sweep)
    gap = 103 * (1 / math.cos(10 * DEG) - 1) * math.cos(10 * DEG)
    assert any(f"at most {gap:.2f} mm is left" in n for n in piece.notes)
    fault = refused(sharp, Shop(inside_radius_mm=100, weld_gap_mm=1.0), **sweep)
    assert f"stands {gap:.2f} mm off rail right; the weld gap is 1 mm" in fault.limit


def test_a_plate_that_ends_in_a_bend_is_refused_and_a_turn_elsewhere_is_no_concern() -> None:
    fault = refused(swept(radius=0), seat="toes", end=Position(x_mm=1500.1))
    assert fault.field == "start, end" and "between a bend and its end" in fault.limit and "away from the rail's turn" in fault.remedy
    # Two turns so near each other that no straight is left between them on the toes: refused over them, allowed anywhere else.
    tight = frame(
        drawn(
            station("front", 0),
            station("a", 1500, turn=0),
            station("b", 1512, y=427),
            station("c", 1524, y=421),
            station("rear", 2600, y=200),
        ),
    )
    assert not one(tight, seat="toes", end=Position(x_mm=1200)).part.bends
    one(tight, seat="toes", start=Position(x_mm=1700), end=Position(x_mm=2400))


# --- made, but told that it must not be done ---


@pytest.mark.parametrize(
    ("heat_treated", "attach", "stop"),
    [("yes", "weld", True), ("unknown", "weld", True), ("no", "weld", False), ("unknown", "bolt", False), ("unknown", "plug", True)],
)
def test_nothing_is_welded_to_heat_treated_or_unknown_rails(heat_treated: str, attach: str, stop: bool) -> None:
    on = replace(straight(), steel=Steel(grade="unknown", heat_treated=heat_treated))  # type: ignore[arg-type]
    piece = one(on, seat="outside", attach=attach)
    found = [f for f in piece.findings if f.code == "weld-heat-treated"]
    assert bool(found) == stop and all(f.level == "stop" and 'attach = "bolt"' in f.remedy for f in found)


@pytest.mark.parametrize(("attach", "stop"), [("weld", True), ("plug", True), ("bolt", False)])
def test_nothing_is_welded_to_a_commercial_vehicles_frame(attach: str, stop: bool) -> None:
    """49 CFR 393.201."""
    on = replace(straight(), use=Use(road=True, commercial=True))
    piece = one(on, seat="outside", attach=attach)
    assert ("weld-commercial" in codes(piece)) == stop
    assert all("49 CFR 393.201" in f.source for f in piece.findings if f.code == "weld-commercial")


@pytest.mark.parametrize(
    ("seat", "side", "told"), [("outside", "right", True), ("outside", "left", False), ("inside", "right", False), ("toes", "right", False)]
)
def test_a_stamped_number_is_not_covered(seat: str, side: str, told: bool) -> None:
    number = KeepVisible(name="number", what="stamped", side="right", at=at("front", 700), up_mm=75, length_mm=120, height_mm=16)
    piece = one(straight(keep_visible=(number,)), seat=seat, side=side)
    found = [f for f in piece.findings if f.code == "covers-keep-visible"]
    assert bool(found) == told and all(f.level == "stop" for f in found)


def test_both_rails_faults_are_told_in_one_run() -> None:
    on = straight(holes=(hole("pin", at("front", 500), 75, side="left"),))
    with pytest.raises(BadInput) as error:
        build(on, side="both", pick_up=(PickUp(hole="pin"), PickUp(hole="pan")), attach="bolt")
    limits = [f.limit for f in error.value.faults]
    assert sum("rail left has no hole" in t for t in limits) == 1 and sum("rail right has no hole" in t for t in limits) == 2
    assert sum("lies flat on the web" in t for t in limits) == 1, "the same fault on both rails once"


def test_the_class_needs_no_job_file() -> None:
    plate = RailPlate(id="p", thickness_mm=3, seat="toes", start=Position(x_mm=200), end=Position(x_mm=900))
    assert [p.id for p in plate.build(straight())] == ["p-left", "p-right"]
    faces = plate.faces(straight())
    assert [(f.name, f.side, f.offset_mm, f.thickness_mm) for f in faces] == [("p", "left", 63, 3), ("p", "right", 63, 3)]


def test_an_end_that_leans_over_the_bend_it_would_have_needed() -> None:
    """From right over a turn rearward: the square end leans forward with the kick, past where the plate would have to bend. At a sharp turn
    of 8 deg there is one place for the bend: Y mm past it the straight plate stands Y sin 8 deg off the web, refused over 1.6 mm. Round a
    turn of radius 400 bend lines elsewhere do."""
    fault = refused(swept(radius=0), seat="outside", start=at("bend"), end=at("rear", -200))
    assert fault.field == "start" and fault.value == "bend" and "off the turn" in fault.remedy
    over, off = (float(n) for n in re.findall(r"reaches ([0-9.]+) mm .* stands ([0-9.]+) mm", fault.limit)[0])
    assert off == pytest.approx(over * math.sin(8 * DEG), abs=0.02) and off > 1.6
    values: dict[str, Any] = {"id": "plate", "side": "right", "thickness_mm": 3, "seat": "outside", "rear_end": "square"}
    plate = RailPlate(**values, start=at("bend"), end=at("rear", -200), front_end="square")
    (piece,) = plate.build(swept())
    check_piece(piece, plate, swept(), Shop())


def test_bend_lines_move_out_of_a_plates_end() -> None:
    """Outside the turn of 8 deg one bend over its middle would do, and the plate ends there: no flat would be left behind it. Two bends of
    4 deg, a quarter of the turn from either end, leave one that the plate does reach."""
    piece = one(swept(kick_radius=0), seat="outside", start=Position(x_mm=900), end=at("bend", 0.1), hang="upper")
    assert [b.angle_deg for b in piece.part.bends] == pytest.approx([-4.0])
