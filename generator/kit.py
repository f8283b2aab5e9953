"""From a job's parts and a frame to pieces: every part built once, after whatever it sits on, and everything that has to be judged."""

from __future__ import annotations

import re
from collections.abc import Iterable, Sequence
from dataclasses import dataclass, is_dataclass, replace
from pathlib import PureWindowsPath

from generator.files.nearest import nearest_hint
from generator.record import Accepted
from parts.bending import BendRule
from parts.errors import LEVELS, BadInput, Fault, Finding, quoted
from parts.families.family import Family
from parts.flat import Flat, unfold
from parts.frame.frame import Frame
from parts.frame.names import unknown_place
from parts.piece import Piece
from parts.pockets import pocketed
from parts.shop import Shop
from parts.spec import Position

SIDE = re.compile(r"\b(left|right)\b")
ASSEMBLY = "assembly"  #: the stem of the file that holds the whole kit


@dataclass(frozen=True, kw_only=True)
class Kit:
    """Pieces with their flat patterns, in the order of the job's parts."""

    pieces: tuple[Piece, ...]
    flats: tuple[Flat, ...]
    findings: tuple[Finding, ...]


def build(parts: Sequence[Family], frame: Frame, shop: Shop, *, only: Sequence[str] = (), file: str = "") -> Kit:
    """Build every part on `frame` and lay it flat; keep all, or only those named by a part's or a piece's id.

    Args:
        file: what faults call the job file.

    Raises:
        BadInput: with the faults of every part that cannot be built, or a name in `only` that no part has.
    """
    faults: list[Fault] = []
    built: dict[str, tuple[Piece, ...]] = {}
    failed: set[str] = set()
    for part in _in_order(parts):
        if unknown := _unknown_needs(part, parts, frame):
            failed.add(part.id)
            faults += unknown
            continue
        if failed & set(part.needs):  # its other faults would only be echoes
            failed.add(part.id)
            faults += _unknown_places(part, frame)
            continue
        try:
            built[part.id] = part.build(frame, shop)
            frame = frame.with_faces(part.faces(frame, shop)).with_built(part.id, built[part.id])
        except BadInput as error:
            failed.add(part.id)
            own = [f.inside(f"part {part.id}") for f in error.faults]
            faults += own + [f for f in _unknown_places(part, frame) if f.value not in {told.value for told in own}]
    if faults:
        raise BadInput(f.in_file(file) for f in _both_sides(faults))
    pieces = {piece.id: piece for piece in pocketed(_unique([piece for part in parts for piece in built[part.id]]))}
    pairs = [(part.id, pieces[piece.id]) for part in parts for piece in built[part.id]]
    wanted = _wanted(pairs, only) if only else list(pieces.values())
    return Kit(pieces=tuple(wanted), flats=_laid_flat(wanted, shop.bend_rule()), findings=tuple(f for p in wanted for f in p.findings))


def _unknown_needs(part: Family, parts: Sequence[Family], frame: Frame) -> list[Fault]:
    """Ids that a part stands on and that neither the job nor, as a crossmember, the frame has."""
    ids = [p.id for p in parts if p.id != part.id]
    known = {*ids, *(c.name for c in frame.crossmembers)}
    fields = {value: name for name, value in vars(part).items() if isinstance(value, str)}
    limit, listed = "no part of this job has that id", f"there are {', '.join(ids)}" if ids else "it is the job's only part"
    return [
        Fault(where=f"part {part.id}", field=fields.get(name, "on"), value=quoted(name), limit=limit,
              remedy=nearest_hint(name, ids) or listed)
        for name in part.needs
        if name not in known
    ]  # fmt: skip


def _unknown_places(part: Family, frame: Frame) -> list[Fault]:
    """Names along the rails that its positions are told by and no rail has: told in one go with whatever else is wrong with it."""
    known = {name for side in frame.sides for name in frame.rail(side).places}
    found: list[Fault] = []
    for field, value in vars(part).items():
        for key, one in ((field, value), *((f"{field}.{k}", v) for e in _entries(value) for k, v in vars(e).items())):
            if isinstance(one, Position) and one.at is not None and one.at not in known:
                fault = unknown_place(one.at, known, "no rail has a place", field=f"{key}.at")
                found.append(replace(fault, where=f"part {part.id}"))
    return found


def _entries(value: object) -> list[object]:
    return [e for e in value if is_dataclass(e)] if isinstance(value, tuple) else []


def _both_sides(faults: Sequence[Fault]) -> list[Fault]:
    """Each fault once: of what is said of both rails in the same words, the first."""
    told: dict[tuple[str, ...], Fault] = {}
    for f in faults:
        told.setdefault((f.file, f.where, f.field, f.value, SIDE.sub("*", f.limit), SIDE.sub("*", f.remedy)), f)
    return list(told.values())


