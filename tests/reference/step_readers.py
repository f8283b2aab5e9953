"""What other people's programs find in our STEP files: `steputils` reads the text without any kernel, `cascadio` makes a mesh of it.

Neither is ours. cascadio is built on the same kernel as the program, in another version and by other hands; steputils is not.
"""

from __future__ import annotations

import json
import math
import struct
from collections.abc import Iterator, Sequence
from dataclasses import dataclass, field
from pathlib import Path
from typing import Any

import cascadio
import numpy as np
from numpy.typing import NDArray
from steputils import p21

Vec3 = tuple[float, float, float]
Array = NDArray[np.float64]


@dataclass(frozen=True, kw_only=True)
class Axis:
    """A cylindrical surface: a point of its axis, the axis' direction, its radius."""

    point: Vec3
    direction: Vec3
    radius_mm: float

    def is_about(self, point: Sequence[float], direction: Sequence[float], radius_mm: float, tolerance_mm: float) -> bool:
        """Whether this is the cylinder of that axis and radius; either way along the axis."""
        p, d = np.array(self.point), np.array(self.direction)
        away = float(np.linalg.norm(np.cross(np.array(point) - p, d)))
        skew = float(np.linalg.norm(np.cross(np.array(direction), d)))
        return away <= tolerance_mm and skew <= tolerance_mm and abs(self.radius_mm - radius_mm) <= tolerance_mm


@dataclass(kw_only=True)
class StepContents:
    file_name: str
    time: str
    products: list[str]
    instances: dict[str, tuple[str, str]]  #: instance -> product, parent
    colours: dict[str, tuple[float, float, float, float]]  #: product -> red, green, blue, opacity
    length_units: set[str]
    cylinders: dict[str, list[Axis]] = field(default_factory=dict)  #: product -> its cylindrical faces


class _Reader:
    def __init__(self, path: Path) -> None:
        self.file: Any = p21.readfile(str(path))
        self.instances: dict[str, Any] = {str(i.ref): i for section in self.file.data for i in section.instances.values()}

    def parameters(self, reference: Any, name: str) -> Any:
        entity = self.instances[str(reference)].entity
        assert entity.name == name, f"{reference} is a {entity.name}, not a {name}"
        return entity.params

    def all(self, name: str) -> Iterator[tuple[str, Any]]:
        for reference, instance in self.instances.items():
            if p21.is_simple_entity_instance(instance) and instance.entity.name == name:
                yield reference, instance.entity.params

    def reach(self, reference: str) -> set[str]:
        """Every instance that `reference` leads to."""
        found: set[str] = set()
        waiting = [reference]
        while waiting:
            at = waiting.pop()
            if at not in found:
                found.add(at)
                waiting += _references(self.instances[at])
        return found

    def vector(self, reference: Any, name: str) -> Vec3:
        x, y, z = (float(v) for v in self.parameters(reference, name)[1])
        return x, y, z


def _references(instance: Any) -> list[str]:
    entities = instance.entities if p21.is_complex_entity_instance(instance) else [instance.entity]
    return [str(r) for e in entities for r in _walk(e.params)]


def _walk(parameters: Any) -> Iterator[Any]:
    for p in parameters:
        if p21.is_reference(p):
            yield p
        elif p21.is_parameter_list(p):
            yield from _walk(p)
        elif p21.is_typed_parameter(p):
            yield from _walk([p.param])


