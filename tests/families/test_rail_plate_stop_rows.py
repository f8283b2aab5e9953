"""Rows of stops: no two in each other's way, no further apart than asked wherever one fits between, and what is told is what is there.

Straight frame as in test_rail_plate_stops.py: a plate from x 200 to 1200, 150 deep, flanges 4 mm: 142 mm between the flanges' inner
faces. A stop of 30 mm keeps 10 mm off all: its middle 25 mm off the plate's ends and off whatever stands in the section. Places are
tried every 5 mm from the plate's front end. Tolerances: 1e-6 mm for what is exact by construction.
"""

from __future__ import annotations

import math
from dataclasses import replace
from itertools import combinations, pairwise
from typing import Any

import pytest
from shapely.geometry import Polygon

from parts.families.rail_plate import RailPlate
from parts.families.rail_plate_parts import Split, Stops
from parts.features.stop_rows import spread
from parts.frame import Frame
from parts.frame.features import Bracket
from parts.piece import Piece
from parts.shop import Shop
from parts.spec import Position
from tests.families.cases import FRAMES, made
from tests.families.rail_plates import build, near, straight, swept
from tests.families.test_rail_plate_stops import STEPPED, STOPS, lower, stop_of, upper
from tests.parts.frame.makers import CHANNEL, drawn, frame, station


def shallow(depth: float = 100.0) -> Frame:
    """The straight frame, its rails so deep."""
    return frame(drawn(station("front", 0, depth=depth), station("rear", 3600, depth=depth), section=CHANNEL))


def ear(x: float, length: float, face: Any = "lower flange") -> Bracket:
    """What stays inside on a flange, over the stops' place: their middles keep half its length and 25 mm off it."""
    return Bracket(
        name=f"ear{x:.0f}", side="right", at=Position(x_mm=x), face=face, in_mm=38, length_mm=length, height_mm=10, out_mm=20,
        inner_face=True, fate="kept", held_by="bolts",
    )  # fmt: skip


def xs(stop: Piece, group: Any) -> list[float]:
    """Of the middles: the placement's own u runs forward on one side."""
    length = stop.part.panels[0].contour.box[2]
    return sorted(at.point(length / 2, 0, 0)[0] for at in group(stop))


def outlines(stop: Piece) -> list[tuple[float, Polygon]]:
    """(y of its middle, outline seen from the side) of each."""
    _, _, length, height = stop.part.panels[0].contour.box
    out = []
    for at in stop.placements:
        ring = [at.point(*p, 0.0) for p in ((0.0, 0.0), (length, 0.0), (length, height), (0.0, height))]
        out.append((ring[0][1], Polygon([(x, z) for x, _, z in ring])))
    return out


def clear_of_each_other(stop: Piece, least: float) -> None:
    for (_, one), (_, two) in combinations(outlines(stop), 2):
        assert one.distance(two) >= least - 1e-6, (one.bounds, two.bounds)


# --- no two in each other's way ---


def test_high_stops_in_a_shallow_rail_stand_beside_each_other() -> None:
    """92 mm between the flanges less 10 mm of air: two of 41 mm stand above each other, two of 42 mm do not."""
    low = stop_of(build(shallow(), **(STEPPED | {"stops": replace(STOPS, height_mm=41)})))
    assert xs(low, lower) == near(xs(low, upper))
    clear_of_each_other(low, 10)
    high = stop_of(build(shallow(), **(STEPPED | {"stops": replace(STOPS, height_mm=42)})))
    clear_of_each_other(high, 10)
    assert len(upper(high)) >= 4 and len(lower(high)) == 5
    for x in xs(high, upper):
        assert min(abs(x - other) for other in xs(high, lower)) >= 40 - 1e-6


def test_where_the_other_flange_has_all_the_room_it_is_told_with_a_height_that_works() -> None:
    """Every 60 mm, 60 high: no upper one fits between two lower ones. Of (92 - 10) / 2 = 41 mm both rows have room."""
    asked = Stops(every_mm=60, length_mm=30, height_mm=60, thickness_mm=4)
    pieces = build(shallow(), **(STEPPED | {"stops": asked}))
    clear_of_each_other(stop_of(pieces), 10)
    found = [f for f in pieces[0].findings if f.code == "stops-apart"]
    assert found and all("upper flange" in f.message and "the stop on the lower flange" in f.message for f in found)
    assert all("41 mm high" in f.remedy for f in found)
    again = build(shallow(), **(STEPPED | {"stops": replace(asked, height_mm=41)}))
    assert [f for f in again[0].findings if f.code == "stops-apart"] == []


@pytest.mark.parametrize("height", [16.0, 40.0, 60.0])
@pytest.mark.parametrize("radius", [0.0, 300.0])
def test_none_overlap_round_a_kick_and_on_a_tapering_rail(height: float, radius: float) -> None:
    """Where the rail kicks, stops to either side of it lean together: every 45 mm, on both flanges."""
    asked = Stops(every_mm=45, length_mm=30, height_mm=height, thickness_mm=4)
    for turn in (0.0, 8.0):
        on = swept(turn_deg=turn, kick_radius=radius)
        pieces = build(on, **(STEPPED | {"stops": asked}), start=Position(x_mm=1000), end=Position(at="rear", offset_mm=-60))
        stop = stop_of(pieces)
        for (y1, one), (y2, two) in combinations(outlines(stop), 2):
            assert (turn and abs(y1 - y2) > 1e-6) or one.distance(two) >= 10 - 1e-5, (one.bounds, two.bounds)
            assert not one.intersects(two)


