"""Openings of a rail plate and their rings: places and sizes by hand, holes for pipes held against the pipe itself, and refusals.

The straight rail is 150 deep, webs at y -430 and 430, upper corner at z 600; a 3 mm plate on its toes lies at y 367 to 370 and, set in by
its 3 mm fillet, at z 453 to 597.
"""

from __future__ import annotations

import math
from typing import Any

import numpy as np
import pytest

from generator.rules.judge import judge
from parts.errors import BadInput
from parts.families.rail_plate_parts import Opening, Ring
from parts.frame import Frame
from parts.frame.features import KeepVisible
from parts.frame.space import KeepOut, SpacePoint
from parts.holes import Hole
from parts.piece import Piece
from parts.sheet import Placement, Vec3
from parts.shop import Shop
from parts.spec import Position
from tests.families.rail_plates import KICK, TURN, axes, build, codes, crossmember, flat_of, hole, near, one, shape_of, straight, swept
from tests.families.test_rail_plate_rows import S_BEND, SLOPE_RUN, tape_to_sz
from tests.parts.frame.makers import at, check_fault, frame, turned

FACE = {"left": 1.0, "right": -1.0}  #: the way a plate on the toes looks, as y


def opening(name: str = "hand", **values: Any) -> Opening:
    if "at" not in values and "path" not in values:
        values["at"] = at("front", 500)
    if not {"diameter_mm", "path", "length_mm"} & set(values):
        values["diameter_mm"] = 60.0
    return Opening(name=name, **values)


def found(piece: Piece, name: str) -> tuple[Hole, Placement, str]:
    """(opening, where its panel lies in the vehicle, name of the panel)"""
    shape = shape_of(piece)
    for panel in piece.part.panels:
        for h in panel.holes:
            if h.name == name:
                inner, outer = shape.places[panel.name], piece.placements[0]
                origin = outer.point(*inner.origin)
                u = np.subtract(outer.point(*np.add(inner.origin, inner.u)), origin)
                v = np.subtract(outer.point(*np.add(inner.origin, inner.v)), origin)
                return h, Placement(origin=origin, u=tuple(u), v=tuple(v)), panel.name
    raise AssertionError(f"no opening {name} in {piece.id}")


def edge_in_vehicle(piece: Piece, name: str, z_mm: float) -> np.ndarray:
    h, place, _ = found(piece, name)
    return np.array([place.point(u, v, z_mm) for u, v in h.contour().polyline(0.001)])


def left_of(piece: Piece, name: str) -> str:
    return next(f.message for f in piece.findings if f.code == "opening-plate-left" and f"opening {name} " in f.message)


# --- placed by tape ---


@pytest.mark.parametrize("side", ["left", "right"])
def test_round_by_hand(side: str) -> None:
    """500 behind the front end, half way up: z 525, on the plate's back. 525 - 30 - 453 = 42 mm are left below, as many above."""
    piece = one(straight(), side=side, openings=(opening(),))
    point, _, axis = axes(piece)["opening-hand"]
    assert point == pytest.approx((500, 370 if side == "right" else -370, 525)) and axis.diameter_mm == 60
    assert flat_of(piece).area_mm2 == near(1000 * 144 - math.pi * 30**2)
    assert "42.0 mm of plate below it and 42.0 mm above" in left_of(piece, "hand")


def test_up_is_from_the_rails_lower_face() -> None:
    """450 + 60 = 510: 27 mm below, 57 above."""
    piece = one(straight(), openings=(opening(up_mm=60.0),))
    assert axes(piece)["opening-hand"][0] == pytest.approx((500, 370, 510))
    assert "27.0 mm of plate below it and 57.0 mm above" in left_of(piece, "hand")


def test_half_way_up_a_plate_of_a_given_height() -> None:
    """Hung from the lower flange, 80 high: z 453 to 533, the middle 493."""
    piece = one(straight(), height_mm=80.0, openings=(opening(diameter_mm=30.0),))
    assert axes(piece)["opening-hand"][0] == pytest.approx((500, 370, 493))


