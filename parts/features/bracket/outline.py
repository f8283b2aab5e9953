"""The outline of a bracket in its own coordinates (see `site`): base, seat and gussets, reliefs, and what the rail takes of them."""

from __future__ import annotations

from dataclasses import dataclass, replace
from itertools import pairwise
from math import dist

from parts.errors import BadInput, Fault
from parts.features.bracket.site import Site
from parts.flat import edge_between
from parts.outline import Contour, Point, Segment
from parts.trimming import cut
from parts.welds import fillet_leg_mm

FLANGE_THICKNESSES = 5.6  #: least bent leg over all: about 0.7 of a die 8 thicknesses wide (tool charts for air bending)
WELD_END_MM = 6.0  #: weld end off the part's edge: TM 5-4210-230-14&P-1
LEAST_NOSE_MM = 12.0  #: of a gusset's outer end: less would burn away. Common practice, no source
LEAST_CONTACT_MM = 25.0  #: height of base on its face. Common practice, no source
LEAST_GUSSET_MM = 25.0  #: along its bend, and along the seat. Common practice, no source
NOTCH_RADIUS_MM = 6.0  #: in the corner of a notch round a flange, as round a rail plate's crossmembers
EDGE_RADIUS_MM = 3.0  #: on free corners, for the hands. Common practice, no source
SAMPLES = 16
QUARTER = 0.41421356237309503  #: bulge of a quarter turn: tan(90 deg / 4)


@dataclass(frozen=True, kw_only=True)
class Gusset:
    """One side return: its contour in (u down from the relief, v out from its bend's tangent), bend edge first."""

    contour: Contour
    bend_mm: float  #: length of its bend edge
    notched: bool  #: cut away round the flange


@dataclass(frozen=True, kw_only=True)
class Outline:
    """All lengths in mm. Without gussets `relief_mm`, `step_mm` and `overhang_mm` are 0."""

    half_base: float  #: half the base's flat, between the gussets' bend tangents
    half_bend: float  #: half the seat's bend edge
    half_seat: float
    relief_mm: float  #: radius taken off the base's corner where three panels meet
    step_mm: float  #: radius of the relief in seat and gusset
    overhang_mm: float  #: of the seat past the gussets' outer faces, for their fillet
    gap_mm: float  #: between gusset and seat
    asked_q: float | None  #: of the free edge as asked for; the face may end before
    free: tuple[Point, ...]  #: the base's free edge (p, q), left to right
    gussets: tuple[Gusset, Gusset] | None  #: left, right

    @property
    def height_mm(self) -> tuple[float, float]:
        """Of the base from the bend's tangent to its free edge: (left, right)."""
        return -self.free[0][1], -self.free[-1][1]

    def free_q(self, p: float) -> float:
        """q of the free edge at p."""
        (p0, q0), (p1, q1) = next(pair for pair in pairwise(self.free) if p <= pair[1][0] + 1e-9)
        return q0 + (q1 - q0) * (p - p0) / (p1 - p0)

    @property
    def gusset_from_mm(self) -> float:
        """Where a gusset's weld to the seat begins, from its bend's tangent."""
        return self.step_mm


def outline_of(site: Site) -> Outline:
    """The bracket's outline.

    Raises:
        BadInput: with what keeps it from standing there.
    """
    bracket, t, corner = site.bracket, site.thickness_mm, site.corner_mm
    overhang = fillet_leg_mm(t, t, False, along_edge=False).leg_mm if bracket.gussets else 0.0
    relief, step = (corner, t) if bracket.gussets else (0.0, 0.0)
    half_seat = bracket.width_mm / 2
    half_base = half_seat - overhang - corner if bracket.gussets else half_seat
    half_bend = half_base - relief
    faults = _size_faults(site, half_bend)
    if faults:
        raise BadInput(faults)
    free, asked = _free_edge(site, half_base)
    if faults := _seat_faults(site, half_seat) or _contact_faults(site, free):
        raise BadInput(faults)
    gap = site.shop.root_gap_mm
    outline = Outline(
        half_base=half_base, half_bend=half_bend, half_seat=half_seat, relief_mm=relief, step_mm=step, overhang_mm=overhang, gap_mm=gap,
        asked_q=asked, free=free, gussets=None,
    )  # fmt: skip
    if not bracket.gussets:
        return outline
    sides = [_gusset(site, outline, -free[0][1]), _gusset(site, outline, -free[-1][1])]
    wrong = [f for f in sides if isinstance(f, Fault)]
    if wrong:
        raise BadInput(list(dict.fromkeys(wrong)))
    left, right = (g for g in sides if isinstance(g, Gusset))
    return replace(outline, gussets=(left, right))


