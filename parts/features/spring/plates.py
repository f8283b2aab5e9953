"""What parts built before put where the plate goes: their steel on its own face of the web, and plates behind the web under its holes."""

from __future__ import annotations

import math
from collections.abc import Sequence
from dataclasses import dataclass

from parts.errors import Fault
from parts.features.blocks import panel_blocks, panel_prism
from parts.features.spring.site import Site
from parts.frame.faces import UprightFace
from parts.hardware import washer
from parts.landing import panel_places
from parts.outline import Contour, Point
from parts.piece import Piece
from parts.prisms import clash
from parts.sheet import Panel, Placement, SheetPart
from parts.vectors import dot, inside

SAGITTA_MM = 0.02
STEP_MM = 5.0
AROUND_MM = 100.0  #: of a face that is looked at past the holes: more than any washer
SHARED_MM2 = 1.0  #: of two outlines: less is two edges that touch
ON_FACE_MM = 0.5  #: how near to the web a panel lies on it
SQUARE = 1 - 1e-6  #: cosine of two normals that are one
ROUND_MM = 1e-6


@dataclass(frozen=True, kw_only=True)
class Cover:
    """What of a plate lies on the web: outlines and openings in (a, b)."""

    outlines: tuple[Contour, ...]
    openings: tuple[Contour, ...] = ()

    def under(self, at: Point, radius_mm: float) -> bool | None:
        """Whether a round of steel is wanted there and is: all of it (True), none (False), or a part of it (None)."""
        opened = [o for o in self.openings if o.contains(at) or o.distance(at) < radius_mm - ROUND_MM]
        if any(o.contains(at) and o.distance(at) >= radius_mm for o in opened):
            return False  # all of it hangs in an opening
        whole = any(c.contains(at) and c.distance(at) >= radius_mm - ROUND_MM for c in self.outlines)
        if whole:  # an opening that the washer covers, as one for a rivet's head, is bridged
            return True if all(_within(o, at, radius_mm) for o in opened) else None
        free = all(not c.contains(at) and c.distance(at) >= radius_mm - ROUND_MM for c in self.outlines)
        return False if free else None


def _within(opening: Contour, at: Point, radius_mm: float) -> bool:
    return all(math.dist(p, at) < radius_mm for p in opening.polyline(SAGITTA_MM))


def behind(site: Site) -> tuple[UprightFace, ...]:
    """Plates on the far face of the web that the bolts go through too: under every one of them, once `plate_faults` finds nothing."""
    return tuple(face for face, cover in _far(site) if all(_states(site, cover)))


def to_drill(site: Site, at: Point) -> list[str]:
    """Those of them that have no opening for the bolt at (a, b) yet."""
    radius, names = site.bolting.drill_mm / 2, {f.name for f in behind(site)}

    def opened(cover: Cover) -> bool:
        return any(o.contains(at) and o.distance(at) >= radius - ROUND_MM for o in cover.openings)

    return [f.name for f, cover in _far(site) if f.name in names and not opened(cover)]


def plate_faults(site: Site, outline: Contour) -> list[Fault]:
    return [*_same_face(site, outline), *_partly_behind(site)]


def _states(site: Site, cover: Cover) -> list[bool | None]:
    """Hole by hole, whether its bolt's washer lies on it. A hanger's foot there bridges an opening round a single hole, if it is larger."""
    radius = washer(site.bolting.bolt.name).outside_mm / 2
    found = [cover.under(c, radius) for c in site.centres]
    foot = site.doubler.foot_mm > 0 and site.doubler.hanger != site.doubler.seat
    if not foot or any(all(o.contains(c) for c in site.centres) for o in cover.openings):
        return found
    return [None if any(o.contains(c) for o in cover.openings) and not s else s for s, c in zip(found, site.centres, strict=True)]


def _partly_behind(site: Site) -> list[Fault]:
    """One grip, one list of what is clamped and drilled, holds for all the bolts: a plate lies under all of them or under none."""
    out = []
    across = washer(site.bolting.bolt.name).outside_mm
    field, value = site.doubler.asked
    for face, cover in _far(site):
        found = {h.name: state for h, state in zip(site.holes, _states(site, cover), strict=True)}
        if len(set(found.values())) == 1 and None not in found.values():
            continue
        words = {True: "under", None: "partly under", False: "not under"}
        told = "; ".join(f"{word} {', '.join(n for n, state in found.items() if state is key)}" for key, word in words.items()
                         if key in found.values())  # fmt: skip
        limit = (
            f"plate {face.name} behind {site.rail.name}'s web ends or is open between the holes: it lies {told} (each with its washer, "
            f"{across:.1f} mm across); bolts of one grip clamp it everywhere or nowhere"
        )
        room = f"{math.ceil(5 * across - 1e-6) / 10:.1f} mm"
        remedy = (
            f"let {face.name} reach {room} or more past the middles of all these holes, at its whole height, or end it {room} or more "
            f"short of them all; no opening of it under them"
        )
        out.append(site.fault(field, value, limit, remedy))
    return out


