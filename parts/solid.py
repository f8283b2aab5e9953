"""From a sheet part to a solid: every panel a prism, every bend zone a sector of a cylinder, joined into one valid solid.

Neither the flat pattern nor the pure folding has a hand in it: the panels are placed here by the kernel's own transformations, from the
tree alone, so that the three can be held against each other. Everything is checked before the kernel sees it. Nothing heavy is imported
before a solid is asked for, and cadquery itself only where its own type is handed out: half of its load time is for viewers.
"""

from __future__ import annotations

import math
from collections.abc import Callable, Sequence
from itertools import combinations, pairwise
from typing import Any

from parts.bend_zone import BendZone
from parts.buildable import KernelMissing, broken, in_pieces, invalid, overlapping, refuse_unusable, refuse_unusable_body
from parts.errors import BadInput
from parts.frame.bodies import Body, Cylinder
from parts.holes import Hole
from parts.hulls import Rows, panel_hull, zone_hull
from parts.outline import Point
from parts.segment import Segment
from parts.sheet import Panel, Placement, SheetPart, Vec3
from parts.skin import Drill, Skin, skin_of

#: How far a solid's volume may be from the sum of its panels and bend zones, relative.
VOLUME_TOLERANCE = 1e-9
#: Pieces with less than this between them, other than a bend and its panels, are joined the slow way, which finds out if they overlap.
APART_MM = 1e-4

def load_kernel() -> None:
    """Import the kernel now rather than at the first solid.

    Raises:
        KernelMissing: a library of the system, or the kernel itself, is not installed.
    """
    try:
        import OCP.gp  # noqa: F401
    except ImportError as error:
        raise KernelMissing(error) from error


def solid(part: SheetPart) -> Any:
    """The formed part as a `cadquery.Solid` in the coordinates of its root panel, mm: one solid, valid, no overlap.

    Raises:
        BadInput: the part cannot be built; the faults name the part, the feature and the values.
        KernelMissing: see `load_kernel`.
    """
    made = shape(part)
    if not is_valid(made):
        raise invalid(f"part {part.name}")
    try:
        import cadquery
    except ImportError as error:
        raise KernelMissing(error) from error
    return cadquery.Solid(made)


def shape(part: SheetPart) -> Any:
    """The formed part as the kernel's own `TopoDS_Solid`, in the coordinates of its root panel, mm: one solid, no overlap.

    The kernel's validity check costs as much as all the rest on a plate with many holes, and is left to the caller (`is_valid`).

    Raises:
        BadInput, KernelMissing: as `solid`.
    """
    refuse_unusable(part)
    load_kernel()
    zones = [BendZone.of(part, b) for b in part.bends]
    frames = _frames(part, zones)
    pieces: list[Any] = []
    expected = 0.0
    for panel in part.panels:
        plate = _guarded(part, f"panel {panel.name}", "", lambda panel=panel: _plate(panel, part.thickness_mm))  # type: ignore[misc]
        pieces.append(_moved(plate, frames[panel.name]))
        expected += part.thickness_mm * (panel.contour.area - sum(h.contour().area for h in panel.holes))
    for zone in zones:
        values = f", angle {zone.bend.angle_deg:g} deg, inside radius {zone.bend.inside_radius_mm:g} mm"
        sector = _guarded(part, zone.feature, values, lambda zone=zone: _revolved(zone) if zone.equal else _ruled(zone))  # type: ignore[misc]
        pieces.append(_moved(sector, frames[zone.bend.parent].Multiplied(placement_trsf(zone.place))))
        expected += zone.volume_mm3
    return _guarded(part, "panels and bends", "", lambda: _joined(part, pieces, _only_touch(part, zones, frames), expected))


