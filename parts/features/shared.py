"""One outline for both sides: the shape of one side's plate, turned over for the other, where it serves there within the weld gap."""

from __future__ import annotations

from collections.abc import Mapping, Sequence
from dataclasses import replace
from typing import TYPE_CHECKING

from parts.errors import BadInput, Fault
from parts.features.edge_gaps import bounds_of
from parts.features.gap_words import verdict
from parts.frame.section import RailSide
from parts.laid_flat import LaidFlat
from parts.one_shape import OneShape, one_shape, place_of
from parts.outline import Transform
from parts.piece import Piece
from parts.shape_gaps import Bounds
from parts.sheet import Placement
from parts.shop import Shop
from parts.turned_over import turned_over
from parts.vectors import along

if TYPE_CHECKING:
    from parts.features.draft import Setting
    from parts.frame.rail import Rail

LEFT: RailSide = "left"
RIGHT: RailSide = "right"


def shared(pieces: Sequence[Piece], settings: Mapping[RailSide, Setting], shop: Shop) -> tuple[Piece, ...]:
    """The same pieces, those of the right side with the shape of their left likes, or the other way round, whichever does better.

    Raises:
        BadInput: no one shape serves both sides; with the gap, its place and the shift that balances it.
    """
    where = settings[LEFT].where
    stems: dict[str, dict[RailSide, Piece]] = {}
    for piece in pieces:
        for side in (LEFT, RIGHT):
            if piece.side == side:
                stems.setdefault(piece.id.replace(f"-{side}", "-*", 1), {})[side] = piece
    single = [by for by in stems.values() if len(by) == 1]
    if single:
        names = ", ".join(piece.id for by in single for piece in by.values())
        raise BadInput(_refused(where, f"{names}: the other side has no like piece"))
    bounds = {side: bounds_of(setting) for side, setting in settings.items()}
    out: dict[str, Piece] = {}
    faults: list[Fault] = []
    for by in stems.values():
        shape, fit = better_of(by, bounds, shop)
        on = RIGHT if shape == LEFT else LEFT
        if not fit.fits:
            faults.append(_refused(where, f"{by[LEFT].id} and {by[RIGHT].id} are {verdict(fit, settings[on].rail)}"))
            continue
        out[by[shape].id] = by[shape]
        out[by[on].id] = reshaped(by[on], by[shape], fit, shop, settings[on].rail)
    if faults:
        raise BadInput(faults)
    return tuple(out.get(piece.id, piece) for piece in pieces)


def better_of(by: Mapping[RailSide, Piece], bounds: Mapping[RailSide, Bounds], shop: Shop) -> tuple[RailSide, OneShape]:
    """(the side whose shape does better on the other side, how it fits there).

    Args:
        bounds: of each side's piece on its own rail.
    """
    rule = shop.bend_rule()
    laid = {side: LaidFlat.of(piece, rule) for side, piece in by.items()}
    tried = [
        (shape, one_shape(laid[on], laid[shape], bounds[on], gap_mm=shop.weld_gap_mm)) for shape, on in ((LEFT, RIGHT), (RIGHT, LEFT))
    ]
    return min(tried, key=lambda one: (bool(one[1].why_not), one[1].worst.over if one[1].worst is not None else 0.0))


def _refused(where: str, limit: str) -> Fault:
    return Fault(where=where, field="shape", value="shared", limit=f"one shape does not serve both sides: {limit}",
                 remedy='shape = "each its own"')  # fmt: skip


def reshaped(own: Piece, shape: Piece, fit: OneShape, shop: Shop, rail: Rail) -> Piece:
    """`own` with the mirror image of `shape`, lying where the shift has it."""
    rule = shop.bend_rule()
    mine, theirs = LaidFlat.of(own, rule), LaidFlat.of(shape, rule)
    part, to_shape = turned_over(shape.part, own.id)
    to_own = to_shape.then(theirs.to_rear).then(place_of(mine, theirs, fit.shift)).then(mine.to_rear.inverse())
    place = moved_in_plane(own.placements[0], to_own)
    note = f"cut to the shape of {shape.id}: {verdict(fit, rail)}"
    return replace(own, part=part, placements=(place, *own.placements[1:]), notes=(*own.notes, note))


def moved_in_plane(place: Placement, by: Transform) -> Placement:
    """Where (0, 0) and the axes of a plane lie that is moved rigidly in this one."""
    (x, y), (a, b), (c, d) = by.apply((0.0, 0.0)), by.direction((1.0, 0.0)), by.direction((0.0, 1.0))
    zero = (0.0, 0.0, 0.0)
    return Placement(
        origin=place.point(x, y), u=along(zero, (place.u, a), (place.v, b)), v=along(zero, (place.u, c), (place.v, d))
    )
