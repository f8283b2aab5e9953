"""What the tests of the rail plate share: two frames, and what a fabricator would hold a finished plate against."""

from __future__ import annotations

import math
from collections.abc import Callable, Iterator
from dataclasses import replace
from functools import cache
from itertools import pairwise
from typing import Any

import numpy as np
import pytest

from parts.bending import Din6935
from parts.families.rail_plate import RailPlate
from parts.flat import Flat, unfold
from parts.formed import Formed, HoleAxis, formed
from parts.frame import Frame
from parts.frame.course import Course
from parts.frame.crossmember import Crossmember, CrossmemberSection, PlacedCrossmember
from parts.frame.features import FrameHole
from parts.frame.rail import Rail
from parts.frame.section import Section
from parts.outline import Contour
from parts.piece import Piece
from parts.sheet import Vec3
from parts.shop import Shop
from parts.soundness import faults
from parts.spec import Position
from tests.parts.frame.makers import CHANNEL, drawn, frame, station

DEG = math.pi / 180
REFIT_MM = 0.02  #: how near curves that are not plain are refitted, and a stub beside a kick more: see `STUB_MM` of parts/frame/faces.py
STUB_MM = 0.1
CUT_MM = 0.1  #: a bend may cut that far into a corner of the rail that is drawn sharp

BOX = CrossmemberSection(kind="channel", depth_mm=100, width_mm=60, thickness_mm=4, inside_radius_mm=4)


def crossmember(name: str, x: float | None = None, *, drop: float = 20, section: CrossmemberSection = BOX, **more: Any) -> Crossmember:
    return Crossmember(name=name, x_mm=x, section=section, drop_mm=drop, **more)


def hole(name: str, position: Position, up: float, diameter: float = 16, **more: Any) -> FrameHole:
    return FrameHole(name=name, at=position, up_mm=up, diameter_mm=diameter, **more)


def straight(section: Section = CHANNEL, **fields: Any) -> Frame:
    """150 deep, x 0 to 3600, webs at y -430 and 430, upper corner at z 600."""
    return frame(drawn(station("front", 0), station("mid", 1800), station("rear", 3600), section=section), **fields)


# The second frame: at x 1500 the rail turns 8 deg towards the centreline and kicks up 18 deg; over the 1000 mm of x behind it the depth
# tapers from 150 to 100. Along the web those 1000 mm are 1000 / cos 8 deg, less what the arc saves.
TURN, KICK, RADIUS, KICK_RADIUS = 8 * DEG, 18 * DEG, 400.0, 300.0


def swept(
    section: Section = CHANNEL, turn_deg: float = 8.0, radius: float = RADIUS, kick_radius: float = KICK_RADIUS, **fields: Any
) -> Frame:
    run = 1000 / math.cos(turn_deg * DEG)
    # The tape runs along the arc: what the arc saves against its two tangents comes off the run that the slope is laid on.
    saved = radius * math.tan(turn_deg * DEG / 2) - radius * turn_deg * DEG / 2
    rise = (run - saved) * math.tan(KICK)
    y = 430 - 1000 * math.tan(turn_deg * DEG)
    return frame(
        drawn(
            station("front", 0),
            station("bend", 1500, turn=radius, kick=kick_radius),
            station("rear", 2500, y=y, z=600 + rise, depth=100),
            section=section,
        ),
        **fields,
    )


def build(on: Frame, shop: Shop | None = None, **parameters: Any) -> tuple[Piece, ...]:
    """A plate of 3 mm with square ends on the right rail, unless told otherwise."""
    values: dict[str, Any] = {"id": "plate", "side": "right", "thickness_mm": 3, "seat": "toes", "front_end": "square"}
    values |= {"rear_end": "square", "start": Position(x_mm=200), "end": Position(x_mm=1200)} | parameters
    return RailPlate(**values).build(on, shop or Shop())


def one(on: Frame, shop: Shop | None = None, **parameters: Any) -> Piece:
    (piece,) = build(on, shop, **parameters)
    return piece