def base_contour(outline: Outline) -> Contour:
    """(p, q), counter-clockwise: seat's bend edge on q = 0."""
    b, w, c = outline.half_bend, outline.half_base, outline.relief_mm
    segments = [Segment(one, two) for one, two in pairwise(outline.free)]
    if c:
        segments += [
            Segment(outline.free[-1], (w, -c)), Segment((w, -c), (b, 0.0), -QUARTER), Segment((b, 0.0), (-b, 0.0)),
            Segment((-b, 0.0), (-w, -c), -QUARTER), Segment((-w, -c), outline.free[0]),
        ]  # fmt: skip
    else:
        segments += [Segment(outline.free[-1], (w, 0.0)), Segment((w, 0.0), (-w, 0.0)), Segment((-w, 0.0), outline.free[0])]
    return Contour.of(segments)


def seat_contour(site: Site, outline: Outline) -> Contour:
    """(u, v): u = 0 at the left end of its bend edge, v out from the bend's tangent."""
    wide, far, over = 2 * outline.half_bend, site.bracket.depth_mm - site.corner_mm, outline.half_seat - outline.half_bend
    if not outline.step_mm:
        plain = Contour(((0.0, 0.0), (wide, 0.0), (wide, far), (0.0, far)), (0.0,) * 4)
        return plain.rounded((0.0, 0.0, EDGE_RADIUS_MM, EDGE_RADIUS_MM))
    g = outline.step_mm
    points: tuple[Point, ...] = (
        (0.0, 0.0), (wide, 0.0), (wide + g, g), (wide + over, g), (wide + over, far), (-over, far), (-over, g), (-g, g)
    )  # fmt: skip
    sharp = Contour(points, (0.0, -QUARTER, 0.0, 0.0, 0.0, 0.0, 0.0, -QUARTER))
    return _rounded_free(sharp, [(wide + over, far), (-over, far), (wide + over, g), (-over, g)])


def _rounded_free(contour: Contour, corners: list[Point]) -> Contour:
    """Free corners between two lines rounded for the hands."""
    return contour.rounded([EDGE_RADIUS_MM if p in corners else 0.0 for p in contour.points])


def _size_faults(site: Site, half_bend: float) -> list[Fault]:
    bracket, corner = site.bracket, site.corner_mm
    leg = FLANGE_THICKNESSES * site.thickness_mm
    out: list[Fault] = []
    if 2 * half_bend < leg:
        taken = bracket.width_mm - 2 * half_bend
        limit = (
            f"gussets, their bends and the reliefs at the seat's bend take {taken:.1f} mm of it, leaving {2 * half_bend:.1f} mm to bend"
            if bracket.gussets
            else "is too narrow to bend"
        )
        remedy = f"at least {taken + leg:.0f} mm" + (", or gussets = false" if bracket.gussets else "")
        out.append(site.fault("width", f"{bracket.width_mm:g} mm", limit, remedy))
    least = max(leg, corner + 2 * EDGE_RADIUS_MM)
    if bracket.gussets:
        least = max(least, corner + site.thickness_mm + LEAST_GUSSET_MM + WELD_END_MM)
    if bracket.depth_mm < least:
        limit = f"is too short to bend{' and to weld a gusset to' if bracket.gussets else ''} in {site.thickness_mm:g} mm steel"
        out.append(site.fault("depth", f"{bracket.depth_mm:g} mm", limit, f"at least {least:.0f} mm"))
    return out


