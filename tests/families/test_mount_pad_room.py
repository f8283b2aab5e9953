"""Mount pads beside what is there already: crossmembers, body mounts, parts before; holes too large; closed rails; remedies followed.

Numbers are worked by hand beside their checks. VSB 6 section H: a hole in a rail at most the bolt + 1.0 mm; 49 CFR 393.201: no holes in
flanges of commercial vehicles. Washers by ISO 7089: M8 16 across.
"""

from __future__ import annotations

import math
from dataclasses import replace
from typing import Any

import pytest

from parts.errors import BadInput
from parts.families import RailPlate
from parts.frame import Frame
from parts.frame.frame import Use
from parts.spec import Position
from tests.families.mount_pads import codes, pad
from tests.families.test_mount_pad_fixing import FLANGE, WIDE, flange_holed, holed
from tests.parts.frame.makers import check_fault, cross, drawn, faults_of, frame, mount, section, station, turned

COMMERCIAL = Use(road=True, commercial=True)


def closed(**fields: Any) -> Frame:
    """Boxes 60 wide with walls of 4: the right one's outside at y 430, its inboard wall's outside at 370."""
    own = section(kind="closed", inside_radius_mm=4)
    return frame(drawn(station("front", 0), station("rear", 3600), section=own), **fields)


@pytest.mark.parametrize(("x", "by"), [(1800.0, 80), (1850.0, 30), (1760.0, -40)])
def test_following_the_remedy_gets_it_past_a_crossmember(x: float, by: int) -> None:
    """The crossmember takes x 1775 to 1825, the pad 55 to either side: 1800 - 55 = 1745 is 80 in front of 1825; they share but 50."""
    on = frame(crossmembers=(cross(),))
    made = pad(at=Position(x_mm=x), side="right").build(on)[0]
    (found,) = [f for f in made.findings if f.code == "crossmember-in-the-way"]
    assert found.remedy.startswith(f"move the pad {abs(by)} mm or more {'rearward' if by > 0 else 'forward'} along the rail")
    other = (1775 - 55 - x) if by > 0 else (1825 + 55 - x)
    assert found.remedy.endswith(f"or {abs(other):.0f} mm or more {'rearward' if other > 0 else 'forward'}")
    assert "crossmember-in-the-way" not in codes(pad(at=Position(x_mm=x + other), side="right").build(on)[0])
    assert "crossmember-in-the-way" not in codes(pad(at=Position(x_mm=x + by), side="right").build(on)[0])
    short = x + by - math.copysign(1.0, by)
    assert "crossmember-in-the-way" in codes(pad(at=Position(x_mm=short), side="right").build(on)[0])


def test_a_body_mount_in_its_room_and_the_carried_one() -> None:
    """The mount's pad: x 760 to 840, y 430 to 540, z 594 to 600. A pad whose top lies at z 592 to 596 runs 2 into it, one 2 lower not."""
    on = frame(body_mounts=(mount(name="cab", at=Position(x_mm=800.0)),))
    fields: dict[str, Any] = {"side": "right", "on": "web-outboard", "out_mm": -80.0, "fold": "straight"}
    (found,) = [f for f in pad(**fields, rise_mm=-4.0, leaves="upper").build(_low(on))[0].findings if f.code == "body-mount-in-the-way"]
    assert (found.level, found.value) == ("stop", "2.0 mm")
    assert "body-mount-in-the-way" not in codes(pad(**fields, rise_mm=-6.0, leaves="upper").build(_low(on))[0])
    carried = pad(side="right", carries="cab", on="web-outboard", thickness_mm=6.0).build(on)[0]
    assert "body-mount-in-the-way" not in codes(carried)


def _low(on: Frame) -> Frame:
    """The same on a rail with sharp corners: its web is flat all the way up, so that a top may lie near the upper corner."""
    own = section(inside_radius_mm=0)
    return replace(on, rails=(drawn(station("front", 0), station("mid", 1800), station("rear", 3600), section=own),))


