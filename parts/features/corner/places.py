"""Where along its corner each gusset of a part stands."""

from __future__ import annotations

from dataclasses import replace
from typing import TYPE_CHECKING

from parts.errors import BadInput, Fault
from parts.features.corner.choice import corner_on
from parts.features.corner.corner import Corner
from parts.features.corner.site import Site, face_name, middle_t
from parts.frame.frame import Frame
from parts.frame.section import RailSide
from parts.shop import Shop
from parts.vectors import dot

if TYPE_CHECKING:
    from parts.families.gusset import Gusset, Place

ALONG = 0.5  #: a corner line must run at least that much along what its place is measured on


def sites(gusset: Gusset, frame: Frame, shop: Shop) -> list[Site]:
    """Every gusset of the part: for each place one a side.

    Raises:
        BadInput: with every fault of its faces and places.
    """
    faults: list[Fault] = []
    corners: dict[RailSide, Corner] = {}
    for side in gusset.sides:
        try:
            corners[side] = corner_on(gusset, frame, shop, side)
        except BadInput as error:
            faults += [f for f in error.faults if f not in faults]
    if faults:
        raise BadInput(faults)
    out: list[Site] = []
    for place in gusset.stands:
        plain = {
            side: Site(gusset=gusset, frame=frame, shop=shop, rail=frame.rail(side), corner=c, t_mm=0.0, place=place)
            for side, c in corners.items()
        }
        try:
            out += [replace(site, t_mm=t) for site, t in zip(plain.values(), _stations(place, plain), strict=True)]
        except BadInput as error:
            faults += [f for f in error.faults if f not in faults]
    if faults:
        raise BadInput(faults)
    return out


def _stations(place: Place, plain: dict[RailSide, Site]) -> list[float]:
    """t for each side, in order.

    Raises:
        BadInput: the place does not fit the way that the corner runs, or no such place.
    """
    all_sites = list(plain.values())
    faults: list[Fault] = []
    for site in all_sites:
        axis = 0 if place.at is not None else 2 if place.drop_mm is not None or place.z_mm is not None else None
        if axis is not None and abs(site.corner.line[axis]) < ALONG:
            runs = ("along the rail", "across the vehicle", "up")[site.corner.axis]
            limit = f"the corner of {face_name(site.faces[0])} and {face_name(site.faces[1])} runs {runs}"
            remedy = ("place it by at or offset", "place it by offset", "place it by drop, z or offset")[site.corner.axis]
            faults.append(site.fault(place.field, place.value, limit, remedy))
            continue
        if place.at is not None:
            try:
                site.rail.s_at(place.at)
            except BadInput as error:
                faults += [replace(f, where=site.where, field=f"place.{f.field or 'at'}") for f in error.faults]
    if faults:
        raise BadInput(list(dict.fromkeys(faults)))
    if place.at is not None:
        at = place.at
        xs = [site.rail.plan.point(site.rail.s_at(at))[0] for site in all_sites]
        return [_t_at(site, 0, sum(xs) / len(xs)) for site in all_sites]
    if place.z_mm is not None:
        return [_t_at(site, 2, place.z_mm) for site in all_sites]
    if place.drop_mm is not None:
        tops = [site.rail.profile.upper_z(site.rail.szo(site.corner.origin)[0]) for site in all_sites]
        return [_t_at(site, 2, sum(tops) / len(tops) - place.drop_mm) for site in all_sites]
    middles = [middle_t(site) for site in all_sites]
    assert None not in middles, "a corner is taken only where there is a place for the legs"
    offset = place.offset_mm or 0.0
    return [(t or 0.0) + offset * dot(s.corner.way, s.corner.line) for t, s in zip(middles, all_sites, strict=True)]


def _t_at(site: Site, axis: int, value: float) -> float:
    return (value - site.corner.origin[axis]) / site.corner.line[axis]
