"""The outline of a gusset in its own plane: u along the first face, v square off it, the corner at (0, 0)."""

from __future__ import annotations

import math
from dataclasses import dataclass
from typing import cast

from parts.errors import Fault
from parts.features.corner.corner import BOTH
from parts.features.corner.site import Site, assumed_snipe_mm, face_name, in_corner, short_legs
from parts.features.tabs import RELIEF_MM, Span, own_steel, tab_spans, tabbed
from parts.flat import edge_between
from parts.holes import Hole
from parts.outline import Contour, Point, Segment

CLEAR_MM = 3.0  #: from what is in the corner to where a leg begins: so much that its fillet can begin. Common practice, no source
LEAST_THROAT_MM = 12.0  #: of plate between the snipe and the free edge: less would burn away. Common practice, no source
FLANGE_THICKNESSES = 5.6  #: least bent leg over all: about 0.7 of a die 8 thicknesses wide (tool charts for air bending)
FLANGE_END_MM = 6.0  #: what a flange leaves free at each toe, for the torch. Common practice, no source
EDGE_RADIUS_MM = 3.0  #: on free corners, for the hands. Common practice, no source
EDGE_THICKNESSES = 2.0  #: hole edge to the plate's own edge: TM 9-2320-289-34 p. 9-7


@dataclass(frozen=True, kw_only=True)
class Outline:
    """`contour` has the tabs; `plain` is the same without them."""

    contour: Contour
    plain: Contour
    snipe_mm: float
    least_snipe_mm: float  #: what the corner takes up
    in_corner: str  #: what that is, in words
    free: tuple[Point, Point]  #: the free edge, from the first leg's toe to the second's
    bend: tuple[Point, Point] | None  #: the part of it that the flange is bent off
    hole: Hole | None
    tabs: tuple[tuple[Span, ...], tuple[Span, ...]]  #: on each leg, along its edge as the outline walks it
    edges: tuple[tuple[Point, Point], tuple[Point, Point]]  #: each leg's edge as the outline walks it


def outline_of(site: Site, radius_mm: float) -> Outline | list[Fault]:
    """`radius_mm`: inside, of the flange's bend."""
    gusset, angle = site.gusset, site.corner.angle_rad
    c, s = math.cos(angle), math.sin(angle)
    faults = list(short_legs(site, assumed_snipe_mm(gusset))[1])
    least, what = in_corner(site)
    snipe = gusset.snipe_mm if gusset.snipe_mm is not None else least + CLEAR_MM
    if faults := faults or _snipe_faults(site, snipe, least, what) or _cut_faults(site, snipe):
        return faults
    first, second = site.leg_lengths_mm
    toe_on, toe_to = gusset.toe_mm, gusset.toe_mm if gusset.toe_to_mm is None else gusset.toe_to_mm
    a, b = (first, toe_on), (second * c + toe_to * s, second * s - toe_to * c)
    on_leg: tuple[Point, Point] = ((snipe, 0.0), (first, 0.0))
    legs = (on_leg, ((second * c, second * s), (snipe * c, snipe * s)))
    faults = _edge_faults(site, a, b, snipe)
    if faults:
        return faults
    bend = _bend_edge(site, a, b) if gusset.flange_mm is not None else None
    wrong: list[Fault] = []
    if isinstance(bend, Fault):
        wrong, bend = [bend], None
    hollow = 0.0
    if gusset.edge_radius_mm is not None:
        hollow = -math.tan(math.asin(math.dist(a, b) / (2 * gusset.edge_radius_mm)) / 2)
    free = [Segment(a, b, hollow)] if bend is None else [Segment(p, q) for p, q in ((a, bend[0]), bend, (bend[1], b))]
    sniped = Segment(legs[1][1], legs[0][0], -math.tan(angle / 4) if gusset.snipe_shape == "round" else 0.0)
    plain = Contour.of([Segment(*legs[0]), Segment(legs[0][1], a), *free, Segment(b, legs[1][0]), Segment(*legs[1]), sniped])
    if plain.area <= 0 or plain.self_crossing() is not None:
        limit = "the legs, toes and free edge cross each other in that corner"
        return [*wrong, site.fault("toe", f"{gusset.toe_mm:g} mm", limit, "lower toes or longer legs")]
    throat = min(sniped.gap(f) for f in free)
    if throat < LEAST_THROAT_MM:
        limit = f"leaves {throat:.1f} mm of plate between the snipe and the free edge; {LEAST_THROAT_MM:g} mm is the least"
        field = "leg_on" if gusset.edge_radius_mm is None else "edge_radius"
        value = f"{gusset.leg_on_mm:g} mm" if gusset.edge_radius_mm is None else f"{gusset.edge_radius_mm:g} mm"
        wrong.append(site.fault(field, value, limit, "longer legs, higher toes, a smaller snipe or a straighter edge"))
    hole = _hole(site, plain, a, b)
    tabs = [_tab_spans(site, leg, snipe) for leg in BOTH]
    wrong += [f for f in (hole, *tabs) if isinstance(f, Fault)]
    if wrong:
        return wrong
    contour = plain
    spans = cast("list[tuple[Span, ...]]", tabs)
    for leg in (1, 0):  # from the back, so that the numbers of the edges before it stay
        if spans[leg]:
            depth = site.faces[leg].thickness_mm - gusset.tab_recess_mm
            contour = tabbed(contour, edge_between(contour, *legs[leg]), spans[leg], depth, RELIEF_MM[site.shop.process])
    return Outline(
        contour=contour, plain=plain, snipe_mm=snipe, least_snipe_mm=least, in_corner=what, free=(a, b), bend=bend,
        hole=cast("Hole | None", hole), tabs=(spans[0], spans[1]), edges=legs,
    )  # fmt: skip


