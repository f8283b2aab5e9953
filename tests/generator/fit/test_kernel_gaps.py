"""The gaps that are printed, against those between solids: least distance by the kernel, from STEP files, to 0.01 mm.

The plate's STEP file is the one that the program writes. The flanges are built here from the rail's own lines and arcs.
"""

from __future__ import annotations

from collections.abc import Iterator
from dataclasses import replace
from itertools import pairwise
from pathlib import Path
from typing import Any

import pytest

from generator.fit.edges import on_own, pair_of, rail_plate_bounds
from generator.kernel.messages import BuiltSolid, Colour
from generator.kernel.service import Kernel
from parts.families.rail_plate import RailPlate
from parts.features.edge_gaps import bounds_of
from parts.features.plate import setting_of
from parts.features.shared import moved_in_plane, reshaped
from parts.frame import Frame
from parts.frame.found import as_found
from parts.frame.measured import SectionReading
from parts.frame.section import RailSide
from parts.laid_flat import LaidFlat
from parts.one_shape import place_of
from parts.outline import Path as Line
from parts.piece import Piece
from parts.shape_gaps import Gap
from parts.shop import Shop
from tests.parts.frame.makers import at, demo_frame

WITHIN_MM = 0.01
GREY = Colour(red=0.4, green=0.45, blue=0.5)
SIDES: tuple[RailSide, RailSide] = ("left", "right")


@pytest.fixture(scope="module")
def kernel() -> Iterator[Kernel]:
    with Kernel.start() as started:
        yield started


def as_measured() -> Frame:
    """The mill pickup, invented: the right rail sags 4 mm in its middle and climbs 6 mm at its rear, both are a little longer than drawn;
    one opening of the left rail is 1 mm tight."""
    on = demo_frame("mill-pickup")
    sag = {"cp-pin-front-right": -4.0, "cp-pin-rear-right": 1.5, "cp-rear-right": 6.0, "cp-pin-front-left": -1.0}
    points = {k: (x + 0.0006 * x, y + (1.0 if "pin" in k else 0.0), z + sag.get(k, 0.0)) for k, (x, y, z) in on.control_coordinates.items()}
    depths: dict[RailSide, dict[float, float]] = {"left": {800: 140.0, 1400: 139.0, 2900: 140.2}, "right": {900: 141.0, 2500: 140.4}}
    sections = [
        SectionReading(name=f"{side}-{x:g}", side=side, at=at("front", x), depth_mm=d) for side in SIDES for x, d in depths[side].items()
    ]
    return as_found(on, points, sections)


FOUND = as_measured()
SHOP = Shop()
PLATES = {
    "front": RailPlate(id="front", thickness_mm=3, seat="stepped", start=at("front", 200), end=at("front-axle", 500)),
    "through the kick": RailPlate(id="kick", thickness_mm=3, seat="stepped", start=at("mid", 50), end=at("kick-top", 300)),
    "flush": RailPlate(id="flush", thickness_mm=4, seat="flush", start=at("rear-axle", 50), end=at("rear", -100), front_end="square"),
}


def flange(rail_line: Line, rail: Any, up: bool) -> Any:
    """30 mm of steel over (or under) a flange's inner face, as long as the rail, from the web's back to the toes."""
    from cadquery import Edge, Face, Solid, Vector, Wire

    def at_(p: tuple[float, float]) -> Any:
        x, q, _ = rail.point(p[0], p[1])
        return Vector(x, q, p[1])

    edges = []
    for segment in rail_line.segments:
        a, b = at_(segment.a), at_(segment.b)
        edges.append(Edge.makeLine(a, b) if segment.is_line else Edge.makeThreePointArc(a, at_(segment.point_at(0.5)), b))
    first, last = rail_line.points[0], rail_line.points[-1]
    far = 30.0 if up else -30.0
    corners = [last, (last[0], last[1] + far), (first[0], first[1] + far), first]
    edges += [Edge.makeLine(at_(p), at_(q)) for p, q in pairwise(corners)]
    nx, ny, _ = rail.normal(0.0)
    return Solid.extrudeLinear(Face.makeFromWires(Wire.assembleEdges(edges)), Vector(nx, ny, 0.0) * rail.section.flange_mm)


