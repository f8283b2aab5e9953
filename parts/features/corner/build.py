"""From a gusset's parameters to its pieces: one gusset a place and side, equal ones made one piece with several placements."""

from __future__ import annotations

import math
from dataclasses import dataclass, replace
from itertools import combinations
from typing import TYPE_CHECKING

from parts.errors import BadInput, Fault
from parts.features.corner.judge import in_steel, judged, placed_panels, prisms
from parts.features.corner.outline import EDGE_RADIUS_MM, FLANGE_THICKNESSES, Outline, outline_of
from parts.features.corner.places import sites
from parts.features.corner.seams import TOE_SOURCE, WELD_END_MM, seams
from parts.features.corner.site import Site, face_name, told
from parts.features.marks import label
from parts.features.tabs import PLAY_MM, PLAY_SOURCE, tab_pockets
from parts.flat import edge_between
from parts.frame.frame import Frame
from parts.frame.offers import FlatFace, Pocket
from parts.material import least_inside_radius_mm
from parts.outline import Contour, rectangle
from parts.piece import Piece, Side
from parts.pockets import pocketed
from parts.prisms import clash
from parts.sheet import Bend, Panel, Placement, SheetPart
from parts.shop import Shop
from parts.soundness import faults as unsound

if TYPE_CHECKING:
    from parts.families.gusset import Gusset

SAME_MM = 1e-6  #: two shapes this equal are one
PLATE, FLANGE = "plate", "flange"
DEFAULT_WAYS = ("rear", "inboard", "up")


@dataclass(frozen=True, kw_only=True)
class _Made:
    """One gusset in its corner."""

    site: Site
    outline: Outline
    part: SheetPart
    plain: SheetPart  #: without its tabs
    at: Placement
    pockets: tuple[Pocket, ...]


def build(gusset: Gusset, frame: Frame, shop: Shop) -> tuple[Piece, ...]:
    """A piece for each shape.

    Raises:
        BadInput: with every fault of the gusset on this frame.
    """
    faults: list[Fault] = []
    made: list[_Made] = []
    for number, site in enumerate(sites(gusset, frame, shop), start=1):
        one = _made(site, number)
        if isinstance(one, list):
            faults += [f for f in one if f not in faults]
        else:
            made.append(one)
    if not faults:
        faults = _on_each_other(made)
    if faults:
        raise BadInput(faults)
    pieces = tuple(_piece(group, name, side) for group, name, side in _named(gusset, _alike(made)))
    hosts = {piece.id: piece for one in made for piece in one.site.hosts()}
    pocketed([*hosts.values(), *pieces])  # refuses a slot that its host has no room for; the kit cuts it
    return pieces


def _made(site: Site, number: int) -> _Made | list[Fault]:
    gusset = site.gusset
    radius = site.shop.inside_radius_mm or least_inside_radius_mm(gusset.thickness_mm, gusset.grade)[0]
    outline, sign = outline_of(site, radius), _flange_sign(site)
    wrong = [*(outline if isinstance(outline, list) else ()), *([sign] if isinstance(sign, Fault) else ()), *_flange_faults(site, radius)]
    if wrong or isinstance(outline, list) or isinstance(sign, Fault):
        return wrong
    at = site.corner.place(site.t_mm, gusset.thickness_mm)
    part, plain = (_part(site, outline, contour, radius, sign) for contour in (outline.contour, outline.plain))
    if wrong := unsound(part):
        return [replace(f, where=site.where) for f in wrong]
    if wrong := in_steel(site, plain, at):
        return wrong
    pockets = _pockets(site, outline, at, number)
    if isinstance(pockets, Fault):
        return [pockets]
    return _Made(site=site, outline=outline, part=part, plain=plain, at=at, pockets=pockets)


def _on_each_other(made: list[_Made]) -> list[Fault]:
    """Two of its gussets that want the same room: places too near to each other, legs that meet in the middle of the vehicle."""
    solids = [(one, prisms(placed_panels(one.plain, one.at), one.part.thickness_mm)) for one in made]
    out: list[Fault] = []
    for (one, first), (two, second) in combinations(solids, 2):
        if any(clash(a, b) is not None for a in first for b in second):
            value = f"{one.site.place.value}, {one.site.rail.side}, and {two.site.place.value}, {two.site.rail.side}"
            limit = "two of its plates would be in one place"
            out.append(one.site.fault(two.site.place.field, value, limit, "places further apart, or shorter legs"))
    return out


