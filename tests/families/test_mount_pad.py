"""The mount pad's geometry: its point, its tilt, its chain of planes, on straight and on awkward rails.

Numbers are worked by hand beside their checks from the frame's own dimensions, or come from vector algebra (a plane's normal is the cross
product of two lines in it; the angle between planes that of their normals). Tolerance: 1e-6 mm asked of this family, 1e-9 where only
transforms lie between.
"""

from __future__ import annotations

import math
from typing import Any

import numpy as np
import pytest

from parts.bending import KFactor
from parts.families import RailPlate
from parts.flat import unfold
from parts.formed import formed
from parts.frame import Frame
from parts.soundness import faults
from parts.spec import Position
from tests.families.mount_pads import codes, corners, on_upper_face, pad, plated, slopes, upward
from tests.parts.frame.makers import DEMO_NAMES, demo_frame, drawn, faults_of, frame, kicked, mount, section, station, turned

ENGINE: dict[str, Any] = {
    "at": Position(at="front-axle", offset_mm=-60.0), "out_mm": 175.0, "rise_mm": 20.0, "thickness_mm": 6.0, "width_mm": 110.0,
    "top_reach_mm": 45.0, "pattern": "two", "pitch_along_mm": 56.0, "top_bolt": "M10",
}  # fmt: skip
ON_ALL: list[tuple[str, dict[str, Any]]] = [
    ("compound, an arm past the toes", {**ENGINE, "tilt_along_deg": -3.0, "tilt_across_deg": -25.0}),
    ("compound, both leaning right", {**ENGINE, "tilt_along_deg": 6.0, "tilt_across_deg": 12.0, "across_rises": "right"}),
    ("compound, straight off the outside", {
        "on": "web-outboard", "at": Position(at="front-axle", offset_mm=-60.0), "out_mm": -90.0, "rise_mm": -40.0, "tilt_along_deg": 8.0,
        "tilt_across_deg": 15.0, "thickness_mm": 5.0,
    }),
    ("compound, a riser on the upper flange", {
        "on": "upper-flange", "at": Position(at="front-axle", offset_mm=-60.0), "out_mm": 130.0, "rise_mm": 60.0, "tilt_along_deg": 5.0,
        "tilt_across_deg": -10.0,
    }),
    ("compound, hung under the lower flange", {
        "on": "lower-flange", "at": Position(at="front-axle", offset_mm=-60.0), "out_mm": 150.0, "rise_mm": -230.0, "tilt_along_deg": -4.0,
        "tilt_across_deg": 7.0,
    }),
]  # fmt: skip


@pytest.mark.parametrize("name", DEMO_NAMES)
@pytest.mark.parametrize("fields", [f for _, f in ON_ALL], ids=[n for n, _ in ON_ALL])
def test_the_point_and_both_slopes_on_every_frame(name: str, fields: dict[str, Any]) -> None:
    """The point from the rails' own stations: x midway, z midway from the upper corners, |y| midway from the webs."""
    on = demo_frame(name)
    made = pad(**fields).build(on)
    rails = [on.rail(p.side) for p in made]  # type: ignore[arg-type]
    x = sum(r.plan.point(r.s_at(fields["at"]))[0] for r in rails) / 2
    # front-axle - 60 lies where every demo rail is straight, level and parallel: each station's y and z are those of the place.
    y, z = ({"orchard-flatbed": (430.0, 600.0), "river-wagon": (17 * 25.4, 24 * 25.4), "mill-pickup": ((410 + 413) / 2, 500.0)})[name]
    for piece in made:
        sign = 1.0 if piece.side == "right" else -1.0
        point = np.array([x, sign * (y - fields["out_mm"]), z + fields["rise_mm"]])
        hole = "mount" if fields.get("pattern", "one") == "one" else None
        here = on_upper_face(piece, hole) if hole else (on_upper_face(piece, "mount-1") + on_upper_face(piece, "mount-2")) / 2
        assert np.abs(here - point).max() < 1e-6
        across = fields["tilt_across_deg"]
        right = across if fields.get("across_rises") == "right" or piece.side == "left" else -across  # inboard of the left rail is right
        assert np.abs(upward(piece) - slopes(fields["tilt_along_deg"], right)).max() < 1e-9
        assert faults(piece.part) == []
        assert piece.seats[0].normal == pytest.approx(tuple(upward(piece)), abs=1e-9)


