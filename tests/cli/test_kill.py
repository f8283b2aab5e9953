"""Killed without warning at any moment: the folder holds the old set or the new, whole; the next run clears what is left lying."""

from __future__ import annotations

import os
import random
import signal
import subprocess
import sys
import time
from pathlib import Path

import pytest

from tests.cli.helpers import environment, ladderframe
from tests.cli.test_same_bytes import digests

MOMENTS = {"short": 10, "long": 75}[os.environ.get("LADDERFRAME_SAMPLES", "short")]


@pytest.mark.parametrize("solids", [False, True], ids=["flat", "with solids"])
def test_the_old_set_or_the_new(solids: bool, tmp_path: Path) -> None:
    words = ["demo"] if solids else ["demo", "--no-solids"]
    begun = time.monotonic()
    assert ladderframe(*words, "--out", "new", folder=tmp_path).returncode == 0
    took = time.monotonic() - begun
    assert ladderframe("demo", "--no-solids", "--only", "boxing", "--out", "kit", folder=tmp_path).returncode == 0
    old, new = digests(tmp_path / "kit"), digests(tmp_path / "new")
    assert old != new
    moments = random.Random(7)  # where in the run; any seed will do
    seen = set()
    for _ in range(MOMENTS):
        process = subprocess.Popen(
            [sys.executable, "-m", "generator.entry", *words, "--out", "kit"],
            cwd=tmp_path, env=environment(), stdin=subprocess.DEVNULL, stdout=subprocess.DEVNULL, stderr=subprocess.DEVNULL,
        )  # fmt: skip
        time.sleep(moments.uniform(0.3, 1.05) * took)
        process.send_signal(signal.SIGKILL)
        process.wait()
        now = digests(tmp_path / "kit")
        assert now in (old, new)
        seen.add("new" if now == new else "old")
        if now == new:
            assert ladderframe("demo", "--no-solids", "--only", "boxing", "--out", "kit", folder=tmp_path).returncode == 0
    assert "old" in seen  # at least one kill came before the swap
    assert ladderframe(*words, "--out", "kit", folder=tmp_path).returncode == 0
    assert digests(tmp_path / "kit") == new
    assert sorted(p.name for p in tmp_path.iterdir()) == ["kit", "new"]
