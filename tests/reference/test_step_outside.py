"""Our STEP files in other people's readers: names, units, colours, placements, every hole's axis and radius, volume.

`steputils` parses ISO 10303-21 without any kernel: what it finds is compared exactly, axes to the 1e-6 mm asked of them. cascadio makes
triangles of the solids: the volume of a mesh is off by the sagitta of its chords, so it is held between bounds that follow from that.
"""

from __future__ import annotations

import math
from pathlib import Path

import numpy as np
import pytest

from parts.formed import formed
from parts.sheet import Placement, SheetPart
from tests.generator.kernel_parts import (
    BRACKET_MM3,
    GLASS,
    PLATE_MM3,
    RAIL_MM3,
    RUST,
    STEEL,
    TURNED,
    UPRIGHT,
    bracket,
    kicked_plate,
    plate,
    rail,
)
from tests.reference.conftest import WrittenKit
from tests.reference.step_readers import MeshNode, StepContents, read_mesh, read_step

AXIS_MM = 1e-6
SAGITTA_MM = 0.05
PLACEMENTS = {
    "plate 1 of 3": Placement(origin=(0, 0, 0), u=(1, 0, 0), v=(0, 1, 0)),
    "plate 2 of 3": TURNED,
    "plate 3 of 3": UPRIGHT,
    "bracket": TURNED,
    "kicked": UPRIGHT,
    "rail left": Placement(origin=(0, 0, 0), u=(1, 0, 0), v=(0, 1, 0)),
}


@pytest.fixture(scope="module")
def assembly(step_kit: WrittenKit) -> StepContents:
    return read_step(step_kit.folder / "assembly.step")


@pytest.fixture(scope="module")
def scene(step_kit: WrittenKit) -> dict[str, MeshNode]:
    return {node.name: node for node in read_mesh(step_kit.folder / "assembly.step", SAGITTA_MM)}


# --- by a reader without a kernel ---


@pytest.mark.parametrize("part", [plate(), bracket(), kicked_plate()], ids=lambda p: p.name)
def test_each_part_is_one_named_product_in_millimetres_of_one_colour(step_kit: WrittenKit, part: SheetPart) -> None:
    contents = read_step(step_kit.folder / f"{part.name}.step")
    colour = STEEL if part.name == "plate" else RUST
    assert contents.products == [part.name]
    assert contents.instances == {}
    assert contents.length_units == {".MILLI..METRE."}
    assert contents.file_name == f"{part.name}.step"
    assert contents.colours == {part.name: (colour.red, colour.green, colour.blue, 1.0)}


@pytest.mark.parametrize("part", [plate(), bracket(), kicked_plate()], ids=lambda p: p.name)
def test_every_round_hole_is_one_cylinder_about_the_axis_of_the_pure_folding(step_kit: WrittenKit, part: SheetPart) -> None:
    cylinders = read_step(step_kit.folder / f"{part.name}.step").cylinders[part.name]
    for axis in (a for a in formed(part).hole_axes if a.kind == "round"):
        found = [c for c in cylinders if c.is_about(axis.point, axis.direction, axis.diameter_mm / 2, AXIS_MM)]
        assert len(found) == 1, f"{axis.name}: {cylinders}"


def test_a_slots_two_ends_stand_where_its_size_puts_them(step_kit: WrittenKit) -> None:
    # 9 x 25 about (120, 50): ends of radius 4.5, (25 - 9) / 2 = 8 either side of the centre.
    cylinders = read_step(step_kit.folder / "plate.step").cylinders["plate"]
    for x in (112.0, 128.0):
        assert sum(c.is_about((x, 50, 0), (0, 0, 1), 4.5, AXIS_MM) for c in cylinders) == 1
    assert len(cylinders) == 3


def test_the_assembly_is_flat_with_one_product_a_part(assembly: StepContents) -> None:
    assert sorted(assembly.products) == ["bracket", "kicked", "orchard kit", "plate", "rail left"]
    assert {name: (product, parent) for name, (product, parent) in assembly.instances.items()} == {
        name: (name.split(" ")[0] if name != "rail left" else name, "orchard kit") for name in PLACEMENTS
    }
    assert assembly.length_units == {".MILLI..METRE."}


def test_the_frame_is_translucent_and_the_parts_are_not(assembly: StepContents) -> None:
    assert assembly.colours == {
        "plate": (STEEL.red, STEEL.green, STEEL.blue, 1.0),
        "bracket": (RUST.red, RUST.green, RUST.blue, 1.0),
        "kicked": (RUST.red, RUST.green, RUST.blue, 1.0),
        "rail left": (GLASS.red, GLASS.green, GLASS.blue, GLASS.opacity),
    }


def test_the_hole_in_the_frames_web_is_a_cylinder_where_the_frame_has_it(assembly: StepContents) -> None:
    (cut,) = rail().cuts
    (found,) = assembly.cylinders["rail left"]
    assert found.is_about(cut.point, cut.direction, cut.radius_mm, AXIS_MM)


# --- by a mesher ---


def test_every_instance_stands_where_it_was_placed(scene: dict[str, MeshNode]) -> None:
    assert set(scene) == set(PLACEMENTS)
    for name, placement in PLACEMENTS.items():
        matrix = np.column_stack([placement.u, placement.v, placement.normal, placement.origin])
        # glTF holds a turn as a quaternion in single precision: 1e-6 of 600 mm.
        assert scene[name].matrix[:3] == pytest.approx(matrix, abs=1e-3), name


@pytest.mark.parametrize(("name", "volume_mm3"), [("plate 2 of 3", PLATE_MM3), ("bracket", BRACKET_MM3), ("rail left", RAIL_MM3)])
def test_volumes_are_those_of_the_mesh(scene: dict[str, MeshNode], name: str, volume_mm3: float) -> None:
    node = scene[name]
    # Each triangle lies within the sagitta of its face, so the volume is off by at most the sagitta times the curved faces' area.
    assert node.volume_mm3 == pytest.approx(volume_mm3, abs=SAGITTA_MM * curved_area_mm2(name))


def curved_area_mm2(name: str) -> float:
    bend = math.pi / 2 * 85 * (4 + 7)
    return {
        "plate 2 of 3": math.pi * (14 + 9) * 6,
        "bracket": bend + math.pi * (11 + 13) * 3,
        "rail left": math.pi * 13 * 4,
    }[name]


def test_colours_arrive_in_the_scene(scene: dict[str, MeshNode]) -> None:
    for name, colour in (("plate 1 of 3", STEEL), ("bracket", RUST), ("rail left", GLASS)):
        red, green, blue, alpha = scene[name].colour
        assert (red, green, blue) == pytest.approx([linear(c) for c in (colour.red, colour.green, colour.blue)], abs=2e-3), name
        assert alpha == pytest.approx(colour.opacity, abs=1e-6), name


def linear(value: float) -> float:
    """From sRGB, as STEP's colours are shown, to the linear scale of glTF (IEC 61966-2-1)."""
    return value / 12.92 if value <= 0.04045 else ((value + 0.055) / 1.055) ** 2.4


def test_files_are_small(step_kit: WrittenKit) -> None:
    """Shared products: the plate is in the assembly once, not three times."""
    size = {path.stem: path.stat().st_size for path in Path(step_kit.folder).iterdir()}
    rest = size["bracket"] + size["kicked"]
    assert size["assembly"] < size["plate"] + rest + 40_000
