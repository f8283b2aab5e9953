"""Tabs on an edge that stand in slots of another part, to hold both in place while they are tacked.

Made for any straight edge that lies on a flat face of a part: `tab_spans` lays them out, `tabbed` cuts them into the outline,
`tab_pockets` asks for their slots. Never into the vehicle's own steel: a slot is a new hole in it.
"""

from __future__ import annotations

import math
from collections.abc import Sequence
from typing import TYPE_CHECKING

from parts.errors import Fault
from parts.frame.offers import FlatFace, Pocket
from parts.outline import Contour, Point, Segment
from parts.sheet import Placement, Vec3
from parts.vectors import along, dot, minus

if TYPE_CHECKING:
    from parts.shop import Process

Span = tuple[float, float]
#: Air on each side of a tab: as much as a cut of 10 to 35 mm in 3.15 to 6.3 mm plate may be off (ISO 9013, as reproduced: class 1 for
#: laser, class 2 for plasma), so that the largest tab still goes into the smallest slot. Class 1 for water jet too: no source.
PLAY_MM: dict[Process, float] = {"laser": 0.25, "water jet": 0.25, "plasma": 0.9}
PLAY_SOURCE = "ISO 9013 tolerance, as reproduced"
#: Radius of the relief beside a tab's root, so that the edge seats flush: at least half the widest kerf of the process (common practice,
#: no source: laser to 0.5, water jet to 1.0, plasma to 3 mm), and no less than a burner turns in.
RELIEF_MM: dict[Process, float] = {"laser": 1.0, "water jet": 1.0, "plasma": 1.5}
OFF_SQUARE = 1e-6
OFF_FACE_MM = 1e-4


def tab_spans(first: float, last: float, number: int, length_mm: float, relief_mm: float) -> tuple[Span, ...] | float:
    """Where `number` tabs lie along an edge, evenly between `first` and `last`; how many mm are missing where they do not fit."""
    share = (last - first) / number
    need = length_mm + 4 * relief_mm + 2.0  # 1 mm of edge to either side of the reliefs
    if share < need:
        return number * need - (last - first)
    middles = [first + share * (k + 0.5) for k in range(number)]
    return tuple((m - length_mm / 2, m + length_mm / 2) for m in middles)


def tabbed(contour: Contour, edge: int, spans: Sequence[Span], depth_mm: float, relief_mm: float) -> Contour:
    """The outline with tabs standing out of its straight segment `edge`, a half-round relief on either side of each root.

    `spans` are measured along the edge from where it begins, in order.
    """
    segment = contour.segments[edge]
    dx, dy = segment.tangent_at(0.0)

    def at(x: float, out: float = 0.0) -> Point:
        return segment.a[0] + x * dx + out * dy, segment.a[1] + x * dy - out * dx

    pieces: list[Segment] = []
    here = segment.a
    for low, high in spans:
        before, root, nose, far, end, after = (
            at(low - 2 * relief_mm), at(low), at(low, depth_mm), at(high, depth_mm), at(high), at(high + 2 * relief_mm)
        )  # fmt: skip
        pieces += [Segment(here, before), Segment(before, root, -1.0), Segment(root, nose), Segment(nose, far), Segment(far, end)]
        pieces.append(Segment(end, after, -1.0))
        here = after
    pieces.append(Segment(here, segment.b))
    return Contour.of([*contour.segments[:edge], *pieces, *contour.segments[edge + 1 :]])


def own_steel(face: FlatFace, number: int, where: str, field: str) -> Fault | None:
    """What keeps `number` tabs out of the vehicle's own steel; None where the face is a part's."""
    if face.piece:
        return None
    limit = f"would be slots in {face.onto}, the vehicle's own steel: no tab goes into it"
    return Fault(where=where, field=field, value=str(number), limit=limit, remedy="tabs on the leg that stands on a part, or none")


def tab_pockets(
    owner: str, place: Placement, thickness_mm: float, edge: tuple[Point, Point], spans: Sequence[Span], face: FlatFace, play_mm: float,
    where: str, field: str,
) -> tuple[Pocket, ...] | Fault:  # fmt: skip
    """The slots that tabs along `edge` (in the panel's own u and v) need in `face`: each as large as its tab and the play all round.

    Args:
        place: of the panel that carries the tabs, in the vehicle.
        where, field: what a fault is named by.
    """
    if (wrong := own_steel(face, len(spans), where, field)) is not None:
        return wrong
    square = abs(dot(place.normal, face.placement.normal))
    if square > OFF_SQUARE:
        off = math.degrees(math.asin(min(1.0, square)))
        limit = f"its plate stands {off:.2f} deg off square to {face.name}: a slot square to that face would not take its tabs"
        return Fault(where=where, field=field, value=str(len(spans)), limit=limit, remedy="leave the tabs out on that edge")
    (ax, ay), (bx, by) = edge
    ends = [place.point(ax, ay, thickness_mm / 2), place.point(bx, by, thickness_mm / 2)]
    off_face = max(abs(dot(minus(p, face.placement.origin), face.placement.normal)) for p in ends)
    if off_face > OFF_FACE_MM:
        raise ValueError(f"the edge of {owner} does not lie on {face.name}: {off_face} mm")
    size = math.dist(*ends)
    way: Vec3 = tuple(d / size for d in minus(ends[1], ends[0]))  # type: ignore[assignment]
    return tuple(
        Pocket(
            name=f"{owner} tab {k}", piece=face.piece, panel=face.panel, centre=along(ends[0], (way, (low + high) / 2)), along=way,
            length_mm=high - low + 2 * play_mm, width_mm=thickness_mm + 2 * play_mm, where=where, field=field,
        )
        for k, (low, high) in enumerate(spans, start=1)
    )  # fmt: skip