@pytest.mark.parametrize(
    ("values", "area", "half"),
    [
        # four corners of r 15 each lose (1 - pi / 4) r^2
        ({"shape": "rectangle", "length_mm": 120.0, "height_mm": 70.0, "corner_radius_mm": 15.0}, 8400 - (4 - math.pi) * 225, (60, 35)),
        # the plate's own corner radius, 6
        ({"shape": "rectangle", "length_mm": 120.0, "height_mm": 70.0}, 8400 - (4 - math.pi) * 36, (60, 35)),
        ({"shape": "rectangle", "length_mm": 120.0, "height_mm": 70.0, "corner_radius_mm": 0.0}, 8400, (60, 35)),
        # two half circles of r 20 and 60 mm of straight between them
        ({"shape": "long-round", "length_mm": 100.0, "height_mm": 40.0}, 60 * 40 + math.pi * 400, (50, 20)),
    ],
)
def test_other_shapes_by_hand(values: dict[str, Any], area: float, half: tuple[float, float]) -> None:
    piece = one(straight(), openings=(opening(**values),))
    assert flat_of(piece).area_mm2 == near(1000 * 144 - area)
    edge = edge_in_vehicle(piece, "opening-hand", 0.0)
    assert edge.min(axis=0) == pytest.approx((500 - half[0], 370, 525 - half[1]), abs=0.01)
    assert edge.max(axis=0) == pytest.approx((500 + half[0], 370, 525 + half[1]), abs=0.01)


@pytest.mark.parametrize("side", ["left", "right"])
def test_on_the_kicked_swept_rail_it_lies_along_the_slope(side: str) -> None:
    """600 before the rear end on the upper corner's line, 45 up: on the straight slope, which rises by 18 deg and turns in by 8; the
    plate's back is 60 off the web along its normal (-sin 8, -cos 8). The piece has bends; it is not the first panel."""
    sign = 1 if side == "right" else -1
    cut = opening(at=at("rear", -600), up_mm=45.0, shape="rectangle", length_mm=90.0, height_mm=40.0)
    piece = one(swept(), side=side, start=Position(x_mm=900), end=at("rear", -150), openings=(cut,))
    s, z = tape_to_sz(600, 45)
    s_rear = S_BEND + SLOPE_RUN * math.cos(KICK)
    web = (2500 - (s_rear - s) * math.cos(TURN), 430 - 1000 * math.tan(TURN) + (s_rear - s) * math.sin(TURN))
    back = (web[0] - 60 * math.sin(TURN), sign * (web[1] - 60 * math.cos(TURN)), z)
    assert axes(piece)["opening-hand"][0] == pytest.approx(back, abs=1e-6)
    h, place, panel = found(piece, "opening-hand")
    assert len(piece.part.panels) > 1 and panel != piece.part.panels[0].name
    turn = math.radians(h.angle_deg)
    along = math.cos(turn) * np.array(place.u) + math.sin(turn) * np.array(place.v)
    rearward = np.array((math.cos(KICK) * math.cos(TURN), -sign * math.cos(KICK) * math.sin(TURN), math.sin(KICK)))
    assert abs(float(along @ rearward)) == near(1.0, 1e-9)


def test_it_is_refused_over_a_bend_with_the_distance() -> None:
    """A mitre of 8 deg at x 1500, inwards: the toes' corner is 60 tan 4 deg before it, the bend's tangent (4 + 3) tan 4 deg before that.
    A hole of 100 mm at x 1470 ends at 1520."""
    on = frame(turned(radius=0.0))
    tangent = 1500 - (60 + 7) * math.tan(math.radians(4))
    cut = opening(at=Position(x_mm=1470), diameter_mm=100.0)
    with pytest.raises(BadInput, match=f"reaches {1520 - tangent:.1f} mm into a bend"):
        one(on, Shop(inside_radius_mm=4.0), start=Position(x_mm=900), end=Position(x_mm=2200), openings=(cut,))


def test_bend_lines_slide_out_of_its_way() -> None:
    """Round a turn of radius 900 the plate may bend in several places, but always where the turn begins and ends: what is over those two is
    refused, the rest keeps off every bend, and for some of them a bend has moved."""

    def bends(piece: Piece) -> list[float]:
        return [near_mm(b.length_mm) for b in flat_of(piece).bends]

    def near_mm(value: float) -> float:
        return round(value, 3)

    on = swept(radius=900.0)
    more: dict[str, Any] = {"start": Position(x_mm=900), "end": at("rear", -150)}
    plain, moved, refused = bends(one(on, Shop(inside_radius_mm=4.0), **more)), 0, 0
    for x in range(-60, 61, 5):
        try:
            piece = one(on, Shop(inside_radius_mm=4.0), openings=(opening(at=at("bend", x), diameter_mm=24.0),), **more)
        except BadInput as error:
            assert "of a bend" in str(error) or "into a bend" in str(error)
            refused += 1
            continue
        moved += bends(piece) != plain
        for panel in piece.part.panels:
            edges = {b.edge for b in piece.part.bends if b.parent == panel.name} | ({0} if panel is not piece.part.panels[0] else set())
            for h in panel.holes:
                gaps = [panel.contour.segments[e].distance(h.centre) - 12 for e in edges]
                # At -25 and 5 the first chain's bends leave 5.7 and 4.4 mm: enough to make it, less than the 2 t + r = 10 mm that all ask.
                assert min(gaps) >= (10 if x in (-25, 5) else 0.5), f"{x}: {min(gaps):.2f} mm from a bend"
    assert moved, "no bend line ever moved: the test tests nothing"
    assert refused < 12


