"""What a crossmember bracket is refused for: the field, the numbers, each worked by hand from the frame's own dimensions."""

from __future__ import annotations

from typing import Any

import pytest

from parts.families import CrossmemberBracket
from parts.spec import Position
from tests.families.crossmember_brackets import (
    bracket,
)
from tests.parts.frame.makers import (
    STRAIGHT,
    check_fault,
    drawn,
    faults_of,
    frame,
    section,
    turned,
)


@pytest.mark.parametrize(
    ("fields", "field", "limit"),
    [
        ({"drop_mm": 140.0, "base": "above"}, "drop", "1.0 mm too near to or into the lower flange of rail left"),
        ({"drop_mm": 5.0}, "drop", "2.0 mm too near to or into the upper flange of rail left"),
        ({"seat_z_mm": 440.0}, "seat_z", "lower flange of rail left"),
        ({"drop_mm": 110.0}, "drop", "leaves 19.0 mm of base on rail left web; 25 mm is the least"),
        ({"height_mm": 30.0}, "height", "leaves 21.0 mm of base on rail left web"),
        ({"drop_mm": 100.0}, "gussets", "20.0 mm of the base is left beside a gusset's bend"),
        ({"width_mm": 60.0}, "width", "leaving 16.0 mm to bend"),
        ({"width_mm": 30.0, "thickness_mm": 6.0, "gussets": False}, "width", "too narrow to bend"),
        ({"depth_mm": 40.0}, "depth", "too short to bend and to weld a gusset to"),
        ({"slots": 2, "depth_mm": 70.0}, "depth", "8.5 mm from the seat's bend; 2 t + r = 13.0 mm is the least"),
        ({"slots": 2, "slot_pitch_mm": 18.0}, "slot_pitch", "4.5 mm between the slots; 2 t = 8 mm is the least"),
        ({"slot_travel_mm": 120.0}, "slot_travel", "leave -9.8 mm to the gusset beside them"),
        ({"slot_travel_mm": 120.0, "gussets": False}, "slot_travel", "leave -1.8 mm to the seat's side"),
        ({"attach": "bolt", "bolt_columns": 4}, "bolt_columns", "4 columns of M12 need 114 mm between the outer ones; the base has 56.5"),
        ({"attach": "bolt", "height_mm": 40.0, "gussets": False}, "height", "3.5 mm too short for a hole of 13.5 mm"),
        ({"at": Position(x_mm=30.0)}, "at", "35.0 mm past the front end of rail left"),
        ({"at": Position(x_mm=3560.0)}, "at", "25.0 mm past the rear end of rail left"),
        ({"at": Position(at="nowhere")}, "at", "has no place of that name"),
        ({"at": Position(at="rear", offset_mm=100.0)}, "at", "past its rear end"),
        ({"on": "boxing"}, "on", "no part before this one has a face on the left side"),
        ({"under": "cm"}, "under", "the frame has no crossmember of that name"),
        ({"pick_up": ("pin",)}, "pick_up", "holes are picked up by bolts"),
        ({"attach": "bolt", "pick_up": ("pin",)}, "pick_up", "rail left has no hole of that name"),
    ],
)  # fmt: skip
def test_refused_with_its_numbers(fields: dict[str, Any], field: str, limit: str) -> None:
    own = {"side": "left", **fields}
    check_fault(lambda: bracket(**own).build(frame()), "part seat", field, limit)


@pytest.mark.parametrize(
    ("fields", "field", "limit"),
    [
        ({"drop_mm": None}, "drop", "give the seat's height once"),
        ({"grade": "A37"}, "grade", "no such grade"),
        ({"slot_bolt": "M13"}, "slot_bolt", "not in the table"),
        ({"attach": "bolt", "bolt": "M13"}, "bolt", "not in the table"),
        ({"attach": "bolt", "bolt_columns": 0}, "bolt_columns", "without a bolt"),
        ({"slot_travel_mm": 0.1}, "slot_travel", "0 (round holes) or at least 1 mm"),
        ({"thickness_mm": 100.0}, "thickness", "1.5 to 12 mm"),
        ({"depth_mm": 4.0}, "depth", "30 to 500 mm"),
        ({"base": "beside"}, "base", "must be one of"),
    ],
)
def test_refused_before_there_is_a_frame(fields: dict[str, Any], field: str, limit: str) -> None:
    check_fault(lambda: bracket(**fields), "part seat", field, limit)


def test_every_fault_of_a_bracket_at_once() -> None:
    found = faults_of(lambda: CrossmemberBracket(
        id="seat", at=Position(x_mm=1.0), drop_mm=1.0, under="cm", thickness_mm=99.0, width_mm=1.0, depth_mm=1.0, grade="?", slot_bolt="?"
    ))  # fmt: skip
    assert {f.field for f in found} == {"thickness", "width", "depth", "grade", "slot_bolt", "drop"}
    both = faults_of(lambda: bracket(at=Position(at="nowhere"), under="cm").build(frame()))
    assert [f.field for f in both] == ["at", "at", "under"]


def test_a_base_across_a_turn_is_refused_with_the_distance() -> None:
    """A turn of 8 deg and radius 400 takes 400 tan 4 deg = 27.97 of each straight: the arc is 55.85 long, s 1472.03 to 1527.88."""
    on = frame(turned())
    check_fault(lambda: bracket(side="right", at=Position(x_mm=1500.0)).build(on), "part seat", "at", "s 1472 to 1528 mm")
    # Half the width of 130 before the arc ends the base's straight at x 1407.03.
    near = bracket(side="right", at=Position(x_mm=1417.03))
    check_fault(lambda: near.build(on), "part seat", "width", "rear edge would stand 10.0 mm into")
    check_fault(lambda: bracket(side="right", at=Position(x_mm=1540.0)).build(on), "part seat", "width", "front edge would stand")
    assert bracket(side="right", at=Position(x_mm=1407.0)).build(on)


def test_a_seat_too_near_the_end_of_the_web_s_flat_is_refused() -> None:
    """Outside of a rail open outboard: flat to 600 - 8 of corner, less the leg of 4: 588; the seat's bend would begin at 600 - 9 = 591."""
    on = frame(drawn(*STRAIGHT.stations, section=section(open="outboard")))
    limit = "3.0 mm off the flat of the web: the base has z 462.0 to 588.0 mm"
    check_fault(lambda: bracket(side="left", drop_mm=0.0).build(on), "part seat", "drop", limit)
