"""A bar's round holes over the seats' bolt places, and the bolts that go through them until the bar comes off again."""

from __future__ import annotations

import math
from collections.abc import Iterator
from dataclasses import replace

from parts.bolt_size import bolt_size
from parts.errors import BadInput, Fault, Finding
from parts.features.bar.drawn import MIDDLE, SIDES, Drawn
from parts.features.bar.lie import End
from parts.features.bar.sizes import EDGE_THICKNESSES
from parts.features.bolts import FEWEST, bolt_set
from parts.frame.frame import Frame
from parts.hardware import clearance_hole, spanner_room, washer
from parts.holes import Hole
from parts.landing import panel_places
from parts.piece import BoltLine, HardwareItem, Piece
from parts.vectors import along, dot, inside, minus, size, square_to

CENTRE = "centre"
SLACK = 1e-9
SQUARE, AT_MM = 1e-9, 0.01
SMALLER = "give the seats' part the bolt that goes through its holes"
BUSHED = "a bush or a stepped washer that fills the seat's hole, or tie the seats by bolts that fit it"


def hole_name(which: int, number: int) -> str:
    return f"{SIDES[which]}-{number}"


def hole_faults(drawn: Drawn) -> list[Fault]:
    """What is too near to an edge of the bar, its flanges or its bends: of both seats the worse, so that its remedy serves both."""
    bar, t = drawn.bar, drawn.bar.thickness_mm
    worst: dict[str, tuple[float, Fault]] = {}

    def told(field: str, value: str, short: float, limit: str, remedy: str) -> None:
        if short > SLACK and short > worst.get(field, (0.0,))[0]:
            worst[field] = (short, Fault(where=drawn.where, field=field, value=value, limit=limit, remedy=remedy))

    beside = drawn.lie.inside_radius_mm if bar.form == "channel" else 0.0
    what = "a flange's bend (2 t + r)" if beside else "its edge (2 t)"
    least = EDGE_THICKNESSES * t
    for end in drawn.lie.ends:
        left = bar.over_mm - end.hole_mm / 2
        limit = f"leaves {left:.1f} mm from the {end.seat.side} seat's holes, {end.hole_mm:g} mm, to the bar's end"
        told("over", f"{bar.over_mm:g} mm", least - left, limit, f"at least {end.hole_mm / 2 + least:g} mm (2 t of steel)")
        left = drawn.half_mm - max(abs(v) for v in _across(drawn, end.seat.points)) - end.hole_mm / 2
        limit = f"leaves {left:.1f} mm from the {end.seat.side} seat's holes, {end.hole_mm:g} mm, to {what}"
        remedy = f"at least {math.ceil(bar.width_mm + 2 * (least + beside - left) - SLACK)} mm"
        told("width", f"{bar.width_mm:g} mm", least + beside - left, limit, remedy)
        if bar.bend_off_mm is not None and end.bend_deg:
            left, asked = bar.bend_off_mm - end.hole_mm / 2, least + drawn.lie.inside_radius_mm
            limit = f"leaves {left:.1f} mm from the {end.seat.side} seat's holes to the bend (2 t + r asked)"
            remedy = f"at least {end.hole_mm / 2 + asked:g} mm, or leave it out"
            told("bend_off", f"{bar.bend_off_mm:g} mm", asked - left, limit, remedy)
    out = [fault for _, fault in worst.values()]
    for end in drawn.lie.ends:
        try:
            bolt_set(end.bolt, t + end.seat.thickness_mm, drawn.bar.id)
        except BadInput as error:
            out += [r for f in error.faults if (r := replace(f, where=drawn.where, field="thickness")) not in out]
    return out


def _across(drawn: Drawn, points: tuple[tuple[float, float, float], ...]) -> Iterator[float]:
    for p in points:
        yield inside(drawn.place, p)[1]


def over_seats(drawn: Drawn) -> Drawn:
    """Each hole's axis goes through its bolt place, square to the seat."""
    for which, end in enumerate(drawn.lie.ends):
        panel, place = drawn.panel(drawn.over(which)), drawn.places[drawn.over(which)]
        cut = []
        for number, point in enumerate(end.seat.points, start=1):
            u, v, _ = inside(place, point)
            name = hole_name(which, number)
            cut.append(Hole(name=name, x_mm=u, y_mm=v, diameter_mm=end.hole_mm, purpose=f"bolt {end.bolt}, comes out again"))
        drawn = drawn.with_panel(replace(panel, holes=(*panel.holes, *cut)))
    if drawn.bar.centre_hole_mm:
        at = centre_u(drawn, 0.0)
        if at is not None:
            panel = drawn.panel(MIDDLE)
            hole = Hole(name=CENTRE, x_mm=at, y_mm=0.0, diameter_mm=drawn.bar.centre_hole_mm, purpose="the vehicle's centreline")
            drawn = drawn.with_panel(replace(panel, holes=(*panel.holes, hole)))
    return drawn


def centre_u(drawn: Drawn, v: float) -> float | None:
    """u of the middle panel where the vehicle's centreline crosses it at v; None where it does not."""
    place = drawn.place
    if abs(place.u[1]) < 0.5:
        return None
    u = -(place.origin[1] + v * place.v[1]) / place.u[1]
    return u if 0.0 < u < drawn.length_mm else None


