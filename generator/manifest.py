"""`manifest.json`: what was made, from what, by which versions, and every number that a program after this one may want."""

from __future__ import annotations

from collections.abc import Iterable, Mapping, Sequence
from dataclasses import asdict
from importlib import metadata
from typing import Any

from generator.job import InputFile
from generator.record import Accepted, Record
from parts.errors import Finding
from parts.flat import FlatBend
from parts.holes import Hole
from parts.sheet import Placement

FORMAT = 1
KIND = "sheet"  #: tubes and bought-in items are other kinds, later


def manifest(
    *,
    job: str,
    frame: str,
    units: str,
    dxf_units: str,
    sources: Sequence[InputFile],
    libraries: Iterable[str],
    findings: Sequence[Finding],
    accepted: Sequence[Accepted],
    left_out: Sequence[str],
    records: Sequence[Record],
    tables: Mapping[str, str],
    assembly: str | None,
) -> dict[str, Any]:
    """The manifest as plain JSON values. Lengths in mm, angles in degrees.

    Args:
        sources: the files that went in.
        libraries: distributions whose version can change a file's bytes.
        left_out: what this run did not make, in words.
        tables: file -> what it lists.
        assembly: the STEP file of the whole kit on its frame, where it was made.
    """
    return {
        "format": FORMAT,
        "job": job,
        "frame": frame,
        "units": {"job": units, "dxf": dxf_units, "step": "mm", "manifest": "mm, deg, kg"},
        "versions": versions(libraries),
        "inputs": [asdict(s) for s in sources],
        "findings": [asdict(f) for f in findings],
        "accepted": [{"code": a.code, "why": a.why} for a in accepted],
        "left_out": list(left_out),
        "parts": [part_entry(r) for r in records],
        "assembly": assembly,
        "files": _files(records, tables, assembly),
    }


def _files(records: Sequence[Record], tables: Mapping[str, str], assembly: str | None) -> dict[str, str]:
    """File -> what it is; the output engine adds sizes and checksums."""
    flats = {r.dxf_file: f"flat pattern of {r.piece.id}" for r in records}
    models = {r.step_file: f"formed part {r.piece.id}" for r in records if r.step_file is not None}
    drawings = {r.drawing_file: f"picture of {r.piece.id}" for r in records}
    return {**flats, **models, **drawings, **tables, **({assembly: "the kit on its frame"} if assembly is not None else {})}


def versions(libraries: Iterable[str]) -> dict[str, str]:
    """Distribution -> version, for those that are installed."""
    found: dict[str, str] = {}
    for name in ("ladderframe", *libraries):
        try:
            found[name] = metadata.version(name)
        except metadata.PackageNotFoundError:
            found[name] = "not installed"
    return found


def part_entry(record: Record) -> dict[str, Any]:
    """One part, as design and shop need it."""
    piece, flat = record.piece, record.flat
    return {
        "id": piece.id,
        "kind": KIND,
        "family": piece.family,
        "side": piece.side,
        "quantity": piece.quantity,
        "material": piece.grade,
        "thickness_mm": flat.thickness_mm,
        "density_kg_m3": record.density_kg_m3,
        "flat_area_mm2": flat.area_mm2,
        "cut_length_mm": record.cut_length_mm,
        "pierces": record.pierces,
        "volume_mm3": record.volume_mm3,
        "mass_kg": record.mass_kg,
        "bends": [_bend_entry(b) for b in flat.bends],
        "holes": [_hole_entry(h) for h in flat.holes],
        "placements": [_placement_entry(p) for p in piece.placements],
        "notes": list(piece.notes),
        "files": {"dxf": record.dxf_file, "step": record.step_file, "drawing": record.drawing_file},
    }


def _bend_entry(bend: FlatBend) -> dict[str, Any]:
    return {
        "name": bend.name,
        "angle_deg": bend.angle_deg,
        "inside_radius_mm": bend.inside_radius_mm,
        "k_factor": bend.k_factor,
        "length_mm": bend.length_mm,
        "line_mm": [list(bend.line[0]), list(bend.line[1])],
    }


def _hole_entry(hole: Hole) -> dict[str, Any]:
    entry: dict[str, Any] = {
        "name": hole.name,
        "kind": hole.kind,
        "diameter_mm": hole.diameter_mm,
        "x_mm": hole.x_mm,
        "y_mm": hole.y_mm,
    }
    if hole.kind != "round":
        entry |= {"length_mm": hole.length_mm, "angle_deg": hole.angle_deg}
    if hole.kind == "rectangle":
        entry["corner_radius_mm"] = hole.corner_radius_mm
    return entry


def _placement_entry(placement: Placement) -> dict[str, Any]:
    return {"origin_mm": list(placement.origin), "u": list(placement.u), "v": list(placement.v)}

