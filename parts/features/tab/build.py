"""From a hanger's parameters to its pieces: the places, a tab at each, equal ones made one piece with several placements."""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import replace
from typing import TYPE_CHECKING

from parts.errors import BadInput, Fault, Finding
from parts.features.bolts import strength_of
from parts.features.laid import laid
from parts.features.marks import CHARACTER_WIDTHS, LABEL_HEIGHTS_MM, ROUND_LABEL_MM
from parts.features.tab.hold import Hold, held
from parts.features.tab.judge import judged, notes, room_faults
from parts.features.tab.places import Found, along_rail, on_crossmember, past_crossmember
from parts.features.tab.shape import BASE, Tab
from parts.frame.frame import Frame
from parts.frame.section import RailSide
from parts.hardware import bolt_length
from parts.piece import HardwareItem, Piece, Side
from parts.sheet import Label, Panel, SheetPart
from parts.shop import Shop
from parts.soundness import faults as unsound

if TYPE_CHECKING:
    from parts.families.hanger import Hanger

SAME_MM = 1e-6


def build(hanger: Hanger, frame: Frame, shop: Shop) -> tuple[Piece, ...]:
    """Raises BadInput with every fault of the hanger on this frame."""

    def fits(tab: Tab, side: RailSide | None) -> None:
        hold = held(tab, frame, hanger.id)
        piece = _piece(hanger, [(tab, hold)], hanger.id, side or "centre")
        faults = room_faults(tab, piece, frame) or [replace(f, where=tab.where) for f in unsound(piece.part)]
        if faults:
            raise BadInput(faults)

    cm = on_crossmember(hanger, frame)
    if cm is not None:
        found = past_crossmember(hanger, cm, frame, shop, fits)
        return _pieces(hanger, found, None, frame)
    pieces: list[Piece] = []
    faults: list[Fault] = []
    for side in hanger.sides:
        try:
            pieces += _pieces(hanger, along_rail(hanger, frame, side, shop, fits), side, frame)
        except BadInput as error:
            faults += [f for f in error.faults if f not in faults]
    if faults:
        raise BadInput(faults)
    return tuple(pieces)


def _pieces(hanger: Hanger, found: Found, side: RailSide | None, frame: Frame) -> tuple[Piece, ...]:
    """One a shape, in the order of the pipe."""
    stem = hanger.id if side is None else f"{hanger.id}-{side}"
    groups: list[list[tuple[Tab, Hold]]] = []
    for tab in found.tabs:
        hold = held(tab, frame, hanger.id)
        part = _with_holes(tab, hold)
        same = next((g for g in groups if same_part(_with_holes(*g[0]), part)), None)
        if same is None:
            groups.append([(tab, hold)])
        else:
            same.append((tab, hold))
    out = []
    for number, group in enumerate(groups, start=1):
        name = stem if len(groups) == 1 else f"{stem}-{number}"
        place = " ".join(p for p in (hanger.id, side or "", str(number) if len(groups) > 1 else "") if p)
        piece = _piece(hanger, group, name, side or "centre")
        said: list[Finding] = list(found.findings) if number == 1 else []
        removals = list(piece.removals)
        for (tab, hold), at in zip(group, piece.placements, strict=True):
            alone = replace(piece, placements=(at,))
            found_here, removed = judged(tab, alone, hold, frame, place)
            said += found_here
            removals += [r for r in removed if r not in removals]
        made = replace(piece, removals=tuple(removals), findings=tuple(dict.fromkeys(said)), notes=notes([tab for tab, _ in group]))
        out.append(made)
    return tuple(out)


def _with_holes(tab: Tab, hold: Hold) -> SheetPart:
    panels = tuple(replace(p, holes=(*p.holes, *hold.holes)) if p.name == BASE else p for p in tab.part.panels)
    return replace(tab.part, panels=panels)


def same_part(one: SheetPart, two: SheetPart) -> bool:
    """Whether two parts are one shape with one set of holes, to 1e-6 mm."""
    return _words(one) == _words(two) and all(abs(a - b) <= SAME_MM for a, b in zip(_numbers(one), _numbers(two), strict=True))