def flat_of(piece: Piece) -> Flat:
    return unfold(piece.part, Din6935())


@cache
def shape_of(piece: Piece) -> Formed:
    return formed(piece.part)


def axes(piece: Piece) -> dict[str, tuple[np.ndarray, np.ndarray, HoleAxis]]:
    """Hole name -> (point on the back face, unit vector to the seen face, as formed), in vehicle axes."""
    place = piece.placements[0]
    out = {}
    for axis in shape_of(piece).hole_axes:
        point = np.array(place.point(*axis.point))
        out[axis.name] = (point, np.array(place.point(*np.add(axis.point, axis.direction))) - point, axis)
    return out


def box(piece: Piece) -> tuple[Vec3, Vec3]:
    return shape_of(piece).box(piece.placements[0])


def near(value: Any, within: float = 1e-6) -> Any:
    return pytest.approx(value, abs=within)


def codes(piece: Piece) -> list[str]:
    return [f.code for f in piece.findings]


# --- a finished plate against its rail ---


def outline_points(contour: Contour, step_mm: float = 4.0) -> Iterator[tuple[float, float]]:
    for segment in contour.segments:
        count = max(2, math.ceil(segment.length / step_mm))
        yield from (segment.point_at(k / count) for k in range(count))


def steel_points(piece: Piece, z_mm: float, *, edges_only: bool = False) -> Iterator[Vec3]:
    """Points of one face of the plate in vehicle axes: every outline and opening, a grid inside, and across every bend."""
    shape, place = shape_of(piece), piece.placements[0]
    for panel in piece.part.panels:
        at_panel = shape.places[panel.name]
        points = list(outline_points(panel.contour))
        shapes = [h.contour() for h in panel.holes]
        for opening in shapes:
            points += outline_points(opening)
        if not edges_only:
            x0, y0, x1, y1 = panel.contour.box
            grid = ((x0 + (x1 - x0) * (i + 0.5) / 24, y0 + (y1 - y0) * (j + 0.5) / 5) for i in range(24) for j in range(5))
            points += (p for p in grid if panel.contour.contains(p) and not any(s.contains(p) for s in shapes))
        yield from (place.point(*at_panel.point(u, v, z_mm)) for u, v in points)
    for zone in shape.zones:
        for row in shape.strips(zone):
            back = row[:2] if z_mm == 0 else row[2:]
            (ax, ay, az), (bx, by, bz) = back
            for k in range(9):
                f = k / 8
                yield place.point(ax + f * (bx - ax), ay + f * (by - ay), az + f * (bz - az))


def seat_course(rail: Rail, offset_mm: float) -> Course:
    return rail.plan.offset_course(offset_mm)


def off_seat(rail: Rail, course: Course, away: int, point: Vec3) -> float:
    """How far a point stands off a face that is parallel to the web, + on the side the plate is on."""
    return course.project(point[:2])[1] * away * rail.opening_sign


SEAT_OFFSETS: dict[
    str, tuple[Callable[[Section, float, float], float], int]
] = {  # the plate's back face from the web's outside, and the side the plate is on, as the words say it
    "toes": (lambda s, t, step: s.flange_mm, 1),
    "flush": (lambda s, t, step: s.flange_mm - t, 1),
    "stepped": (lambda s, t, step: s.flange_mm - step - t, 1),
    "outside": (lambda s, t, step: 0.0, -1),
    "inside": (lambda s, t, step: s.web_mm, 1),
}


