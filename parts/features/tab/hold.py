"""What holds a tab: the weld round its base, or bolts through the rail's own holes first and new ones after.

What the rules say of new holes in a web is said of every piece alike, where its drilling is judged.
"""

from __future__ import annotations

from dataclasses import dataclass, replace

from parts.errors import BadInput, Fault
from parts.features.bolts import bolt_set, strength_of
from parts.features.held import RIVET_OUT
from parts.features.tab.shape import EDGE_THICKNESSES, Tab, bolt_from_bend_mm, pitch_mm
from parts.frame.faces import UprightFace
from parts.frame.frame import Frame
from parts.hardware import clearance_hole, rail_hole
from parts.holes import Hole
from parts.piece import BoltLine, Drilling, HardwareItem, Removal, WeldJoint
from parts.sheet import Vec3
from parts.vectors import along, dot, inside
from parts.welds import FilletLeg, fillet_leg_mm

PLACE_MM = 1e-6


@dataclass(frozen=True, kw_only=True)
class Hold:
    """`holes` in the base's own (u, v)."""

    holes: tuple[Hole, ...] = ()
    bolts: tuple[BoltLine, ...] = ()
    welds: tuple[WeldJoint, ...] = ()
    drilling: tuple[Drilling, ...] = ()
    removals: tuple[Removal, ...] = ()
    hardware: tuple[HardwareItem, ...] = ()


def leg_of(tab: Tab) -> FilletLeg:
    return fillet_leg_mm(tab.hanger.thickness_mm, tab.host.thickness_mm, False)


def weld_mm(tab: Tab) -> float:
    return tab.hanger.leg_mm if tab.hanger.leg_mm is not None else leg_of(tab).leg_mm


def held(tab: Tab, frame: Frame, place: str) -> Hold:
    """Raises BadInput: a bolt that nothing holds, or a hole that the base does not reach."""
    return Hold(welds=seams(tab)) if tab.hanger.attach == "weld" else _bolted(tab, frame, place)


def seams(tab: Tab) -> tuple[WeldJoint, ...]:
    """A fillet round the three free edges; at the bend the weld fills the groove beside the radius."""
    w, b = tab.width_mm / 2, tab.base_mm
    lines = (
        ("base, free edge", ((-w, -b), (w, -b)), False),
        ("base, one side", ((w, -b), (w, 0.0)), False),
        ("base, at the bend", ((w, 0.0), (-w, 0.0)), True),
        ("base, other side", ((-w, 0.0), (-w, -b)), False),
    )
    thickness = (tab.hanger.thickness_mm, tab.host.thickness_mm)
    return tuple(
        WeldJoint(
            name=name, kind="bevel" if groove else "fillet", points=tuple(tab.place.point(u, v) for u, v in line), thickness_mm=thickness,
            onto=tab.host.onto, leg_mm=0.0 if groove else weld_mm(tab),
        )
        for name, line, groove in lines
    )  # fmt: skip


def _bolted(tab: Tab, frame: Frame, place: str) -> Hold:
    hanger, host = tab.hanger, tab.host
    if not host.stack_mm:
        limit = f"no bolt holds on {host.name}: nothing is laid out for drilling it, or no nut can be reached behind it"
        raise BadInput(
            Fault(where=tab.where, field="attach", value="bolt", limit=limit, remedy='attach = "weld", or a place on an open web')
        )
    behind = plates_behind(tab, frame)
    try:
        bolt_set(hanger.base_bolt, _grip_mm(tab, behind), place)
    except BadInput as error:
        raise BadInput([replace(f, where=tab.where, field="base_bolt", value=hanger.base_bolt) for f in error.faults]) from None
    hold, faults = _picked(tab, frame, behind)
    size, edge = clearance_hole(hanger.base_bolt, "medium").diameter_mm, EDGE_THICKNESSES * hanger.thickness_mm
    v = -(bolt_from_bend_mm(hanger, tab.inside_radius_mm) + tab.base_mm - size / 2 - edge) / 2
    half = pitch_mm(hanger) / 2
    for k, u in enumerate({0: (), 1: (0.0,), 2: (-half, half)}[hanger.bolts], start=1):
        hole = Hole(name=f"bolt-{k}", x_mm=u, y_mm=v, diameter_mm=size, purpose=f"bolt {hanger.base_bolt}")
        hold = _with(tab, hold, hole, behind, existing_mm=None, place=place)
    faults += _meeting(tab, hold)
    if faults:
        raise BadInput(faults)
    return hold


