"""The spring doubler on the demo frames and on frames made up here.

Places are worked by hand from the frame files' own numbers. Holes by ISO 273 fine (M12: 13, M16: 17, M20: 21) and ASME B18.2.8 close
(7/16 in: 29/64). Areas are closed forms: a rounded corner takes (1 - pi/4) r^2 off the box, a clipped one leg^2 / 2. Tolerances: 1e-6 mm
where curves were looked up, half the last digit where a sentence is read.
"""

from __future__ import annotations

import math
import re
from dataclasses import replace
from functools import partial
from typing import Any

import numpy as np
import pytest

from generator.rules.judge import judge
from parts.bending import Din6935
from parts.errors import BadInput
from parts.families import SpringDoubler
from parts.flat import unfold
from parts.frame import Frame
from parts.frame.features import Bracket, FrameHole
from parts.frame.frame import Use
from parts.frame.section import Section
from parts.piece import Piece
from parts.shop import Shop
from parts.spec import Position
from tests.families.cases import FRAMES, made
from tests.families.rail_plates import axes, box, codes, crossmember, near, straight, swept
from tests.parts.frame.makers import check_fault, faults_of, section

IN, DEG = 25.4, math.pi / 180
JOB = "orchard-springs"

#: frame -> side -> hole -> (x, y, z) on the plate's face, by hand. Flatbed: rear axle 2900 - 640 and - 560; web inside 430 - 4; lower
#: corner 600 - 150, + 45 and + 105. Wagon: 112 - 25-1/4 and - 22-1/4; 14.189 - 5/32; 30.562 - 4, + 1-1/8 and + 2-7/8. Pickup, left:
#: 2800 - 315 and - 245; 410 - 5; 558 - 140, + 40 and + 100. Right: 2804, 413 - 5, 561 - 141. The tape
#: from the rear axle lies level.
PLACES: dict[str, dict[str, tuple[tuple[float, float], float, tuple[float, float]]]] = {
    "orchard-flatbed": {"left": ((2260, 2340), -426, (495, 555)), "right": ((2260, 2340), 426, (495, 555))},
    "river-wagon": {
        side: ((86.75 * IN, 89.75 * IN), sign * (14.189 - 5 / 32) * IN, (27.687 * IN, 29.437 * IN))
        for side, sign in (("left", -1), ("right", 1))
    },
    "mill-pickup": {"left": ((2485, 2555), -405, (458, 518)), "right": ((2489, 2559), 408, (460, 520))},
}
#: frame -> (web, bolt, its class, hole, what the rivet's hole measures)
SIZES = {
    "orchard-flatbed": (4.0, "M12", "10.9", 13.0, 10.0),
    "river-wagon": (5 / 32 * IN, "7/16 in", "grade 8", 29 / 64 * IN, 3 / 8 * IN),
    "mill-pickup": (5.0, "M12", "10.9", 13.0, 10.0),
}


def rivets(*places: tuple[float, float], diameter: float = 10, **fields: Any) -> tuple[FrameHole, ...]:
    """`h-1`, ... at (tape from the front end, up)."""
    given: dict[str, Any] = {"filled": "rivet", **fields}
    return tuple(
        FrameHole(name=f"h-{k}", at=Position(at="front", offset_mm=x), up_mm=up, diameter_mm=diameter, **given)
        for k, (x, up) in enumerate(places, start=1)
    )


FOUR = ((1000.0, 45.0), (1080.0, 45.0), (1000.0, 105.0), (1080.0, 105.0))


def doubler(**fields: Any) -> SpringDoubler:
    return SpringDoubler(**{"id": "plate", "side": "right", "stem": "h-", "foot_mm": 6, "thickness_mm": 4, **fields})


def one(on: Frame, **fields: Any) -> Piece:
    (piece,) = doubler(**fields).build(on)
    return piece


def edge_gap(piece: Piece, hole: str) -> float:
    panel = piece.part.panels[0]
    own = next(h for h in panel.holes if h.name == hole)
    return panel.contour.distance(own.centre) - own.diameter_mm / 2


