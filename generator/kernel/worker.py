"""Inside the child process: builds solids, writes STEP files into the folder it is told, reads them back, measures.

Started with `python -m generator.kernel.worker` by `generator.kernel.service`. It never imports cadquery, half of whose load time is for
viewers. Every file is written beside its place under another name, re-read, and only then put there: to a full disk the kernel writes
nothing and says nothing.
"""

from __future__ import annotations

import math
import os
from collections.abc import Callable, Mapping, Sequence
from dataclasses import dataclass
from pathlib import Path
from typing import Any, TypeVar

from generator.child_side import Refused, serve
from generator.kernel.messages import (
    AssemblyRequest,
    BuildRequest,
    BuiltAssembly,
    BuiltSolid,
    Colour,
    CommonVolumeRequest,
    Cylinder,
    DistanceRequest,
    Faulty,
    Placed,
    Unwritten,
    VersionRequest,
)
from generator.kernel.step_text import END, Instance, StepText, finished, refuse_other
from parts.buildable import invalid
from parts.errors import BadInput, Fault
from parts.sheet import SheetPart, Vec3
from parts.solid import body_shape, is_valid, load_kernel, placement_trsf, shape, solids_of, volume_mm3

#: How far a volume re-read from a STEP file may be from the one written, relative.
VOLUME_TOLERANCE = 1e-9

Result = TypeVar("Result")


class _CannotWrite(Exception):
    """A file could not be written; the text says why."""


@dataclass(frozen=True, kw_only=True)
class _Product:
    """A shape under its product's name, and its instances: name and where (`gp_Trsf`)."""

    name: str
    shape: Any
    colour: Colour
    instances: tuple[tuple[str, Any], ...] = ()


class Worker:
    """Answers requests. Keeps the solids it has built, so that the assembly need not build them again."""

    def __init__(self) -> None:
        self._built: dict[SheetPart, Any] = {}
        self._answers: Mapping[type[Any], Callable[[Any], object]] = {
            VersionRequest: lambda _: _version(),
            BuildRequest: self._build,
            AssemblyRequest: self._assemble,
            DistanceRequest: lambda r: _distance(self._placed(r.one), self._placed(r.two)),
            CommonVolumeRequest: lambda r: _common_volume(self._placed(r.one), self._placed(r.two)),
        }

    def answer(self, message: object) -> object:
        answer = self._answers.get(type(message))
        if answer is None:
            raise Refused(f"the kernel's process knows no request {type(message).__name__}")
        try:
            return answer(message)
        except BadInput as error:
            return Faulty(faults=error.faults)
        except _CannotWrite as error:
            return Unwritten(reason=str(error))

    def _shape(self, part: SheetPart) -> Any:
        if part not in self._built:
            self._built[part] = shape(part)
        return self._built[part]

    def _build(self, request: BuildRequest) -> BuiltSolid:
        made = self._shape(request.part)
        text = _written([_Product(name=request.name, shape=made, colour=request.colour)], None, request.path)
        return _stored(text, request.path, lambda path: _re_read(path, request, volume_mm3(made)))

    def _assemble(self, request: AssemblyRequest) -> BuiltAssembly:
        from OCP.gp import gp_Trsf

        products = []
        for item in request.items:
            count = len(item.placements)
            # Names of parts and of what stands on the frame have no blanks, and bodies fewer than three: no name can come twice.
            names = [item.name] if count == 1 else [f"{item.name} {k + 1} of {count}" for k in range(count)]
            places = tuple(zip(names, (placement_trsf(p) for p in item.placements), strict=True))
            products.append(_Product(name=item.name, shape=self._shape(item.part), colour=item.colour, instances=places))
        for body in request.bodies:
            made = body_shape(body.body)
            products.append(_Product(name=body.name, shape=made, colour=body.colour, instances=((body.name, gp_Trsf()),)))
        instances = [Instance(name=n, product=p.name, parent=request.name) for p in products for n, _ in p.instances]
        names = [p.name for p in products]
        _refuse_twins([request.name, *names], "product")
        _refuse_twins([i.name for i in instances], "instance")
        text = _written(products, request.name, request.path)
        refuse_other(text, products=[request.name, *names], instances=instances, colours={p.name: p.colour for p in products})
        built = BuiltAssembly(name=request.name, products=tuple(names), instances=tuple(i.name for i in instances))
        return _stored(text, request.path, lambda _: built)

    def _placed(self, placed: Placed) -> Any:
        from OCP.TopLoc import TopLoc_Location

        made = self._shape(placed.thing) if isinstance(placed.thing, SheetPart) else body_shape(placed.thing)
        return made.Moved(TopLoc_Location(placement_trsf(placed.placement)))