def bolted(drawn: Drawn) -> tuple[tuple[BoltLine, ...], tuple[HardwareItem, ...]]:
    """Heads on the bar, nuts under the seats."""
    t = drawn.bar.thickness_mm
    bolts: list[BoltLine] = []
    items: list[HardwareItem] = []
    for which, end in enumerate(drawn.lie.ends):
        seat, normal = end.seat, drawn.places[drawn.over(which)].normal
        grip = t + seat.thickness_mm
        for number, point in enumerate(seat.points, start=1):
            head, nut = along(point, (normal, t)), along(point, (normal, -seat.thickness_mm))
            name = hole_name(which, number)
            between = (drawn.bar.id, f"{seat.name} {seat.side}")
            bolts.append(BoltLine(name=name, size=end.bolt, head=head, nut=nut, grip_mm=grip, between=between))
            items += bolt_set(end.bolt, grip, f"{drawn.bar.id}, comes out again")
    return tuple(bolts), tuple(items)


def hole_findings(drawn: Drawn) -> tuple[Finding, ...]:
    bar, lie = drawn.bar, drawn.lie
    out: list[Finding] = []
    for end in lie.ends:
        seat = end.seat
        if len(seat.points) < FEWEST:
            message = f"one bolt alone on the {seat.side} seat lets the bar turn on it: the seats are held apart, not square"
            remedy = "a seat with two bolt places, or clamp the bar and measure both diagonals"
            value = "1 bolt"
            out.append(_finding(drawn, "one-bolt", message, value, "2 or more", remedy, "common practice, no source"))
        room = spanner_room(end.bolt)
        if bar.form == "channel" and not end.bend_deg:
            left = drawn.half_mm + lie.inside_radius_mm - max(abs(v) for v in _across(drawn, seat.points))
            if left < room.centre_to_wall_mm - SLACK:
                message = f"bolts {bolt_size(end.bolt).name} on the {seat.side} seat stand {left:.1f} mm from a flange: no socket goes on"
                remedy = f"a bar at least {math.ceil(bar.width_mm + 2 * (room.centre_to_wall_mm - left))} mm wide"
                limit = f"{room.centre_to_wall_mm:.1f} mm from the bolt's centre"
                out.append(_finding(drawn, "spanner-room", message, f"{left:.1f} mm", limit, remedy, room.source))
    if bar.centre_hole_mm and centre_u(drawn, 0.0) is None:
        message, remedy = "the vehicle's centreline does not cross the bar's middle: no centre hole is cut", "centre_hole = 0"
        out.append(_finding(drawn, "no-centre", message, "", "", remedy, "geometry of the seats"))
    return tuple(out)


def _finding(drawn: Drawn, code: str, message: str, value: str, limit: str, remedy: str, source: str) -> Finding:
    return Finding(code=code, level="warn", where=drawn.bar.id, message=message, value=value, limit=limit, remedy=remedy, source=source)


def seat_hole_findings(drawn: Drawn, frame: Frame) -> tuple[Finding, ...]:
    """The holes that the seats were made with: too small for the bolt, or round and so large that the bolt places nothing."""
    pieces = tuple(piece for part, piece in frame.built if part == drawn.bar.ties)
    out: list[Finding] = []
    for end in drawn.lie.ends:
        bolt, sizes = bolt_size(end.bolt), _seat_holes_mm(end, pieces)
        if not sizes:
            continue
        least, most, side = min(sizes), max(sizes), end.seat.side
        usual, washed = clearance_hole(end.bolt, "medium").diameter_mm, washer(end.bolt).outside_mm
        if least < bolt.diameter_mm - SLACK:
            message, remedy = f"the {side} seat's holes are {least:g} mm: a bolt {bolt.name} does not go through", SMALLER
            source = "geometry of the seats"
            out.append(_finding(drawn, "seat-hole-small", message, f"{least:g} mm", f"at least {bolt.diameter_mm:g} mm", remedy, source))
        if most > usual + SLACK:
            falls = f", and its washer of {washed:g} mm falls in" if most >= washed else ""
            message = (
                f"a bolt {bolt.name} has {most - bolt.diameter_mm:.1f} mm of play in the {side} seat's holes of {most:g} mm{falls}: "
                "the bar does not hold that seat in its place"
            )
            value, limit = f"{most:g} mm", f"{usual:g} mm, a clearance hole for {bolt.name}"
            out.append(_finding(drawn, "seat-hole-loose", message, value, limit, BUSHED, "common practice, no source"))
    return tuple(out)


def _seat_holes_mm(end: End, pieces: tuple[Piece, ...]) -> list[float]:
    """Diameters of the round holes in the pieces' steel at the seat's bolt places, square to it."""
    out = []
    for piece in pieces:
        for panel, place in panel_places(piece):
            if abs(dot(place.normal, end.seat.normal)) < 1 - SQUARE:
                continue
            for hole in (h for h in panel.holes if h.kind == "round"):
                at = place.point(hole.x_mm, hole.y_mm)
                near = (square_to(minus(p, at), place.normal) for p in end.seat.points)
                if any(size(d) < AT_MM for d in near) and abs(dot(minus(end.middle, at), place.normal)) < piece.part.thickness_mm + AT_MM:
                    out.append(hole.diameter_mm)
    return out
