"""A reader of our own for the DXF files we write: it shares no code with the writer, so each file is checked before it is handed out.

Group codes after the DXF Reference (R12 and 2010 editions), ENTITIES, HEADER and TABLES sections. Only ASCII files, only what a flat
pattern holds: LWPOLYLINE, POLYLINE with VERTEX, CIRCLE, POINT, LINE, TEXT; any other entity is reported by its name.
"""

from __future__ import annotations

import math
from collections import Counter
from collections.abc import Iterable, Mapping, Sequence
from dataclasses import dataclass, field

from parts.flat import Flat
from parts.holes import Hole
from parts.outline import Contour, Point

MM_PER_UNIT = {"mm": 1.0, "in": 25.4}
INSUNITS = {"in": "1", "mm": "4"}  #: DXF Reference, header variable $INSUNITS: 1 inches, 4 millimetres
MEASUREMENT = {"in": "0", "mm": "1"}  #: $MEASUREMENT: 0 imperial, 1 metric
VERSIONS = {"R12": "AC1009", "R2010": "AC1024"}  #: $ACADVER

#: layer -> line type. All of one colour: shops read colours as orders of their own.
LAYERS: Mapping[str, str] = {
    "CUT": "CONTINUOUS",
    "CENTRE": "CHAIN",
    "BEND": "DASHED",
    "MARK": "LONG_DASHED",
    "NOTE": "DOUBLE_CHAIN",
}
KINDS: Mapping[str, tuple[str, ...]] = {
    "CUT": ("CIRCLE", "LWPOLYLINE", "POLYLINE"),
    "CENTRE": ("POINT",),
    "BEND": ("LINE",),
    "MARK": ("LWPOLYLINE", "POLYLINE"),
    "NOTE": ("TEXT",),
}
SHORTEST_MM = 0.2  #: shorter segments make a cutting head dwell; none is written
SAME_MM = 1e-4  #: a tenth of the last digit that a cutting table resolves, far above the rounding of what is written

_FLOATS = frozenset((10, 20, 11, 21, 40, 42, 50))


def is_drilled(hole: Hole, least_hole_mm: float) -> bool:
    """True if the cutting process cannot make the opening `hole`: it leaves CUT and becomes a centre to drill."""
    return hole.diameter_mm < least_hole_mm - 1e-9


@dataclass(frozen=True, kw_only=True)
class Entity:
    """One entity in the file's own units. `points`: vertices, ends or the one place; `bulges` as many as points."""

    kind: str
    layer: str
    points: tuple[Point, ...]
    bulges: tuple[float, ...] = ()
    closed: bool = False
    radius: float = 0.0
    text: str = ""
    paper: bool = False

    @property
    def contour(self) -> Contour:
        return Contour(self.points, self.bulges)


@dataclass(frozen=True, kw_only=True)
class Drawing:
    """What a DXF file says: header variables as lists of their values, layers with line type and colour, entities, block contents."""

    header: Mapping[str, tuple[str, ...]]
    layers: Mapping[str, tuple[str, str]]
    linetypes: frozenset[str]
    entities: tuple[Entity, ...]
    in_blocks: int  #: entities that stand in blocks, where a cutting shop may not see them


@dataclass(kw_only=True)
class _Open:
    """An entity being read."""

    kind: str
    layer: str = "0"
    points: list[list[float]] = field(default_factory=list)
    bulges: list[float] = field(default_factory=list)
    ends: list[float] = field(default_factory=lambda: [0.0, 0.0])
    flags: int = 0
    radius: float = 0.0
    text: str = ""
    paper: bool = False

    def take(self, code: int, value: str) -> None:
        if code == 8:
            self.layer = value
        elif code in _FLOATS:
            self._number(code, float(value))
        elif code == 70:
            self.flags = int(value)
        elif code == 67:
            self.paper = int(value) != 0
        elif code == 1:
            self.text = value

    def _number(self, code: int, number: float) -> None:
        if not math.isfinite(number):
            raise ValueError(f"{self.kind} holds {number}")
        if code == 10:
            self.points.append([number, 0.0])
            self.bulges.append(0.0)
        elif code == 20:
            self.points[-1][1] = number
        elif code in (11, 21):
            self.ends[code != 11] = number
        elif code == 42 and self.bulges:
            self.bulges[-1] = number
        elif code == 40:
            self.radius = number

    def close(self, vertices: Sequence[_Open] = ()) -> Entity:
        points, bulges = [(p[0], p[1]) for p in self.points], list(self.bulges)
        if self.kind == "POLYLINE":
            points = [(v.points[0][0], v.points[0][1]) for v in vertices]
            bulges = [v.bulges[0] for v in vertices]
        elif self.kind == "LINE":
            points.append((self.ends[0], self.ends[1]))
            bulges = [0.0, 0.0]
        return Entity(
            kind=self.kind,
            layer=self.layer,
            points=tuple(points),
            bulges=tuple(bulges),
            closed=self.kind == "CIRCLE" or (self.kind.endswith("POLYLINE") and bool(self.flags & 1)),
            radius=self.radius if self.kind == "CIRCLE" else 0.0,
            text=self.text,
            paper=self.paper,
        )


