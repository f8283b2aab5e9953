"""Where a plate is welded to its rail: lines in space along its edges, what they are welded to and how."""

from __future__ import annotations

import math
from collections.abc import Iterator
from dataclasses import replace
from itertools import pairwise
from typing import Literal

from parts.errors import Finding
from parts.features.draft import EDGE_MM, Draft, DraftPanel, Setting
from parts.frame.faces import Facet
from parts.outline import Contour
from parts.piece import WeldJoint
from parts.segment import Segment
from parts.sheet import Vec3
from parts.welds import fillet_over_gap

Edge = Literal["lower", "upper"]
EDGES: tuple[Edge, Edge] = ("lower", "upper")
SAGITTA_MM = 0.05  #: how far a seam's chords miss a curved edge
JOINED_MM = 1e-6
PROUD_MM = 0.05  #: less is not told


def joints(draft: Draft) -> Draft:
    """One joint for every unbroken stretch of a long edge (bends included), and on the web one for each end that is not upright.

    None where the plate is bolted or plugged.
    """
    setting = draft.setting
    if setting.plate.attach != "weld":
        return draft
    leg, findings = seam_leg(draft)
    draft = replace(draft, findings=(*draft.findings, *findings))
    if setting.seat.edge == "butt" and draft.gap_mm >= PROUD_MM:
        draft = draft.note(
            f"round the rail's turn it stands up to {draft.gap_mm:.1f} mm proud of the flange edges: "
            f"its long seams bridge {seam_gap_mm(draft):.1f} mm there"
        )
    for edge in EDGES:
        if not is_seated(setting, edge):
            continue
        lines = _through_bends(draft, edge)
        for number, line in enumerate(lines, start=1):
            name = f"{edge} edge" if len(lines) == 1 else f"{edge} edge {number}"
            draft = replace(draft, welds=(*draft.welds, seat_joint(draft, name, edge, line, leg)))
    return _ends(draft, leg) if setting.seat.on_web else draft


def is_seated(setting: Setting, edge: Edge) -> bool:
    """Whether that edge lies on its seat: a plate of a given height off the web has one free edge."""
    return setting.plate.height_mm is None or setting.seat.on_web or edge == setting.plate.hang


def seam_gap_mm(draft: Draft) -> float:
    """What the long seams bridge.

    On toes or web: what the rail's turns leave under the plate. Between the flanges the root gap is square to that: a stepped plate slides
    along the flanges' inner faces and keeps it; a flush one stands proud of their edges, and its butt runs aslant from edge to edge.
    """
    seat, root = draft.setting.seat, draft.setting.shop.root_gap_mm
    if not seat.between_flanges:
        return draft.gap_mm
    return math.hypot(root, draft.gap_mm) if seat.edge == "butt" else root


def seam_leg(draft: Draft) -> tuple[float, tuple[Finding, ...]]:
    """The leg laid along the long seams, a wide gap added to it, and what is to be known about that; 0 where they are no fillets."""
    seat = draft.setting.seat
    return fillet_over_gap(draft.setting.place, seat.leg_mm, seam_gap_mm(draft)) if seat.edge == "fillet" else (0.0, ())


def seat_joint(draft: Draft, name: str, edge: Edge, line: tuple[Vec3, ...], leg_mm: float) -> WeldJoint:
    """The joint along a long edge of the plate, or of its filler piece."""
    setting, gap = draft.setting, seam_gap_mm(draft)
    seat, section = setting.seat, setting.rail.section
    onto_mm = section.web_mm if seat.on_web else section.flange_thickness_mm
    onto = f"{setting.rail.name} {seat.onto}" if seat.on_web else f"{setting.rail.name} {edge} {seat.onto}"
    return WeldJoint(
        name=name, kind=seat.edge, points=line, thickness_mm=(setting.plate.thickness_mm, onto_mm), onto=onto, leg_mm=leg_mm, gap_mm=gap
    )


def seat_out_mm(setting: Setting) -> float:
    """How far the root of the long seams lies from the plate's back: on its back, or between the flanges on its seen face."""
    return setting.plate.thickness_mm if setting.seat.between_flanges else 0.0


def seated(setting: Setting, facet: Facet, contour: Contour, edge: Edge) -> list[list[Vec3]]:
    """The stretches of an outline that lie on the seat's line, front to rear; notches break them."""
    line = setting.lower() if edge == "lower" else setting.upper()
    out: list[list[Vec3]] = []
    last: tuple[float, float] | None = None
    for segment in _rearward(contour, edge):
        points = [segment.a, segment.point_at(0.5), segment.b]
        if any(abs(line.y_at(facet.s_at(u)) - z) > EDGE_MM for u, z in points):
            continue
        if last is None or math.dist(last, segment.a) > JOINED_MM:
            out.append([])
        for p in _chords(segment):
            here = setting.vehicle(facet, *p, seat_out_mm(setting))
            if not out[-1] or out[-1][-1] != here:
                out[-1].append(here)
        last = segment.b
    return out


