"""Recesses of a rail plate: shape and seams by hand, room round brackets held against the brackets' own boxes, and refusals.

The straight plate on the toes: x 200 to 1200, z 453 to 597; on the web's outside (outside radius 8, fillet 3): z 461 to 589, y 430 to 433.
"""

from __future__ import annotations

import math
from itertools import pairwise
from typing import Any

import pytest

from parts.errors import BadInput
from parts.families.rail_plate_parts import Opening, Recess, Ring
from parts.frame import Frame
from parts.frame.features import Bracket
from parts.outline import Contour
from parts.piece import Piece
from parts.shop import Shop
from parts.spec import Position
from tests.families.rail_plates import KICK, build, codes, crossmember, flat_of, near, one, steel_points, straight, swept
from tests.families.test_rail_plate_rows import SLOPE_RUN
from tests.parts.frame.makers import DEMO_NAMES, at, check_fault, demo_frame, drawn, frame, kicked, station, turned


def recess(name: str = "r", **values: Any) -> Recess:
    if "bracket" not in values:
        values = {"edge": "lower", "at": at("front", 500), "length_mm": 80.0, "depth_mm": 30.0} | values
    return Recess(name=name, **values)


def seams(piece: Piece, edge: str) -> list[tuple[float, float]]:
    return sorted((w.points[0][0], w.points[-1][0]) for w in piece.welds if w.name.startswith(edge))


def told(piece: Piece, code: str) -> str:
    return next(f.message for f in piece.findings if f.code == code)


@pytest.mark.parametrize("edge", ["lower", "upper"])
@pytest.mark.parametrize("side", ["left", "right"])
def test_by_hand(edge: str, side: str) -> None:
    """80 x 30 less two corners of r 10, (1 - pi / 4) r^2 each; x 460 to 540. The seam of that edge stops at both its corners, the other
    runs through. 144 - 30 = 114 mm are left."""
    piece = one(straight(), side=side, recesses=(recess(edge=edge),))
    assert flat_of(piece).area_mm2 == near(1000 * 144 - 80 * 30 + 2 * (1 - math.pi / 4) * 100)
    other = "upper" if edge == "lower" else "lower"
    assert seams(piece, edge) == [(near(200), near(460)), (near(540), near(1200))] and seams(piece, other) == [(near(200), near(1200))]
    points = [p for p in steel_points(piece, 0.0) if 470.5 < p[0] < 529.5]
    z = min(p[2] for p in points) if edge == "lower" else max(p[2] for p in points)
    assert z == near(483 if edge == "lower" else 567)
    assert "leaves 114.0 mm of plate beside it" in told(piece, "recess-plate-left")
    assert "over 80 mm" in told(piece, "recess-opens-box")


@pytest.mark.parametrize(
    ("values", "lost"),
    [
        ({"corner_radius_mm": 0.0}, 80 * 30),
        ({"corner_radius_mm": 100.0, "depth_mm": 20.0}, 80 * 20 - 2 * (1 - math.pi / 4) * 19.5**2),  # half a millimetre of side stays
        ({"corner_radius_mm": 100.0, "length_mm": 30.0}, 30 * 30 - 2 * (1 - math.pi / 4) * 14.5**2),
    ],
)
def test_corners_are_as_round_as_they_can(values: dict[str, Any], lost: float) -> None:
    assert flat_of(one(straight(), recesses=(recess(**values),))).area_mm2 == near(144000 - lost)


def test_on_the_web_its_own_edge_is_left_unwelded() -> None:
    piece = one(straight(), seat="outside", recesses=(recess(),))
    assert seams(piece, "lower") == [(near(200), near(460)), (near(540), near(1200))]
    assert any("left unwelded" in n for n in piece.notes) and "recess-opens-box" not in codes(piece)


@pytest.mark.parametrize("front_end", ["angled", "fish-mouth"])
def test_the_weld_round_an_end_stops_where_it_did(front_end: str) -> None:
    """A recess beside the end on the web: the end's own joint is the same line with and without it."""
    plain = one(straight(), seat="inside", front_end=front_end)
    cut = one(straight(), seat="inside", front_end=front_end, recesses=(recess(at=at("front", 450)),))
    ends = [next(w for w in p.welds if w.name == "front end") for p in (plain, cut)]
    assert ends[0] == ends[1]
    assert len(seams(cut, "lower")) == len(seams(plain, "lower")) + 1