def read_back(kernel: Kernel, piece: Piece, folder: Path) -> Any:
    """The exported solid, laid where its placement says."""
    from cadquery import Plane, importers

    path = folder / f"{piece.id}.step"
    built = kernel.build(piece.part, path, name=piece.id, colour=GREY)
    assert isinstance(built, BuiltSolid), built
    place = piece.placements[0]
    return importers.importStep(str(path)).val().moved(Plane(origin=place.origin, xDir=place.u, normal=place.normal).location)


def slice_gap(plate: Any, steel: Any, gap: Gap) -> float:
    """From the plate, where it is cut across at the gap's place, to the flange."""
    from cadquery import Face, Vector

    assert gap.place is not None
    x, y, z = gap.place.point
    plane = Face.makePlane(400, 400, basePnt=Vector(x, y, z), dir=Vector(1, 0, 0))
    return float(plate.intersect(plane).distance(steel))


def gaps_of(gaps: tuple[Gap, ...]) -> dict[str, Gap]:
    return {g.what: g for g in gaps if g.what in ("upper", "lower")}


def flanges_of(frame: Frame, side: RailSide) -> dict[str, Any]:
    rail = frame.rail(side)
    t = rail.section.flange_thickness_mm
    return {"upper": flange(rail.profile.upper_path(t), rail, True), "lower": flange(rail.profile.lower_path(t), rail, False)}


@pytest.mark.parametrize("name", PLATES)
def test_one_sides_shape_on_the_other_side(name: str, kernel: Kernel, tmp_path: Path) -> None:
    plate = PLATES[name]
    left, right = plate.build(FOUND, SHOP)
    bounds = {side: rail_plate_bounds(plate, FOUND, SHOP, side) for side in SIDES}
    pair = pair_of(left, right, bounds, SHOP)
    own, shape = (right, left) if pair.on == "right" else (left, right)
    tried = reshaped(own, shape, pair.fit, SHOP, FOUND.rail(pair.on))
    solid, steel = read_back(kernel, tried, tmp_path), flanges_of(FOUND, pair.on)
    told = gaps_of(pair.fit.edges)
    assert set(told) == {"upper", "lower"}
    for edge, gap in told.items():
        if gap.mm > 0.05:  # where it reaches into the flange there is no distance
            assert slice_gap(solid, steel[edge], gap) == pytest.approx(gap.mm, abs=WITHIN_MM), f"{name} {edge}"
    assert any(gap.mm > 0.05 for gap in told.values())


@pytest.mark.parametrize("side", SIDES)
def test_a_plate_on_its_own_rail(side: RailSide, kernel: Kernel, tmp_path: Path) -> None:
    """The left one goes into an opening that is 1 mm tight at one place, so it has more room elsewhere; both are shifted to balance."""
    plate = PLATES["front"]
    piece = next(p for p in plate.build(FOUND, SHOP) if p.side == side)
    setting = setting_of(plate, FOUND, SHOP, side)
    own = on_own(piece, side, bounds_of(setting), SHOP, root=True)
    laid = LaidFlat.of(piece, SHOP.bend_rule())
    by = laid.to_rear.then(place_of(laid, laid, own.fit.shift)).then(laid.to_rear.inverse())
    moved = replace(piece, placements=(moved_in_plane(piece.placements[0], by),))
    solid, steel = read_back(kernel, moved, tmp_path), flanges_of(FOUND, side)
    for edge, gap in gaps_of(own.fit.edges).items():
        assert slice_gap(solid, steel[edge], gap) == pytest.approx(gap.mm, abs=WITHIN_MM), f"{side} {edge}"
