"""What a mount pad refuses, and what it tells: each with the number, worked by hand beside it."""

from __future__ import annotations

import math
from dataclasses import replace
from typing import Any

import pytest

from parts.errors import BadInput
from parts.frame.features import Bracket, KeepVisible
from parts.frame.frame import Steel, Use
from parts.spec import Position
from tests.families.mount_pads import codes, pad
from tests.parts.frame.makers import check_fault, cross, faults_of, frame, hole, kicked, mount, turned


@pytest.mark.parametrize(
    ("fields", "field", "limit"),
    [
        ({"at": None}, "at", "needs a place"),
        ({"out_mm": None}, "out", "give the point's place across"),
        ({"z_mm": 500.0, "rise_mm": 20.0}, "rise", "give the point's place in height once"),
        ({"grade": "cheese"}, "grade", "no such grade"),
        ({"top_bolt": "M3"}, "top_bolt", ""),
        ({"attach": "bolt", "bolt": "M3"}, "bolt", ""),
        ({"pattern": "four", "pitch_along_mm": 50.0}, "pitch_across", "both ways"),
        ({"pattern": "two"}, "pitch_along", "one way"),
        ({"pattern": "ring"}, "ring", "needs its circle"),
        ({"ring_mm": 50.0}, "ring", "needs its circle"),
        ({"centre_hole_mm": 20.0}, "centre_hole", "in the middle already"),
        ({"pitch_across_mm": 20.0}, "pitch_across", "has no pitches"),
        ({"leaves": "inboard"}, "leaves", "no inboard edge"),
        ({"on": "upper-flange", "leaves": "upper"}, "leaves", "no upper edge"),
        ({"fold": "straight", "foot_mm": 40.0}, "foot", "follows from the point"),
        ({"pick_up": ("a",)}, "pick_up", "welded"),
        ({"thickness_mm": 0.2}, "thickness", "1.5"),
        ({"tilt_along_deg": 61.0}, "tilt_along", "60"),
        ({"top_reach_mm": float("nan")}, "top_reach", "finite"),
    ],
)
def test_parameters_that_do_not_go_together(fields: dict[str, Any], field: str, limit: str) -> None:
    plain: dict[str, Any] = {"out_mm": 150.0, "rise_mm": -30.0, **fields}
    from parts.families import MountPad

    given = {"id": "pad", "at": Position(x_mm=800.0), "thickness_mm": 4.0, "width_mm": 110.0, "top_reach_mm": 40.0, **plain}
    found = faults_of(lambda: MountPad(**given))
    assert [(f.where, f.field) for f in found] == [("part pad", field)]
    assert limit in found[0].limit


def test_a_carried_mount_takes_no_place_of_its_own() -> None:
    from parts.families import MountPad

    fields: dict[str, Any] = {"id": "pad", "carries": "cab", "thickness_mm": 4.0, "width_mm": 110.0, "top_reach_mm": 40.0}
    found = faults_of(lambda: MountPad(**fields, out_mm=20.0, tilt_along_deg=2.0))
    assert found[0].field == "carries" and "out, tilt_along" in found[0].remedy
    on = frame(body_mounts=(mount(name="cab"),))
    wrong = faults_of(lambda: MountPad(**{**fields, "carries": "cap"}, on="web-outboard").build(on))
    assert {f.field for f in wrong} == {"carries"} and "cab" in wrong[0].remedy


def test_every_fault_of_a_file_comes_in_one_go() -> None:
    with pytest.raises(BadInput) as caught:
        pad(grade="cheese", top_bolt="M3", width_mm=5.0)
    assert {f.field for f in caught.value.faults} == {"grade", "top_bolt", "width"}


