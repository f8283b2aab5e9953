"""`python -m tests.picture FILE.png [JOB]`: the demo kit on its frame as a picture for the README. A developer's tool, no part of a run.

A depth buffer over the kernel's own triangles: parts in the colours of the STEP files, the frame translucent, edges of faces drawn in.
"""

from __future__ import annotations

import math
import struct
import sys
import zlib
from collections.abc import Iterable, Iterator
from pathlib import Path
from typing import Any

import numpy as np
from numpy.typing import NDArray

from generator.pipeline import DEMO_JOB, check
from generator.solids import FRAME_COLOUR, colours_of
from parts.frame.bodies import frame_bodies
from parts.solid import body_shape, placement_trsf, shape

WIDTH, HEIGHT, FINER = 1500, 700, 2
TURN_DEG, TILT_DEG = -128.0, 24.0  # seen from the front right, from above
DEFLECTION_MM = 0.5
MARGIN = 0.04
BEHIND_MM = 0.5  #: a translucent face that lies on an opaque one is behind it
LIGHT = np.array([0.35, -0.45, 0.82])
Array = NDArray[np.float64]


def triangles(made: Any) -> Iterator[tuple[Array, Array]]:
    """(points, triangles as indices) of each face of a shape."""
    from OCP.BRep import BRep_Tool
    from OCP.BRepMesh import BRepMesh_IncrementalMesh
    from OCP.TopAbs import TopAbs_ShapeEnum
    from OCP.TopExp import TopExp_Explorer
    from OCP.TopLoc import TopLoc_Location
    from OCP.TopoDS import TopoDS

    BRepMesh_IncrementalMesh(made, DEFLECTION_MM, False, 0.3, True)
    walk = TopExp_Explorer(made, TopAbs_ShapeEnum.TopAbs_FACE)
    while walk.More():
        place = TopLoc_Location()
        mesh = BRep_Tool.Triangulation_s(TopoDS.Face_s(walk.Current()), place)
        if mesh is not None:
            t = place.Transformation()
            points = [mesh.Node(i).Transformed(t) for i in range(1, mesh.NbNodes() + 1)]
            corners = [mesh.Triangle(i).Get() for i in range(1, mesh.NbTriangles() + 1)]
            yield np.array([(p.X(), p.Y(), p.Z()) for p in points]), np.array(corners) - 1
        walk.Next()


def scene(job: str) -> Iterator[tuple[Array, Array, tuple[float, float, float], float]]:
    """(points, triangles, colour, opacity) of every face of the kit and its frame, the opaque ones first."""
    from OCP.TopLoc import TopLoc_Location

    checked = check(job)
    colours = colours_of(checked.kit.pieces)
    for piece in checked.kit.pieces:
        made, colour = shape(piece.part), colours[piece.family]
        for placement in piece.placements:
            for points, corners in triangles(made.Moved(TopLoc_Location(placement_trsf(placement)))):
                yield points, corners, (colour.red, colour.green, colour.blue), 1.0
    for body in frame_bodies(checked.read.frame):
        for points, corners in triangles(body_shape(body)):
            yield points, corners, (FRAME_COLOUR.red, FRAME_COLOUR.green, FRAME_COLOUR.blue), FRAME_COLOUR.opacity


def seen(points: Array) -> Array:
    """Vehicle axes to the picture's: right, up, towards the eye."""
    a, b = math.radians(TURN_DEG), math.radians(TILT_DEG)
    turn = np.array([[math.cos(a), -math.sin(a), 0], [math.sin(a), math.cos(a), 0], [0, 0, 1]])
    tilt = np.array([[1, 0, 0], [0, math.sin(b), math.cos(b)], [0, -math.cos(b), math.sin(b)]])
    out: Array = points @ turn.T @ tilt.T
    return out


