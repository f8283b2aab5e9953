"""Solids against closed forms worked by hand, against the flat pattern's volume law, and at the edge of what can be built.

No number here comes from the program. Volumes: a prism is t x area; a bend is Pappus' second theorem, angle x width x (r t + t²/2), the
section's area t times its centroid's path angle x (r + t/2). Tolerance 1e-9 relative: rounding of a double over some thousand terms.
"""

from __future__ import annotations

import math
import subprocess
import sys
from collections.abc import Callable
from dataclasses import replace
from typing import Any

import pytest

from parts import solid as solid_module
from parts.bending import BendRule, Din6935, KFactor
from parts.buildable import KernelMissing
from parts.errors import BadInput
from parts.flat import unfold
from parts.holes import Hole
from parts.outline import Contour, rectangle
from parts.sheet import Bend, Panel, SheetPart
from parts.solid import is_valid, shape, solid, volume_mm3
from tests.generator.kernel_parts import kicked_plate

RELATIVE = 1e-9
T, R = 3.0, 4.0


def ell(
    angle_deg: float = 90.0,
    *,
    child: tuple[float, float] = (0.0, 100.0),
    leg_mm: float = 60.0,
    offset_mm: float = 0.0,
    inside_radius_mm: float = R,
    base: Contour | None = None,
    edge: int = 2,
) -> SheetPart:
    """A base of 100 x 80 with a leg along its upper edge; the leg's edge runs from child[0] to child[1]."""
    return SheetPart(
        name="ell",
        thickness_mm=T,
        panels=(
            Panel(name="base", contour=base or rectangle(0, 0, 100, 80)),
            Panel(name="leg", contour=rectangle(child[0], 0, child[1], leg_mm)),
        ),
        bends=(Bend(parent="base", child="leg", edge=edge, angle_deg=angle_deg, inside_radius_mm=inside_radius_mm, offset_mm=offset_mm),),
    )


def box_of(made: Any) -> list[float]:
    from OCP.Bnd import Bnd_Box
    from OCP.BRepBndLib import BRepBndLib

    box = Bnd_Box()
    BRepBndLib.AddOptimal_s(made, box, False, False)
    low, high = box.CornerMin(), box.CornerMax()
    return [low.X(), low.Y(), low.Z(), high.X(), high.Y(), high.Z()]


def refused(part: SheetPart, build: Callable[[SheetPart], Any] = shape) -> str:
    with pytest.raises(BadInput) as caught:
        build(part)
    assert all(f.where == f"part {part.name}" for f in caught.value.faults)
    return str(caught.value)


# --- volume by hand ---


def test_a_plate_with_round_corners_holes_and_a_slot() -> None:
    plate = SheetPart(
        name="plate",
        thickness_mm=6.0,
        panels=(
            Panel(
                name="web",
                contour=rectangle(0, 0, 200, 100).rounded(10),
                holes=(
                    Hole(name="a", x_mm=30, y_mm=50, diameter_mm=13),
                    Hole(name="s", kind="slot", x_mm=100, y_mm=50, diameter_mm=9, length_mm=25, angle_deg=30),
                    Hole(name="w", kind="rectangle", x_mm=160, y_mm=50, diameter_mm=20, length_mm=40, corner_radius_mm=4, angle_deg=90),
                ),
            ),
        ),
    )
    made = shape(plate)
    corners = 200 * 100 - (4 - math.pi) * 10**2
    openings = math.pi * 13**2 / 4 + (16 * 9 + math.pi * 9**2 / 4) + (40 * 20 - (4 - math.pi) * 4**2)
    assert volume_mm3(made) == pytest.approx(6.0 * (corners - openings), rel=RELATIVE)
    assert is_valid(made)
    assert box_of(made) == pytest.approx([0, 0, 0, 200, 100, 6], abs=1e-9)


def test_an_arc_that_curves_into_the_plate_and_one_over_half_a_circle() -> None:
    bite = Contour(((0, 0), (40, 0), (60, 0), (100, 0), (100, 50), (0, 50)), (0, -1.0, 0, 0, 0, 0))  # a half circle of 10 bitten out
    made = shape(SheetPart(name="bite", thickness_mm=T, panels=(Panel(name="web", contour=bite),)))
    assert volume_mm3(made) == pytest.approx(T * (100 * 50 - math.pi * 10**2 / 2), rel=RELATIVE)
    ear = Contour(((0, 0), (100, 0), (100, 50), (60, 50), (40, 50), (0, 50)), (0, 0, 0, 1 + math.sqrt(2), 0, 0))  # 270 deg on a chord of 20
    made = shape(SheetPart(name="ear", thickness_mm=T, panels=(Panel(name="web", contour=ear),)))
    radius = 10 * math.sqrt(2)
    assert volume_mm3(made) == pytest.approx(T * (100 * 50 + 0.75 * math.pi * radius**2 + 10 * 10), rel=RELATIVE)