def read_dxf(data: bytes) -> Drawing:
    """Read an ASCII DXF file.

    Raises:
        ValueError: it is not one, or is cut short; the message says where.
    """
    tags = _tags(data)
    sections: dict[str, list[tuple[int, str]]] = {}
    at = 0
    while at < len(tags):
        code, value = tags[at]
        if (code, value) == (0, "SECTION") and at + 1 < len(tags):
            name, start = tags[at + 1][1], at + 2
            while at < len(tags) and tags[at] != (0, "ENDSEC"):
                at += 1
            sections[name] = tags[start:at]
        at += 1
    if not tags or tags[-1] != (0, "EOF"):
        raise ValueError("the file has no end mark: it is cut short")
    if "ENTITIES" not in sections:
        raise ValueError("the file has no ENTITIES section")
    layers, linetypes = _tables(sections.get("TABLES", []))
    return Drawing(
        header=_header(sections.get("HEADER", [])),
        layers=layers,
        linetypes=linetypes,
        entities=_entities(sections["ENTITIES"]),
        in_blocks=sum(1 for e in _entities(sections.get("BLOCKS", [])) if e.kind not in ("BLOCK", "ENDBLK")),
    )


def _tags(data: bytes) -> list[tuple[int, str]]:
    lines = data.decode("utf-8", errors="replace").replace("\r\n", "\n").split("\n")
    if lines and lines[-1] == "":
        lines.pop()
    if len(lines) % 2:
        raise ValueError("the file ends inside a group")
    try:
        return [(c, v) for c, v in zip(map(int, lines[::2]), lines[1::2], strict=True) if c != 999]
    except ValueError as error:
        raise ValueError(f"not a DXF file: {error}") from None


def _header(tags: Iterable[tuple[int, str]]) -> dict[str, tuple[str, ...]]:
    values: dict[str, list[str]] = {}
    name = ""
    for code, value in tags:
        if code == 9:
            name = value
            values[name] = []
        elif name:
            values[name].append(value.strip())
    return {n: tuple(v) for n, v in values.items()}


def _tables(tags: Iterable[tuple[int, str]]) -> tuple[dict[str, tuple[str, str]], frozenset[str]]:
    layers: dict[str, tuple[str, str]] = {}
    linetypes: set[str] = set()
    record, name, linetype, colour = "", "", "", ""
    for code, value in [*tags, (0, "")]:
        if code == 0:
            if record == "LAYER":
                layers[name] = (linetype, colour.strip())
            elif record == "LTYPE":
                linetypes.add(name)
            record, name, linetype, colour = value, "", "", ""
        elif code == 2:
            name = value
        elif code == 6:
            linetype = value
        elif code == 62:
            colour = value
    return layers, frozenset(linetypes)


def _entities(tags: Iterable[tuple[int, str]]) -> tuple[Entity, ...]:
    found: list[tuple[_Open, list[_Open]]] = []
    current: _Open | None = None
    for code, value in tags:
        if code == 0:
            current = _Open(kind=value)
            if value == "VERTEX" and found and found[-1][0].kind == "POLYLINE":
                found[-1][1].append(current)
            elif value != "SEQEND":
                found.append((current, []))
        elif current is not None:
            current.take(code, value)
    return tuple(entity.close(vertices) for entity, vertices in found)


def check_dxf(data: bytes, flat: Flat, *, units: str, version: str, least_hole_mm: float = 0.0) -> list[str]:
    """Read a written file back and hold it against the flat pattern it was written from.

    Args:
        data: the file.
        flat: what it should show.
        units: "mm" or "in", as asked.
        version: "R2010" or "R12", as asked.
        least_hole_mm: smallest opening that the process can cut.

    Returns:
        One sentence a problem; none if the file is as it should be.
    """
    try:
        drawing = read_dxf(data)
        per_unit = MM_PER_UNIT[units]
        return [
            *_header_problems(drawing, units, version, per_unit),
            *_layer_problems(drawing),
            *_entity_problems(drawing, per_unit),
            *_flat_problems(drawing, flat, per_unit, least_hole_mm),
        ]
    except (ValueError, IndexError) as error:
        return [str(error)]


