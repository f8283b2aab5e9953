"""How far a plate stands off a face that is not as flat as it was drawn: a rail that is bowed, leans more at one end, or has bent toes."""

from __future__ import annotations

from dataclasses import dataclass

import numpy as np

from parts.features.gap_words import by_tape
from parts.frame.rail import Rail
from parts.frame.section import RailSide
from parts.landing import panel_places
from parts.minimax import minimax
from parts.piece import Piece
from parts.sheet import Vec3

HARDLY_MM = 0.05


@dataclass(frozen=True, kw_only=True)
class Standing:
    """A plate laid on its face, as near as it goes without being bent: it touches, and stands off most at one place.

    `toes`: it lies between the flanges, where nothing holds it off; then `gap_mm` is by how much it lies deeper at one place than at
    another.
    """

    piece: Piece
    side: RailSide
    gap_mm: float
    place: Vec3
    where: str
    toes: bool


def standing(piece: Piece, rail: Rail, *, away: int, at_toes: bool, between: bool) -> Standing | None:
    """None where nothing was found that would keep it from lying flat.

    Args:
        away: +1 where it stands on the open side of its face.
        at_toes: it lies on the flange edges, so that flanges of other widths than drawn count.
        between: see `Standing`.
    """
    found = rail.found
    if found is None:
        return None
    asked = _asked(piece, rail)
    offs = []
    for s, z, _ in asked:
        off = found.off_mm(s, z)
        if at_toes:
            low, high = rail.profile.lower_z(s), rail.profile.upper_z(s)
            share = min(max((z - low) / (high - low), 0.0), 1.0)
            off += (1 - share) * found.section.lower_wider.at(s) + share * found.section.upper_wider.at(s)
        offs.append(off)
    middle = asked[len(asked) // 2][0]
    nx, ny, _ = rail.normal(middle)
    tx, ty, _ = rail.direction(middle)
    mx, my, mz = (sum(p[i] for _, _, p in asked) / len(asked) for i in range(3))
    scale = max(1.0, *(abs((p[0] - mx) * tx + (p[1] - my) * ty) for _, _, p in asked))
    rows = []
    for s, z, (x, y, _) in asked:
        mx_s, my_s, _ = rail.normal(s)
        rows.append((nx * mx_s + ny * my_s, ((x - mx) * tx + (y - my) * ty) / scale, (z - mz) / scale))
    slopes, offsets = np.array(rows), np.array(offs)
    left = offsets + slopes @ minimax(slopes, offsets)
    gaps = (left.max() - left) if away > 0 else (left - left.min())
    worst = int(np.argmax(gaps))
    if gaps[worst] < HARDLY_MM:
        return None
    place = asked[worst][2]
    return Standing(piece=piece, side=rail.side, gap_mm=float(gaps[worst]), place=place, where=by_tape(rail, place), toes=between)


def _asked(piece: Piece, rail: Rail) -> list[tuple[float, float, Vec3]]:
    """(s, z, point) along the plate's lower and upper edge: at its ends and wherever something was measured between them."""
    assert rail.found is not None
    points = [place.point(u, v) for panel, place in panel_places(piece) for u, v in panel.contour.points]
    ss = [rail.szo(p)[0] for p in points]
    first, last = min(ss), max(ss)
    known = {*rail.found.places, *rail.found.section.upper_wider.places, *rail.found.section.lower_wider.places}
    stops = sorted({first, last, *(s for s in known if first < s < last)})
    out = []
    for s in stops:
        near = sorted((abs(own - s), p[2]) for own, p in zip(ss, points, strict=True))
        close = [z for _, z in near[:4]]
        low, high = min(close), max(close)
        if high - low < 1.0:  # only one edge has a corner near: the other one lies over the web's middle from it
            middle = (rail.profile.lower_z(s) + rail.profile.upper_z(s)) / 2
            low, high = sorted((low, 2 * middle - low))
        out += [(s, z, rail.point(s, z)) for z in (low, high)]
    return out
