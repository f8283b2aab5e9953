"""One suite over every family: flat pattern, folding and solid are three independent computations, held against each other here.

The volume law is Pappus' second theorem (volume swept by a plane figure = its area times the way of its centroid) applied to a bend:
w theta ((r + t)^2 - r^2) / 2 of steel, where the flat has w theta (r + K t) t. Worked cases are worked by hand in their own module.
"""

from __future__ import annotations

from collections.abc import Iterator
from pathlib import Path

import numpy as np
import pytest

from generator.kernel.messages import BuiltSolid, Colour
from generator.kernel.service import Kernel
from parts.bending import Din6935, KFactor
from parts.families import FAMILIES
from parts.flat import Flat, unfold
from parts.formed import Formed, formed
from parts.piece import Piece
from parts.segment import Transform
from parts.sheet import Bend, SheetPart
from parts.soundness import faults
from tests.families.cases import FRAMES, JOBS, PAIRS, made
from tests.reference.step_readers import read_step

STEEL = Colour(red=0.4, green=0.45, blue=0.5)


@pytest.fixture(scope="module")
def kernel() -> Iterator[Kernel]:
    with Kernel.start() as started:
        yield started


def test_there_are_three_frames_and_a_job() -> None:
    assert len(FRAMES) == 3
    assert JOBS


@pytest.mark.parametrize(("job", "frame"), PAIRS)
def test_volume_law_and_hole_axes_from_the_step_file(job: str, frame: str, kernel: Kernel, tmp_path: Path) -> None:
    _, kit = made(job, frame)
    for piece, flat in zip(kit.pieces, kit.flats, strict=True):
        path = tmp_path / f"{piece.id}.step"
        solid = kernel.build(piece.part, path, name=piece.id, colour=STEEL)
        assert isinstance(solid, BuiltSolid), f"{piece.id}: {solid}"
        off = solid.volume_mm3 / flat.volume_mm3 - 1
        assert abs(off) < 1e-9, f"{piece.id}: {solid.volume_mm3} by the kernel, {flat.volume_mm3} by Pappus"
        _same_axes(piece, path)


def _same_axes(piece: Piece, path: Path) -> None:
    """Every round hole of the pure folding is a cylinder of the file, as a reader without a kernel finds it, to 1e-6 mm."""
    contents = read_step(path)
    assert contents.length_units == {"MILLI METRE"} or all("milli" in u.lower() for u in contents.length_units), contents.length_units
    found = contents.cylinders[piece.id]
    for axis in formed(piece.part).hole_axes:
        if axis.kind == "round":
            here = [c for c in found if c.is_about(axis.point, axis.direction, axis.diameter_mm / 2, 1e-6)]
            assert here, f"{piece.id}: {axis.name} at {axis.point} is not in the file"


@pytest.mark.parametrize(("job", "frame"), PAIRS)
def test_nothing_unsound_is_accepted(job: str, frame: str) -> None:
    _, kit = made(job, frame)
    assert [str(f) for p in kit.pieces for f in faults(p.part)] == []


@pytest.mark.parametrize(("job", "frame"), PAIRS)
def test_distances_along_each_bend_line_are_equal_flat_and_formed(job: str, frame: str) -> None:
    """A mirrored leg, or one slid along its bend, changes them."""
    _, kit = made(job, frame)
    for piece in kit.pieces:
        for k in (0.33, 0.5):
            _isometric(piece.part, unfold(piece.part, KFactor(value=k)))


def _isometric(part: SheetPart, flat: Flat) -> None:
    shape = formed(part)
    for bend in part.bends:
        zone = next(z for z in shape.zones if z.bend == bend)
        along_flat = _flat_direction(part, bend, flat)
        flat_points = {n: flat_corners(part, n, flat) for n in (bend.parent, bend.child)}
        flat_at = [p @ along_flat for n in (bend.parent, bend.child) for p in flat_points[n]]
        axis = np.array(zone.axis_direction)
        formed_at = [q @ axis for n in (bend.parent, bend.child) for q in _formed_corners(part, n, shape)]
        shift = flat_at[0] - formed_at[0]
        assert max(abs(f - s - shift) for f, s in zip(flat_at, formed_at, strict=True)) < 1e-9, f"{part.name}: {bend.child}"


def flat_places(part: SheetPart, flat: Flat) -> dict[str, Transform]:
    """Each panel's place in the flat, found from the flat contour alone: its own corners are among the flat's, in order."""
    from parts.flat import ordered

    places = {part.panels[0].name: Transform()}
    panels = {p.name: p for p in part.panels}
    widths = {b.name: b.width_mm for b in flat.bends}
    for bend in ordered(part):
        edge = panels[bend.parent].contour.segments[bend.edge]
        d = ((edge.b[0] - edge.a[0]) / edge.chord, (edge.b[1] - edge.a[1]) / edge.chord)
        width = widths[f"{bend.parent}/{bend.child}"]
        origin = (edge.b[0] - d[0] * bend.offset_mm + d[1] * width, edge.b[1] - d[1] * bend.offset_mm - d[0] * width)
        places[bend.child] = Transform.frame(origin, (-d[0], -d[1])).then(places[bend.parent])
    return places