# --- for a pipe ---


def pipe(*points: Vec3, diameter: float = 20.0, clearance: float = 5.0, **more: Any) -> KeepOut:
    places = tuple(SpacePoint(x_mm=x, y_mm=y, z_mm=z) for x, y, z in points)
    given: dict[str, Any] = {"name": "fuel-pipe", "shape": "path", "points": places, "diameter_mm": diameter, "clearance_mm": clearance}
    return KeepOut(**(given | more))


def through(on_frame: Frame, **values: Any) -> Piece:
    more = {k: values.pop(k) for k in ("start", "end", "side") if k in values}
    return one(on_frame, openings=(opening("fuel", path="fuel-pipe", **values),), **more)


def off_axis(points: np.ndarray, a: Vec3, b: Vec3) -> np.ndarray:
    """Of points from the straight line through a and b."""
    way = np.subtract(b, a) / np.linalg.norm(np.subtract(b, a))
    away: np.ndarray = np.linalg.norm(np.cross(points - np.array(a), way), axis=1)
    return away


def test_a_square_pipe_has_a_round_hole() -> None:
    """20 mm and 5 mm of air all round: 30 mm, where the pipe is."""
    piece = through(straight(keep_out=(pipe((600, 300, 500), (600, 480, 500)),)))
    point, _, axis = axes(piece)["opening-fuel"]
    assert point == pytest.approx((600, 370, 500)) and axis.kind == "round" and axis.diameter_mm == near(30)


def test_the_asked_clearance_goes_before_the_pipes_own() -> None:
    piece = through(straight(keep_out=(pipe((600, 300, 500), (600, 480, 500)),)), clearance_mm=8.0)
    assert axes(piece)["opening-fuel"][2].diameter_mm == near(36)


OBLIQUE = ((500.0, 300.0, 500.0), (700.0, 440.0, 540.0))


@pytest.mark.parametrize("shape", [None, "long-round", "round"])
@pytest.mark.parametrize("side", ["left", "right"])
def test_an_oblique_pipe_keeps_its_air_on_both_faces(shape: str | None, side: str) -> None:
    """Its middle line is 40 mm / cos from ... by hand: 140 across, hypot(200, 40) = 203.96 along the plate: atan 203.96 / 140 = 55.5 deg
    off square. Length 30 / cos + 3 tan. It crosses the middle of the plate, y 368.5, at 68.5 / 140 of its length. Held besides against the
    pipe: every point of the hole's edge, on both faces, is 15 mm or more from the pipe's middle line, and somewhere it is 15 mm."""
    sign = 1 if side == "right" else -1
    a, b = ((x, sign * y, z) for x, y, z in OBLIQUE)
    piece = through(straight(keep_out=(pipe(a, b),)), shape=shape, side=side)
    h, place, _ = found(piece, "opening-fuel")
    off = math.atan2(math.hypot(200, 40), 140)
    length = 30 / math.cos(off) + 3 * math.tan(off)
    assert place.point(h.x_mm, h.y_mm, 1.5) == pytest.approx((500 + 200 * 68.5 / 140, sign * 368.5, 500 + 40 * 68.5 / 140))
    if shape == "round":
        assert (h.kind, h.diameter_mm) == ("round", near(length))
    else:
        assert (h.kind, h.diameter_mm, h.length_mm) == ("slot", near(30), near(length))
        note = next(n for n in piece.notes if n.startswith("opening fuel"))
        assert f"{math.degrees(off):.1f} deg off square" in note and f"long-round 30.0 x {length:.1f} mm" in note
    nearest = [off_axis(edge_in_vehicle(piece, "opening-fuel", z), a, b).min() for z in (0.0, 1.5, 3.0)]
    assert min(nearest) >= 15 - 1e-3
    if shape != "round":
        assert min(nearest) == near(15, 0.02), "the hole is no wider than it has to be"


