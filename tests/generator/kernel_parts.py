"""Parts for the tests of the kernel's service, and a part that slips past the checks in the child, as a fault of the program would."""

from __future__ import annotations

import math
import pickle
from pathlib import Path
from typing import Any

from generator.kernel.service import AssemblyBody, AssemblyItem, BuiltAssembly, BuiltSolid, Colour, Kernel
from parts.frame.bodies import Body, Cylinder
from parts.holes import Hole
from parts.outline import Contour, rectangle
from parts.sheet import HOME, Bend, Panel, Placement, SheetPart

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


def kicked_plate() -> SheetPart:
    """Four panels whose bend edges differ in length and stand askew, as on a rail that kicks up, turns and tapers."""
    return SheetPart(
        name="kicked",
        thickness_mm=4.0,
        panels=(
            Panel(name="p0", contour=Contour(((0, 0), (400, 10), (400, 150), (0, 160)), (0, 0, 0, 0))),
            Panel(
                name="p1",
                contour=Contour(((0, 0), (138, 0), (128, 300), (-14, 310)), (0, 0, 0, 0)),
                holes=(Hole(name="h", x_mm=60, y_mm=90, diameter_mm=22),),
            ),
            Panel(name="p2", contour=Contour(((3, 0), (139, 0), (120, 200), (10, 205)), (0, 0, 0, 0))),
            Panel(name="lip", contour=rectangle(20, 0, 380, 25).rounded((0, 0, 6, 6))),
        ),
        bends=(
            Bend(parent="p0", child="p1", edge=1, angle_deg=9, inside_radius_mm=6, offset_mm=1),
            Bend(parent="p1", child="p2", edge=2, angle_deg=-14, inside_radius_mm=6),
            Bend(parent="p0", child="lip", edge=0, angle_deg=90, inside_radius_mm=6),
        ),
    )


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


def rail() -> Body:
    """A channel of 150 x 60 x 4, 1000 long, with a hole of 13 through its web: 1000 x 4 (2 x 60 + 142) - 4 pi 6.5² mm³."""
    outline = ((0, 0), (60, 0), (60, 4), (4, 4), (4, 146), (60, 146), (60, 150), (0, 150))
    near, far = (tuple((x, -400.0 + a, 50.0 + b) for a, b in outline) for x in (0.0, 1000.0))
    hole = Cylinder(point=(200.0, -401.0, 125.0), direction=(0.0, 1.0, 0.0), radius_mm=6.5, length_mm=6.0)
    return Body(name="rail left", kind="rail", rings=(near, far), cuts=(hole,))


RAIL_MM3 = 1000 * 4 * (2 * 60 + 142) - 4 * math.pi * 6.5**2


def write_kit(kernel: Kernel, folder: Path, *, backwards: bool = False) -> dict[str, BuiltSolid]:
    """The three parts and the assembly with the rail, as STEP files in `folder`."""
    parts = [(plate(), STEEL), (bracket(), RUST), (kicked_plate(), RUST)]
    made: dict[str, BuiltSolid] = {}
    for part, colour in reversed(parts) if backwards else parts:
        answer = kernel.build(part, folder / f"{part.name}.step", name=part.name, colour=colour)
        assert isinstance(answer, BuiltSolid), answer
        made[part.name] = answer
    items = [
        AssemblyItem(name="plate", part=parts[0][0], colour=STEEL, placements=(HOME, TURNED, UPRIGHT)),
        AssemblyItem(name="bracket", part=parts[1][0], colour=RUST, placements=(TURNED,)),
        AssemblyItem(name="kicked", part=parts[2][0], colour=RUST, placements=(UPRIGHT,)),
    ]
    bodies = [AssemblyBody(name="rail left", body=rail(), colour=GLASS)]
    whole = kernel.assembly(folder / "assembly.step", name="orchard kit", items=items, bodies=bodies)
    assert isinstance(whole, BuiltAssembly), whole
    return made


FILES = ("assembly.step", "bracket.step", "kicked.step", "plate.step")
