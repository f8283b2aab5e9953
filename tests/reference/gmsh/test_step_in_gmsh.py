"""Our STEP files in gmsh: one solid a part, names, placements, volume to 1e-9 of what the program says it read back.

gmsh holds the geometry itself, not a mesh; its volume is the kernel's integral over exact faces. With `Geometry.OCCTargetUnit` "MM"
lengths are read as millimetres whatever the file's unit is, so a file in another unit would come out of another size.
"""

from __future__ import annotations

from collections.abc import Iterator
from pathlib import Path

import gmsh
import pytest

from tests.generator.kernel_parts import BRACKET_MM3, GLASS, PLATE_MM3, RAIL_MM3
from tests.reference.conftest import WrittenKit

RELATIVE = 1e-9
SOLID = 3  # gmsh's dimension of a volume


@pytest.fixture
def session() -> Iterator[None]:
    gmsh.initialize(interruptible=False)
    gmsh.option.setNumber("General.Terminal", 0)
    gmsh.option.setNumber("Geometry.OCCImportLabels", 1)
    gmsh.option.setString("Geometry.OCCTargetUnit", "MM")
    yield
    gmsh.finalize()


def solids(path: Path) -> list[tuple[str, float]]:
    """(label, volume in mm³) of each solid, as gmsh reads the file."""
    gmsh.model.occ.importShapes(str(path))
    gmsh.model.occ.synchronize()
    tags = [tag for _, tag in gmsh.model.getEntities(SOLID)]
    return [(gmsh.model.getEntityName(SOLID, tag), gmsh.model.occ.getMass(SOLID, tag)) for tag in tags]


@pytest.mark.usefixtures("session")
@pytest.mark.parametrize("name", ["plate", "bracket", "kicked"])
def test_a_part_is_one_solid_of_the_volume_that_the_program_states(step_kit: WrittenKit, name: str) -> None:
    ((label, volume),) = solids(step_kit.folder / f"{name}.step")
    assert name in label
    assert volume == pytest.approx(step_kit.solids[name].volume_mm3, rel=RELATIVE)


@pytest.mark.usefixtures("session")
@pytest.mark.parametrize(("name", "by_hand_mm3"), [("plate", PLATE_MM3), ("bracket", BRACKET_MM3)])
def test_a_part_has_the_volume_worked_by_hand(step_kit: WrittenKit, name: str, by_hand_mm3: float) -> None:
    ((_, volume),) = solids(step_kit.folder / f"{name}.step")
    assert volume == pytest.approx(by_hand_mm3, rel=RELATIVE)


@pytest.mark.usefixtures("session")
def test_the_assembly_holds_every_instance_under_its_name(step_kit: WrittenKit) -> None:
    found = solids(step_kit.folder / "assembly.step")
    by_name = {label.rsplit("/", 1)[-1]: volume for label, volume in found}
    kicked = step_kit.solids["kicked"].volume_mm3
    wanted = {"plate": PLATE_MM3, "bracket": BRACKET_MM3, "kicked": kicked, "rail left": RAIL_MM3}
    assert len(found) == 6
    assert all("orchard kit" in label for label, _ in found)
    total = 3 * PLATE_MM3 + BRACKET_MM3 + kicked + RAIL_MM3
    assert sum(volume for _, volume in found) == pytest.approx(total, rel=RELATIVE)
    assert by_name == pytest.approx(wanted, rel=RELATIVE)


@pytest.mark.usefixtures("session")
def test_an_instance_lies_where_it_was_placed(step_kit: WrittenKit) -> None:
    gmsh.model.occ.importShapes(str(step_kit.folder / "assembly.step"))
    gmsh.model.occ.synchronize()
    boxes = [gmsh.model.getBoundingBox(SOLID, tag) for _, tag in gmsh.model.getEntities(SOLID)]
    # The plate's 200 x 100 x 6 turned a quarter about z and moved to (500, -30, 80): x 400..500, y -30..170, z 80..86.
    turned = (400, -30, 80, 500, 170, 86)
    assert any(box == pytest.approx(turned, abs=1e-5) for box in boxes), boxes  # gmsh widens a box by 1e-7 or so


@pytest.mark.usefixtures("session")
def test_colours_reach_gmsh(step_kit: WrittenKit) -> None:
    gmsh.model.occ.importShapes(str(step_kit.folder / "assembly.step"))
    gmsh.model.occ.synchronize()
    seen = {gmsh.model.getColor(SOLID, tag)[:3] for _, tag in gmsh.model.getEntities(SOLID)}
    assert len(seen) == 3  # steel, rust and the frame's grey
    grey = round(255 * GLASS.red)
    assert any(all(abs(channel - grey) <= 1 for channel in colour) for colour in seen), seen
