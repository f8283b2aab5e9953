"""Where a bracket is welded: its base round its edges, as far as they lie on the face, and its gussets to its seat."""

from __future__ import annotations

from collections.abc import Iterator

from parts.features.bracket.outline import EDGE_RADIUS_MM, WELD_END_MM, Outline
from parts.features.bracket.site import Site
from parts.outline import Point
from parts.piece import WeldJoint
from parts.welds import fillet_leg_mm


def seams(site: Site, outline: Outline) -> tuple[WeldJoint, ...]:
    out = [*_gussets(site, outline)]
    if site.bracket.attach == "weld":
        out += _base(site, outline)
    return tuple(out)


def _base(site: Site, outline: Outline) -> Iterator[WeldJoint]:
    """Beside a bend the base curves off its face: the weld fills the groove between them."""
    t, onto = (site.thickness_mm, site.face.thickness_mm), site.onto
    w, b, c = outline.half_base, outline.half_bend, outline.relief_mm
    front_right = site.along < 0  # p to the right is the front
    bent = outline.gussets is not None
    lines: list[tuple[str, tuple[Point, ...], bool]] = [
        ("base, free edge", outline.free, False),
        (f"base, {'front' if front_right else 'rear'} edge", (outline.free[-1], (w, -c)), bent),
        ("base, at the seat's bend", ((b, 0.0), (-b, 0.0)), True),
        (f"base, {'rear' if front_right else 'front'} edge", ((-w, -c), outline.free[0]), bent),
    ]
    for name, line, groove in lines:
        kept = _on_face(site, line)
        if len(kept) < 2:
            continue
        yield WeldJoint(
            name=name, kind="bevel" if groove else "fillet", points=tuple(site.vehicle(p, q) for p, q in kept), thickness_mm=t, onto=onto,
            leg_mm=0.0 if groove else site.leg_mm,
        )  # fmt: skip


def _on_face(site: Site, line: tuple[Point, ...]) -> tuple[Point, ...]:
    """What of a level, upright or sloping line lies on the face, weld and all."""
    slack = 1e-6
    if len({p for p, _ in line}) > 1:
        whole = all(site.low(site.s(p)) - slack <= site.z(q) <= site.high(site.s(p)) + slack for p, q in line)
        return line if whole else ()
    (p, q0), (_, q1) = line
    s = site.s(p)
    bounds = sorted((site.q(site.low(s)), site.q(site.high(s))))
    ends = [min(max(q, bounds[0]), bounds[1]) for q in (q0, q1)]
    return ((p, ends[0]), (p, ends[1])) if abs(ends[1] - ends[0]) > 1.0 else ()


def _gussets(site: Site, outline: Outline) -> Iterator[WeldJoint]:
    """Along a gusset's outer face, under what the seat stands over it."""
    if outline.gussets is None:
        return
    t = site.thickness_mm
    leg = fillet_leg_mm(t, t, False, along_edge=False).leg_mm
    q = site.inside_radius_mm
    first, last = site.corner_mm + outline.gusset_from_mm, site.bracket.depth_mm - WELD_END_MM - EDGE_RADIUS_MM
    for side in (-1, 1):
        p = side * (outline.half_base + site.corner_mm)
        front = side == (1 if site.along < 0 else -1)
        yield WeldJoint(
            name=f"{'front' if front else 'rear'} gusset to the seat", kind="fillet",
            points=(site.vehicle(p, q, first), site.vehicle(p, q, last)), thickness_mm=(t, t),
            onto=f"{site.bracket.id}-{site.rail.side} seat", leg_mm=leg, gap_mm=outline.gap_mm,
        )  # fmt: skip
