"""DXF files as other people's programs read them: GDAL's own driver, a port of the dxf-parser project, and ezdxf's forgiving reader.

The first two share no code with what writes our files. GDAL turns arcs into chords (0.1 degrees each), so its areas are short by
1 - sin(0.1 deg)/(0.1 deg) = 5.1e-7 of each arc's sector; every point it gives still lies on the arc.
"""

from __future__ import annotations

import io
import math
import struct
from collections import Counter
from collections.abc import Callable
from dataclasses import dataclass
from itertools import pairwise
from pathlib import Path
from typing import Any

import ezdxf.recover
import pyogrio.raw
from dxf_parser import parse

Point = tuple[float, float]
SNAP = 1e-6  #: ends nearer than this, in the file's units, are one
STEP_DEG = 0.1
CHORD_SHARE = 1 - math.sin(math.radians(STEP_DEG)) / math.radians(STEP_DEG)
MM_PER_UNIT = {1: 25.4, 4: 1.0}  #: DXF Reference 2010, HEADER, $INSUNITS: 1 inches, 4 millimetres


@dataclass(frozen=True, kw_only=True)
class Cut:
    """One closed line of the cut layer, in the file's units. Circles have a centre and a radius; others an area."""

    closed: bool
    area: float
    perimeter: float
    circle: tuple[float, float, float] | None
    key: tuple[Any, ...]  #: equal for the same line drawn twice


@dataclass(frozen=True, kw_only=True)
class Reading:
    """What one program makes of a file. `mm_per_unit` is None where it does not say."""

    cuts: tuple[Cut, ...]
    centres: tuple[Point, ...]
    layers: frozenset[str]
    kinds: frozenset[str]
    mm_per_unit: float | None
    chord_share: float = 0.0  #: of an arc's sector that chords may lose


def _key(points: list[Point]) -> tuple[Any, ...]:
    return tuple(sorted((round(x, 5), round(y, 5)) for x, y in points))


def _shoelace(points: list[Point]) -> float:
    return abs(sum(a[0] * b[1] - b[0] * a[1] for a, b in zip(points, points[1:] + points[:1], strict=True))) / 2


def _chords(points: list[Point]) -> tuple[bool, list[Point], float]:
    """Whether a chain ends where it began (snapped), its distinct points, and its length."""
    closed = math.dist(points[0], points[-1]) <= SNAP
    length = sum(math.dist(a, b) for a, b in pairwise(points))
    return closed, points[:-1] if closed else points, length


def _round(points: list[Point]) -> tuple[float, float, float] | None:
    """Centre and radius if all of many points lie on one circle and go round it."""
    if len(points) < 1000:
        return None
    x, y = sum(p[0] for p in points) / len(points), sum(p[1] for p in points) / len(points)
    radii = [math.dist((x, y), p) for p in points]
    return (x, y, sum(radii) / len(radii)) if max(radii) - min(radii) < 1e-4 * max(radii) else None


def _points_of(wkb: bytes) -> tuple[int, list[Point]]:
    """A point or a line string of well-known binary, either byte order, with or without z (ISO 19125-1, and GDAL's 2.5-D flag)."""
    order = "<" if wkb[0] == 1 else ">"
    (code,) = struct.unpack_from(f"{order}I", wkb, 1)
    size = 3 if code & 0x80000000 or code > 1000 else 2
    kind = (code & 0x7FFFFFFF) % 1000
    count, start = (1, 5) if kind == 1 else (struct.unpack_from(f"{order}I", wkb, 5)[0], 9)
    flat = struct.unpack_from(f"{order}{count * size}d", wkb, start)
    return kind, [(flat[i], flat[i + 1]) for i in range(0, count * size, size)]


def by_gdal(data: bytes, folder: Path) -> Reading:
    """GDAL's DXF driver, through pyogrio. It does not pass the units on."""
    path = folder / "read.dxf"
    path.write_bytes(data)
    pyogrio.set_gdal_config_options({"OGR_ARC_STEPSIZE": str(STEP_DEG)})
    meta, _, shapes, columns = pyogrio.raw.read(path)
    names = list(meta["fields"])
    layers = list(columns[names.index("Layer")])
    cuts: list[Cut] = []
    centres: list[Point] = []
    kinds: set[str] = set()
    for layer, wkb in zip(layers, shapes, strict=True):
        kind, points = _points_of(wkb)
        kinds.add({1: "point", 2: "line"}.get(kind, str(kind)))
        if layer == "CUT":
            closed, distinct, length = _chords(points)
            middle = sum(p[0] for p in distinct) / len(distinct), sum(p[1] for p in distinct) / len(distinct)
            cuts.append(
                Cut(
                    closed=closed,
                    area=_shoelace(distinct),
                    perimeter=length,
                    circle=_round(distinct),
                    key=(round(length, 4), *_key([middle])),
                )
            )
        elif layer == "CENTRE":
            centres.append(points[0])
    return Reading(
        cuts=tuple(cuts),
        centres=tuple(centres),
        layers=frozenset(layers),
        kinds=frozenset(kinds),
        mm_per_unit=None,
        chord_share=CHORD_SHARE,
    )


def by_parser(data: bytes, folder: Path) -> Reading:
    """The dxf-parser port: exact centres, radii and bulges, layers and units. It does not read R12's polylines."""
    drawing = parse(data)
    cuts: list[Cut] = []
    for e in drawing["entities"]:
        if e["layer"] != "CUT":
            continue
        if e["type"] == "CIRCLE":
            cuts.append(_circle(float(e["center"]["x"]), float(e["center"]["y"]), float(e["radius"])))
        else:
            rows = [(float(v["x"]), float(v["y"]), float(v.get("bulge", 0.0))) for v in e["vertices"]]
            cuts.append(_bulged(rows, bool(e.get("shape"))))
    units = drawing["header"].get("$INSUNITS")
    return Reading(
        cuts=tuple(cuts),
        centres=tuple((e["position"]["x"], e["position"]["y"]) for e in drawing["entities"] if e["layer"] == "CENTRE"),
        layers=frozenset(e["layer"] for e in drawing["entities"]),
        kinds=frozenset(e["type"] for e in drawing["entities"]),
        mm_per_unit=MM_PER_UNIT[units] if units is not None else None,
    )