def body_shape(body: Body) -> Any:
    """A body of the frame as a `TopoDS_Solid` in vehicle axes, mm. To look at and to keep clear of; nothing is measured on its arcs.

    Raises:
        BadInput: its points are not finite or the kernel makes no one solid of it.
        KernelMissing: see `load_kernel`.
    """
    refuse_unusable_body(body)
    load_kernel()
    skin = skin_of(body)
    try:
        solids = solids_of(_cut(_skinned(skin), skin.cuts))
    except Exception as error:
        raise broken(f"frame {body.name}", "solid", "", error) from error
    if len(solids) != 1:
        raise in_pieces(f"frame {body.name}", len(solids))
    return solids[0]


def volume_mm3(made: Any) -> float:
    """The volume of any shape of the kernel's."""
    from OCP.BRepGProp import BRepGProp
    from OCP.GProp import GProp_GProps

    properties = GProp_GProps()
    BRepGProp.VolumeProperties_s(made, properties)
    return float(properties.Mass())


def solids_of(made: Any) -> list[Any]:
    """The solids in a shape, in the kernel's order."""
    from OCP.TopAbs import TopAbs_ShapeEnum
    from OCP.TopExp import TopExp_Explorer
    from OCP.TopoDS import TopoDS

    found: list[Any] = []
    walk = TopExp_Explorer(made, TopAbs_ShapeEnum.TopAbs_SOLID)
    while walk.More():
        found.append(TopoDS.Solid_s(walk.Current()))
        walk.Next()
    return found


def is_valid(made: Any) -> bool:
    """Whether the kernel's own check of geometry and topology finds nothing."""
    from OCP.BRepCheck import BRepCheck_Analyzer

    return bool(BRepCheck_Analyzer(made, True, True).IsValid())


def placement_trsf(placement: Placement) -> Any:
    """The `gp_Trsf` that carries root coordinates to where `placement` puts them."""
    from OCP.gp import gp_Ax3, gp_Dir, gp_Pnt, gp_Trsf

    there = gp_Ax3(gp_Pnt(*placement.origin), gp_Dir(*placement.normal), gp_Dir(*placement.u))
    trsf = gp_Trsf()
    trsf.SetDisplacement(gp_Ax3(), there)
    return trsf


def _frames(part: SheetPart, zones: Sequence[BendZone]) -> dict[str, Any]:
    """Panel name -> `gp_Trsf` from its coordinates to the root's, link by link along the tree."""
    from OCP.gp import gp_Ax1, gp_Dir, gp_Pnt, gp_Trsf

    frames: dict[str, Any] = {part.panels[0].name: gp_Trsf()}
    waiting = list(zones)
    while waiting:
        zone = next(z for z in waiting if z.bend.parent in frames)
        waiting.remove(zone)
        fold = gp_Trsf()
        fold.SetRotation(gp_Ax1(gp_Pnt(0.0, 0.0, zone.axis_z_mm), gp_Dir(1.0, 0.0, 0.0)), zone.turn_rad)
        frames[zone.bend.child] = frames[zone.bend.parent].Multiplied(placement_trsf(zone.place)).Multiplied(fold)
    return frames


def _moved(made: Any, trsf: Any) -> Any:
    from OCP.gp import gp_TrsfForm
    from OCP.TopLoc import TopLoc_Location

    # The root stays without a location: a part of one panel would else reach the STEP writer with one, and lose its name there.
    return made if trsf.Form() == gp_TrsfForm.gp_Identity else made.Moved(TopLoc_Location(trsf))


def _plate(panel: Panel, thickness_mm: float) -> Any:
    from OCP.BRepBuilderAPI import BRepBuilderAPI_MakeFace
    from OCP.BRepPrimAPI import BRepPrimAPI_MakePrism
    from OCP.gp import gp_Pln, gp_Vec
    from OCP.TopoDS import TopoDS

    face = BRepBuilderAPI_MakeFace(gp_Pln(), _wire(panel.contour.segments), True)
    for hole in panel.holes:
        face.Add(TopoDS.Wire_s(_hole_wire(hole).Reversed()))
    return solids_of(BRepPrimAPI_MakePrism(face.Face(), gp_Vec(0.0, 0.0, thickness_mm)).Shape())[0]


