"""What a bar's builder measures and must know: its spacing, both diagonals, in what order it goes on and comes off."""

from __future__ import annotations

import math
from dataclasses import replace

from parts.errors import BadInput, Fault
from parts.features.bar.drawn import SIDES, Drawn
from parts.features.bar.holes import centre_u
from parts.frame.frame import Frame
from parts.sheet import Vec3
from parts.vectors import along, inside

SAME_MM = 0.05  #: diagonals nearer than this are told as one
LEVEL_DEG = 0.05


def notes(drawn: Drawn, frame: Frame) -> tuple[tuple[str, ...], list[Fault]]:
    bar, lie = drawn.bar, drawn.lie
    left, right = (end.seat for end in lie.ends)
    out = [
        f"comes out after the last weld has cooled: until then its bolts stay tight, their heads on the bar, nuts under {bar.ties}",
        f"spacing of the seats {lie.spacing_mm:.1f} mm, middle to middle of their bolts; outermost holes {_outer(drawn):.1f} mm apart",
    ]
    travel = max(left.travel_mm, right.travel_mm)
    if travel:
        out.append(
            f"the seats' slots let a bolt move {travel:g} mm: the bolts stand in the slots' middles (x {lie.ends[0].middle[0]:.1f} mm), "
            f"and the bar's round holes then hold both seats at one x"
        )
    drop = lie.ends[1].middle[2] - lie.ends[0].middle[2]
    skew = math.degrees(math.asin(max(-1.0, min(1.0, -lie.across[2] if lie.normal[2] > 0 else lie.across[2]))))
    if abs(drop) < SAME_MM and abs(skew) < LEVEL_DEG:
        out.append("it lies level both ways once the seats do: lay the level on it")
    else:
        leans = (
            [f"its right end lies {abs(drop):.1f} mm {'higher' if drop > 0 else 'lower'} than its left one"] if abs(drop) >= SAME_MM else []
        )
        leans += [f"it leans {abs(skew):.2f} deg along the vehicle"] if abs(skew) >= LEVEL_DEG else []
        out.append(f"{' and '.join(leans)}, as the seats do")
    if lie.bent:
        bends = " and ".join(
            f"{abs(e.bend_deg):.2f} deg {'up' if e.bend_deg > 0 else 'down'} ({s})" for e, s in zip(lie.ends, SIDES, strict=True)
        )
        out.append(f"the seats lean: its ends are bent {bends} to lie on them")
    at = centre_u(drawn, 0.0)
    if at is not None:
        first, last = min(_us(drawn, 0)), max(_us(drawn, 1))
        out.append(
            f"the tick is the vehicle's centreline: {at - first:.1f} mm from the left end's outermost holes, {last - at:.1f} mm from the "
            "right's, along the bar's middle"
        )
    said, faults = _square(drawn, frame)
    return (*out, *said), faults


def _us(drawn: Drawn, which: int) -> list[float]:
    return [inside(drawn.place, p)[0] for p in drawn.lie.ends[which].seat.points]


def outermost(drawn: Drawn) -> tuple[Vec3, Vec3]:
    """The bolt place of each seat that lies furthest out."""
    found: list[Vec3] = []
    for which, pick in enumerate((min, max)):
        us, points = _us(drawn, which), drawn.lie.ends[which].seat.points
        found.append(points[us.index(pick(us))])
    return found[0], found[1]


def _outer(drawn: Drawn) -> float:
    return math.dist(*outermost(drawn))


def _square(drawn: Drawn, frame: Frame) -> tuple[tuple[str, ...], list[Fault]]:
    """Both diagonals as drawn, from the seats' outermost bolt places to the web's inner face at a hole that both rails have."""
    name = drawn.bar.square_to
    if name is None:
        return (), []
    ends: list[Vec3] = []
    faults: list[Fault] = []
    face = ""
    for side in frame.sides:
        try:
            hole = frame.hole(name, side)
        except BadInput as error:
            faults += [replace(f, where=drawn.where, field="square_to") for f in error.faults]
            continue
        section = frame.rail(side).section
        if section.kind == "closed" and section.open == "inboard" and hole.face == "web":
            limit = f"{name} is in the outboard wall of closed rail {side}: no tape goes to it from the seats"
            remedy = "a hole of a flange, or leave it out and measure from marks on the rails"
            faults.append(Fault(where=drawn.where, field="square_to", value=name, limit=limit, remedy=remedy))
            continue
        wall = section.web_mm if hole.face == "web" and section.open == "inboard" else 0.0
        face = hole.face if hole.face != "web" else "inner face"
        ends.append(along(hole.point, (hole.outward, -wall)))
    if faults:
        return (), faults
    left, right = outermost(drawn)
    one, two = math.dist(left, ends[1]), math.dist(right, ends[0])
    what = f"from the outermost bolt's centre, on the seat's face, to the centre of hole {name} on the other rail's {face}"
    if abs(one - two) < SAME_MM:
        return (f"square: both diagonals read {one:.1f} mm, {what}",), []
    return (
        f"square: left to right {one:.1f} mm, right to left {two:.1f} mm, {what}. The rails differ, so the diagonals do, by "
        f"{abs(one - two):.1f} mm",
    ), []
