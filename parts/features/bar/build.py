"""From a fixture bar's parameters to its piece: a middle panel, on leaning seats an end bent off it to each side, flanges or none."""

from __future__ import annotations

import math
from dataclasses import replace
from typing import TYPE_CHECKING

from parts.errors import BadInput, Fault, Finding
from parts.features.bar.clear import in_the_way
from parts.features.bar.drawn import ENDS, FLANGES, MIDDLE, Drawn
from parts.features.bar.etch import etched
from parts.features.bar.holes import bolted, hole_faults, hole_findings, over_seats, seat_hole_findings
from parts.features.bar.lie import Lie, lie_of
from parts.features.bar.say import notes
from parts.features.bar.sizes import EDGE_RADIUS_MM, FLANGE_THICKNESSES, least_flange_mm, least_width_mm
from parts.features.laid import laid
from parts.flat import edge_between
from parts.frame.frame import Frame
from parts.outline import Contour, Point, rectangle
from parts.piece import Piece
from parts.sheet import Bend, Panel, SheetPart
from parts.shop import Shop
from parts.soundness import faults as unsound
from parts.vectors import dot, minus

if TYPE_CHECKING:
    from parts.families.fixture_bar import FixtureBar


def build(bar: FixtureBar, frame: Frame, shop: Shop) -> tuple[Piece, ...]:
    """Raises BadInput with every fault of the bar on this frame."""
    lie = lie_of(bar, frame, shop)
    half, faults = _half(bar, lie)
    # What cannot be bent is drawn flat, so that all else that is wrong with it is told in the same go.
    drawn = _drawn(replace(bar, form="flat"), lie, bar.width_mm / 2) if faults else _drawn(bar, lie, half)
    faults += [f for f in hole_faults(drawn) if all(f.field != told.field for told in faults)]
    said, more = notes(drawn, frame)
    if faults := [*faults, *more]:
        raise BadInput(faults)
    drawn = etched(over_seats(drawn))
    if wrong := unsound(drawn.part):
        raise BadInput([replace(f, where=f"part {bar.id}") for f in wrong])
    bolts, hardware = bolted(drawn)
    part, places = laid(drawn.part, (drawn.place,))
    piece = Piece(
        id=bar.id, family=bar.FAMILY, side="centre", part=part, grade=bar.grade, placements=places, bolts=bolts,
        hardware=hardware, notes=said,
    )  # fmt: skip
    told = (*_lies(drawn), *hole_findings(drawn), *seat_hole_findings(drawn, frame), *in_the_way(bar, lie, piece, frame))
    return (replace(piece, findings=told),)


def _half(bar: FixtureBar, lie: Lie) -> tuple[float, list[Fault]]:
    """(half of what is flat across the bar, of a channel between the flanges' bends; what no brake bends)."""
    t, corner, where = bar.thickness_mm, bar.thickness_mm + lie.inside_radius_mm, f"part {bar.id}"
    faults: list[Fault] = []
    if bar.form == "channel":
        least = least_flange_mm(bar, lie)
        if bar.flange_mm < least:
            limit, remedy = f"is too short to bend in {t:g} mm steel", f"at least {math.ceil(least)} mm"
            faults.append(Fault(where=where, field="flange", value=f"{bar.flange_mm:g} mm", limit=limit, remedy=remedy))
        flat = bar.width_mm - 2 * corner
        if flat < FLANGE_THICKNESSES * t:
            limit = f"the flanges' bends take {corner:g} mm each: {max(flat, 0.0):.1f} mm would be flat between them"
            remedy = f'at least {math.ceil(least_width_mm(bar, lie) - 1e-9)} mm, or form = "flat"'
            faults.append(Fault(where=where, field="width", value=f"{bar.width_mm:g} mm", limit=limit, remedy=remedy))
    return bar.width_mm / 2 - (corner if bar.form == "channel" else 0.0), faults


def _drawn(bar: FixtureBar, lie: Lie, half: float) -> Drawn:
    """Without its openings: the middle panel's u = 0 is its left end."""
    left, right = lie.ends
    before, after = (0.0 if end.bend_deg else end.outer_mm + bar.over_mm for end in lie.ends)
    length = before + dot(minus(right.tangent, left.tangent), lie.run) + after
    channel, r = bar.form == "channel", lie.inside_radius_mm
    # Beside a bent end a flange stops short, so that the two bends do not meet in the corner.
    a, b = (2 * bar.thickness_mm if end.bend_deg and channel else 0.0 for end in lie.ends)
    low: list[Point] = [(0.0, -half), *([(a, -half)] if a else []), *([(length - b, -half)] if b else []), (length, -half)]
    contour = Contour((*low, *((u, -v) for u, v in reversed(low))), (0.0,) * (2 * len(low)))
    if not channel:
        contour = contour.rounded([0.0 if lie.ends[int(u > length / 2)].bend_deg else EDGE_RADIUS_MM for u, _ in contour.points])
    panels, bends = [Panel(name=MIDDLE, contour=contour)], []
    edges = (((0.0, half), (0.0, -half)), ((length, -half), (length, half)))
    for end, name, edge in zip(lie.ends, ENDS, edges, strict=True):
        if end.bend_deg:
            panels.append(Panel(name=name, contour=_leaf(2 * half, end.off_mm + end.outer_mm + bar.over_mm)))
            number = edge_between(contour, *edge)
            bends.append(Bend(parent=MIDDLE, child=name, edge=number, angle_deg=end.bend_deg, inside_radius_mm=r))
    if channel:
        front = 1.0 if lie.across[0] < 0 else -1.0  # v runs forward where the bar lies on top, rearward where it hangs underneath
        for name, way in zip(FLANGES, (front, -front), strict=True):
            panels.append(Panel(name=name, contour=_leaf(length - a - b, bar.flange_mm - bar.thickness_mm - r)))
            edge = ((length - b, half), (a, half)) if way > 0 else ((a, -half), (length - b, -half))
            bends.append(Bend(parent=MIDDLE, child=name, edge=edge_between(contour, *edge), angle_deg=90.0, inside_radius_mm=r))
    part = SheetPart(name=bar.id, thickness_mm=bar.thickness_mm, panels=tuple(panels), bends=tuple(bends))
    return Drawn(bar=bar, lie=lie, half_mm=half, length_mm=length, part=part, place=lie.place(before))


def _leaf(length: float, tall: float) -> Contour:
    """A child panel: its bend edge on v = 0, its free corners rounded."""
    return rectangle(0.0, 0.0, length, tall).rounded((0.0, 0.0, EDGE_RADIUS_MM, EDGE_RADIUS_MM))


def _lies(drawn: Drawn) -> tuple[Finding, ...]:
    """Seats that lean too little to bend a bar for."""
    lean = drawn.lie.lean_deg
    if not lean:
        return ()
    per = 100.0 * math.tan(math.radians(lean))
    message = (
        f"the seats lean {lean:.2f} deg against it, {per:.2f} mm over 100 mm: so little that no brake sets it. The flat bar stands on the "
        "seats' high sides"
    )
    remedy = "put a shim under it, or draw the seats up no harder than the bar stays flat"
    return (
        Finding(
            code="bar-off-seat", level="note", where=drawn.bar.id, message=message, value=f"{lean:.2f} deg", remedy=remedy,
            source="geometry of the seats; common practice, no source",
        ),
    )  # fmt: skip