def _flange_sign(site: Site) -> float | Fault:
    """+1 where the flange turns towards the plate's normal."""
    gusset = site.gusset
    if gusset.flange_mm is None:
        return 1.0
    asked = gusset.flange_way or DEFAULT_WAYS[site.corner.axis]
    ways = {site.sided(sign): sign for sign in (1.0, -1.0)}
    if asked in ways:
        return ways[asked]
    limit = f"the plate's faces look {' and '.join(sorted(ways))} here"
    return site.fault("flange_way", asked, limit, " or ".join(sorted(ways)))


def _flange_faults(site: Site, radius: float) -> list[Fault]:
    gusset, t = site.gusset, site.gusset.thickness_mm
    if gusset.flange_mm is None:
        return []
    least = max(FLANGE_THICKNESSES * t, radius + t + 2 * EDGE_RADIUS_MM)
    if gusset.flange_mm >= least:
        return []
    limit = f"is too narrow to bend in {t:g} mm steel"
    return [site.fault("flange", f"{gusset.flange_mm:g} mm", limit, f"at least {math.ceil(least)} mm")]


def _part(site: Site, outline: Outline, contour: Contour, radius: float, sign: float) -> SheetPart:
    gusset, t = site.gusset, site.gusset.thickness_mm
    holes = () if outline.hole is None else (outline.hole,)
    plate = Panel(name=PLATE, contour=contour, holes=holes)
    if outline.bend is None or gusset.flange_mm is None:
        return SheetPart(name=gusset.id, thickness_mm=t, panels=(plate,))
    wide, high = math.dist(*outline.bend), gusset.flange_mm - radius - t
    free = rectangle(0.0, 0.0, wide, high).rounded((0.0, 0.0, EDGE_RADIUS_MM, EDGE_RADIUS_MM))
    bend = Bend(
        parent=PLATE, child=FLANGE, edge=edge_between(contour, *outline.bend), angle_deg=90.0 * sign, inside_radius_mm=radius
    )
    return SheetPart(name=gusset.id, thickness_mm=t, panels=(plate, Panel(name=FLANGE, contour=free)), bends=(bend,))


def _play_mm(site: Site) -> float:
    return PLAY_MM[site.shop.process] if site.gusset.tab_play_mm is None else site.gusset.tab_play_mm


def _pockets(site: Site, outline: Outline, at: Placement, number: int) -> tuple[Pocket, ...] | Fault:
    out: list[Pocket] = []
    for leg, field in ((0, "tabs_on"), (1, "tabs_to")):
        if not outline.tabs[leg]:
            continue
        owner = f"{site.gusset.id} {number} {'on' if leg == 0 else 'to'}"
        found = tab_pockets(
            owner, at, site.gusset.thickness_mm, outline.edges[leg], outline.tabs[leg], site.faces[leg], _play_mm(site), site.where, field
        )
        if isinstance(found, Fault):
            return found
        out += found
    return tuple(out)


def _alike(made: list[_Made]) -> list[list[_Made]]:
    groups: list[list[_Made]] = []
    for one in made:
        group = next((g for g in groups if _equal(g[0].part, one.part)), None)
        if group is None:
            groups.append([one])
        else:
            group.append(one)
    return groups


def _equal(one: SheetPart, two: SheetPart) -> bool:
    return len(one.panels) == len(two.panels) and all(
        _near(a, b) for a, b in zip(_numbers(one), _numbers(two), strict=True)
    )


def _near(a: list[float], b: list[float]) -> bool:
    return len(a) == len(b) and all(abs(x - y) <= SAME_MM for x, y in zip(a, b, strict=True))


def _numbers(part: SheetPart) -> list[list[float]]:
    """Everything that is cut, holed and bent, panel by panel."""
    out = [[c for p in panel.contour.points for c in p] + list(panel.contour.bulges) for panel in part.panels]
    out += [[v for h in panel.holes for v in (h.x_mm, h.y_mm, h.diameter_mm)] for panel in part.panels]
    return [*out, [v for b in part.bends for v in (b.angle_deg, b.inside_radius_mm, float(b.edge))]]


def _named(gusset: Gusset, groups: list[list[_Made]]) -> list[tuple[list[_Made], str, Side]]:
    """The part's id, with the side where there are shapes for one side only, and a number where that leaves several."""
    stems: list[tuple[str, Side]] = []
    for group in groups:
        sides = {one.site.rail.side for one in group}
        side: Side = "both" if len(sides) > 1 else next(iter(sides))
        stems.append((gusset.id if side == "both" else f"{gusset.id}-{side}", side))
    out: list[tuple[list[_Made], str, Side]] = []
    for k, (group, (stem, side)) in enumerate(zip(groups, stems, strict=True)):
        alike = [s for s, _ in stems].count(stem)
        number = [s for s, _ in stems[: k + 1]].count(stem)
        out.append((group, stem if alike == 1 else f"{stem}-{number}", side))
    return out


