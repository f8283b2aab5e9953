"""The tables that go into the output folder, each one a CSV that a fabricator opens in a spreadsheet."""

from __future__ import annotations

from collections.abc import Iterable, Sequence
from typing import TypeVar

from generator.record import Record
from generator.show import Cell, Column, Section, Table
from parts.flat import Flat
from parts.formed import formed
from parts.frame.frame import Frame
from parts.frame.rail import Rail
from parts.frame.section import RailSide
from parts.piece import Drilling, Piece, Removal
from parts.sheet import Placement, Vec3

Item = TypeVar("Item", Drilling, Removal)
SIDES: tuple[RailSide, ...] = ("left", "right")


def sections(records: Sequence[Record], frame: Frame) -> tuple[Section, ...]:
    """All tables of a run, grouped as they are printed."""
    return (
        Section(title="Cut list", tables=(cut_list(records),)),
        Section(
            title="Flat patterns",
            tables=(holes(records), bends(records)),
            notes=(
                "x and y are those of the DXF file, from the lower left corner of the box round the flat pattern. Flat sizes hold once the "
                "shop has confirmed its bend rule.",
            ),
        ),
        Section(title="Hardware", tables=(hardware(records),), notes=_not_listed(records)),
        Section(
            title="Work on the frame",
            tables=(drilling(records), removal(records), placing(records, frame), fitting(records)),
            notes=(
                "Tape lengths run along the rail's upper corner; from there what is up or down is laid off square to the rail, not plumb.",
            ),
        ),
    )


def parts_section(pieces: Sequence[Piece], flats: Sequence[Flat]) -> Section:
    """What a job comes to: one row a part."""
    columns = (
        Column(name="part"),
        Column(name="family"),
        Column(name="side"),
        Column(name="quantity"),
        Column(name="material"),
        Column(name="thickness", unit="mm", digits=2),
        Column(name="bends"),
        Column(name="holes"),
    )
    rows = tuple(
        (p.id, p.family, p.side, p.quantity, p.grade, f.thickness_mm, len(f.bends), len(f.holes))
        for p, f in zip(pieces, flats, strict=True)
    )
    notes = tuple(f"{', '.join(ids)}: {note}" for note, ids in _said(pieces).items())
    return Section(title="Parts", tables=(Table(name="parts", title="", columns=columns, rows=rows, empty="no parts"),), notes=notes)


def cut_list(records: Sequence[Record]) -> Table:
    """One row a part: what to cut, out of what, how often."""
    columns = (
        Column(name="part"),
        Column(name="file"),
        Column(name="quantity"),
        Column(name="material"),
        Column(name="thickness", unit="mm", digits=2),
        Column(name="blank length", unit="mm", digits=1, tape=True),
        Column(name="blank width", unit="mm", digits=1, tape=True),
        Column(name="bends"),
        Column(name="pierces"),
        Column(name="cut length", unit="mm", digits=0),
        Column(name="flat area", unit="mm2", digits=0),
        Column(name="mass each", unit="kg", digits=2),
        Column(name="mass all", unit="kg", digits=2),
    )
    return Table(name="cut_list", title="What to cut", columns=columns, rows=tuple(_cut_row(r) for r in records), empty="no parts")


def _cut_row(record: Record) -> tuple[Cell, ...]:
    x0, y0, x1, y1 = record.flat.contour.box
    long, short = sorted((x1 - x0, y1 - y0), reverse=True)
    piece, flat = record.piece, record.flat
    return (
        piece.id, record.dxf_file, piece.quantity, piece.grade, flat.thickness_mm, long, short, len(flat.bends), record.pierces,
        record.cut_length_mm, flat.area_mm2, record.mass_kg, record.mass_kg * piece.quantity,
    )  # fmt: skip