@pytest.mark.parametrize("angle_deg", [90.0, -90.0, 35.0, -120.0, 180.0])
def test_a_bend_of_either_sign_has_the_volume_of_pappus(angle_deg: float) -> None:
    made = shape(ell(angle_deg))
    bend = math.radians(abs(angle_deg)) * 100 * (R * T + T * T / 2)
    assert volume_mm3(made) == pytest.approx(T * (100 * 80 + 100 * 60) + bend, rel=RELATIVE)
    assert is_valid(made)


@pytest.mark.parametrize(
    ("angle_deg", "child", "offset_mm"),
    [
        (90.0, (10.0, 80.0), 0.0),
        (-90.0, (10.0, 80.0), 0.0),
        (30.0, (0.0, 80.0), 0.0),
        (-45.0, (10.0, 80.0), 15.0),
        (175.0, (-20.0, 130.0), 0.0),
        (-160.0, (20.0, 60.0), -5.0),
    ],
)
def test_a_bend_between_unequal_edges_has_the_mean_width(angle_deg: float, child: tuple[float, float], offset_mm: float) -> None:
    made = shape(ell(angle_deg, child=child, offset_mm=offset_mm, inside_radius_mm=10.0))
    width = (100 + child[1] - child[0]) / 2
    bend = math.radians(abs(angle_deg)) * width * (10 * T + T * T / 2)
    assert volume_mm3(made) == pytest.approx(T * (100 * 80 + (child[1] - child[0]) * 60) + bend, rel=RELATIVE)
    assert is_valid(made)


# --- the box, worked by hand ---


def test_a_positive_bend_turns_towards_plus_z() -> None:
    # Inside face of the bend at z = t: axis at y = 80, z = 3 + 4 = 7; outermost y = 80 + 4 + 3; the leg ends 60 above the axis.
    assert box_of(shape(ell(90.0))) == pytest.approx([0, 0, 0, 100, 87, 67], abs=1e-9)


def test_a_negative_bend_turns_towards_minus_z() -> None:
    # Inside face of the bend at z = 0: axis at y = 80, z = -4; the leg ends 60 below the axis.
    assert box_of(shape(ell(-90.0))) == pytest.approx([0, 0, -64, 100, 87, 3], abs=1e-9)


def test_an_offset_moves_the_childs_origin_from_the_edges_end_towards_its_start() -> None:
    # The edge runs from (100, 80) to (0, 80), so u = 0 stands at x = 0 + 15 and u points to +x: the leg spans x 25 to 95.
    made = shape(ell(90.0, child=(10.0, 80.0), offset_mm=15.0))
    corners = _vertices(made)
    assert sorted({round(p[0], 6) for p in corners if p[2] > 60}) == [25.0, 95.0]
    assert sorted({round(p[0], 6) for p in corners}) == [0.0, 25.0, 95.0, 100.0]  # the bend begins on the base's own corners


def test_a_chain_of_two_bends() -> None:
    # A joggle: 45 deg up, then 45 deg down, t 3, r 4, slope 50 long. The first bend's z = 0 face rises 7 (1 - cos 45), the slope
    # 50 sin 45, the second bend's z = 0 face, now on the inside, 4 (1 - cos 45); along y 80 + 7 sin 45 + 50 cos 45 + 4 sin 45 + 30.
    step = SheetPart(
        name="joggle",
        thickness_mm=T,
        panels=(
            Panel(name="low", contour=rectangle(0, 0, 100, 80)),
            Panel(name="slope", contour=rectangle(0, 0, 100, 50)),
            Panel(name="high", contour=rectangle(0, 0, 100, 30)),
        ),
        bends=(  # out of order on purpose: a child may be named before its parent
            Bend(parent="slope", child="high", edge=2, angle_deg=-45, inside_radius_mm=R),
            Bend(parent="low", child="slope", edge=2, angle_deg=45, inside_radius_mm=R),
        ),
    )
    s = math.sqrt(0.5)
    rise = 7 * (1 - s) + 50 * s + 4 * (1 - s)
    assert box_of(shape(step)) == pytest.approx([0, 0, 0, 100, 80 + 7 * s + 50 * s + 4 * s + 30, rise + T], abs=1e-9)


