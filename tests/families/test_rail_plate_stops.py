"""Stops behind a stepped-in plate: on the flange's inner face, on the plate's back, clear of everything.

Straight frame: flanges' inner faces at z 454 and 596; the plate's back is 60 - 16 - 3 = 41 mm from the web's outside at y 430: at y 389. A
stop of 30 x 16 x 4 mm stands from there to y 393, z 454 to 470 and 580 to 596. Tolerances: 1e-6 mm for what is exact by construction.
"""

from __future__ import annotations

import math
from collections.abc import Iterator
from dataclasses import replace
from functools import partial
from itertools import pairwise
from typing import Any

import numpy as np
import pytest

from parts.families.rail_plate import Around, PickUp
from parts.families.rail_plate_parts import Drains, Opening, Split, Stops
from parts.frame import Frame
from parts.frame.features import Bracket, FrameHole
from parts.frame.section import Face, Section
from parts.piece import Piece
from parts.sheet import Placement, Vec3
from parts.shop import Shop
from parts.soundness import faults
from parts.spec import Position
from tests.families.cases import FRAMES, made
from tests.families.rail_plates import KICK, TURN, axes, build, codes, crossmember, hole, near, seat_course, straight, swept
from tests.parts.frame.makers import CHANNEL, faults_of

STOPS = Stops(every_mm=300, length_mm=30, height_mm=16, thickness_mm=4)
STEPPED: dict[str, Any] = {"seat": "stepped", "stops": STOPS}
STRAIGHT_MM = 0.05  #: a flange may curve that much under a stop


def stop_of(pieces: tuple[Piece, ...], side: str = "right") -> Piece:
    (found,) = [p for p in pieces if p.id == f"plate-{side}-stop"]
    return found


def corners(at: Placement, size: tuple[float, float, float] = (30, 16, 4)) -> Iterator[tuple[tuple[float, float, float], Vec3]]:
    """((along, off the flange, deep), vehicle point) of a grid through the stop's steel."""
    for i in (0.0, 0.25, 0.5, 0.75, 1.0):
        for j in (0.0, 0.5, 1.0):
            for k in (0.0, 1.0):
                local = (i * size[0], j * size[1], k * size[2])
                yield local, at.point(*local)


def middle(at: Placement) -> Vec3:
    return at.point(15, 0, 0)


def lower(piece: Piece) -> list[Placement]:
    return [p for p in piece.placements if p.v[2] > 0]


def upper(piece: Piece) -> list[Placement]:
    return [p for p in piece.placements if p.v[2] < 0]


def box_of(at: Placement) -> tuple[Vec3, Vec3]:
    points = [p for _, p in corners(at)]
    return tuple(min(p[i] for p in points) for i in range(3)), tuple(max(p[i] for p in points) for i in range(3))  # type: ignore[return-value]


def test_where_they_stand_on_the_straight_frame() -> None:
    pieces = build(straight(), **STEPPED)
    stop = stop_of(pieces)
    assert (stop.part.thickness_mm, stop.quantity) == (4, len(stop.placements))
    assert stop.part.panels[0].contour.box == near((0, 0, 30, 16))
    assert faults(stop.part) == []
    for group, z0, z1 in ((lower(stop), 454, 470), (upper(stop), 580, 596)):
        xs = sorted(middle(at)[0] for at in group)
        # the plate is 1000 mm long from x 200: 10 mm clear of its ends at each end, so 950 less at most the 5 mm of the search at each
        assert len(group) == 5
        assert all(b - a <= 300 + 1e-6 for a, b in pairwise(xs))
        assert 225 - 1e-6 <= xs[0] <= 230 + 1e-6 and 1170 - 1e-6 <= xs[-1] <= 1175 + 1e-6
        for at in group:
            low, high = box_of(at)
            assert (low[1], high[1]) == near((389, 393))
            assert (low[2], high[2]) == near((z0, z1))
            assert high[0] - low[0] == near(30)