def read_step(path: Path) -> StepContents:
    """Everything of interest that the text of `path` says."""
    r = _Reader(path)
    formation = {ref: str(p[2]) for ref, p in r.all("PRODUCT_DEFINITION_FORMATION")}
    product = {ref: p21.step_decoder(p[0]) if "\\" in p[0] else p[0] for ref, p in r.all("PRODUCT")}
    definition = {ref: product[formation[str(p[2])]] for ref, p in r.all("PRODUCT_DEFINITION")}
    usage = {p[1]: (definition[str(p[4])], definition[str(p[3])]) for _, p in r.all("NEXT_ASSEMBLY_USAGE_OCCURRENCE")}
    names = [p[1] for _, p in r.all("NEXT_ASSEMBLY_USAGE_OCCURRENCE")]
    assert len(set(names)) == len(names), f"two instances share a name: {names}"
    header = r.file.header["FILE_NAME"].params
    contents = StepContents(
        file_name=header[0],
        time=header[1],
        products=list(definition.values()),
        instances=usage,
        colours={},
        length_units=set(_length_units(r)),
    )
    shape_owner = {ref: definition[str(p[2])] for ref, p in r.all("PRODUCT_DEFINITION_SHAPE") if str(p[2]) in definition}
    solid_owner: dict[str, str] = {}
    for _, p in r.all("SHAPE_DEFINITION_REPRESENTATION"):
        for reference in r.reach(str(p[1])):
            if r.instances[reference].ref and _name(r.instances[reference]) == "MANIFOLD_SOLID_BREP":
                solid_owner[reference] = shape_owner[str(p[0])]
    for reference, owner in solid_owner.items():
        contents.cylinders[owner] = list(_cylinders(r, reference))
    for reference, p in r.all("STYLED_ITEM"):
        assert solid_owner[str(p[2])] not in contents.colours, f"{reference} colours a solid twice"
        contents.colours[solid_owner[str(p[2])]] = _colour(r, reference)
    return contents


def _name(instance: Any) -> str:
    return "" if p21.is_complex_entity_instance(instance) else str(instance.entity.name)


def _length_units(r: _Reader) -> Iterator[str]:
    for instance in r.instances.values():
        if p21.is_complex_entity_instance(instance):
            parts = {e.name: e.params for e in instance.entities}
            if "LENGTH_UNIT" in parts:
                assert "SI_UNIT" in parts, "a length unit that is none of the SI"
                yield "".join(str(u) for u in parts["SI_UNIT"])


def _cylinders(r: _Reader, solid: str) -> Iterator[Axis]:
    reached = r.reach(solid)
    for reference, (_, place, radius) in r.all("CYLINDRICAL_SURFACE"):
        if reference in reached:
            _, point, along, _ = r.parameters(place, "AXIS2_PLACEMENT_3D")
            yield Axis(
                point=r.vector(point, "CARTESIAN_POINT"),
                direction=r.vector(along, "DIRECTION"),
                radius_mm=float(radius),
            )


def _colour(r: _Reader, styled: str) -> tuple[float, float, float, float]:
    style = r.reach(str(r.instances[styled].entity.params[1][0]))
    rgb = [p for ref, p in r.all("COLOUR_RGB") if ref in style]
    glass = [p for ref, p in r.all("SURFACE_STYLE_TRANSPARENT") if ref in style]
    assert len(rgb) == 1 and len(glass) <= 1
    _, red, green, blue = rgb[0]
    return float(red), float(green), float(blue), 1.0 - (float(glass[0][0]) if glass else 0.0)


# --- meshes ---


@dataclass(frozen=True, kw_only=True)
class MeshNode:
    """One instance of the scene: its name, that of its mesh, where it stands, its triangles in its own coordinates (mm)."""

    name: str
    mesh: str
    matrix: Array  #: (4, 4), own mm to the scene's mm
    triangles: Array  #: (n, 3, 3)
    colour: tuple[float, float, float, float]

    @property
    def volume_mm3(self) -> float:
        """By the divergence theorem, from the triangles."""
        a, b, c = self.triangles[:, 0], self.triangles[:, 1], self.triangles[:, 2]
        return float(np.einsum("ij,ij->i", a, np.cross(b, c)).sum() / 6)


MM_PER_M = 1000.0  # glTF 2.0, section 3.6.1: lengths are metres


