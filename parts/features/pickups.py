"""The frame's own holes taken up by name: an alignment pin through both, or a bolt."""

from __future__ import annotations

from collections.abc import Iterable
from dataclasses import replace

from parts.errors import BadInput
from parts.features.draft import Draft
from parts.frame.placed import PlacedHole
from parts.hardware import bolt_length, clearance_hole
from parts.holes import Hole
from parts.piece import BoltLine, HardwareItem, Removal

LEAST_ROOM_MM = 0.5


def pickups(draft: Draft) -> Draft:
    """Holes of the plate over the frame's own, along the web's normal. One that a bend runs through counts as a conflict."""
    setting = draft.setting
    for entry in setting.plate.pick_up:
        try:
            own = setting.frame.hole(entry.hole, setting.rail.side)
        except BadInput as error:
            faults = [replace(f, where=setting.where, field="pick_up.hole") for f in error.faults]
            draft = replace(draft, faults=(*draft.faults, *(f for f in faults if f not in draft.faults)))
            continue
        if own.face != "web":
            draft = draft.fault("pick_up.hole", f"{entry.hole} is in the {own.face}: a rail plate takes up holes of the web", value=entry.hole)
            continue
        place = draft.at(own.s_mm, own.z_mm)
        if place is None:
            continue  # another piece's, or off the plate: the family says so once all pieces are known
        size = own.diameter_mm
        if entry.by == "bolt":
            size = clearance_hole(entry.bolt, entry.fit).diameter_mm
        index, (u, z) = place
        hole = Hole(name=entry.hole, x_mm=u, y_mm=z, diameter_mm=size, purpose=f"{entry.by} {entry.bolt}".strip())
        if draft.panels[index].off_bends(u) < size / 2 + LEAST_ROOM_MM:
            draft = replace(draft, bend_conflicts=draft.bend_conflicts + 1)
        draft = draft.with_holes(index, [hole])
        draft = replace(draft, picked=draft.picked | {entry.hole})
        draft = _fastened(draft, own, entry.by, entry.bolt, index, u)
    return draft


def missed(drafts: Iterable[Draft]) -> list[str]:
    """Names asked for that none of the plate's pieces took up."""
    every = list(drafts)
    asked = [e.hole for e in every[0].setting.plate.pick_up] if every else []
    done = frozenset[str]().union(*(d.picked for d in every))
    return [name for name in asked if name not in done]


def _fastened(draft: Draft, own: PlacedHole, by: str, size: str, index: int, u: float) -> Draft:
    """What a picked-up hole needs besides: the rivet out of it, the bolt and its grip."""
    setting = draft.setting
    if own.filled != "open":
        removal = Removal(
            name=own.name,
            what=own.filled,
            where=f"{setting.rail.name} web",
            point=own.point,
            why=f"its hole takes a {by} of {setting.plate.id}",
            how=(
                "take the head off or pilot-drill it, drill the shank under size, drive it out; ream the hole to the bolt"
                if own.filled == "rivet"
                else "undo it"
            ),
        )
        draft = replace(draft, removals=(*draft.removals, removal))
    if by != "bolt":
        return draft
    facet, t = draft.panels[index].facet, setting.plate.thickness_mm
    inner = own.point
    seen = setting.vehicle(facet, u, own.z_mm, t)
    grip = _grip(draft)
    bolt = BoltLine(name=own.name, size=size, head=seen, nut=inner, grip_mm=grip, between=(setting.plate.id, f"{setting.rail.name} web"))
    length = bolt_length(grip, size)
    items = [
        HardwareItem(designation=f"bolt {length.designation} 8.8", quantity=1, use=setting.place),
        HardwareItem(designation=f"nut {size} class 8", quantity=1, use=setting.place),
        HardwareItem(designation=f"washer {size}", quantity=2, use=setting.place),
    ]
    if not setting.seat.on_web:
        tube = grip - t - setting.rail.thickness_mm
        items.append(HardwareItem(designation=f"crush tube for {size}, {tube:.1f} mm long, cut to fit", quantity=1, use=setting.place))
    return replace(draft, bolts=(*draft.bolts, bolt), hardware=(*draft.hardware, *items))


def _grip(draft: Draft) -> float:
    """From the plate's seen face to the far side of the web."""
    setting = draft.setting
    seat, t, web = setting.seat, setting.plate.thickness_mm, setting.rail.thickness_mm
    if seat.kind == "outside":
        return t + web
    return seat.offset_mm + t
