"""Bolts, nuts, washers and the holes for them, by the trade's size: "M12", "1/2 in".

Metric holes follow ISO 273 and inch holes ASME B18.2.8; BS 4186, which differs from M12 to M16, is not mixed in. Every answer
carries its source and how sure it is. Not covered: fine threads, sizes beyond the tables, flange bolts, strength and torque.
"""

from __future__ import annotations

import math
from collections.abc import Iterable
from dataclasses import dataclass
from typing import Literal, Protocol, TypeVar

from parts.bolt_size import BoltSize, bolt_size
from parts.csv_table import Table, read_table
from parts.errors import BadInput, Fault, quoted
from parts.hardware_rows import ClearanceRow, HeadRow, LengthRow, ThreadRow, WasherRow

RAIL_PLAY_MM = 1.0  # VSB 6: a hole in a rail is at most the bolt plus this
THREADS_OUT = 2
SLACK = 1e-9  # a limit is met at the limit, whatever the last bit of a sum says
THINNEST_SHANK_MM, THICKEST_SHANK_MM = 2.0, 40.0
LONGEST_GRIP_MM = 1000.0

Series = Literal["normal", "wide"]
METRIC_FITS = ("fine", "medium", "coarse")
INCH_FITS = ("close", "normal", "loose")


@dataclass(frozen=True, kw_only=True)
class ClearanceHole:
    """A hole that a bolt goes through."""

    diameter_mm: float
    fit: str  #: in the standard's own word: fine, medium, coarse (ISO 273); close, normal, loose (ASME B18.2.8)
    source: str


@dataclass(frozen=True, kw_only=True)
class TapDrill:
    """The drill before a tap."""

    diameter_mm: float
    drill: str  #: as it is asked for at the counter: "10.3 mm", "27/64 in", "#7"
    pitch_mm: float
    source: str


@dataclass(frozen=True, kw_only=True)
class Washer:
    """A plain washer."""

    inside_mm: float
    outside_mm: float
    thickness_mm: float
    series: Series
    source: str


@dataclass(frozen=True, kw_only=True)
class Head:
    """A hexagon bolt's head and its nut: nominal flats and head height, the nut's height as the table gives it."""

    bolt_flats_mm: float
    head_height_mm: float
    nut_flats_mm: float
    nut_height_mm: float
    source: str

    @property
    def across_flats_mm(self) -> float:
        """Of head and nut the larger."""
        return max(self.bolt_flats_mm, self.nut_flats_mm)

    @property
    def across_corners_mm(self) -> float:
        """The circle that head and nut turn in, corners taken as sharp (real ones are rounded a little)."""
        return self.across_flats_mm * 2 / math.sqrt(3)


@dataclass(frozen=True, kw_only=True)
class SpannerRoom:
    """What a hand socket needs round a head or nut."""

    across_flats_mm: float
    socket_diameter_mm: float
    source: str

    @property
    def centre_to_wall_mm(self) -> float:
        """From the bolt's centre to whatever stands beside it, with the socket just touching."""
        return self.socket_diameter_mm / 2


@dataclass(frozen=True, kw_only=True)
class BoltLength:
    """A bolt from the rack. Lengths run from under the head."""

    designation: str  #: "M12 x 40", "1/2 in x 2-1/4 in"
    length_mm: float
    thread_mm: float  #: how much of it is threaded
    full_thread: bool
    stands_out_mm: float  #: beyond the nut
    source: str


@dataclass(frozen=True, kw_only=True)
class RivetHead:
    """A button head."""

    diameter_mm: float
    height_mm: float
    source: str


def clearance_hole(size: str, fit: str = "medium") -> ClearanceHole:
    """The hole that a bolt goes through.

    Args:
        size: "M5" to "M24", "1/4 in" to "5/8 in".
        fit: fine, medium, coarse; or close, normal, loose, which say the same for inch sizes. Either set works for either size.

    Raises:
        BadInput: size or fit not in the table; names the range and the nearest sizes.

    Source: ISO 273; ASME B18.2.8.
    """
    number = _fit_number(fit)
    bolt = bolt_size(size)
    table = read_table(f"clearance_{_system(bolt)}", ClearanceRow)
    word = (METRIC_FITS if bolt.metric else INCH_FITS)[number]
    row = _row(bolt, table, (r for r in table if r.fit == word))
    standard = "ISO 273" if bolt.metric else "ASME B18.2.8"
    return ClearanceHole(diameter_mm=bolt.mm(row.hole), fit=word, source=f"{standard} {word} ({row.sure})")


