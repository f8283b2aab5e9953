"""The kernel's service: what it answers for sound parts, and that nothing a part does to the kernel stops the rest of the kit."""

from __future__ import annotations

import resource
import subprocess
import sys
import time
from collections.abc import Iterator
from dataclasses import dataclass, field
from pathlib import Path

import pytest

from generator.kernel.service import AssemblyItem, BuiltAssembly, BuiltSolid, Kernel, Placed
from parts.errors import Finding
from parts.formed import formed
from parts.sheet import HOME, Placement, SheetPart
from tests.generator.kernel_parts import (
    BRACKET_MM3,
    PLATE_MM3,
    STEEL,
    TURNED,
    UPRIGHT,
    bracket,
    clash,
    out_of_memory,
    plate,
    with_nan_hole,
    with_nan_thickness,
)
from tests.reference.step_readers import read_step

LIMIT_S = 4.0
AXIS_MM = 1e-6  # as asked of hole axes re-read from the STEP file


@pytest.fixture(scope="module")
def kernel() -> Iterator[Kernel]:
    with Kernel.start() as started:
        yield started


def built(kernel: Kernel, part: SheetPart, folder: Path) -> BuiltSolid:
    made = kernel.build(part, folder / f"{part.name}.step", name=part.name, colour=STEEL)
    assert isinstance(made, BuiltSolid), made
    return made


def refused(answer: object, code: str) -> Finding:
    assert isinstance(answer, Finding), answer
    assert answer.code == code, answer
    assert "Traceback" not in str(answer) and "\n" not in str(answer)
    return answer


# --- sound parts ---


def test_volume_box_and_faces_of_what_was_read_back(kernel: Kernel, tmp_path: Path) -> None:
    made = built(kernel, plate(), tmp_path)
    assert made.volume_mm3 == pytest.approx(PLATE_MM3, rel=1e-9)
    assert made.box[0] == pytest.approx((0, 0, 0), abs=1e-9)
    assert made.box[1] == pytest.approx((200, 100, 6), abs=1e-9)
    assert made.face_count == 6 + 1 + 4  # a plate's six, the hole, the slot's two flats and two ends
    assert [p.name for p in tmp_path.iterdir()] == ["plate.step"]


def test_a_hole_is_one_whole_cylinder_and_a_slot_two_halves(kernel: Kernel, tmp_path: Path) -> None:
    made = built(kernel, plate(), tmp_path)
    assert [(c.radius_mm, c.sweep_deg) for c in made.hole_axes] == [pytest.approx((7.0, 360.0))]
    ends = [c for c in made.cylinders if c not in made.hole_axes]
    told = sorted((c.point[0], c.radius_mm, round(c.sweep_deg, 9), c.concave) for c in ends)
    assert told == [(112, 4.5, 180, True), (128, 4.5, 180, True)]


@pytest.mark.parametrize("angle_deg", [90.0, -90.0, 37.0, -130.0])
def test_hole_axes_re_read_from_the_file_are_those_of_the_pure_folding(kernel: Kernel, tmp_path: Path, angle_deg: float) -> None:
    part = bracket(angle_deg=angle_deg)
    read = built(kernel, part, tmp_path).hole_axes
    axes = formed(part).hole_axes
    assert len(read) == len(axes) == 2
    for axis in axes:
        near = [c for c in read if abs(c.radius_mm - axis.diameter_mm / 2) < AXIS_MM]
        assert len(near) == 1
        # The face's middle lies half a thickness along +z from the panel's z = 0 face.
        middle = [p + part.thickness_mm / 2 * d for p, d in zip(axis.point, axis.direction, strict=True)]
        assert near[0].point == pytest.approx(middle, abs=AXIS_MM)
        along = sum(p * q for p, q in zip(near[0].direction, axis.direction, strict=True))
        assert abs(along) == pytest.approx(1.0, abs=1e-12)


def test_a_bends_two_faces_are_told_from_holes_by_side_and_sweep(kernel: Kernel, tmp_path: Path) -> None:
    part = bracket(angle_deg=60.0)
    equal = SheetPart(name="equal", thickness_mm=3.0, panels=(part.panels[0], plate().panels[0]), bends=())
    equal = SheetPart(
        name="equal",
        thickness_mm=3.0,
        panels=(part.panels[0], type(part.panels[1])(name="leg", contour=part.panels[0].contour)),
        bends=part.bends,
    )
    bends = [c for c in built(kernel, equal, tmp_path).cylinders if c.sweep_deg < 359]
    assert sorted((round(c.radius_mm, 9), round(c.sweep_deg, 9), c.concave) for c in bends) == [(4, 60, True), (7, 60, False)]