def _vertices(made: Any) -> list[tuple[float, float, float]]:
    from OCP.BRep import BRep_Tool
    from OCP.TopAbs import TopAbs_ShapeEnum
    from OCP.TopExp import TopExp_Explorer
    from OCP.TopoDS import TopoDS

    out = []
    walk = TopExp_Explorer(made, TopAbs_ShapeEnum.TopAbs_VERTEX)
    while walk.More():
        p = BRep_Tool.Pnt_s(TopoDS.Vertex_s(walk.Current()))
        out.append((p.X(), p.Y(), p.Z()))
        walk.Next()
    return out


# --- against the flat pattern ---


@pytest.mark.parametrize("rule", [KFactor(value=0.42), KFactor(value=0.33), Din6935()], ids=["K 0.42", "K 0.33", "DIN 6935"])
def test_the_volume_law_holds_against_the_flat_pattern(rule: BendRule) -> None:
    part = kicked_plate()
    flat = unfold(part, rule)
    t = part.thickness_mm
    law = t * flat.area_mm2
    for bend in flat.bends:
        law += bend.length_mm * math.radians(abs(bend.angle_deg)) * t * t * (0.5 - bend.k_factor)
    made = shape(part)
    assert volume_mm3(made) == pytest.approx(law, rel=RELATIVE)
    assert is_valid(made)


# --- what cannot be built ---


def test_flanges_that_collide_are_refused_with_both_volumes() -> None:
    long = rectangle(0, 0, 100, 90)
    part = SheetPart(
        name="clash",
        thickness_mm=T,
        panels=(Panel(name="base", contour=rectangle(0, 0, 100, 80)), Panel(name="one", contour=long), Panel(name="two", contour=long)),
        bends=(
            Bend(parent="base", child="one", edge=2, angle_deg=120, inside_radius_mm=R),
            Bend(parent="base", child="two", edge=0, angle_deg=120, inside_radius_mm=R),
        ),
    )
    assert "overlap when folded" in refused(part)
    apart = replace(part, bends=(part.bends[0], replace(part.bends[1], angle_deg=60.0)))
    assert is_valid(shape(apart))


def test_a_panel_that_reaches_past_its_bend_edge_is_joined_in_full() -> None:
    # Beside the bend a tab of 20 x 5 goes on past the bend edge: no collision, since the leg's edge ends before it.
    tab = Contour(((0, 0), (100, 0), (100, 85), (80, 85), (80, 80), (0, 80)), (0,) * 6)
    part = ell(90.0, child=(0.0, 80.0), base=tab, edge=4)
    bend = math.pi / 2 * 80 * (R * T + T * T / 2)
    assert volume_mm3(shape(part)) == pytest.approx(T * (100 * 80 + 20 * 5 + 80 * 60) + bend, rel=RELATIVE)
    # The same tab with a leg that spreads over it runs into the bend.
    assert "overlap when folded" in refused(ell(90.0, child=(0.0, 100.0), base=tab, edge=4))


def test_a_closed_box_whose_seam_only_touches_is_one_solid() -> None:
    # Along y round the square: w0 ends at 60, w1's outside stands at 67, w2 runs back from 60 to 0, the lid's inside stands at
    # -4 and its outside at -7. So w0 begins at -4, and the lid, from 67 down to 0, ends level with w0's outside face.
    side = 60.0
    floor = rectangle(0, -R, 100, side)
    wall = rectangle(0, 0, 100, side)
    box = SheetPart(
        name="box",
        thickness_mm=T,
        panels=(
            Panel(name="w0", contour=floor),
            Panel(name="w1", contour=wall),
            Panel(name="w2", contour=wall),
            Panel(name="lid", contour=rectangle(0, 0, 100, side + R + T)),
        ),
        bends=tuple(
            Bend(parent=a, child=b, edge=2, angle_deg=90, inside_radius_mm=R) for a, b in (("w0", "w1"), ("w1", "w2"), ("w2", "lid"))
        ),
    )
    made = shape(box)
    bends = 3 * math.pi / 2 * 100 * (R * T + T * T / 2)
    assert volume_mm3(made) == pytest.approx(T * 100 * (4 * side + 2 * R + T) + bends, rel=RELATIVE)
    assert box_of(made) == pytest.approx([0, -R - T, 0, 100, side + R + T, side + 2 * (R + T)], abs=1e-9)
    assert is_valid(made)


