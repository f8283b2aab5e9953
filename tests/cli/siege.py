"""What the siege of the command line has in common: a run with a limit, what its answer must be, and how long the samples are."""

from __future__ import annotations

import contextlib
import io
import json
import os
import re
import signal
from collections.abc import Iterator
from dataclasses import dataclass
from pathlib import Path
from types import FrameType
from typing import Any, NoReturn

import generator.cli

LONG = os.environ.get("LADDERFRAME_SAMPLES", "short") == "long"
#: One command that reads, builds and judges takes some tenths of a second of the processor's time; with all files, one or two.
CPU_LIMIT_S = 10.0
#: For what waits without working. Much more, as a busy machine waits too.
CLOCK_LIMIT_S = 60.0
#: `nan` and `inf` as a number's text, in whatever case and sign; not as part of a word.
NO_NUMBER = re.compile(r"(?i)(?<![\w])[-+]?(?:nan|inf|infinity)(?![\w])")
#: A fault without a value says that something is not there, or is about the text as a whole.
NO_VALUE = re.compile(
    r"is required|is needed|needs (a place|either)|unknown key|is not TOML|give .* once|holds more than|taken at [12] point"
)


class Hang(BaseException):
    """Not an `Exception`: whatever the program catches, not this."""


@contextlib.contextmanager
def limited(cpu_s: float = CPU_LIMIT_S, clock_s: float = CLOCK_LIMIT_S) -> Iterator[None]:
    """Raise `Hang` where what runs inside takes longer. Only in the main thread."""

    def late(number: int, frame: FrameType | None) -> NoReturn:
        raise Hang(f"more than {cpu_s:g} s of work or {clock_s:g} s in all")

    before = {number: signal.signal(number, late) for number in (signal.SIGPROF, signal.SIGALRM)}
    signal.setitimer(signal.ITIMER_PROF, cpu_s)
    signal.setitimer(signal.ITIMER_REAL, clock_s)
    try:
        yield
    finally:
        signal.setitimer(signal.ITIMER_PROF, 0)
        signal.setitimer(signal.ITIMER_REAL, 0)
        for number, handler in before.items():
            signal.signal(number, handler)


@dataclass(frozen=True, kw_only=True)
class Answer:
    """What a command returned and printed. `value` is what `--json` says."""

    code: int
    out: str
    err: str

    @property
    def value(self) -> dict[str, Any]:
        """Strictly: JSON has no NaN."""
        value = json.loads(self.out, parse_constant=_no_number)
        assert isinstance(value, dict)
        return value

    @property
    def faults(self) -> list[dict[str, str]]:
        faults: list[dict[str, str]] = self.value["faults"]
        return faults


def _no_number(text: str) -> NoReturn:
    raise AssertionError(f"{text} in the output")


def run(*arguments: str | Path) -> Answer:
    """The command line in this process, within the limits. What it would tell as a fault of its own is raised here."""
    out, err = io.StringIO(), io.StringIO()
    before = os.environ.get(generator.cli.TRACEBACK_VARIABLE)
    os.environ[generator.cli.TRACEBACK_VARIABLE] = "1"
    try:
        with limited(), contextlib.redirect_stdout(out), contextlib.redirect_stderr(err):
            code = generator.cli.main([str(a) for a in arguments])
    finally:
        if before is None:
            del os.environ[generator.cli.TRACEBACK_VARIABLE]
        else:
            os.environ[generator.cli.TRACEBACK_VARIABLE] = before
    return Answer(code=code, out=out.getvalue(), err=err.getvalue())


def unlike_the_contract(faults: list[dict[str, str]]) -> list[str]:
    """What is missing from faults each of which has to name its file, key, value and limit, in one short line."""
    wrong = []
    for fault in faults:
        whole = "is not TOML" in fault["limit"] or "holds more than" in fault["limit"]  # the text as a whole: its line stands in the limit
        named = fault["file"] and fault["limit"] and (fault["field"] or whole)
        valued = fault["value"] or NO_VALUE.search(fault["limit"])
        text = "".join(fault.values())
        if not (named and valued and len(text) < 1500 and text.isprintable()):
            wrong.append(f"not the contract's: {fault}")
    return wrong


def numbers_missing(folder: Path) -> list[str]:
    """Files below `folder` in which a number is none."""
    found = ((p, NO_NUMBER.search(p.read_text(encoding="utf-8"))) for p in sorted(folder.rglob("*")) if p.is_file())
    return [f"{p.name}: {m.group()}" for p, m in found if m]