def paint(faces: Iterable[tuple[Array, Array, tuple[float, float, float], float]]) -> NDArray[np.uint8]:
    """The picture, rows of red, green, blue."""
    flat = [(seen(p), c, colour, opacity) for p, c, colour, opacity in faces]
    low = np.min([p[:, :2].min(axis=0) for p, *_ in flat], axis=0)
    high = np.max([p[:, :2].max(axis=0) for p, *_ in flat], axis=0)
    w, h = WIDTH * FINER, HEIGHT * FINER
    scale = float(min(w / (high[0] - low[0]), h / (high[1] - low[1])) * (1 - 2 * MARGIN))
    offset = np.array([w, h]) / 2 - (low + high) / 2 * scale
    image = np.full((h, w, 3), 1.0)
    depth = np.full((h, w), -np.inf)
    solid, last = np.zeros((h, w), dtype=np.int64), np.zeros((h, w), dtype=np.int64)  # the face in front, and the one painted last
    for number, (points, corners, colour, opacity) in enumerate(flat, start=1):
        xy = points[:, :2] * scale + offset
        for corner in corners:
            _triangle(image, depth, solid if opacity == 1.0 else last, xy[corner], points[corner], np.array(colour), opacity, number)
    edge = (solid != np.roll(solid, 1, 0)) | (solid != np.roll(solid, 1, 1))
    image[edge] *= 0.55
    small = image.reshape(HEIGHT, FINER, WIDTH, FINER, 3).mean(axis=(1, 3))
    return np.flipud(np.clip(small * 255, 0, 255).astype(np.uint8))


def _triangle(image: Array, depth: Array, marks: Any, xy: Array, xyz: Array, colour: Array, opacity: float, number: int) -> None:
    x0, y0 = np.floor(xy.min(axis=0)).astype(int)
    x1, y1 = np.ceil(xy.max(axis=0)).astype(int) + 1
    x0, y0, x1, y1 = max(x0, 0), max(y0, 0), min(x1, image.shape[1]), min(y1, image.shape[0])
    (ax, ay), (bx, by), (cx, cy) = xy
    area = (bx - ax) * (cy - ay) - (cx - ax) * (by - ay)
    if x0 >= x1 or y0 >= y1 or abs(area) < 1e-9:
        return
    px, py = np.meshgrid(np.arange(x0, x1) + 0.5, np.arange(y0, y1) + 0.5)
    u = ((bx - px) * (cy - py) - (cx - px) * (by - py)) / area
    v = ((cx - px) * (ay - py) - (ax - px) * (cy - py)) / area
    w = 1 - u - v
    z = u * xyz[0, 2] + v * xyz[1, 2] + w * xyz[2, 2]
    window = (slice(y0, y1), slice(x0, x1))
    nearer = z > depth[window] + (0.0 if opacity == 1.0 else BEHIND_MM)
    inside = (u >= -1e-9) & (v >= -1e-9) & (w >= -1e-9) & nearer
    normal = np.cross(xyz[1] - xyz[0], xyz[2] - xyz[0])
    length = float(np.linalg.norm(normal))
    if length == 0 or not inside.any():
        return
    shade = 0.55 + 0.45 * abs(float(normal @ LIGHT)) / (length * float(np.linalg.norm(LIGHT)))
    if opacity < 1.0:
        inside &= marks[window] != number  # an edge that two triangles of a face share is painted once
        marks[window][inside] = number
    image[window][inside] = (1 - opacity) * image[window][inside] + opacity * colour * shade
    if opacity == 1.0:
        depth[window][inside] = z[inside]
        marks[window][inside] = number


def png(image: NDArray[np.uint8]) -> bytes:
    """A PNG file (ISO/IEC 15948): signature, header, rows without filter, end."""

    def chunk(kind: bytes, data: bytes) -> bytes:
        return struct.pack(">I", len(data)) + kind + data + struct.pack(">I", zlib.crc32(kind + data))

    height, width, _ = image.shape
    rows = b"".join(b"\0" + row.tobytes() for row in image)
    head = struct.pack(">IIBBBBB", width, height, 8, 2, 0, 0, 0)
    return b"\x89PNG\r\n\x1a\n" + chunk(b"IHDR", head) + chunk(b"IDAT", zlib.compress(rows, 9)) + chunk(b"IEND", b"")


if __name__ == "__main__":
    Path(sys.argv[1]).write_bytes(png(paint(scene(sys.argv[2] if len(sys.argv) > 2 else DEMO_JOB))))
