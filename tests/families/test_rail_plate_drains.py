"""Drains of a boxed rail: at the true low points of each bay, as low as seat and weld allow.

The straight rail's box inside has its bottom at z 450 + 4 = 454. A drain of 12 mm in a 3 mm plate keeps 2 t = 6 mm from the plate's edges
(TM 9-2320-289-34 p. 9-7): its middle is 12 mm from them.
"""

from __future__ import annotations

import math
from dataclasses import replace
from typing import Any

import pytest

from parts.families.rail_plate import Around
from parts.families.rail_plate_parts import Drains, Opening
from parts.features.bays import LEVEL_DEG
from parts.frame import Frame
from parts.piece import Piece
from parts.spec import Position
from tests.families.rail_plates import KICK, axes, build, codes, crossmember, near, one, straight, swept
from tests.families.test_rail_plate_rows import S_BEND, SLOPE_RUN
from tests.families.test_rail_plate_seats import HAT
from tests.parts.frame.makers import CHANNEL, DEMO_NAMES, at, check_fault, demo_frame, drawn, frame, station

TWELVE = Drains(diameter_mm=12.0)


def drained(on: Frame, **values: Any) -> tuple[Piece, ...]:
    return build(on, drains=TWELVE, **values)


def middles(piece: Piece) -> list[tuple[float, float]]:
    """(x, z), front to rear."""
    return sorted((point[0], point[2]) for name, (point, _, _) in axes(piece).items() if name.startswith("drain"))


def water(piece: Piece) -> float:
    note = next(n for n in piece.notes if n.startswith("drains of"))
    return float(note.split("at most ")[1].split()[0])


@pytest.mark.parametrize(
    ("values", "edge_z", "off", "left"),
    [
        ({}, 453, 12, 5),  # set in by the fillet of 3; the drain's lowest point at 459, the bottom inside at 454
        ({"edge": "bevelled"}, 450, 12, 2),
        ({"seat": "flush"}, 455, 12, 7),  # a root gap of 1 over the flange's inner face
        ({"seat": "stepped"}, 455, 12, 7),
        ({"seat": "stepped", "leg_mm": 8.0}, 455, 14, 9),  # its fillet of 8 lies on the plate's face
        ({"thickness_mm": 6, "leg_mm": 3.5}, 453.5, 18, 11.5),
        ({"hang": "lower", "height_mm": 70.0}, 453, 12, 5),
    ],
)
def test_a_level_bay_is_drained_at_both_ends(values: dict[str, Any], edge_z: float, off: float, left: float) -> None:
    """`off` from the plate's lower edge and from its square ends at x 200 and 1200; what water stays below is told."""
    piece = one(straight(), drains=TWELVE, **values)
    assert middles(piece) == [(near(200 + off), near(edge_z + off)), (near(1200 - off), near(edge_z + off))]
    assert water(piece) == near(left, 0.05)


def test_over_a_hats_lip_the_drain_stays_above_the_bottom_inside() -> None:
    """Lips of 20 reach down to z 430 + 3: a drain as low as the plate goes would lie on the lip and the flange. Middle at 454 + 6."""
    assert [z for _, z in middles(one(straight(HAT), drains=TWELVE))] == [near(460), near(460)]


@pytest.mark.parametrize("side", ["left", "right"])
def test_crossmembers_part_the_bays(side: str) -> None:
    """A notch of x 769 to 831 open to the lower edge: the bays end at 770 and 830, the drains 12 mm off the notch's sides."""
    on = straight(crossmembers=(crossmember("cm", 800),))
    plate, _ = drained(on, side=side, around=(Around(crossmember="cm", way="notch", opens="lower"),))
    assert middles(plate) == [(near(x), near(465)) for x in (212, 757, 843, 1188)]


def test_a_split_plate_has_its_drains_in_each_piece() -> None:
    on = straight(crossmembers=(crossmember("cm", 800),))
    assert [[x for x, _ in middles(p)] for p in drained(on)] == [[near(212), near(757)], [near(843), near(1188)]]


def test_a_crossmember_behind_the_web_parts_nothing() -> None:
    """A rail that opens outboard: crossmembers end on the web's back, the box runs on past them."""
    on = straight(replace(CHANNEL, open="outboard"), crossmembers=(crossmember("cm", 800),))
    assert len(middles(one(on, drains=TWELVE))) == 2


