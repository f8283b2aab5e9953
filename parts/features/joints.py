"""Where a plate is welded to its rail: its edges as 3-D lines, what they are welded to and how."""

from __future__ import annotations

import math
from dataclasses import replace

from parts.features.draft import Draft, DraftPanel
from parts.piece import WeldJoint
from parts.segment import Segment
from parts.sheet import Vec3

CHORD_DEG = 5.0


def joints(draft: Draft) -> Draft:
    """One joint a long edge (bends included), and one an end where the plate lies on the web; none where it is bolted or plugged."""
    setting = draft.setting
    plate, seat = setting.plate, setting.seat
    if plate.attach != "weld":
        return draft
    onto_thickness = setting.rail.section.flange_thickness_mm if seat.kind != "outside" and seat.kind != "inside" else setting.rail.thickness_mm
    kind = {"fillet": "fillet", "bevel": "bevel", "butt": "butt"}[seat.edge]
    found = []
    for edge, flange in (("lower", "lower"), ("upper", "upper")):
        line = tuple(p for panel in draft.panels for p in _edge(draft, panel, edge))
        onto = f"{setting.rail.name} {flange} {seat.onto}" if not seat.on_web else f"{setting.rail.name} {seat.onto}"
        found.append(
            WeldJoint(
                name=f"{edge} edge",
                kind=kind,  # type: ignore[arg-type]
                points=line,
                thickness_mm=(plate.thickness_mm, onto_thickness),
                onto=onto,
                leg_mm=seat.leg_mm if seat.edge == "fillet" else 0.0,
                gap_mm=max(setting.shop.root_gap_mm if seat.kind in ("flush", "stepped") else 0.0, max(p.facet.gap_mm for p in draft.panels)),
            )
        )
    return replace(draft, welds=(*draft.welds, *found))


def _edge(draft: Draft, panel: DraftPanel, which: str) -> list[Vec3]:
    """The plate's own lower or upper edge, front to rear, notches left out: every stretch that lies on the seat's line."""
    line = draft.setting.lower() if which == "lower" else draft.setting.upper()
    out: list[Vec3] = []
    for segment in _along(panel, which):
        points = [segment.a, segment.point_at(0.5), segment.b]
        if all(abs(line.y_at(panel.facet.s_at(p[0])) - p[1]) < 0.05 for p in points):
            steps = max(1, math.ceil(math.degrees(abs(segment.sweep_rad)) / CHORD_DEG))
            out += [draft.setting.vehicle(panel.facet, *segment.point_at(k / steps)) for k in range(steps + 1)]
    return out


def _along(panel: DraftPanel, which: str) -> list[Segment]:
    """Counter-clockwise the lower edge runs rearward and the upper edge forward."""
    found = [s if which == "lower" else s.reversed() for s in panel.contour.segments]
    return sorted((s for s in found if s.b[0] > s.a[0] + 1e-6), key=lambda s: s.a[0])
