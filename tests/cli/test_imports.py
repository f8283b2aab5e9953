"""What each command loads, seen in a fresh interpreter: the kernel and ezdxf cost a second and more, so only what needs them pays."""

from __future__ import annotations

import json
from pathlib import Path

import pytest

from tests.cli.helpers import python

CODE = """
import json, sys
from generator.cli import main
try:
    code = main(sys.argv[1:])
except SystemExit as stop:
    code = stop.code
print()
print(json.dumps({"code": code, "modules": sorted({name.split(".")[0] for name in sys.modules})}))
"""
KERNEL = {"cadquery", "OCP", "vtkmodules"}


def loaded(folder: Path, *arguments: str) -> tuple[int, set[str]]:
    done = python(CODE, *arguments, folder=folder)
    assert done.returncode == 0, done.stderr
    last = json.loads(done.stdout.splitlines()[-1])
    return last["code"], set(last["modules"])


@pytest.mark.parametrize(
    "arguments",
    [
        ["--help"],
        ["kinds"],
        ["schema"],
        ["check", "demo:orchard-flatbed"],
        ["demo", "--help"],
        ["adapt", "demo:orchard-springs", "--frame", "demo:mill-pickup"],
        ["survey", "demo:orchard-flatbed"],
    ],
    ids=" ".join,
)
def test_a_command_that_writes_nothing_loads_neither_kernel_nor_ezdxf(arguments: list[str], tmp_path: Path) -> None:
    code, modules = loaded(tmp_path, *arguments)
    assert code == 0
    assert modules & (KERNEL | {"ezdxf", "matplotlib", "scipy"}) == set()


def test_the_whole_dxf_path_loads_no_kernel(tmp_path: Path) -> None:
    code, modules = loaded(tmp_path, "demo", "--no-solids")
    assert code == 0
    assert modules & KERNEL == set()
    assert "ezdxf" in modules  # else the check above proves nothing


def test_the_parent_loads_no_kernel_even_when_it_makes_solids(tmp_path: Path) -> None:
    code, modules = loaded(tmp_path, "demo")
    assert code == 0
    assert modules & KERNEL == set()
    assert list(tmp_path.glob("ladderframe-*/step/*.step")) != []
