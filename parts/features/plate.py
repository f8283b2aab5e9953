"""From a rail plate's parameters to its pieces: seat, chain of facets, and the features in the order in which they happen."""

from __future__ import annotations

import math
from collections.abc import Callable
from dataclasses import replace
from typing import TYPE_CHECKING

from parts.errors import BadInput, Fault, Finding
from parts.features.around import Filler, Obstacle, around, obstacles, runs, unmet
from parts.features.bolts import bolts
from parts.features.brackets import brackets
from parts.features.butts import butt_joint, numbered
from parts.features.covered import covered
from parts.features.draft import Draft, Setting
from parts.features.drains import drains
from parts.features.ends import reach_mm
from parts.features.fillers import filler_piece
from parts.features.fold import fold
from parts.features.heads import heads
from parts.features.joints import joints
from parts.features.lay import Run, lay
from parts.features.legs import fillet_of, legs
from parts.features.marks import marks
from parts.features.measures import measures
from parts.features.openings import openings, uncrossed
from parts.features.pickups import missed, pickups
from parts.features.plugs import plugs
from parts.features.recesses import recesses
from parts.features.rings import ring_piece
from parts.features.seat import seat_of
from parts.features.splits import foot_x_mm, splits, unsplit
from parts.features.spot import unmade
from parts.features.stops import stop_piece, stops
from parts.features.stubs import stubs
from parts.features.trims import trims
from parts.frame.faces import Facet, UprightFace
from parts.frame.frame import Frame
from parts.frame.section import RailSide
from parts.piece import Piece, Removal
from parts.shop import Shop
from parts.soundness import faults as unsound

if TYPE_CHECKING:
    from parts.families.rail_plate import RailPlate

FEATURES: tuple[Callable[[Draft], Draft], ...] = (
    recesses, pickups, openings, heads, brackets, bolts, plugs, drains, stops, marks, trims, legs, joints, covered, measures
)  # fmt: skip


def build(plate: RailPlate, frame: Frame, shop: Shop) -> tuple[Piece, ...]:
    """The plate's pieces on each side: one, or several where it is split, and the filler pieces of its notches.

    Raises:
        BadInput: with every fault of the plate on this frame.
    """
    found: list[Fault] = []
    pieces: list[Piece] = []
    joints_x: tuple[float, ...] = ()
    for side in plate.sides:
        try:
            own, joints_x = _build_side(plate, frame, shop, side, joints_x)
            pieces += own
        except BadInput as error:
            found += [f for f in error.faults if f not in found]
    if found:
        raise BadInput(found)
    if plate.shape == "shared" and not frame.mirrored:
        from parts.features.shared import shared  # with the search for one shape behind it, which other plates do without

        return shared(pieces, {side: setting_of(plate, frame, shop, side) for side in plate.sides}, shop)
    return tuple(pieces)


def faces(plate: RailPlate, frame: Frame, shop: Shop) -> tuple[UprightFace, ...]:
    out = []
    for side in plate.sides:
        setting = setting_of(plate, frame, shop, side)
        face, t = setting.face, plate.thickness_mm
        stack = setting.rail.thickness_mm + t if setting.seat.on_web else 0.0
        offset = face.offset_mm + face.away * t
        edges = (setting.lower(), setting.upper())
        out.append(replace(face, offset_mm=offset, stack_mm=stack, thickness_mm=t, edges=edges, whole_s_mm=_whole(setting)))
    return tuple(out)


def _whole(setting: Setting) -> tuple[float, float]:
    """From where to where the plate has its whole height: behind its shaped ends, which on a slope lean besides."""
    plate, stops = setting.plate, list[float]()
    for kind, s, inwards in ((plate.front_end, setting.face.s0_mm, 1), (plate.rear_end, setting.face.s1_mm, -1)):
        height = abs(setting.height_at(s))
        leaning = height * abs(math.sin(setting.rail.profile.slope_rad(s)))
        stops.append(s + inwards * (reach_mm(kind, height, plate.end_angle_deg) + leaning))
    return stops[0], stops[1]


