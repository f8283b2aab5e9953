"""The flat faces of a built piece, in the vehicle, for other parts to land on."""

from __future__ import annotations

from parts.formed import formed
from parts.frame.offers import FlatFace
from parts.outline import Transform
from parts.piece import Piece
from parts.sheet import Panel, Placement, Vec3
from parts.vectors import along

BACK = Transform(1.0, 0.0, 0.0, -1.0, 0.0, 0.0)  #: (u, v) of the top, seen from behind


def panel_places(piece: Piece) -> tuple[tuple[Panel, Placement], ...]:
    """Each panel of the piece and where its (u, v) lies in the vehicle; for each of its placements."""
    shape = formed(piece.part)
    return tuple((panel, within(at, shape.places[panel.name])) for at in piece.placements for panel in piece.part.panels)


def flat_faces(piece: Piece) -> tuple[FlatFace, ...]:
    """Both faces of every panel: the normal of each points out of the steel. Bend zones are not flat and belong to none."""
    out: list[FlatFace] = []
    side = piece.side if piece.side in ("left", "right") else None
    for panel, place in panel_places(piece):
        top = Placement(origin=place.point(0.0, 0.0, piece.part.thickness_mm), u=place.u, v=place.v)
        back = Placement(origin=place.origin, u=place.u, v=_negative(place.v))
        for at, turn in ((top, None), (back, BACK)):
            out.append(
                FlatFace(
                    name=f"{piece.id} {panel.name}", side=side, placement=at, thickness_mm=piece.part.thickness_mm, onto=piece.id,
                    outline=panel.contour if turn is None else panel.contour.moved(turn),
                    holes=panel.holes if turn is None else tuple(h.moved(turn) for h in panel.holes),
                    piece=piece.id, panel=panel.name,
                )
            )  # fmt: skip
    return tuple(out)


def within(outer: Placement, inner: Placement) -> Placement:
    """`inner`, given in the coordinates of `outer`, in those that `outer` is given in."""
    return Placement(origin=outer.point(*inner.origin), u=_turned(outer, inner.u), v=_turned(outer, inner.v))


def _turned(place: Placement, way: Vec3) -> Vec3:
    return along((0.0, 0.0, 0.0), (place.u, way[0]), (place.v, way[1]), (place.normal, way[2]))


def _negative(way: Vec3) -> Vec3:
    return -way[0], -way[1], -way[2]