def _refuse_twins(names: Sequence[str], what: str) -> None:
    for name in names:
        if names.count(name) > 1:
            limit = f"is the name of more than one {what} of the assembly"
            raise BadInput(Fault(where="assembly", field="name", value=name, limit=limit))


def _version() -> str:
    import OCP

    return str(OCP.__version__)


# --- STEP out ---


def _written(products: Sequence[_Product], assembly: str | None, path: Path) -> str:
    """The STEP text of one product, or of an assembly of products. Uses `path` with another name for the kernel's own output."""
    from OCP.IFSelect import IFSelect_ReturnStatus
    from OCP.Interface import Interface_Static
    from OCP.STEPCAFControl import STEPCAFControl_Writer
    from OCP.STEPControl import STEPControl_StepModelType

    names: dict[str, str] = {}
    document = _document(products, assembly, names)
    writer = STEPCAFControl_Writer()
    Interface_Static.SetIVal_s("write.surfacecurve.mode", 0)  # no pcurves: half the file and half the time
    Interface_Static.SetCVal_s("write.step.unit", "MM")
    writer.SetColorMode(False)  # the kernel's own order of colours is that of pointers
    writer.SetNameMode(True)
    writer.SetLayerMode(False)
    writer.SetPropsMode(False)
    raw = path.with_name(f".{path.name}.raw")
    try:
        if not writer.Transfer(document, STEPControl_StepModelType.STEPControl_AsIs):
            raise Refused(f"the kernel cannot put {path.stem} into a STEP file")
        done = writer.Write(os.fspath(raw)) == IFSelect_ReturnStatus.IFSelect_RetDone
        text = raw.read_text(encoding="ascii") if done and raw.is_file() else ""
        if not text.endswith(END):
            raise _CannotWrite(f"the STEP file {path.name} could not be written in full: no room, or no right to write in its folder")
    except OSError as error:
        raise _unwritten(path, error) from error
    finally:
        raw.unlink(missing_ok=True)
    return finished(text, file_name=path.name, names=names, colours={p.name: p.colour for p in products})


def _document(products: Sequence[_Product], assembly: str | None, names: dict[str, str]) -> Any:
    """The kernel's document; everything in it has a short name that stands in `names` with the real one."""
    from OCP.TCollection import TCollection_ExtendedString
    from OCP.TDataStd import TDataStd_Name
    from OCP.TDocStd import TDocStd_Document
    from OCP.TopLoc import TopLoc_Location
    from OCP.XCAFDoc import XCAFDoc_DocumentTool

    def name(label: Any, text: str) -> None:
        short = f"name-{len(names)}"
        names[short] = text
        TDataStd_Name.Set_s(label, TCollection_ExtendedString(short))

    document = TDocStd_Document(TCollection_ExtendedString("XmlOcaf"))
    tool = XCAFDoc_DocumentTool.ShapeTool_s(document.Main())
    root = None
    if assembly is not None:
        root = tool.NewShape()
        name(root, assembly)
    for product in products:
        label = tool.AddShape(product.shape, False, False)
        name(label, product.name)
        for instance, trsf in product.instances:
            name(tool.AddComponent(root, label, TopLoc_Location(trsf)), instance)
    if root is not None:
        tool.UpdateAssemblies()
    return document


def _stored(text: str, path: Path, read_back: Callable[[Path], Result]) -> Result:
    """What `read_back` makes of the text in a file beside `path`, which is then put there."""
    beside = path.with_name(f".{path.name}.new")
    try:
        beside.write_text(text, encoding="ascii", newline="\n")
        result = read_back(beside)
        os.replace(beside, path)
    except OSError as error:
        raise _unwritten(path, error) from error
    finally:
        beside.unlink(missing_ok=True)
    return result


def _unwritten(path: Path, error: OSError) -> _CannotWrite:
    return _CannotWrite(f"the STEP file {path.name} could not be written: {error.strerror or error}")


# --- STEP in ---


