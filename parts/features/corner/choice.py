"""Which two faces a gusset stands between: those that were asked for, or of several the pair that makes an open corner."""

from __future__ import annotations

import math
from collections.abc import Iterator, Sequence
from dataclasses import replace
from itertools import product
from typing import TYPE_CHECKING, cast

from parts.errors import BadInput, Fault
from parts.features.corner.corner import BOTH, Corner, corner_of
from parts.features.corner.site import Site, assumed_snipe_mm, face_name, middle_t, short_legs
from parts.features.flat_faces import CROSSMEMBER_FACES, crossmember_faces, flange_at, web_at
from parts.frame.frame import Frame
from parts.frame.names import unknown_place
from parts.frame.offers import FlatFace
from parts.frame.rail import Rail
from parts.frame.section import Face, RailSide
from parts.sheet import Vec3
from parts.shop import Shop
from parts.vectors import mean

if TYPE_CHECKING:
    from parts.families.gusset import Gusset

NARROWEST_DEG, WIDEST_DEG = 30.0, 150.0
REACH_MM = 5000.0  #: to the corner: past this two faces have nothing to do with each other


def corner_on(gusset: Gusset, frame: Frame, shop: Shop, side: RailSide) -> Corner:
    """The open corner that has room for the legs; of several the one whose flat steel begins nearest to its line.

    Raises:
        BadInput: no such part or crossmember, or no such corner.
    """
    best: tuple[float, Corner] | None = None
    near: list[tuple[float, list[Fault]]] = []
    wrong: list[Fault] = []
    for one, two in _pairs(gusset, frame, shop, side, wrong):
        corner = corner_of(one, two)
        if corner is None or max(math.dist(corner.origin, _middle(f)) for f in (one, two)) > REACH_MM:
            continue
        angle = math.degrees(corner.angle_rad)
        if not NARROWEST_DEG <= angle <= WIDEST_DEG:
            made = f"{NARROWEST_DEG:g} to {WIDEST_DEG:g} deg are made"
            limit = f"{face_name(one)} and {face_name(two)} stand {angle:.1f} deg to each other: {made}"
            near.append((math.inf, [Fault(where=f"part {gusset.id}", field="to", value=gusset.to, limit=limit, remedy="other faces")]))
            continue
        missing, faults = _missing(gusset, frame, corner, side)
        if not faults:
            if best is None or missing < best[0] - 1e-6:
                best = missing, corner
        else:
            near.append((missing, faults))
    if best is not None:
        return best[1]
    if near:
        raise BadInput(min(near, key=lambda n: n[0])[1])
    if wrong:
        raise BadInput(wrong)
    limit = f"has no flat face that makes a corner with {gusset.on}"
    raise BadInput(Fault(where=f"part {gusset.id}", field="to", value=gusset.to, limit=limit, remedy="name other faces"))


def _missing(gusset: Gusset, frame: Frame, corner: Corner, side: RailSide) -> tuple[float, list[Fault]]:
    """(mm of flat steel that are missing at the best place along the corner or, without a fault, how far off its line they begin)."""
    site = Site(gusset=gusset, frame=frame, shop=Shop(), rail=frame.rail(side), corner=corner, t_mm=0.0, place=gusset.stands[0])
    snipe = assumed_snipe_mm(gusset)
    half = max(site.half_mm(0), site.half_mm(1))
    t = middle_t(site)
    if t is not None:
        spans = [corner.flat(leg, t, site.half_mm(leg), site.leg_lengths_mm[leg]) for leg in BOTH]
        return sum(s[0] for s in spans if s is not None), []
    boxes = [shape.box for shape in corner.shapes]
    low, high = max(b[1] for b in boxes), min(b[3] for b in boxes)
    one, two = corner.faces
    if high - low < 2 * half:
        limit = (
            f"{face_name(one)} and {face_name(two)} pass each other: they share {max(high - low, 0.0):.1f} mm of the corner's length, and "
            f"a gusset with its fillets takes {2 * half:.1f} mm"
        )
        return 1e6 + 2 * half - (high - low), [site.fault("to", gusset.to, limit, "other faces, or thinner steel")]
    found: list[tuple[float, list[Fault]]] = []
    for k in range(9):
        t = low + half + (high - low - 2 * half) * k / 8
        found.append(short_legs(replace(site, t_mm=t), snipe))
    missing, faults = min(found, key=lambda f: f[0])
    if not faults:  # at no place without a cut or a corner of a face under a leg
        both = f"legs of {gusset.leg_on_mm:g} and {gusset.leg_to_mm:g} mm"
        limit = f"{face_name(one)} and {face_name(two)} carry {both} nowhere along their corner"
        faults = [site.fault("leg_on", f"{gusset.leg_on_mm:g} mm", limit, "shorter legs, thinner steel or other faces")]
    return missing, faults