@pytest.mark.parametrize("side", ["left", "right"])
def test_a_pipe_through_the_last_panel_of_the_swept_rail(side: str) -> None:
    """Level, square across the vehicle: 8 deg off square to a plate that is turned by 8 deg. 30 / cos 8 + 3 tan 8 = 30.7: made round."""
    sign = 1 if side == "right" else -1
    a, b = (2100.0, sign * 100.0, 720.0), (2100.0, sign * 500.0, 720.0)
    piece = through(swept(keep_out=(pipe(a, b),)), side=side, start=Position(x_mm=900), end=at("rear", -150))
    h, _, panel = found(piece, "opening-fuel")
    assert panel != piece.part.panels[0].name
    assert (h.kind, h.diameter_mm) == ("round", near(30 / math.cos(TURN) + 3 * math.tan(TURN)))
    assert min(off_axis(edge_in_vehicle(piece, "opening-fuel", z), a, b).min() for z in (0.0, 3.0)) >= 15 - 1e-3


def test_a_pipe_that_goes_through_twice_has_two_openings() -> None:
    piece = through(straight(keep_out=(pipe((400, 300, 500), (400, 410, 500), (800, 410, 500), (800, 300, 500)),)))
    assert {n: p[0] for n, (p, _, _) in axes(piece).items()} == {"opening-fuel": near(400), "opening-fuel-2": near(800)}


@pytest.mark.parametrize(
    "points", [((400, 300, 500), (400, 360, 500)), ((400, 300, 700), (400, 480, 700)), ((2000, 300, 500), (2000, 480, 500))]
)
def test_a_pipe_that_passes_by_is_told(points: tuple[Vec3, Vec3]) -> None:
    """It ends before the plate, passes over it, or behind it."""
    piece = through(straight(keep_out=(pipe(*points),)))
    assert "opening-not-crossed" in codes(piece) and not axes(piece)


def test_no_air_is_a_warning() -> None:
    assert "pipe-without-air" in codes(through(straight(keep_out=(pipe((600, 300, 500), (600, 480, 500), clearance=0.0),))))


@pytest.mark.parametrize(
    ("keep_out", "limit"),
    [
        # its bend lies 1.5 mm past the middle of the plate: 15 tan 0 + 1.5 of straight pipe are needed there, and 1.0 are left
        (pipe((600, 300, 500), (600, 369.5, 500), (600, 450, 600)), "the pipe bends or ends 1.0 mm from the middle of the plate; 1.5 mm"),
        # atan 400 / 60 = 81.5 deg
        (pipe((300, 340, 500), (700, 400, 500)), "the pipe meets the plate 81 deg off square"),
        (pipe((600, 300, 460), (600, 480, 460)), "stands 8.0 mm over the plate's edge"),
        (KeepOut(name="fuel-pipe", shape="box", points=(SpacePoint(x_mm=0, y_mm=0, z_mm=0), SpacePoint(x_mm=9, y_mm=9, z_mm=9))),
         "is a box"),
    ],
)  # fmt: skip
def test_a_pipe_that_cannot_go_through_is_refused(keep_out: KeepOut, limit: str) -> None:
    on = straight(keep_out=(keep_out,))
    check_fault(lambda: through(on), "part plate", "opening.for", limit)


def test_an_unknown_pipe_is_refused_with_the_nearest_name() -> None:
    on = straight(keep_out=(pipe((600, 300, 500), (600, 480, 500), name="fuel-pip"),))
    with pytest.raises(BadInput, match="nearest: fuel-pip"):
        through(on)


# --- with everything else ---


@pytest.mark.parametrize("attach", ["plug", "bolt"])
def test_plugs_and_bolts_keep_off_openings_and_rings(attach: str) -> None:
    """2 t from the edge of an opening, and of a ring, to the edge of a plug's or a bolt's hole."""
    cut = opening(at=at("front", 700), up_mm=75.0, diameter_mm=40.0, ring=Ring(width_mm=12.0))
    plain = one(straight(), seat="inside", attach=attach)
    piece, _ = build(straight(), seat="inside", attach=attach, openings=(cut,))
    new = [h for p in piece.part.panels for h in p.holes if h.name != "opening-hand"]
    assert 0 < len(new) < sum(len(p.holes) for p in plain.part.panels), "some are dropped"
    middle = found(piece, "opening-hand")[0].centre
    assert min(math.dist(h.centre, middle) - h.diameter_mm / 2 for h in new) >= 20 + 12 + 2 * 3 - 1e-9


def test_an_opening_on_the_web_says_that_the_web_is_not_cut() -> None:
    assert "opening-over-web" in codes(one(straight(), seat="inside", openings=(opening(),)))
    assert "opening-over-web" not in codes(one(straight(), openings=(opening(),)))


