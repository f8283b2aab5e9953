"""Where along the pipe tabs stand: places asked for by name, a row of them, or where the pipe passes a crossmember."""

from __future__ import annotations

import math
from collections.abc import Callable, Iterator
from dataclasses import dataclass, replace
from typing import TYPE_CHECKING

from parts.errors import BadInput, Fault, Finding
from parts.features.bracket.site import faulted
from parts.features.tab.host import Host, crossmember_hosts, part_hosts, web_host
from parts.features.tab.judge import base_reach
from parts.features.tab.pipe import Pipe, Spot, pipe_named, pipe_through
from parts.features.tab.shape import EDGE_THICKNESSES, Tab, outward_ways, tab_of
from parts.frame.crossmember import PlacedCrossmember
from parts.frame.frame import Frame
from parts.frame.rail import Rail
from parts.frame.section import RailSide
from parts.hardware import clearance_hole
from parts.sheet import Vec3
from parts.shop import Shop
from parts.spec import Position
from parts.vectors import along, inside

if TYPE_CHECKING:
    from parts.families.hanger import Hanger

LONGEST_FOOT_MM = 150.0  #: that a base grows to by itself
STEP_MM = 5.0  #: how finely a row looks for a place that can be
LEAST_STEP = 0.5  #: of the row's own step: a place nearer than this to the last one is not looked at first
WEBS = ("web", "web-outside")
ROW = "the part's own every; common practice, no source"
Built = Callable[[Tab, "RailSide | None"], None]  #: raises BadInput where the tab has no room


@dataclass(frozen=True, kw_only=True)
class Found:
    tabs: tuple[Tab, ...]
    findings: tuple[Finding, ...] = ()


def on_crossmember(hanger: Hanger, frame: Frame) -> PlacedCrossmember | None:
    """The crossmember that `on` names; None where it is a web or a part before."""
    if hanger.on in WEBS or any(part == hanger.on for part, _ in frame.built):
        return None
    return next((c for c in frame.placed_crossmembers if c.name == hanger.on), None)


def past_crossmember(hanger: Hanger, cm: PlacedCrossmember, frame: Frame, shop: Shop, fits: Built) -> Found:
    where = f"part {hanger.id}"
    named = [f for f, v in (("at", hanger.at), ("place", hanger.places or None), ("every", hanger.every_mm)) if v is not None]
    if named:
        limit = f"on crossmember {cm.name} the pipe itself says where: it passes there"
        raise BadInput(Fault(where=where, field=named[0], limit=limit, remedy="leave it out; y = LENGTH where the pipe runs across"))
    hosts = crossmember_hosts(cm)
    if not hosts:
        limit = f"crossmember {cm.name} is a {cm.kind}: it has no flat side"
        raise BadInput(Fault(where=where, field="on", value=hanger.on, limit=limit, remedy="a saddle or strap round it, or the rail's web"))
    pipe = pipe_of(hanger, frame, "right", (1.0, 0.0, 0.0))
    if hanger.y_mm is not None:
        return Found(tabs=(_nearest(hanger, hosts, pipe, pipe.spots((cm.x_mm, hanger.y_mm, 0.0), (0.0, 1.0, 0.0)), shop, fits, None),))
    tab = _nearest(hanger, hosts, pipe, pipe.spots((cm.x_mm, 0.0, 0.0), (1.0, 0.0, 0.0)), shop, fits, None, middle=True)
    return Found(tabs=(tab,))


def along_rail(hanger: Hanger, frame: Frame, side: RailSide, shop: Shop, fits: Built) -> Found:
    rail, where = frame.rail(side), f"part {hanger.id}"
    if hanger.every_mm is not None:
        return _row(hanger, frame, rail, shop, fits)
    asked: list[tuple[str, Position | None]] = [("place.at", p.at) for p in hanger.places] or [("at", hanger.at)]
    if hanger.on not in WEBS:
        part_hosts(hanger, frame, side)  # that it names something comes before where
    if hanger.at is None and not hanger.places and hanger.point is None:
        raise BadInput(
            Fault(where=where, field="at", limit="is needed: where along the rail", remedy="at = a place, or every with start and end")
        )
    tabs: list[Tab] = []
    faults: list[Fault] = []
    for field, at in asked:
        try:
            tabs.append(_at(hanger, frame, rail, at, shop, fits))
        except BadInput as error:
            named = [replace(f, field=field) for f in faulted(error, where, field)]  # "place.at", not "place.at.at"
            faults += [f for f in named if f not in faults] if _of_place(error) else list(error.faults)
    if faults:
        raise BadInput(list(dict.fromkeys(faults)))
    return Found(tabs=tuple(tabs))


