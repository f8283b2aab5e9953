"""Flat patterns as DXF files for a cutting shop: the only importer of ezdxf, so whoever calls it imports it late.

Drawn finished size, as seen from the top face: the shop adds kerf, lead-ins and order. Group codes and header variables after the
DXF Reference, editions for R12 and 2010. The layers are described in `generator.dxf_tags`, which reads every file back.
"""

from __future__ import annotations

import io
import logging
import math
import textwrap
from collections.abc import Iterable, Iterator
from contextlib import contextmanager
from dataclasses import dataclass
from typing import TYPE_CHECKING

from ezdxf._options import options
from ezdxf.enums import InsertUnits
from ezdxf.filemanagement import new

from generator.draw.strokes import text_strokes, text_width
from generator.dxf_tags import (
    LAYERS,
    MM_PER_UNIT,
    SHORTEST_MM,
    VERSIONS,
    centre_points,
    is_drilled,
)
from parts.errors import BadInput, Fault, quoted
from parts.flat import Flat, FlatBend
from parts.holes import Hole
from parts.outline import Contour, Point

if TYPE_CHECKING:
    from ezdxf.document import Drawing
    from ezdxf.layouts.layout import Modelspace

FARTHEST_MM = 100_000.0  #: no part of a road vehicle's frame lies farther from its own origin
DIGITS = 9  #: after the point: a thousandth of what a shared point may differ by, and no rounding noise in the file
LONGEST_TEXT = 250  #: R12 holds 255 characters in a string
COLOUR = 7

NOTE_SHARE = 0.01  #: height of notes against the part's length, so that both can be read on one screen
NOTE_MM = (3.0, 12.0)  #: but no lower and no higher
NOTE_LETTERS = 90  #: in one line of notes
CROSS_MM = 3.0  #: arm of the etched cross where a hole has to be drilled

logging.getLogger("ezdxf").addHandler(logging.NullHandler())  # it would tell the user that R12 holds no units: our notes say it

#: dash, - gap, 0 dot; lengths in mm
_LINETYPES: dict[str, tuple[str, tuple[float, ...]]] = {
    "CHAIN": ("long dash, dot", (12.0, -2.0, 0.0, -2.0)),
    "DASHED": ("dashes", (6.0, -3.0)),
    "DOUBLE_CHAIN": ("long dash, two dots", (12.0, -2.0, 0.0, -2.0, 0.0, -2.0)),
    "LONG_DASHED": ("dashes longer than a letter is high", (30.0, -2.0)),
}


def flat_dxf(
    flat: Flat,
    part_id: str,
    *,
    units: str = "mm",
    version: str = "R2010",
    least_hole_mm: float = 0.0,
    notes: tuple[str, ...] = (),
) -> bytes:
    """One flat pattern as a DXF file; the same arguments give the same bytes.

    Args:
        flat: in mm.
        part_id: shown in the first note; etched only where the flat has a label that says so.
        units: "mm" or "in": of the coordinates and of the header.
        version: "R2010", or "R12" for old machines (no lightweight polylines, and units only said in a comment and a note).
        least_hole_mm: smallest opening that the process can cut; smaller ones leave CUT and become crosses to drill.
        notes: further lines below the part, such as material and quantity.

    Raises:
        BadInput: a number is not finite, negative where it cannot be, or out of reach; an edge is too short to cut; two openings
            are the same; units or version are unknown.
    """
    faults = [*_asked(units, version, least_hole_mm), *_flat_faults(flat)]
    if faults:
        raise BadInput(f.inside(f"part {part_id}") for f in faults)
    with _no_clock():
        x0, y0, x1, y1 = flat.contour.box
        note_mm = min(NOTE_MM[1], max(NOTE_MM[0], NOTE_SHARE * max(x1 - x0, y1 - y0)))
        sheet = _Sheet.start(units, version, note_mm)
        for hole in flat.holes:
            sheet.hole(hole, least_hole_mm)
        sheet.contour(flat.contour)
        for bend in flat.bends:
            sheet.bend(bend)
        sheet.etch(_strokes(flat))
        sheet.notes((*_notes(flat, part_id, units, least_hole_mm), *notes), (x0, y0))
        return sheet.finish()