def test_a_part_built_before_is_not_run_into() -> None:
    """Pads are 110 wide: 110 apart they only touch."""
    on = frame()
    built = on.with_built("a", pad(id="a", side="right").build(on))
    (first, *_) = [f for f in pad(id="b", side="right").build(built)[0].findings if f.code == "part-in-the-way"]
    assert first.level == "stop" and "move the pad 110 mm or more" in first.remedy
    assert "part-in-the-way" not in codes(pad(id="b", side="right", at=Position(x_mm=910.0)).build(built)[0])
    assert "part-in-the-way" in codes(pad(id="b", side="right", at=Position(x_mm=909.0)).build(built)[0])


@pytest.mark.parametrize(("commercial", "level"), [(False, "note"), (True, "stop")])
def test_a_hole_of_a_flange_that_is_too_large_is_told(commercial: bool, level: str) -> None:
    """12 mm for M8 plays 4, where 1.0 is allowed; at 16 mm the washer of 16 falls in."""
    on = replace(flange_holed(800, 25, 12), use=Use(road=True, commercial=commercial))
    told = codes(pad(**FLANGE, bolts=1, pick_up=("own",)).build(on)[0])
    assert told["hole-loose"] == level and "washer-small" not in told
    wide = replace(flange_holed(800, 25, 16), use=Use(road=True, commercial=commercial))
    assert codes(pad(**FLANGE, bolts=1, pick_up=("own",)).build(wide)[0])["washer-small"] == "stop"


def test_a_hole_of_a_flange_is_not_opened_out_unless_it_is_said() -> None:
    """7 mm, where M8 needs 9 (ISO 273 medium): opening it out cuts the flange as drilling does."""
    on = replace(flange_holed(800, 25, 7), use=COMMERCIAL)
    check_fault(lambda: pad(**FLANGE, bolts=1).build(on), "part pad", "attach", "no open hole of the upper flange")
    check_fault(lambda: pad(**FLANGE, bolts=1, pick_up=("own",)).build(on), "part pad", "pick_up", "is not opened out")
    piece = pad(**FLANGE, bolts=1, flange_holes=True).build(on)[0]
    assert [(d.existing_mm, d.diameter_mm) for d in piece.drilling] == [(7, 9.0)]
    assert "stop" in {f.level for f in piece.findings if f.code == "flange-hole"}


def test_no_nut_sits_inside_a_closed_rail_behind_its_plate() -> None:
    """Pad 4, plate 3, box 60 through: grip 67, the nut inboard at y 370; inside the box 60 - 2 x 4 = 52 of tube."""
    on = closed()
    plate = RailPlate(id="skin", thickness_mm=3.0, seat="outside", start=Position(x_mm=300.0), end=Position(x_mm=1400.0),
                      front_end="square", rear_end="square")  # fmt: skip
    piece = pad(**WIDE, bolts=2, on="skin", out_mm=-150.0).build(on.with_faces(plate.faces(on)))[0]
    assert {b.grip_mm for b in piece.bolts} == {67.0}
    assert all(b.head[1] == pytest.approx(437, abs=1e-9) and b.nut[1] == pytest.approx(370, abs=1e-9) for b in piece.bolts)
    assert any("52.0 mm long" in h.designation for h in piece.hardware)


def test_the_other_wall_of_a_closed_rail_is_drilled_in_line() -> None:
    """The hole is in the outboard wall, the base stands on the inboard one: that is solid there."""
    holes = holed(("own", 800, 60, 13)).holes
    piece = pad(**WIDE, bolts=2, pick_up=("own",), rise_mm=-40.0).build(closed(holes=holes))[0]
    assert [(d.existing_mm, d.diameter_mm) for d in piece.drilling if d.name == "own"] == [(None, 13.0)]


def test_a_bolt_that_does_not_go_through_the_top() -> None:
    """M12 in a hole of 11."""
    check_fault(lambda: pad(top_hole_mm=11.9), "part pad", "top_hole", "does not go through")
    assert pad(top_hole_mm=12.0).build(frame())
    on = frame(body_mounts=(mount(name="cab", hole_mm=11, at=Position(x_mm=900.0)),))
    fields: dict[str, Any] = {"carries": "cab", "on": "web-outboard", "thickness_mm": 6.0}
    assert {codes(p)["top-hole-small"] for p in pad(**fields).build(on)} == {"warn"}
    assert all("top-hole-small" not in codes(p) for p in pad(**fields, top_bolt="M10").build(on))


