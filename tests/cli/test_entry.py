"""The entry point's own duty: to say in one line that another project owns `parts` or `generator`, or that a library is missing."""

from __future__ import annotations

import shutil
import subprocess
import sys
import tomllib
from pathlib import Path

import pytest

from tests.cli.helpers import ROOT, environment


def started(folder: Path, path: list[Path], *arguments: str, switches: tuple[str, ...] = ()) -> subprocess.CompletedProcess[str]:
    """The entry point as it is installed: a module `ladderframe` beside the packages, here in a folder of its own."""
    home = folder / "home"
    home.mkdir()
    shutil.copy(ROOT / "generator" / "entry.py", home / "ladderframe.py")
    return subprocess.run(
        [sys.executable, *switches, "-m", "ladderframe", *arguments],
        cwd=folder,
        env=environment(PYTHONPATH=":".join(map(str, [home, *path]))),
        stdin=subprocess.DEVNULL,
        capture_output=True,
        encoding="utf-8",
        timeout=60,
        check=False,
    )


@pytest.mark.parametrize("name", ["parts", "generator"])
def test_a_stranger_who_owns_an_import_name_is_named_in_one_line(name: str, tmp_path: Path) -> None:
    stranger = tmp_path / "site" / name
    stranger.mkdir(parents=True)
    (stranger / "__init__.py").write_text("raise RuntimeError('imported')\n", encoding="utf-8")
    done = started(tmp_path, [tmp_path / "site", ROOT], "--help")
    assert done.returncode == 2
    assert done.stdout == ""
    assert len(done.stderr.splitlines()) == 1
    assert f"'{name}'" in done.stderr and str(stranger) in done.stderr and "virtual environment" in done.stderr


def test_a_package_that_is_not_there_is_named_in_one_line(tmp_path: Path) -> None:
    (tmp_path / "site").mkdir()
    shutil.copytree(ROOT / "parts", tmp_path / "site" / "parts")
    done = started(tmp_path, [tmp_path / "site"], "--help", switches=("-S",))  # nor where this very program is installed
    assert done.returncode == 2
    assert len(done.stderr.splitlines()) == 1 and "'generator'" in done.stderr


def test_it_hands_over_to_the_command_line(tmp_path: Path) -> None:
    done = started(tmp_path, [ROOT], "--help")
    assert done.returncode == 0, done.stderr
    assert "demo" in done.stdout


def test_pyproject_installs_it_beside_the_packages() -> None:
    project = tomllib.loads((ROOT / "pyproject.toml").read_text(encoding="utf-8"))
    assert project["project"]["scripts"]["ladderframe"] == "ladderframe:main"
    assert project["tool"]["hatch"]["build"]["targets"]["wheel"]["force-include"] == {"generator/entry.py": "ladderframe.py"}
