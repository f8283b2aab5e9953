"""What an opening of a rail plate keeps off besides edges and bends: the weld on a stepped plate's face, the flange's edge behind it; and
what a pipe through it meets behind the plate.
"""

from __future__ import annotations

import math
import re
from dataclasses import replace
from functools import partial
from typing import Any

import numpy as np
import pytest

from parts.errors import BadInput, Finding
from parts.families.rail_plate import RailPlate
from parts.frame import Frame
from parts.frame.features import FrameHole
from parts.frame.frame import Use
from parts.frame.section import Section
from parts.piece import Piece
from parts.sheet import Vec3
from parts.spec import Position
from tests.families.rail_plates import codes, one, straight, swept
from tests.families.test_rail_plate_openings import OBLIQUE, off_axis, opening, pipe, through
from tests.parts.frame.makers import at, check_fault, section


def test_an_opening_keeps_off_the_fillet_on_a_stepped_plates_face() -> None:
    """Stepped in, the plate's lower edge lies at z 455 and its fillet of 3 mm on its face, to z 458: no opening under 458.5. Plates on the
    toes and between the flanges' edges have no weld on their face: 455.5 will do."""
    for bottom, seat, fits in ((458.6, "stepped", True), (458.4, "stepped", False), (457.0, "flush", True)):
        cut = opening(up_mm=bottom + 30 - 450, diameter_mm=60.0)
        if fits:
            one(straight(), seat=seat, openings=(cut,))
            continue
        cramped = partial(one, straight(), seat="stepped", openings=(cut,))
        check_fault(cramped, "part plate", "opening.at", "fillet of 3 mm lies on its face")
    one(straight(), seat="stepped", height_mm=80.0, openings=(opening(up_mm=84 - 31.0, diameter_mm=60.0),))  # its free edge has no weld


@pytest.mark.parametrize(("lip", "up", "over"), [(0.0, 13.0, 1.0), (0.0, 14.1, None), (20.0, 10.0, 4.0), (20.0, -5.0, 19.0)])
def test_an_opening_over_the_flange_or_its_lip_is_told(lip: float, up: float, over: float | None) -> None:
    """On the toes the flange's edge stands behind the plate up to z 454, a hat's lip under it: 20 mm round, its middle `up` over z 450."""
    on = straight(section(kind="hat", lip_mm=lip) if lip else section())
    piece = one(on, edge="set in" if lip else "bevelled", openings=(opening(up_mm=up, diameter_mm=20.0),))
    told = [f for f in piece.findings if f.code == "opening-over-flange"]
    assert [(f.level, f.value) for f in told] == ([] if over is None else [("warn", f"{over:.1f} mm")])


def test_what_is_moved_for_a_pipe_is_the_pipe() -> None:
    on = straight(keep_out=(pipe((600, 300, 460), (600, 480, 460)),))
    with pytest.raises(BadInput) as caught:
        through(on)
    assert caught.value.faults[0].remedy == "move pipe fuel-pipe inwards, or give it less clearance"


# --- behind the plate ---

SQUARE = ((600.0, 300.0, 500.0), (600.0, 480.0, 500.0))


def told(piece: Piece, code: str) -> list[Finding]:
    return [f for f in piece.findings if f.code == code]


def asked_hole(finding: Finding, **more: Any) -> FrameHole:
    """The hole that the sentence asks for, as it would be written into the frame file."""
    found = re.search(r"a round hole of ([\d.]+) mm.* ([\d.]+) mm rearward of ([\w-]+) .* ([\d.]+) mm up", finding.message)
    assert found is not None, finding.message
    size, along, station, up = found.groups()
    return FrameHole(name="own", at=at(station, float(along)), up_mm=float(up), diameter_mm=float(size), **more)


def test_a_pipe_that_goes_on_through_the_web_is_told_with_place_and_size() -> None:
    """20 mm and 5 of air all round, square: 30 mm; x 600 is 600 behind front, z 500 is 50 over the lower face. 30 is above the 19 mm of one
    maker's guide; in its way the flange: 50 - 15 - 4 = 31 mm, under its 38."""
    on = straight(keep_out=(pipe(*SQUARE),))
    (found,) = told(through(on), "pipe-through-web")
    assert (found.level, found.value) == ("warn", "30.0 mm")
    for words in ("fuel-pipe", "web of rail right", "600.0 mm rearward of front", "50.0 mm up"):
        assert words in found.message
    assert {"hole-large", "hole-near-lower-flange"} <= {f.code for f in through(on).findings if "opening-fuel" in f.where}
    own = asked_hole(found)
    assert not told(through(replace(on, holes=(own,))), "pipe-through-web")
    assert any("hole own" in n for n in through(replace(on, holes=(own,))).notes)