def test_the_assembly_places_shared_parts_under_their_own_names(kernel: Kernel, tmp_path: Path) -> None:
    items = (
        AssemblyItem(name="plate", part=plate(), colour=STEEL, placements=(HOME, TURNED, UPRIGHT)),
        AssemblyItem(name="bracket", part=bracket(), colour=STEEL, placements=(TURNED,)),
    )
    made = kernel.assembly(tmp_path / "kit.step", name="kit", items=items)
    assert isinstance(made, BuiltAssembly)
    assert made.products == ("plate", "bracket")
    assert made.instances == ("plate 1 of 3", "plate 2 of 3", "plate 3 of 3", "bracket")
    assert [p.name for p in tmp_path.iterdir()] == ["kit.step"]


@pytest.mark.parametrize("name", ["Verger d'été; n° 3 (#4)", "orchard kit " * 12, "\\ 'quoted' ''"])
def test_any_name_of_a_job_reaches_the_file_whole(kernel: Kernel, tmp_path: Path, name: str) -> None:
    """The text is checked for its names before it is stored: a name broken over lines or in another script must come out as it went in."""
    items = [AssemblyItem(name="plate", part=plate(), colour=STEEL, placements=(HOME, TURNED))]
    made = kernel.assembly(tmp_path / "kit.step", name=name, items=items)
    assert isinstance(made, BuiltAssembly), made
    assert name in read_step(tmp_path / "kit.step").products


def test_two_products_of_one_name_are_refused(kernel: Kernel, tmp_path: Path) -> None:
    items = [AssemblyItem(name="same", part=p, colour=STEEL, placements=(HOME,)) for p in (plate(), bracket())]
    finding = refused(kernel.assembly(tmp_path / "kit.step", name="kit", items=items), "solid-refused")
    assert "same" in finding.message
    assert list(tmp_path.iterdir()) == []


def test_distance_and_common_volume_of_plates_laid_out_by_hand(kernel: Kernel) -> None:
    one = Placed(thing=plate("one"))
    above = Placed(thing=plate("two"), placement=Placement(origin=(0, 0, 16.5), u=(1, 0, 0), v=(0, 1, 0)))
    beside = Placed(thing=plate("two"), placement=Placement(origin=(203, 104, 0), u=(1, 0, 0), v=(0, 1, 0)))
    across = Placed(thing=plate("two"), placement=Placement(origin=(190, 0, 0), u=(1, 0, 0), v=(0, 1, 0)))
    assert kernel.distance(one, above) == pytest.approx(10.5, abs=1e-9)  # 16.5 less the thickness
    assert kernel.distance(one, beside) == pytest.approx(5.0, abs=1e-9)  # corner to corner, 3 and 4
    assert kernel.common_volume(one, above) == 0.0
    assert kernel.common_volume(one, across) == pytest.approx(10 * 100 * 6, rel=1e-9)


def test_a_collision_is_refused_in_words_and_costs_no_process(kernel: Kernel, tmp_path: Path) -> None:
    assert kernel.version() == kernel.version()
    before = kernel._child
    finding = refused(kernel.build(clash(), tmp_path / "clash.step", name="clash", colour=STEEL), "solid-refused")
    assert finding.where == "part clash"
    assert "overlap when folded" in finding.message
    assert kernel._child is before
    assert list(tmp_path.iterdir()) == []


def test_a_missing_folder_is_refused(kernel: Kernel, tmp_path: Path) -> None:
    finding = refused(kernel.build(plate(), tmp_path / "none" / "plate.step", name="plate", colour=STEEL), "solid-unwritten")
    assert "could not be written" in finding.message


def test_the_service_imports_no_kernel() -> None:
    program = "import sys, generator.kernel.service; print(sorted({'OCP', 'cadquery', 'ezdxf', 'click'} & set(sys.modules)))"
    done = subprocess.run([sys.executable, "-c", program], capture_output=True, text=True, check=True, timeout=60)
    assert done.stdout.strip() == "[]"


# --- what a part can do to the kernel ---


@dataclass
class BadDay:
    """One run in which three of five parts bring the kernel down."""

    answers: dict[str, BuiltSolid | Finding] = field(default_factory=dict)
    seconds: dict[str, float] = field(default_factory=dict)
    whole: BuiltAssembly | Finding | None = None
    files: list[str] = field(default_factory=list)