def _piece(group: list[_Made], name: str, side: Side) -> Piece:
    first = group[0]
    plate, *others = first.part.panels
    texts = (name, side[0].upper()) if side in ("left", "right") else (name,)
    lettered = replace(plate, labels=label(plate, texts, 1.0).labels)  # no arrow: the same plate may stand on both sides
    part = replace(first.part, name=name, panels=(lettered, *others))
    findings, removals, notes = [], [], []
    for one in group:
        found, off = judged(one.site, one.outline, one.plain, one.at)
        findings += [f for f in found if f not in findings]
        removals += [r for r in off if r not in removals]
        notes += [n for n in _place_notes(one) if n not in notes]
    return Piece(
        id=name, family=first.site.gusset.FAMILY, side=side, part=part, grade=first.site.gusset.grade,
        placements=tuple(one.at for one in group), welds=tuple(w for one in group for w in seams(one.site, one.outline, one.at)),
        removals=tuple(removals), pockets=tuple(p for one in group for p in one.pockets), findings=tuple(findings),
        notes=(*_shape_notes(first), *notes),
    )  # fmt: skip


def _place_notes(made: _Made) -> list[str]:
    """Where it goes."""
    site = made.site
    one, two = site.faces
    angle = math.degrees(site.corner.angle_rad)
    x, y, z = site.middle
    return [
        f"{site.rail.side}: in the corner of {face_name(one)} and {face_name(two)}, {angle:.1f} deg to each other; the middle of the plate "
        f"{_laid_off(site)} (corner at x {x:.1f}, y {y:.1f}, z {z:.1f} mm)"
    ]


def _laid_off(site: Site) -> str:
    """The place as a tape finds it, where the corner runs along the rail or stands upright beside it."""
    s, z, _ = site.rail.szo(site.middle)
    if site.corner.axis == 2:
        return f"{site.rail.profile.upper_z(s) - z:.1f} mm straight down from the rail's upper corner"
    if site.corner.axis == 0:
        station, tape = site.rail.laid_off(site.rail.profile.tape(s))
        return f"{tape:.1f} mm rearward of station {station}, along the rail's upper corner"
    return f"at {told(site, site.t_mm)}"


def _sideless(site: Site, face: FlatFace) -> str:
    """The face in words that hold on both sides."""
    if not face.piece:
        return face.onto.removeprefix(f"{site.rail.name} ")
    owner = next(owner for owner, piece in site.frame.built if piece.id == face.piece)
    return f"{owner}'s {face.panel}"


def _shape_notes(made: _Made) -> list[str]:
    site, outline, gusset = made.site, made.outline, made.site.gusset
    first, second = site.leg_lengths_mm
    on, to = (_sideless(site, face) for face in site.faces)
    legs = f"both legs {first:g} mm, on {on} and on {to}"
    if first != second:
        legs = f"the {first:g} mm leg stands on {on}, the {second:g} mm leg on {to}"
    out = [f"{legs}; sniped {outline.snipe_mm:.1f} mm from the corner, where {outline.in_corner} takes up {outline.least_snipe_mm:.1f} mm"]
    sizes = [f"{site.weld_mm(leg):.3g} mm on {name}" for leg, name in ((0, on), (1, to))]
    out.append(
        f"fillets on both sides of the plate along both legs, {' and '.join(dict.fromkeys(sizes))}; each stops {WELD_END_MM:g} mm before "
        f"its toe ({TOE_SOURCE}) and begins at the snipe, which stays open"
    )
    if gusset.flange_mm is not None:
        out.append("the flange ends short of both toes and the plate stops at its bend's tangent there: no relief is cut beside it")
    if gusset.tabs_on or gusset.tabs_to:
        source = PLAY_SOURCE if gusset.tab_play_mm is None else "as asked"
        recess = gusset.tab_recess_mm
        end = f"stop {recess:g} mm below the far face, to be plug-welded" if recess else "end flush with the far face"
        air = f"{_play_mm(site):g} mm of air on each side in their slots ({source})"
        out.append(f"its tabs {end}; {air}: check it for square before tacking")
    return out