def setting_of(plate: RailPlate, frame: Frame, shop: Shop, side: RailSide) -> Setting:
    """Raises BadInput: the seat cannot be, or its ends are not on this rail or in the wrong order."""
    rail, where = frame.rail(side), f"part {plate.id}"
    faults: list[Fault] = []
    ends: list[float] = []
    for field, position in (("start", plate.start), ("end", plate.end)):
        try:
            ends.append(rail.s_at(position))
        except BadInput as error:
            faults += [replace(f, where=where, field=f"{field}.{f.field}" if f.field else field) for f in error.faults]
    if len(ends) == 2 and ends[1] <= ends[0]:
        limit = f"the end lies {ends[0] - ends[1]:.0f} mm in front of the start ({plate.start}) on {rail.name}"
        faults.append(Fault(where=where, field="end", value=str(plate.end), limit=limit, remedy="swap start and end"))
    leg = plate.leg_mm if plate.leg_mm is not None else fillet_of(plate, rail.section).leg_mm
    seat = seat_of(
        plate.seat, rail.section, thickness_mm=plate.thickness_mm, step_mm=plate.step_mm, bevelled=plate.edge == "bevelled",
        leg_mm=leg, root_gap_mm=shop.root_gap_mm, where=where,
    )  # fmt: skip
    if isinstance(seat, Fault):
        faults.append(seat)
    if faults or isinstance(seat, Fault):
        raise BadInput(faults)
    face = UprightFace(
        name=plate.id, rail=rail, offset_mm=seat.offset_mm, away=seat.away, s0_mm=ends[0], s1_mm=ends[1],
        stack_mm=rail.thickness_mm if seat.on_web else 0.0, thickness_mm=rail.thickness_mm,
    )  # fmt: skip
    return Setting(plate=plate, frame=frame, shop=shop, rail=rail, seat=seat, face=face)


def _build_side(
    plate: RailPlate, frame: Frame, shop: Shop, side: RailSide, opposite_x_mm: tuple[float, ...]
) -> tuple[list[Piece], tuple[float, ...]]:
    """One rail's pieces, and the x from which their joints are laid off; `opposite_x_mm`: those of the rail that was built before."""
    setting = replace(setting_of(plate, frame, shop, side), opposite_x_mm=opposite_x_mm)
    best = _best(setting)
    drafts = numbered([draft for draft, _ in best])
    faults = list(dict.fromkeys(f for d in drafts for f in d.faults))
    faults += [_not_on(setting, name) for name in missed(drafts)]
    faults += [*unmade(drafts), *unsplit(setting, drafts)]
    pieces: list[Piece] = []
    for number, (draft, (_, fillers)) in enumerate(zip(drafts, best, strict=True), start=1):
        if not draft.faults:
            pieces += _pieces(draft, fillers, number if len(best) > 1 else None)
    if pieces:
        pieces[0] = replace(pieces[0], findings=(*pieces[0].findings, *uncrossed(drafts)))
        pieces += stop_piece(drafts, f"{plate.id}-{side}-stop")
    faults += [_of_plate(setting, f) for p in pieces for f in unsound(p.part)]
    if faults:
        raise BadInput(faults)
    return _told_once(pieces), tuple(foot_x_mm(setting, d.split_at[1]) for d in drafts if d.split_at[1] is not None)


def _told_once(pieces: list[Piece]) -> list[Piece]:
    """What holds for the whole plate, or comes off for two of its pieces, is told of the first of them alone."""
    findings: set[Finding] = set()
    removals: set[Removal] = set()
    out: list[Piece] = []
    for piece in pieces:
        new_findings = tuple(f for f in piece.findings if f not in findings)
        new_removals = tuple(r for r in piece.removals if r not in removals)
        findings |= set(new_findings)
        removals |= set(new_removals)
        out.append(replace(piece, findings=new_findings, removals=new_removals))
    return out


def _of_plate(setting: Setting, fault: Fault) -> Fault:
    """What keeps a piece from being sound, as the part's: a hole that it takes up is the frame's own, and the plate is what moves."""
    name = fault.field.removeprefix("hole ")
    if name not in {p.hole for p in setting.plate.pick_up} or "bend" in fault.limit:
        return fault
    remedy = f"end the plate further past it, with a square end, or leave it out of pick_up: the hole is {setting.rail.name}'s own"
    return replace(fault, where=setting.where, field="pick_up.hole", value=name, remedy=remedy)