def test_their_tacks() -> None:
    """Along the flange on the side of the web: y 393, the whole length; leg for 4 on 4 mm, not along an edge: 4 mm, as the 5 mm asked for
    load that comes and goes is never needed above the thinner part (AWS D1.1:2025 table 7.7 and its notes)."""
    stop = stop_of(build(straight(), **STEPPED))
    assert len(stop.welds) == stop.quantity
    for weld, at in zip(stop.welds, stop.placements, strict=True):
        ends = sorted(weld.points)
        x = middle(at)[0]
        z = 454 if at.v[2] > 0 else 596
        assert ends[0] == near((x - 15, 393, z)) and ends[1] == near((x + 15, 393, z))
        assert (weld.kind, weld.thickness_mm, weld.leg_mm) == ("fillet", (4, 4), 4)
        assert weld.onto == f"rail right {'lower' if at.v[2] > 0 else 'upper'} flange inside"


@pytest.mark.parametrize("side", ["left", "right"])
@pytest.mark.parametrize("opens", ["inboard", "outboard"])
def test_their_steel_is_towards_the_web_on_either_rail(side: str, opens: Any) -> None:
    section = replace(CHANNEL, open=opens)
    stop = stop_of(build(straight(section), **STEPPED, side=side), side)
    rail = straight(section).rail("left" if side == "left" else "right")
    for at in stop.placements:
        for (_, _, deep), p in corners(at):
            assert rail.szo(p)[2] == near(41 - deep)
    for weld in stop.welds:
        assert all(rail.szo(p)[2] == near(37) for p in weld.points)


def on_flange(frame: Frame, side: str, stop: Piece, *, back_mm: float, exact: Any) -> int:
    """Every stop against the frame model; returns how many were held to 1e-6."""
    rail = frame.rail("left" if side == "left" else "right")
    t, inset, count = stop.part.thickness_mm, rail.section.flange_thickness_mm, 0
    _, _, length, height = stop.part.panels[0].contour.box
    course = seat_course(rail, back_mm)
    for at in stop.placements:
        held = exact(rail.szo(at.point(length / 2, 0, 0))[0])
        slack = 1e-6 if held else STRAIGHT_MM + 1e-6
        count += int(held)
        face: Face = "lower flange" if at.v[2] > 0 else "upper flange"
        for (_, off, deep), p in corners(at, (length, height, t)):
            s, z, _ = rail.szo(p)
            if off == 0:
                assert z == near(rail.flange_z(face, s, inset), slack), (at, p)
            if deep == 0 and held:
                assert course.project(p[:2])[1] == near(0.0)
            if off == height and held:  # square off the flange: on a face that far inside it
                assert z == near(rail.flange_z(face, s, inset + height))
    return count


def test_they_lie_on_flange_and_plate_of_the_swept_kicked_tapering_rail() -> None:
    """Beyond the arcs of turn (400 x 8 deg) and kick (300 + 150 mm x 18 deg) every flange is a straight line on every facet."""
    on = swept()
    pieces = build(on, **STEPPED, side="both", start=Position(x_mm=300), end=Position(at="rear", offset_mm=-60))
    for side in ("left", "right"):
        at_bend = on.rail("right").station_s("bend")
        count = on_flange(on, side, stop_of(pieces, side), back_mm=41, exact=lambda s, bend=at_bend: abs(s - bend) > 110)
        assert count >= 10
    right = stop_of(pieces)
    sloped = [at for at in upper(right) if middle(at)[0] > 1700]
    assert sloped
    for at in sloped:  # along the upper flange: the tape's own slope, 18 deg, and the plan's turn, 8 deg towards the centreline
        u = np.array(at.u)
        assert abs(u[2]) == near(math.sin(KICK))
        assert abs(u[1] / u[0]) == near(math.tan(TURN))


@pytest.mark.parametrize("frame", FRAMES)
def test_on_every_demo_frame(frame: str) -> None:
    read, kit = made("orchard-long-boxing", frame)
    for side in ("left", "right"):
        (stop,) = [p for p in kit.pieces if p.id == f"long-boxing-{side}-stop"]
        section = read.frame.rail("left" if side == "left" else "right").section
        rail = read.frame.rail("left" if side == "left" else "right")
        corners_s = [*(rail.station_s(n) for n in rail.station_names)]
        count = on_flange(
            read.frame, side, stop, back_mm=section.flange_mm - 16 - 3,
            exact=lambda s, at=corners_s: min(abs(s - c) for c in at) > 160,
        )  # fmt: skip
        assert count >= 4
        assert stop.quantity >= 8