@contextmanager
def _no_clock() -> Iterator[None]:
    """Keeps the time of day and random ids out of what ezdxf makes and writes."""
    before = options.write_fixed_meta_data_for_testing
    options.write_fixed_meta_data_for_testing = True
    try:
        yield
    finally:
        options.write_fixed_meta_data_for_testing = before


def _notes(flat: Flat, part_id: str, units: str, least_hole_mm: float) -> Iterator[str]:
    yield f"part {part_id}"
    yield f"thickness {_size(flat.thickness_mm, units)}; drawn in {'inches' if units == 'in' else 'mm'}, finished size, no kerf"
    if flat.bends:
        yield "bends seen from this face: UP towards you, DOWN away; flat size is advice until the shop confirms its K"
    small = sorted({_hole_size(h, units) for h in flat.holes if is_drilled(h, least_hole_mm)})
    if small:
        yield f"too small to cut, drill at the etched crosses: {', '.join(small)}"
    other = [m.name for m in flat.marks if m.face != "top"] + [quoted(m.text) for m in flat.labels if m.face != "top"]
    if other:
        yield f"to be marked by hand on the other face: {', '.join(other)}"


def _size(mm: float, units: str) -> str:
    return f"{mm / 25.4:.3f} in" if units == "in" else f"{round(mm, 3):g} mm"


def _hole_size(hole: Hole, units: str) -> str:
    if hole.kind == "round":
        return f"dia {_size(hole.diameter_mm, units)}"
    return f"{hole.kind} {_size(hole.diameter_mm, units)} x {_size(hole.length_mm, units)}"


def _strokes(flat: Flat) -> list[tuple[Point, ...]]:
    """What is etched on the face that is up: the other one is out of the machine's reach."""
    strokes = [s for m in flat.marks if m.face == "top" for s in m.strokes]
    for label in flat.labels:
        if label.face == "top":
            strokes.extend(text_strokes(label.text, label.x_mm, label.y_mm, label.height_mm, label.angle_deg))
    return strokes