def _hole_wire(hole: Hole) -> Any:
    from OCP.BRepBuilderAPI import BRepBuilderAPI_MakeEdge, BRepBuilderAPI_MakeWire

    if hole.kind != "round":
        return _wire(hole.contour().segments)
    # One whole circle: the hole is then one cylinder face, as every CAD reader expects, and not two halves.
    return BRepBuilderAPI_MakeWire(BRepBuilderAPI_MakeEdge(_circle(hole.centre, hole.diameter_mm / 2, 1.0)).Edge()).Wire()


def _wire(segments: Sequence[Segment]) -> Any:
    """A closed wire with one vertex between two edges."""
    from OCP.BRepBuilderAPI import BRepBuilderAPI_MakeEdge, BRepBuilderAPI_MakeVertex, BRepBuilderAPI_MakeWire
    from OCP.gp import gp_Pnt

    corners = [BRepBuilderAPI_MakeVertex(gp_Pnt(*s.a, 0.0)).Vertex() for s in segments]
    wire = BRepBuilderAPI_MakeWire()
    for s, start, end in zip(segments, corners, corners[1:] + corners[:1], strict=True):
        if s.is_line:
            wire.Add(BRepBuilderAPI_MakeEdge(start, end).Edge())
        else:
            wire.Add(BRepBuilderAPI_MakeEdge(_circle(s.centre, s.radius, s.bulge), start, end).Edge())
    return wire.Wire()


def _circle(centre: Point, radius: float, turn: float) -> Any:
    from OCP.gp import gp_Ax2, gp_Circ, gp_Dir, gp_Pnt

    return gp_Circ(gp_Ax2(gp_Pnt(*centre, 0.0), gp_Dir(0.0, 0.0, math.copysign(1.0, turn))), radius)


# --- bend zones, in edge coordinates ---


def _revolved(zone: BendZone) -> Any:
    from OCP.BRepPrimAPI import BRepPrimAPI_MakeRevol
    from OCP.gp import gp_Ax1, gp_Dir, gp_Pnt

    (x0, x1), t = zone.parent_x, zone.thickness_mm
    section = _flat_face([(x0, 0.0, 0.0), (x1, 0.0, 0.0), (x1, 0.0, t), (x0, 0.0, t)])
    axis = gp_Ax1(gp_Pnt(0.0, 0.0, zone.axis_z_mm), gp_Dir(1.0, 0.0, 0.0))
    return solids_of(BRepPrimAPI_MakeRevol(section, axis, zone.turn_rad).Shape())[0]


def _ruled(zone: BendZone) -> Any:
    """Unequal edges: four ruled faces a span and two flat ends, sewn."""
    from OCP.BRepBuilderAPI import BRepBuilderAPI_Sewing
    from OCP.TopoDS import TopoDS

    spans = zone.spans()
    sewing = BRepBuilderAPI_Sewing(1e-6)
    for edges in spans:
        for one, two in zip(edges, edges[1:] + edges[:1], strict=True):
            sewing.Add(_ruled_face(one, two, (1.0, zone.weight, 1.0)))
    sewing.Add(_flat_face([poles[0] for poles in spans[0]]))
    sewing.Add(_flat_face([poles[2] for poles in spans[-1]]))
    sewing.Perform()
    return _closed(TopoDS.Shell_s(sewing.SewedShape()))


def _closed(shell: Any) -> Any:
    from OCP.BRepBuilderAPI import BRepBuilderAPI_MakeSolid
    from OCP.BRepLib import BRepLib

    made = BRepBuilderAPI_MakeSolid(shell).Solid()
    BRepLib.OrientClosedSolid_s(made)
    return made


