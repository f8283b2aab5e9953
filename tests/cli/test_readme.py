"""Every command that README.md shows can be typed."""

from __future__ import annotations

import re
import shlex
import shutil
from pathlib import Path

import click
import pytest

from generator.cli import cli
from tests.cli.helpers import ROOT, ladderframe, python

README = (ROOT / "README.md").read_text(encoding="utf-8")
BLOCKS = re.findall(r"^```[a-z]*\n(.*?)^```", README, flags=re.MULTILINE | re.DOTALL)
SHOWN = re.compile(r"ladderframe ((?:demo|new|adapt|check|make|survey|kinds|schema)\b[^\n]*)")
LINES = sorted({m for block in BLOCKS for m in SHOWN.findall(block)})


def typed(line: str) -> list[str]:
    """The words of a line, without what is explained after three blanks."""
    return shlex.split(line.split("   ", maxsplit=1)[0])


def test_the_readme_shows_every_command() -> None:
    assert {typed(line)[0] for line in LINES} == set(cli.commands)


@pytest.mark.parametrize("line", LINES)
def test_a_line_of_the_readme_is_understood(line: str) -> None:
    name, *words = typed(line)
    command = cli.commands[name]
    context = command.make_context(name, words)  # parses; raises on an unknown option or a word too many
    assert isinstance(context, click.Context)


def test_the_two_one_line_commands_stand_after_their_markers() -> None:
    found = dict(re.findall(r"<!-- ci: (\w+) -->\n```\n(.*?)\n```", README))
    assert found == {
        "demo": "python3 -m venv .venv && .venv/bin/pip install . && .venv/bin/ladderframe demo",
        "test": "python3 -m venv .venv && .venv/bin/pip install '.[test]' && .venv/bin/python -m pytest",
    }


def test_the_tour_can_be_walked(tmp_path: Path) -> None:
    """`new`, then what the README types in that folder, in its order."""
    shutil.copy(ROOT / "generator" / "demo" / "frame-orchard-flatbed.toml", tmp_path / "other-frame.toml")
    shutil.copy(ROOT / "generator" / "demo" / "readings-orchard-flatbed.csv", tmp_path)
    lines = [line for line in re.findall(r"^ladderframe ([^\n]+)$", README, flags=re.MULTILINE) if "my-truck" in line]
    assert len(lines) >= 4
    for line in lines:
        words = [*typed(line)]
        if words[0] == "make" and "--no-solids" not in words:
            words.append("--no-solids")  # the solids are made in other tests
        done = ladderframe(*words, folder=tmp_path)
        assert done.returncode == 0, f"{line}\n{done.stdout}\n{done.stderr}"


def test_the_pictures_and_pages_it_points_at_exist() -> None:
    targets = re.findall(r"\]\(([^)#]+)\)", README)
    assert targets
    assert [t for t in targets if not (ROOT / t).exists()] == []


def test_the_python_it_shows_runs(tmp_path: Path) -> None:
    """In a process of its own, as cadquery warns about itself while it loads."""
    (block,) = re.findall(r"^```python\n(.*?)^```", README, flags=re.MULTILINE | re.DOTALL)
    done = python(block, folder=tmp_path, changes={"PYTHONWARNINGS": "default"})
    assert done.returncode == 0, done.stderr
    assert re.fullmatch(r"plate\S* [1-9]\d+ mm3\n", done.stdout)


def test_every_built_in_job_and_frame_is_named() -> None:
    folder = ROOT / "generator" / "demo"
    built_in = {p.stem.split("-", 1)[1] for kind in ("job", "frame") for p in folder.glob(f"{kind}-*.toml")}
    assert set(re.findall(r"`demo:([a-z-]+)`", README)) == built_in
