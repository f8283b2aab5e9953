"""One part as it goes out: the piece, its flat pattern, its numbers and its files. Manifest and tables are laid out from this alone."""

from __future__ import annotations

from collections.abc import Mapping, Sequence
from dataclasses import dataclass
from typing import Protocol

from parts.flat import Flat
from parts.material import steel
from parts.piece import Piece

MM3_PER_M3 = 1e9


class Accepted(Protocol):
    """A finding that the job accepts by its code, and why."""

    @property
    def code(self) -> str: ...

    @property
    def why(self) -> str: ...


@dataclass(frozen=True, kw_only=True)
class Record:
    piece: Piece
    flat: Flat
    density_kg_m3: float
    volume_mm3: float  #: the kernel's for the solid re-read from its file; the flat pattern's by Pappus where no solid was made
    dxf_file: str  #: inside the output folder, `dxf/plate-1.dxf`
    step_file: str | None = None

    @property
    def mass_kg(self) -> float:
        return self.volume_mm3 / MM3_PER_M3 * self.density_kg_m3


def records_of(
    pieces: Sequence[Piece],
    flats: Sequence[Flat],
    dxf_files: Sequence[str],
    step_files: Mapping[str, str],
    volumes_mm3: Mapping[str, float],
) -> tuple[Record, ...]:
    """One record a piece. STEP files and volumes go by the piece's id and may lack some.

    Raises:
        BadInput: a grade that is not in the table.
    """
    return tuple(
        Record(
            piece=piece,
            flat=flat,
            density_kg_m3=steel(piece.grade).density_kg_m3,
            volume_mm3=volumes_mm3.get(piece.id, flat.volume_mm3),
            dxf_file=dxf,
            step_file=step_files.get(piece.id),
        )
        for piece, flat, dxf in zip(pieces, flats, dxf_files, strict=True)
    )
