"""Killed without warning at any moment: the folder holds the old set or the new, whole; the next run clears what is left lying, and the
kernel's process does not outlive the run."""

from __future__ import annotations

import contextlib
import os
import random
import signal
import subprocess
import sys
import time
from pathlib import Path

from generator.starter import write_starter
from tests.cli.helpers import environment, ladderframe
from tests.cli.siege import LONG
from tests.cli.test_same_bytes import digests

KILLS = 100 if LONG else 20
ORPHAN_S = 5.0  #: Linux ends the kernel's process at once (prctl(2), PR_SET_PDEATHSIG); what a busy machine may take for it

#: Two jobs on two frames that share no part, one with its models. A kill of either comes over the other's set.
JOBS = {
    "starter": ["make", "truck/job.toml", "--out", "kit"],
    "demo": ["demo", "--frame", "demo:mill-pickup", "--only", "hanger-doubler", "--no-solids", "--out", "kit"],
}


def children(pid: int) -> list[int]:
    with contextlib.suppress(OSError):
        return [int(word) for word in Path(f"/proc/{pid}/task/{pid}/children").read_text(encoding="ascii").split()]
    return []


def test_the_old_set_or_the_new_and_never_a_mixture(tmp_path: Path) -> None:
    write_starter(tmp_path / "truck")
    sets: dict[str, dict[str, str]] = {}
    took_s: dict[str, float] = {}
    for name, words in JOBS.items():
        began = time.monotonic()
        assert ladderframe(*words, folder=tmp_path).returncode == 0
        took_s[name] = time.monotonic() - began
        sets[name] = digests(tmp_path / "kit")
    parts = [{n for n in found if not n.startswith("tables/")} - {"manifest.json"} for found in sets.values()]
    assert all(parts) and not parts[0] & parts[1], "a mixture would show"
    moments = random.Random(7)  # where in the run; any seed will do
    there, outcomes, orphans = "demo", [], []
    for _ in range(KILLS):
        coming = "starter" if there == "demo" else "demo"
        process = subprocess.Popen(
            [sys.executable, "-m", "generator.entry", *JOBS[coming]],
            cwd=tmp_path, env=environment(), stdin=subprocess.DEVNULL, stdout=subprocess.DEVNULL, stderr=subprocess.DEVNULL,
        )  # fmt: skip
        # Half of them in the last third, where the files are written and the folders exchanged.
        time.sleep(moments.choice([moments.uniform(0.0, 0.7), moments.uniform(0.7, 1.05)]) * took_s[coming])
        orphans += children(process.pid)
        process.send_signal(signal.SIGKILL)
        process.wait()
        now = digests(tmp_path / "kit")
        assert now in sets.values(), f"{sorted(now)} is neither {there} nor {coming}"
        outcomes.append("old" if now == sets[there] else "new")
        there = there if now == sets[there] else coming
    assert "old" in outcomes, "no kill came before the exchange"
    until_s = time.monotonic() + ORPHAN_S
    while [pid for pid in orphans if outlives(pid)] and time.monotonic() < until_s:
        time.sleep(0.05)
    assert [pid for pid in orphans if outlives(pid)] == []
    for name, words in JOBS.items():
        assert ladderframe(*words, folder=tmp_path).returncode == 0
        assert digests(tmp_path / "kit") == sets[name]
    assert sorted(p.name for p in tmp_path.iterdir()) == ["kit", "truck"]


def outlives(pid: int) -> bool:
    """Whether the process runs still (and is ours: numbers come again)."""
    with contextlib.suppress(OSError):
        return b"generator.kernel.worker" in Path(f"/proc/{pid}/cmdline").read_bytes() and os.stat(f"/proc/{pid}").st_uid == os.getuid()
    return False