@pytest.mark.parametrize("frame", FRAMES)
def test_the_demo_job_takes_up_each_frames_own_rivet_holes(frame: str) -> None:
    _, kit = made(JOB, frame)
    web, bolt, strength, drill, rivet = SIZES[frame]
    assert [p.id for p in kit.pieces] == ["hanger-plate-left", "hanger-plate-right"]
    for piece in kit.pieces:
        (x0, x1), y, (z0, z1) = PLACES[frame][piece.side]
        by_hand = {f"hanger-front-{k}": p for k, p in enumerate(((x0, y, z0), (x1, y, z0), (x0, y, z1), (x1, y, z1)), start=1)}
        found = axes(piece)
        assert set(found) == set(by_hand)
        for name, (point, away, axis) in found.items():
            assert point == near(by_hand[name], 1e-4 * IN if frame == "river-wagon" else 1e-6), name  # its file rounds to 0.001 in
            assert away[1] == near(-math.copysign(1.0, y)), "the seen face looks inboard"
            assert axis.diameter_mm == near(drill)
        assert {(d.name, d.face) for d in piece.drilling} == {(n, "web") for n in by_hand}
        assert {(round(d.diameter_mm, 6), round(d.existing_mm or 0, 6)) for d in piece.drilling} == {(round(drill, 6), round(rivet, 6))}
        assert {(r.name, r.what) for r in piece.removals} == {(n, "rivet") for n in by_hand}
        assert all("shank under size" in r.how for r in piece.removals)
        for line in piece.bolts:
            assert (line.size, line.strength) == (bolt, strength)
            assert line.grip_mm == near(4 + web + 6)
            assert math.dist(line.head, line.nut) == near(line.grip_mm)
            # the plate's seen face is 4 mm inboard of the web's inside; the foot's is 6 mm outboard of its outside
            assert (abs(line.head[1]), abs(line.nut[1])) == near((abs(y) - 4, abs(y) + web + 6), 1e-3)
            assert line.between == ("hanger-plate", f"rail {piece.side} web", "hanger foot")


def test_bolts_nuts_and_washers_are_bought_by_their_class() -> None:
    said = {h.designation: h.quantity for h in one(straight(holes=rivets(*FOUR)), strength="9.8").hardware}
    # ISO 4014: M12 nut 10.8, two washers of 2.5, grip 4 + 4 + 6, two threads of 1.75: 33.3, so 35 mm
    assert said == {"bolt M12 x 35 9.8": 4, "nut M12 class 9": 4, "washer M12 hardened": 8}


@pytest.mark.parametrize("rivet, bolt, drill", [(8, "M10", 10.5), (10, "M12", 13), (12, "M14", 15), (15.9, "M16", 17)])
def test_the_next_larger_bolt_and_its_fine_hole(rivet: float, bolt: str, drill: float) -> None:
    piece = one(straight(holes=rivets(*FOUR, diameter=rivet)))
    assert {b.size for b in piece.bolts} == {bolt}
    assert {d.diameter_mm for d in piece.drilling} == {drill}


def test_never_more_than_the_bolt_and_one_mm_in_the_rail() -> None:
    fits = one(straight(holes=rivets(*FOUR, diameter=17, filled="open")), bolt="M16")
    assert fits.drilling == () and fits.removals == ()
    check_fault(lambda: one(straight(holes=rivets(*FOUR, diameter=17.1)), bolt="M16"), "part plate", "bolt", "h-1 is 17.1 mm")
    assert "M18" in faults_of(lambda: one(straight(holes=rivets(*FOUR, diameter=17.1)), bolt="M16"))[0].remedy
    one(straight(holes=rivets(*FOUR, diameter=17.1)), bolt="M18")


def test_a_bolt_no_larger_than_its_rivet_is_told() -> None:
    on = straight(holes=rivets(*FOUR))
    assert "bolt-not-larger" in codes(one(on, bolt="M10"))
    assert "bolt-not-larger" not in codes(one(on))


