"""From flat patterns to DXF files for the cutting shop, each read back by a reader that shares no code with the writer."""

from __future__ import annotations

from collections.abc import Iterable
from dataclasses import dataclass

from generator.dxf import flat_dxf
from generator.dxf_tags import check_dxf
from generator.inches import told
from parts.errors import Finding
from parts.flat import Flat
from parts.piece import Piece
from parts.shop import Shop


@dataclass(frozen=True, kw_only=True)
class CutFile:
    """One DXF file, named as it lies in the output folder."""

    name: str
    data: bytes
    least_hole_mm: float
    findings: tuple[Finding, ...] = ()


def cut_files(pieces: Iterable[Piece], flats: Iterable[Flat], shop: Shop) -> tuple[CutFile, ...]:
    """One DXF file a piece, in the shop's units and version.

    Raises:
        BadInput: a flat pattern holds what a cutting machine cannot follow.
    """
    return tuple(_cut_file(piece, flat, shop) for piece, flat in zip(pieces, flats, strict=True))


def _cut_file(piece: Piece, flat: Flat, shop: Shop) -> CutFile:
    least = shop.least_hole_mm(flat.thickness_mm)
    notes = (f"steel {piece.grade}, {piece.quantity} off", *(told(note, shop.dxf_units) for note in piece.notes))
    data = flat_dxf(flat, piece.id, units=shop.dxf_units, version=shop.dxf_version, least_hole_mm=least, notes=notes)
    problems = check_dxf(data, flat, units=shop.dxf_units, version=shop.dxf_version, least_hole_mm=least)
    findings = [
        Finding(code="dxf-unfit", level="stop", where=piece.id, message=f"its DXF file reads back wrong: {p}", remedy="do not cut it")
        for p in problems
    ]
    if shop.dxf_version == "R12" and shop.dxf_units == "in":
        message = "an R12 file cannot say what its numbers are: these are inches, as its NOTE text says; read as mm it is cut 1/25 size"
        remedy = 'tell the shop, or dxf_units = "mm"'
        source = "the R12 header has no variable for units"
        findings.append(Finding(code="dxf-unit-unsaid", level="warn", where=piece.id, message=message, remedy=remedy, source=source))
    return CutFile(name=f"dxf/{piece.id}.dxf", data=data, least_hole_mm=least, findings=tuple(findings))