def _snipe_faults(site: Site, snipe: float, least: float, what: str) -> list[Fault]:
    if snipe < least - 1e-6:
        limit = f"{what} takes up {least:.1f} mm from the corner: the plate would ride on it"
        return [site.fault("snipe", f"{snipe:g} mm", limit, f"at least {math.ceil(least)} mm, or leave it out")]
    out = []
    for field, length in (("leg_on", site.gusset.leg_on_mm), ("leg_to", site.gusset.leg_to_mm)):
        if length - snipe < LEAST_THROAT_MM:
            limit = f"leaves {length - snipe:.1f} mm of leg beyond the {snipe:.1f} mm of snipe; {LEAST_THROAT_MM:g} mm is the least"
            out.append(site.fault(field, f"{length:g} mm", limit, f"at least {math.ceil(snipe + LEAST_THROAT_MM)} mm"))
    return out


def _cut_faults(site: Site, snipe: float) -> list[Fault]:
    """What a face may still leave out under a leg: a notch in its edge, which the strip's own lines pass over."""
    out = []
    for leg, field in zip(BOTH, ("leg_on", "leg_to"), strict=True):
        length, half = site.leg_lengths_mm[leg], site.half_mm(leg)
        if not site.corner.carries(leg, (snipe, length), site.t_mm, half):
            limit = f"{face_name(site.faces[leg])} is not whole, flat steel under all of it and its fillets, {2 * half:.1f} mm wide"
            out.append(site.fault(field, f"{length:g} mm", limit, "shorter legs or another place"))
    return out


