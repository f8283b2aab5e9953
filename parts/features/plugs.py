"""Rows of plug welds, where a plate lies on the web: evenly spaced, dodging everything else, and saying what was dropped."""

from __future__ import annotations

import math
from dataclasses import replace

from parts.errors import BadInput
from parts.features.draft import Draft
from parts.features.rows import Rows
from parts.features.taken import holes_of_web, patches_of_web
from parts.holes import Hole
from parts.material import steel
from parts.outline import Point
from parts.piece import WeldJoint
from parts.welds import SLACK, plug_findings, plug_hole_mm, plug_pitch_mm

EDGE_THICKNESSES = 2.0  #: hole edge to anything else, in plate thicknesses: TM 9-2320-289-34 p. 9-7 (holes in a reinforcement)


def plugs(draft: Draft) -> Draft:
    setting = draft.setting
    plate = setting.plate
    if plate.attach != "plug":
        return draft
    if not setting.seat.on_web:
        remedy = 'seat = "outside" or "inside"'
        return draft.fault("attach", "plug welds need steel behind the plate: a seat on the web", value="plug", remedy=remedy)
    d = plate.plug_diameter_mm if plate.plug_diameter_mm is not None else plug_hole_mm(plate.thickness_mm).least_mm
    least = plug_pitch_mm(d)
    pitch = max(plate.plug_pitch_mm, least)
    edge = EDGE_THICKNESSES * plate.thickness_mm
    layout = Rows.on(draft, pitch_mm=pitch, edge_mm=d / 2 + edge)
    rows = layout.most_rows(plate.plug_rows, least)
    taken = [*holes_of_web(draft), *patches_of_web(draft)]
    placed: list[Point] = []
    dropped = 0
    for row in range(rows):
        for at in layout.row((row + 0.5) / rows):
            place = draft.at(*at)
            if place is None:
                continue
            index, (u, v) = place
            near = any(math.dist(at, other) < least - SLACK for other in placed)  # a kick draws the lower row together
            if near or draft.room(index, (u, v)) < d / 2 + edge or any(t.room_mm(at) < d / 2 + edge for t in taken):
                dropped += 1
                continue
            placed.append(at)
            draft = _plugged(draft, f"plug-{len(placed)}", index, (u, v), d)
    if not placed:
        limit = f"no place for a plug weld of {d:g} mm keeps {edge:g} mm from edges, bends, openings and the web's own holes"
        return draft.fault("attach", limit, value="plug", remedy='a longer plate, a smaller plug_diameter, or attach = "weld"')
    draft = _ruled(draft, d, placed)
    text = f"{len(placed)} plug welds of {d:g} mm at {pitch:g} mm in {rows} row{'s' if rows > 1 else ''}"
    if dropped:
        text += (
            f"; {dropped} dropped: an edge, a bend, an opening, a hole or mark of the web or another plug is too near ({edge:g} mm asked)"
        )
    if pitch > plate.plug_pitch_mm:
        text += f"; asked for at {plate.plug_pitch_mm:g} mm, 4 diameters are the least"
    if rows < plate.plug_rows:
        text += f"; {plate.plug_rows} rows asked for: the plate has no height for them 4 diameters apart"
    return draft.note(text)


def _plugged(draft: Draft, name: str, index: int, centre: Point, d: float) -> Draft:
    setting, plate = draft.setting, draft.setting.plate
    hole = Hole(name=name, x_mm=centre[0], y_mm=centre[1], diameter_mm=d, purpose="plug weld")
    joint = WeldJoint(
        name=name,
        kind="plug",
        points=(setting.vehicle(draft.panels[index].facet, *centre),),
        thickness_mm=(plate.thickness_mm, setting.rail.thickness_mm),
        onto=f"{setting.rail.name} {setting.seat.onto}",
    )
    return replace(draft.with_holes(index, [hole]), welds=(*draft.welds, joint))


def _ruled(draft: Draft, d: float, placed: list[Point]) -> Draft:
    """The rules, by the least distance between any two plugs that were laid."""
    setting, plate = draft.setting, draft.setting.plate
    apart = min((math.dist(p, q) for i, p in enumerate(placed) for q in placed[:i]), default=None)
    found = plug_findings(
        setting.place, diameter_mm=d, thickness_mm=plate.thickness_mm, pitch_mm=apart, quenched=setting.frame.steel.heat_treated,
        yield_mpa=_yield_mpa(draft),
    )  # fmt: skip
    return replace(draft, findings=(*draft.findings, *found))


def _yield_mpa(draft: Draft) -> float | None:
    """The higher of plate and rail; None where the frame file's words for its steel are no grade of the table."""
    try:
        both = [steel(draft.setting.frame.steel.grade).yield_mpa, steel(draft.setting.plate.grade).yield_mpa]
    except BadInput:
        return None
    known = [y for y in both if y is not None]
    return max(known) if len(known) == len(both) else None