def _of_place(error: BadInput) -> bool:
    return all(not f.where for f in error.faults)


def _at(hanger: Hanger, frame: Frame, rail: Rail, at: Position | None, shop: Shop, fits: Built) -> Tab:
    if at is None:
        assert hanger.point is not None, "checked by the caller"
        own = _own_point(hanger, rail.side)
        s = rail.plan.project(own[0], own[1])[0]
    else:
        s = rail.s_at(at)
    pipe = pipe_of(hanger, frame, rail.side, rail.direction(s))
    spots = pipe.spots(rail.point(s, 0.0), rail.direction(s))
    spots = [x for x in spots if _beside(rail, x.point, s)]
    if not spots:
        ends = sorted(p[0] for p in pipe.points)
        limit = f"{pipe.name} does not pass {at} on {rail.name}: it runs from x {ends[0]:.0f} to {ends[-1]:.0f} mm"
        raise BadInput(Fault(where=f"part {hanger.id}", field="at", value=str(at), limit=limit, remedy="a place that it passes"))
    return _nearest(hanger, hosts_at(hanger, frame, rail, s, shop), pipe, spots, shop, fits, rail.side)


def _beside(rail: Rail, p: Vec3, s: float) -> bool:
    """Whether a point is on this rail's side of the vehicle: a path may pass a place on both."""
    own = rail.point(s, 0.0)[1]
    return p[1] * own > 0 or abs(p[1]) < abs(own) / 2


def _own_point(hanger: Hanger, side: RailSide) -> Vec3:
    assert hanger.point is not None
    x, y, z = hanger.point.xyz
    return (x, -y, z) if hanger.side == "both" and side == "left" else (x, y, z)


def pipe_of(hanger: Hanger, frame: Frame, side: RailSide, way: Vec3) -> Pipe:
    if hanger.pipe is not None:
        return pipe_named(frame, hanger.pipe, f"part {hanger.id}")
    assert hanger.diameter_mm is not None, "a point has a diameter"
    return pipe_through(_own_point(hanger, side), way, hanger.diameter_mm)


def hosts_at(hanger: Hanger, frame: Frame, rail: Rail, s: float, shop: Shop) -> list[Host]:
    if hanger.on in WEBS:
        return [web_host(hanger, frame, rail, s, shop)]
    return part_hosts(hanger, frame, rail.side)


def _nearest(
    hanger: Hanger, hosts: list[Host], pipe: Pipe, spots: list[Spot], shop: Shop, fits: Built, side: RailSide | None, middle: bool = False
) -> Tab:
    """The tab on the face that the pipe stands over, nearest first; raises what keeps it off the likeliest one."""
    where = f"part {hanger.id}"
    pairs = [(host, spot) for host in hosts for spot in spots if host.height(spot.point) > 0]
    if not pairs:
        behind = max((h.height(s.point), h.name) for h in hosts for s in spots) if spots else (0.0, hosts[0].name)
        limit = f"{pipe.name} does not pass in front of {hanger.on}" + (
            f": it lies {-behind[0]:.1f} mm behind {behind[1]}" if spots else ""
        )
        raise BadInput(Fault(where=where, field="on", value=hanger.on, limit=limit, remedy="another face, or another place"))
    pairs.sort(key=lambda p: (round(p[0].off_mm(p[1].point), 6), p[0].height(p[1].point)))
    first: BadInput | None = None
    for host, spot in pairs:
        try:
            return _on(hanger, host, pipe, spot, shop, fits, side, middle)
        except BadInput as error:
            first = first or error
    assert first is not None
    raise first