def test_a_window_parts_the_bays_too() -> None:
    on = straight(crossmembers=(crossmember("cm", 800, removable=True),))
    piece = one(on, drains=TWELVE, around=(Around(crossmember="cm", way="window", out_first=True),))
    assert len(middles(piece)) == 4 and all(abs(x - 800) > 30 for x, _ in middles(piece))


def valley(z: float, radius: float = 300.0) -> Frame:
    """At x 1000 the rail kicks, from a fall to a rise or from a rise to a fall: z there against 600 at both ends, x 0 and 2000."""
    return frame(drawn(station("front", 0), station("mid", 1000, z=z, kick=radius), station("rear", 2000)))


def test_a_valley_is_drained_in_its_middle() -> None:
    """Falls 1 in 10 to x 1000 and rises again; the lower corner is rounded there with 300 + 150, symmetrical about x 1000. Its lowest point
    lies under the upper corner's: 500 + 300 (1 / cos - 1) - 150; the plate's edge is 3 mm square up from it."""
    turn = math.atan(0.1)
    low = 500 + 300 * (1 / math.cos(turn) - 1) - 150
    piece = one(valley(500.0), drains=TWELVE, start=Position(x_mm=300), end=Position(x_mm=1700))
    assert middles(piece) == [(near(1000), near(low + 3 + 6 + 6, 0.02))]
    assert water(piece) == near(5, 0.05)


def test_over_a_hump_both_ends_are_drained() -> None:
    """Rises to x 1000 and falls again: the water runs to both ends, and none stays in the middle."""
    found = middles(one(valley(700.0), drains=TWELVE, start=Position(x_mm=300), end=Position(x_mm=1700)))
    assert len(found) == 2 and found[0][0] < 340 and found[1][0] > 1660


def test_a_level_stretch_before_a_kick_up_is_drained_at_both_its_ends() -> None:
    """The swept rail is level to x 1500 and kicks up there by 18 deg while its depth tapers by 50 mm: its lower corner turns by
    18 deg + atan(50 / run). Its lines meet where the one through the depth laid off square at "bend" comes down to z 450; the arc of
    300 + 150 begins a tangent before. Half a degree of that arc (4 mm further in: 446 mm) still counts as level."""
    first, second = middles(one(swept(), drains=TWELVE, start=Position(x_mm=900), end=at("rear", -150)))
    assert first == (near(912), near(465))
    turn = KICK + math.atan(50 / SLOPE_RUN)
    corner = S_BEND + 150 * math.sin(KICK) - (150 - 150 * math.cos(KICK)) / math.tan(turn)
    level_to = corner - 450 * math.tan(turn / 2) + 446 * math.sin(math.radians(LEVEL_DEG))
    assert second == (near(level_to, 1.0), near(465, 0.05))


@pytest.mark.parametrize(("lean", "crest", "both"), [(0.4, 1000.0, True), (-0.4, 1000.0, False), (0.0, 1000.0, False)])
@pytest.mark.parametrize("turned_round", [False, True])
def test_water_that_a_nearly_level_stretch_holds_at_its_end_is_drained(lean: float, crest: float, both: bool, turned_round: bool) -> None:
    """Level within half a degree to x 1000, then down by 8 deg. Rising by 0.4 deg over the 700 mm from the plate's end at x 300 it holds
    700 tan 0.4 deg = 4.9 mm there, unless that end has a drain too; falling or level it runs off. And the same from the rear."""
    rise, fall = crest * math.tan(math.radians(lean)), 1000 * math.tan(math.radians(8))
    zs = (600.0, 600.0 + rise, 600.0 + rise - fall)
    xs = (0.0, 1000.0, 2000.0)
    stations = [station(f"s{k}", x, z=z) for k, (x, z) in enumerate(zip(xs, zs[::-1] if turned_round else zs, strict=True))]
    piece = one(frame(drawn(*stations)), drains=TWELVE, start=Position(x_mm=300), end=Position(x_mm=1700))
    found_ = [2000 - x if turned_round else x for x, _ in middles(piece)]
    assert len(found_) == (2 if both else 1)
    assert not both or 300 < min(found_) < 330


