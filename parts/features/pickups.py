"""The frame's own holes taken up by name: an alignment pin through both, or a bolt."""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import replace

from parts.bolt_size import bolt_size
from parts.errors import BadInput, Finding
from parts.features.bolts import bolt_set, nearest_station, strength_of
from parts.features.draft import Draft
from parts.features.held import RIVET_OUT
from parts.frame.placed import PlacedHole
from parts.hardware import RAIL_PLAY_MM, clearance_hole, rail_hole
from parts.holes import Hole
from parts.piece import BoltLine, Drilling, HardwareItem, Removal
from parts.sheet import Vec3
from parts.soundness import LEAST_WEB_MM

FITS_MM = 0.05  #: how much a hole's diameter may be off in the frame file and still be that of a drill


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
            limit = f"{entry.hole} is in the {own.face}: a rail plate takes up holes of the web"
            draft = draft.fault("pick_up.hole", limit, value=entry.hole, remedy="name a hole of the web, or leave it out")
            continue
        place = draft.at(own.s_mm, own.z_mm)
        if place is None:
            continue  # another piece's, or off the plate: the family says so once all pieces are known
        index, (u, z) = place
        size = clearance_hole(entry.bolt, entry.fit).diameter_mm if entry.by == "bolt" else own.diameter_mm
        if draft.panels[index].off_bends(u) < size / 2 + LEAST_WEB_MM:
            draft = replace(draft, bend_conflicts=draft.bend_conflicts + 1)
        hole = Hole(name=entry.hole, x_mm=u, y_mm=z, diameter_mm=size, purpose=f"{entry.by} {entry.bolt}".strip())
        draft = replace(draft.with_holes(index, [hole]), picked=draft.picked | {entry.hole})
        draft = _emptied(draft, own, entry.by)
        if entry.by == "bolt":
            draft = _bolted(draft, own, entry.bolt, setting.vehicle(draft.panels[index].facet, u, z, setting.plate.thickness_mm))
    return draft


def missed(drafts: Sequence[Draft]) -> list[str]:
    """Holes of the web that were asked for and that none of the plate's pieces took up."""
    setting = drafts[0].setting
    there = {h.name for h in setting.frame.holes_on(setting.rail.side, face="web")}
    done = frozenset[str]().union(*(d.picked for d in drafts))
    return [e.hole for e in setting.plate.pick_up if e.hole in there - done]


def _emptied(draft: Draft, own: PlacedHole, by: str) -> Draft:
    """What fills a hole comes out before a pin or a bolt goes in."""
    if own.filled == "open":
        return draft
    removal = Removal(
        name=own.name,
        what=own.filled,
        where=f"{draft.setting.rail.name} web",
        point=own.point,
        why=f"its hole takes a {by} of {draft.setting.plate.id}",
        how=RIVET_OUT if own.filled == "rivet" else "undo it",
    )
    return replace(draft, removals=(*draft.removals, removal))


def _bolted(draft: Draft, own: PlacedHole, size: str, head: Vec3) -> Draft:
    """The bolt through plate and web, with a crush tube where there is air between, and the rail's hole made to fit it."""
    setting = draft.setting
    rail, plate, outside = setting.rail, setting.plate, setting.seat.kind == "outside"
    grip = plate.thickness_mm + (rail.thickness_mm if outside else setting.seat.offset_mm)
    nut = rail.point(own.s_mm, own.z_mm, rail.thickness_mm) if outside else own.point
    rivet = own.filled == "rivet"
    bolt = BoltLine(
        name=own.name, size=size, head=head, nut=nut, grip_mm=grip, between=(plate.id, f"{rail.name} web"),
        strength=strength_of(size, for_rivet=rivet)[0],
    )  # fmt: skip
    items = [*bolt_set(size, grip, setting.place, for_rivet=rivet)]
    if not setting.seat.on_web:
        tube = setting.seat.offset_mm - rail.thickness_mm
        items.append(HardwareItem(designation=f"crush tube for {size}, {tube:.1f} mm long, cut to fit", quantity=1, use=setting.place))
    draft = replace(draft, bolts=(*draft.bolts, bolt), hardware=(*draft.hardware, *items))
    drill = rail_hole(size)
    if own.diameter_mm < drill.diameter_mm - FITS_MM:
        return _opened_out(draft, own, size, drill.diameter_mm)
    if own.diameter_mm > bolt_size(size).diameter_mm + RAIL_PLAY_MM + FITS_MM:
        message = f"the rail's hole {own.name} is {own.diameter_mm:g} mm: {size} has more than {RAIL_PLAY_MM:g} mm of play in it"
        return draft.finding(
            Finding(
                code="pick-up-loose", level="warn" if setting.frame.use.commercial else "note", where=setting.place, message=message,
                value=f"{own.diameter_mm:g} mm", limit=f"bolt + {RAIL_PLAY_MM:g} mm", remedy="a larger bolt, or a sleeve in the hole",
                source="VSB 6 (heavy vehicles)",
            )
        )  # fmt: skip
    return draft


def _opened_out(draft: Draft, own: PlacedHole, size: str, drill_mm: float) -> Draft:
    datum, along = nearest_station(draft, own.tape_mm)
    drilling = Drilling(
        name=own.name, rail=draft.setting.rail.name, face="web", diameter_mm=drill_mm, point=own.point, along_mm=along, up_mm=own.up_mm,
        datum=datum, existing_mm=own.diameter_mm, why=f"opened out for {size} of {draft.setting.plate.id}",
    )  # fmt: skip
    return replace(draft, drilling=(*draft.drilling, drilling))