@pytest.mark.parametrize(("size", "up", "level"), [(30.0, 50.0, None), (28.0, 50.0, "note"), (30.0, 52.0, "note"), (30.0, 56.0, "warn"),
                                                   (19.0, 50.0, "warn")])  # fmt: skip
def test_a_hole_that_is_there_is_held_against_the_pipe(size: float, up: float, level: str | None) -> None:
    """Air left: half the hole, less how far it is off, less 10: 5, 4, 3; -1 and -0.5 do not let it through."""
    own = FrameHole(name="own", at=at("front", 600), up_mm=up, diameter_mm=size)
    found = told(through(straight(keep_out=(pipe(*SQUARE),), holes=(own,))), "pipe-through-web")
    assert [f.level for f in found] == ([] if level is None else [level])
    assert all("own" in f.message for f in found)


def test_a_rivet_in_its_way_is_no_hole_for_it() -> None:
    own = FrameHole(name="own", at=at("front", 600), up_mm=50.0, diameter_mm=30.0, filled="rivet")
    assert told(through(straight(keep_out=(pipe(*SQUARE),), holes=(own,))), "pipe-through-web")


@pytest.mark.parametrize(
    ("points", "code"),
    [
        ((SQUARE[0], (600.0, 410.0, 500.0)), "pipe-ends-behind"),
        ((SQUARE[0], (600.0, 400.0, 500.0), (600.0, 400.0, 700.0)), "pipe-through-flange"),
        ((SQUARE[0], (600.0, 400.0, 500.0), (600.0, 400.0, 300.0)), "pipe-through-flange"),
        ((SQUARE[0], (600.0, 400.0, 500.0), (900.0, 400.0, 500.0), (900.0, 480.0, 500.0)), "pipe-through-web"),
        # in and out again through the plate; on along the rail and out past the plate's end, and past the rail's own
        ((SQUARE[0], (600.0, 410.0, 500.0), (800.0, 410.0, 500.0), (800.0, 300.0, 500.0)), None),
        ((SQUARE[0], (600.0, 400.0, 500.0), (1500.0, 400.0, 500.0), (1500.0, 300.0, 500.0)), None),
        ((SQUARE[0], (600.0, 400.0, 500.0), (4000.0, 400.0, 500.0)), None),
    ],
)
def test_where_a_pipe_leaves_the_box(points: tuple[Vec3, ...], code: str | None) -> None:
    """The box: y 370 to 426, z 454 to 596. The same, told of the pipe walked the other way."""
    for line in (points, points[::-1]):
        found = {c for c in codes(through(straight(keep_out=(pipe(*line),)))) if c.startswith("pipe-")}
        assert found == ({code} if code else set())


def test_it_is_told_where_it_leaves_the_box() -> None:
    """It leaves through the web 300 further back; 410 - 370 = 40 mm behind the plate's back it ends."""
    (web,) = told(through(straight(keep_out=(pipe(SQUARE[0], (600, 400, 500), (900, 400, 500), (900, 480, 500)),))), "pipe-through-web")
    assert "900.0 mm rearward of front" in web.message
    (end,) = told(through(straight(keep_out=(pipe(SQUARE[0], (600, 410, 500)),))), "pipe-ends-behind")
    assert end.value == "40.0 mm" and end.level == "note"


@pytest.mark.parametrize("commercial", [False, True])
def test_a_flange_in_its_way_is_judged_as_the_law_has_it(commercial: bool) -> None:
    """49 CFR 393.201 binds commercial vehicles. z 600 at y 400: 30 mm in from the web's outside."""
    on = straight(keep_out=(pipe(SQUARE[0], (600, 400, 500), (600, 400, 700)),))
    piece = through(replace(on, use=Use(road=True, commercial=commercial)))
    (found,) = told(piece, "pipe-through-flange")
    assert found.level == "warn" and "upper flange of rail right" in found.message and "600.0 mm rearward of front" in found.message
    levels = {f.level for f in told(piece, "flange-hole")}
    assert levels == ({"stop", "warn"} if commercial else {"note"})  # the law, and a manual that warns