@pytest.fixture(scope="module")
def bad_day(tmp_path_factory: pytest.TempPathFactory) -> BadDay:
    folder = tmp_path_factory.mktemp("bad-day")
    day = BadDay()
    parts = [plate(), with_nan_thickness(), with_nan_hole(), out_of_memory(), bracket()]
    with Kernel.start(limit_s=LIMIT_S) as kernel:
        for part in parts:
            kernel.version()  # so that loading is not counted
            began = time.monotonic()
            day.answers[part.name] = kernel.build(part, folder / f"{part.name}.step", name=part.name, colour=STEEL)
            day.seconds[part.name] = time.monotonic() - began
        items = [AssemblyItem(name=p.name, part=p, colour=STEEL, placements=(HOME,)) for p in parts]
        day.whole = kernel.assembly(folder / "assembly.step", name="assembly", items=items)
    day.files = sorted(p.name for p in folder.iterdir())
    return day


def test_a_nan_forced_into_the_kernel_ends_as_a_finding_within_the_limit(bad_day: BadDay) -> None:
    finding = refused(bad_day.answers["nan-thickness"], "solid-hung")
    assert finding.where == "part nan-thickness"
    assert finding.level == "stop"
    assert LIMIT_S <= bad_day.seconds["nan-thickness"] < LIMIT_S + 3.0


def test_a_crash_ends_as_a_finding(bad_day: BadDay) -> None:
    finding = refused(bad_day.answers["nan-hole"], "solid-crashed")
    assert finding.where == "part nan-hole"


def test_running_out_of_memory_ends_as_a_finding(bad_day: BadDay) -> None:
    refused(bad_day.answers["huge"], "solid-memory")


def test_the_rest_of_the_kit_is_made(bad_day: BadDay) -> None:
    first, last = bad_day.answers["plate"], bad_day.answers["bracket"]
    assert isinstance(first, BuiltSolid) and first.volume_mm3 == pytest.approx(PLATE_MM3, rel=1e-9)
    assert isinstance(last, BuiltSolid) and last.volume_mm3 == pytest.approx(BRACKET_MM3, rel=1e-9)


def test_the_assembly_holds_the_parts_built_before_and_after_without_the_culprits(bad_day: BadDay) -> None:
    assert isinstance(bad_day.whole, BuiltAssembly)
    assert bad_day.whole.products == ("plate", "bracket")
    assert bad_day.files == ["assembly.step", "bracket.step", "plate.step"]


# --- no kernel at all ---


def fake_kernel(folder: Path, program: str, monkeypatch: pytest.MonkeyPatch) -> None:
    (folder / "OCP").mkdir()
    (folder / "OCP" / "__init__.py").write_text(program, encoding="utf-8")
    monkeypatch.setenv("PYTHONPATH", str(folder))


def test_a_missing_system_library_is_told_once_and_names_the_remedy(tmp_path: Path, monkeypatch: pytest.MonkeyPatch) -> None:
    message = "libGL.so.1: cannot open shared object file: No such file or directory"
    fake_kernel(tmp_path, f"raise ImportError({message!r})", monkeypatch)
    with Kernel.start() as kernel:
        first = refused(kernel.build(plate(), tmp_path / "plate.step", name="plate", colour=STEEL), "kernel-missing")
        second = kernel.build(bracket(), tmp_path / "bracket.step", name="bracket", colour=STEEL)
    assert first == second
    assert "libGL.so.1" in first.message and "apt-get install libgl1" in first.message


def test_a_kernel_that_dies_while_loading_is_not_blamed_on_a_part(tmp_path: Path, monkeypatch: pytest.MonkeyPatch) -> None:
    fake_kernel(tmp_path, "import os; os.abort()", monkeypatch)
    with Kernel.start() as kernel:
        finding = refused(kernel.build(plate(), tmp_path / "plate.step", name="plate", colour=STEEL), "kernel-missing")
    assert finding.where == "STEP models"


def test_a_closed_kernel_says_so(tmp_path: Path) -> None:
    kernel = Kernel.start()
    kernel.close()
    kernel.close()
    refused(kernel.build(plate(), tmp_path / "plate.step", name="plate", colour=STEEL), "kernel-closed")


def test_a_full_disk_leaves_the_old_file_and_is_refused(tmp_path: Path) -> None:
    """A limit on the size of a file makes the kernel's writes fail as a full disk does: it says nothing and leaves a stump."""
    target = tmp_path / "plate.step"
    target.write_text("old", encoding="ascii")
    soft, hard = resource.getrlimit(resource.RLIMIT_FSIZE)
    resource.setrlimit(resource.RLIMIT_FSIZE, (4096, hard))
    try:
        kernel = Kernel.start()  # inherits the limit
    finally:
        resource.setrlimit(resource.RLIMIT_FSIZE, (soft, hard))
    with kernel:
        finding = refused(kernel.build(plate(), target, name="plate", colour=STEEL), "solid-unwritten")
    assert "could not be written in full" in finding.message
    assert target.read_text(encoding="ascii") == "old"
    assert [p.name for p in tmp_path.iterdir()] == ["plate.step"]