@dataclass(kw_only=True)
class _Sheet:
    """A document being drawn. Lengths come in as mm and are turned into its units here, once."""

    document: Drawing
    space: Modelspace
    per_unit: float
    version: str
    units: str
    note_mm: float  #: height of letters in notes
    box: list[float]
    seen: set[tuple[Point, ...]]

    @staticmethod
    def start(units: str, version: str, note_mm: float) -> _Sheet:
        code = InsertUnits.Inches if units == "in" else InsertUnits.Millimeters
        document = new(VERSIONS[version], units=int(code))
        space = document.modelspace()
        per_unit = MM_PER_UNIT[units]
        for name, (text, pattern) in _LINETYPES.items():
            lengths = [_tidy(v / per_unit) for v in pattern]
            document.linetypes.add(name, [_tidy(sum(map(abs, lengths))), *lengths], description=text)
        for name, linetype in LAYERS.items():
            document.layers.add(name, color=COLOUR, linetype="Continuous" if linetype == "CONTINUOUS" else linetype)
        if version != "R12":
            space.units = code  # left at "no unit" by the line above
            document.header["$LASTSAVEDBY"] = "ladderframe"
        far = math.inf
        return _Sheet(
            document=document,
            space=space,
            per_unit=per_unit,
            version=version,
            units=units,
            note_mm=note_mm,
            box=[far, far, -far, -far],
            seen=set(),
        )

    def length(self, mm: float) -> float:
        return _tidy(mm / self.per_unit)

    def point(self, p: Point) -> Point:
        x, y = self.length(p[0]), self.length(p[1])
        self.reach(x, y)
        return x, y

    def reach(self, x: float, y: float) -> None:
        box = self.box
        box[0], box[1], box[2], box[3] = min(box[0], x), min(box[1], y), max(box[2], x), max(box[3], y)

    def polyline(self, points: Iterable[Point], bulges: Iterable[float], layer: str, *, closed: bool) -> None:
        rows = [(*self.point(p), _tidy(b)) for p, b in zip(points, bulges, strict=True)]
        if self.version == "R12":
            self.space.add_polyline2d(rows, format="xyb", close=closed, dxfattribs={"layer": layer})
        else:
            self.space.add_lwpolyline(rows, format="xyb", close=closed, dxfattribs={"layer": layer})

    def contour(self, contour: Contour) -> None:
        x0, y0, x1, y1 = contour.box
        self.point((x0, y0))
        self.point((x1, y1))
        self.polyline(contour.points, contour.bulges, "CUT", closed=True)

    def hole(self, hole: Hole, least_hole_mm: float) -> None:
        drilled = is_drilled(hole, least_hole_mm)
        if drilled:
            for x, y in centre_points(hole, least_hole_mm):
                self.etch([((x - CROSS_MM, y), (x + CROSS_MM, y)), ((x, y - CROSS_MM), (x, y + CROSS_MM))])
        elif hole.kind == "round":
            self.space.add_circle(self.point(hole.centre), self.length(hole.diameter_mm / 2), dxfattribs={"layer": "CUT"})
        else:
            self.contour(hole.contour())
        for p in centre_points(hole, least_hole_mm):
            self.space.add_point(self.point(p), dxfattribs={"layer": "CENTRE"})

    def etch(self, strokes: Iterable[tuple[Point, ...]]) -> None:
        """Each stroke once, however often it was asked for, and none of no length."""
        for stroke in strokes:
            placed = tuple((self.length(x), self.length(y)) for x, y in stroke)
            if placed in self.seen or placed[::-1] in self.seen or len(set(placed)) < 2:
                continue
            self.seen.add(placed)
            if len(placed) > 2 and placed[0] == placed[-1]:
                for part in (stroke[:2], stroke[1:]):  # in two, so that no stroke closes on itself
                    self.polyline(part, [0.0] * len(part), "MARK", closed=False)
            else:
                self.polyline(stroke, [0.0] * len(stroke), "MARK", closed=False)

    def bend(self, bend: FlatBend) -> None:
        (ax, ay), (bx, by) = bend.line
        self.space.add_line(self.point((ax, ay)), self.point((bx, by)), dxfattribs={"layer": "BEND"})
        way = "UP" if bend.angle_deg > 0 else "DOWN"
        angle = f"{round(abs(bend.angle_deg), 2):g} deg {way}"
        text = f"{angle}, inside radius {_size(bend.inside_radius_mm, self.units)}, K {round(bend.k_factor, 4):g}"
        turn = math.atan2(by - ay, bx - ax)
        if not -math.pi / 2 + 1e-9 < turn <= math.pi / 2 + 1e-9:
            turn += -math.pi if turn > 0 else math.pi
        back, up = text_width(text, self.note_mm) / 2, self.note_mm / 2
        cos, sin = math.cos(turn), math.sin(turn)
        x, y = (ax + bx) / 2 - back * cos - up * sin, (ay + by) / 2 - back * sin + up * cos
        self.text(text, (x, y), math.degrees(turn))

    def notes(self, lines: Iterable[str], corner: Point) -> None:
        """Below the part, whose lower left corner is given."""
        wrapped = [w for line in lines for w in textwrap.wrap(_printable(line), NOTE_LETTERS)]
        for i, line in enumerate(wrapped):
            self.text(line, (corner[0], corner[1] - (3.0 + 1.6 * i) * self.note_mm), 0.0)

    def text(self, text: str, at: Point, angle_deg: float) -> None:
        height_mm = self.note_mm
        shown = _printable(text)[:LONGEST_TEXT]
        insert = self.point(at)
        reach = text_width(shown, height_mm)
        turn = math.radians(angle_deg)
        for along, up in ((reach, 0.0), (reach, height_mm), (0.0, height_mm)):
            self.point((at[0] + along * math.cos(turn) - up * math.sin(turn), at[1] + along * math.sin(turn) + up * math.cos(turn)))
        attributes = {"layer": "NOTE", "insert": insert, "height": self.length(height_mm), "rotation": _tidy(angle_deg)}
        self.space.add_text(shown, dxfattribs=attributes)

    def finish(self) -> bytes:
        document, (x0, y0, x1, y1) = self.document, self.box
        self.space.reset_extents((x0, y0, 0.0), (x1, y1, 0.0))
        self.space.reset_limits((x0, y0), (x1, y1))
        document.set_modelspace_vport(1.1 * max(y1 - y0, (x1 - x0) / 2), ((x0 + x1) / 2, (y0 + y1) / 2))
        if self.version != "R12":
            # ezdxf adds these from a set, whose order changes with the hash seed
            document.classes.add_required_classes(document.dxfversion)
            document.classes.classes = dict(sorted(document.classes.classes.items()))
        stream = io.StringIO()
        document.write(stream)
        text = stream.getvalue()
        if self.version == "R12":
            text = f"999\nunits: {'inches' if self.units == 'in' else 'mm'}\n{text}"
        return document.encode(text)