def holes(records: Sequence[Record]) -> Table:
    """One row an opening, in the flat pattern."""
    columns = (
        Column(name="part"),
        Column(name="hole"),
        Column(name="kind"),
        Column(name="made by"),
        Column(name="diameter or width", unit="mm"),
        Column(name="length", unit="mm"),
        Column(name="angle", unit="deg"),
        Column(name="x", unit="mm", tape=True),
        Column(name="y", unit="mm", tape=True),
        Column(name="for"),
    )
    rows = tuple(
        (
            r.piece.id, h.name, h.kind, "cutting" if h in r.cut_openings else "drilling: too small to cut", h.diameter_mm,
            *_long(h.kind, h.length_mm, h.angle_deg), h.x_mm, h.y_mm, h.purpose,
        )
        for r in records
        for h in r.flat.holes
    )  # fmt: skip
    return Table(name="holes", title="Holes", columns=columns, rows=rows, empty="no holes")


def _long(kind: str, length_mm: float, angle_deg: float) -> tuple[Cell, Cell]:
    return (None, None) if kind == "round" else (length_mm, angle_deg)


def bends(records: Sequence[Record]) -> Table:
    """One row a bend: the brake's settings and where its line runs in the flat pattern."""
    columns = (
        Column(name="part"),
        Column(name="bend"),
        Column(name="direction"),
        Column(name="angle", unit="deg", digits=2),
        Column(name="inside radius", unit="mm", digits=2),
        Column(name="K"),
        Column(name="length", unit="mm", digits=1, tape=True),
        Column(name="line from x", unit="mm", tape=True),
        Column(name="line from y", unit="mm", tape=True),
        Column(name="line to x", unit="mm", tape=True),
        Column(name="line to y", unit="mm", tape=True),
    )
    rows = tuple(
        (
            r.piece.id, b.name, "up, towards the marked face" if b.angle_deg > 0 else "down, away from the marked face", abs(b.angle_deg),
            b.inside_radius_mm, b.k_factor, b.length_mm, *b.line[0], *b.line[1],
        )
        for r in records
        for b in r.flat.bends
    )  # fmt: skip
    return Table(name="bends", title="Bends", columns=columns, rows=rows, empty="no bends")


def hardware(records: Sequence[Record]) -> Table:
    """One row a designation, summed over the kit: what to buy."""
    wanted: dict[str, tuple[int, list[str], list[str]]] = {}
    for record in records:
        for item in record.piece.hardware:
            count, uses, parts = wanted.get(item.designation, (0, [], []))
            wanted[item.designation] = (count + item.quantity, uses, parts)
            _once(uses, item.use)
            _once(parts, record.piece.id)
    columns = (Column(name="item"), Column(name="quantity"), Column(name="for"), Column(name="parts"))
    rows = tuple((name, count, "; ".join(uses), ", ".join(parts)) for name, (count, uses, parts) in sorted(wanted.items()))
    return Table(name="hardware", title="What to buy", columns=columns, rows=rows, empty="no bought-in items")


def _not_listed(records: Sequence[Record]) -> tuple[str, ...]:
    seats = [r.piece.id for r in records if any(s.points for s in r.piece.seats)]
    if not seats:
        return ()
    return (f"Not listed: bolts for what sits on {', '.join(seats)}. Their size and number are told under fitting.",)


def drilling(records: Sequence[Record]) -> Table:
    """One row a hole to drill or open out in the frame itself."""
    columns = (
        Column(name="rail"),
        Column(name="face"),
        Column(name="hole"),
        Column(name="diameter", unit="mm", digits=2),
        Column(name="there now", unit="mm", digits=2),
        Column(name="measured from"),
        Column(name="along the rail, + rearward", unit="mm", digits=1, tape=True),
        Column(name="up from the lower outside face", unit="mm", digits=1, tape=True),
        Column(name="parts"),
        Column(name="why"),
    )
    rows = tuple(
        (d.rail, d.face, d.name, d.diameter_mm, d.existing_mm, d.datum, d.along_mm, d.up_mm, parts, d.why)
        for d, parts in _shared((d, r.piece.id) for r in records for d in r.piece.drilling)
    )
    return Table(name="drilling", title="To drill in the frame", columns=columns, rows=rows, empty="nothing to drill in the frame")