@pytest.mark.parametrize(
    ("fields", "field", "limit"),
    [
        # The mount's point 426 - (430 - 29.95) = 25.95 off the face; bend 9, hole M12 13.5: 25.95 - 9 - 6.75 = 10.2;
        # 2 x 4 + 5 = 13 is the least.
        ({"out_mm": 29.95, "fold": "straight"}, "out", "mount would lie 10.2 mm from the top's bend; 2 t + r = 13.0 mm"),
        # The hole's edge 6.75 off the middle: 13.95 - 6.75 = 7.2 to the free edge; 8 is the least.
        ({"top_reach_mm": 13.95}, "top_reach", "leaves 7.2 mm from mount to the top's free edge; 2 t = 8 mm"),
        # Two of 11 mm, 18 apart: 7.
        ({"pattern": "two", "pitch_along_mm": 18.0, "top_bolt": "M10"}, "pattern", "leaves 7.0 mm between mount-1 and mount-2"),
        ({"on": "nobody"}, "on", "no part before this one"),
        ({"on": "web-outboard"}, "on", "-150.0 mm in front"),  # inboard of the outside: behind the face
        ({"at": Position(at="nowhere")}, "at", "no place"),
        ({"at": Position(x_mm=30.0)}, "at", "25.0 mm past the front end"),  # 30 - 110 / 2
        # Upper face at z 598: the bend's tangent at 589, the web's flat (and the leg) ends at 600 - 12 = 588.
        ({"rise_mm": -2.0, "fold": "straight"}, "rise", "1.0 mm past the flat of rail right web"),
        ({"rise_mm": -115.0, "leaves": "upper", "fold": "straight"}, "rise", "14.0 mm of base on rail right web; 25 mm is the least"),
    ],
)
def test_what_the_frame_does_not_allow(fields: dict[str, Any], field: str, limit: str) -> None:
    check_fault(lambda: pad(side="right", **fields).build(frame()), "part pad", field, limit)


def test_the_boundary_of_two_thicknesses_and_a_radius() -> None:
    """2 t + r = 13 from the hole's edge to the tangent: the point 4 + 9 + 13 + 6.75 = 32.75 from the web's outside, no nearer."""
    assert pad(side="right", out_mm=32.75, fold="straight").build(frame())
    assert faults_of(lambda: pad(side="right", out_mm=32.74, fold="straight").build(frame()))
    told = pad(side="right", out_mm=36.74, fold="straight").build(frame())[0]  # 3 t + r = 17: 36.75
    assert codes(told)["hole-near-bend"] == "warn"
    assert "hole-near-bend" not in codes(pad(side="right", out_mm=36.75, fold="straight").build(frame())[0])


def test_on_a_turn_or_a_kick_it_is_refused_with_the_distance() -> None:
    assert "turns here" in faults_of(lambda: pad(at=Position(x_mm=1500.0), side="right").build(frame(turned())))[0].limit
    # The kick's arc of 300 begins 300 tan 9 deg = 47.5 before the station: at x 1420 a base of 110 reaches 22.5 into it on the flange.
    found = faults_of(
        lambda: pad(at=Position(x_mm=1420.0), on="upper-flange", out_mm=130.0, rise_mm=60.0, side="right").build(frame(kicked()))
    )
    assert found[0].field == "width" and "22.5 mm into the kick" in found[0].limit


def test_a_crossmember_in_its_room() -> None:
    """cm: 50 wide round x 1800, 100 deep from z 575. The pad from 1745 to 1855 overlaps all of it."""
    own = {"at": Position(x_mm=1800.0), "side": "right"}
    stays = pad(**own).build(frame(crossmembers=(cross(),)))[0]
    assert codes(stays)["crossmember-in-the-way"] == "stop"
    assert "over 50 mm" in next(f.message for f in stays.findings if f.code == "crossmember-in-the-way")
    out = pad(**own).build(frame(crossmembers=(cross(removable=True, joint="bolted"),)))[0]
    assert codes(out)["crossmember-in-the-way"] == "warn"
    assert [r.what for r in out.removals] == ["crossmember"]
    beside = pad(at=Position(x_mm=1800.0 + 25 + 55), side="right").build(frame(crossmembers=(cross(),)))[0]
    assert "crossmember-in-the-way" not in codes(beside)
    outside = pad(**own, on="web-outboard", out_mm=-80.0).build(frame(crossmembers=(cross(),)))[0]
    assert "crossmember-in-the-way" not in codes(outside)


def test_brackets_in_its_room() -> None:
    box: dict[str, Any] = {"name": "old", "at": Position(x_mm=820.0), "up_mm": 80.0, "length_mm": 40, "height_mm": 40, "out_mm": 50,
                           "inner_face": True}  # fmt: skip
    kept = pad(side="right").build(frame(brackets=(Bracket(**box),)))[0]
    assert codes(kept)["bracket-in-the-way"] == "stop"
    cut = pad(side="right").build(frame(brackets=(Bracket(**box, fate="cut off"),)))[0]
    assert [(r.what, r.name) for r in cut.removals] == [("bracket", "old")]
    other = pad(side="right").build(frame(brackets=(Bracket(**{**box, "inner_face": False}),)))[0]  # on the web's outside
    assert "bracket-in-the-way" not in codes(other) and other.removals == ()


