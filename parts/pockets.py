"""Slots for other parts' tabs, cut into the pieces that the tabs go through."""

from __future__ import annotations

import math
from collections.abc import Sequence
from dataclasses import replace

from parts.errors import BadInput, Fault
from parts.frame.offers import Pocket
from parts.holes import Hole
from parts.landing import panel_places
from parts.piece import Piece
from parts.sheet import Placement, SheetPart, Vec3
from parts.soundness import faults as unsound

OFF_FACE_MM = 0.01  #: a pocket's centre lies on one of its panel's faces, but for rounding
OFF_LEVEL = 1e-6


def pocketed(pieces: Sequence[Piece]) -> tuple[Piece, ...]:
    """The same pieces in the same order, with every slot that another's tabs ask for.

    Raises:
        BadInput: a slot that its panel has no room for, or in a piece that is there more than once or not at all.
    """
    asked = [(piece, pocket) for piece in pieces for pocket in piece.pockets]
    if not asked:
        return tuple(pieces)
    known = {piece.id: piece for piece in pieces}
    faults: list[Fault] = []
    for piece, pocket in asked:
        host = known.get(pocket.piece)
        if host is None or host.quantity != 1:
            limit = "is not one piece of this job" if host is None else f"is made {host.quantity} times, and its slot would be in each"
            faults.append(Fault(where=f"part {piece.id}", field="tabs", value=pocket.piece, limit=limit, remedy="leave its tabs out"))
            continue
        part = _slotted(host, pocket)
        if wrong := unsound(part):
            remedy = "move it, or leave its tabs out"
            faults += [replace(f, where=f"part {piece.id}", field="tabs", value=f"{host.id} {f.field}", remedy=remedy) for f in wrong]
            continue
        known[host.id] = replace(host, part=part)
    if faults:
        raise BadInput(faults)
    return tuple(known[piece.id] for piece in pieces)


def _slotted(host: Piece, pocket: Pocket) -> SheetPart:
    panel, place = next((p, at) for p, at in panel_places(host) if p.name == pocket.panel)
    u, v, w = _inside(place, pocket.centre)
    a, b, c = _inside(place, pocket.along, way=True)
    thick = host.part.thickness_mm
    if min(abs(w), abs(w - thick)) > OFF_FACE_MM or abs(c) > OFF_LEVEL:
        raise ValueError(f"{pocket.name} does not lie on a face of {pocket.piece} {pocket.panel}")
    hole = Hole(
        name=pocket.name, kind="rectangle", x_mm=u, y_mm=v, diameter_mm=pocket.width_mm, length_mm=pocket.length_mm,
        angle_deg=math.degrees(math.atan2(b, a)), purpose="slot for a tab",
    )  # fmt: skip
    cut = replace(panel, holes=(*panel.holes, hole))
    return replace(host.part, panels=tuple(cut if p.name == panel.name else p for p in host.part.panels))


def _inside(place: Placement, p: Vec3, way: bool = False) -> Vec3:
    o = (0.0, 0.0, 0.0) if way else place.origin
    d = p[0] - o[0], p[1] - o[1], p[2] - o[2]
    return _dot(d, place.u), _dot(d, place.v), _dot(d, place.normal)


def _dot(a: Vec3, b: Vec3) -> float:
    return a[0] * b[0] + a[1] * b[1] + a[2] * b[2]
