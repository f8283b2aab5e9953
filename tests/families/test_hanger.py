"""Hangers on straight, turning, kicked and tapering rails, on the demo frames' plates and crossmembers.

Where a hole must be is worked out here from the pipe's own line and the frame's dimensions with numpy; holes by ISO 273 (M5 5.5, M6 6.6,
M8 9 medium). Tolerances: 1e-6 mm where a curve was looked up, 1e-9 where only transforms lie between.
"""

from __future__ import annotations

import math
from collections.abc import Callable
from dataclasses import replace
from typing import Any

import numpy as np
import pytest
from hypothesis import given, settings
from hypothesis import strategies as st
from numpy.typing import NDArray

from parts.bending import KFactor
from parts.errors import BadInput
from parts.families import Hanger
from parts.families.hanger import HangerPlace
from parts.flat import unfold
from parts.formed import formed
from parts.frame import Frame
from parts.frame.features import Bracket
from parts.frame.frame import Steel
from parts.frame.space import KeepOut, SpacePoint
from parts.piece import Piece
from parts.shop import Shop
from parts.soundness import faults
from parts.spec import Position
from tests.families.cases import FRAMES, made
from tests.families.crossmember_brackets import winding
from tests.parts.frame.makers import check_fault, demo_frame, frame, hole, kicked, turned

Array = NDArray[np.float64]
JOB = "orchard-lines"
UNIT = "pipe"
INSIDE = 426.0  #: y of the right web's inside on the straight test frame: 430 - 4


def path(on: Frame, *points: Any, diameter: float = 10.0, what: str = "") -> Frame:
    ends = tuple(SpacePoint(x_mm=float(x), y_mm=float(y), z_mm=float(z)) for x, y, z in points)
    return replace(on, keep_out=(KeepOut(name=UNIT, shape="path", what=what, points=ends, diameter_mm=diameter),))


def hanger(**fields: Any) -> Hanger:
    plain: dict[str, Any] = {"id": "tab", "side": "right", "pipe": UNIT, "kind": "ring", "thickness_mm": 3.0}
    plain |= {} if {"at", "every_mm", "places", "on"} & fields.keys() else {"at": Position(x_mm=800.0)}
    return Hanger(**{**plain, **fields})


def level(on: Frame | None = None, *, y: float = 380.0, z: float = 520.0, **fields: Any) -> Frame:
    """A pipe along the vehicle, `INSIDE` - y off the right web."""
    return path(on or frame(), (100, y, z), (1400, y, z), **fields)


def axis(piece: Piece, name: str, number: int = 0) -> tuple[Array, Array]:
    own = next(a for a in formed(piece.part).hole_axes if a.name == name)
    place = piece.placements[number]
    a, b = np.array(place.point(*own.point)), np.array(place.point(*np.add(own.point, own.direction)))
    return a, b - a


def off_line(p: Array, on: Any, way: Array) -> float:
    d = p - np.array(on)
    return float(np.linalg.norm(d - (d @ way) * way))


def base_corners(piece: Piece, number: int = 0) -> Array:
    base = piece.part.panels[0]
    return np.array([piece.placements[number].point(u, v) for u, v in base.contour.points])


RAILS: dict[str, tuple[Callable[[], Frame], float]] = {
    "straight": (frame, 800.0),
    "turned": (lambda: frame(turned()), 2000.0),
    "kicked": (lambda: frame(kicked()), 2000.0),
    "tapering": (lambda: frame(kicked(rear_depth=110)), 2000.0),
    "winding": (lambda: frame(winding()), 2300.0),
}