def plates_behind(tab: Tab, frame: Frame) -> tuple[UprightFace, ...]:
    """Plates built before on the far side of the web, under the base's middle: its bolts go through them too."""
    rail = tab.host.rail
    if rail is None:
        return ()
    s, z, _ = rail.szo(tab.place.point(0.0, -tab.base_mm / 2))
    away = 1 if dot(tab.host.normal, rail.normal(s)) > 0 else -1
    found = [f for f in frame.faces if f.side == rail.side and f.away != away and f.stack_mm and f.edges is not None]
    return tuple(f for f in found if f.edges and f.s0_mm <= s <= f.s1_mm and f.edges[0].y_at(s) <= z <= f.edges[1].y_at(s))


def _grip_mm(tab: Tab, behind: tuple[UprightFace, ...]) -> float:
    return tab.hanger.thickness_mm + tab.host.stack_mm + sum(f.thickness_mm for f in behind)


def _picked(tab: Tab, frame: Frame, behind: tuple[UprightFace, ...]) -> tuple[Hold, list[Fault]]:
    hanger, rail, hold = tab.hanger, tab.host.rail, Hold()
    faults: list[Fault] = []
    size, edge = clearance_hole(hanger.base_bolt, "medium").diameter_mm, EDGE_THICKNESSES * hanger.thickness_mm
    for name in hanger.pick_up:
        if rail is None:
            limit, remedy = f"{tab.host.name} is no rail's web: it has no holes to take up", "leave it out"
            faults.append(Fault(where=tab.where, field="pick_up", value=name, limit=limit, remedy=remedy))
            continue
        try:
            own = frame.hole(name, rail.side)
        except BadInput as error:
            faults += [replace(f, where=tab.where, field="pick_up") for f in error.faults]
            continue
        if own.face != "web":
            limit, remedy = f"is in the {own.face}: a tab takes up holes of the web", "leave it out"
            faults.append(Fault(where=tab.where, field="pick_up", value=name, limit=limit, remedy=remedy))
            continue
        u, v, _ = inside(tab.place, _onto(tab, own.point, own.outward))
        low, high = -(tab.base_mm - size / 2 - edge), -(size / 2 + EDGE_THICKNESSES * hanger.thickness_mm + tab.inside_radius_mm)
        half = tab.width_mm / 2 - size / 2 - edge
        off_u, off_v = max(abs(u) - half, 0.0), max(low - v, v - high, 0.0)
        if max(off_u, off_v) > PLACE_MM:
            limit = (
                f"lies {off_u:.1f} mm along the bend and {off_v:.1f} mm square to it off what the base has room for: its middle stands "
                f"{u:+.1f} mm from the tab's middle and {-v:.1f} mm from the bend; up to {max(half, 0.0):.1f} mm and "
                f"{-high:.1f} to {-low:.1f} mm would do"
            )
            remedy = "move the tab, a wider tab or a longer foot, or a new hole"
            faults.append(Fault(where=tab.where, field="pick_up", value=name, limit=limit, remedy=remedy))
            continue
        if own.filled != "open":
            how = RIVET_OUT if own.filled == "rivet" else "undo it"
            why = f"its hole takes a bolt of {hanger.id}"
            removal = Removal(name=own.name, what=own.filled, where=f"{rail.name} web", point=own.point, why=why, how=how)
            hold = replace(hold, removals=(*hold.removals, removal))
        hole = Hole(name=name, x_mm=u, y_mm=v, diameter_mm=size, purpose=f"bolt {hanger.base_bolt}")
        hold = _with(tab, hold, hole, behind, existing_mm=own.diameter_mm, place=hanger.id, rivet=own.filled == "rivet")
    return hold, faults