def _laid_flat(pieces: Sequence[Piece], rule: BendRule) -> tuple[Flat, ...]:
    flats: list[Flat] = []
    faults: list[Fault] = []
    for piece in pieces:
        try:
            flats.append(unfold(piece.part, rule).at_its_corner())
        except BadInput as error:
            faults += [f.inside(f"part {piece.id}") for f in error.faults]
    if faults:
        raise BadInput(faults)
    return tuple(flats)


def _in_order(parts: Sequence[Family]) -> list[Family]:
    """Each part after those it needs; otherwise in the job's order."""
    waiting = {p.id: p for p in parts}
    out: list[Family] = []
    while waiting:
        ready = [p for p in waiting.values() if not waiting.keys() & set(p.needs)]
        if not ready:
            names = ", ".join(waiting)
            limit = "these parts sit on each other in a circle"
            raise BadInput(Fault(where=f"part {names}", field="on", limit=limit, remedy="let one of them sit on the rail"))
        out += ready
        for part in ready:
            del waiting[part.id]
    return out


def _unique(pieces: Sequence[Piece]) -> Sequence[Piece]:
    seen = {ASSEMBLY: "assembly, the kit on its frame"}
    for piece in pieces:
        key = piece.id.casefold()  # file names that differ only in case are one file on some systems
        if key in seen:
            limit = f"is taken: {seen[key]}"
            raise BadInput(Fault(where=f"part {piece.id}", field="id", value=piece.id, limit=limit, remedy="rename the part"))
        if PureWindowsPath(piece.id).is_reserved():
            limit = "is the name of a device, not of a file, on some systems"
            raise BadInput(Fault(where=f"part {piece.id}", field="id", value=piece.id, limit=limit, remedy="rename the part"))
        seen[key] = f"a piece '{piece.id}' has it"
    return pieces


def _wanted(pairs: Iterable[tuple[str, Piece]], only: Sequence[str]) -> list[Piece]:
    pairs = list(pairs)
    known = sorted({part_id for part_id, _ in pairs} | {piece.id for _, piece in pairs})
    limit, listed = "no part of this job has that id", f"there are {', '.join(known)}"
    faults = [
        Fault(where="", field="--only", value=quoted(name), limit=limit, remedy=nearest_hint(name, known) or listed)
        for name in only
        if name not in known
    ]
    if faults:
        raise BadInput(faults)
    return [piece for part_id, piece in pairs if part_id in only or piece.id in only]


def judged(findings: Iterable[Finding], accepted: Sequence[Accepted]) -> tuple[Finding, ...]:
    """The findings, stops first; one that the job accepts becomes a note that keeps its level and the reason in its words."""
    reasons = {a.code: a.why for a in accepted}
    out = [
        replace(f, level="note", message=f"{f.message} ({f.level}, accepted in the job: {reasons[f.code]})") if f.code in reasons else f
        for f in dict.fromkeys(findings)
    ]
    met = {f.code for f in out}
    out += [
        Finding(code="accept-unused", level="note", where="job", message=f"[[accept]] names '{code}', which this run did not find")
        for code in reasons
        if code not in met
    ]
    return tuple(sorted(out, key=lambda f: LEVELS.index(f.level)))


def together(findings: Iterable[Finding]) -> tuple[Finding, ...]:
    """The findings as they are printed: what is said of several places in the same words is said once, `boxing left and right, ...`.

    Each keeps the value and the limit of its first; a manifest holds them all apart.
    """
    groups: dict[tuple[str, ...], list[Finding]] = {}
    for f in findings:
        groups.setdefault((f.code, f.level, _sideless(f), f.remedy, f.source), []).append(f)
    return tuple(_as_one(group) for group in groups.values())


def _sides_in(text: str) -> set[str]:
    return set(SIDE.findall(text))


def _sideless(finding: Finding) -> str:
    """The message without its side, where that is the side of its place: two that differ in nothing else say the same."""
    own = _sides_in(finding.where)
    return SIDE.sub("*", finding.message) if len(own) == 1 and _sides_in(finding.message) == own else finding.message


def _as_one(group: Sequence[Finding]) -> Finding:
    if len(group) == 1:
        return group[0]
    places: dict[str, list[str]] = {}
    for f in group:
        sides = places.setdefault(SIDE.sub("*", f.where, count=1), [])
        sides += [s for s in SIDE.findall(f.where)[:1] if s not in sides]
    all_sides = " and ".join(sorted({s for sides in places.values() for s in sides}))
    where = ", ".join(place.replace("*", " and ".join(sides), 1) for place, sides in places.items())
    message = SIDE.sub(all_sides, group[0].message) if _sideless(group[0]) != group[0].message else group[0].message
    return replace(group[0], where=where, message=message)