def test_a_hole_over_the_edge_is_refused() -> None:
    part = ell()
    bitten = replace(part.panels[0], holes=(Hole(name="a", x_mm=2, y_mm=40, diameter_mm=10),))
    assert "an opening crosses an edge" in refused(replace(part, panels=(bitten, part.panels[1])), solid)


NAN, INFINITE = float("nan"), float("inf")


def unusable() -> list[tuple[str, SheetPart, str]]:
    part = ell()
    base, leg = part.panels
    bend = part.bends[0]
    hole = Hole(name="pilot", x_mm=20, y_mm=20, diameter_mm=8)

    def with_hole(**values: float) -> SheetPart:
        return replace(part, panels=(replace(base, holes=(replace(hole, **values),)), leg))  # type: ignore[arg-type]

    return [
        ("thickness", replace(part, thickness_mm=NAN), "thickness"),
        ("thin", replace(part, thickness_mm=0.0), "thickness"),
        ("corner", replace(part, panels=(replace(base, contour=Contour(((0, 0), (INFINITE, 0), (1, 1)), (0, 0, 0))), leg)), "corner 2"),
        ("bulge", replace(part, panels=(replace(base, contour=Contour(((0, 0), (9, 0), (1, 1)), (0, NAN, 0))), leg)), "corner 2"),
        ("hole x", with_hole(x_mm=NAN), "hole pilot"),
        ("hole diameter", with_hole(diameter_mm=-8.0), "hole pilot, diameter"),
        ("hole angle", with_hole(angle_deg=INFINITE), "hole pilot"),
        ("far", with_hole(y_mm=1e12), "hole pilot"),
        ("angle", replace(part, bends=(replace(bend, angle_deg=NAN),)), "bend to leg, angle"),
        ("too far round", replace(part, bends=(replace(bend, angle_deg=190.0),)), "bend to leg, angle"),
        ("radius", replace(part, bends=(replace(bend, inside_radius_mm=0.0),)), "bend to leg, inside_radius"),
        ("offset", replace(part, bends=(replace(bend, offset_mm=NAN),)), "bend to leg, offset"),
        ("edge", replace(part, bends=(replace(bend, edge=7),)), "bend to leg: edge 7"),
        ("unjoined", replace(part, bends=()), "leg"),
        ("stranger", replace(part, bends=(bend, replace(bend, child="ghost", edge=0))), "ghost"),
        ("twice", replace(part, panels=(base, base)), "own name"),
    ]


@pytest.mark.parametrize(("part", "named"), [u[1:] for u in unusable()], ids=[u[0] for u in unusable()])
def test_what_the_kernel_must_not_see_is_refused_before_it_loads(part: SheetPart, named: str, monkeypatch: pytest.MonkeyPatch) -> None:
    def loaded() -> None:
        raise AssertionError("the kernel was asked")

    monkeypatch.setattr(solid_module, "load_kernel", loaded)
    assert named in refused(part)


def test_every_fault_is_named_at_once() -> None:
    part = replace(ell(NAN), thickness_mm=-1.0)
    assert len(refused(part).splitlines()) == 2


# --- loading ---


def test_solid_is_a_cadquery_solid() -> None:
    import cadquery

    made = solid(ell(90.0))
    assert isinstance(made, cadquery.Solid)
    assert made.isValid()
    assert made.BoundingBox().zmax == pytest.approx(67.0, abs=1e-6)


def test_importing_the_module_loads_no_kernel_and_a_shape_loads_no_cadquery() -> None:
    program = (
        "import sys, parts.solid as s\n"
        "from parts.outline import rectangle\n"
        "from parts.sheet import Panel, SheetPart\n"
        "print(sorted({'OCP', 'cadquery', 'vtkmodules'} & set(sys.modules)))\n"
        "s.shape(SheetPart(name='p', thickness_mm=2, panels=(Panel(name='w', contour=rectangle(0, 0, 9, 9)),)))\n"
        "print(sorted({'cadquery', 'vtkmodules'} & set(sys.modules)))\n"
    )
    done = subprocess.run([sys.executable, "-c", program], capture_output=True, text=True, check=True, timeout=60)
    assert done.stdout.split("\n")[:2] == ["[]", "[]"]


def test_a_missing_system_library_is_one_line_with_the_remedy(monkeypatch: pytest.MonkeyPatch) -> None:
    monkeypatch.setitem(sys.modules, "OCP.gp", None)
    with pytest.raises(KernelMissing) as caught:
        shape(ell())
    text = str(caught.value)
    assert "\n" not in text
    assert "apt-get install libgl1" in text and "works without it" in text