def _words(part: SheetPart) -> tuple[object, ...]:
    panels = tuple((p.name, len(p.contour.points), tuple((h.name, h.kind, h.purpose) for h in p.holes)) for p in part.panels)
    return (*panels, tuple((b.parent, b.child, b.edge) for b in part.bends))


def _numbers(part: SheetPart) -> list[float]:
    out = [part.thickness_mm]
    for panel in part.panels:
        out += [c for p in panel.contour.points for c in p] + list(panel.contour.bulges)
        out += [c for h in panel.holes for c in (h.x_mm, h.y_mm, h.diameter_mm, h.length_mm, h.angle_deg)]
    for bend in part.bends:
        out += [bend.angle_deg, bend.inside_radius_mm, bend.offset_mm]
    return out


def _piece(hanger: Hanger, group: Sequence[tuple[Tab, Hold]], name: str, side: Side) -> Piece:
    tab, hold = group[0]
    part = replace(_with_holes(tab, hold), name=name)
    part = replace(part, panels=tuple(_lettered(p, name) if p.name == BASE else p for p in part.panels))
    part, places = laid(part, tuple(t.place for t, _ in group))
    several, numbered = len(group) > 1, list(enumerate(group, start=1))
    return Piece(
        id=name, family=hanger.FAMILY, side=side, part=part, grade=hanger.grade, placements=places,
        bolts=tuple(replace(b, name=f"tab {k} {b.name}") if several else b for k, (_, h) in numbered for b in h.bolts),
        welds=tuple(replace(w, name=f"{w.name}, {k}") if several else w for k, (_, h) in numbered for w in h.welds),
        drilling=tuple(replace(d, name=f"tab {k} {d.name}") if several else d for k, (_, h) in numbered for d in h.drilling),
        removals=tuple(r for _, h in group for r in h.removals),
        hardware=tuple(i for t, h in group for i in (*h.hardware, *_carrying(t))),
    )  # fmt: skip


def _carrying(tab: Tab) -> tuple[HardwareItem, ...]:
    """What holds the pipe to the leg."""
    hanger, pipe = tab.hanger, tab.pipe
    use = f"{pipe.name} on {hanger.id}"
    if hanger.kind == "ring":
        if not hanger.grommet_mm:
            return ()
        across = pipe.diameter_mm + 2 * hanger.grommet_mm
        what = f"grommet for {pipe.diameter_mm:g} mm pipe in a {across:g} mm hole, {hanger.thickness_mm:g} mm sheet"
        return (HardwareItem(designation=what, quantity=1, use=use),)
    thick = hanger.thickness_mm + 2 * max(hanger.band_mm, 1.0)
    strength, nut = strength_of(hanger.bolt)
    bolt = f"bolt {bolt_length(thick, hanger.bolt).designation} {strength}"
    what = (
        f"pipe clip {pipe.diameter_mm:g} mm"
        if hanger.kind == "clip"
        else f"exhaust rubber for {hanger.bolt}, pipe clamp {pipe.diameter_mm:g} mm"
    )
    items = (what, bolt, f"nut {hanger.bolt} {nut}, self-locking")
    return tuple(HardwareItem(designation=i, quantity=1, use=use) for i in items)


def _lettered(base: Panel, text: str) -> Panel:
    """The part's id on the base's seen face, where there is room beside its bolts."""
    if base.holes:
        return base
    x0, y0, x1, y1 = base.contour.box
    for height in LABEL_HEIGHTS_MM:
        wide = len(text) * height * CHARACTER_WIDTHS
        if wide + 2 * ROUND_LABEL_MM <= x1 - x0 and height + 2 * ROUND_LABEL_MM <= y1 - y0:
            label = Label(text=text, x_mm=(x0 + x1 - wide) / 2, y_mm=(y0 + y1 - height) / 2, height_mm=height)
            return replace(base, labels=(label,))
    return base
