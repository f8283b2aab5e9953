"""From a crossmember bracket's parameters to its pieces: one place for both sides, then each on its own rail."""

from __future__ import annotations

from dataclasses import replace
from typing import TYPE_CHECKING

from parts.bolt_size import bolt_size
from parts.errors import BadInput, Fault
from parts.features.bracket.fixing import fixing_of
from parts.features.bracket.judge import judged, notes
from parts.features.bracket.outline import outline_of
from parts.features.bracket.panels import Cuts, part_of
from parts.features.bracket.seams import seams
from parts.features.bracket.site import Site, facet_of, faulted, straight_faults, web_face
from parts.features.bracket.slots import slot_centres, slots
from parts.features.held import not_listed
from parts.frame.faces import UprightFace
from parts.frame.frame import Frame
from parts.frame.offers import Seat
from parts.frame.section import RailSide
from parts.material import least_inside_radius_mm
from parts.piece import HardwareItem, Piece
from parts.shop import Shop
from parts.soundness import faults as unsound
from parts.welds import fillet_leg_mm

if TYPE_CHECKING:
    from parts.families.crossmember_bracket import CrossmemberBracket

APART_MM = 0.05  #: what two rails may differ by before it is worth a word


def build(bracket: CrossmemberBracket, frame: Frame, shop: Shop) -> tuple[Piece, ...]:
    """One bracket a side: each on its own rail, at one x and one height.

    Raises:
        BadInput: with every fault of the bracket on this frame.
    """
    x, z, both = _place(bracket, frame)
    found: list[Fault] = []
    pieces: list[Piece] = []
    for side in bracket.sides:
        try:
            pieces.append(_piece(_site(bracket, frame, shop, side, x, z), both))
        except BadInput as error:
            found += [f for f in error.faults if f not in found]
    if found:
        raise BadInput(found)
    return tuple(pieces)


def _place(bracket: CrossmemberBracket, frame: Frame) -> tuple[float, float, str]:
    """(x of the slots, z of the seat's bearing face, what to say of it), one for both sides."""
    where = f"part {bracket.id}"
    faults: list[Fault] = []
    xs: list[float] = []
    for side in bracket.sides:
        rail = frame.rail(side)
        try:
            xs.append(rail.plan.point(rail.s_at(bracket.at))[0])
        except BadInput as error:
            faults += faulted(error, where, "at")
    z = bracket.seat_z_mm
    if bracket.under is not None:
        try:
            z = frame.crossmember(bracket.under).box[2]
        except BadInput as error:
            faults += [replace(f, where=where, field="under") for f in error.faults]
    if faults:
        raise BadInput(list(dict.fromkeys(faults)))
    x = sum(xs) / len(xs)
    said = []
    if bracket.drop_mm is not None:
        tops = [frame.rail(side).profile.upper_z(frame.rail(side).plan.s_at_x(x)) for side in bracket.sides]
        z = sum(tops) / len(tops) - bracket.drop_mm
        if max(tops) - min(tops) > APART_MM:
            said.append(f"the rails' upper corners are {max(tops) - min(tops):.1f} mm apart in height there, and the seats are not")
    assert z is not None
    if max(xs) - min(xs) > APART_MM:
        said.append(f"{bracket.at} lies at x {xs[0]:.1f} mm on the left and {xs[1]:.1f} mm on the right rail: both stand midway")
    face = "upper" if bracket.carries == "on top" else "lower"
    what = "both seats carry" if len(xs) > 1 else "the seat carries"
    level = "level both ways" if len(xs) == 1 else "level both ways and with each other"
    return x, z, "; ".join([f"{what} at z {z:.1f} mm ({face} face), x {x:.1f} mm, {level}", *said])


def _site(bracket: CrossmemberBracket, frame: Frame, shop: Shop, side: RailSide, x: float, z: float) -> Site:
    """Raises BadInput: no such face, a turn of the rail, or no room along it."""
    rail, where = frame.rail(side), f"part {bracket.id}"
    try:
        face = web_face(rail) if bracket.on == "web" else frame.face(bracket.on, side)
    except BadInput as error:
        raise BadInput([replace(f, where=where, field="on") for f in error.faults]) from None
    s = rail.plan.project(*_on_face(face, x))[0]
    site = Site(
        bracket=bracket, frame=frame, shop=shop, rail=rail, face=face, facet=facet_of(face, s, shop, where), x_mm=x, bearing_mm=z,
        inside_radius_mm=shop.inside_radius_mm or least_inside_radius_mm(bracket.thickness_mm, bracket.grade)[0],
        leg=fillet_leg_mm(bracket.thickness_mm, face.thickness_mm, False),
    )  # fmt: skip
    if faults := straight_faults(site):
        raise BadInput(faults)
    return site


def _piece(site: Site, both: str) -> Piece:
    bracket, outline = site.bracket, outline_of(site)
    seat, faults, findings = slots(site, outline)
    fixing = fixing_of(site, outline)
    faults += fixing.faults
    if faults:
        raise BadInput(faults)
    name = f"{bracket.id}-{site.rail.side}"
    part, placement = part_of(site, outline, Cuts(base=fixing.holes, seat=seat), name)
    if wrong := unsound(part):
        raise BadInput([replace(f, where=site.where) for f in wrong])
    more, removals = judged(site, outline, fixing)
    wide = f"washer {bolt_size(bracket.slot_bolt).name} wide"
    washers = HardwareItem(designation=wide, quantity=bracket.slots, use=f"{site.place}, over its slots")
    return Piece(
        id=name, family=bracket.FAMILY, side=site.rail.side, part=part, grade=bracket.grade, placements=(placement,), bolts=fixing.bolts,
        welds=seams(site, outline), drilling=fixing.drilling, removals=(*fixing.removals, *removals),
        hardware=(*fixing.hardware, washers), seats=(_seat(site),), findings=(*findings, *fixing.findings, *more),
        notes=(*notes(site, outline, both), *fixing.notes, *not_listed(_seat(site))),
    )  # fmt: skip


def _seat(site: Site) -> Seat:
    bracket = site.bracket
    return Seat(
        name=bracket.id, side=site.rail.side, normal=(0.0, 0.0, 1.0 if bracket.carries == "on top" else -1.0), points=slot_centres(site),
        bolt=bracket.slot_bolt, travel_mm=bracket.slot_travel_mm, thickness_mm=bracket.thickness_mm,
    )  # fmt: skip


def _on_face(face: UprightFace, x: float) -> tuple[float, float]:
    """The plan point of the face at x."""
    course = face.rail.plan.offset_course(face.offset_mm)
    return course.point(course.t_at_first(x))