def _seat_faults(site: Site, half_seat: float) -> list[Fault]:
    """The seat between the flanges, and its bend on the face."""
    field, value = site.bracket.height_asked
    low, high = site.seat_z_mm
    stops = [site.s(p) for p in (-half_seat, 0.0, half_seat)]
    rooms = [site.room_z(s) for s in stops]
    bottom, top = max(r[0] for r in rooms), min(r[1] for r in rooms)
    clear = site.bracket.clearance_mm
    for over, flange in ((bottom - low, "lower"), (high - top, "upper")):
        if over > 1e-9:
            limit = (
                f"the seat, z {low:.1f} to {high:.1f} mm, goes {over:.1f} mm too near to or into the {flange} flange of {site.rail.name}: "
                f"with {clear:g} mm of air there is room from z {bottom:.1f} to {top:.1f} mm"
            )
            way = "higher" if flange == "lower" else "lower"
            remedy = f"put the seat {over:.1f} mm {way}, or stand it on a plate on the toes"
            return [site.fault(field, value, limit, remedy)]
    ends = [site.s(p) for p in (-half_seat, half_seat)]
    z = site.tangent_z_mm
    bottom, top = max(site.low(s) for s in ends), min(site.high(s) for s in ends)
    over = z - top if site.upright > 0 else bottom - z
    if over > 1e-9 and not (site.upright < 0 and site.hangs):
        what = "the flat of the web" if site.on_web else f"plate {site.face.name}"
        limit = (
            f"the seat's bend would begin at z {z:.1f} mm, {over:.1f} mm off {what}: the base has z {bottom:.1f} to {top:.1f} mm there"
            f"{', its weld kept clear' if site.bracket.attach == 'weld' else ''}"
        )
        remedy = f"put the seat {over:.1f} mm {'lower' if site.upright > 0 else 'higher'}"
        return [site.fault(field, value, limit, remedy)]
    return []


def _free_edge(site: Site, half: float) -> tuple[tuple[Point, ...], float | None]:
    """The base's free edge, and the q that was asked for: level where the face allows, else along the rail inside its limit."""
    bracket = site.bracket
    free_hang = site.hangs and site.upright > 0 and bracket.height_mm is not None

    def limit(p: float) -> float:
        s = site.s(p)
        return site.q(site.low(s) if site.upright > 0 else site.high(s))

    # A gusset's bend goes on past the base's flat, level: what it reaches there counts too.
    reach = site.corner_mm if bracket.gussets else 0.0
    left, right = (max(limit(p), limit(p + side * reach)) for p, side in ((-half, -1), (half, 1)))
    stops = [-half + 2 * half * k / SAMPLES for k in range(SAMPLES + 1)]
    over = max(limit(p) - (left + (right - left) * (p + half) / (2 * half)) for p in stops)
    left, right = left + max(0.0, over), right + max(0.0, over)
    if bracket.height_mm is None:
        return ((-half, left), (half, right)), None
    asked = site.corner_mm - bracket.height_mm
    if free_hang:
        return ((-half, asked), (half, asked)), asked
    if asked <= min(left, right):
        return ((-half, left), (half, right)), asked
    if asked >= max(left, right):
        return ((-half, asked), (half, asked)), asked
    knee = (-half + 2 * half * (asked - left) / (right - left), asked)
    if min(knee[0] + half, half - knee[0]) < 1.0:
        return ((-half, max(left, asked)), (half, max(right, asked))), asked
    return ((-half, max(left, asked)), knee, (half, max(right, asked))), asked


def _contact_faults(site: Site, free: tuple[Point, ...]) -> list[Fault]:
    """Enough of the base must lie on its face, and enough of it must be flat to bend."""
    bracket = site.bracket
    given = bracket.height_mm is not None
    field, value = ("height", f"{bracket.height_mm:g} mm") if given else bracket.height_asked
    contacts: list[float] = []
    for p, q in (free[0], free[-1]):
        s, ends = site.s(p), sorted((site.tangent_z_mm, site.z(q)))
        contacts.append(min(ends[1], site.high(s)) - max(ends[0], site.low(s)))
    short = LEAST_CONTACT_MM - min(contacts)
    if short > 0:
        limit = f"leaves {max(min(contacts), 0.0):.1f} mm of base on {site.onto}; {LEAST_CONTACT_MM:g} mm is the least"
        higher = site.upright > 0 or site.hangs
        moved = f"put the seat {short:.0f} mm {'higher' if higher else 'lower'}"
        remedy = f"{moved}, or give the base that much more height" if given else f'{moved}, or base = "{_other(bracket.base)}"'
        return [site.fault(field, value, limit, remedy)]
    leg = FLANGE_THICKNESSES * site.thickness_mm - site.corner_mm
    shortest = min(-q for _, q in free)
    if shortest < leg:
        limit = f"leaves {shortest + site.corner_mm:.1f} mm of base over all: too short to bend in {site.thickness_mm:g} mm steel"
        return [site.fault(field, value, limit, f"at least {leg + site.corner_mm:.0f} mm")]
    return []