def removal(records: Sequence[Record]) -> Table:
    """One row a thing that comes off the frame first."""
    columns = (
        Column(name="what"),
        Column(name="name"),
        Column(name="where"),
        Column(name="x", unit="mm", digits=1, tape=True),
        Column(name="y", unit="mm", digits=1, tape=True),
        Column(name="z", unit="mm", digits=1, tape=True),
        Column(name="how"),
        Column(name="parts"),
        Column(name="why"),
    )
    rows = tuple(
        (m.what, m.name, m.where, *m.point, m.how, parts, m.why)
        for m, parts in _shared((m, r.piece.id) for r in records for m in r.piece.removals)
    )
    return Table(name="removal", title="To take off the frame first", columns=columns, rows=rows, empty="nothing comes off the frame")


def placing(records: Sequence[Record], frame: Frame) -> Table:
    """One row a piece as it goes on its rail: between which tape lengths, how far down and off the web. What spans the rails has none."""
    columns = (
        Column(name="part"),
        Column(name="rail"),
        Column(name="tape from"),
        Column(name="its front", unit="mm", digits=1, tape=True),
        Column(name="its rear", unit="mm", digits=1, tape=True),
        Column(name="its top, square down from the rail's upper corner", unit="mm", digits=1, tape=True),
        Column(name="its bottom, square down from there", unit="mm", digits=1, tape=True),
        Column(name="off the web's outside, from", unit="mm", digits=1),
        Column(name="to", unit="mm", digits=1),
    )
    rows = tuple(
        (r.piece.id, *_placed(frame.rail(side), formed(r.piece.part).points(), at))
        for r in records
        for at in r.piece.placements
        for side in SIDES
        if r.piece.side == side or (r.piece.side == "both" and (at.origin[1] < 0) == (side == "left"))
    )
    return Table(name="placing", title="Where it goes", columns=columns, rows=rows, empty="nothing lies along a rail")


def _placed(rail: Rail, points: Iterable[Vec3], at: Placement) -> tuple[Cell, ...]:
    """As drilling is laid off: tape lengths run along the upper corner from a station, + rearward, to the foot of a square; downs are
    square to the rail. Off the web, + is the section's open side."""
    found = [rail.szo(at.point(*p)) for p in points]
    feet = [rail.profile.upper.project((s, z)) for s, z, _ in found]
    front, rear = (min(max(end(tape for tape, _ in feet), 0.0), rail.tape_length_mm) for end in (min, max))
    datum, along = rail.laid_off(front)
    downs, offs = [-left for _, left in feet], [o for _, _, o in found]
    return rail.name, datum, along, along + rear - front, min(downs), max(downs), min(offs), max(offs)


def fitting(records: Sequence[Record]) -> Table:
    """What to know about each part when it goes on: heights, gaps, order of bends, what was left out."""
    rows = tuple((", ".join(ids), note) for note, ids in _said([r.piece for r in records]).items())
    columns = (Column(name="parts"), Column(name="note"))
    return Table(name="fitting", title="What to know when fitting", columns=columns, rows=rows, empty="nothing")


def _said(pieces: Iterable[Piece]) -> dict[str, list[str]]:
    """Each note once, with the parts that it is about."""
    said: dict[str, list[str]] = {}
    for piece in pieces:
        for note in piece.notes:
            _once(said.setdefault(note, []), piece.id)
    return said


def _shared(pairs: Iterable[tuple[Item, str]]) -> list[tuple[Item, str]]:
    """The same work asked for by several parts is one row that names them all."""
    wanted: dict[Item, list[str]] = {}
    for item, part in pairs:
        _once(wanted.setdefault(item, []), part)
    return [(item, ", ".join(parts)) for item, parts in wanted.items()]


def _once(into: list[str], text: str) -> None:
    if text and text not in into:
        into.append(text)