def _onto(tab: Tab, point: Vec3, way: Vec3) -> Vec3:
    """Where a line through `point` along `way` meets the face."""
    return along(point, (way, -tab.host.height(point) / dot(way, tab.host.normal)))


def _with(
    tab: Tab, hold: Hold, hole: Hole, behind: tuple[UprightFace, ...], *, existing_mm: float | None, place: str, rivet: bool = False
) -> Hold:
    hanger, host = tab.hanger, tab.host
    t, grip = hanger.thickness_mm, _grip_mm(tab, behind)
    on = tab.place.point(hole.x_mm, hole.y_mm)
    head, nut = along(on, (host.normal, t)), along(on, (host.normal, t - grip))
    between = (hanger.id, *host.through, *(f.name for f in behind))
    strength = strength_of(hanger.base_bolt, for_rivet=rivet)[0]
    bolt = BoltLine(name=hole.name, size=hanger.base_bolt, head=head, nut=nut, grip_mm=grip, between=between, strength=strength)
    drilling = _drilling(tab, hole.name, on, behind, existing_mm)
    return replace(
        hold, holes=(*hold.holes, hole), bolts=(*hold.bolts, bolt), drilling=(*hold.drilling, *drilling),
        hardware=(*hold.hardware, *bolt_set(hanger.base_bolt, grip, place, for_rivet=rivet)),
    )  # fmt: skip


def _drilling(tab: Tab, name: str, on: Vec3, behind: tuple[UprightFace, ...], existing_mm: float | None) -> list[Drilling]:
    """In the web, unless the hole is there already and large enough; and in every plate that lies on it."""
    hanger, host, rail = tab.hanger, tab.host, tab.host.rail
    if rail is None:
        return []  # a plate's own hole: told in a note, it is no hole of the frame
    drill = rail_hole(hanger.base_bolt).diameter_mm
    s, z, _ = rail.szo(on)
    tape, up = rail.profile.tape_and_up(s, z)
    datum, along_mm = rail.laid_off(tape)
    plates = [*([host.piece] if host.piece else []), *(f.name for f in behind)]
    faces = ["web"] if existing_mm is None or existing_mm < drill - PLACE_MM else []
    return [
        Drilling(
            name=name, rail=rail.name, face=face, diameter_mm=drill, point=on, along_mm=along_mm, up_mm=up, datum=datum,
            existing_mm=existing_mm if face == "web" else None, why=f"bolt {hanger.base_bolt} of {hanger.id}",
        )
        for face in (*faces, *(f"plate {name}" for name in plates))
    ]  # fmt: skip


def _meeting(tab: Tab, hold: Hold) -> list[Fault]:
    """New holes that would run into one that the face has."""
    out: list[Fault] = []
    for hole in hold.holes:
        if hole.name in tab.hanger.pick_up:
            continue
        u, v = tab.host.foot(tab.place.point(hole.x_mm, hole.y_mm))
        for own in tab.host.holes:
            if own.name in tab.hanger.pick_up:
                continue
            gap = ((u - own.x_mm) ** 2 + (v - own.y_mm) ** 2) ** 0.5 - own.reach_mm - hole.diameter_mm / 2
            if gap < EDGE_THICKNESSES * tab.host.thickness_mm:
                limit = f"its bolt would leave {gap:.1f} mm of steel to {own.name} in {tab.host.name}; 2 t of that is the least"
                remedy = f"move the tab, or take {own.name} up"
                field = "at" if tab.hanger.every_mm is None else "every"
                out.append(Fault(where=tab.where, field=field, value=str(tab.hanger.at or ""), limit=limit, remedy=remedy))
    return out