def _tidy(value: float) -> float:
    return round(value, DIGITS) + 0.0  # -0.0 + 0.0 is 0.0


def _printable(text: str) -> str:
    """One line in which nothing is a control code to a DXF reader: %% and ^ would be."""
    return "".join(c if c.isprintable() else " " for c in text).replace("%%", "% %").replace("^", "'").replace("\\U+", "U+")


def _asked(units: str, version: str, least_hole_mm: float) -> Iterator[Fault]:
    if units not in MM_PER_UNIT:
        yield Fault(where="", field="dxf_units", value=quoted(units), limit="must be one of " + ", ".join(MM_PER_UNIT))
    if version not in VERSIONS:
        yield Fault(where="", field="dxf_version", value=quoted(version), limit="must be one of " + ", ".join(VERSIONS))
    if not 0.0 <= least_hole_mm <= FARTHEST_MM:
        yield Fault(where="", field="smallest hole", value=f"{least_hole_mm:g} mm", limit=f"must be 0 to {FARTHEST_MM:g} mm")


def _flat_faults(flat: Flat) -> Iterator[Fault]:
    """ezdxf saves NaN, infinity and negative radii without a word, so they are stopped here."""
    yield from _numbers("thickness", (flat.thickness_mm,), least=0.0)
    yield from _contour_faults("outline", flat.contour)
    for hole in flat.holes:
        name = f"hole {hole.name}"
        sizes = [hole.diameter_mm] if hole.kind == "round" else [hole.diameter_mm, hole.length_mm]
        bad = [*_numbers(name, hole.centre), *_numbers(name, sizes, least=0.0), *_numbers(name, (hole.angle_deg, hole.corner_radius_mm))]
        yield from bad or ([] if hole.kind == "round" else _contour_faults(name, hole.contour()))
    for i, hole in enumerate(flat.holes):
        for other in flat.holes[:i]:
            if math.dist(hole.centre, other.centre) < SHORTEST_MM:
                limit = f"lies on hole {other.name}: it would be cut twice"
                yield Fault(where="", field=f"hole {hole.name}", limit=limit, remedy="leave one out")
    for bend in flat.bends:
        name = f"bend {bend.name}"
        yield from _numbers(name, (v for p in bend.line for v in p))
        yield from _numbers(name, (bend.angle_deg, bend.k_factor))
        yield from _numbers(name, (bend.inside_radius_mm,), least=-1e-9)
    for mark in flat.marks:
        yield from _numbers(f"mark {mark.name}", (v for s in mark.strokes for p in s for v in p))
    for label in flat.labels:
        yield from _numbers(f"label {quoted(label.text)}", (label.x_mm, label.y_mm, label.angle_deg))
        yield from _numbers(f"label {quoted(label.text)}", (label.height_mm,), least=0.0)


def _numbers(name: str, values: Iterable[float], least: float = -FARTHEST_MM) -> Iterator[Fault]:
    """A fault for each value that is not above `least` and at most FARTHEST_MM (NaN is neither)."""
    for value in values:
        if not least < value <= FARTHEST_MM:
            bound = "positive" if least == 0.0 else "finite"
            yield Fault(where="", field=name, value=f"{value:g}", limit=f"must be a {bound} number up to {FARTHEST_MM:g}")


def _contour_faults(name: str, contour: Contour) -> Iterator[Fault]:
    faults = [*_numbers(name, (v for p in contour.points for v in p)), *_numbers(name, contour.bulges)]
    yield from faults
    if faults:
        return
    for s in contour.segments:
        if s.length < SHORTEST_MM - 1e-6:
            limit = f"has an edge of {s.length:.3f} mm; the shortest that is written is {SHORTEST_MM:g} mm"
            yield Fault(where="", field=name, value=f"near ({s.a[0]:.1f}, {s.a[1]:.1f}) mm", limit=limit)