def by_ezdxf(data: bytes, folder: Path) -> Reading:
    """ezdxf's recovering reader with its audit: the library that wrote the file, so no witness but a second look at R12."""
    document, auditor = ezdxf.recover.read(io.BytesIO(data))
    assert not auditor.has_errors and not auditor.has_fixes, [e.message for e in [*auditor.errors, *auditor.fixes]]
    cuts: list[Cut] = []
    for e in document.modelspace().query('*[layer=="CUT"]'):
        if e.dxftype() == "CIRCLE":
            cuts.append(_circle(e.dxf.center.x, e.dxf.center.y, e.dxf.radius))
        elif e.dxftype() == "LWPOLYLINE":
            cuts.append(_bulged([(p[0], p[1], p[2]) for p in e.get_points("xyb")], bool(e.closed)))  # type: ignore[attr-defined]
        else:
            rows = [(v.dxf.location.x, v.dxf.location.y, float(v.dxf.get("bulge", 0.0))) for v in e.vertices]  # type: ignore[attr-defined]
            cuts.append(_bulged(rows, bool(e.is_closed)))  # type: ignore[attr-defined]
    space = list(document.modelspace())
    return Reading(
        cuts=tuple(cuts),
        centres=tuple((e.dxf.location.x, e.dxf.location.y) for e in space if e.dxf.layer == "CENTRE"),
        layers=frozenset(e.dxf.layer for e in space),
        kinds=frozenset(e.dxftype() for e in space),
        mm_per_unit=MM_PER_UNIT[document.units] if document.dxfversion > "AC1009" else None,
    )


def _circle(x: float, y: float, r: float) -> Cut:
    return Cut(closed=True, area=math.pi * r * r, perimeter=math.tau * r, circle=(x, y, r), key=(round(x, 6), round(y, 6), round(r, 6)))


def _bulged(rows: list[tuple[float, float, float]], closed: bool) -> Cut:
    """Area and length of a polyline with bulges: chords, and for each arc of sweep w = 4 atan(bulge) its segment r^2 (w - sin w) / 2."""
    area = length = 0.0
    points = [(x, y) for x, y, _ in rows]
    pairs = list(zip(rows, rows[1:] + rows[:1], strict=True))
    for (ax, ay, bulge), (bx, by, _) in pairs if closed else pairs[:-1]:
        chord = math.hypot(bx - ax, by - ay)
        area += (ax * by - bx * ay) / 2
        if bulge:
            sweep, radius = 4 * math.atan(bulge), chord * (1 + bulge**2) / (4 * abs(bulge))
            area += radius**2 / 2 * (sweep - math.sin(sweep))
            length += radius * abs(sweep)
        else:
            length += chord
    return Cut(closed=closed, area=abs(area), perimeter=length, circle=None, key=_key(points))


Reader = Callable[[bytes, Path], Reading]


@dataclass(frozen=True, kw_only=True)
class Wanted:
    """What a file should show, in mm, from closed forms."""

    areas_mm2: tuple[tuple[float, float], ...]  #: of every contour that is no circle; and of all its arcs' sectors, r^2 |w| / 2 each
    circles_mm: tuple[tuple[float, float, float], ...]  #: x, y, radius
    centres_mm: tuple[Point, ...]


def problems(reading: Reading, wanted: Wanted, mm_per_unit: float) -> list[str]:
    """How `reading` differs: centres and radii by more than 0.001 mm (asked of this project), areas by more than rounding and chords."""
    out: list[str] = []
    if reading.mm_per_unit not in (None, mm_per_unit):
        out.append(f"units: {reading.mm_per_unit} mm")
    if reading.layers - {"CUT", "CENTRE", "BEND", "MARK", "NOTE"}:
        out.append(f"layers: {sorted(reading.layers)}")
    out += ["not closed" for c in reading.cuts if not c.closed]
    out += [f"{n} times the same" for n in Counter((c.circle is None, c.key) for c in reading.cuts).values() if n > 1]
    k = mm_per_unit
    areas = sorted(c.area * k * k for c in reading.cuts if c.circle is None)
    if len(areas) != len(wanted.areas_mm2):
        out.append(f"{len(areas)} contours, not {len(wanted.areas_mm2)}")
    else:
        pairs = zip(areas, sorted(wanted.areas_mm2), strict=True)
        out += [f"area {a}, not {b}" for a, (b, sectors) in pairs if abs(a - b) > reading.chord_share * sectors + 1e-9 * b + 1e-6]
    circles = [tuple(v * k for v in c.circle) for c in reading.cuts if c.circle is not None]
    out += _nearest(circles, wanted.circles_mm, "circle")
    out += _nearest([(x * k, y * k) for x, y in reading.centres], wanted.centres_mm, "centre")
    return out


def _nearest(found: list[tuple[float, ...]], wanted: tuple[tuple[float, ...], ...], what: str) -> list[str]:
    if len(found) != len(wanted):
        return [f"{len(found)} of {what}, not {len(wanted)}"]
    pairs = zip(sorted(found), sorted(wanted), strict=True)
    return [f"{what} {f}, not {w}" for f, w in pairs if max(abs(p - q) for p, q in zip(f, w, strict=True)) > 0.001]
