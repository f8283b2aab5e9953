"""One part as it goes out: the piece, its flat pattern, its numbers and its files. Manifest and tables are laid out from this alone."""

from __future__ import annotations

from collections.abc import Mapping, Sequence
from dataclasses import dataclass
from typing import Protocol

from generator.dxf_tags import is_drilled
from parts.flat import Flat
from parts.holes import Hole
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
    """A piece with all that was made of it."""

    piece: Piece
    flat: Flat
    density_kg_m3: float
    volume_mm3: float  #: the kernel's for the solid re-read from its file; the flat pattern's by Pappus where no solid was made
    dxf_file: str  #: inside the output folder, `dxf/plate-1.dxf`
    drawing_file: str
    step_file: str | None = None
    least_hole_mm: float = 0.0  #: what the cutting process can do; smaller openings are drilled

    @property
    def cut_openings(self) -> tuple[Hole, ...]:
        """The openings that are cut; the others are marked, and drilled by hand."""
        return tuple(h for h in self.flat.holes if not is_drilled(h, self.least_hole_mm))

    @property
    def pierces(self) -> int:
        return 1 + len(self.cut_openings)

    @property
    def cut_length_mm(self) -> float:
        return self.flat.contour.perimeter + sum(h.contour().perimeter for h in self.cut_openings)

    @property
    def mass_kg(self) -> float:
        return self.volume_mm3 / MM3_PER_M3 * self.density_kg_m3


def records_of(
    pieces: Sequence[Piece],
    flats: Sequence[Flat],
    drawing_files: Sequence[str],
    dxf_files: Sequence[tuple[str, float]],
    step_files: Mapping[str, str],
    volumes_mm3: Mapping[str, float],
) -> tuple[Record, ...]:
    """One record a piece.

    Args:
        dxf_files: names, each with the smallest opening that is cut in it (mm).
        step_files, volumes_mm3: by the piece's id; may lack some.

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
            drawing_file=drawing,
            step_file=step_files.get(piece.id),
            least_hole_mm=least,
        )
        for piece, flat, drawing, (dxf, least) in zip(pieces, flats, drawing_files, dxf_files, strict=True)
    )