def _chords(segment: Segment) -> Iterator[tuple[float, float]]:
    chord = math.tau if segment.is_line else 2 * math.acos(max(0.0, 1 - SAGITTA_MM / segment.radius))
    steps = max(1, math.ceil(abs(segment.sweep_rad) / chord))
    return (segment.point_at(k / steps) for k in range(steps + 1))


def _rearward(contour: Contour, edge: Edge) -> list[Segment]:
    """Counter-clockwise the lower edge runs rearward and the upper edge forward."""
    found = [s if edge == "lower" else s.reversed() for s in contour.segments]
    return sorted((s for s in found if s.b[0] > s.a[0] + JOINED_MM), key=lambda s: s.a[0])


def _through_bends(draft: Draft, edge: Edge) -> list[tuple[Vec3, ...]]:
    lines: list[list[Vec3]] = []
    for before, panel in pairwise((None, *draft.panels)):
        assert panel is not None
        own = seated(draft.setting, panel.facet, panel.contour, edge)
        if before is not None and lines and own and _meets(draft, before, lines[-1][-1], after=True) and _meets(draft, panel, own[0][0]):
            lines[-1] += own.pop(0)
        lines += own
    return [tuple(line) for line in lines]


def _meets(draft: Draft, panel: DraftPanel, point: Vec3, after: bool = False) -> bool:
    """Whether a point lies on the panel's bend edge to its front, or to its rear."""
    x, y, _ = draft.setting.vehicle(panel.facet, panel.u1 if after else panel.u0, 0.0, seat_out_mm(draft.setting))
    return math.dist((x, y), point[:2]) < 1e-3


def _ends(draft: Draft, leg_mm: float) -> Draft:
    """Slanted ends are welded round; square ones are left: a full upright weld is a hard spot across the web."""
    setting, plate = draft.setting, draft.setting.plate
    for name, index, kind in (("front end", 0, draft.ends[0]), ("rear end", -1, draft.ends[1])):
        panel = draft.panels[index]
        if kind in ("angled", "fish-mouth"):
            line = tuple(setting.vehicle(panel.facet, *p) for p in _end_line(draft, panel, front=index == 0))
            if len(line) > 1:
                joint = WeldJoint(
                    name=name, kind="fillet", points=line, thickness_mm=(plate.thickness_mm, setting.rail.thickness_mm),
                    onto=f"{setting.rail.name} {setting.seat.onto}", leg_mm=leg_mm, gap_mm=draft.gap_mm,
                )  # fmt: skip
                draft = replace(draft, welds=(*draft.welds, joint))
        elif kind == "square":
            draft = draft.finding(
                Finding(
                    code="square-end", level="warn" if setting.frame.use.commercial else "note", where=setting.place,
                    message=f"the {name} is square: it is left unwelded, as no full upright weld belongs on a web",
                    limit="ends at 45 deg or fish-mouthed", remedy='"angled" or "fish-mouth"', source="VSB 6 section H (heavy vehicles)",
                )
            )  # fmt: skip
    return draft


def _end_line(draft: Draft, panel: DraftPanel, front: bool) -> list[tuple[float, float]]:
    """Round the end, from the long edge that comes before it to the one after, as the outline runs."""
    setting, segments = draft.setting, panel.contour.segments
    lines = (setting.lower(), setting.upper())

    def on_edge(s: Segment) -> bool:
        at = [(panel.facet.s_at(u), z) for u, z in (s.a, s.point_at(0.5), s.b)]
        return any(all(abs(line.y_at(along) - z) <= EDGE_MM for along, z in at) for line in lines)

    extreme = min if front else max
    tip = extreme((i for i, s in enumerate(segments) if not on_edge(s)), key=lambda i: extreme(segments[i].a[0], segments[i].b[0]))
    first = last = tip
    while first > tip - len(segments) and not on_edge(segments[(first - 1) % len(segments)]):
        first -= 1
    while last < tip + len(segments) and not on_edge(segments[(last + 1) % len(segments)]):
        last += 1
    out: list[tuple[float, float]] = []
    for i in range(first, last + 1):
        out += [p for p in _chords(segments[i % len(segments)]) if not out or math.dist(out[-1], p) > JOINED_MM]
    return out
