"""Bolted mount pads: the rail's own holes first, new ones by the rules, and what is drilled, bought and clamped.

Sizes are ISO 273: M10 medium 11, M12 fine 13 and medium 13.5, M16 fine 17. VSB 6 section H: a hole in a rail at most the bolt + 1.0 mm.
TM 9-2320-289-34 p. 9-7 and one maker's guide: 13 and 25 mm between holes. 49 CFR 393.201: no holes in flanges of commercial vehicles.
"""

from __future__ import annotations

import math
from dataclasses import replace
from typing import Any

import numpy as np
import pytest

from generator.kit import build as build_kit
from generator.rules.judge import judge
from parts.families import RailPlate
from parts.flat import unfold
from parts.formed import formed
from parts.frame import Frame
from parts.frame.frame import Steel, Use
from parts.piece import Piece
from parts.shop import Shop
from parts.spec import Position
from tests.families.mount_pads import codes, pad
from tests.parts.frame.makers import drawn as drawn_rail
from tests.parts.frame.makers import frame, hole, mount, section
from tests.parts.frame.makers import station as station_of

WIDE: dict[str, Any] = {"side": "right", "attach": "bolt", "width_mm": 200.0, "bolt": "M12"}


def holed(*holes: tuple[str, float, float, float], **fields: Any) -> Frame:
    """Holes (name, x, up, diameter) in the webs: on the straight rail z is 450 + up."""
    made = (hole(name=n, at=Position(x_mm=x), up_mm=up, diameter_mm=d, **fields) for n, x, up, d in holes)
    return frame(holes=tuple(made))


def base_holes(piece: Piece) -> dict[str, tuple[float, float, float]]:
    """(x, z, diameter) of the base's holes in the vehicle, through the folding."""
    out = {}
    own = {h.name: h.diameter_mm for h in piece.part.panels[0].holes}
    for axis in formed(piece.part).hole_axes:
        if axis.panel == "base":
            x, _, z = piece.placements[0].point(*axis.point)
            out[axis.name] = (x, z, own[axis.name])
    return out


def test_open_holes_under_the_base_come_first() -> None:
    """Two holes of 13 mm (M12 + 1.0), 60 apart at z 510, take two of four bolts; nothing is drilled there, two new ones are."""
    piece = pad(**WIDE, bolts=4).build(holed(("a", 770, 60, 13), ("b", 830, 60, 13)))[0]
    found = base_holes(piece)
    assert len(found) == 4
    assert found["a"] == pytest.approx((770, 510, 13.5), abs=1e-9)
    assert found["b"] == pytest.approx((830, 510, 13.5), abs=1e-9)
    assert {d.name for d in piece.drilling} == {"bolt-1", "bolt-2"}
    assert {d.diameter_mm for d in piece.drilling} == {13.0}
    assert all("the pad, which is the template" in d.why for d in piece.drilling)
    assert any("the pad is the drill template" in n and "2 in holes that are there (a, b)" in n for n in piece.notes)
    only = pad(**WIDE, bolts=2).build(holed(("a", 770, 60, 13), ("b", 830, 60, 13)))[0]
    assert set(base_holes(only)) == {"a", "b"}
    assert only.drilling == ()


@pytest.mark.parametrize(
    ("diameter", "used", "opened"),
    [(11.0, True, True), (13.0, True, False), (13.0 + 1e-4, False, False), (16.0, False, False)],
)
def test_the_rails_hole_at_the_boundary_of_bolt_plus_one(diameter: float, used: bool, opened: bool) -> None:
    """VSB 6: 12 + 1.0 = 13.0 mm. Smaller ones are opened out to 13 (ISO 273 fine), larger ones are told of and place no bolt."""
    piece = pad(**WIDE, bolts=2).build(holed(("own", 800, 60, diameter)))[0]
    assert ("own" in base_holes(piece)) is used
    assert ("hole-not-used" in codes(piece)) is not used
    rows = {d.name: (d.existing_mm, d.diameter_mm) for d in piece.drilling}
    assert rows.get("own") == ((diameter, 13.0) if opened else None)
    assert all(d.diameter_mm <= 12 + 1.0 for d in piece.drilling)


def test_a_hole_named_that_is_too_large_is_taken_and_told() -> None:
    """16 mm for M12 plays 4: a note on a private truck, a stop on a commercial one (VSB 6, heavy vehicles)."""
    on = holed(("own", 800, 60, 16))
    for commercial, level in ((False, "note"), (True, "stop")):
        piece = pad(**WIDE, bolts=3, pick_up=("own",)).build(replace(on, use=Use(road=True, commercial=commercial)))[0]
        assert codes(piece)["hole-loose"] == level
        assert "own" in base_holes(piece)