def test_three_holes_span_the_plane_that_was_asked_for() -> None:
    """A ring of three, its middle the point; the plane through three formed holes has the slopes 7 and -11 deg (right rail, inboard)."""
    piece = pad(pattern="ring", ring_mm=50.0, ring_holes=3, top_bolt="M8", tilt_along_deg=7.0, tilt_across_deg=-11.0, width_mm=130.0,
                top_reach_mm=50.0).build(frame())[1]  # fmt: skip
    a, b, c = (on_upper_face(piece, f"mount-{k}") for k in (1, 2, 3))
    normal = np.cross(b - a, c - a)
    assert np.abs(normal / np.linalg.norm(normal) * np.sign(normal[2]) - slopes(7.0, 11.0)).max() < 1e-9
    assert np.abs((a + b + c) / 3 - np.array([800.0, 280.0, 570.0])).max() < 1e-9
    for p, q in ((a, b), (b, c), (c, a)):
        assert np.linalg.norm(p - q) == pytest.approx(25 * math.sqrt(3), abs=1e-9)
    assert a[1] == pytest.approx(280.0, abs=1e-9)  # the first stands straight rearward of the point as seen from above
    assert a[0] == pytest.approx(800.0 + 25 * math.cos(math.radians(7.0)), abs=1e-9)


@pytest.mark.parametrize("fields", [f for _, f in ON_ALL], ids=[n for n, _ in ON_ALL])
def test_each_bend_turns_by_the_angle_between_its_planes(fields: dict[str, Any]) -> None:
    """arccos of the normals' dot product, of both panels as they lie in the vehicle; the bend line lies in both."""
    for piece in pad(**fields).build(frame(*demo_frame("orchard-flatbed").rails)):
        shape = formed(piece.part)
        for bend in piece.part.bends:
            one, two = (np.array(shape.places[n].normal) for n in (bend.parent, bend.child))
            assert abs(bend.angle_deg) == pytest.approx(math.degrees(math.acos(one @ two)), abs=1e-9)
            zone = next(z for z in shape.zones if z.bend == bend)
            for normal in (one, two):
                assert abs(np.array(zone.axis_direction) @ normal) < 1e-12
            for normal, place in ((one, bend.parent), (two, bend.child)):  # the axis stands r or r + t off both faces
                off = (np.array(zone.axis_point) - np.array(shape.places[place].origin)) @ normal
                reach = bend.inside_radius_mm + piece.part.thickness_mm if bend.angle_deg > 0 else -bend.inside_radius_mm
                assert off == pytest.approx(reach, abs=1e-9)


def test_a_compound_tilt_makes_the_tops_bend_oblique_and_leaves_the_foot_square() -> None:
    piece = pad(fold="arm", foot_mm=100.0, tilt_along_deg=10.0, rise_mm=-20.0, out_mm=190.0).build(frame())[1]
    shape = formed(piece.part)
    ways = {b.child: np.array(piece.placements[0].point(*z.axis_direction)) - np.array(piece.placements[0].point(0, 0, 0))
            for b, z in zip(piece.part.bends, shape.zones, strict=True)}  # fmt: skip
    assert abs(ways["arm"][2]) < 1e-12  # level and along the rail
    assert abs(ways["arm"][1]) < 1e-12
    assert abs(ways["top"][2]) > 0.05


def test_a_level_pad_by_hand() -> None:
    """Web's inside y = 426; A36 of 4 mm bends to 5: outside 9. Top's upper face z = 600 - 30 = 570, so the base's tangent 561; its free
    edge 450 + 4 + 4 + 4 = 462 (flange, radius, leg). Top from y = 426 to 430 - 150 - 40 = 240."""
    left, right = pad().build(frame())
    for piece, (y0, y1) in ((left, (-426, -240)), (right, (240, 426))):
        low, high = formed(piece.part).box(piece.placements[0])
        assert low == pytest.approx((745, y0, 462), abs=1e-6)
        assert high == pytest.approx((855, y1, 570), abs=1e-6)
        (bend,) = piece.part.bends
        assert (bend.parent, bend.child, bend.inside_radius_mm) == ("base", "top", 5.0)
        assert bend.angle_deg == pytest.approx(90, abs=1e-9)
        assert corners(piece, "base", 0.0)[:, 2].max() == pytest.approx(561, abs=1e-6)
        assert {w.name for w in piece.welds} == {"base, free edge", "base, front edge", "base, rear edge", "base, at its bend"}
        assert {w.kind for w in piece.welds if w.name == "base, at its bend"} == {"bevel"}
        assert all(w.onto == f"rail {piece.side} web" and w.thickness_mm == (4.0, 4.0) for w in piece.welds)
        assert sum(math.dist(w.points[0], w.points[-1]) for w in piece.welds) == pytest.approx(2 * 110 + 2 * (561 - 462), abs=1e-6)