@pytest.mark.parametrize("name", RAILS)
@pytest.mark.parametrize("out", [-0.2, 0.0, 0.2])
@pytest.mark.parametrize("up", [-0.3, 0.0, 0.15])
def test_a_rings_hole_is_the_pipe_itself(name: str, out: float, up: float) -> None:
    """The pipe runs by (1, -out, up) rearward past the middle of the web, 40 off its inside: the hole's axis is its line."""
    make, x = RAILS[name]
    on = make()
    rail = on.rail("right")
    s = rail.plan.s_at_x(x)
    z = (rail.profile.upper_z(s) + rail.profile.lower_z(s)) / 2
    through = np.array(rail.point(s, z, 44.0))
    n = np.array(rail.normal(s))
    way = np.array([*rail.direction(s)[:2], 0.0]) + out * n + [0, 0, up]
    way /= np.linalg.norm(way)
    (piece,) = hanger(at=Position(x_mm=x)).build(path(on, through - 150 * way, through + 150 * way))
    point, direction = axis(piece, "pipe")
    assert off_line(point, through, way) < 1e-6
    assert abs(direction @ way) == pytest.approx(1, abs=1e-9)
    # in the leg's plane it lies where the plane square to the rail at that place meets the pipe
    assert point == pytest.approx(through, abs=1e-6)
    # the base lies on the web's inside: the plane through (s, z, 4) square to n
    plane = np.array(rail.point(s, z, 4.0))
    assert np.abs((base_corners(piece) - plane) @ n).max() < 1e-6
    # the leg's plane is square to the pipe: the brake turns 90 deg and the pipe's own lean, one way or the other
    lean = math.degrees(math.asin(float(way @ n)))
    assert abs(piece.part.bends[0].angle_deg - 90) == pytest.approx(abs(lean), abs=1e-9)
    # the bend line lies in the web, square to the pipe
    u = np.array(piece.placements[0].u)
    assert abs(u @ n) < 1e-9 and abs(u @ way) < 1e-9
    assert not faults(piece.part)


@pytest.mark.parametrize("base", ["below", "above"])
@pytest.mark.parametrize("out", [-0.15, 0.0, 0.15])
def test_a_clips_leg_lies_beside_the_pipe(base: str, out: float) -> None:
    """Band 1.5 and a pipe of 10: the leg's face stands 5 + 1.5 off its centre; M6 washer 12 across (ISO 7089): bolt 5 + 1.5 + 6 = 12.5."""
    way = np.array([1.0, -out, 0.1])
    way /= np.linalg.norm(way)
    through = np.array([800.0, 380.0, 525.0])
    (piece,) = hanger(kind="clip", base=base).build(path(frame(), through - 150 * way, through + 150 * way))
    point, direction = axis(piece, "clip")
    leg = formed(piece.part).places["leg"]
    face = np.array(piece.placements[0].point(*leg.origin))
    assert abs((face - through) @ direction) == pytest.approx(6.5, abs=1e-6)
    assert abs(direction @ way) < 1e-9  # the leg runs along the pipe
    between = point - through
    assert between - (between @ direction) * direction - (between @ way) * way == pytest.approx(
        12.5 * np.cross(direction, way) * np.sign(np.cross(direction, way) @ between), abs=1e-6
    )
    assert point[1] > through[1]  # the clip's ear points to the web
    middle = base_corners(piece)[:, 2].mean()
    assert (middle < 525) == (base == "below")


def test_a_rubbers_slot_stands_over_the_pipe_on_every_frame() -> None:
    """55 over the exhaust's centre, under the crossmember that stays, upright over it: pipe heights and y from the frames' own files."""
    centres = {"orchard-flatbed": (200, 375), "river-wagon": (8 * 25.4, 15.125 * 25.4), "mill-pickup": (200, 290)}
    for name in FRAMES:
        read, kit = made(JOB, name)
        piece = next(p for p in kit.pieces if p.id == "exhaust-hanger")
        y, z = centres[name]
        point, direction = axis(piece, "rubber")
        assert point[1:] == pytest.approx((y, z + 55), abs=1e-6)
        assert np.abs(direction) == pytest.approx((1, 0, 0), abs=1e-9)
        x0, x1, bottom, _ = read.frame.crossmember("cm-mid").box
        base = base_corners(piece)
        assert base[:, 2] == pytest.approx(bottom, abs=1e-6)
        assert x0 < base[:, 0].min() < base[:, 0].max() < x1
        assert {w.onto for w in piece.welds} == {"crossmember cm-mid underside"}
        assert any("hot pipe" in n for n in piece.notes)
        slot = next(h for p in piece.part.panels for h in p.holes)
        assert (slot.diameter_mm, slot.length_mm) == (9.0, 21.0)  # M8 medium 9 (ISO 273); 12 to set


@pytest.mark.parametrize("name", FRAMES)
def test_a_tab_on_a_plate_stands_on_the_plates_face(name: str) -> None:
    """The doubler's seen face: web's inside and 4 mm of plate."""
    read, kit = made(JOB, name)
    piece = next(p for p in kit.pieces if p.id == "doubler-clip-left")
    rail = read.frame.rail("left")
    seen = rail.point(100.0, 0.0, rail.thickness_mm + 4)[1]
    assert base_corners(piece)[:, 1] == pytest.approx(seen, abs=1e-6)
    assert {w.onto for w in piece.welds} == {"step-doubler-left"}
    assert {w.thickness_mm for w in piece.welds} == {(2.0, 4.0)}


