"""Rows of plug welds, where a plate lies on the web: evenly spaced, dodging everything else, and saying what was dropped."""

from __future__ import annotations

from dataclasses import replace

from parts.features.draft import Draft
from parts.holes import Hole
from parts.piece import WeldJoint
from parts.welds import plug_findings, plug_hole_mm, plug_pitch_mm

EDGE_THICKNESSES = 2.0  #: hole edge to anything else, in plate thicknesses: TM 9-2320-289-34 p. 9-7 (holes in a reinforcement)


def plugs(draft: Draft) -> Draft:
    setting = draft.setting
    plate = setting.plate
    if plate.attach != "plug":
        return draft
    if not setting.seat.on_web:
        return draft.fault("attach", "plug welds need steel behind the plate: a seat on the web", value="plug", remedy='seat = "outside" or "inside"')
    d = plate.plug_diameter_mm if plate.plug_diameter_mm is not None else plug_hole_mm(plate.thickness_mm).least_mm
    pitch = max(plate.plug_pitch_mm, plug_pitch_mm(d))
    room = d / 2 + EDGE_THICKNESSES * plate.thickness_mm
    placed = dropped = 0
    length = draft.s1_mm - draft.s0_mm
    count = max(1, int((length - 2 * room) // pitch) + 1)
    start = draft.s0_mm + (length - (count - 1) * pitch) / 2
    for row in range(plate.plug_rows):
        for k in range(count):
            s = start + k * pitch
            low, high = setting.lower().y_at(s), setting.upper().y_at(s)
            z = low + (high - low) * (row + 0.5) / plate.plug_rows
            place = draft.at(s, z)
            if place is None:
                continue
            index, (u, v) = place
            if draft.room(index, (u, v)) < room:
                dropped += 1
                continue
            placed += 1
            name = f"plug-{placed}"
            hole = Hole(name=name, x_mm=u, y_mm=v, diameter_mm=d, purpose="plug weld")
            joint = WeldJoint(
                name=name,
                kind="plug",
                points=(setting.vehicle(draft.panels[index].facet, u, v),),
                thickness_mm=(plate.thickness_mm, setting.rail.thickness_mm),
                onto=f"{setting.rail.name} {setting.seat.onto}",
            )
            draft = replace(draft.with_holes(index, [hole]), welds=(*draft.welds, joint))
    quenched = setting.frame.steel.heat_treated
    draft = replace(
        draft,
        findings=(
            *draft.findings,
            *plug_findings(setting.place, diameter_mm=d, thickness_mm=plate.thickness_mm, pitch_mm=pitch, quenched=quenched),
        ),
    )
    text = f"{placed} plug welds of {d:g} mm at {pitch:g} mm in {plate.plug_rows} row{'s' if plate.plug_rows > 1 else ''}"
    return draft.note(text + (f"; {dropped} dropped where an edge, a bend or an opening is nearer than {room - d / 2:g} mm" if dropped else ""))