def _best(setting: Setting) -> list[tuple[Draft, tuple[Filler, ...]]]:
    """The first chain of facets whose bends are in nothing's way; else the one with the fewest conflicts.

    Raises:
        BadInput: no plate can be laid on any of them; the faults are those of the first.
    """
    face = setting.face
    best: list[tuple[Draft, tuple[Filler, ...]]] = []
    least, failed = (math.inf, math.inf), None
    for chain in face.chains(setting.shop.weld_gap_mm):
        try:
            drafts = _drafts(setting, chain, face.s0_mm, face.s1_mm)
        except BadInput as error:
            failed = failed or error
            continue
        conflicts = sum(d.bend_conflicts for d, _ in drafts)
        refused = sum(len(d.faults) for d, _ in drafts)  # a cut beside a bend counts as a conflict, one over it is refused besides
        if (refused, conflicts) < least:
            best, least = drafts, (refused, conflicts)
        if conflicts == 0:
            break
    if not best:
        assert failed is not None, "a face has one chain at least"
        raise failed
    return best


def _not_on(setting: Setting, name: str) -> Fault:
    own, face = setting.frame.hole(name, setting.rail.side), setting.face
    limit = (
        f"is not on the plate: it lies at s = {own.s_mm:.0f} mm on {setting.rail.name}, "
        f"the plate runs from {face.s0_mm:.0f} to {face.s1_mm:.0f} mm less what crossmembers take"
    )
    remedy = "move the plate's end past it, or leave it out"
    return Fault(where=setting.where, field="pick_up.hole", value=name, limit=limit, remedy=remedy)


def _drafts(setting: Setting, chain: tuple[Facet, ...], s0: float, s1: float) -> list[tuple[Draft, tuple[Filler, ...]]]:
    found, faults = obstacles(setting, chain, s0, s1)
    out = [piece for run in runs(setting, found, s0, s1) for piece in _draft(setting, chain, run, found)]
    if not out:
        limit = "nothing is left of the plate between its crossmembers"
        raise BadInput([*faults, Fault(where=setting.where, field="start, end", limit=limit, remedy="move its ends past one of them")])
    first, fillers = out[0]
    if not faults:
        first = replace(first, notes=(*first.notes, *unmet(setting, found)))
    out[0] = (replace(first, faults=(*faults, *first.faults)), fillers)
    return out


def _draft(setting: Setting, chain: tuple[Facet, ...], run: Run, found: list[Obstacle]) -> list[tuple[Draft, tuple[Filler, ...]]]:
    """One stretch between crossmembers: in one piece, or in those that its joints part it in."""
    laid, fillers = around(lay(setting, chain, run), found)
    out: list[tuple[Draft, tuple[Filler, ...]]] = []
    for piece, own in splits(stubs(laid), fillers):
        draft = piece
        for feature in FEATURES:
            draft = feature(draft)
        out.append((draft, own))
    return out


def _pieces(draft: Draft, fillers: tuple[Filler, ...], number: int | None) -> list[Piece]:
    setting = draft.setting
    plate = setting.plate
    stem = f"{plate.id}-{setting.rail.side}"
    name = stem if number is None else f"{stem}-{number}"
    part, placement = fold(draft, name)
    joint = butt_joint(draft, f"{stem}-{number + 1}") if number is not None else ()
    pieces = [
        Piece(
            id=name, family=plate.FAMILY, side=setting.rail.side, part=part, grade=plate.grade, placements=(placement,),
            bolts=draft.bolts, welds=(*draft.welds, *joint), drilling=draft.drilling, removals=draft.removals, hardware=draft.hardware,
            findings=draft.findings, notes=draft.notes,
        )
    ]  # fmt: skip
    if not any(one.text == name for panel in part.panels for one in panel.labels):
        pieces[0] = replace(pieces[0], notes=(*draft.notes, "no room to etch its id: mark it by hand before it leaves the sheet"))
    pieces += [ring_piece(draft, ring, f"{stem}-ring-{ring.name}", onto=name) for ring in draft.rings]
    return pieces + [filler_piece(draft, filler, f"{stem}-filler-{filler.name}", onto=name) for filler in fillers]