def _edge_faults(site: Site, a: Point, b: Point, snipe: float) -> list[Fault]:
    """The free edge must run on the far side of the corner, and an arc must reach over it."""
    gusset, chord = site.gusset, math.dist(a, b)
    turn = (b[0] - a[0]) * (0.0 - a[1]) - (b[1] - a[1]) * (0.0 - a[0])  # + while the corner lies to its left
    if turn <= 0 or chord < LEAST_THROAT_MM:
        limit = f"toes of {gusset.toe_mm:g} mm leave no free edge between them in a corner of {math.degrees(site.corner.angle_rad):.0f} deg"
        return [site.fault("toe", f"{gusset.toe_mm:g} mm", limit, "lower toes or longer legs")]
    radius = gusset.edge_radius_mm
    if radius is not None and radius < chord / 2:
        limit = f"does not reach from toe to toe, {chord:.1f} mm apart"
        return [site.fault("edge_radius", f"{radius:g} mm", limit, f"at least {math.ceil(chord / 2)} mm; flat from {chord * 2:.0f} mm on")]
    return []


def _bend_edge(site: Site, a: Point, b: Point) -> tuple[Point, Point] | Fault:
    gusset, chord = site.gusset, math.dist(a, b)
    least = FLANGE_THICKNESSES * gusset.thickness_mm
    if chord - 2 * FLANGE_END_MM < least:
        bent = chord - 2 * FLANGE_END_MM
        limit = f"the free edge of {chord:.1f} mm leaves {bent:.1f} mm to bend between its toes; {least:.1f} mm is the least"
        return site.fault("flange", f"{gusset.flange_mm:g} mm", limit, "longer legs, or no flange")
    way = ((b[0] - a[0]) / chord, (b[1] - a[1]) / chord)
    end = FLANGE_END_MM
    return (a[0] + end * way[0], a[1] + end * way[1]), (b[0] - end * way[0], b[1] - end * way[1])


def _hole(site: Site, plain: Contour, a: Point, b: Point) -> Hole | Fault | None:
    """In the middle of the circle that touches both legs' lines and the free edge's chord."""
    size = site.gusset.hole_mm
    if size is None:
        return None
    angle = site.corner.angle_rad
    chord = math.dist(a, b)
    nx, ny = (b[1] - a[1]) / chord, (a[0] - b[0]) / chord  # out over the free edge
    reach = nx * a[0] + ny * a[1]
    bx, by = math.cos(angle / 2), math.sin(angle / 2)
    away = reach / (math.sin(angle / 2) + nx * bx + ny * by)  # from the corner, along the legs' bisector
    centre = (away * bx, away * by)
    least = EDGE_THICKNESSES * site.gusset.thickness_mm
    room = 2 * (plain.distance(centre) - least) if plain.contains(centre) else 0.0
    if size > room:
        limit = f"would come nearer than 2 t = {least:g} mm to the plate's edges: there is room for {max(room, 0.0):.1f} mm"
        remedy = f"at most {math.floor(room)} mm" if room >= 5 else "longer legs, or no hole"
        return site.fault("hole", f"{size:g} mm", limit, remedy)
    return Hole(name="lightening", x_mm=centre[0], y_mm=centre[1], diameter_mm=size, purpose="saves weight; builder's choice")


def _tab_spans(site: Site, leg: int, snipe: float) -> tuple[Span, ...] | Fault:
    gusset, face = site.gusset, site.faces[leg]
    number, field = (gusset.tabs_on, "tabs_on") if leg == 0 else (gusset.tabs_to, "tabs_to")
    if number == 0:
        return ()
    if (wrong := own_steel(face, number, site.where, field)) is not None:
        return wrong
    length = site.leg_lengths_mm[leg] - snipe
    if gusset.tab_recess_mm > face.thickness_mm - 1.0:
        limit = f"leaves no tab in {face.onto}, {face.thickness_mm:g} mm thick"
        return site.fault("tab_recess", f"{gusset.tab_recess_mm:g} mm", limit, f"at most {face.thickness_mm - 1.0:g} mm")
    spans = tab_spans(0.0, length, number, gusset.tab_mm, RELIEF_MM[site.shop.process])
    if isinstance(spans, float):
        limit = f"{number} of {gusset.tab_mm:g} mm with their reliefs need {length + spans:.1f} mm of leg; it has {length:.1f} mm"
        return site.fault(field, str(number), limit, "fewer or shorter tabs, or a longer leg")
    return spans