@pytest.mark.parametrize("corners, corner", [("rounded", 20.0), ("clipped", 12.0), ("rounded", 0.0)])
def test_the_outline_on_a_rail_that_kicks_turns_and_tapers(corners: Any, corner: float) -> None:
    """Behind 8 deg and 18 deg of turn: two holes 70 mm apart along the tape and 30 mm square to it keep that; the box leans by 18 deg."""
    places = ((1900.0, 50.0), (1970.0, 50.0), (1900.0, 80.0))
    piece = one(swept(holes=rivets(*places)), edge_along_mm=30, edge_across_mm=15, corners=corners, corner_mm=corner)
    contour, place = piece.part.panels[0].contour, piece.placements[0]
    # `up` is from the lower face, which falls off by the taper: 70 mm on, the same `up` lies lower against the upper corner
    heights = {h.name: h.y_mm for h in piece.part.panels[0].holes}
    tall = max(heights.values()) - min(heights.values()) + 13 + 2 * 15
    assert heights["h-3"] - heights["h-1"] == near(30, 1e-3)
    long = 70 + 13 + 2 * 30
    off = {"rounded": (4 - math.pi) * corner**2, "clipped": 2 * corner**2}[corners]
    assert contour.area == near(long * tall - off, 1e-3)
    x0, y0, x1, y1 = contour.box
    assert (x1 - x0, y1 - y0) == near((long, tall), 1e-4)
    turn, kick = -8 * DEG, 18 * DEG
    sign = math.copysign(1.0, place.u[0])  # u runs forward where the plate is seen from the other side
    level = (math.cos(turn) * math.cos(kick), math.sin(turn) * math.cos(kick), math.sin(kick))
    assert sign * np.array(place.u) == near(np.array(level), 1e-9)
    for name in heights:
        own = piece_hole(swept(holes=rivets(*places)), name)
        point, away, _ = axes(piece)[name]
        off_axis = point - np.array(own.point)
        assert np.linalg.norm(off_axis - (off_axis @ away) * away) < 1e-6, name


def piece_hole(on: Frame, name: str) -> Any:
    return on.hole(name, "right")


@pytest.mark.parametrize("corners", ["rounded", "clipped"])
@pytest.mark.parametrize("along, across", [(25.0, 25.0), (40.0, 12.0), (9.0, 20.0), (300.0, 12.0)])
def test_corners_left_to_the_program_keep_the_smaller_edge_distance(corners: Any, along: float, across: float) -> None:
    piece = one(straight(holes=rivets(*FOUR)), edge_along_mm=along, edge_across_mm=across, corners=corners)
    for k in range(1, 5):
        assert edge_gap(piece, f"h-{k}") == near(min(along, across), 1e-9)


def test_edge_distances_left_out_are_two_thicknesses_or_a_holes_diameter() -> None:
    on = straight(holes=rivets(*FOUR))
    assert edge_gap(one(on), "h-1") == near(13.0)
    assert edge_gap(one(on, thickness_mm=8), "h-1") == near(16.0)


@pytest.mark.parametrize("along", [7.9, 8.0])
@pytest.mark.parametrize("apart", [80.0, 200.0])
def test_a_hole_nearer_to_the_edge_than_two_thicknesses_is_told_once(along: float, apart: float) -> None:
    """TM 9-2320-289-34 p. 9-7. Only a plate longer than the rail is deep is a reinforcement to the rules, which look too."""
    places = ((1000.0, 75.0), (1000.0 + apart, 75.0))
    on, shop = replace(straight(holes=rivets(*places)), use=Use(road=True, commercial=True)), Shop()
    piece = one(on, edge_along_mm=along, edge_across_mm=20)
    rules = judge([piece], [unfold(piece.part, Din6935())], on, shop).findings
    told = [f for f in (*piece.findings, *rules) if f.code == "reinforcement-hole-edge"]
    assert [(f.level, f.value, f.limit) for f in dict.fromkeys(told)] == ([("warn", "7.9 mm", "at least 8 mm")] if along < 8 else [])


@pytest.mark.parametrize("open_to, seat, y", [("inboard", "inside", (422, 426)), ("inboard", "outside", (430, 434)),
                                              ("outboard", "inside", (434, 438)), ("outboard", "outside", (426, 430))])  # fmt: skip