def rail_hole(size: str) -> ClearanceHole:
    """The hole for a bolt in a *rail*: medium (normal) where that is at most the bolt + 1.0 mm, else fine (close).

    So fine from M12 and close from 1/2 in. Raises as `clearance_hole`. Source: VSB 6.
    """
    most_mm = bolt_size(size).diameter_mm + RAIL_PLAY_MM
    medium = clearance_hole(size, "medium")
    hole = medium if medium.diameter_mm <= most_mm + SLACK else clearance_hole(size, "fine")
    return ClearanceHole(diameter_mm=hole.diameter_mm, fit=hole.fit, source=f"{hole.source}; in a rail at most bolt + 1.0 mm (VSB 6)")


def tap_drill(size: str) -> TapDrill:
    """The drill before a tap: coarse metric thread or UNC. Raises BadInput as `clearance_hole`."""
    bolt = bolt_size(size)
    table = read_table(f"threads_{_system(bolt)}", ThreadRow)
    row = _row(bolt, table, table)
    thread = "ISO coarse thread" if bolt.metric else "UNC thread"
    return TapDrill(
        diameter_mm=bolt.mm(row.drill), drill=row.drill_name, pitch_mm=bolt.mm(row.pitch),
        source=f"tap drill for {thread} ({row.sure})",
    )  # fmt: skip


def washer(size: str, series: Series = "normal") -> Washer:
    """A plain washer: ISO 7089 (normal), ISO 7093-1 (wide); ASME B18.21.1 type A narrow (normal) and wide.

    Raises:
        BadInput: size or series not in the table; names the range and the nearest sizes.
    """
    if series not in ("normal", "wide"):
        raise BadInput(Fault(where="washer", field="series", value=quoted(series), limit="not a series", remedy="write normal or wide"))
    bolt = bolt_size(size)
    table = read_table(f"washers_{_system(bolt)}", WasherRow)
    row = _row(bolt, table, (r for r in table if r.series == series))
    standard = {"normal": "ISO 7089", "wide": "ISO 7093-1"}[series] if bolt.metric else f"ASME B18.21.1 type A {series}"
    return Washer(
        inside_mm=bolt.mm(row.inside), outside_mm=bolt.mm(row.outside), thickness_mm=bolt.mm(row.thickness), series=series,
        source=f"{standard} ({row.sure})",
    )  # fmt: skip


def head(size: str) -> Head:
    """Flats and heights of a hexagon bolt and its nut: ISO 4014 and 4032; ASME B18.2.1 and B18.2.2. Raises BadInput."""
    bolt = bolt_size(size)
    row = _head_row(bolt)
    return Head(
        bolt_flats_mm=bolt.mm(row.bolt_flats), head_height_mm=bolt.mm(row.head_height),
        nut_flats_mm=bolt.mm(row.nut_flats), nut_height_mm=bolt.mm(row.nut_height),
        source=f"{'ISO 4014 and ISO 4032' if bolt.metric else 'ASME B18.2.1 and B18.2.2'} ({row.sure})",
    )  # fmt: skip


def spanner_room(size: str) -> SpannerRoom:
    """The room that a hand socket takes: outside diameter 1.3 x across flats + 1.5 mm, the larger of head and nut.

    Common practice, no source: fitted from memory to ordinary hand sockets of 10 to 36 mm. Thick-walled ones for air tools need more.
    """
    flats = head(size).across_flats_mm
    return SpannerRoom(
        across_flats_mm=flats, socket_diameter_mm=1.3 * flats + 1.5,
        source="hand socket, 1.3 x across flats + 1.5 mm: common practice, no source, from memory",
    )  # fmt: skip


