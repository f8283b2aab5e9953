"""Parts for the tests of the kernel's service, and a part that slips past the checks in the child, as a fault of the program would."""

from __future__ import annotations

import math
import pickle
from typing import Any

from generator.kernel.service import Colour
from parts.holes import Hole
from parts.outline import Contour, rectangle
from parts.sheet import Bend, Panel, Placement, SheetPart

STEEL = Colour(red=0.25, green=0.5, blue=0.75)
RUST = Colour(red=0.7, green=0.3, blue=0.1)
GLASS = Colour(red=0.5, green=0.5, blue=0.5, opacity=0.25)


def plate(name: str = "plate") -> SheetPart:
    """200 x 100 x 6 with a hole of 14 and a slot of 9 x 25: 6 (20000 - 49 pi - 16 x 9 - 20.25 pi) mm³."""
    holes = (
        Hole(name="bolt", x_mm=40, y_mm=50, diameter_mm=14),
        Hole(name="slot", kind="slot", x_mm=120, y_mm=50, diameter_mm=9, length_mm=25),
    )
    return SheetPart(name=name, thickness_mm=6.0, panels=(Panel(name="web", contour=rectangle(0, 0, 200, 100), holes=holes),))


PLATE_MM3 = 6 * (200 * 100 - 49 * math.pi - 16 * 9 - 20.25 * math.pi)


def bracket(name: str = "bracket", angle_deg: float = 90.0) -> SheetPart:
    """A base of 100 x 80 with a leg of 70 x 60 on its edge of 100, t 3, r 4, a hole in each; the bend's edges differ."""
    return SheetPart(
        name=name,
        thickness_mm=3.0,
        panels=(
            Panel(name="base", contour=rectangle(0, 0, 100, 80), holes=(Hole(name="a", x_mm=20, y_mm=30, diameter_mm=11),)),
            Panel(name="leg", contour=rectangle(10, 0, 80, 60), holes=(Hole(name="b", x_mm=45, y_mm=25, diameter_mm=13),)),
        ),
        bends=(Bend(parent="base", child="leg", edge=2, angle_deg=angle_deg, inside_radius_mm=4.0),),
    )


BRACKET_MM3 = 3 * (100 * 80 + 70 * 60 - math.pi * (11**2 + 13**2) / 4) + math.pi / 2 * 85 * (4 * 3 + 4.5)


def clash() -> SheetPart:
    """Two legs that run through each other."""
    leg = rectangle(0, 0, 100, 90)
    return SheetPart(
        name="clash",
        thickness_mm=3.0,
        panels=(Panel(name="base", contour=rectangle(0, 0, 100, 80)), Panel(name="one", contour=leg), Panel(name="two", contour=leg)),
        bends=tuple(Bend(parent="base", child=c, edge=e, angle_deg=120, inside_radius_mm=4) for c, e in (("one", 2), ("two", 0))),
    )


TURNED = Placement(origin=(500.0, -30.0, 80.0), u=(0.0, 1.0, 0.0), v=(-1.0, 0.0, 0.0))
UPRIGHT = Placement(origin=(-100.0, 300.0, 0.0), u=(1.0, 0.0, 0.0), v=(0.0, 0.0, 1.0))


class Unchecked(SheetPart):
    """A part that reaches the kernel whatever its numbers are: unpickling it in the child puts `instead` in place of the checks."""

    INSTEAD = "lambda part: None"

    def __reduce__(self) -> tuple[Any, ...]:
        plain = SheetPart(name=self.name, thickness_mm=self.thickness_mm, panels=self.panels, bends=self.bends)
        program = (
            f"(setattr(__import__('parts.solid').solid, 'refuse_unusable', {self.INSTEAD}), "
            f"__import__('pickle').loads({pickle.dumps(plain)!r}))[1]"
        )
        return eval, (program,)


class OutOfMemory(Unchecked):
    INSTEAD = "lambda part: (_ for _ in ()).throw(MemoryError())"


def with_nan_thickness() -> SheetPart:
    """The kernel extrudes it without a word and then looks for its volume for ever."""
    panel = Panel(name="web", contour=rectangle(0, 0, 100, 50))
    return Unchecked(name="nan-thickness", thickness_mm=math.nan, panels=(panel,))


def with_nan_hole() -> SheetPart:
    hole = Hole(name="h", x_mm=math.nan, y_mm=20, diameter_mm=8)
    return Unchecked(name="nan-hole", thickness_mm=4.0, panels=(Panel(name="web", contour=rectangle(0, 0, 100, 50), holes=(hole,)),))


def out_of_memory() -> SheetPart:
    return OutOfMemory(name="huge", thickness_mm=4.0, panels=(Panel(name="web", contour=rectangle(0, 0, 100, 50)),))


def lozenge() -> Contour:
    return Contour(((0, 0), (60, 0), (90, 40), (30, 40)), (0,) * 4)