def test_a_free_edge_has_no_seam_and_no_open_box() -> None:
    piece = one(straight(), height_mm=80.0, recesses=(recess(edge="upper"),))
    assert seams(piece, "upper") == [] and seams(piece, "lower") == [(near(200), near(1200))]
    assert "recess-opens-box" not in codes(piece) and "recess-plate-left" in codes(piece)


@pytest.mark.parametrize("edge", ["lower", "upper"])
def test_on_the_straight_slope_it_is_square_to_the_edge(edge: str) -> None:
    """The kicked rail's slope at 18 deg, no taper, no turn: the flat pattern loses the same area as on the level."""
    on = frame(kicked())
    more: dict[str, Any] = {"start": at("rear", -800), "end": at("rear", -100)}
    plain = flat_of(one(on, **more)).area_mm2
    cut = one(on, recesses=(recess(edge=edge, at=at("rear", -450)),), **more)
    assert plain - flat_of(cut).area_mm2 == near(80 * 30 - 2 * (1 - math.pi / 4) * 100)
    both = [w for w in cut.welds if w.name.startswith(edge)]
    gap = math.dist(*sorted((both[0].points[-1], both[1].points[0])))
    assert gap == near(80) and abs(both[0].points[-1][2] - both[1].points[0][2]) == near(80 * math.sin(KICK))


@pytest.mark.parametrize("side", ["left", "right"])
def test_in_the_last_panel_of_the_swept_tapering_rail(side: str) -> None:
    """500 before the rear end on the upper corner's line, square down: 100 + 50 x 500 / run deep there, and the lower edge is
    atan(50 / run) steeper than the upper one. 30 deep from the upper edge: the rest, square to the lower one, is least at the recess's
    rear corner, where that edge is 40 tan nearer; the corner's arc of 10 is 10 (1 - cos) off that corner."""
    piece = one(
        swept(), side=side, start=Position(x_mm=900), end=at("rear", -150), recesses=(recess(edge="upper", at=at("rear", -500)),)
    )
    taper = math.atan(50 / SLOPE_RUN)
    deep = 100 + 50 * 500 / SLOPE_RUN
    # from the recess's bottom at t along the upper edge the lower edge's line is (deep - 3 - 30 - t tan) cos - 3 away; the bottom is
    # straight to t = 30, then the arc round (30, 10 over the bottom)
    centre = (deep - 3 - 30 + 10 - 30 * math.tan(taper)) * math.cos(taper) - 3
    left = centre - 10
    assert f"leaves {left:.1f} mm of plate beside it" in told(piece, "recess-plate-left")
    assert len(piece.part.panels) > 1 and flat_of(piece).contour.self_crossing() is None
    assert len(seams(piece, "upper")) == 2 and len(seams(piece, "lower")) == 1


def test_over_the_arc_of_a_kick_the_seams_stop_on_its_edge() -> None:
    """Both seams end on the flange's own line, 100 mm apart along the recess's own direction, to the sagitta of the arc."""
    piece = one(frame(kicked()), start=Position(x_mm=1100), end=at("rear", -200), recesses=(recess(at=at("kick", -40), length_mm=100.0),))
    first, second = (w for w in piece.welds if w.name.startswith("lower"))
    assert math.dist(first.points[-1], second.points[0]) == near(100, 0.5)
    rail = frame(kicked()).rail("right")
    for x, _, z in (first.points[-1], second.points[0]):
        assert z == near(rail.profile.lower_z(x, 3.0), 0.02)


# --- for a bracket that stays ---


def bracket(**values: Any) -> Bracket:
    given: dict[str, Any] = {"name": "step", "at": at("front", 600), "up_mm": 35.0, "length_mm": 60, "height_mm": 50, "out_mm": 40}
    return Bracket(**(given | values))


OUTSIDE: dict[str, Any] = {"seat": "outside"}


def test_round_a_bracket_by_hand() -> None:
    """x 570 to 630, z 460 to 510, and 5 mm of air: 70 long; 510 + 5 - 461 = 54 deep; corners no rounder than the air."""
    piece = one(straight(brackets=(bracket(),)), recesses=(recess(bracket="step", air_mm=5.0),), **OUTSIDE)
    plain = one(straight(), **OUTSIDE)
    assert flat_of(plain).area_mm2 - flat_of(piece).area_mm2 == near(70 * 54 - 2 * (1 - math.pi / 4) * 25)
    assert seams(piece, "lower") == [(near(200), near(565)), (near(635), near(1200))]
    assert "bracket-in-the-way" not in codes(piece) and any("5 mm of air round bracket step" in n for n in piece.notes)


