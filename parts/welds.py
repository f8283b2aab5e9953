"""Sizes of fillet and plug welds by the rules of the structural codes. Says nothing about whether a weld is strong enough.

AWS D1.1 and AISC 360 are written for steel structures, 3 mm and thicker; for a vehicle's frame they are the nearest there is.
"""

from __future__ import annotations

import math
from dataclasses import dataclass
from typing import Literal

from parts.csv_table import read_table
from parts.errors import BadInput, Fault, Finding, quoted

Answer = Literal["yes", "no", "unknown"]

SLACK = 1e-9  # a limit is met at the limit, whatever the last bit of a sum says
THICKEST_MM = 100.0

PLUG_SOURCE = "AWS D1.1 4.5.5 and 4.11"
PLUG_OVER_THICKNESS_MM = 8.0
PLUG_RANGE_MM = 3.0
PLUG_THICKNESSES = 2.25
PLUG_PITCH_DIAMETERS = 4.0
PLUG_FULL_DEPTH_MM = 16.0
QUENCHED_YIELD_MPA = 485.0

FILLET_SOURCE = "AWS D1.1:2025 table 7.7; AISC 360 J2.2b and table J2.4"
CYCLIC_LEG_MM = 5.0
FULL_EDGE_MM = 6.0
EDGE_LESS_MM = 2.0

GAP_SOURCE = "AWS D1.1, gap under a fillet"
FREE_GAP_MM = 1.6
WIDEST_GAP_MM = 5.0

STITCH_LEGS, STITCH_LEAST_MM = 4.0, 38.0


@dataclass(frozen=True, kw_only=True)
class PlugHole:
    """The hole for a plug weld, and how deep it is filled."""

    least_mm: float
    most_mm: float
    fill_mm: float
    source: str

    def allows(self, diameter_mm: float) -> bool:
        return self.least_mm - SLACK <= diameter_mm <= self.most_mm + SLACK


@dataclass(frozen=True, kw_only=True)
class FilletLeg:
    """The leg to lay. `most_mm` is None where no edge limits it; `built_out`: the edge is built out to the full throat."""

    leg_mm: float
    least_mm: float
    most_mm: float | None
    built_out: bool
    source: str
    notes: tuple[str, ...]


@dataclass(frozen=True, kw_only=True)
class FilletRow:
    """A line of `fillet_leg.csv`; the last has no upper thickness."""

    thickness_most_mm: float | None
    leg_mm: float
    sure: str


def plug_hole_mm(thickness_mm: float) -> PlugHole:
    """The diameters that a plug weld's hole may have, in a plate of this thickness (mm, above 0 to 100).

    At least the thickness + 8 mm; at most that + 3 mm or 2.25 times the depth of weld, the larger. Filled to full depth up to
    16 mm thick, above that to half the thickness but at least 16 mm (the last from memory).

    Raises:
        BadInput: thickness out of range.

    Source: AWS D1.1 4.5.5 and 4.11.
    """
    _thickness("plug weld", "thickness", thickness_mm)
    fill = min(thickness_mm, max(PLUG_FULL_DEPTH_MM, thickness_mm / 2))
    least = thickness_mm + PLUG_OVER_THICKNESS_MM
    return PlugHole(least_mm=least, most_mm=max(least + PLUG_RANGE_MM, PLUG_THICKNESSES * fill), fill_mm=fill, source=PLUG_SOURCE)


def plug_pitch_mm(diameter_mm: float) -> float:
    """The least distance between the centres of two plug welds: 4 diameters. Source: AWS D1.1 4.5.5."""
    return PLUG_PITCH_DIAMETERS * diameter_mm


def plug_findings(
    where: str,
    *,
    diameter_mm: float,
    thickness_mm: float,
    pitch_mm: float | None = None,
    quenched: Answer = "unknown",
    yield_mpa: float | None = None,
) -> tuple[Finding, ...]:
    """What the rules say of plug welds of one size.

    Args:
        where: the part and the row of plugs.
        diameter_mm, thickness_mm: of the hole and of the plate that it is in.
        pitch_mm: the least distance between two centres, None for a single plug.
        quenched: is either steel quenched and tempered? yield_mpa: the higher of the two yield strengths, None if not known.
    """
    hole, found = plug_hole_mm(thickness_mm), []
    if quenched != "no" and (yield_mpa is None or yield_mpa > QUENCHED_YIELD_MPA + SLACK):
        is_it = "quenched and tempered" if quenched == "yes" else "not known not to be quenched and tempered"
        strength = "its yield strength is not known" if yield_mpa is None else f"its yield strength is {yield_mpa:g} MPa"
        found.append(Finding(
            code="plug-quenched", level="stop", where=where, message=f"plug welds on steel that is {is_it}; {strength}",
            value="" if yield_mpa is None else f"{yield_mpa:g} MPa", limit=f"none on quenched steel above {QUENCHED_YIELD_MPA:g} MPa",
            remedy="bolt it through the web, or find out what steel it is", source=PLUG_SOURCE,
        ))  # fmt: skip
    if not hole.allows(diameter_mm):
        limit = f"{hole.least_mm:g} to {hole.most_mm:g} mm"
        message = f"a plug hole of {diameter_mm:g} mm in {thickness_mm:g} mm plate; {limit} asked"
        remedy = f"a hole of {limit}"
        found.append(_warn("plug-hole-size", where, message, f"{diameter_mm:g} mm", limit, remedy))
    if pitch_mm is not None and pitch_mm < plug_pitch_mm(diameter_mm) - SLACK:
        limit = f"at least {plug_pitch_mm(diameter_mm):g} mm (4 diameters)"
        message = f"plug welds {pitch_mm:g} mm apart, centre to centre; {limit} asked"
        found.append(_warn("plug-pitch", where, message, f"{pitch_mm:g} mm", limit, "fewer plugs"))
    return tuple(found)