def read_mesh(path: Path, sagitta_mm: float) -> list[MeshNode]:
    """The leaves of the scene that cascadio makes of a STEP file, meshed to `sagitta_mm`."""
    glb = cascadio.load(path.read_bytes(), "step", tol_linear=sagitta_mm, tol_angular=0.2)
    magic, _, _ = struct.unpack_from("<III", glb, 0)
    assert magic == 0x46546C67, "not a GLB file"
    length, _ = struct.unpack_from("<II", glb, 12)
    scene = json.loads(glb[20 : 20 + length])
    binary = glb[20 + length + 8 :]
    out: list[MeshNode] = []
    for root in scene["scenes"][scene.get("scene", 0)]["nodes"]:
        _leaves(scene, binary, root, np.eye(4), out)
    return out


def _leaves(scene: dict[str, Any], binary: bytes, index: int, above: Array, out: list[MeshNode]) -> None:
    node = scene["nodes"][index]
    matrix = above @ _local(node)
    if "mesh" in node:
        mesh = scene["meshes"][node["mesh"]]
        triangles = np.concatenate([_triangles(scene, binary, p) for p in mesh["primitives"]])
        material = scene["materials"][mesh["primitives"][0]["material"]]["pbrMetallicRoughness"]
        red, green, blue, alpha = material.get("baseColorFactor", [1.0] * 4)
        scaled = matrix.copy()
        scaled[:3, 3] *= MM_PER_M
        out.append(
            MeshNode(
                name=node.get("name", ""),
                mesh=mesh.get("name", ""),
                matrix=scaled,
                triangles=triangles * MM_PER_M,
                colour=(red, green, blue, alpha),
            )
        )
    for child in node.get("children", ()):
        _leaves(scene, binary, child, matrix, out)


def _local(node: dict[str, Any]) -> Array:
    if "matrix" in node:
        return np.array(node["matrix"]).reshape(4, 4).T
    m = np.eye(4)
    x, y, z, w = node.get("rotation", (0.0, 0.0, 0.0, 1.0))
    m[:3, :3] = [
        [1 - 2 * (y * y + z * z), 2 * (x * y - z * w), 2 * (x * z + y * w)],
        [2 * (x * y + z * w), 1 - 2 * (x * x + z * z), 2 * (y * z - x * w)],
        [2 * (x * z - y * w), 2 * (y * z + x * w), 1 - 2 * (x * x + y * y)],
    ]
    m[:3, :3] *= np.array(node.get("scale", (1.0, 1.0, 1.0)))
    m[:3, 3] = node.get("translation", (0.0, 0.0, 0.0))
    return m


def _triangles(scene: dict[str, Any], binary: bytes, primitive: dict[str, Any]) -> Array:
    points = _accessor(scene, binary, primitive["attributes"]["POSITION"]).astype(np.float64)
    corners = _accessor(scene, binary, primitive["indices"]).reshape(-1)
    triangles: Array = points[corners].reshape(-1, 3, 3)
    return triangles


def _accessor(scene: dict[str, Any], binary: bytes, index: int) -> NDArray[Any]:
    accessor = scene["accessors"][index]
    view = scene["bufferViews"][accessor["bufferView"]]
    kinds = {5121: "u1", 5123: "<u2", 5125: "<u4", 5126: "<f4"}  # glTF 2.0, section 3.6.2.2
    width = {"SCALAR": 1, "VEC3": 3}[accessor["type"]]
    start = view.get("byteOffset", 0) + accessor.get("byteOffset", 0)
    assert "byteStride" not in view or view["byteStride"] == width * 4
    values = np.frombuffer(binary, dtype=kinds[accessor["componentType"]], count=accessor["count"] * width, offset=start)
    return values.reshape(-1, width)


def degrees_between(one: Sequence[float], two: Sequence[float]) -> float:
    return math.degrees(math.acos(min(1.0, abs(float(np.dot(one, two))))))
