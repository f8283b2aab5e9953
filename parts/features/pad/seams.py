"""Where a pad's base is welded: round its edges, as far as they lie on the face, and along the groove beside its bend."""

from __future__ import annotations

from parts.errors import Finding, Level
from parts.features.pad.ground import Ground
from parts.features.pad.stand import Stand
from parts.outline import Point
from parts.piece import WeldJoint

SHORTEST_MM = 1.0  #: of a weld that is worth laying
SLACK = 1e-6
FLANGE_EDGE_MM = 19.0
FLANGE_EDGE = "TM 5-4210-230-14&P-1: welds and reinforcement edges at least 19 mm off a flange's edge"


def seams(ground: Ground, stand: Stand) -> tuple[WeldJoint, ...]:
    """Nothing where the base is bolted."""
    if ground.pad.attach != "weld":
        return ()
    thickness = (ground.thickness_mm, ground.steel_mm)
    out = []
    for name, line, groove in _edges(ground, stand):
        kept = _on_face(ground, line)
        if kept is None:
            continue
        out.append(
            WeldJoint(
                name=name, kind="bevel" if groove else "fillet", points=tuple(ground.point(*p) for p in kept), thickness_mm=thickness,
                onto=ground.onto, leg_mm=0.0 if groove else ground.leg_mm,
            )
        )  # fmt: skip
    return tuple(out)


def _edges(ground: Ground, stand: Stand) -> list[tuple[str, tuple[Point, Point], bool]]:
    """Every edge of the base: beside the bend it curves off its face, and the weld fills the groove."""
    corners, hangs = stand.base.corners, stand.base.hangs
    rearward = ground.u[0] > 0
    out = []
    for i, one in enumerate(corners):
        two = corners[(i + 1) % len(corners)]
        if i == hangs:
            name = "base, at its bend"
        elif abs(one[0] - two[0]) < SLACK:
            name = f"base, {'rear' if (one[0] > 0) == rearward else 'front'} edge"
        else:
            name = "base, free edge"
        out.append((name, (one, two), i == hangs))
    return out


def _on_face(ground: Ground, line: tuple[Point, Point]) -> tuple[Point, Point] | None:
    """What of an edge lies on the face, weld and all."""
    (a0, b0), (a1, b1) = line
    if abs(a0 - a1) > SLACK:  # along the rail: all of it, or what is not there is no weld
        ok = all(low - SLACK <= b <= high + SLACK for a, b in line for low, high in [ground.span(a)])
        return line if ok else None
    low, high = ground.span(a0)
    ends = [min(max(b, low), high) for b in (b0, b1)]
    return ((a0, ends[0]), (a1, ends[1])) if abs(ends[1] - ends[0]) > SHORTEST_MM else None


def edge_findings(ground: Ground, stand: Stand) -> list[Finding]:
    """Welds on a flange, nearer to its toe than a heavy-frame manual asks."""
    if ground.upright is not None or ground.pad.attach != "weld":
        return []
    toe = ground.rail.section.flange_mm
    kept = [k for _, line, _ in _edges(ground, stand) if (k := _on_face(ground, line)) is not None]
    if not kept:
        return []
    near = toe - max(b for line in kept for _, b in line)
    if near >= FLANGE_EDGE_MM - SLACK:
        return []
    frame = ground.frame
    bound = frame.use.commercial or frame.steel.heat_treated != "no"
    level: Level = "warn" if bound else "note"
    aside = "" if bound else " (written for commercial or heat-treated vehicles, which this one is not)"
    message = f"a weld of the base lies {max(near, 0.0):.1f} mm from the edge of the {ground.face}{aside}"
    return [
        ground.finding(
            "weld-at-flange-edge", level, message, value=f"{max(near, 0.0):.1f} mm", limit=f"at least {FLANGE_EDGE_MM:g} mm",
            remedy="a base on the web", source=FLANGE_EDGE,
        )
    ]  # fmt: skip
