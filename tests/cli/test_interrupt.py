"""Ctrl-C: exit 130 within five seconds, nothing half made, the set of before untouched."""

from __future__ import annotations

import hashlib
import signal
import subprocess
import sys
import time
from pathlib import Path

import pytest

from tests.cli.helpers import environment, ladderframe, names_below

LIMIT_S = 5.0


def digests(folder: Path) -> dict[str, str]:
    return {p.relative_to(folder).as_posix(): hashlib.sha256(p.read_bytes()).hexdigest() for p in folder.rglob("*") if p.is_file()}


# A test run that was started in the background would hand down that Ctrl-C is ignored.
# What Python itself does with one before it runs a line of ours is its own: "up" says that it has come so far.
CODE = (
    "import signal; signal.signal(signal.SIGINT, signal.default_int_handler); from generator.entry import main; "
    "print('up', flush=True); main()"
)


@pytest.mark.parametrize("after_s", [0.15, 0.6, 1.2])
def test_ctrl_c_leaves_the_old_set(after_s: float, tmp_path: Path) -> None:
    first = ladderframe("demo", "--no-solids", "--out", "kit", folder=tmp_path)
    assert first.returncode == 0, first.stderr
    before = digests(tmp_path / "kit")
    process = subprocess.Popen(
        [sys.executable, "-c", CODE, "demo", "--out", "kit"],
        cwd=tmp_path,
        env=environment(),
        stdin=subprocess.DEVNULL,
        stdout=subprocess.PIPE,
        stderr=subprocess.PIPE,
        encoding="utf-8",
    )
    assert process.stdout is not None and process.stdout.readline() == "up\n"
    time.sleep(after_s)
    sent = time.monotonic()
    process.send_signal(signal.SIGINT)
    _, errors = process.communicate(timeout=60)
    waited = time.monotonic() - sent
    assert process.returncode == 130, errors
    assert "Traceback" not in errors
    assert waited < LIMIT_S
    assert digests(tmp_path / "kit") == before
    assert [n for n in names_below(tmp_path) if n.startswith(".") and "/" not in n] == []