def footprint(at: Placement) -> tuple[float, float, float, float]:
    low, high = box_of(at)
    return low[0], low[2], high[0], high[2]


def gap_to_circle(at: Placement, x: float, z: float, r: float) -> float:
    x0, z0, x1, z1 = footprint(at)
    return math.hypot(max(x0 - x, x - x1, 0), max(z0 - z, z - z1, 0)) - r


def test_they_keep_off_holes_openings_and_drains() -> None:
    """A pin of 16 mm low in the web, where a stop would stand; a round opening; drains at both ends of the level bay."""
    on = straight(holes=(hole("pin", Position(x_mm=700), 20),))
    pieces = build(
        on, **STEPPED, pick_up=(PickUp(hole="pin"),), openings=(Opening(name="hand", at=Position(x_mm=460), up_mm=40, diameter_mm=50),),
        drains=Drains(diameter_mm=12),
    )  # fmt: skip
    plate, stop = pieces[0], stop_of(pieces)
    names = set(axes(plate))
    assert {"pin", "opening-hand"} <= names and any(n.startswith("drain") for n in names)
    assert len(lower(stop)) >= 4
    for at in stop.placements:
        for point, _, axis in axes(plate).values():
            # a box of 10 mm all round is kept, whose corners stand further off than its sides: never less than 10 mm
            assert gap_to_circle(at, point[0], point[2], axis.diameter_mm / 2) >= 10 - 1e-6, axis.name


def test_they_keep_off_crossmembers_joints_and_ends() -> None:
    on = straight(crossmembers=(crossmember("cm", 700),))
    around = (Around(crossmember="cm", way="notch", opens="lower"),)
    pieces = build(on, **STEPPED, end=Position(x_mm=1600), around=around, splits=(Split(at=Position(x_mm=1150)),))
    stop = stop_of(pieces)
    assert len({p.id for p in pieces}) == len(pieces)
    for at in stop.placements:
        x0, _, x1, _ = footprint(at)
        if at.v[2] > 0:  # the notch is open to the lower edge: x 669 to 731
            assert x1 <= 669 - 10 + 1e-6 or x0 >= 731 + 10 - 1e-6
        z = 461 if at.v[2] > 0 else 589
        joint = 1150 + 525 - z  # where the joint is at that height
        assert not x0 - 5 < joint < x1 + 5
        assert x0 >= 210 - 1e-6 and x1 <= 1590 + 1e-6
    for part in (pieces[0], pieces[1]):  # each piece of the plate is held near both its ends, on both flanges
        x0, x1 = (200, 1150) if part.id.endswith("-1") else (1150, 1600)
        for group in (lower(stop), upper(stop)):
            assert sum(x0 < middle(at)[0] < x1 for at in group) >= 2


def test_they_keep_off_what_is_in_the_section() -> None:
    """A rivet in the lower flange, its head 20 mm across over the stops' place; a kept bracket inside the web, 40 mm out, low down."""
    rivet = FrameHole(name="rivet", at=Position(x_mm=520), in_mm=35, face="lower flange", diameter_mm=10, filled="rivet")
    kept = Bracket(
        name="clip", side="right", at=Position(x_mm=820), face="web", up_mm=30, length_mm=60, height_mm=40, out_mm=36,
        inner_face=True, fate="kept", held_by="bolts",
    )  # fmt: skip
    ear = Bracket(
        name="ear", side="right", at=Position(x_mm=620), face="upper flange", in_mm=38, length_mm=60, height_mm=10, out_mm=20,
        inner_face=True, fate="kept", held_by="bolts",
    )  # fmt: skip
    on = straight(holes=(rivet,), brackets=(kept, ear))
    head = on.hole("rivet", "right").head_across_mm / 2
    stop = stop_of(build(on, **(STEPPED | {"stops": replace(STOPS, every_mm=100)})))
    for at in lower(stop):
        x0, _, x1, _ = footprint(at)
        assert x1 + 10 <= 520 - 5 + 1e-6 or x0 - 10 >= 520 + 5 - 1e-6
        assert head > 5
        assert x1 + 10 <= 790 + 1e-6 or x0 - 10 >= 850 - 1e-6
    for at in upper(stop):  # x 590 to 650 on the flange above
        x0, _, x1, _ = footprint(at)
        assert x1 + 10 <= 590 + 1e-6 or x0 - 10 >= 650 - 1e-6
    assert any(footprint(at)[0] < 860 and footprint(at)[2] > 780 for at in upper(stop))  # the clip is in the lower ones' way alone
    assert any(footprint(at)[0] < 660 and footprint(at)[2] > 580 for at in lower(stop))