def _on(hanger: Hanger, host: Host, pipe: Pipe, spot: Spot, shop: Shop, fits: Built, side: RailSide | None, middle: bool) -> Tab:
    first: BadInput | None = None
    for way in outward_ways(hanger, host, spot):
        try:
            tab = _reaching(tab_of(hanger, host, pipe, spot, way, shop), way, shop)
            if middle:
                tab = _centred(tab, way, shop)
            fits(tab, side)
        except BadInput as error:
            first = first or error
            continue
        return tab
    assert first is not None
    raise first


def _reaching(tab: Tab, way: Vec3, shop: Shop) -> Tab:
    """With its base long enough for the holes that it takes up, where no length was asked for."""
    hanger = tab.hanger
    own = [h for h in tab.host.holes if h.name in hanger.pick_up]
    if not own or hanger.foot_mm is not None:
        return tab
    deep = max(-inside(tab.place, tab.host.place.point(h.x_mm, h.y_mm))[1] for h in own)
    edge = clearance_hole(hanger.base_bolt, "medium").diameter_mm / 2 + EDGE_THICKNESSES * hanger.thickness_mm
    if deep + edge <= tab.base_mm or deep > LONGEST_FOOT_MM:
        return tab
    longer = replace(hanger, foot_mm=deep + edge + tab.setback_mm)
    return replace(tab_of(longer, tab.host, tab.pipe, tab.spot, way, shop), hanger=hanger)


def _centred(tab: Tab, way: Vec3, shop: Shop) -> Tab:
    """Moved along the pipe so that the base lies in the middle of the face's length."""
    x0 = min(tab.host.place.point(*p)[0] for p in tab.host.outline.points)
    x1 = max(tab.host.place.point(*p)[0] for p in tab.host.outline.points)
    for _ in range(8):
        corners = [tab.place.point(u, v) for u in (-tab.width_mm / 2, tab.width_mm / 2) for v in (-tab.base_mm, 0.0)]
        off = (x0 + x1) / 2 - (min(c[0] for c in corners) + max(c[0] for c in corners)) / 2
        if abs(off) < 1e-9 or abs(tab.spot.way[0]) < 0.5:
            break
        spots = tab.pipe.spots(along(tab.spot.point, ((1.0, 0.0, 0.0), off)), (1.0, 0.0, 0.0))
        if not spots:
            break
        spot = min(spots, key=lambda s: abs(s.at_mm - tab.spot.at_mm))
        tab = tab_of(tab.hanger, tab.host, tab.pipe, spot, way, shop)
    return tab


def _row(hanger: Hanger, frame: Frame, rail: Rail, shop: Shop, fits: Built) -> Found:
    """From start to end, at most `every` apart along the pipe; where no tab can stand the next place before or after it."""
    where, every = f"part {hanger.id}", hanger.every_mm
    assert every is not None and hanger.start is not None and hanger.end is not None
    ends: list[float] = []
    faults: list[Fault] = []
    for field, at in (("start", hanger.start), ("end", hanger.end)):
        try:
            s = rail.s_at(at)
        except BadInput as error:
            faults += faulted(error, where, field)
            continue
        pipe = pipe_of(hanger, frame, rail.side, rail.direction(s))
        spots = [x for x in pipe.spots(rail.point(s, 0.0), rail.direction(s)) if _beside(rail, x.point, s)]
        if not spots:
            xs = sorted(p[0] for p in pipe.points)
            limit = f"{pipe.name} does not pass {at} on {rail.name}: it runs from x {xs[0]:.0f} to {xs[-1]:.0f} mm"
            faults.append(Fault(where=where, field=field, value=str(at), limit=limit, remedy="a place that it passes"))
            continue
        ends.append(spots[0].at_mm)
    if faults:
        raise BadInput(faults)
    low, high = sorted(ends)
    if high - low < STEP_MM:
        limit = f"the row is {high - low:.1f} mm long along the pipe"
        raise BadInput(Fault(where=where, field="end", value=str(hanger.end), limit=limit, remedy="end it further off, or use at"))
    return _filled(hanger, rail.side, _tries(hanger, frame, rail, shop, fits), low, high, every)