def _ruled_face(one: Sequence[Vec3], two: Sequence[Vec3], weights: Sequence[float]) -> Any:
    """The face ruled between two rational curves of the same weights, each given by its poles."""
    from OCP.BRepBuilderAPI import BRepBuilderAPI_MakeFace
    from OCP.Geom import Geom_BezierSurface
    from OCP.gp import gp_Pnt
    from OCP.TColgp import TColgp_Array2OfPnt
    from OCP.TColStd import TColStd_Array2OfReal

    poles, factors = TColgp_Array2OfPnt(1, len(weights), 1, 2), TColStd_Array2OfReal(1, len(weights), 1, 2)
    for j, line in enumerate((one, two), start=1):
        for i, (pole, weight) in enumerate(zip(line, weights, strict=True), start=1):
            poles.SetValue(i, j, gp_Pnt(*pole))
            factors.SetValue(i, j, weight)
    return BRepBuilderAPI_MakeFace(Geom_BezierSurface(poles, factors), 1e-7).Face()


def _flat_face(corners: Sequence[Vec3]) -> Any:
    from OCP.BRepBuilderAPI import BRepBuilderAPI_MakeFace, BRepBuilderAPI_MakePolygon
    from OCP.gp import gp_Pnt

    return BRepBuilderAPI_MakeFace(BRepBuilderAPI_MakePolygon(*(gp_Pnt(*c) for c in corners), True).Wire(), True).Face()


def _joined(part: SheetPart, pieces: Sequence[Any], only_touch: bool, expected_mm3: float) -> Any:
    """One solid of the expected volume. Pieces shown to do no more than touch are glued, which is ten times faster than a fuse."""
    where = f"part {part.name}"
    solids = list(pieces)
    if len(pieces) > 1:
        solids = solids_of(_fused(pieces, glue=True)) if only_touch else []
        if len(solids) != 1:
            solids = solids_of(_fused(pieces, glue=False))
    if len(solids) != 1:
        raise in_pieces(where, len(solids))
    volume = volume_mm3(solids[0])
    if not abs(volume - expected_mm3) <= VOLUME_TOLERANCE * abs(expected_mm3):
        raise overlapping(where, volume, expected_mm3)
    return solids[0]


def _only_touch(part: SheetPart, zones: Sequence[BendZone], frames: dict[str, Any]) -> bool:
    """Whether planes show that no two pieces share steel, each panel on its own side of its bends. False where it cannot tell."""
    hulls = {p.name: panel_hull(p, part.thickness_mm).moved(_rows(frames[p.name])) for p in part.panels}
    neighbours = {frozenset((z.feature, name)) for z in zones for name in (z.bend.parent, z.bend.child)}
    for zone in zones:
        hulls[zone.feature] = zone_hull(zone).moved(_rows(frames[zone.bend.parent].Multiplied(placement_trsf(zone.place))))
    pairs = (pair for pair in combinations(hulls, 2) if frozenset(pair) not in neighbours)
    return all(zone.beside_only for zone in zones) and all(hulls[a].apart(hulls[b], APART_MM) for a, b in pairs)


def _rows(trsf: Any) -> Rows:
    return [[trsf.Value(i, j) for j in range(1, 5)] for i in range(1, 4)]


def _fused(pieces: Sequence[Any], *, glue: bool) -> Any:
    from OCP.BOPAlgo import BOPAlgo_GlueEnum
    from OCP.BRepAlgoAPI import BRepAlgoAPI_Fuse

    fuse = BRepAlgoAPI_Fuse()
    fuse.SetGlue(BOPAlgo_GlueEnum.BOPAlgo_GlueFull if glue else BOPAlgo_GlueEnum.BOPAlgo_GlueOff)
    return _combined(fuse, pieces)


def _combined(operation: Any, pieces: Sequence[Any]) -> Any:
    """What a boolean operation makes of the first piece and all the others at once."""
    from OCP.TopTools import TopTools_ListOfShape

    arguments, tools = TopTools_ListOfShape(), TopTools_ListOfShape()
    arguments.Append(pieces[0])
    for piece in pieces[1:]:
        tools.Append(piece)
    operation.SetArguments(arguments)
    operation.SetTools(tools)
    operation.Build()
    if not operation.IsDone():
        raise RuntimeError("the kernel could not join or cut them")
    return operation.Shape()


# --- bodies of the frame ---


