"""The lists a fabricator gets, from parts made up here whose numbers can be added up by hand."""

from __future__ import annotations

import csv
import io
import math
from dataclasses import replace

import pytest

from generator.record import Record
from generator.show import Table, csv_text
from generator.tables import bends, cut_list, drilling, hardware, holes, placing, removal, sections
from parts.bending import KFactor
from parts.flat import unfold
from parts.frame.offers import Seat
from parts.holes import Hole
from parts.outline import rectangle
from parts.piece import Drilling, HardwareItem, Piece, Removal
from parts.sheet import HOME, Bend, Panel, Placement, SheetPart
from tests.parts.frame.makers import frame, kicked

DENSITY = 7850.0  # kg/m3, EN 10025-1 / general engineering figure for structural steel

RIVET = Removal(name="r1", what="rivet", where="rail left web", point=(100.0, -430.0, 60.0), why="its head is under the plate", how="drill")
TWO_HOLES = (
    Hole(name="pin", x_mm=20.0, y_mm=25.0, diameter_mm=10.0, purpose="alignment pin"),
    Hole(name="slot", kind="slot", x_mm=70.0, y_mm=25.0, diameter_mm=12.0, length_mm=30.0, angle_deg=90.0),
)


def record(name: str, *, quantity: int = 1, bent: bool = False, removals: tuple[Removal, ...] = (), least_hole_mm: float = 0.0) -> Record:
    """A plate 100 x 50 x 4 with two openings, with or without a leg of 30 bent up at 90 degrees, radius 5, K 0.5."""
    base = Panel(name="base", contour=rectangle(0.0, 0.0, 100.0, 50.0), holes=TWO_HOLES)
    leg = Panel(name="leg", contour=rectangle(0.0, 0.0, 100.0, 30.0))
    bend = Bend(parent="base", child="leg", edge=2, angle_deg=90.0, inside_radius_mm=5.0)
    part = SheetPart(name=name, thickness_mm=4.0, panels=(base, leg) if bent else (base,), bends=(bend,) if bent else ())
    flat = unfold(part, KFactor(value=0.5))
    piece = Piece(
        id=name, family="made up", side="left", part=part, grade="S235JR", placements=(HOME,) * quantity,
        hardware=(HardwareItem(designation="bolt M12 x 40 8.8", quantity=2 * quantity, use="plate to web"),), removals=removals,
        drilling=(Drilling(name="d1", rail="rail left", face="web", diameter_mm=13.0, point=(0.0, 0.0, 0.0), along_mm=-38.1, up_mm=73.025,
                           datum="station front"),),
    )  # fmt: skip
    return Record(piece=piece, flat=flat, density_kg_m3=DENSITY, volume_mm3=flat.volume_mm3, dxf_file=f"dxf/{name}.dxf",
                  drawing_file=f"drawings/{name}.svg", least_hole_mm=least_hole_mm)  # fmt: skip


def cells(table: Table, units: str = "mm") -> list[dict[str, str]]:
    return list(csv.DictReader(io.StringIO(csv_text(table, units))))  # type: ignore[arg-type]


def test_the_cut_list_adds_up() -> None:
    """By hand: area 100*50 - pi*25 - (18*12 + pi*36) = 4592.36 mm2; edge 300 + 10 pi + (36 + 12 pi) = 405.1 mm; mass 4 mm * area * 7850."""
    (row,) = cells(cut_list((record("plate", quantity=3),)))
    area = 5000 - math.pi * 25 - (18 * 12 + math.pi * 36)
    assert row["flat area (mm2)"] == f"{area:.0f}" == "4592"
    assert row["cut length (mm)"] == f"{300 + 10 * math.pi + 36 + 12 * math.pi:.0f}" == "405"
    assert row["pierces"] == "3" and row["bends"] == "0" and row["quantity"] == "3" and row["thickness (mm)"] == "4.00"
    assert row["mass each (kg)"] == f"{area * 4 * 7850e-9:.2f}" == "0.14"
    assert row["mass all (kg)"] == f"{3 * area * 4 * 7850e-9:.2f}" == "0.43"
    assert (row["blank length (mm)"], row["blank width (mm)"]) == ("100.0", "50.0")


def test_the_blank_of_a_bent_part_is_its_flat_size() -> None:
    """By hand: 50 + pi/2 (5 + 0.5*4) + 30 = 90.996 mm beside 100."""
    (row,) = cells(cut_list((record("bracket", bent=True),)))
    assert row["blank length (mm)"] == "100.0"
    assert row["blank width (mm)"] == f"{50 + math.pi / 2 * 7 + 30:.1f}" == "91.0"


def test_holes_are_those_of_the_flat_pattern() -> None:
    pin, slot = cells(holes((record("plate"),)))
    assert pin == {
        "part": "plate", "hole": "pin", "kind": "round", "made by": "cutting", "diameter or width (mm)": "10.000", "length (mm)": "",
        "angle (deg)": "",
        "x (mm)": "20.000", "y (mm)": "25.000", "for": "alignment pin",
    }  # fmt: skip
    assert (slot["length (mm)"], slot["angle (deg)"]) == ("30.000", "90.000")


def test_an_opening_too_small_to_cut_is_drilled_and_not_counted_as_a_cut() -> None:
    """By hand, with 11 mm as the least: the 10 mm pin hole goes, the 12 mm slot stays: 300 + 36 + 12 pi = 373.7 mm, two pierces."""
    small = record("plate", least_hole_mm=11.0)
    pin, slot = cells(holes((small,)))
    assert pin["made by"].startswith("drilling") and slot["made by"] == "cutting"
    (row,) = cells(cut_list((small,)))
    assert row["pierces"] == "2" and row["cut length (mm)"] == f"{336 + 12 * math.pi:.0f}" == "374"