def _other(base: str) -> str:
    return "above" if base == "below" else "below"


def _gusset(site: Site, outline: Outline, base_mm: float) -> Gusset | Fault:
    """`base_mm`: height of the base on that side. u runs down the base from the relief, v off the bend's tangent."""
    corner, c, g = site.corner_mm, outline.relief_mm, outline.step_mm
    bend = base_mm - c
    if bend < LEAST_GUSSET_MM:
        limit = f"{bend:.1f} mm of the base is left beside a gusset's bend on {site.onto}; {LEAST_GUSSET_MM:g} mm is the least"
        return site.fault("gussets", "true", limit, "a base on a plate on the toes, a seat with more base, or gussets = false")
    far = site.bracket.depth_mm - corner - WELD_END_MM
    top = -(c + site.inside_radius_mm - outline.gap_mm)
    nose = (top + LEAST_NOSE_MM, far)
    foot = min(max(FLANGE_THICKNESSES * site.thickness_mm - corner, g + EDGE_RADIUS_MM), far)
    low, foot, notch = _foot(site, outline, bend, foot, nose)
    points: tuple[Point, ...] = ((0.0, 0.0), (low, 0.0), (low, foot), nose, (top, far), (top, g), (-g, g))
    contour = _rounded_free(Contour(points, (0.0, 0.0, 0.0, 0.0, 0.0, 0.0, -QUARTER)), [(low, foot), nose, (top, far)])
    if notch is not None:
        # Everything behind the toes that lies past the base's edge goes: the flange and the air round it.
        far_off = low + 50.0
        square = Contour(((bend, -50.0), (far_off, -50.0), (far_off, notch), (bend, notch)), (0.0,) * 4)
        contour = cut(contour, square.rounded((0.0, 0.0, 0.0, NOTCH_RADIUS_MM)))[0]
        contour = contour.rounded([EDGE_RADIUS_MM if dist(p, (low, notch)) < 1e-6 else 0.0 for p in contour.points])
    return Gusset(contour=contour.started_at(edge_between(contour, (0.0, 0.0), (bend, 0.0))), bend_mm=bend, notched=notch is not None)


def _foot(site: Site, outline: Outline, bend: float, foot: float, nose: Point) -> tuple[float, float, float | None]:
    """(u of the gusset's end, v of its foot there, v up to which it is notched round the flange).

    Where the base had to end before the height asked for, the gusset is drawn for that height: what reaches past the toes may hang
    lower than the base, as long as it does not come to a point.
    """
    if outline.asked_q is None or not site.inside_section:
        return bend, foot, None
    asked = max(-outline.asked_q - outline.relief_mm, bend)
    # At least the notch's radius past the toe: a rounder corner than the air is wide would come nearer to the flange's own corner.
    toe = site.rail.section.toe_offset_mm - site.face.offset_mm - site.corner_mm + max(site.bracket.clearance_mm, NOTCH_RADIUS_MM)

    def slant(v: float) -> float:
        return asked + (nose[0] - asked) * (v - foot) / (nose[1] - foot)

    low, wide = slant(toe + LEAST_NOSE_MM), toe + LEAST_NOSE_MM
    if toe > foot and wide < nose[1] and low > bend + NOTCH_RADIUS_MM + EDGE_RADIUS_MM + 1.0:
        return low, wide, toe
    return bend, max(foot, foot + (bend - asked) * (nose[1] - foot) / (nose[0] - asked)), None
