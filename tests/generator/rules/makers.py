"""Small pieces on small frames for the rules: flat plates and bent ones, laid on a straight rail by hand.

The straight frame: rails x 0 to 3600, 150 deep with 4 mm web and flanges, toes 60 mm in; the right web's outside at y 430, its lower face
at z 450. A plate inside the right web has its back at y 426, one on the toes at y 370.
"""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import replace
from typing import Any

from generator.rules.rule import Check, Subject
from generator.rules.scene import Scene
from parts.bending import KFactor
from parts.errors import Finding
from parts.flat import unfold
from parts.frame import Frame
from parts.frame.frame import Steel, Use
from parts.holes import Hole
from parts.outline import Contour, rectangle
from parts.piece import Piece
from parts.sheet import HOME, Bend, Panel, Placement, SheetPart
from parts.shop import Shop
from tests.parts.frame.makers import drawn, frame, station

TINY = 1e-6
LOW_Z = 450.0
BACKS = {"inside": 426.0, "toes": 370.0}


def straight(*, commercial: bool = False, heat_treated: Any = "no", **fields: Any) -> Frame:
    made = frame(drawn(station("front", 0), station("mid", 1800), station("rear", 3600)), **fields)
    return replace(made, use=Use(road=True, commercial=commercial), steel=Steel(grade="mild steel", heat_treated=heat_treated))


def on_right(x: float, z: float, back: str = "inside") -> Placement:
    """A plate against the right rail whose seen face looks inboard: u rearward, v up, its (0, 0) at x and z."""
    return Placement(origin=(x, BACKS[back], z), u=(1.0, 0.0, 0.0), v=(0.0, 0.0, 1.0))


def outside_right(x: float, z: float) -> Placement:
    """Against the outside of the right web: u forward from x, v up."""
    return Placement(origin=(x, 430.0, z), u=(-1.0, 0.0, 0.0), v=(0.0, 0.0, 1.0))


def piece(
    outline: Contour | None = None,
    *,
    thickness: float = 4.0,
    holes: Sequence[Hole] = (),
    place: Placement = HOME,
    grade: str = "A36",
    id: str = "plate-right",
    **more: Any,
) -> Piece:
    """A flat plate, 200 x 100 unless told otherwise."""
    panel = Panel(name="plate", contour=outline or rectangle(0.0, 0.0, 200.0, 100.0), holes=tuple(holes))
    part = SheetPart(name=id, thickness_mm=thickness, panels=(panel,))
    return Piece(id=id, family="made up", side=more.pop("side", "right"), part=part, grade=grade, placements=(place,), **more)


def angle_piece(
    *,
    thickness: float = 4.0,
    radius: float = 5.0,
    angle: float = 90.0,
    legs: tuple[float, float] = (100.0, 60.0),
    width: float = 200.0,
    holes: Sequence[Hole] = (),
    leg: Contour | None = None,
    grade: str = "A36",
    **more: Any,
) -> Piece:
    """Two flats of these lengths on either side of one bend; holes are in the second, u along the bend and v from its tangent."""
    base = Panel(name="base", contour=rectangle(0.0, 0.0, width, legs[0]))
    child = Panel(name="leg", contour=leg or rectangle(0.0, 0.0, width, legs[1]), holes=tuple(holes))
    bend = Bend(parent="base", child="leg", edge=0, angle_deg=angle, inside_radius_mm=radius)
    part = SheetPart(name="angle-right", thickness_mm=thickness, panels=(base, child), bends=(bend,))
    return Piece(id="angle-right", family="made up", side="right", part=part, grade=grade, placements=(more.pop("place", HOME),), **more)


def hole(x: float, y: float, diameter: float = 13.0, name: str = "hole", **more: Any) -> Hole:
    return Hole(name=name, x_mm=x, y_mm=y, diameter_mm=diameter, **more)


def subject(of: Piece, on: Frame | None = None, shop: Shop | None = None, *others: Piece, k: float = 0.42) -> Subject:
    """`of` in a kit after `others`."""
    shop = shop or Shop()
    scene = Scene(frame=on or straight(), shop=shop, pieces=(*others, of))
    return Subject(piece=of, flat=unfold(of.part, KFactor(value=k)), scene=scene)


def told(check: Check, of: Piece, on: Frame | None = None, shop: Shop | None = None, *others: Piece) -> list[tuple[str, str]]:
    """(code, level) of what a rule finds; it must have something to judge."""
    found = check(subject(of, on, shop, *others))
    assert found is not None, "the rule has nothing to say of this piece"
    return [(f.code, f.level) for f in found]


def one(check: Check, of: Piece, on: Frame | None = None, shop: Shop | None = None, *others: Piece) -> Finding:
    found = check(subject(of, on, shop, *others))
    assert found is not None and len(found) == 1, found
    return found[0]


def silent(check: Check, of: Piece, on: Frame | None = None, shop: Shop | None = None, *others: Piece) -> bool:
    """Whether the rule does not apply at all: it counts the piece as not judged."""
    return check(subject(of, on, shop, *others)) is None
