"""Parts held against rails whose sides differ, one after the other."""

from __future__ import annotations

from collections.abc import Mapping, Sequence
from dataclasses import replace
from typing import TYPE_CHECKING

from generator.fit.edges import OnOwn, Pair, on_own, pair_of, plain_bounds, rail_plate_bounds
from generator.fit.findings import findings
from generator.fit.give import give_of
from generator.fit.planes import Standing, standing
from generator.fit.seats import seat_rows
from generator.fit.stage import Fit
from generator.fit.tables import sections
from parts.families.family import Family
from parts.families.rail_plate import RailPlate
from parts.features.plate import setting_of
from parts.features.shared import LEFT, RIGHT
from parts.frame.frame import Frame
from parts.frame.section import RailSide
from parts.piece import Piece
from parts.shape_gaps import Bounds
from parts.sheet import Vec3
from parts.shop import Shop

if TYPE_CHECKING:
    from parts.features.draft import Setting


def held(parts: Sequence[Family], pieces: Sequence[Piece], frame: Frame, shop: Shop, sigmas: Mapping[str, Vec3]) -> Fit:
    """What `fit` does, on rails that are not each other's mirror image."""
    own: list[OnOwn] = []
    pairs: list[Pair] = []
    planes: list[Standing] = []
    for part in parts:
        mine = [p for p in pieces if p.family == part.FAMILY and p.id.startswith(f"{part.id}-")]
        if isinstance(part, RailPlate) and part.shape == "shared" and mine:  # held against what each side alone would ask for
            mine = [*replace(part, shape="each its own").build(frame, shop)]
        by_id = {piece.id: piece for piece in mine}
        settings = _settings(part, frame, shop)
        bounds: dict[RailSide, Bounds] = {side: plain_bounds(shop) for side in (LEFT, RIGHT)}
        if isinstance(part, RailPlate):
            bounds |= {side: rail_plate_bounds(part, frame, shop, side) for side in part.sides}
            for side, setting in settings.items():
                plates = [p for p in mine if _is_plate(p, part, side)]
                if frame.found is not None:
                    own += [on_own(p, side, bounds[side], shop, setting.seat.between_flanges) for p in plates]
                planes += [off for p in plates if (off := _standing(p, setting)) is not None]
        if getattr(part, "splits", ()) or getattr(part, "split_up", "never") != "never":
            continue  # the joints of both sides are staggered: their pieces are not meant to be alike
        for left in mine:
            right = by_id.get(left.id.replace(f"{part.id}-{LEFT}", f"{part.id}-{RIGHT}", 1))
            if left.side == LEFT and right is not None and right.side == RIGHT:
                pairs.append(pair_of(left, right, bounds, shop))
    seats = seat_rows(pieces, frame)
    give = give_of(frame, sigmas)
    told = (own, pairs, planes, seats, frame, shop, give)
    return Fit(
        own=tuple(own), pairs=tuple(pairs), planes=tuple(planes), seats=seats, findings=findings(*told), sections=sections(*told)
    )


def _settings(part: Family, frame: Frame, shop: Shop) -> dict[RailSide, Setting]:
    return {side: setting_of(part, frame, shop, side) for side in part.sides} if isinstance(part, RailPlate) else {}


def _is_plate(piece: Piece, part: RailPlate, side: RailSide) -> bool:
    """The plate itself or a piece of it; not what is welded to it."""
    rest = piece.id.removeprefix(f"{part.id}-{side}")
    return piece.side == side and (rest == "" or rest.removeprefix("-").isdigit())


def _standing(piece: Piece, setting: Setting) -> Standing | None:
    seat = setting.seat
    return standing(piece, setting.rail, away=seat.away, at_toes=seat.kind in ("toes", "flush"), between=seat.between_flanges)