def test_without_a_recess_it_is_in_the_way() -> None:
    assert "bracket-in-the-way" in codes(one(straight(brackets=(bracket(),)), **OUTSIDE))


def test_a_high_bracket_is_cleared_from_the_upper_edge() -> None:
    """z 450 + 115 - 25 = 540: 589 - 540 + 5 = 54 from above, 150 from below."""
    piece = one(straight(brackets=(bracket(up_mm=115.0),)), recesses=(recess(bracket="step", air_mm=5.0),), **OUTSIDE)
    assert len(seams(piece, "upper")) == 2 and len(seams(piece, "lower")) == 1


def clearance(piece: Piece, on: Frame, own: Bracket, side: str) -> float:
    """Of the plate's steel from the bracket's box, in the plane of the web."""
    patch = next(p for p in on.placed_brackets if p.name == own.name and p.side == side)
    box = Contour(patch.corners, (0.0,) * 4)
    rail = on.rail(side)  # type: ignore[arg-type]
    least = math.inf
    for z_mm in (0.0, piece.part.thickness_mm):
        for point in steel_points(piece, z_mm):
            s, z, _ = rail.szo(point)
            least = min(least, -1.0 if box.contains((s, z)) else box.distance((s, z)))
    return least


@pytest.mark.parametrize("side", ["left", "right"])
@pytest.mark.parametrize(
    ("place", "up"), [(at("rear", -500), 30.0), (at("rear", -500), 85.0), (at("bend", -160), 40.0), (at("bend", 190), 40.0)]
)
def test_the_air_is_kept_on_the_kicked_swept_rail(side: str, place: Position, up: float) -> None:
    """Before the kick, behind it and far up the tapering slope, from either edge: never nearer than the air, and somewhere as near."""
    own = bracket(at=place, up_mm=up, length_mm=50, height_mm=40)
    on = swept(brackets=(own,))
    plate: dict[str, Any] = {"start": Position(x_mm=900), "end": at("rear", -150), "side": side}
    piece = one(on, recesses=(recess(bracket="step", air_mm=6.0),), **OUTSIDE, **plate)
    assert 6 - 0.06 <= clearance(piece, on, own, side) <= 7.5
    assert "bracket-in-the-way" not in codes(piece)


@pytest.mark.parametrize("x", [-10, 0, 10])
def test_the_air_is_kept_on_both_faces_of_a_thick_plate_round_a_turn(x: float) -> None:
    """Round a turn of radius 1500 a facet stands up to 2 deg off the web: through 10 mm the bracket's sides move by 0.3 mm. The facets'
    bends are within 30 mm of it, and are no edges of the plate."""
    own = bracket(at=at("bend", x), up_mm=40.0, length_mm=20, height_mm=40)
    on = swept(radius=1500.0, brackets=(own,))
    plate: dict[str, Any] = {"start": Position(x_mm=900), "end": at("rear", -150), "thickness_mm": 10, "leg_mm": 5.0}
    piece = one(on, Shop(inside_radius_mm=8.0), recesses=(recess(bracket="step", air_mm=6.0),), **OUTSIDE, **plate)
    assert clearance(piece, on, own, "right") >= 6 - 0.06
    left = float(told(piece, "recess-plate-left").split("leaves ")[1].split()[0])
    assert left > 60, "a bend was taken for an edge"


def test_a_bracket_inside_a_flange_is_cleared_from_that_flange() -> None:
    """On the lower flange's inner face, in 30 to 70, 12 high: it stands to z 454 + 12 = 466 where the plate (in 57 to 60, from 455) goes.
    x 570 to 630 with 4 mm of air: 68 long, 466 + 4 - 455 = 15 deep."""
    own = bracket(up_mm=None, face="lower flange", in_mm=50.0, height_mm=40, out_mm=12, inner_face=True)
    on = straight(brackets=(own,))
    assert "bracket-in-the-way" in codes(one(on, seat="flush"))
    piece = one(on, seat="flush", recesses=(recess(bracket="step", air_mm=4.0, corner_radius_mm=0.0),))
    assert flat_of(one(straight(), seat="flush")).area_mm2 - flat_of(piece).area_mm2 == near(68 * 15)
    assert "bracket-in-the-way" not in codes(piece)