def test_the_pair_mirrors_unless_it_is_told_to_lean_one_way() -> None:
    for rises, same in (("inboard", False), ("right", True)):
        left, right = pad(tilt_across_deg=8.0, across_rises=rises, side="pair").build(frame())
        one, two = upward(left), upward(right)
        assert one[1] * two[1] > 0 if same else one[1] == pytest.approx(-two[1], abs=1e-12)
        if not same:  # inboard edge high: the left normal leans outboard, to the left
            assert one[1] == pytest.approx(-math.sin(math.radians(8.0)), abs=1e-12)
        else:
            assert one[1] == pytest.approx(-math.sin(math.radians(8.0)), abs=1e-12)
            assert two[1] == pytest.approx(one[1], abs=1e-12)


def test_rails_that_disagree_get_one_x_one_height_and_one_distance() -> None:
    """Upper corners 600 and 606, webs 430 and 434, front ends x 0 and 10: the points midway, 603 - 30, 432 - 150, 5 + 800."""
    left = drawn(station("front", 0, y=-430), station("rear", 3600, y=-430), side="left")
    right = drawn(station("front", 10, y=434, z=606), station("rear", 3600, y=434, z=606), side="right")
    made = pad(at=Position(at="front", offset_mm=800.0)).build(frame(left, right))
    for piece, sign in zip(made, (-1, 1), strict=True):
        assert on_upper_face(piece, "mount") == pytest.approx((805.0, sign * 282.0, 573.0), abs=1e-9)
        assert "6.0 mm apart in height" in piece.notes[0]
        assert "430.0 and 434.0 mm off the centreline" in piece.notes[0]
    alone = pad(at=Position(at="front", offset_mm=800.0), side="right").build(frame(left, right))[0]
    assert on_upper_face(alone, "mount") == pytest.approx((810.0, 284.0, 576.0), abs=1e-9)


def test_y_and_z_in_place_of_out_and_rise() -> None:
    left, right = pad(y_mm=280.0, z_mm=570.0).build(frame())
    assert on_upper_face(left, "mount") == pytest.approx((800, -280, 570), abs=1e-9)
    assert on_upper_face(right, "mount") == pytest.approx((800, 280, 570), abs=1e-9)


@pytest.mark.parametrize("name", DEMO_NAMES)
@pytest.mark.parametrize("on", ["web-outboard", "doubler"])
def test_a_body_mount_is_carried_through_to_the_same_point(name: str, on: str) -> None:
    """The hole's centre on the top lies where the frame file's own words put the mount: `out` outboard of the web, `above` over the upper
    corner, at its own x on either rail; the pad is level and its hole the mount's."""
    base: Frame = demo_frame(name)
    if on == "doubler":
        plate = RailPlate(id="doubler", thickness_mm=4.0, seat="outside", start=Position(at="cab-front", offset_mm=-170.0),
                          end=Position(at="cab-front", offset_mm=170.0), heads="remove")  # fmt: skip
        pieces = plate.build(base)
        for piece in pieces:
            found = next(f for f in piece.findings if f.code == "covers-body-mount")
            assert 'family = "mount_pad"' in found.remedy and 'carries = "cab-front"' in found.remedy and 'on = "doubler"' in found.remedy
        base = base.with_faces(plate.faces(base))
    made = pad(carries="cab-front", on=on, width_mm=80.0, thickness_mm=6.0).build(base)
    frames: dict[str, dict[str, tuple[float, float, float]]] = {  # cab-front: offset from front-axle, rails straight and level there
        "orchard-flatbed": {"left": (480, -485, 600), "right": (480, 485, 600)},
        "river-wagon": {"left": (19 * 25.4, -19.125 * 25.4, 24 * 25.4), "right": (19 * 25.4, 19.125 * 25.4, 24 * 25.4)},
        "mill-pickup": {"left": (450, -465, 500), "right": (454, 468, 500)},
    }
    by_hand = frames[name]
    for piece in made:
        assert on_upper_face(piece, "mount") == pytest.approx(by_hand[piece.side], abs=1e-6)
        assert upward(piece) == pytest.approx((0, 0, 1), abs=1e-12)
        own = next(h for p in piece.part.panels for h in p.holes)
        assert own.diameter_mm == pytest.approx({"river-wagon": 12.7}.get(name, 13.0))
        assert [r.what for r in piece.removals if r.name == "cab-front"] == ["body mount"]