def check_piece(piece: Piece, plate: RailPlate, on: Frame, shop: Shop) -> None:
    """Sound, unfolds, folds; against its seat and nowhere in the rail's steel; between the flanges; clear of every crossmember."""
    assert faults(piece.part) == []
    unfold(piece.part, shop.bend_rule())
    assert piece.side in ("left", "right")
    rail = on.rail("left" if piece.side == "left" else "right")
    offset_of, away = SEAT_OFFSETS[plate.seat]
    offset = offset_of(rail.section, plate.thickness_mm, plate.step_mm)
    course = seat_course(rail, offset)
    stepped = max((float(f.value.split()[0]) for f in piece.findings if f.code == "flange-step-at-turn"), default=0.0)
    past_end = any(f.code == "past-rail-end" for f in piece.findings)
    for point in steel_points(piece, 0.0):
        gap = off_seat(rail, course, away, point)
        assert -CUT_MM - 1e-6 <= gap <= shop.weld_gap_mm + CUT_MM + REFIT_MM, f"{piece.id}: {gap:.3f} mm off its seat at {point}"
        s, z, _ = rail.szo(point)
        if not (past_end and not 0 <= s <= rail.length_s_mm):
            _between_flanges(rail, plate.seat, s, z, piece, on_back=True, step=stepped)
    for point in steel_points(piece, plate.thickness_mm, edges_only=True):
        assert off_seat(rail, course, away, point) >= plate.thickness_mm - CUT_MM - 1e-6 - shop.weld_gap_mm
        s, z, _ = rail.szo(point)
        if 0 <= s <= rail.length_s_mm:
            _between_flanges(rail, plate.seat, s, z, piece, on_back=False, step=stepped)
    inboard = (away > 0) == (rail.section.open == "inboard")
    if inboard:
        for cm in on.placed_crossmembers:
            _clear_of(piece, cm, plate.thickness_mm, shop.root_gap_mm)


def _between_flanges(rail: Rail, seat: str, s: float, z: float, piece: Piece, on_back: bool, step: float) -> None:
    """Never through a flange; on the toes never past its outer face (a hat's lips: past their edge)."""
    section = rail.section
    inset = {
        "toes": -section.lip_mm,
        "flush": section.flange_thickness_mm,
        "stepped": section.flange_thickness_mm,
        "outside": section.inside_radius_mm + section.web_mm if section.inside_radius_mm else 0.0,
        "inside": section.flange_thickness_mm + section.inside_radius_mm,
    }[seat]
    slack = REFIT_MM + STUB_MM if on_back else 1.0  # the seen face is a thickness further off the web, along a turn that is a slope's dz
    if rail.plan.course.corners:  # at a mitre on a slope the flanges, as drawn, do not meet: told from half a millimetre up
        slack += max(step, 0.5)
    low, high = rail.profile.lower_z(s, inset), rail.profile.upper_z(s, inset)
    assert low - slack <= z <= high + slack, f"{piece.id}: z {z:.2f} outside {low:.2f} to {high:.2f} at s {s:.1f}"


def _clear_of(piece: Piece, cm: PlacedCrossmember, t: float, gap: float) -> None:
    """Half the gap at least everywhere, also at a crossmember's sharp corners and through the plate's whole thickness."""
    x0, x1, z0, z1 = cm.box
    section = cm.drawn.section
    tube = cm.kind == "tube"
    # Only a box is round at all its corners: the toes of a channel and the lips of a hat are cut square.
    corner = section.inside_radius_mm + section.thickness_mm if cm.kind == "closed" and section.inside_radius_mm else 0.0
    for z_mm in (0.0, t):
        for x, _, z in steel_points(piece, z_mm):
            if tube:
                near = math.hypot(x - (x0 + x1) / 2, z - (z0 + z1) / 2) - (z1 - z0) / 2
            else:
                dx, dz = max(x0 - x, x - x1) + corner, max(z0 - z, z - z1) + corner
                near = (math.hypot(max(dx, 0.0), max(dz, 0.0)) if max(dx, dz) > 0 else max(dx, dz)) - corner
            assert near >= gap / 2 - 1e-6, f"{piece.id}: {near:.3f} mm from {cm.name} at ({x:.2f}, {z:.2f})"


def weld_samples(line: tuple[Vec3, ...]) -> Iterator[Vec3]:
    for a, b in pairwise(line):
        for k in range(11):
            f = k / 10
            yield a[0] + f * (b[0] - a[0]), a[1] + f * (b[1] - a[1]), a[2] + f * (b[2] - a[2])


def moved(position: Position, by: float) -> Position:
    return replace(position, offset_mm=position.offset_mm + by)
