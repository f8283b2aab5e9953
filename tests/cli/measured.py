"""Runs a command as a child of a small process, and tells what it used: `python measured.py ANSWER.json COMMAND ...`.

A child begins with the pages of what started it, and Linux counts those as the child's too (getrusage(2), `ru_maxrss`). Below this small
process that is nothing; below a whole test run it would be more than what is measured.
"""

from __future__ import annotations

import json
import os
import subprocess
import sys
from dataclasses import dataclass
from pathlib import Path

from tests.cli.helpers import LIMIT_S, environment

IN_BYTES = 1 if sys.platform == "darwin" else 1024  #: what `ru_maxrss` counts


@dataclass(frozen=True, kw_only=True)
class Measured:
    """One command, ended."""

    code: int
    peak_bytes: int  #: of resident memory
    cpu_s: float
    out: str
    err: str


def measured(*arguments: str, folder: Path) -> Measured:
    """`ladderframe ARGUMENTS` in `folder`."""
    answer = folder / "measured.json"
    command = [sys.executable, "-m", "generator.entry", *arguments]
    done = subprocess.run(
        [sys.executable, "-m", "tests.cli.measured", str(answer), *command],
        cwd=folder, env=environment(), stdin=subprocess.DEVNULL, capture_output=True, encoding="utf-8", timeout=LIMIT_S, check=True,
    )  # fmt: skip
    used = json.loads(answer.read_bytes())
    answer.unlink()
    return Measured(code=used["code"], peak_bytes=used["peak"] * IN_BYTES, cpu_s=used["cpu"], out=done.stdout, err=done.stderr)


def main(answer: str, *command: str) -> None:
    process = subprocess.Popen(command)
    _, status, used = os.wait4(process.pid, 0)
    process.returncode = os.waitstatus_to_exitcode(status)
    value = {"code": process.returncode, "peak": used.ru_maxrss, "cpu": used.ru_utime + used.ru_stime}
    Path(answer).write_text(json.dumps(value), encoding="utf-8")


if __name__ == "__main__":
    main(*sys.argv[1:])
