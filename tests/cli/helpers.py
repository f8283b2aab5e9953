"""Runs the command line in a process of its own, as a person does."""

from __future__ import annotations

import os
import subprocess
import sys
from collections.abc import Mapping
from pathlib import Path

ROOT = Path(__file__).resolve().parents[2]
LIMIT_S = 120.0


def environment(**changes: str) -> dict[str, str]:
    """This process's environment with the checkout first on the path and warnings as errors."""
    return {**os.environ, "PYTHONPATH": str(ROOT), "PYTHONWARNINGS": "error", "PYTHONIOENCODING": "utf-8", **changes}


def ladderframe(*arguments: str | Path, folder: Path, changes: Mapping[str, str] | None = None) -> subprocess.CompletedProcess[str]:
    """`ladderframe ARGUMENTS` in `folder`, without a terminal."""
    return subprocess.run(
        [sys.executable, "-m", "generator.entry", *map(str, arguments)],
        cwd=folder,
        env=environment(**(changes or {})),
        stdin=subprocess.DEVNULL,
        capture_output=True,
        encoding="utf-8",
        timeout=LIMIT_S,
        check=False,
    )


def python(code: str, *arguments: str | Path, folder: Path, changes: Mapping[str, str] | None = None) -> subprocess.CompletedProcess[str]:
    """A fresh interpreter that runs `code`."""
    return subprocess.run(
        [sys.executable, "-c", code, *map(str, arguments)],
        cwd=folder,
        env=environment(**(changes or {})),
        stdin=subprocess.DEVNULL,
        capture_output=True,
        encoding="utf-8",
        timeout=LIMIT_S,
        check=False,
    )


def names_below(folder: Path) -> list[str]:
    """Every file and folder below `folder`, hidden ones too."""
    return sorted(p.relative_to(folder).as_posix() for p in folder.rglob("*"))