def _same_face(site: Site, outline: Contour) -> list[Fault]:
    """Steel that is there already: of the pieces built before as they are cut; of a plate of which only its face is known, all of that."""
    near = (f for f in _on_web(site) if f.away == site.face.away and not _built(site, f.name))
    found = [
        f"plate {f.name} lies on that face of {site.rail.name} already"
        for f in near
        if _shared_mm2(outline, _of_face(site, f, outline)) > SHARED_MM2
    ]
    found += [f"{piece.id} lies on {site.rail.name} there already: the two would share room" for piece in _in_the_way(site, outline)]
    remedy = f'seat = "{"outside" if site.inside else "inside"}", smaller edge distances, or move that part'
    return [site.fault("seat", site.doubler.seat, limit, remedy) for limit in found]


def _in_the_way(site: Site, outline: Contour) -> list[Piece]:
    t = site.thickness_mm
    part = SheetPart(name=site.doubler.id, thickness_mm=t, panels=(Panel(name="plate", contour=outline),))
    mine = Piece(id=part.name, family="", side=site.rail.side, part=part, grade="", placements=(site.placement,))
    (box,), own = panel_blocks(mine), panel_prism(part.panels[0], site.placement, t)
    out = []
    for _, piece in site.frame.built:
        for block, (panel, place) in zip(panel_blocks(piece), panel_places(piece), strict=True):
            if box.clear_mm(block) < 0 and clash(own, panel_prism(panel, place, piece.part.thickness_mm)) is not None:
                out.append(piece)
                break
    return out


def _on_web(site: Site) -> list[UprightFace]:
    """Faces of plates that parts built before put on this rail's web."""
    return [f for f in site.frame.faces if f.side == site.rail.side and f.stack_mm and f.edges is not None]


def _far(site: Site) -> list[tuple[UprightFace, Cover]]:
    out = []
    for face in _on_web(site):
        if face.away != site.face.away:
            own = _built(site, face.name)
            out.append((face, _of_pieces(site, own) if own else Cover(outlines=_some(_of_face(site, face, None)))))
    return out


def _some(contour: Contour | None) -> tuple[Contour, ...]:
    return () if contour is None else (contour,)


def _built(site: Site, part: str) -> list[Piece]:
    return [piece for owner, piece in site.frame.built if owner == part and piece.side == site.rail.side]


def _of_pieces(site: Site, pieces: Sequence[Piece]) -> Cover:
    """Their panels that lie flat on the far face of the web, as they are cut."""
    outlines: list[Contour] = []
    openings: list[Contour] = []
    home = site.placement
    for piece in pieces:
        for panel, place in panel_places(piece):
            turn = dot(place.normal, home.normal)
            levels = [inside(home, place.origin)[2] + turn * z for z in (0.0, piece.part.thickness_mm)]
            if abs(turn) < SQUARE or abs(max(levels) + site.rail.thickness_mm) > ON_FACE_MM:
                continue
            outlines.append(_laid(home, place, panel.contour))
            openings += [_laid(home, place, h.contour()) for h in panel.holes]
    return Cover(outlines=tuple(outlines), openings=tuple(openings))


def _laid(home: Placement, place: Placement, contour: Contour) -> Contour:
    return _closed([inside(home, place.point(*p))[:2] for p in contour.polyline(SAGITTA_MM)])


def _of_face(site: Site, face: UprightFace, outline: Contour | None) -> Contour | None:
    """A face in (a, b), near the plate (without an outline: near its holes), its ends square. None: it does not come near."""
    points = site.centres if outline is None else outline.points
    ss = [site.sz(*p)[0] for p in points]
    low, high = max(face.s0_mm, min(ss) - AROUND_MM), min(face.s1_mm, max(ss) + AROUND_MM)
    if face.edges is None or high <= low:
        return None
    count = max(2, math.ceil((high - low) / STEP_MM))
    stops = [low + (high - low) * k / count for k in range(count + 1)]
    lower, upper = face.edges
    return _closed([site.ab(s, lower.y_at(s)) for s in stops] + [site.ab(s, upper.y_at(s)) for s in reversed(stops)])


def _closed(ring: Sequence[Point]) -> Contour:
    shape = Contour(tuple(ring), (0.0,) * len(ring))
    return shape if shape.area > 0 else shape.reversed()


def _shared_mm2(plate: Contour, other: Contour | None) -> float:
    """The area that lies in both. The plate's outline bulges nowhere inwards, so the other is cut off along each of its sides in turn."""
    ring = [] if other is None else list(other.points)
    corners = plate.polyline(SAGITTA_MM)
    for (ax, ay), (bx, by) in zip(corners, (*corners[1:], corners[0]), strict=True):
        left = [(bx - ax) * (y - ay) - (by - ay) * (x - ax) for x, y in ring]
        kept: list[Point] = []
        for k, (p, d) in enumerate(zip(ring, left, strict=True)):
            q, e = ring[k - 1], left[k - 1]
            if (d >= 0) != (e >= 0):
                part = e / (e - d)
                kept.append((q[0] + part * (p[0] - q[0]), q[1] + part * (p[1] - q[1])))
            if d >= 0:
                kept.append(p)
        ring = kept
    return abs(sum(ring[k - 1][0] * p[1] - p[0] * ring[k - 1][1] for k, p in enumerate(ring))) / 2