def _tries(hanger: Hanger, frame: Frame, rail: Rail, shop: Shop, fits: Built) -> Callable[[float], Tab | BadInput]:
    known: dict[float, Tab | BadInput] = {}
    pipe = pipe_of(hanger, frame, rail.side, (1.0, 0.0, 0.0))

    def once(at: float) -> Tab | BadInput:
        if at not in known:
            try:
                spot = pipe.spot_at(at)
                s = rail.plan.project(spot.point[0], spot.point[1])[0]
                tab = _nearest(hanger, hosts_at(hanger, frame, rail, s, shop), pipe, [spot], shop, fits, rail.side)
                _off_others(tab, frame, rail)
                known[at] = tab
            except BadInput as error:
                known[at] = error
        return known[at]

    return once


def _off_others(tab: Tab, frame: Frame, rail: Rail) -> None:
    """A row keeps off crossmembers, and off what may not be covered, is damaged or stays there.

    Raises:
        BadInput: what is in the way.
    """
    (s0, s1), (z0, z1) = base_reach(tab, rail)
    off = tab.hanger.off_crossmember_mm
    for cm in frame.crossmembers_at(rail.side, s0 - off, s1 + off):
        limit = f"crossmember {cm.name} is nearer than {off:g} mm"
        raise BadInput(Fault(where=tab.where, field="every", limit=limit, remedy="less off_crossmember, or another start"))
    for patch in (*frame.placed_keep_visible, *frame.placed_conditions, *frame.placed_brackets):
        (a, b), (c, d) = patch.s_range, patch.across_range
        if patch.side == rail.side and patch.face == "web" and a < s1 and b > s0 and c < z1 and d > z0:
            limit = f"its base would lie over {patch.name}, or on its back"
            raise BadInput(Fault(where=tab.where, field="every", limit=limit, remedy="another start"))


def _filled(hanger: Hanger, side: RailSide, tried: Callable[[float], Tab | BadInput], low: float, high: float, every: float) -> Found:
    tabs: list[Tab] = []
    findings: list[Finding] = []
    refused: list[Fault] = []
    last: float | None = None
    while last is None or high - last > STEP_MM:
        step = _step(high - (low if last is None else last), every)
        wanted = low if last is None else min(last + step, high)
        most = low if last is None else min(last + every, high)
        least = low if last is None else last + LEAST_STEP * step
        for at in _order(wanted, least, most, high, last):
            result = tried(at)
            if not isinstance(result, BadInput):
                break
            refused += result.faults
        else:
            break
        free = at - (low if last is None else last)
        if free > every + 1e-6:
            message = f"{free:.1f} mm of {hanger.pipe} without a tab: none can stand there"
            limit, remedy = f"at most {every:g} mm", "a tab of another kind between, or on another face"
            findings.append(
                Finding(code="span-long", level="warn", where=f"{hanger.id} {side}", message=message, value=f"{free:.1f} mm", limit=limit,
                        remedy=remedy, source=ROW)
            )  # fmt: skip
        assert not isinstance(result, BadInput)
        tabs.append(result)
        last = at
    if not tabs:
        raise BadInput([replace(f, field=f.field) for f in list(dict.fromkeys(refused))[:3]])
    if last is not None and high - last > every + 1e-6:
        message = f"{high - last:.0f} mm of {hanger.pipe} up to the row's end without a tab: none can stand there"
        findings.append(
            Finding(code="span-long", level="warn", where=f"{hanger.id} {side}", message=message, value=f"{high - last:.0f} mm",
                    limit=f"at most {every:g} mm", remedy="end the row before it", source=ROW)
        )  # fmt: skip
    return Found(tabs=tuple(tabs), findings=tuple(findings))


def _step(left: float, every: float) -> float:
    """Even steps over what is left of the row."""
    return left / max(1, math.ceil(left / every - 1e-9))


def _order(wanted: float, least: float, most: float, high: float, last: float | None) -> Iterator[float]:
    """The place wanted, then back from it, then on to the most, then whatever comes after."""
    yield wanted
    at = wanted - STEP_MM
    while last is not None and at > least:
        yield at
        at -= STEP_MM
    at = wanted + STEP_MM
    while at < most:
        yield at
        at += STEP_MM
    yield most
    at = most + STEP_MM
    while at < high:
        yield at
        at += STEP_MM
    if last is not None and most < high:
        yield high