def test_a_plate_on_the_other_side_covers_no_body_mount() -> None:
    """The mount stands 55 outboard; the plate on the toes lies inboard, and one outside that ends before the mount's pad does not reach."""
    on = frame(body_mounts=(mount(at=Position(x_mm=1000.0)),))  # its pad from x 960 to 1040
    fields: dict[str, Any] = {"id": "plate", "side": "right", "thickness_mm": 3.0, "start": Position(x_mm=300.0)}
    cases: tuple[tuple[Any, float, bool], ...] = (
        ("outside", 1400.0, True), ("outside", 959.0, False), ("outside", 961.0, True), ("toes", 1400.0, False)
    )  # fmt: skip
    for seat, end, told in cases:
        piece = RailPlate(seat=seat, end=Position(x_mm=end), front_end="square", rear_end="square", **fields).build(on)[0]
        assert ("covers-body-mount" in {f.code for f in piece.findings}) is told, (seat, end)


def test_on_a_plate_on_the_toes() -> None:
    """Toes at 430 - 60, plate 3: its seen face at y = 367. The pad may stand above the rail there: nothing is in its way."""
    piece = pad(on="box", rise_mm=15.0).build(plated(frame()))[1]
    assert np.abs(corners(piece, "base", 0.0)[:, 1] - 367).max() < 1e-9
    assert on_upper_face(piece, "mount") == pytest.approx((800, 280, 615), abs=1e-9)
    assert pad(on="box").needs == ("box",) and pad().needs == ()
    assert all(w.onto == "box right" for w in piece.welds)
    # The plate is set in by its leg of 3 (leg = thinner part): edge at 597; the pad's fillet 3 below that is where its side welds end.
    assert max(p[2] for w in piece.welds for p in w.points) == pytest.approx(594, abs=1e-6)


def test_on_flanges_the_base_lies_on_their_outside() -> None:
    """Right rail, flange in from y = 430 to 370. Base on z = 600; its weld of 4 off the corner's radius of 8: y 418 to the riser's tangent.
    """
    piece = pad(on="upper-flange", out_mm=130.0, rise_mm=60.0).build(frame())[1]
    base = corners(piece, "base", 0.0)
    assert np.abs(base[:, 2] - 600).max() < 1e-9
    assert base[:, 1].max() == pytest.approx(418, abs=1e-9)
    turn = math.acos(upward(piece, "base") @ np.array(piece.placements[0].point(*formed(piece.part).places["arm"].normal))
                     - upward(piece, "base") @ np.array(piece.placements[0].point(0, 0, 0)))  # fmt: skip
    assert base[:, 1].min() == pytest.approx(370 + 9 * math.tan(turn / 2), abs=1e-6)  # the bend's outside corner is flush with the toe
    assert [b.angle_deg > 0 for b in piece.part.bends] == [True, False]
    under = pad(on="lower-flange", out_mm=150.0, rise_mm=-230.0).build(frame())[1]
    assert np.abs(corners(under, "base", 0.0)[:, 2] - 450).max() < 1e-9
    assert on_upper_face(under, "mount") == pytest.approx((800, 280, 370), abs=1e-9)
    outboard = pad(on="upper-flange", leaves="outboard", out_mm=-60.0, rise_mm=50.0).build(frame())[1]
    assert on_upper_face(outboard, "mount") == pytest.approx((800, 490, 650), abs=1e-9)
    assert all(w.onto == "rail right upper flange" for w in piece.welds)
    # A note on a private truck: the bend's weld lies under 9 mm off the toe, and the manual asks 19 of others.
    assert codes(piece)["weld-at-flange-edge"] == "note"


@pytest.mark.parametrize(("rail", "x"), [("turned", 2000.0), ("kicked", 2000.0)])
def test_on_a_turning_and_on_a_sloping_rail(rail: str, x: float) -> None:
    """The point straight across from the web at that x: past the turn its outside is the line through (1500, 430) at 8 deg inboard."""
    on = frame(turned() if rail == "turned" else kicked())
    web = 430 - 500 * math.tan(math.radians(8)) if rail == "turned" else 430.0
    top = 600.0 if rail == "turned" else 600 + 500 * math.tan(math.radians(18))
    asked: tuple[dict[str, Any], ...] = (
        {"tilt_along_deg": 5.0, "tilt_across_deg": -9.0}, {"fold": "arm", "tilt_along_deg": 3.0, "out_mm": 200.0}
    )  # fmt: skip
    for fields in asked:
        piece = pad(at=Position(x_mm=x), **fields).build(on)[1]
        assert on_upper_face(piece, "mount") == pytest.approx((x, web - fields.get("out_mm", 150.0), top - 30), abs=1e-6)
        assert np.abs(upward(piece) - slopes(fields["tilt_along_deg"], -fields.get("tilt_across_deg", 0.0))).max() < 1e-9
        off = corners(piece, "base", 0.0)[:, :2] - np.array([1500.0, 430.0])
        turn = math.radians(8) if rail == "turned" else 0.0
        assert np.abs(off @ np.array([math.sin(turn), math.cos(turn)]) + 4).max() < 1e-9  # against the web's inside