def test_either_face_of_either_rail(open_to: Any, seat: Any, y: tuple[float, float]) -> None:
    """Web 4 mm with its outside at y 430: open inboard it fills 426 to 430, open outboard 430 to 434."""
    piece = one(straight(section=section(open=open_to), holes=rivets(*FOUR)), seat=seat, edge_along_mm=25, edge_across_mm=20)
    low, high = box(piece)
    assert (low, high) == (near((968.5, y[0], 468.5)), near((1111.5, y[1], 581.5)))


def test_a_plate_under_the_hanger_moves_it_and_the_bracket_comes_loose() -> None:
    middle = Position(at="front", offset_mm=1040)
    hanger = Bracket(name="hang", at=middle, up_mm=75, length_mm=110, height_mm=100, out_mm=50, held_by="rivets")
    on = straight(holes=rivets(*FOUR), brackets=(hanger,))
    piece = one(on, seat="outside")
    assert "hanger-moves" in codes(piece) and "4 mm further outboard" in next(f.message for f in piece.findings if f.code == "hanger-moves")
    assert [(r.name, r.what) for r in piece.removals][-1] == ("hang", "bracket")
    line = piece.bolts[0]
    assert line.between == ("hanger foot", "plate", "rail right web")
    assert (line.head[1], line.nut[1]) == near((430 + 4 + 6, 426))
    behind = one(on)
    assert "hanger-moves" not in codes(behind) and {r.what for r in behind.removals} == {"rivet"}
    check_fault(lambda: one(on, hanger="inside"), "part plate", "hanger", "stands on the web's outside")


def test_what_else_is_on_that_face() -> None:
    def on(**more: Any) -> Frame:
        return straight(holes=(*rivets(*FOUR), *more.pop("holes", ())), **more)

    mid = Position(at="front", offset_mm=1040)
    open_hole = FrameHole(name="o", at=mid, up_mm=75, diameter_mm=12)
    assert "covers-open-hole" in codes(one(on(holes=(open_hole,))))
    rivet = FrameHole(name="r", at=mid, up_mm=75, diameter_mm=10, filled="rivet", head_diameter_mm=18)
    clear = next(h for h in one(on(holes=(rivet,))).part.panels[0].holes if h.name == "clear-r")
    assert clear.diameter_mm == near(20.0)  # 1 mm of air all round
    at_edge = FrameHole(name="e", at=Position(at="front", offset_mm=1105), up_mm=75, diameter_mm=10, filled="rivet", head_diameter_mm=18)
    check_fault(lambda: one(on(holes=(at_edge,))), "part plate", "stem", "rivet e stands at the plate's edge")
    check_fault(lambda: one(on(crossmembers=(crossmember("cm", 1040),))), "part plate", "stem", "crossmember cm stands on rail right")
    one(on(crossmembers=(crossmember("cm", 1040),)), seat="outside")
    stays = Bracket(name="b", at=mid, up_mm=75, length_mm=20, height_mm=20, out_mm=20, inner_face=True)
    check_fault(lambda: one(on(brackets=(stays,))), "part plate", "stem", "bracket b on the rail right web inside, which stays")


def test_a_turn_and_a_kick_are_refused_and_the_remedy_does() -> None:
    """The turn of 400 mm radius over 8 deg ends 400 tan 4 deg = 28 mm of tape behind x 1500; the kick's 300 tan 9 deg = 47.5 mm."""
    across = swept(holes=rivets((1450, 50), (1550, 50)))
    assert {f.field for f in faults_of(lambda: one(across))} == {"stem"}
    near_turn = swept(kick_radius=0, holes=rivets((1400, 75), (1440, 75)))
    found = faults_of(lambda: one(near_turn, edge_along_mm=60))
    assert found[0].field == "edge_along" and "into the turn" in found[0].limit
    most = float(re.search(r"at most ([\d.]+) mm", found[0].remedy)[1])  # type: ignore[index]
    # by hand: 1500 - 28 of straight, less the last hole at 1440 and its 6.5
    assert most == pytest.approx(1500 - 400 * math.tan(4 * DEG) - 1440 - 6.5, abs=0.1)
    one(near_turn, edge_along_mm=most)
    kicked = swept(turn_deg=0.0, holes=rivets((1400, 75), (1440, 75)))
    assert "kicks by" in faults_of(lambda: one(kicked, edge_along_mm=60))[0].limit
    one(kicked, edge_along_mm=5)