def test_a_stamped_number_is_not_covered_or_drilled() -> None:
    number = KeepVisible(name="vin", what="number", at=Position(x_mm=800.0), up_mm=60.0, length_mm=80.0, height_mm=16.0)
    on = frame(keep_visible=(number,))
    outside = pad(side="right", on="web-outboard", out_mm=-80.0).build(on)[0]
    assert codes(outside)["covers-keep-visible"] == "stop"
    inside = pad(side="right").build(on)[0]  # seen from the other side
    assert "covers-keep-visible" not in codes(inside)
    over = frame(keep_visible=(replace(number, length_mm=400.0, height_mm=100.0),))
    assert codes(pad(side="right", attach="bolt", width_mm=180.0).build(over)[0])["covers-keep-visible"] == "stop"


def test_nothing_is_welded_to_steel_that_may_be_heat_treated() -> None:
    unknown = replace(frame(), steel=Steel(grade="unknown", heat_treated="unknown"), use=Use(road=True, commercial=True))
    welded = codes(pad(side="right").build(unknown)[0])
    assert welded["weld-heat-treated"] == "stop" and welded["weld-commercial"] == "stop"
    bolted = codes(pad(side="right", attach="bolt", width_mm=200.0).build(unknown)[0])
    assert not {"weld-heat-treated", "weld-commercial"} & set(bolted)


def test_an_open_hole_under_a_welded_base_is_told() -> None:
    piece = pad(side="right").build(frame(holes=(hole(name="pipe", at=Position(x_mm=800.0), up_mm=60.0, diameter_mm=20),)))[0]
    assert codes(piece)["covers-open-hole"] == "warn"


def test_a_pad_thinner_than_the_body_mount_that_it_replaces() -> None:
    """The mount's pad is 6 mm thick."""
    on = frame(body_mounts=(mount(name="cab", at=Position(x_mm=900.0)),))
    fields: dict[str, Any] = {"carries": "cab", "on": "web-outboard", "side": "right"}
    assert codes(pad(**fields, thickness_mm=5.0).build(on)[0])["mount-thinner"] == "warn"
    assert "mount-thinner" not in codes(pad(**fields, thickness_mm=6.0).build(on)[0])


def test_a_top_bolt_with_no_room_for_a_socket() -> None:
    """M16: 24 across flats (ISO 4014), socket 1.3 x 24 + 1.5 = 32.7 (common practice), half of it 16.35 from the base's seen face, which is
    4 (web) + 1.5 (pad) from the web's outside: 21.85, no nearer."""
    fields: dict[str, Any] = {"side": "right", "fold": "straight", "top_bolt": "M16", "thickness_mm": 1.5}
    assert codes(pad(**fields, out_mm=21.84).build(frame())[0])["spanner-room"] == "warn"
    assert "spanner-room" not in codes(pad(**fields, out_mm=21.86).build(frame())[0])


def test_a_base_bolt_with_no_room_for_a_socket() -> None:
    """M12: 18 across flats (ISO 4014), socket 1.3 x 18 + 1.5 = 24.9, half 12.45. The top leaves at z 570 and leans 40 deg over the base: it
    turns 130 deg, at 8 inside (DIN 6935:1975, the next thickness up), so the tangent lies 12 tan 65 deg = 25.7 lower, at 544.3. The bolt at
    450 + 71 = 521 is 23.3 + 8 off the wall there, and 24 out, where its head is, 24 tan 40 deg = 20.1 less: 11.1."""
    fields: dict[str, Any] = {"side": "right", "attach": "bolt", "width_mm": 200.0, "bolts": 2, "pick_up": ("own",), "leaves": "upper"}
    on = frame(holes=(hole(name="own", at=Position(x_mm=800.0), up_mm=71.0, diameter_mm=13),))
    assert "spanner-room" not in codes(pad(**fields).build(on)[0])  # square: 40 off the tangent at 561
    # Through (280, 570 - 122.5) falling inboard by tan 40 deg, the top's upper face is at z 570 over y = 426, 146 further out.
    leaning = pad(**fields, rise_mm=-30.0 - 146 * math.tan(math.radians(40)), tilt_across_deg=-40.0).build(on)[0]
    assert leaning.part.bends[0].angle_deg == pytest.approx(130, abs=1e-9)
    assert leaning.part.bends[0].inside_radius_mm == 8.0
    assert "11.1 mm from the stand" in next(f.message for f in leaning.findings if f.code == "spanner-room" and f.level == "warn")