@pytest.mark.parametrize(("bolt", "rail", "own"), [("M10", 11.0, 11.0), ("M12", 13.0, 13.5), ("M16", 17.0, 17.5)])
def test_new_holes_in_the_rail_are_never_larger_than_the_bolt_and_one(bolt: str, rail: float, own: float) -> None:
    piece = pad(**{**WIDE, "bolt": bolt, "bolts": 2}).build(frame())[0]
    assert {d.diameter_mm for d in piece.drilling} == {rail}
    assert {d for _, _, d in base_holes(piece).values()} == {own}
    assert "hole-loose" not in codes(piece)


def test_new_holes_keep_off_those_that_are_there() -> None:
    """25 mm between edges by the maker's guide: a filled hole in the middle is no place for a bolt, nor next to it."""
    on = holed(("rivet", 800, 60, 10), filled="rivet")
    piece = pad(**WIDE, bolts=4).build(on)[0]
    found = base_holes(piece)
    assert "rivet" not in found and len(found) >= 2
    centres = [(x, z, 13.0) for x, z, _ in found.values()] + [(800.0, 510.0, 10.0)]
    for i, one in enumerate(centres):
        for two in centres[i + 1 :]:
            assert math.dist(one[:2], two[:2]) - (one[2] + two[2]) / 2 >= 25 - 1e-9
    assert "drill the shank under size" in piece.removals[0].how
    assert [r.name for r in piece.removals] == ["rivet"]  # its head would lie under the base
    assert codes(piece)["base-on-head"] == "warn"


def test_bolts_run_square_through_pad_and_web() -> None:
    """Pad 4, web 4: grip 8; heads on the inside at y = 426 - 4, nuts on the outside at y = 430. M12 with nut 10.8, 2 washers of 2.5, two
    threads of 1.75: 8 + 5 + 10.8 + 3.5 = 27.3, so M12 x 30."""
    piece = pad(**WIDE, bolts=2).build(frame())[0]
    assert len(piece.bolts) == 2
    for bolt in piece.bolts:
        assert (bolt.head[1], bolt.nut[1]) == pytest.approx((422.0, 430.0), abs=1e-9)
        assert bolt.head[0] == pytest.approx(bolt.nut[0], abs=1e-9) and bolt.head[2] == pytest.approx(bolt.nut[2], abs=1e-9)
        assert bolt.grip_mm == pytest.approx(8.0)
        assert bolt.between == ("pad", "rail right web")
    assert [h.designation for h in piece.hardware][:3] == ["bolt M12 x 30 8.8", "nut M12 class 8", "washer M12"]
    assert piece.welds == ()


def test_a_plate_behind_the_web_is_bolted_through_too() -> None:
    """A doubler of 4 outside: grip 12, drilled like the web."""
    plate = RailPlate(id="doubler", thickness_mm=4.0, seat="outside", start=Position(x_mm=400.0), end=Position(x_mm=1200.0),
                      front_end="square", rear_end="square")  # fmt: skip
    piece = pad(**WIDE, bolts=2).build(frame().with_faces(plate.faces(frame())))[0]
    assert {b.grip_mm for b in piece.bolts} == {12.0}
    assert all(b.nut[1] == pytest.approx(434.0, abs=1e-9) and b.between[-1] == "doubler" for b in piece.bolts)
    assert {d.face for d in piece.drilling} == {"web", "plate doubler"}


def test_a_closed_rail_takes_crush_tubes() -> None:
    """Box 60 wide, webs 4: pad 4 + 60 through; tube 60 - 2 x 4 = 52."""
    box = section(kind="closed", inside_radius_mm=4)
    on = frame(drawn_rail(station_of("front", 0), station_of("rear", 3600), section=box))
    piece = pad(**WIDE, bolts=2, rise_mm=-40.0).build(on)[0]
    assert {b.grip_mm for b in piece.bolts} == {64.0}
    assert any("52.0 mm long" in h.designation and h.quantity == 2 for h in piece.hardware)
    assert any("crush tube" in n for n in piece.notes)


FLANGE: dict[str, Any] = {"side": "right", "on": "upper-flange", "attach": "bolt", "out_mm": 140.0, "rise_mm": 70.0, "bolt": "M8",
                          "width_mm": 160.0, "thickness_mm": 3.0}  # fmt: skip