def bolt_length(grip_mm: float, size: str, washers: int = 2) -> BoltLength:
    """The next standard length with at least the nut's height and two threads beyond the grip and the washers.

    Args:
        grip_mm: what is clamped, without washers.
        size: as `clearance_hole`.
        washers: how many plain washers of the normal series lie between head and nut, 0 to 4.

    Raises:
        BadInput: size not in the table, grip not above 0, or no standard length reaches.

    Source: lengths ISO 888, ISO 4014, ISO 4017 (inch: commonly stocked, no source); thread length 2 d + 6 mm up to 125 mm long,
    2 d + 12 mm up to 200, 2 d + 25 mm above (ISO 888), 2 d + 1/4 in up to 6 in, 2 d + 1/2 in above (ASME B18.2.1), from memory;
    two threads standing out: common practice, no source.
    """
    bolt = bolt_size(size)
    row = _head_row(bolt)
    if not (math.isfinite(grip_mm) and 0 < grip_mm <= LONGEST_GRIP_MM):
        raise BadInput(_bad_grip(f"{grip_mm:g} mm", f"a grip lies above 0, at most {LONGEST_GRIP_MM:g} mm"))
    if washers not in range(5):
        raise BadInput(Fault(where="bolt", field="washers", value=quoted(washers), limit="0 to 4 washers"))
    stack_mm = grip_mm + (washers * washer(size).thickness_mm if washers else 0.0) + bolt.mm(row.nut_height)
    least_mm = stack_mm + THREADS_OUT * tap_drill(size).pitch_mm
    lengths = read_table(f"bolt_lengths_{_system(bolt)}", LengthRow)
    stocked = [r for r in lengths if row.shortest <= r.length <= row.longest]
    chosen = next((r for r in stocked if bolt.mm(r.length) >= least_mm - SLACK), None)
    if chosen is None:
        listed = f"{stocked[0].text} to {stocked[-1].text} {'mm' if bolt.metric else 'in'}"
        limit = f"{bolt.name} is listed {listed} long; this needs {least_mm:.1f} mm"
        raise BadInput(_bad_grip(f"{grip_mm:g} mm", limit))
    length_mm = bolt.mm(chosen.length)
    full = length_mm <= _thread_mm(bolt, length_mm) + SLACK or chosen.length < (row.partly_from or 0.0)
    return BoltLength(
        designation=f"{bolt.name} x {chosen.text}{'' if bolt.metric else ' in'}", length_mm=length_mm,
        thread_mm=length_mm if full else _thread_mm(bolt, length_mm), full_thread=full, stands_out_mm=round(length_mm - stack_mm, 6),
        source=f"{lengths.source}; at least two threads beyond the nut: common practice, no source",
    )  # fmt: skip


def rivet_head(shank_mm: float) -> RivetHead:
    """A button head: 1.75 shank diameters across, 0.75 high. Source: ASME B18.1.2 nominal, from memory. Raises BadInput."""
    if not (math.isfinite(shank_mm) and THINNEST_SHANK_MM <= shank_mm <= THICKEST_SHANK_MM):
        limit = f"a rivet's shank is {THINNEST_SHANK_MM:g} to {THICKEST_SHANK_MM:g} mm"
        raise BadInput(Fault(where="rivet", field="diameter", value=f"{shank_mm:g} mm", limit=limit))
    return RivetHead(diameter_mm=1.75 * shank_mm, height_mm=0.75 * shank_mm, source="ASME B18.1.2 button head, nominal (from memory)")


def rivet_head_diameter(shank_mm: float) -> float:
    """Across a button head, in mm; see `rivet_head`."""
    return rivet_head(shank_mm).diameter_mm


class _Sized(Protocol):
    @property
    def size(self) -> str: ...


SizedRow = TypeVar("SizedRow", bound=_Sized)


def _row(bolt: BoltSize, table: Table[SizedRow], rows: Iterable[SizedRow]) -> SizedRow:
    """The row of this size among `rows`, or BadInput with the sizes nearest to it."""
    by_size = {row.size: row for row in rows}
    if bolt.name not in by_size:
        diameters = {size: bolt_size(size).diameter_mm for size in by_size}
        near = sorted(by_size, key=lambda size: (abs(diameters[size] - bolt.diameter_mm), diameters[size]))[:2]
        raise BadInput(Fault(
            where="bolt", field="size", value=quoted(bolt.name), limit=f"not in the table, which covers {table.covers}",
            remedy=f"nearest: {', '.join(sorted(near, key=lambda size: diameters[size]))}",
        ))  # fmt: skip
    return by_size[bolt.name]


def _head_row(bolt: BoltSize) -> HeadRow:
    table = read_table(f"heads_{_system(bolt)}", HeadRow)
    return _row(bolt, table, table)


def _system(bolt: BoltSize) -> str:
    return "metric" if bolt.metric else "inch"


def _fit_number(fit: str) -> int:
    for words in (METRIC_FITS, INCH_FITS):
        if fit in words:
            return words.index(fit)
    known = f"{', '.join(METRIC_FITS)}; inch sizes also {', '.join(INCH_FITS)}"
    raise BadInput(Fault(where="bolt", field="fit", value=quoted(fit), limit="not a fit", remedy=f"write {known}"))


def _thread_mm(bolt: BoltSize, length_mm: float) -> float:
    """The thread of a bolt that is not threaded to its head."""
    steps = ((125.0, 6.0), (200.0, 12.0), (math.inf, 25.0)) if bolt.metric else ((6 * 25.4, 25.4 / 4), (math.inf, 25.4 / 2))
    return 2 * bolt.diameter_mm + next(more for most, more in steps if length_mm <= most + SLACK)


def _bad_grip(value: str, limit: str) -> Fault:
    return Fault(where="bolt", field="grip", value=value, limit=limit, remedy="a larger size, fewer washers, or less to clamp")