def _header_problems(drawing: Drawing, units: str, version: str, per_unit: float) -> list[str]:
    out: list[str] = []
    wanted = {"$ACADVER": VERSIONS[version]}
    if version != "R12":  # R12 has neither variable
        wanted |= {"$INSUNITS": INSUNITS[units], "$MEASUREMENT": MEASUREMENT[units]}
    for name, value in wanted.items():
        if drawing.header.get(name) != (value,):
            out.append(f"{name} is {' '.join(drawing.header.get(name, ('missing',)))}, not {value}")
    if not drawing.entities:
        return out
    low, high = (tuple(float(v) for v in drawing.header.get(n, ())[:2]) for n in ("$EXTMIN", "$EXTMAX"))
    x0, y0, x1, y1 = extents(drawing.entities)
    slack = SAME_MM / per_unit
    fits = len(low) == 2 and low[0] <= x0 + slack and low[1] <= y0 + slack
    if not (fits and high[0] >= x1 - slack and high[1] >= y1 - slack and max(map(abs, (*low, *high))) < 1e9):
        out.append(f"$EXTMIN and $EXTMAX ({low}, {high}) do not hold what is drawn ({x0:g}, {y0:g} to {x1:g}, {y1:g})")
    return out


def _layer_problems(drawing: Drawing) -> list[str]:
    out: list[str] = []
    for name, linetype in LAYERS.items():
        found = drawing.layers.get(name)
        if found is None:
            out.append(f"layer {name} is not defined")
        elif (found[0].upper(), found[1]) != (linetype, "7"):
            out.append(f"layer {name} has line type {found[0]} and colour {found[1]}, not {linetype} and 7")
    out.extend(f"line type {n} is not defined" for n in LAYERS.values() if n not in {t.upper() for t in drawing.linetypes})
    if drawing.in_blocks:
        out.append(f"{drawing.in_blocks} entities stand in blocks, not in model space")
    return out


def _entity_problems(drawing: Drawing, per_unit: float) -> list[str]:
    out: list[str] = []
    for e in drawing.entities:
        place = f"{e.kind} on layer {e.layer}" + (f" at ({e.points[0][0]:.3f}, {e.points[0][1]:.3f})" if e.points else "")
        if e.kind not in KINDS.get(e.layer, ()):
            out.append(f"{place} does not belong there")
        if e.paper:
            out.append(f"{place} stands in paper space")
        if e.layer == "CUT" and not e.closed:
            out.append(f"{place} is not closed")
        if e.layer == "MARK" and (e.closed or e.points[0] == e.points[-1]):
            out.append(f"{place} closes on itself: a shop may cut it out")
        if e.kind == "CIRCLE" and not e.radius > 0:
            out.append(f"{place} has radius {e.radius:g}")
        if e.kind.endswith("POLYLINE") and e.layer == "CUT":
            shortest = min((s.length for s in e.contour.segments), default=0.0) * per_unit
            if shortest < SHORTEST_MM - SAME_MM:
                out.append(f"{place} has a segment of {shortest:.4f} mm; the shortest allowed is {SHORTEST_MM:g} mm")
    keys = Counter(shape_key(e, SAME_MM / per_unit) for e in drawing.entities if e.kind != "TEXT")
    out.extend(f"{n} times the same {k[0]} on layer {k[1]}" for k, n in keys.items() if n > 1)
    return out


def shape_key(e: Entity, grid: float) -> tuple[str, str, object]:
    """Equal for two entities that draw the same thing on one layer, wherever they start and whichever way they run."""

    def point(p: Point) -> tuple[int, int]:
        return round(p[0] / grid), round(p[1] / grid)

    if e.kind in ("CIRCLE", "POINT", "TEXT"):
        return e.kind, e.layer, (point(e.points[0]), round(e.radius / grid), e.text)
    n = len(e.points)
    last = n if e.closed else n - 1
    pieces = [(point(e.points[i]), point(e.points[(i + 1) % n]), round(e.bulges[i], 6)) for i in range(last)]
    return "polyline", e.layer, tuple(sorted((a, b, bulge) if a <= b else (b, a, -bulge) for a, b, bulge in pieces))