def test_equal_tabs_are_one_piece_and_others_are_not() -> None:
    three = tuple(HangerPlace(at=Position(x_mm=x)) for x in (400.0, 700.0, 1000.0))
    (piece,) = hanger(places=three).build(level())
    assert piece.quantity == 3 and piece.id == "tab-right"
    assert [axis(piece, "pipe", k)[0][0] for k in range(3)] == pytest.approx([400, 700, 1000], abs=1e-6)
    assert len(piece.welds) == 12 and len({w.name for w in piece.welds}) == 12
    falling = path(frame(), (100, 390, 520), (1400, 360, 520))
    apart = hanger(places=three).build(falling)
    assert [p.id for p in apart] == ["tab-right-1", "tab-right-2", "tab-right-3"]
    flats = [unfold(p.part, KFactor(value=0.4)).area_mm2 for p in apart]
    assert flats[0] < flats[1] < flats[2]


def test_too_near_too_steep_and_turning_are_refused_with_their_numbers() -> None:
    """3 mm A36 bends to 4 (DIN 6935:1975): setback 7; hole 10 + 2 x 2 = 14, half 7; 2 t + r = 10: a pipe must stand 24 off the web."""
    assert hanger().build(level(y=INSIDE - 24.0))
    check_fault(lambda: hanger().build(level(y=INSIDE - 20.0)), "part tab", "pipe", "would lie 6.0 mm from the bend; 2 t + r = 10.0 mm")
    slope = math.tan(math.radians(31))
    steep = path(frame(), (700, 380 + 100 * slope - 40, 520), (900, 380 - 100 * slope - 40, 520))
    check_fault(lambda: hanger().build(steep), "part tab", "pipe", "runs 31.0 deg off rail right web")
    # 20 behind the place the pipe turns 90 deg: bent to 3 x 10, that takes 30 of the straight: -10 left
    corner = path(frame(), (700, 380, 520), (820, 380, 520), (820, 380, 300))
    check_fault(lambda: hanger().build(corner), "part tab", "at", "0.0 mm of straight pipe is left")
    # 45 before the end of the bend's reach: 5 left, half of 26 asked
    check_fault(lambda: hanger(at=Position(x_mm=785.0)).build(corner), "part tab", "at", "5.0 mm of straight pipe is left")
    check_fault(lambda: hanger(at=Position(x_mm=1398.0)).build(level()), "part tab", "at", "2.0 mm of straight pipe is left")
    check_fault(lambda: hanger(at=Position(x_mm=1500.0)).build(level()), "part tab", "at", "it runs from x 100 to 1400 mm")
    turning = path(frame(turned()), (1300, 380, 520), (1700, 380, 520))
    check_fault(lambda: hanger(at=Position(x_mm=1500.0)).build(turning), "part tab", "at", "rail right turns here")


def test_far_pipes_are_told_and_very_far_ones_refused() -> None:
    """Leg over all: 200 to the pipe's centre + 7 + 6."""
    (piece,) = hanger().build(level(y=INSIDE - 200.0))
    (long,) = [f for f in piece.findings if f.code == "leg-long"]
    assert (long.level, long.value) == ("warn", "213.0 mm")
    check_fault(lambda: hanger().build(level(y=-300.0)), "part tab", "at", "does not pass")
    check_fault(lambda: hanger(pipe=None, point=SpacePoint(x_mm=800, y_mm=-190, z_mm=520), diameter_mm=10.0, at=None).build(frame()),
                "part tab", "pipe", "a leg of 629 mm")  # fmt: skip


def test_the_base_keeps_on_the_flat_of_the_web() -> None:
    """Flat to 600 - 4 - 4 = 592. Ring 26 wide at z 575: 588, and a weld of 3: 591. At z 577 it would reach 1 past."""
    assert hanger().build(level(z=576.0))
    check_fault(lambda: hanger().build(level(z=577.0)), "part tab", "at", "would reach 1.0 mm past what is flat of rail right web")


def test_a_leg_past_a_flange_is_refused() -> None:
    """Bolted, the base of a ring may come to the end of the flat; a clip over the pipe at z 580 has its leg in the flange at 596."""
    with pytest.raises(BadInput) as caught:
        hanger(kind="clip", base="above").build(level(z=580.0))
    assert all(f.field == "at" and "mm" in f.limit for f in caught.value.faults)