def test_an_opening_round_a_stamped_number_leaves_it_in_sight() -> None:
    number = KeepVisible(name="number", what="stamped number", at=at("front", 500), up_mm=75.0, length_mm=100, height_mm=16)
    on = straight(keep_visible=(number,))
    assert "covers-keep-visible" in codes(one(on, seat="outside"))
    window = opening(shape="rectangle", length_mm=130.0, height_mm=40.0)
    assert "covers-keep-visible" not in codes(one(on, seat="outside", openings=(window,)))
    small = opening(shape="rectangle", length_mm=90.0, height_mm=40.0)
    assert "covers-keep-visible" in codes(one(on, seat="outside", openings=(small,)))


def test_the_rule_for_holes_beside_an_edge_sees_openings() -> None:
    """TM 9-2320-289-34 p. 9-7: 2 t = 6 mm from the hole's edge. z 525 - 68 = 457, 4 mm from the plate's edge at 453."""
    on, shop = straight(), Shop()
    for diameter, told in ((136.0, True), (130.0, False)):
        pieces = build(on, openings=(opening(diameter_mm=diameter),))
        found_ = judge(pieces, [flat_of(p) for p in pieces], on, shop).findings
        assert any(f.code == "reinforcement-hole-edge" and "opening-hand" in f.where for f in found_) is told


def test_opening_in_another_piece_of_a_split_plate() -> None:
    on = straight(crossmembers=(crossmember("cm", 700),))
    first, second = build(on, openings=(opening(at=at("front", 1000)),))
    assert not axes(first) and set(axes(second)) == {"opening-hand"}
    assert not [f for f in first.findings if "hand" in f.message]


@pytest.mark.parametrize("place", [at("front", 1500), at("front", 700)])
def test_an_opening_where_there_is_no_plate_is_refused(place: Position) -> None:
    """Behind its end, and in the gap that its crossmember takes."""
    on = straight(crossmembers=(crossmember("cm", 700),))
    limit = f"hand is not on the plate: it lies at s = {place.offset_mm:.0f} mm"
    check_fault(lambda: build(on, openings=(opening(at=place),)), "part plate", "opening.at", limit)


def test_an_unknown_place_is_refused() -> None:
    check_fault(lambda: build(straight(), openings=(opening(at=at("frunt")),)), "part plate", "opening.at.at", "no place")


@pytest.mark.parametrize(
    ("values", "field"),
    [
        ({"diameter_mm": 60.0, "at": None}, "at"),
        ({"at": at("front"), "diameter_mm": None}, "diameter"),
        ({"shape": "rectangle", "length_mm": 60.0}, "height"),
        ({"shape": "rectangle", "length_mm": 60.0, "height_mm": 40.0, "diameter_mm": 30.0}, "diameter"),
        ({"shape": "rectangle", "length_mm": 60.0, "height_mm": 40.0, "corner_radius_mm": 20.0}, "corner_radius"),
        ({"shape": "long-round", "length_mm": 40.0, "height_mm": 40.0}, "length"),
        ({"shape": "long-round", "length_mm": 60.0, "height_mm": 40.0, "corner_radius_mm": 5.0}, "corner_radius"),
        ({"diameter_mm": 60.0, "clearance_mm": 5.0}, "clearance"),
        ({"path": "p", "diameter_mm": 60.0}, "diameter"),
        ({"path": "p", "at": at("front")}, "at"),
        ({"path": "p", "shape": "rectangle"}, "shape"),
        ({"diameter_mm": 600.0}, "diameter"),
    ],
)
def test_what_does_not_go_together_is_refused(values: dict[str, Any], field: str) -> None:
    with pytest.raises(BadInput) as caught:
        opening(**values)
    assert [f.field for f in caught.value.faults] == [field] and caught.value.faults[0].remedy


def test_two_of_one_name_are_refused() -> None:
    cuts = (opening("a"), opening("a", at=at("front", 800)))
    check_fault(lambda: one(straight(), openings=cuts), "part plate", "opening.name", "two of them")


@pytest.mark.parametrize(
    ("cut", "limit"),
    [
        (opening(up_mm=20.0), "stands 13.0 mm over the plate's edge"),  # z 470 - 30 = 440, the plate begins at 453
        (opening(up_mm=33.4), "comes within 0.4 mm of the plate's edge"),
        (opening(at=at("front", 220)), "stands 10.0 mm over the plate's edge"),
        (opening(at=at("front", 610)), "runs into pin"),
    ],
)
def test_an_opening_that_does_not_fit_is_refused_with_the_distance(cut: Opening, limit: str) -> None:
    from parts.families.rail_plate import PickUp

    on = straight(holes=(hole("pin", at("front", 600), 75),))
    check_fault(lambda: one(on, pick_up=(PickUp(hole="pin"),), openings=(cut,)), "part plate", "opening.at", limit)
