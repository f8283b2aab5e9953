"""Every demo job on every demo frame as it might be found: bowed, twisted, sagging, longer and shallower than drawn.

What a fabricator would hold the parts against on the real frame: they can be made, their holes meet the rail's own holes where those
lie now, what is to be drilled lies on the web, and seats of a pair are level and at one height.
"""

from __future__ import annotations

import random
from functools import cache

import numpy as np
import pytest

from generator.kit import Kit, build
from generator.rules.judge import judge
from parts.formed import formed
from parts.frame import Frame
from parts.frame.found import as_found
from parts.frame.measured import SectionReading
from parts.frame.placing import SIDES
from parts.piece import Piece
from parts.soundness import faults
from tests.families.cases import PAIRS, made
from tests.parts.frame.makers import at, demo_frame

PLACE_MM = 1e-6


@cache
def found(name: str) -> Frame:
    """One invented frame for each: seeded, so that it is the same in every run."""
    on, dice = demo_frame(name), random.Random(name)
    points = {}
    for key, (x, y, z) in on.control_coordinates.items():
        twist = 0.003 * x if key.endswith("right") else 0.0
        out = (0.001 * x + dice.uniform(0, 1.5)) * (1 if y > 0 else -1)
        points[key] = (x * 1.0004 + dice.uniform(-1, 1), y + out, z + twist + dice.uniform(-3, 3))
    sections = []
    for side in SIDES:
        rail = on.rail(side)
        for offset in (-900.0, -300.0, 400.0):
            depth = rail.profile.depth_at_tape(rail.places["mid"] + offset) + dice.uniform(-0.6, 0.6)
            sections.append(SectionReading(name=f"{side}{offset:g}", side=side, at=at("mid", offset), depth_mm=depth))
    return as_found(on, points, sections)


@cache
def kit_on(job: str, frame: str) -> tuple[Kit, Frame]:
    read, _ = made(job, frame)
    on = found(frame)
    return build(read.job.parts, on, read.job.shop), on


@pytest.mark.parametrize(("job", "frame"), PAIRS)
def test_every_part_can_be_made_and_judged(job: str, frame: str) -> None:
    kit, on = kit_on(job, frame)
    read, drawn = made(job, frame)
    assert {p.family for p in kit.pieces} == {p.family for p in drawn.pieces}
    for piece in kit.pieces:
        assert faults(piece.part) == [], piece.id
    judge(kit.pieces, kit.flats, on, read.job.shop)


@pytest.mark.parametrize(("job", "frame"), PAIRS)
def test_only_turns_of_the_drawing_are_bent(job: str, frame: str) -> None:
    """Rail plates have the bends, to the angle, that they have on the frame as drawn."""
    kit, _ = kit_on(job, frame)
    _, drawn = made(job, frame)
    likes = {p.id: p for p in drawn.pieces}
    for piece in kit.pieces:
        if piece.family == "rail_plate":
            like = likes[piece.id]
            assert [b.angle_deg for b in piece.part.bends] == pytest.approx([b.angle_deg for b in like.part.bends], abs=1e-6), piece.id


def test_holes_meet_the_rails_own_holes_as_found() -> None:
    """A hole called like one of the rail's lies on its axis; so does one that goes round a rivet's head."""
    met = 0
    for job, frame in PAIRS:
        kit, on = kit_on(job, frame)
        for piece in kit.pieces:
            if piece.family != "rail_plate" or piece.side not in ("left", "right"):
                continue
            met += _held(piece, on)
    assert met > 50


def _held(piece: Piece, on: Frame) -> int:
    assert piece.side in ("left", "right")
    place, count = piece.placements[0], 0
    own = {h.name: h for h in on.holes_on(piece.side, face="web")}
    for axis in formed(piece.part).hole_axes:
        name = axis.name.removeprefix("clear-")
        if name not in own:
            continue
        point = np.array(place.point(*axis.point))
        way = np.array(place.point(*np.add(axis.point, axis.direction))) - point
        off = np.array(own[name].point) - point
        aside = off - (off @ way) * way
        assert np.linalg.norm(aside) < PLACE_MM, f"{piece.id} {axis.name}: {np.linalg.norm(aside)}"
        count += 1
    return count


@pytest.mark.parametrize(("job", "frame"), PAIRS)
def test_what_is_drilled_lies_on_the_web_at_the_height_that_is_told(job: str, frame: str) -> None:
    kit, on = kit_on(job, frame)
    for piece in kit.pieces:
        for drilling in piece.drilling:
            if drilling.face != "web":
                continue
            rail = on.rail("left" if drilling.rail.endswith("left") else "right")
            s, z, offset = rail.szo(drilling.point)
            tape, up = rail.profile.tape_and_up(s, z)
            assert min(abs(offset), abs(offset - rail.thickness_mm)) < 1e-6, drilling.name
            assert up == pytest.approx(drilling.up_mm, abs=1e-3) and tape - rail.places[drilling.datum] == pytest.approx(
                drilling.along_mm, abs=1e-3
            )


@pytest.mark.parametrize(("job", "frame"), PAIRS)
def test_a_pair_of_seats_is_level_and_at_one_height(job: str, frame: str) -> None:
    kit, _ = kit_on(job, frame)
    heights: dict[str, set[float]] = {}
    for piece in kit.pieces:
        if piece.family == "crossmember_bracket":
            for seat in piece.seats:
                assert abs(seat.normal[2]) == pytest.approx(1.0, abs=1e-12)
                heights.setdefault(seat.name, set()).update(round(p[2], 6) for p in seat.points)
    assert all(len(zs) == 1 for zs in heights.values()), heights