def test_bolts_take_the_rails_holes_first() -> None:
    """A hole at x 780, z 450 + 70 = 520: 20 in front of the leg, tangent 7 behind that: 13 from the bend. M8: hole 9 to be at least
    4.5 + 6 + 4 = 14.5 off it. One 5 further forward is taken, and one 40 further: the base grows to 65 + 4.5 + 6 = 75.5 for it."""
    near = frame(holes=(hole(name="own", at=Position(x_mm=780.0), up_mm=70.0, diameter_mm=9),))
    check_fault(
        lambda: hanger(attach="bolt", base="front", bolts=0, pick_up=("own",)).build(level(near)),
        "part tab",
        "pick_up",
        "1.5 mm square to it",
    )
    good = frame(holes=(hole(name="own", at=Position(x_mm=775.0), up_mm=70.0, diameter_mm=8, filled="rivet"),))
    (piece,) = hanger(attach="bolt", base="front", bolts=0, pick_up=("own",)).build(level(good))
    point, _ = axis(piece, "own")
    assert point == pytest.approx((775, INSIDE, 520), abs=1e-6)
    assert [(d.name, d.existing_mm, d.diameter_mm) for d in piece.drilling] == [("own", 8, 9.0)]
    assert piece.drilling[0].up_mm == pytest.approx(70)
    assert [r.name for r in piece.removals] == ["own"] and "drill the shank under size" in piece.removals[0].how
    assert piece.bolts[0].strength == "10.9" and "nut M8 class 10" in [h.designation for h in piece.hardware]  # in a rivet's place
    assert [(b.grip_mm, b.between) for b in piece.bolts] == [(7.0, ("tab", "rail right web"))]
    assert piece.bolts[0].nut == pytest.approx((775, 430, 520), abs=1e-6)
    far = frame(holes=(hole(name="own", at=Position(x_mm=735.0), up_mm=70.0, diameter_mm=9),))
    (long,) = hanger(attach="bolt", base="front", bolts=0, pick_up=("own",)).build(level(far))
    assert base_corners(long)[:, 0].min() == pytest.approx(800 - 75.5, abs=1e-6) and not long.drilling


def test_two_new_bolts_keep_apart_and_off_old_holes() -> None:
    """Guides ask 25 between the edges of two holes in a web: 9 + 25 = 34."""
    (piece,) = hanger(attach="bolt", bolts=2).build(level())
    a, b = (axis(piece, f"bolt-{k}")[0] for k in (1, 2))
    assert np.linalg.norm(a - b) == pytest.approx(34, abs=1e-6)
    x = axis(hanger(attach="bolt").build(level())[0], "bolt-1")[0][0]
    old = frame(holes=(hole(name="old", at=Position(x_mm=float(x) - 9.0), up_mm=70.0, diameter_mm=9),))
    # 9 apart, both 9 across: nothing between them; behind the leg there is room
    check_fault(lambda: hanger(attach="bolt", base="front").build(level(old)), "part tab", "at", "0.0 mm of steel to old")
    assert hanger(attach="bolt").build(level(old))[0].bolts[0].head[0] > 800


def test_what_lies_under_the_base_is_told() -> None:
    rivets = frame(holes=(hole(name="r", at=Position(x_mm=785.0), up_mm=70.0, diameter_mm=10, filled="rivet"),))
    (found,) = [f for f in hanger(base="front").build(level(rivets))[0].findings if f.code == "base-over-hole"]
    assert found.level == "stop" and "rivet r" in found.message
    opened = frame(holes=(hole(name="o", at=Position(x_mm=785.0), up_mm=70.0, diameter_mm=10),))
    assert [f.level for f in hanger(base="front").build(level(opened))[0].findings if f.code == "base-over-hole"] == ["warn"]


def test_brackets_of_the_frame() -> None:
    plain: dict[str, Any] = {"name": "b", "at": Position(x_mm=790.0), "up_mm": 70.0, "length_mm": 40.0, "height_mm": 40.0, "out_mm": 30.0}
    kept = frame(brackets=(Bracket(**plain, inner_face=True, fate="kept", held_by="weld", side="right"),))
    assert "stop" in {f.level for f in hanger().build(level(kept))[0].findings if f.code == "tab-in-the-way"}
    off = frame(brackets=(Bracket(**plain, inner_face=True, fate="cut off", held_by="weld", side="right"),))
    assert [r.name for r in hanger().build(level(off))[0].removals] == ["b"]