@pytest.mark.parametrize(
    ("own", "words"),
    [
        (bracket(fate="cut off"), "is to be cut off"),
        (bracket(side="left"), "is not on rail right"),
        (bracket(at=at("front", 2000)), "does not stand in the way"),
        (bracket(inner_face=True), "does not stand in the way"),
    ],
)
def test_a_recess_that_is_not_needed_is_told(own: Bracket, words: str) -> None:
    on = straight(brackets=(own,))
    piece = one(on, recesses=(recess(bracket="step", air_mm=5.0),), **OUTSIDE)
    assert words in told(piece, "recess-not-needed")
    assert flat_of(piece).area_mm2 == near(flat_of(one(straight(), **OUTSIDE)).area_mm2)


@pytest.mark.parametrize(
    ("own", "cut", "limit"),
    [
        # 128 mm of plate; 510 + 105 - 461: a bracket of 150 high leaves nothing from either edge
        (bracket(up_mm=75.0, height_mm=125), recess(bracket="step", air_mm=5.0), "12 mm is the least"),
        (bracket(at=at("front", 220)), recess(bracket="step", air_mm=5.0), "runs into an end of the plate"),
        (bracket(), recess(bracket="stp", air_mm=5.0), "nearest: step"),
    ],
)
def test_a_bracket_that_leaves_no_plate_is_refused(own: Bracket, cut: Recess, limit: str) -> None:
    with pytest.raises(BadInput, match=limit) as caught:
        one(straight(brackets=(own,)), recesses=(cut,), **OUTSIDE)
    (fault,) = caught.value.faults
    assert (fault.where, fault.field) == ("part plate", "recess.for") and fault.remedy


# --- refusals ---


@pytest.mark.parametrize(
    ("values", "limit"),
    [
        ({"depth_mm": 135.0}, "would leave 9.0 mm of plate beside it; 12 mm is the least"),
        ({"at": at("front", 230)}, "runs into an end of the plate or into another cut"),
        ({"at": at("front", 1170)}, "runs into an end of the plate or into another cut"),
        ({"at": at("front", 1400)}, "r is not on the plate: it lies at s = 1400 mm"),
    ],
)
def test_what_does_not_fit_is_refused(values: dict[str, Any], limit: str) -> None:
    check_fault(lambda: one(straight(), recesses=(recess(**values),)), "part plate", "recess.at", limit)


def test_two_recesses_keep_apart() -> None:
    """100 mm apart and 80 long: 20 mm of plate between them; 70 mm apart they overlap. Across from each other they leave 144 - 60."""
    pair = (recess("a"), recess("b", at=at("front", 600)))
    assert len(seams(one(straight(), recesses=pair), "lower")) == 3
    near_by = (recess("a"), recess("b", at=at("front", 570)))
    check_fault(lambda: one(straight(), recesses=near_by), "part plate", "recess.at", "into another cut")
    across = one(straight(), recesses=(recess("a"), recess("b", edge="upper")))
    assert any("recess b" in f.message and "leaves 84.0 mm" in f.message for f in across.findings)


def test_over_a_bend_it_is_refused_with_the_distance() -> None:
    """As an opening over the same mitre: the bend's tangent lies 67 tan 4 deg before x 1500; the recess ends at 1480 + 40."""
    tangent = 1500 - 67 * math.tan(math.radians(4))
    cut = recess(at=Position(x_mm=1480))
    with pytest.raises(BadInput, match=f"reaches {1520 - tangent:.1f} mm into a bend"):
        one(frame(turned(radius=0.0)), Shop(inside_radius_mm=4.0), start=Position(x_mm=900), end=Position(x_mm=2200), recesses=(cut,))


@pytest.mark.parametrize("place", [45.0, 52.0, 58.0])
def test_what_the_tape_has_to_be_moved_by_works_on_a_slope(place: float) -> None:
    """At 18 deg a millimetre of tape goes cos 18 = 0.951 mm along the plate: it is moved by what is told, literally, and that is no more
    than needed, to half a millimetre."""
    plate: dict[str, Any] = {"start": Position(x_mm=900), "end": at("rear", -150)}

    def made(offset: float) -> Piece:
        return one(swept(), recesses=(recess(at=at("bend", offset), edge="upper"),), **plate)

    with pytest.raises(BadInput) as caught:
        made(place)
    by = float(caught.value.faults[0].remedy.removeprefix("move it ").split(" ")[0])
    made(place + by)
    with pytest.raises(BadInput):
        made(place + by - 0.6)


