"""What became of a part's pieces from one frame to the other: sizes, holes, mass, and where on the rail they lie."""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass

from generator.adapt.bench import Trial
from parts.flat import Flat
from parts.formed import formed
from parts.frame.frame import Frame
from parts.frame.section import RailSide
from parts.material import steel
from parts.piece import Piece

SAME_MM = 1e-3  #: flats that differ by less are one: far under what is cut
KG_PER_M3_MM3 = 1e-9
SIDES: tuple[RailSide, ...] = ("left", "right")


@dataclass(frozen=True, kw_only=True)
class Sized:
    """One piece on one frame, in mm and kg."""

    length_mm: float
    width_mm: float
    thickness_mm: float
    holes: int
    mass_kg: float
    place: str  #: "rail left, front-axle": what its front is laid off from; "" where it lies along no rail
    front_mm: float | None = None  #: with a tape rearward from there to its front end


@dataclass(frozen=True, kw_only=True)
class Shift:
    """One piece before and after; None on the side where there is none."""

    piece: str
    before: Sized | None
    after: Sized | None
    same: bool  #: the flat pattern is the same
    moved_mm: float | None  #: the most that a hole of the same name moved in the flat pattern, from its lower left corner


def shifts(before: Trial, own: Frame, after: Trial, other: Frame) -> tuple[Shift, ...]:
    """Every piece of a part on its own frame against its like on the other."""
    old = {p.id: (p, f) for p, f in zip(before.pieces, before.flats, strict=True)}
    new = {p.id: (p, f) for p, f in zip(after.pieces, after.flats, strict=True)}
    out = []
    for key in dict.fromkeys([*old, *new]):
        a, b = old.get(key), new.get(key)
        both = a is not None and b is not None
        out.append(
            Shift(
                piece=key,
                before=_sized(*a, own) if a is not None else None,
                after=_sized(*b, other) if b is not None else None,
                same=a is not None and b is not None and same_flat(a[1], b[1]),
                moved_mm=_moved(a[1], b[1]) if both and a is not None and b is not None else None,
            )
        )
    return tuple(out)


def same_flat(a: Flat, b: Flat) -> bool:
    """Whether two flat patterns are cut and bent alike: outline, openings, bends and thickness. What is etched, and what a
    hole is called, is not looked at."""
    return (
        abs(a.thickness_mm - b.thickness_mm) <= SAME_MM
        and _near([c for s in a.contour.segments for c in (*s.a, s.bulge)], [c for s in b.contour.segments for c in (*s.a, s.bulge)])
        and [h.kind for h in a.holes] == [h.kind for h in b.holes]
        and _near(_hole_numbers(a), _hole_numbers(b))
        and _near(_bend_numbers(a), _bend_numbers(b))
    )


def _hole_numbers(flat: Flat) -> list[float]:
    return [n for h in flat.holes for n in (h.x_mm, h.y_mm, h.diameter_mm, h.length_mm, h.angle_deg)]


def _bend_numbers(flat: Flat) -> list[float]:
    return [n for b in flat.bends for n in (*b.line[0], *b.line[1], b.angle_deg, b.inside_radius_mm)]


def _near(a: Sequence[float], b: Sequence[float]) -> bool:
    return len(a) == len(b) and all(abs(p - q) <= SAME_MM for p, q in zip(a, b, strict=True))


def _moved(a: Flat, b: Flat) -> float | None:
    there = {h.name: h for h in b.holes}
    off = [((there[h.name].x_mm - h.x_mm) ** 2 + (there[h.name].y_mm - h.y_mm) ** 2) ** 0.5 for h in a.holes if h.name in there]
    return max(off, default=None)


def _sized(piece: Piece, flat: Flat, frame: Frame) -> Sized:
    x0, y0, x1, y1 = flat.contour.box
    long, short = sorted((x1 - x0, y1 - y0), reverse=True)
    place, front = _front(piece, frame)
    mass = flat.volume_mm3 * KG_PER_M3_MM3 * steel(piece.grade).density_kg_m3
    return Sized(
        length_mm=long, width_mm=short, thickness_mm=flat.thickness_mm, holes=len(flat.holes), mass_kg=mass, place=place, front_mm=front
    )  # fmt: skip


def _front(piece: Piece, frame: Frame) -> tuple[str, float | None]:
    """(rail and station, tape length from it to the piece's front end); what spans the rails has none."""
    side = next((s for s in SIDES if piece.side == s), None)
    if side is None or not piece.placements:
        return "", None
    rail = frame.rail(side)
    s = min(rail.szo(at.point(*p))[0] for at in piece.placements for p in formed(piece.part).points())
    station, along = rail.laid_off(rail.profile.tape(min(max(s, 0.0), rail.length_s_mm)))
    return f"{rail.name}, {station}", along