def test_where_none_has_room_it_is_told() -> None:
    """Every 60 mm over the kick: its arcs are longer than that."""
    on = swept()
    fields = STEPPED | {"stops": replace(STOPS, every_mm=60)}
    pieces = build(on, **fields, start=Position(x_mm=1000), end=Position(at="rear", offset_mm=-100))
    found = [f for f in pieces[0].findings if f.code == "stops-apart"]
    assert found and all("kick" in f.message or "bend" in f.message for f in found)
    assert all(f.remedy and f.value and f.limit for f in found)


def test_only_the_seated_edge_has_them() -> None:
    for hang, there, free in (("lower", lower, upper), ("upper", upper, lower)):
        pieces = build(straight(), **STEPPED, height_mm=80, hang=hang)
        stop = stop_of(pieces)
        assert len(there(stop)) == 5 and free(stop) == []
        assert "stops-apart" not in codes(pieces[0])  # none is missed at the free edge


# --- what is refused ---


def test_no_stops_without_a_step() -> None:
    for seat in ("toes", "flush", "inside", "outside"):
        (fault,) = faults_of(partial(build, straight(), seat=seat, stops=STOPS))
        assert (fault.field, fault.value) == ("stops", seat) and 'seat = "stepped"' in fault.remedy


def test_too_little_depth_behind_the_plate() -> None:
    """Step 40: back at 60 - 40 - 3 = 17 mm, corner's radius ends at 4 + 4 = 8: 9 mm. A stop of 9 goes in, one of 9.5 does not."""
    build(straight(), **(STEPPED | {"stops": replace(STOPS, thickness_mm=9)}), step_mm=40)
    (fault,) = faults_of(lambda: build(straight(), **(STEPPED | {"stops": replace(STOPS, thickness_mm=9.5)}), step_mm=40))
    assert (fault.field, fault.value) == ("stops.thickness", "9.5 mm")
    assert "there are 9.0 mm" in fault.limit and "at most 9.0 mm" in fault.remedy
    wide = Section(flange_mm=60, web_mm=4, flange_thickness_mm=4, inside_radius_mm=12, open="inboard")
    (fault,) = faults_of(lambda: build(straight(wide), **(STEPPED | {"stops": replace(STOPS, thickness_mm=2)}), step_mm=40))
    assert "there are 1.0 mm" in fault.limit  # 17 - 4 - 12


def test_too_low_to_hold_the_plate() -> None:
    """8 mm less 5 mm of root gap leave 3."""
    (fault,) = faults_of(lambda: build(straight(), Shop(root_gap_mm=5), **(STEPPED | {"stops": replace(STOPS, height_mm=8)})))
    assert (fault.field, fault.value) == ("stops.height", "8 mm") and "3.0 mm" in fault.limit and "at least 10 mm" in fault.remedy


def test_closer_than_they_are_long() -> None:
    (fault,) = faults_of(lambda: Stops(every_mm=60, length_mm=60, height_mm=16, thickness_mm=4))
    assert (fault.field, fault.value) == ("every", "60 mm") and "70 mm" in fault.limit


def test_nothing_is_there_where_none_are_asked_for() -> None:
    assert [p.id for p in build(straight(), seat="stepped")] == ["plate-right"]
    assert "stops-apart" not in codes(build(straight(), **STEPPED)[0])