def test_a_bend_says_which_way_and_where() -> None:
    """By hand: the line lies half the allowance past the base's edge, 50 + 7 pi/4 = 55.498."""
    (row,) = cells(bends((record("bracket", bent=True),)))
    assert row["direction"].startswith("up") and row["angle (deg)"] == "90.00" and row["inside radius (mm)"] == "5.00"
    assert row["K"] == "0.500" and row["length (mm)"] == "100.0"
    assert row["line from y (mm)"] == row["line to y (mm)"] == f"{50 + 7 * math.pi / 4:.3f}" == "55.498"


def test_hardware_is_summed_over_the_kit() -> None:
    (row,) = cells(hardware((record("one", quantity=2), record("two"))))
    assert row == {"item": "bolt M12 x 40 8.8", "quantity": "6", "for": "plate to web", "parts": "one, two"}


def test_bolts_for_what_sits_on_a_seat_are_said_to_be_missing() -> None:
    seat = Seat(name="one", side="left", normal=(0.0, 0.0, 1.0), points=((50.0, 0.0, 4.0),), bolt="M12", thickness_mm=4.0)
    one, two = record("one"), record("two")
    told = {s.title: s.notes for s in sections((replace(one, piece=replace(one.piece, seats=(seat,))), two), frame())}
    (note,) = told["Hardware"]
    assert note.startswith("Not listed: bolts for what sits on one.")
    assert {s.title: s.notes for s in sections((two,), frame())}["Hardware"] == ()


def test_work_that_two_parts_ask_for_is_one_row() -> None:
    both = (record("one", removals=(RIVET,)), record("two", removals=(RIVET,)))
    (row,) = cells(removal(both))
    assert (row["what"], row["name"], row["parts"], row["x (mm)"]) == ("rivet", "r1", "one, two", "100.0")
    (drilled,) = cells(drilling(both))
    assert drilled["parts"] == "one, two"


def test_a_builder_who_thinks_in_inches_gets_tape_marks() -> None:
    """-38.1 mm = -1-1/2 in, 73.025 mm = 2-7/8 in exactly."""
    (row,) = cells(drilling((record("one"),)), "in")
    assert row["along the rail, + rearward (in)"] == "-1.50"
    assert row["along the rail, + rearward, nearest 1/16"] == "-1-1/2 in"
    assert row["up from the lower outside face, nearest 1/16"] == "2-7/8 in"


def test_where_a_part_goes_is_told_as_it_is_taped() -> None:
    """On the straight test frame, stations front, mid and rear at x 0, 1800 and 3600, the left web's outside at y -430, its upper corner at
    z 600. The 100 x 50 x 4 plate stands upright from x 1900 and z 470, against y -426: 100 behind mid, 80 to 130 down, 0 to 4 off the web.
    """
    plate = record("plate")
    upright = Placement(origin=(1900.0, -426.0, 470.0), u=(1.0, 0.0, 0.0), v=(0.0, 0.0, 1.0))
    (row,) = placing((replace(plate, piece=replace(plate.piece, placements=(upright,))),), frame()).rows
    assert row[:3] == ("plate", "rail left", "mid")
    assert row[3:] == pytest.approx((100.0, 200.0, 80.0, 130.0, 0.0, 4.0), abs=1e-6)


def test_on_a_slope_a_part_goes_square_to_the_rail_as_its_holes_do() -> None:
    """Up 18 deg from x 1500, z 600, rounded with 300: arc 300 x 0.3141593 = 94.2478, tangents 300 tan 9 = 47.5153; the station is the
    arc's point at x 1500, 300 asin(47.5153 / 300) = 47.7163 into it. The plate lies parallel to the rail, its upper front corner 400 up
    the slope from where the lines meet and 80 square down: 400 - 47.5153 + 94.2478 - 47.7163 = 399.0162 on the tape, and 100 on.
    """
    rail = frame(kicked(18.0, 300.0)).rail("left")
    slope = math.radians(18.0)
    along, up = (math.cos(slope), 0.0, math.sin(slope)), (-math.sin(slope), 0.0, math.cos(slope))
    x, z = 1500.0 + 400.0 * along[0] - 130.0 * up[0], 600.0 + 400.0 * along[2] - 130.0 * up[2]
    plate = record("plate")
    laid = Placement(origin=(x, -426.0, z), u=along, v=up)
    (row,) = placing((replace(plate, piece=replace(plate.piece, placements=(laid,))),), frame(kicked(18.0, 300.0))).rows
    assert row[:3] == ("plate", "rail left", "kick")
    assert row[3:] == pytest.approx((399.0162, 499.0162, 80.0, 130.0, 0.0, 4.0), abs=1e-4)
    # the same place as drilling.csv has it: up from the lower outside face is the depth, 150, less the way down
    tape, above = rail.profile.tape_and_up(x, z)
    assert (rail.laid_off(tape)[1], 150.0 - above) == pytest.approx((row[3], row[6]), abs=1e-6)


@pytest.mark.parametrize("units", ["mm", "in"])
def test_every_table_has_its_own_name_and_its_units(units: str) -> None:
    tables = [t for s in sections((record("plate", removals=(RIVET,)),), frame()) for t in s.tables]
    assert sorted(t.name for t in tables) == ["bends", "cut_list", "drilling", "fitting", "hardware", "holes", "placing", "removal"]
    for table in tables:
        head = csv_text(table, units).splitlines()[0]  # type: ignore[arg-type]
        assert ("(mm)" in head) == (units == "mm" and any(c.unit == "mm" for c in table.columns))