@pytest.mark.parametrize("name", FRAMES)
def test_none_overlap_on_the_demo_frames(name: str) -> None:
    on = made("orchard-long-boxing", name)[0].frame
    asked = Stops(every_mm=200, length_mm=30, height_mm=60, thickness_mm=4)
    for side in ("left", "right"):
        plate = RailPlate(
            id="plate", side=side, thickness_mm=3, seat="stepped", step_mm=16, start=Position(at="rear-axle", offset_mm=20),
            end=Position(at="rear-axle", offset_mm=500), stops=asked, front_end="square", rear_end="square",
        )  # fmt: skip
        stop = stop_of(plate.build(on, Shop()), side)
        for (_, one), (_, two) in combinations(outlines(stop), 2):
            assert not one.intersects(two)


# --- how far apart ---


def test_another_one_is_set_where_two_would_stand_too_far_apart() -> None:
    """Two ears of 100 mm take x 387 to 537 and 625 to 775 from the middles of evenly set stops (462.5 and 700), which slid apart."""
    on = straight(brackets=(ear(462, 100), ear(700, 100)))
    pieces = build(on, **STEPPED)
    stop = stop_of(pieces)
    at = xs(stop, lower)
    assert all(b - a <= 300 + 1e-6 for a, b in pairwise(at)) and len(at) == 5
    assert all(not 387 < x < 537 and not 625 < x < 775 for x in at)
    assert [f for f in pieces[0].findings if f.code == "stops-apart"] == []


def test_the_widest_is_told_as_it_is() -> None:
    """An ear of 400 mm at x 700: middles up to 475 and from 925 on, 450 mm apart; nothing fits between, and both of them are used."""
    pieces = build(straight(brackets=(ear(700, 400),)), **STEPPED)
    stop = stop_of(pieces)
    at = xs(stop, lower)
    assert max(b - a for a, b in pairwise(at)) == near(450)
    (finding,) = [f for f in pieces[0].findings if f.code == "stops-apart"]
    assert (finding.value, finding.limit, finding.level) == ("450 mm", "at most 300 mm apart", "warn")
    assert "lower flange" in finding.message and "ear700" in finding.message
    assert "front +475 mm" in finding.message and "front +925 mm" in finding.message
    assert any("at most 450 mm apart (300 mm asked for)" in note for note in stop.notes)


def test_an_end_that_none_stands_near_is_told() -> None:
    """An ear over the plate's first 420 mm: the first middle is at 620 + 25 = 645, 445 mm from the end at x 200."""
    pieces = build(straight(brackets=(ear(410, 420),)), **STEPPED)
    (finding,) = [f for f in pieces[0].findings if f.code == "stops-apart"]
    assert finding.value == "445 mm" and "the plate's front end" in finding.message


def test_where_there_is_room_they_stand_evenly_and_say_how_far_apart() -> None:
    """From 230 to 1170, those at 225 and 1175 touch what is kept clear: 940 mm in four, 235 each."""
    stop = stop_of(build(straight(), **STEPPED))
    assert xs(stop, lower) == xs(stop, upper) == near([230.0, 465.0, 700.0, 935.0, 1170.0])
    assert any("at most 235 mm apart: " in note for note in stop.notes)


def test_both_ends_of_a_sloping_plate_have_one_on_either_flange() -> None:
    """On the slope of 18 deg an end square to the rail lies 90 to 140 mm x sin 18 deg further forward at the upper edge: up to both ends
    all the same. Off the end 15 + 10 mm and at most the 5 mm between places, along the rail; the lower edge turns by the taper of 50 mm
    over 1050 besides, 26 mm of height by less than 2 mm."""
    on = swept(turn_deg=0.0)
    plate, stop = (build(on, **STEPPED, start=Position(x_mm=1700), end=Position(x_mm=2400)))[:2]
    shape = [plate.placements[0].point(u, v, 0.0) for u, v in plate.part.panels[0].contour.points]
    low0, low1, up1, up0 = (p for p in shape)
    for group, front, rear in ((lower, low0, low1), (upper, up0, up1)):
        at = sorted(p.point(15, 0, 0) for p in group(stop))
        assert 24 < math.dist(front[::2], at[0][::2]) < 33 and 24 < math.dist(rear[::2], at[-1][::2]) < 33


def test_the_gap_over_a_joint_counts() -> None:
    """Every 40 mm, over a joint of 45 deg: what is told is what is there, from the last of one piece to the first of the next."""
    asked = Stops(every_mm=45, length_mm=30, height_mm=16, thickness_mm=4)
    pieces = build(straight(), **(STEPPED | {"stops": asked}), splits=(Split(at=Position(x_mm=700)),))
    stop = stop_of(pieces)
    widest = max(b - a for group in (lower, upper) for a, b in pairwise(xs(stop, group)))
    assert widest > 45
    assert any(f"at most {math.ceil(widest - 1e-6)} mm apart (45 mm asked for)" in note for note in stop.notes)


# --- the row itself ---


def test_a_row_by_hand() -> None:
    def clear(i: int, j: int) -> bool:
        return True

    assert spread([], 100, 20, clear) == []
    assert spread([7.0], 100, 20, clear) == [0]
    assert spread([0.0, 5.0, 10.0], 100, 20, clear) == [1]  # no room for two: the middle
    assert spread([0.0, 50.0, 100.0], 100, 20, clear) == [0, 2]
    assert spread([0.0, 30.0, 60.0, 120.0], 100, 20, clear) == [0, 2, 3]  # 60 + 60 is more even than 30 + 90
    assert spread([0.0, 90.0, 300.0, 330.0], 100, 20, clear) == [0, 1, 2, 3]  # 210 is not to be helped: both its ends
    assert spread([0.0, 50.0, 100.0], 60, 20, lambda i, j: (i, j) != (1, 2)) == [0, 2]