def test_what_is_wrong_with_one_field_hides_no_other() -> None:
    with pytest.raises(BadInput) as caught:
        pad(grade="cheese", at=None, pattern="two", leaves="inboard")
    assert {f.field for f in caught.value.faults} == {"grade", "at", "pitch_along", "leaves"}


def number(text: str) -> float:
    return float(next(word for word in text.split() if word[0].isdigit()))


def test_remedies_of_a_top_that_is_too_small_work() -> None:
    """Four holes of 11 (M10), 60 apart, in 4 mm: 30 + 5.5 + 8 = 43.5 to the free edge and to either side."""
    fields: dict[str, Any] = {"pattern": "four", "pitch_along_mm": 60.0, "pitch_across_mm": 60.0, "top_bolt": "M10", "side": "right"}
    found = {f.field: f for f in faults_of(lambda: pad(**fields, width_mm=80.0, top_reach_mm=30.0).build(frame()))}
    assert set(found) == {"width", "top_reach"}  # both in one go
    assert (number(found["width"].remedy), number(found["top_reach"].remedy)) == (87, 44)
    assert pad(**fields, width_mm=87.0, top_reach_mm=44.0).build(frame())
    # Straight off the base the sides run from 120 at the bend to the free edge's width.
    fields.update(width_mm=120.0, top_reach_mm=120.0, fold="straight")
    (top,) = faults_of(lambda: pad(**fields, top_width_mm=30.0).build(frame()))
    assert top.field == "top_width"
    assert pad(**fields, top_width_mm=number(top.remedy)).build(frame())


@pytest.mark.parametrize("side", ["left", "right"])
@pytest.mark.parametrize("out", [-170.0, 230.0])
def test_the_remedy_beside_a_turn_works_however_far_off_the_point_lies(out: float, side: str) -> None:
    """Round a turn a millimetre along the rail is more or less at the point: what is over now is not what it takes."""
    on = frame(turned())  # its arc of 400 begins 400 tan 4 deg = 28.0 before x 1500
    fields: dict[str, Any] = {"on": "upper-flange", "out_mm": out, "rise_mm": 70.0, "side": side}
    found = faults_of(lambda: pad(**fields, at=Position(x_mm=1490.0)).build(on))
    assert {f.field for f in found} == {"width"} and "forward" in found[0].remedy
    by = number(found[0].remedy)
    assert pad(**fields, at=Position(x_mm=1490.0 - by)).build(on)
    assert faults_of(lambda: pad(**fields, at=Position(x_mm=1490.0 - by + 2.0)).build(on))


def test_the_remedy_of_a_point_that_is_too_high_or_too_low_works() -> None:
    """Air of 3 under the flange's 596: the top's face at 593 at most; 25 of base over 462 and a bend of 9: 496 at least."""
    fields: dict[str, Any] = {"leaves": "upper", "fold": "straight", "side": "right"}
    for rise, by in ((-2.0, -5.0), (-115.0, 11.0)):
        (fault,) = faults_of(lambda rise=rise: pad(**fields, rise_mm=rise).build(frame()))  # type: ignore[misc]
        assert fault.field == "rise" and fault.remedy.split(" mm")[1].startswith(" higher" if by > 0 else " lower")
        assert number(fault.remedy) == abs(by)
        assert pad(**fields, rise_mm=rise + by).build(frame())


def test_on_the_outside_no_air_is_kept_to_a_flange_that_ends_flush_with_the_web() -> None:
    """The top level with the upper corner, straight off the web's outside: nothing of the rail stands out there."""
    piece = pad(side="right", on="web-outboard", out_mm=-80.0, rise_mm=0.0, fold="straight").build(frame())[0]
    assert [p.name for p in piece.part.panels] == ["base", "top"]
    check_fault(lambda: pad(side="right", out_mm=80.0, rise_mm=-1.0, fold="straight").build(frame()), "part pad", "rise", "past the flat")