def _on_side(frame: Frame, face: FlatFace, side: RailSide) -> bool:
    """Whether the face is that side's: one shape may lie on both, and each of its places is nearer to one rail."""
    both = any(piece.id == face.piece and piece.side == "both" for _, piece in frame.built)
    off = {s: abs(frame.rail(s).szo(_middle(face))[2]) for s in frame.sides}
    return not both or off[side] <= min(off.values())


def _middle(face: FlatFace) -> Vec3:
    x0, y0, x1, y1 = face.outline.box
    return face.placement.point((x0 + x1) / 2, (y0 + y1) / 2)


def _pairs(gusset: Gusset, frame: Frame, shop: Shop, side: RailSide, wrong: list[Fault]) -> Iterator[tuple[FlatFace, FlatFace]]:
    """Every two faces that were asked for. What a turn of the rail leaves without one goes into `wrong`.

    Raises:
        BadInput: a name that nothing has.
    """
    where, rail = f"part {gusset.id}", frame.rail(side)
    faults: list[Fault] = []
    seconds: Sequence[FlatFace] = ()
    firsts: Sequence[FlatFace] | None = None
    try:
        seconds = _second_faces(gusset, frame, side)
    except BadInput as error:
        faults += [replace(f, where=where) for f in error.faults]
    if gusset.on not in ("web", "upper flange", "lower flange"):
        try:
            firsts = _faces_of_part(frame, gusset.on, side, "on", gusset.on_face)
        except BadInput as error:
            faults += [replace(f, where=where) for f in error.faults]
    elif gusset.on_face is not None:
        limit, remedy = f"{gusset.on} is one face", "leave on_face out"
        faults.append(Fault(where=where, field="on_face", value=gusset.on_face, limit=limit, remedy=remedy))
    if faults:
        raise BadInput(faults)
    if firsts is not None:
        yield from ((a, b) for a, b in product(firsts, seconds) if (a.piece, a.panel) != (b.piece, b.panel))
        return
    for second in seconds:
        s = rail.szo(_near_rail(second, rail))[0]
        s = min(max(s, 0.0), rail.length_s_mm)
        try:
            if gusset.on == "web":
                yield web_at(frame, side, s, shop, where), second
            else:
                yield flange_at(frame, side, cast(Face, gusset.on), s, where), second
        except BadInput as error:
            wrong += [replace(f, field="to", value=gusset.to) for f in error.faults if f not in wrong]


def _near_rail(face: FlatFace, rail: Rail) -> Vec3:
    """The point of the face's outline that is nearest to the rail's web; for a crossmember's that is on its own end there."""
    points = [face.placement.point(u, v) for u, v in face.outline.points]
    nearest = sorted(points, key=lambda p: abs(rail.szo(p)[2]))
    return mean((nearest[0], nearest[1]))


def _second_faces(gusset: Gusset, frame: Frame, side: RailSide) -> Sequence[FlatFace]:
    parts = {owner for owner, _ in frame.built}
    crossmembers = {c.name: c for c in frame.placed_crossmembers}
    if gusset.to in parts or gusset.to not in crossmembers:
        if gusset.to not in parts:
            known = [*crossmembers, *parts]
            raise BadInput(unknown_place(gusset.to, known, "there is no crossmember, and no part before this one,", field="to"))
        return _faces_of_part(frame, gusset.to, side, "to", gusset.to_face)
    placed = crossmembers[gusset.to]
    faces = crossmember_faces(frame, placed)
    if not faces:
        limit = f"crossmember {placed.name} is a round tube: it has no flat face"
        raise BadInput(Fault(where="", field="to", value=gusset.to, limit=limit, remedy="another crossmember, or a part to stand on"))
    if gusset.to_face is None:
        return [faces[name] for name in CROSSMEMBER_FACES if name in faces]
    if gusset.to_face not in faces:
        limit = f"crossmember {placed.name} has no flat face of that name: it has {', '.join(n for n in CROSSMEMBER_FACES if n in faces)}"
        raise BadInput(Fault(where="", field="to_face", value=gusset.to_face, limit=limit, remedy="one of them, or leave it out"))
    return [faces[gusset.to_face]]


def _faces_of_part(frame: Frame, part: str, side: RailSide, field: str, panel: str | None) -> Sequence[FlatFace]:
    try:
        offered = frame.flats(part, side)
    except BadInput as error:
        raise BadInput([replace(f, field=field) for f in error.faults]) from None
    faces = [f for f in offered if _on_side(frame, f, side)]
    if panel is None:
        return faces
    found = [f for f in faces if f.panel == panel]
    if not found:
        panels = dict.fromkeys(f.panel for f in faces)
        raise BadInput(unknown_place(panel, panels, f"{part} has no panel", field=f"{field}_face"))
    return found