def _re_read(path: Path, request: BuildRequest, expected_mm3: float) -> BuiltSolid:
    from OCP.IFSelect import IFSelect_ReturnStatus
    from OCP.STEPControl import STEPControl_Reader

    reader = STEPControl_Reader()
    if reader.ReadFile(os.fspath(path)) != IFSelect_ReturnStatus.IFSelect_RetDone:
        raise Refused(f"the STEP file of {request.name} cannot be read back")
    reader.TransferRoots()
    solids = solids_of(reader.OneShape())
    if len(solids) != 1:
        raise Refused(f"the STEP file of {request.name} reads back as {len(solids)} solids")
    made = solids[0]
    volume = volume_mm3(made)
    if not abs(volume - expected_mm3) <= VOLUME_TOLERANCE * expected_mm3:
        raise Refused(f"the STEP file of {request.name} reads back with {volume:.6f} mm³ where {expected_mm3:.6f} mm³ were written")
    if not is_valid(made):
        raise invalid(f"part {request.name}")
    products = StepText(path.read_text(encoding="ascii")).products
    if products != [request.name]:
        raise Refused(f"the STEP file of {request.name} names its product otherwise")
    cylinders, count = _cylinders(made)
    return BuiltSolid(name=request.name, volume_mm3=volume, box=_box(made), face_count=count, cylinders=cylinders)


def _cylinders(made: Any) -> tuple[tuple[Cylinder, ...], int]:
    """The cylindrical faces, and the number of all faces."""
    from OCP.BRepAdaptor import BRepAdaptor_Surface
    from OCP.GeomAbs import GeomAbs_SurfaceType
    from OCP.TopAbs import TopAbs_Orientation, TopAbs_ShapeEnum
    from OCP.TopExp import TopExp_Explorer
    from OCP.TopoDS import TopoDS

    found: list[Cylinder] = []
    count = 0
    walk = TopExp_Explorer(made, TopAbs_ShapeEnum.TopAbs_FACE)
    while walk.More():
        face = TopoDS.Face_s(walk.Current())
        walk.Next()
        count += 1
        surface = BRepAdaptor_Surface(face)
        if surface.GetType() != GeomAbs_SurfaceType.GeomAbs_Cylinder:
            continue
        cylinder = surface.Cylinder()
        at, along = cylinder.Axis().Location(), cylinder.Axis().Direction()
        middle = (surface.FirstVParameter() + surface.LastVParameter()) / 2
        # A left-handed axis system turns the surface's own normal inward.
        inward = (face.Orientation() == TopAbs_Orientation.TopAbs_REVERSED) == bool(cylinder.Direct())
        found.append(
            Cylinder(
                point=(at.X() + middle * along.X(), at.Y() + middle * along.Y(), at.Z() + middle * along.Z()),
                direction=(along.X(), along.Y(), along.Z()),
                radius_mm=cylinder.Radius(),
                sweep_deg=math.degrees(surface.LastUParameter() - surface.FirstUParameter()),
                concave=inward,
            )
        )
    return tuple(found), count


def _box(made: Any) -> tuple[Vec3, Vec3]:
    from OCP.Bnd import Bnd_Box
    from OCP.BRepBndLib import BRepBndLib

    box = Bnd_Box()
    BRepBndLib.AddOptimal_s(made, box, False, False)
    low, high = box.CornerMin(), box.CornerMax()
    return (low.X(), low.Y(), low.Z()), (high.X(), high.Y(), high.Z())


# --- measuring ---


def _distance(one: Any, two: Any) -> float:
    from OCP.BRepExtrema import BRepExtrema_DistShapeShape

    measure = BRepExtrema_DistShapeShape(one, two)
    if not measure.IsDone():
        raise Refused("the kernel cannot tell how far apart the two are")
    return float(measure.Value())


def _common_volume(one: Any, two: Any) -> float:
    from OCP.BRepAlgoAPI import BRepAlgoAPI_Common

    common = BRepAlgoAPI_Common(one, two)
    if not common.IsDone():
        raise Refused("the kernel cannot tell whether the two share room")
    return sum((volume_mm3(s) for s in solids_of(common.Shape())), 0.0)


def load() -> Callable[[object], object]:
    """Import the kernel, silence it, and be ready."""
    load_kernel()
    from OCP.Message import Message

    Message.DefaultMessenger_s().ChangePrinters().Clear()
    return Worker().answer


if __name__ == "__main__":
    serve(load)