@pytest.mark.parametrize("fields", [f for _, f in ON_ALL], ids=[n for n, _ in ON_ALL])
def test_solid_flat_and_folding_agree(fields: dict[str, Any]) -> None:
    """Pappus' law of the families suite; the kernel's fused volume is the sum only where no two panels share room."""
    for piece in pad(**{**fields, "side": "right"}).build(demo_frame("river-wagon")):
        assert abs(piece.solid().Volume() / unfold(piece.part, KFactor(value=0.42)).volume_mm3 - 1) < 1e-9


@pytest.mark.parametrize("clear", [3.0, 12.0])
def test_the_arm_keeps_clear_of_the_flange_that_it_passes(clear: float) -> None:
    """Upper flange: inner face z = 596, toe y = 370. Air round it, asked square to its faces, for every point of the arm: sampled each
    half a millimetre along its sides; and the foot is the highest of those 2 mm apart, so that no more than that is given away."""
    fields = {**ENGINE, "at": Position(x_mm=800.0), "tilt_across_deg": -25.0, "clearance_mm": clear}
    piece = pad(**fields).build(frame())[1]
    assert [p.name for p in piece.part.panels] == ["base", "arm", "top"]
    least = math.inf
    for z in (0.0, 6.0):
        ring = corners(piece, "arm", z)
        for one, two in ((ring[1], ring[2]), (ring[3], ring[0])):
            for k in range(401):
                _, y, up = one + (two - one) * k / 400
                # How far outside the box of the flange, swollen by the air on every side: its inner face, or its toe.
                least = min(least, max(370 - y, 596 - up))
    assert clear - 1e-6 <= least < clear + 4.0


@pytest.mark.parametrize("opens", ["inboard", "outboard"])
@pytest.mark.parametrize(("kind", "lip"), [("channel", 0.0), ("closed", 0.0), ("hat", 25.0)])
def test_on_every_kind_of_rail_whichever_way_it_opens(kind: str, lip: float, opens: str) -> None:
    """Web's outside y = 430 however it opens: the point is measured from there. Every pad is one solid of its own volume."""
    own = section(kind=kind, lip_mm=lip, open=opens)
    on = frame(drawn(station("front", 0), station("rear", 3600), section=own))
    places = (("web", 150.0, -40.0), ("web-outboard", -150.0, -40.0), ("upper-flange", 130.0, 60.0), ("lower-flange", 150.0, -230.0))
    for face, out, rise in places:
        if kind == "hat" and opens == "inboard" and face.endswith("flange"):  # its lip stands where the riser would go
            found = faults_of(lambda face=face, out=out, rise=rise: pad(on=face, out_mm=out, rise_mm=rise).build(on))  # type: ignore[misc]
            assert all("lip of the" in f.limit for f in found)
            continue
        for piece in pad(on=face, out_mm=out, rise_mm=rise, tilt_along_deg=3.0, tilt_across_deg=-6.0, thickness_mm=3.0).build(on):
            sign = 1.0 if piece.side == "right" else -1.0
            assert on_upper_face(piece, "mount") == pytest.approx((800, sign * (430 - out), 600 + rise), abs=1e-9)
            assert abs(piece.solid().Volume() / unfold(piece.part, KFactor(value=0.42)).volume_mm3 - 1) < 1e-9


def test_the_seat_offers_what_a_bar_needs() -> None:
    piece = pad(pattern="two", pitch_along_mm=50.0, top_bolt="M10", tilt_along_deg=4.0).build(frame())[1]
    seat = piece.seats[0]
    assert (seat.name, seat.side, seat.bolt, seat.thickness_mm, seat.travel_mm) == ("pad", "right", "M10", 4.0, 0.0)
    for point, name in zip(seat.points, ("mount-1", "mount-2"), strict=True):
        assert point == pytest.approx(tuple(on_upper_face(piece, name)), abs=1e-9)
    assert math.dist(*seat.points) == pytest.approx(50.0, abs=1e-9)
