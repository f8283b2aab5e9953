"""The bytes of STEP files: the same in another folder, order, process and with another hash seed; and the text they are made of."""

from __future__ import annotations

import hashlib
from collections.abc import Iterator
from contextlib import ExitStack
from pathlib import Path

import pytest

from generator.kernel.messages import Colour
from generator.kernel.service import Kernel
from generator.kernel.step_text import FIXED_TIME, Instance, StepText, StepTextError, decoded, encoded, finished, refuse_other
from tests.generator.kernel_parts import FILES, RUST, STEEL, write_kit

HASH_SEEDS = ("0", "1", "2", "3", "4294967295")


def digests(folder: Path) -> dict[str, str]:
    return {name: hashlib.sha256((folder / name).read_bytes()).hexdigest() for name in FILES}


@pytest.fixture(scope="module")
def folders(tmp_path_factory: pytest.TempPathFactory) -> Iterator[dict[str, Path]]:
    """The same kit five times over in processes of different hash seeds, the first one twice, the second time in another order."""
    made: dict[str, Path] = {}
    with ExitStack() as stack, pytest.MonkeyPatch.context() as patch:
        kernels = {}
        for seed in HASH_SEEDS:
            patch.setenv("PYTHONHASHSEED", seed)
            kernels[seed] = stack.enter_context(Kernel.start())
        for seed, kernel in kernels.items():
            made[seed] = tmp_path_factory.mktemp(f"seed-{seed}")
            write_kit(kernel, made[seed])
        made["again"] = tmp_path_factory.mktemp("another folder, with a long name")
        write_kit(kernels["0"], made["again"], backwards=True)
        yield made


@pytest.mark.parametrize("other", HASH_SEEDS[1:])
def test_another_hash_seed_gives_the_same_bytes(folders: dict[str, Path], other: str) -> None:
    assert digests(folders[other]) == digests(folders["0"])


def test_another_folder_and_order_in_the_same_process_give_the_same_bytes(folders: dict[str, Path]) -> None:
    assert digests(folders["again"]) == digests(folders["0"])


def test_no_time_path_or_counter_is_left_in_the_text(folders: dict[str, Path]) -> None:
    for name in FILES:
        text = (folders["0"] / name).read_text(encoding="ascii")
        assert f"FILE_NAME('{name}','{FIXED_TIME}'" in text
        assert str(folders["0"]) not in text
        assert "STEP translator" not in text  # how the kernel names what it was given no name for, with a counter
        assert "SURFACE_CURVE" not in text  # curves in the parameters of a surface: twice the file for nothing


def test_the_text_names_products_and_instances(folders: dict[str, Path]) -> None:
    text = StepText((folders["0"] / "assembly.step").read_text(encoding="ascii"))
    assert sorted(text.products) == ["bracket", "kicked", "orchard kit", "plate", "rail left"]
    assert {(i.name, i.product, i.parent) for i in text.instances} == {
        ("plate 1 of 3", "plate", "orchard kit"),
        ("plate 2 of 3", "plate", "orchard kit"),
        ("plate 3 of 3", "plate", "orchard kit"),
        ("bracket", "bracket", "orchard kit"),
        ("kicked", "kicked", "orchard kit"),
        ("rail left", "rail left", "orchard kit"),
    }
    assert all(len(breps) == 1 for breps, _ in text.solids().values())


def test_the_check_by_text_sees_each_kind_of_difference(folders: dict[str, Path]) -> None:
    text = (folders["0"] / "assembly.step").read_text(encoding="ascii")
    found = StepText(text)
    all_four: dict[str, Colour] = dict.fromkeys(("plate", "bracket", "kicked", "rail left"), STEEL)
    refuse_other(text, products=found.products, instances=found.instances, colours=all_four)  # as it is: no complaint
    with pytest.raises(StepTextError, match="products"):
        refuse_other(text, products=[*found.products[:-1], "other"], instances=found.instances, colours=all_four)
    with pytest.raises(StepTextError, match="instances"):
        refuse_other(text, products=found.products, instances=found.instances[:-1], colours=all_four)
    with pytest.raises(StepTextError, match="instances"):
        first = found.instances[0]
        moved = [Instance(name=first.name, product=found.instances[-1].product, parent=first.parent), *found.instances[1:]]
        refuse_other(text, products=found.products, instances=moved, colours=all_four)
    with pytest.raises(StepTextError, match="colours"):
        refuse_other(text, products=found.products, instances=found.instances, colours={"plate": STEEL})


def test_a_product_without_a_solid_cannot_be_coloured(folders: dict[str, Path]) -> None:
    text = (folders["0"] / "plate.step").read_text(encoding="ascii")
    with pytest.raises(StepTextError, match="'ghost' has 0 solids"):
        finished(text, file_name="plate.step", names={"plate": "plate"}, colours={"ghost": RUST})
    with pytest.raises(StepTextError, match="form"):
        finished(text[:-10], file_name="plate.step", names={"plate": "plate"}, colours={})
    with pytest.raises(StepTextError, match="'plate' that was not asked for"):
        finished(text, file_name="plate.step", names={}, colours={})


@pytest.mark.parametrize("text", ["plain", "it's", "back\\slash", "10 ° é", "\N{SNOWMAN}\U0001f69a", ""])
def test_strings_go_there_and_back(text: str) -> None:
    assert encoded(text).isascii()
    assert decoded(encoded(text)) == text


def test_strings_as_the_standard_writes_them() -> None:
    # ISO 10303-21, 6.4.3: \X2\ holds UTF-16 code units in hexadecimal, \X0\ ends it; a quote is doubled.
    assert decoded("caf\\X2\\00E9\\X0\\") == "café"
    assert decoded("O''Neil") == "O'Neil"