@pytest.mark.parametrize("side", ["left", "right"])
def test_an_oblique_pipes_hole_in_the_web(side: str) -> None:
    """Half way through the web, y 428, it is at 128 / 140 of its length: x 500 + 182.86, z 500 + 36.57, 86.6 up. 55.5 deg off square:
    30 / cos + 4 tan = 58.8 mm round."""
    sign = 1 if side == "right" else -1
    a, b = ((x, sign * y, z) for x, y, z in OBLIQUE)
    (found,) = told(through(straight(keep_out=(pipe(a, b),)), side=side), "pipe-through-web")
    off = math.atan2(math.hypot(200, 40), 140)
    assert found.value == f"{30 / math.cos(off) + 4 * math.tan(off):.1f} mm"
    assert "682.9 mm rearward of front" in found.message and "86.6 mm up" in found.message


@pytest.mark.parametrize("side", ["left", "right"])
def test_the_hole_asked_for_on_the_swept_kicked_rail_is_where_the_pipe_is(side: str) -> None:
    """Laid off as the sentence says, its middle, half way through the web of 4, lies on the pipe's middle line: 0.05 in each number."""
    sign = 1 if side == "right" else -1
    a, b = (2100.0, sign * 100.0, 720.0), (2130.0, sign * 500.0, 740.0)
    on, ends = swept(keep_out=(pipe(a, b),)), {"start": Position(x_mm=900), "end": at("rear", -150)}
    (found,) = told(through(on, side=side, **ends), "pipe-through-web")
    own = asked_hole(found)
    with_it: Frame = replace(on, holes=(own,))
    placed = with_it.hole("own", "right" if sign > 0 else "left")
    middle = np.array(placed.point) - 2.0 * np.array(placed.outward)
    assert off_axis(np.array([middle]), a, b)[0] < 0.1
    assert not told(through(with_it, side=side, **ends), "pipe-through-web")


def test_a_pipe_that_ends_in_the_web_or_runs_along_it_is_told_so() -> None:
    """It ends 1 mm past the middle of the web, which lies at y 428: 2 mm of straight pipe are in the web behind it. And 200 rearward for 30
    across: atan 200 / 30 = 81.5 deg off square."""
    (short,) = told(through(straight(keep_out=(pipe(SQUARE[0], (600, 429, 500)),))), "pipe-through-web")
    assert "bends or ends 1.0 mm from there" in short.message
    (far,) = told(through(straight(keep_out=(pipe(*SQUARE),))), "pipe-through-web")
    assert "bends or ends" not in far.message
    (flat,) = told(through(straight(keep_out=(pipe(SQUARE[0], (600, 410, 500), (800, 440, 500)),))), "pipe-through-web")
    assert "81 deg off square" in flat.message and flat.level == "warn"


def test_a_plate_on_the_web_tells_of_the_web_too() -> None:
    on = straight(keep_out=(pipe(*SQUARE),))
    for seat in ("inside", "outside"):
        piece = one(on, seat=seat, openings=(opening("fuel", path="fuel-pipe"),))
        assert told(piece, "pipe-through-web") and not told(piece, "opening-over-web")


def test_both_webs_of_a_closed_rail() -> None:
    """Webs y 426 to 430 and 370 to 374, from the outside in; the box between z 454 and 596."""
    closed = Section(kind="closed", flange_mm=60, web_mm=4, flange_thickness_mm=4, inside_radius_mm=4, open="inboard")
    plate = RailPlate(id="plate", side="right", thickness_mm=3, seat="outside", start=Position(x_mm=200), end=Position(x_mm=1200),
                      front_end="square", rear_end="square", openings=(opening("fuel", path="fuel-pipe"),))  # fmt: skip

    def of(*points: Vec3) -> Piece:
        (piece,) = plate.build(straight(closed, keep_out=(pipe(*points),)))
        return piece

    assert ["second web" in f.message for f in told(of(*SQUARE), "pipe-through-web")] == [False, True]
    assert len(told(of((600, 400, 500), (600, 480, 500)), "pipe-through-web")) == 1
    assert codes(of((600, 400, 500), (600, 480, 500))).count("pipe-ends-behind") == 1
    assert told(of((600, 400, 700), (600, 400, 500), (600, 480, 500)), "pipe-through-flange")