def test_past_the_webs_flat_is_refused_and_the_remedy_does() -> None:
    """Inside, the flat begins flange 4 + radius 4 = 8 mm up: a hole of 13 at 35 up has 35 - 6.5 - 8 = 20.5 mm."""
    on = straight(holes=rivets((1000, 35), (1080, 35)))
    one(on, edge_across_mm=20.5)
    found = faults_of(lambda: one(on, edge_across_mm=22))
    assert [f.field for f in found] == ["edge_across"] and "at most 20.5 mm" in found[0].remedy
    # flanges of 7 mm: inside the flat begins 7 + 4 = 11 mm up, outside still at the corner's outer radius, 4 + 4 = 8 mm
    thick = straight(section=section(flange_thickness_mm=7), holes=rivets((1000, 35), (1080, 35)))
    assert "at most 17.5 mm" in faults_of(lambda: one(thick, edge_across_mm=22))[0].remedy
    assert "at most 20.5 mm" in faults_of(lambda: one(thick, edge_across_mm=22, seat="outside"))[0].remedy
    tapering = swept(holes=rivets((1900, 40), (1970, 40)))
    most = re.search(r"at most ([\d.]+) mm", faults_of(lambda: one(tapering, edge_across_mm=30))[0].remedy)
    assert most is not None
    one(tapering, edge_across_mm=float(most[1]))
    assert "past the end of rail right" in faults_of(lambda: one(straight(holes=rivets((30, 75), (70, 75))), edge_along_mm=30))[0].limit


def test_holes_are_named_once_and_are_there() -> None:
    web = straight(holes=(*rivets(*FOUR), FrameHole(name="h-flange", at=Position(at="front", offset_mm=1040), face="upper flange", in_mm=30,
                                                    diameter_mm=10)))  # fmt: skip
    assert any("not taken up: h-flange" in n for n in one(web).notes)
    named = {"stem": None, "holes": ("h-1", "h-2")}
    assert {b.name for b in one(web, **named).bolts} == {"h-1", "h-2"}
    check_fault(lambda: one(web, stem=None, holes=("h-1", "h-flange")), "part plate", "holes", "is in the upper flange")
    check_fault(lambda: one(web, stem=None, holes=("h-1", "h-9")), "part plate", "holes", "no hole")
    check_fault(lambda: one(web, stem="hanger"), "part plate", "stem", "begins so")
    wrong: tuple[dict[str, Any], ...] = ({"stem": None}, {"holes": ("h-1",)}, {"stem": None, "holes": ("h-1", "h-1")})
    for fields in wrong:
        check_fault(partial(doubler, **fields), "part plate", "holes", "once")
    assert "one-bolt" in codes(one(web, stem=None, holes=("h-1",)))


def test_what_cannot_be_is_refused() -> None:
    on = straight(holes=rivets(*FOUR))
    closed = Section(kind="closed", flange_mm=60, web_mm=4, flange_thickness_mm=4, inside_radius_mm=4, open="inboard")
    check_fault(lambda: one(straight(section=closed, holes=rivets(*FOUR))), "part plate", "seat", "closed section")
    check_fault(lambda: one(on, bolt="M20", strength="9.8"), "part plate", "strength", "M20")
    check_fault(lambda: one(on, corner_mm=80), "part plate", "corner", "at most")
    check_fault(lambda: doubler(corner_mm=0.5), "part plate", "corner", "0 (sharp)")
    with pytest.raises(BadInput) as caught:
        doubler(grade="cheese", bolt="M3", corner_mm=0.5, thickness_mm=40)
    assert sorted(f.field for f in caught.value.faults) == ["bolt", "corner", "grade", "thickness"]
