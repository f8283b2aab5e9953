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
from generator.fit.frame_found import built_on
from generator.kernel.messages import BuiltSolid, Colour
from generator.kernel.service import Kernel
from generator.survey.stage import survey
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


def as_surveyed() -> Frame:
    """The mill pickup by its own readings: sections too, some toes of which stand away by up to 1 mm."""
    drawn = demo_frame("mill-pickup")
    found = survey(drawn)
    return built_on(drawn, found.points, found.section_readings, found.sigmas, found.off_drawing, read=True).frame


FOUND = as_measured()
FRAMES = {"invented": FOUND, "by its readings": as_surveyed()}
SHOP = Shop()
PLATES = {
    "front": RailPlate(id="front", thickness_mm=3, seat="stepped", start=at("front", 200), end=at("front-axle", 500)),
    "through the kick": RailPlate(id="kick", thickness_mm=3, seat="stepped", start=at("mid", 50), end=at("kick-top", 300)),
    "flush": RailPlate(id="flush", thickness_mm=4, seat="flush", start=at("rear-axle", 50), end=at("rear", -100), front_end="square"),
}


def flange(rail_line: Line, rail: Any, up: bool) -> Any:
    """300 mm of steel over (or under) a flange's inner face, as long as the rail, from the web's inside to the toes as they stand away."""
    from cadquery import Edge, Solid, Vector, Wire

    section, found = rail.section, rail.found.section
    away = found.upper_away if up else found.lower_away
    nx, ny, _ = rail.normal(0.0)

    def wire(out: float, share: float) -> Any:
        def at_(p: tuple[float, float], lean: bool = True) -> Any:
            x, q, _ = rail.point(p[0], p[1])
            return Vector(x + nx * out, q + ny * out, p[1] + (share * away.at(p[0]) if lean else 0.0) * (1 if up else -1))

        edges = []
        for segment in rail_line.segments:
            a, b = at_(segment.a), at_(segment.b)
            edges.append(Edge.makeLine(a, b) if segment.is_line else Edge.makeThreePointArc(a, at_(segment.point_at(0.5)), b))
        first, last = rail_line.points[0], rail_line.points[-1]
        far = first[1] + (300.0 if up else -300.0)  # level, clear of what the kick climbs
        corners = [at_(last), at_((last[0], far), lean=False), at_((first[0], far), lean=False), at_(first)]
        edges += [Edge.makeLine(p, q) for p, q in pairwise(corners)]
        return Wire.assembleEdges(edges)

    made = Solid.makeLoft([wire(section.web_mm, 0.0), wire(section.flange_mm, 1.0)], ruled=True)
    assert made.isValid()
    return made


def read_back(kernel: Kernel, piece: Piece, folder: Path) -> Any:
    """The exported solid, laid where its placement says."""
    from cadquery import Plane, importers

    path = folder / f"{piece.id}.step"
    built = kernel.build(piece.part, path, name=piece.id, colour=GREY)
    assert isinstance(built, BuiltSolid), built
    place = piece.placements[0]
    return importers.importStep(str(path)).val().moved(Plane(origin=place.origin, xDir=place.u, normal=place.normal).location)


def slice_gap(plate: Any, steel: Any, gap: Gap) -> float:
    """From 0.01 mm of the plate at the gap's place to the flange, or where the kernel cannot cut it out, from the plate to 0.01 mm of the
    flange; beside the place where a shifted corner leaves nothing there."""
    from cadquery import Solid, Vector

    assert gap.place is not None
    x, y, z = gap.place.point
    for aside in (0.0, 0.6, -0.6, 1.5, -1.5):
        slab = Solid.makeBox(0.01, 600, 800, Vector(x + aside - 0.005, y - 300, z - 400))
        for whole, other in ((plate, steel), (steel, plate)):
            cut = whole.intersect(slab)
            if cut.Faces() and (found := float(cut.distance(other))) < 20.0:
                return found
    raise AssertionError(f"no steel at {gap.place.point}")


def gaps_of(gaps: tuple[Gap, ...]) -> dict[str, Gap]:
    return {g.what: g for g in gaps if g.is_root}


def flanges_of(frame: Frame, side: RailSide) -> dict[str, Any]:
    rail = frame.rail(side)
    t = rail.section.flange_thickness_mm
    return {"upper": flange(rail.profile.upper_path(t), rail, True), "lower": flange(rail.profile.lower_path(t), rail, False)}


@pytest.mark.parametrize("on", FRAMES)
@pytest.mark.parametrize("name", PLATES)
def test_one_sides_shape_on_the_other_side(name: str, on: str, kernel: Kernel, tmp_path: Path) -> None:
    plate, frame = PLATES[name], FRAMES[on]
    left, right = plate.build(frame, SHOP)
    bounds = {side: rail_plate_bounds(plate, frame, SHOP, side) for side in SIDES}
    pair = pair_of(left, right, bounds, SHOP)
    own, shape = (right, left) if pair.on == "right" else (left, right)
    tried = reshaped(own, shape, pair.fit, SHOP, frame.rail(pair.on))
    solid, steel = read_back(kernel, tried, tmp_path), flanges_of(frame, pair.on)
    told = gaps_of(pair.fit.edges)
    assert set(told) == {"upper", "lower"}
    for edge, gap in told.items():
        if gap.mm > 0.05:  # where it reaches into the flange there is no distance
            assert slice_gap(solid, steel[edge], gap) == pytest.approx(gap.mm, abs=WITHIN_MM), f"{name} {edge}"
    assert any(gap.mm > 0.05 for gap in told.values()) or not pair.serves_both


@pytest.mark.parametrize("on", FRAMES)
@pytest.mark.parametrize("name", PLATES)
@pytest.mark.parametrize("side", SIDES)
def test_a_plate_on_its_own_rail(side: RailSide, name: str, on: str, kernel: Kernel, tmp_path: Path) -> None:
    """It goes in at the tightest place of its length, so it has more room elsewhere, and is shifted to balance that."""
    plate, frame = PLATES[name], FRAMES[on]
    piece = next(p for p in plate.build(frame, SHOP) if p.side == side)
    setting = setting_of(plate, frame, SHOP, side)
    own = on_own(piece, side, bounds_of(setting), SHOP, root=True)
    laid = LaidFlat.of(piece, SHOP.bend_rule())
    by = laid.to_rear.then(place_of(laid, laid, own.fit.shift)).then(laid.to_rear.inverse())
    moved = replace(piece, placements=(moved_in_plane(piece.placements[0], by),))
    solid, steel = read_back(kernel, moved, tmp_path), flanges_of(frame, side)
    gaps = gaps_of(own.fit.edges)
    assert set(gaps) == {"upper", "lower"} and all(gap.mm > 0.05 for gap in gaps.values())
    for edge, gap in gaps.items():
        assert slice_gap(solid, steel[edge], gap) == pytest.approx(gap.mm, abs=WITHIN_MM), f"{side} {edge}"