def test_a_bracket_is_not_told_to_be_moved() -> None:
    with pytest.raises(BadInput) as caught:
        one(straight(brackets=(bracket(at=at("front", 220)),)), recesses=(recess(bracket="step", air_mm=5.0),), **OUTSIDE)
    assert caught.value.faults[0].remedy.startswith("end the plate before the bracket")


def test_into_a_notch_it_is_refused() -> None:
    from parts.families.rail_plate import Around

    on = straight(crossmembers=(crossmember("cm", 600),))
    way = (Around(crossmember="cm", way="notch", opens="lower"),)
    with pytest.raises(BadInput, match="into another cut"):
        build(on, around=way, recesses=(recess(at=at("front", 540)),))
    assert len(build(on, around=way, recesses=(recess(at=at("front", 500)),))) == 2


def test_an_opening_and_its_ring_keep_off_a_recess() -> None:
    """The recess's bottom at z 483; the opening's edge at 525 - 30 = 495, 12 mm above; the ring of 10 at 485, 2 mm: its weld asks 3."""
    cut = Opening(name="o", at=at("front", 500), diameter_mm=60.0)
    piece = one(straight(), recesses=(recess(),), openings=(cut,))
    assert "opening o leaves 12.0 mm of plate below it" in told(piece, "opening-plate-left")
    ringed = Opening(name="o", at=at("front", 500), diameter_mm=60.0, ring=Ring(width_mm=10.0))
    check_fault(lambda: one(straight(), recesses=(recess(),), openings=(ringed,)), "part plate", "opening.ring", "comes within 2.0 mm")


@pytest.mark.parametrize(
    ("values", "field"),
    [
        ({"at": None}, "at"),
        ({"length_mm": None}, "length"),
        ({"depth_mm": None}, "depth"),
        ({"edge": "nearest"}, "edge"),
        ({"air_mm": 5.0}, "air"),
        ({"bracket": "b"}, "air"),
        ({"bracket": "b", "air_mm": 5.0, "depth_mm": 30.0}, "depth"),
        ({"bracket": "b", "air_mm": 5.0, "at": at("front")}, "at"),
        ({"depth_mm": 1.0}, "depth"),
    ],
)
def test_what_does_not_go_together_is_refused(values: dict[str, Any], field: str) -> None:
    with pytest.raises(BadInput) as caught:
        recess(**values)
    assert [f.field for f in caught.value.faults] == [field] and caught.value.faults[0].remedy


def test_two_of_one_name_are_refused() -> None:
    pair = (recess(), recess(at=at("front", 700)))
    check_fault(lambda: one(straight(), recesses=pair), "part plate", "recess.name", "two of them")


@pytest.mark.parametrize("name", DEMO_NAMES)
@pytest.mark.parametrize("side", ["left", "right"])
@pytest.mark.parametrize("edge", ["lower", "upper"])
def test_on_the_demo_frames(name: str, side: str, edge: str) -> None:
    """No seam runs over the recess, and both stop within its length of each other."""
    on = demo_frame(name)
    more: dict[str, Any] = {"start": at("mid", 100), "end": at("pin-rear", 250), "crossmembers": "notch", "side": side}
    plain = [w for w in build(on, **more)[0].welds if w.name.startswith(edge)]
    piece = build(on, recesses=(recess(edge=edge, at=at("pin-rear", 60), length_mm=50.0, depth_mm=20.0),), **more)[0]
    lines = [w for w in piece.welds if w.name.startswith(edge)]
    assert len(lines) == len(plain) + 1
    gaps = [math.dist(a.points[-1], b.points[0]) for a, b in pairwise(lines)]
    assert min(abs(g - 50) for g in gaps) < 0.1


def test_drawn_kick_stations_are_still_there() -> None:
    """A recess over a sharp kick of the edge, with no radius: the seams stop at it, the outline stays simple."""
    on = frame(drawn(station("front", 0), station("kick", 1000), station("rear", 2000, z=700)))
    piece = one(on, start=Position(x_mm=300), end=Position(x_mm=1700), recesses=(recess(at=at("kick"), edge="upper"),))
    assert len(seams(piece, "upper")) == 2 and flat_of(piece).contour.self_crossing() is None