def test_what_is_asked_for_twice_or_not_at_all() -> None:
    def refused(**fields: Any) -> list[str]:
        with pytest.raises(BadInput) as caught:
            Hanger(**{"id": "tab", "kind": "ring", "thickness_mm": 3.0, **fields})
        return [f.field for f in caught.value.faults]

    at = Position(x_mm=1.0)
    assert refused() == ["pipe"]
    assert refused(pipe="p", point=SpacePoint(x_mm=0, y_mm=0, z_mm=0), diameter_mm=5.0) == ["pipe"]
    assert refused(pipe="p", diameter_mm=5.0) == ["diameter"]
    assert refused(pipe="p", at=at, every_mm=100.0) == ["every", "start", "end"]
    assert refused(pipe="p", at=at, start=at) == ["start"]
    assert refused(pipe="p", at=at, pick_up=("a",)) == ["pick_up"]
    assert refused(pipe="p", at=at, attach="bolt", bolts=0) == ["bolts"]
    assert refused(pipe="p", at=at, grade="soap", width_mm=1.0) == ["width", "grade"]


def test_pipes_that_are_none() -> None:
    check_fault(lambda: hanger(pipe="brake").build(level()), "part tab", "pipe", "no keep_out of shape path of that name")
    flatbed = demo_frame("orchard-flatbed")
    check_fault(lambda: hanger(pipe="sump").build(flatbed), "part tab", "pipe", "is a box: only a path has a line")


def test_steel_that_is_not_welded_and_cautions() -> None:
    on = replace(level(what="fuel line"), steel=Steel(grade="unknown", heat_treated="unknown"))
    (piece,) = hanger().build(on)
    assert "weld-heat-treated" in {f.code for f in piece.findings if f.level == "stop"}
    assert any(n.startswith("fuel line") for n in piece.notes)
    (bolted,) = hanger(attach="bolt").build(on)
    assert "weld-heat-treated" not in {f.code for f in bolted.findings}


def test_both_sides_each_on_its_own_rail() -> None:
    """By a point: y is the right one's. The pickup's rails differ: webs' inside at y -405 and 408; 30 off the right is 27 off the left."""
    on = demo_frame("mill-pickup")
    own = Hanger(id="tab", side="both", point=SpacePoint(x_mm=1200, y_mm=378, z_mm=430), diameter_mm=8.0, kind="clip", thickness_mm=2.0)
    left, right = own.build(on)
    assert base_corners(left)[:, 1] == pytest.approx(-405, abs=1e-6) and base_corners(right)[:, 1] == pytest.approx(408, abs=1e-6)
    off = 8 / 2 + 1.5 + 6  # M6 washer 12 across (ISO 7089)
    assert axis(left, "clip")[0][1] == pytest.approx(-378 - off, abs=1e-6)
    assert axis(right, "clip")[0][1] == pytest.approx(378 + off, abs=1e-6)


@settings(max_examples=80, deadline=None, derandomize=True)
@given(
    name=st.sampled_from(sorted(RAILS)), kind=st.sampled_from(["clip", "ring", "rubber"]), out=st.floats(-0.7, 0.7),
    up=st.floats(-0.7, 0.7), off=st.floats(15, 120), thickness=st.floats(1, 6), diameter=st.floats(4, 40),
    attach=st.sampled_from(["weld", "bolt"]), rubber=st.floats(5, 80),
)  # fmt: skip
def test_any_pipe_past_any_rail(
    name: str, kind: str, out: float, up: float, off: float, thickness: float, diameter: float, attach: str, rubber: float
) -> None:
    make, x = RAILS[name]
    on = make()
    rail = on.rail("right")
    s = rail.plan.s_at_x(x)
    through = np.array(rail.point(s, (rail.profile.upper_z(s) + rail.profile.lower_z(s)) / 2, 4 + off))
    way = np.array(rail.direction(s)) + out * np.array(rail.normal(s)) + [0, 0, up]
    way /= np.linalg.norm(way)
    part = hanger(at=Position(x_mm=x), kind=kind, thickness_mm=thickness, attach=attach, rubber_mm=rubber)
    try:
        (piece,) = part.build(path(on, through - 150 * way, through + 150 * way, diameter=diameter), Shop())
    except BadInput as error:
        assert all(f.field and f.limit for f in error.faults)
        return
    assert not faults(piece.part)
    point, direction = axis(piece, {"ring": "pipe"}.get(kind, kind))
    if kind == "ring":
        assert off_line(point, through, way) < 1e-6
    elif kind == "rubber":
        assert np.linalg.norm(point - through) == pytest.approx(rubber, abs=1e-6) and abs((point - through) @ way) < 1e-6
        assert abs(direction @ way) == pytest.approx(1, abs=1e-9)
    else:
        assert abs(direction @ way) < 1e-9