def flange_holed(x: float, inner: float, diameter: float) -> Frame:
    return frame(holes=(hole(name="own", face="upper flange", at=Position(x_mm=x), up_mm=None, in_mm=inner, diameter_mm=diameter),))


def test_a_flange_is_not_drilled_unless_it_is_said() -> None:
    from tests.parts.frame.makers import check_fault

    check_fault(lambda: pad(**FLANGE).build(frame()), "part pad", "attach", "no open hole of the upper flange")
    piece = pad(**FLANGE, bolts=2).build(flange_holed(800, 25, 9))[0]
    assert set(base_holes(piece)) == {"own"} and piece.drilling == ()
    assert {"fewer-bolts", "one-bolt"} <= set(codes(piece)) and "flange-hole" not in codes(piece)
    bolt = piece.bolts[0]
    assert bolt.head == pytest.approx((800, 405, 603), abs=1e-6)  # in 25 from y = 430; the pad's 3 on z = 600
    assert bolt.nut == pytest.approx((800, 405, 596), abs=1e-6)


@pytest.mark.parametrize(
    ("commercial", "treated", "level"), [(False, "no", "note"), (False, "yes", "warn"), (False, "unknown", "warn"), (True, "no", "stop")]
)
def test_new_flange_holes_by_the_use_that_is_declared(commercial: bool, treated: Any, level: str) -> None:
    """49 CFR 393.201 stops them on commercial vehicles; TM 9-2320-289-34 p. 9-7 warns on heat-treated rails; elsewhere a note."""
    on = replace(frame(), use=Use(road=True, commercial=commercial), steel=Steel(grade="mild steel", heat_treated=treated))
    piece = pad(**FLANGE, bolts=2, flange_holes=True).build(on)[0]
    assert max((f.level for f in piece.findings if f.code == "flange-hole"), key=["note", "warn", "stop"].index) == level
    assert {d.face for d in piece.drilling} == {"upper flange"}
    assert all("in from the web's outside" in d.why for d in piece.drilling)
    flats = [unfold(piece.part, Shop().bend_rule())]
    told = judge([piece], flats, on, Shop()).findings
    assert sum(f.code == "flange-hole" for f in (*piece.findings, *told)) == sum(f.code == "flange-hole" for f in piece.findings)


def test_pick_ups_that_cannot_be() -> None:
    from tests.parts.frame.makers import check_fault

    on = holed(("own", 800, 60, 13), ("far", 1200, 60, 13))
    check_fault(lambda: pad(**WIDE, pick_up=("nobody",)).build(on), "part pad", "pick_up", "no hole")
    # 1200 - 800 = 400 off the middle; 100 half wide less 6.75 and 2 x 4 leaves 85.25.
    check_fault(lambda: pad(**WIDE, pick_up=("far",)).build(on), "part pad", "pick_up", "lies 314.8 mm off")
    check_fault(lambda: pad(**WIDE, bolts=1, pick_up=("own", "far")).build(holed(("own", 770, 60, 13), ("far", 830, 60, 13))),
                "part pad", "bolts", "names 2 holes for 1 bolts")  # fmt: skip
    check_fault(lambda: pad(**WIDE, pick_up=("own",)).build(flange_holed(800, 25, 9)), "part pad", "pick_up", "is in the upper flange")


def test_a_bolted_body_mount_on_a_doubler_is_built_after_it() -> None:
    on = frame(body_mounts=(mount(name="cab", at=Position(x_mm=900.0)),))
    plate = RailPlate(id="doubler", thickness_mm=4.0, seat="outside", start=Position(x_mm=400.0), end=Position(x_mm=1400.0),
                      front_end="square", rear_end="square")  # fmt: skip
    carried = pad(id="carry", on="doubler", carries="cab", attach="bolt", bolts=2, width_mm=160.0)
    parts: tuple[Any, ...] = (carried, plate)
    kit = build_kit(parts, on, Shop())
    piece = next(p for p in kit.pieces if p.id == "carry-right")
    assert {b.between for b in piece.bolts} == {("carry", "doubler", "rail right web")}
    assert {b.grip_mm for b in piece.bolts} == {4.0 + 4.0 + 4.0}
    assert {d.face for d in piece.drilling} == {"web", "plate doubler"}
    assert np.abs(np.array(piece.seats[0].points[0]) - np.array([900, 485, 600])).max() < 1e-9
