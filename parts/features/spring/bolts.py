"""The bolts that take the rivets' places: what comes out, what is opened, what is clamped and bought, and what rules say of it."""

from __future__ import annotations

from dataclasses import dataclass

from parts.errors import Finding
from parts.features.bolts import FEWEST, ruled
from parts.features.held import RIVET_OUT
from parts.features.pickups import FITS_MM
from parts.features.spring.meets import GEOMETRY, PRACTICE
from parts.features.spring.plates import behind, to_drill
from parts.features.spring.site import Site
from parts.features.spring.sizes import bought
from parts.frame.placed import PlacedHole
from parts.hole_rules import RailHole, reinforcement_hole_findings
from parts.holes import Hole
from parts.outline import Contour
from parts.piece import BoltLine, Drilling, HardwareItem, Removal

NEAR_MM = 400.0
RIVETS_OUT = f"carry the axle and take the load off the spring first; {RIVET_OUT}"
RIVET_SOURCE = "a maker's manual: rivets are replaced by the next larger bolt, class 9.8 or better, drilled to fit"


@dataclass(frozen=True, kw_only=True)
class Bolted:
    """`holes` in (a, b)."""

    holes: tuple[Hole, ...]
    bolts: tuple[BoltLine, ...]
    drilling: tuple[Drilling, ...]
    removals: tuple[Removal, ...]
    hardware: tuple[HardwareItem, ...]
    findings: tuple[Finding, ...]
    grip_mm: float


def bolted(site: Site) -> Bolted:
    """Raises BadInput: no listed bolt is long enough."""
    doubler, rail, size = site.doubler, site.rail, site.bolting.bolt.name
    t, foot, far = site.thickness_mm, doubler.foot_mm, behind(site)
    same = doubler.seat == doubler.hanger
    web = f"{rail.name} web"
    foots = ["hanger foot"] if foot else []
    head_mm = t + foot if same else t
    grip = t + foot + rail.thickness_mm + sum(f.thickness_mm for f in far)
    between = [*(foots if same else []), doubler.id, web, *(f.name for f in far), *([] if same else foots)]
    lines = tuple(
        BoltLine(
            name=own.name, size=size, head=site.vehicle(a, b, head_mm), nut=site.vehicle(a, b, head_mm - grip), grip_mm=grip,
            between=tuple(between), strength=site.bolting.strength,
        )
        for own, (a, b) in zip(site.holes, site.centres, strict=True)
    )  # fmt: skip
    drilling: list[Drilling] = []
    for own, at in zip(site.holes, site.centres, strict=True):
        drilling += _drilling(site, own, to_drill(site, at))
    return Bolted(
        holes=tuple(
            Hole(name=own.name, x_mm=a, y_mm=b, diameter_mm=site.bolting.drill_mm, purpose=f"bolt {size}")
            for own, (a, b) in zip(site.holes, site.centres, strict=True)
        ),
        bolts=lines,
        drilling=tuple(drilling),
        removals=tuple(_removal(site, own) for own in site.holes if own.filled != "open"),
        hardware=bought(site.bolting, grip, len(site.holes), site.place),
        findings=tuple(_findings(site, same)),
        grip_mm=grip,
    )


def _removal(site: Site, own: PlacedHole) -> Removal:
    return Removal(
        name=own.name, what=own.filled, where=f"{site.rail.name} web", point=own.point, why=f"its hole takes a bolt of {site.doubler.id}",
        how=RIVETS_OUT if own.filled == "rivet" else "undo it",
    )  # fmt: skip


def _drilling(site: Site, own: PlacedHole, plates: list[str]) -> list[Drilling]:
    """The rail's hole opened to fit, and drilled through what lies behind it. The hanger's foot is no part of the rail: a note says so."""
    datum, along = site.rail.laid_off(own.tape_mm)
    why = f"for {site.bolting.bolt.name} of {site.doubler.id}, drilled to fit through the plate"
    out = []
    for face, existing in (("web", own.diameter_mm), *((f"plate {name}", None) for name in plates)):
        if existing is None or existing < site.bolting.drill_mm - FITS_MM:
            out.append(
                Drilling(
                    name=own.name, rail=site.rail.name, face=face, diameter_mm=site.bolting.drill_mm, point=own.point, along_mm=along,
                    up_mm=own.up_mm, datum=datum, existing_mm=existing, why=why,
                )
            )  # fmt: skip
    return out


def _findings(site: Site, same: bool) -> list[Finding]:
    bolt, drill = site.bolting.bolt, site.bolting.drill_mm
    taken = {h.name for h in site.holes}
    ss = [h.s_mm for h in site.holes]
    near = site.frame.holes_on(site.rail.side, min(ss) - NEAR_MM, max(ss) + NEAR_MM, "web")
    others = [RailHole(name=h.name, along_mm=h.s_mm, up_mm=h.z_mm, diameter_mm=h.diameter_mm) for h in near if h.name not in taken]
    mine = [
        RailHole(name=h.name, along_mm=h.s_mm, up_mm=h.z_mm, diameter_mm=max(drill, h.diameter_mm), bolt_mm=bolt.diameter_mm)
        for h in site.holes
    ]
    out = list(ruled(site.frame, site.rail, site.place, mine, others))
    if len(mine) < FEWEST:
        out.append(site.finding("one-bolt", "warn", "one bolt alone lets the plate turn", value="1 bolt", limit="2 or more",
                                remedy="name another hole", source=PRACTICE))  # fmt: skip
    for own in site.holes:
        if own.filled == "rivet" and bolt.diameter_mm <= own.diameter_mm:
            message = f"{bolt.name} is no larger than rivet {own.name}, {own.diameter_mm:g} mm: its hole is not cut clean"
            out.append(site.finding("bolt-not-larger", "warn", message, value=bolt.name, limit=f"above {own.diameter_mm:g} mm",
                                    remedy="leave bolt out", source=RIVET_SOURCE))  # fmt: skip
    if same:
        way = "inboard" if site.inside == site.rail.opens_inboard else "outboard"
        message = f"the plate goes between hanger and web: the hanger comes to stand {site.thickness_mm:g} mm further {way}"
        remedy = f'seat = "{"outside" if site.inside else "inside"}", or pack the other hanger of that spring as much'
        value = f"{site.thickness_mm:g} mm"
        out.append(site.finding("hanger-moves", "warn", message, value=value, limit="0 mm", remedy=remedy, source=GEOMETRY))
    return out


def edge_findings(site: Site, outline: Contour, holes: tuple[Hole, ...]) -> tuple[Finding, ...]:
    """The hole nearest to the plate's edge. The rules hold longer plates to the same; in the same words, so that it is told once."""
    gap, name = min((outline.distance(h.centre) - h.diameter_mm / 2, h.name) for h in holes)
    return reinforcement_hole_findings(f"{site.place}, {name}", edge_mm=gap, thickness_mm=site.thickness_mm, use=site.use)