def _warn(code: str, where: str, message: str, value: str, limit: str, remedy: str) -> Finding:
    # A structural code, not one for vehicle frames: it warns.
    return Finding(code=code, level="warn", where=where, message=message, value=value, limit=limit, remedy=remedy, source=PLUG_SOURCE)


def fillet_leg_mm(part_mm: float, onto_mm: float, low_hydrogen: bool, *, along_edge: bool = True, cyclic: bool = True) -> FilletLeg:
    """The leg of a fillet between two thicknesses: the least that the code asks.

    By the thinner part with a low-hydrogen process, else by the thicker; never needed above the thinner part. Along the part's own
    edge at most its thickness t if t is under 6 mm, else t - 2 mm; where the least is above that, leg = t and the edge is built out
    (from memory).

    Args:
        part_mm: thickness of the part, along whose edge the weld may lie.
        onto_mm: thickness of what it is welded to.
        low_hydrogen: the process is of the low-hydrogen kind.
        along_edge: the weld lies along an edge of the part, as at a plate on a rail's toes.
        cyclic: the load comes and goes, as on every vehicle: 5 mm at least, where the thinner part has that much.

    Raises:
        BadInput: a thickness not above 0 or over 100 mm.

    Source: AWS D1.1:2025 table 7.7 and its notes; AISC 360 J2.2b and table J2.4.
    """
    _thickness("fillet", "thickness", part_mm)
    _thickness("fillet", "thickness of what it is welded to", onto_mm)
    thinner, thicker = min(part_mm, onto_mm), max(part_mm, onto_mm)
    governs = thinner if low_hydrogen else thicker
    row = next(r for r in read_table("fillet_leg", FilletRow) if r.thickness_most_mm is None or governs <= r.thickness_most_mm + SLACK)
    asked = max(row.leg_mm, CYCLIC_LEG_MM) if cyclic else row.leg_mm
    least = min(asked, thinner)
    by = "thinner part, low-hydrogen process" if low_hydrogen else "thicker part, as the process is not low-hydrogen"
    notes = [f"least leg of the table {row.leg_mm:g} mm, by the {by}"]
    if cyclic and thinner < CYCLIC_LEG_MM - SLACK:
        notes.append(
            f"the code's {CYCLIC_LEG_MM:g} mm floor for load that comes and goes cannot be kept on {thinner:g} mm: "
            "a leg above the thinner part is never needed, so the leg is its thickness"
        )
    most = _edge_most_mm(part_mm) if along_edge else None
    built_out = most is not None and least > most + SLACK
    if built_out:
        notes.append(
            f"the least leg of {least:g} mm is more than the {most:g} mm that the edge of {part_mm:g} mm allows: "
            f"leg {part_mm:g} mm, edge built out to the full throat (from memory)"
        )
    leg = part_mm if built_out else least
    return FilletLeg(leg_mm=leg, least_mm=least, most_mm=most, built_out=built_out, source=FILLET_SOURCE, notes=tuple(notes))


def _edge_most_mm(edge_mm: float) -> float:
    return edge_mm if edge_mm < FULL_EDGE_MM - SLACK else edge_mm - EDGE_LESS_MM


def fillet_over_gap(where: str, leg_mm: float, gap_mm: float) -> tuple[float, tuple[Finding, ...]]:
    """The leg that a fillet over a gap needs (mm), and what to know: over 1.6 mm the gap is added, over 5 mm it may not be filled.

    Source: AWS D1.1.
    """
    if not (math.isfinite(gap_mm) and gap_mm >= 0):
        raise BadInput(Fault(where=where, field="gap", value=quoted(gap_mm), limit="must be 0 mm or more"))
    if gap_mm <= FREE_GAP_MM + SLACK:
        return leg_mm, ()
    value, wide = f"{gap_mm:g} mm", gap_mm > WIDEST_GAP_MM + SLACK
    if wide:
        message, limit = f"a gap of {value} under a fillet", f"never over {WIDEST_GAP_MM:g} mm"
        remedy = "make the part larger, or put in a filler piece"
    else:
        message = f"a gap of {value} under a fillet: leg {leg_mm:g} + {gap_mm:g} = {leg_mm + gap_mm:g} mm"
        limit, remedy = f"over {FREE_GAP_MM:g} mm the gap is added to the leg", "close the gap, or weld the larger leg"
    finding = Finding(
        code="fillet-gap", level="stop" if wide else "warn", where=where, message=message, value=value, limit=limit, remedy=remedy,
        source=GAP_SOURCE,
    )  # fmt: skip
    return leg_mm + gap_mm, (finding,)


def stitch_length_mm(leg_mm: float) -> float:
    """The least length of one weld of a stitched seam: 4 legs, and 38 mm. Source: AISC 360 J2.2b."""
    return max(STITCH_LEGS * leg_mm, STITCH_LEAST_MM)


def _thickness(where: str, field: str, value_mm: float) -> None:
    if not (math.isfinite(value_mm) and 0 < value_mm <= THICKEST_MM):
        raise BadInput(Fault(where=where, field=field, value=f"{value_mm:g} mm", limit=f"must be above 0, at most {THICKEST_MM:g} mm"))