def extents(entities: Iterable[Entity]) -> tuple[float, float, float, float]:
    """The box round everything drawn, arcs by their true reach, a text by where it starts."""
    boxes: list[tuple[float, float, float, float]] = []
    for e in entities:
        if e.closed and e.kind != "CIRCLE":
            boxes.append(e.contour.box)
        else:
            boxes.extend((x - e.radius, y - e.radius, x + e.radius, y + e.radius) for x, y in e.points)
    return min(b[0] for b in boxes), min(b[1] for b in boxes), max(b[2] for b in boxes), max(b[3] for b in boxes)


def _flat_problems(drawing: Drawing, flat: Flat, per_unit: float, least_hole_mm: float) -> list[str]:
    out: list[str] = []
    on = {layer: [e for e in drawing.entities if e.layer == layer] for layer in LAYERS}
    cut_holes = [h for h in flat.holes if not is_drilled(h, least_hole_mm)]

    wanted = [(h.x_mm, h.y_mm, h.diameter_mm / 2) for h in cut_holes if h.kind == "round"]
    found = [(e.points[0][0] * per_unit, e.points[0][1] * per_unit, e.radius * per_unit) for e in on["CUT"] if e.kind == "CIRCLE"]
    out.extend(_unmatched(wanted, found, "round hole"))

    contours = [flat.contour, *(h.contour() for h in cut_holes if h.kind != "round")]
    closed = [e.contour for e in on["CUT"] if e.kind != "CIRCLE" and len(e.points) > 1]
    out.extend(_unmatched([_corners(c, 1.0) for c in contours], [_corners(c, per_unit) for c in closed], "contour"))

    centres = [p for h in flat.holes for p in centre_points(h, least_hole_mm)]
    points = [(e.points[0][0] * per_unit, e.points[0][1] * per_unit) for e in on["CENTRE"]]
    out.extend(_unmatched(centres, points, "centre"))

    lines = [_either_way(*b.line, 1.0) for b in flat.bends]
    drawn_lines = [_either_way(e.points[0], e.points[1], per_unit) for e in on["BEND"]]
    out.extend(_unmatched(lines, drawn_lines, "bend line"))
    return out


def _corners(contour: Contour, per_unit: float) -> tuple[float, ...]:
    """Each corner's place and how far the edge after it rises off its chord: all lengths, so one tolerance holds for all."""
    return tuple(v * per_unit for s in contour.segments for v in (*s.a, s.bulge * s.chord / 2))


def _either_way(a: Point, b: Point, per_unit: float) -> tuple[float, ...]:
    """A line by its middle and slope, the same from either end."""
    (ax, ay), (bx, by) = ((x * per_unit, y * per_unit) for x, y in (a, b))
    return (ax + bx) / 2, (ay + by) / 2, abs(bx - ax), abs(by - ay), (bx - ax) * (by - ay) / max(math.dist(a, b) * per_unit, SAME_MM)


def centre_points(hole: Hole, least_hole_mm: float) -> tuple[Point, ...]:
    """Where a hole gets centre points: its middle; a slot that has to be drilled gets the two ends of its drill's path."""
    if hole.kind != "slot" or not is_drilled(hole, least_hole_mm):
        return (hole.centre,)
    turn, reach = math.radians(hole.angle_deg), (hole.length_mm - hole.diameter_mm) / 2
    dx, dy = reach * math.cos(turn), reach * math.sin(turn)
    return (hole.x_mm - dx, hole.y_mm - dy), (hole.x_mm + dx, hole.y_mm + dy)


def _unmatched(wanted: Sequence[tuple[float, ...]], found: Sequence[tuple[float, ...]], what: str) -> list[str]:
    """Each thing wanted needs one found whose lengths are all the same within `SAME_MM`."""
    left = list(found)
    out: list[str] = []
    for thing in wanted:
        match = next((f for f in left if len(f) == len(thing) and all(abs(p - q) <= SAME_MM for p, q in zip(thing, f, strict=True))), None)
        if match is None:
            out.append(f"no {what} is drawn at {_shown(thing)} mm")
        else:
            left.remove(match)
    out.extend(f"a {what} is drawn at {_shown(f)} mm that should not be there" for f in left)
    return out


def _shown(thing: tuple[float, ...]) -> str:
    return f"({', '.join(f'{v:.3f}' for v in thing[:4])}{', ...' if len(thing) > 4 else ''})"