def flat_corners(part: SheetPart, name: str, flat: Flat) -> list[np.ndarray]:
    place = flat_places(part, flat)[name]
    panel = next(p for p in part.panels if p.name == name)
    corners = [np.array(place.apply(p)) for p in panel.contour.points]
    for corner in corners:  # that they are where the flat pattern has its steel is what is being relied on
        place_in_flat = (float(corner[0]), float(corner[1]))
        assert flat.contour.distance(place_in_flat) < 1e-6 or flat.contour.contains(place_in_flat)
    return corners


def _flat_direction(part: SheetPart, bend: Bend, flat: Flat) -> np.ndarray:
    place = flat_places(part, flat)[bend.child]
    return np.array(place.direction((1.0, 0.0)))


def _formed_corners(part: SheetPart, name: str, shape: Formed) -> list[np.ndarray]:
    panel = next(p for p in part.panels if p.name == name)
    return [np.array(shape.places[name].point(u, v)) for u, v in panel.contour.points]


@pytest.mark.parametrize("family", FAMILIES)
def test_worked_case(family: str, kernel: Kernel, tmp_path: Path) -> None:
    """The full outside box and signed hole positions of one case worked by hand, in the pure folding and in the kernel's file."""
    case = FAMILIES[family].worked()
    piece = next(p for p in case.pieces if p.id == case.piece)
    shape, place = formed(piece.part), piece.placements[0]
    low, high = shape.box(place)
    assert low == pytest.approx(case.box_low, abs=0.01), case.arithmetic
    assert high == pytest.approx(case.box_high, abs=0.01), case.arithmetic
    axes = {a.name: a for a in shape.hole_axes}
    assert case.holes, "a worked case has at least one hole"
    for name, centre in case.holes.items():
        axis = axes[name]
        point = np.array(place.point(*axis.point))
        along = np.array(place.point(*np.add(axis.point, axis.direction))) - point
        off = np.array(centre) - point
        assert np.linalg.norm(off - (off @ along) * along) < 1e-6, f"{name}: {point}, by hand {centre}"
    if case.flat_mm is not None:
        x0, y0, x1, y1 = unfold(piece.part, Din6935()).contour.box
        assert sorted((x1 - x0, y1 - y0)) == pytest.approx(sorted(case.flat_mm), abs=0.005)
    solid = kernel.build(piece.part, tmp_path / "worked.step", name=piece.id, colour=STEEL)
    assert isinstance(solid, BuiltSolid)
    corners = [place.point(*c) for c in _box_corners(solid.box)]
    if not piece.part.bends:
        assert [min(c[i] for c in corners) for i in range(3)] == pytest.approx(case.box_low, abs=0.01)
        assert [max(c[i] for c in corners) for i in range(3)] == pytest.approx(case.box_high, abs=0.01)


def _box_corners(box: tuple[tuple[float, float, float], tuple[float, float, float]]) -> list[tuple[float, float, float]]:
    (a, b, c), (d, e, f) = box
    return [(x, y, z) for x in (a, d) for y in (b, e) for z in (c, f)]


@pytest.mark.parametrize(("job", "frame"), PAIRS)
def test_picked_up_holes_lie_over_the_frames_own(job: str, frame: str) -> None:
    """Along the web's normal through the frame's hole, worked out here from the frame's stations alone."""
    read, kit = made(job, frame)
    count = 0
    for piece in kit.pieces:
        if piece.family not in ("rail_plate", "mount_pad") or piece.side not in ("left", "right"):
            continue
        own = {h.name: h for h in read.frame.holes_on(piece.side)}
        place = piece.placements[0]
        for axis in formed(piece.part).hole_axes:
            name = axis.name.removeprefix("clear-")
            if name not in own:
                continue
            count += 1
            hole = own[name]
            point = np.array(place.point(*axis.point))
            away = point - np.array(hole.point)
            outward = np.array(hole.outward)
            assert np.linalg.norm(away - (away @ outward) * outward) < 1e-6, f"{piece.id}: {axis.name}"
            assert abs(away[2]) < 1e-9
    picking = [part for part in read.job.parts if part.FAMILY in ("rail_plate", "mount_pad") and part.pick_up]
    wanted = sum(len(part.pick_up) * len(part.sides) for part in picking)
    assert count >= wanted >= (2 if picking else 0)