def test_a_plate_all_on_the_slope_is_drained_at_its_lower_end() -> None:
    """Once, within 60 mm of its front end, 12 mm over its lower edge: the slope's taper and kick leave no other low."""
    on, start = swept(), at("rear", -700)
    piece = one(on, drains=TWELVE, start=start, end=at("rear", -150))
    ((x, _),) = middles(piece)
    rail = on.rail("right")
    front = rail.plan.point(rail.s_at(start), 60.0)[0]  # on the toes
    assert front < x < front + 60
    (panel,) = piece.part.panels
    assert panel.contour.distance(panel.holes[0].centre) == near(12)


@pytest.mark.parametrize("name", DEMO_NAMES)
@pytest.mark.parametrize("side", ["left", "right"])
@pytest.mark.parametrize("seat", ["toes", "flush", "stepped"])
def test_on_the_demo_frames_no_water_stays_deep(name: str, side: str, seat: str) -> None:
    """Held against the frame alone: wherever the bottom inside is lower than everywhere within 20 mm of it, a drain's lowest point lies at
    most 30 mm over it, unless a crossmember stands between or the plate says that there is no room."""
    on = demo_frame(name)
    rail = on.rail(side)  # type: ignore[arg-type]
    pieces = drained(on, side=side, seat=seat, start=at("pin-front", -200), end=at("pin-rear", 160), crossmembers="split")
    assert "drain-no-room" not in {c for p in pieces for c in codes(p)}
    for piece in pieces:
        places = [(*rail.szo(tuple(p))[:2], axis) for n, (p, _, axis) in axes(piece).items() if n.startswith("drain")]
        assert places and all(axis.diameter_mm == 12 for _, _, axis in places)
        ss = [rail.szo(piece.placements[0].point(*q))[0] for q in piece.part.panels[0].contour.points]
        low, high = min(ss) + 5, max(s for s, _, _ in places)
        for k in range(int((high - low) / 5)):
            s = low + 5 * k
            here = rail.profile.lower_z(s, rail.section.flange_thickness_mm)
            beside = [rail.profile.lower_z(s + d, rail.section.flange_thickness_mm) for d in (-20, 20)]
            if here <= min(beside) - 1e-9:
                assert min(abs(z - 6 - here) for _, z, _ in places) <= 30, f"{piece.id}: water stays at s {s:.0f}"
        for panel in piece.part.panels:
            for h in panel.holes:
                if h.name.startswith("drain"):
                    assert panel.contour.distance(h.centre) >= 12 - 1e-6


def test_an_opening_in_the_way_moves_a_drain_along() -> None:
    """An opening of 30 mm over the front end's corner, x 205 to 235 and z 458 to 488: the drain keeps 6 mm off it, behind it."""
    cut = Opening(name="low", at=at("front", 222), up_mm=23.0, diameter_mm=26.0)
    first, _ = middles(one(straight(), drains=TWELVE, openings=(cut,)))
    assert first[1] == near(465) and math.dist(first, (222, 473)) >= 13 + 12 - 1e-6 and first[0] < 222 + 25 + 1


def test_a_bay_without_room_is_told_with_its_place() -> None:
    """38 mm between two crossmembers; a notch takes 1 mm of it at either side, and 40 mm of drain have no room in 36."""
    on = straight(crossmembers=(crossmember("a", 700), crossmember("b", 798)))
    ways = tuple(Around(crossmember=n, way="notch", opens="lower") for n in ("a", "b"))
    plate = drained_with(on, 38.0, ways)
    told = [f for f in plate.findings if f.code == "drain-no-room"]
    assert len(told) == 1 and "from a to b" in told[0].message and told[0].level == "warn" and told[0].remedy
    assert "drain-no-room" not in codes(drained_with(on, 12.0, ways))


def drained_with(on: Frame, diameter: float, ways: tuple[Around, ...]) -> Piece:
    return build(on, drains=Drains(diameter_mm=diameter), around=ways)[0]


@pytest.mark.parametrize("seat", ["outside", "inside"])
def test_a_plate_on_the_web_closes_no_box(seat: str) -> None:
    check_fault(lambda: one(straight(), seat=seat, drains=TWELVE), "part plate", "drains", "closes no box")


def test_a_box_that_is_open_below_needs_none() -> None:
    piece = one(straight(), drains=TWELVE, hang="upper", height_mm=80.0)
    assert not middles(piece) and any("open along its lower edge" in n for n in piece.notes)