def _skinned(skin: Skin) -> Any:
    """The solid inside a skin, faces and edges shared from the start: sewing and cutting would take fifty times as long."""
    from OCP.BRep import BRep_Builder
    from OCP.BRepBuilderAPI import BRepBuilderAPI_MakeEdge, BRepBuilderAPI_MakeFace, BRepBuilderAPI_MakeVertex, BRepBuilderAPI_MakeWire
    from OCP.gp import gp_Dir, gp_Pln, gp_Pnt
    from OCP.TopoDS import TopoDS, TopoDS_Shell

    corners = [BRepBuilderAPI_MakeVertex(gp_Pnt(*p)).Vertex() for p in skin.points]
    edges: dict[tuple[int, int], Any] = {}

    def wire(ring: tuple[int, ...]) -> Any:
        made = BRepBuilderAPI_MakeWire()
        for a, b in pairwise((*ring, ring[0])):
            if (b, a) in edges:
                made.Add(TopoDS.Edge_s(edges[b, a].Reversed()))
                continue
            if (a, b) not in edges:
                edges[a, b] = BRepBuilderAPI_MakeEdge(corners[a], corners[b]).Edge()
            made.Add(edges[a, b])
        return made.Wire()

    builder, shell = BRep_Builder(), TopoDS_Shell()
    builder.MakeShell(shell)
    rims: dict[int, list[Any]] = {}
    for drill in skin.drills:
        wall, first, last = _drilled(drill)
        builder.Add(shell, wall)
        rims.setdefault(drill.entry, []).append(first)
        rims.setdefault(drill.leaving, []).append(last)
    for number, facet in enumerate(skin.facets):
        plane = gp_Pln(gp_Pnt(*skin.points[facet.rings[0][0]]), gp_Dir(*facet.normal))
        face = BRepBuilderAPI_MakeFace(plane, wire(facet.rings[0]), True)
        for hollow in facet.rings[1:]:
            face.Add(wire(hollow))
        for rim in rims.get(number, ()):
            face.Add(rim)
        builder.Add(shell, face.Face())
    return _closed(shell)


def _drilled(drill: Drill) -> tuple[Any, Any, Any]:
    """The wall of a hole, and its rims as they run in the two facets."""
    from OCP.BRepBuilderAPI import BRepBuilderAPI_MakeWire
    from OCP.BRepPrim import BRepPrim_Cylinder
    from OCP.gp import gp_Ax2, gp_Dir, gp_Pnt
    from OCP.TopoDS import TopoDS

    made = BRepPrim_Cylinder(gp_Ax2(gp_Pnt(*drill.point), gp_Dir(*drill.direction)), drill.radius_mm, drill.length_mm)
    first, last = (BRepBuilderAPI_MakeWire(edge).Wire() for edge in (made.BottomEdge(), made.TopEdge()))
    return made.LateralFace().Reversed(), first, TopoDS.Wire_s(last.Reversed())


def _cut(made: Any, cuts: Sequence[Cylinder]) -> Any:
    from OCP.BRepAlgoAPI import BRepAlgoAPI_Cut
    from OCP.BRepPrimAPI import BRepPrimAPI_MakeCylinder
    from OCP.gp import gp_Ax2, gp_Dir, gp_Pnt

    axes = [gp_Ax2(gp_Pnt(*c.point), gp_Dir(*c.direction)) for c in cuts]
    drills = [BRepPrimAPI_MakeCylinder(axis, c.radius_mm, c.length_mm).Shape() for axis, c in zip(axes, cuts, strict=True)]
    return _combined(BRepAlgoAPI_Cut(), [made, *drills]) if drills else made


def _guarded(part: SheetPart, feature: str, values: str, build: Callable[[], Any]) -> Any:
    """What `build` makes; whatever the kernel raises instead names the part, the feature and its values."""
    try:
        return build()
    except BadInput:
        raise
    except Exception as error:
        raise broken(f"part {part.name}", feature, f"thickness {part.thickness_mm:g} mm{values}", error) from error
