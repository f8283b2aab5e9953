"""From a spring doubler's parameters to its pieces: one plate a side, round the holes of its own rail."""

from __future__ import annotations

from dataclasses import replace
from typing import TYPE_CHECKING

from parts.errors import BadInput, Fault
from parts.features.marks import label
from parts.features.spring.bolts import Bolted, bolted, edge_findings
from parts.features.spring.meets import met
from parts.features.spring.outline import off_rail, outline_of
from parts.features.spring.site import Site, site_of
from parts.frame.frame import Frame
from parts.outline import Contour
from parts.piece import Piece
from parts.sheet import Panel, SheetPart
from parts.shop import Shop
from parts.soundness import faults as unsound

if TYPE_CHECKING:
    from parts.families.spring_doubler import SpringDoubler


def build(doubler: SpringDoubler, frame: Frame, shop: Shop) -> tuple[Piece, ...]:
    """One plate a side.

    Raises:
        BadInput: with every fault of the plate on this frame.
    """
    found: list[Fault] = []
    pieces: list[Piece] = []
    for side in doubler.sides:
        try:
            pieces.append(_piece(site_of(doubler, frame, shop, side)))
        except BadInput as error:
            found += [f for f in error.faults if f not in found]
    if found:
        raise BadInput(found)
    return tuple(pieces)


def _piece(site: Site) -> Piece:
    doubler, outline = site.doubler, outline_of(site)
    if isinstance(outline, Fault):
        raise BadInput(outline)
    if faults := off_rail(site, outline):
        raise BadInput(faults)
    meets = met(site, outline)
    faults = list(meets.faults)
    try:
        held = bolted(site)
    except BadInput as error:  # no listed bolt is that long
        too_long = [replace(f, where=site.where, field="bolt", value=site.bolting.bolt.name) for f in error.faults]
        raise BadInput([*faults, *too_long]) from None
    name = f"{doubler.id}-{site.rail.side}"
    holes = (*held.holes, *meets.holes)
    panel = label(Panel(name="plate", contour=outline, holes=holes), (name, doubler.id), -site.along)
    part = SheetPart(name=name, thickness_mm=site.thickness_mm, panels=(panel,))
    faults += [replace(f, where=site.where) for f in unsound(part)]
    if faults:
        raise BadInput(faults)
    return Piece(
        id=name, family=doubler.FAMILY, side=site.rail.side, part=part, grade=doubler.grade, placements=(site.placement,), bolts=held.bolts,
        drilling=held.drilling, removals=(*held.removals, *meets.removals), hardware=held.hardware,
        findings=(*held.findings, *edge_findings(site, outline, holes), *meets.findings),
        notes=tuple(_notes(site, outline, held, bool(panel.labels))),
    )  # fmt: skip


def _notes(site: Site, outline: Contour, held: Bolted, lettered: bool) -> list[str]:
    x0, y0, x1, y1 = outline.box
    bolting, length, depth = site.bolting, x1 - x0, site.rail.depth_at(site.sz(0.0, 0.0)[0])
    size = bolting.bolt.name
    notes = [
        f"{length:.1f} x {y1 - y0:.1f} mm, its long edges parallel to the rail's upper corner",
        f"{len(held.bolts)} bolts {size} {bolting.strength}, grip {held.grip_mm:.1f} mm"
        + (f" with {site.doubler.foot_mm:g} mm of hanger's foot" if site.doubler.foot_mm else ""),
    ]
    if held.drilling:
        opened = "rail, plate and hanger's foot" if site.doubler.foot_mm else "rail and plate"
        drill = f"drill {opened} to {bolting.drill_mm:.4g} mm, no larger"
        notes.append(f"the plate is the drill template: clamp all that the bolts hold together, {drill}")
    if length < depth:
        what = "it spreads the bolts' load on the web, and does not strengthen the rail"
        notes.append(f"shorter than the rail is deep ({depth:.0f} mm): {what}")
    if site.left_out:
        notes.append(f"in a flange, and not taken up: {', '.join(site.left_out)}")
    if not lettered:
        notes.append("no room to etch its id: mark it by hand before it leaves the sheet")
    return notes
