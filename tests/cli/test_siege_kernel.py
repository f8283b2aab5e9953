"""What a part can do to the kernel's process, in one run of the whole command: each costs its own model and nothing else, and is told."""

from __future__ import annotations

import os
import pickle
import time
from collections.abc import Callable, Sequence
from dataclasses import replace
from pathlib import Path
from typing import Any

import pytest

import generator.kernel.service
import generator.solids
from generator.child import GRACE_S
from parts.piece import Piece
from parts.sheet import SheetPart
from tests.cli.siege import run
from tests.generator.kernel_parts import Unchecked
from tests.reference.step_readers import read_step

LIMIT_S = 3.0  #: for one request, in place of the program's own: it is waited out once below


class Killed(Unchecked):
    """As the system does to a process when memory runs out."""

    INSTEAD = "lambda part: __import__('os').kill(__import__('os').getpid(), 9)"


class Crashed(Unchecked):
    """Reads at address 0."""

    INSTEAD = "lambda part: __import__('ctypes').string_at(0)"


class Hungry(Unchecked):
    """Asks for a terabyte, far more than its process may have."""

    INSTEAD = "lambda part: bytearray(1 << 40)"


class Stopped(Unchecked):
    """Stands still as a whole, its own clock too: only the parent's is left."""

    INSTEAD = "lambda part: __import__('os').kill(__import__('os').getpid(), 19)"


class Gone(Unchecked):
    """Ends without a word, as if all were well."""

    INSTEAD = "lambda part: __import__('os')._exit(0)"


#: By the place of the piece in the kit: what is in its way, and the finding's code.
TROUBLES: dict[int, tuple[type[Unchecked], str]] = {
    0: (Killed, "solid-crashed"),
    2: (Crashed, "solid-crashed"),
    3: (Hungry, "solid-memory"),
    5: (Stopped, "solid-hung"),
    7: (Gone, "solid-crashed"),
}


def as_(kind: type[Unchecked], piece: Piece) -> Piece:
    part = piece.part
    return replace(piece, part=kind(name=part.name, thickness_mm=part.thickness_mm, panels=part.panels, bends=part.bends))


def spoil(monkeypatch: pytest.MonkeyPatch, change: Callable[[list[Piece]], list[Piece]]) -> None:
    """The pieces as `change` makes them, for the models alone; the kernel with a shorter patience."""
    real = generator.solids.make_solids
    start = generator.kernel.service.Kernel.start

    def spoiled(kernel: Any, staging: Any, pieces: Sequence[Piece], *rest: Any) -> Any:
        return real(kernel, staging, change(list(pieces)), *rest)

    monkeypatch.setattr(generator.solids, "make_solids", spoiled)
    monkeypatch.setattr(generator.kernel.service.Kernel, "start", staticmethod(lambda: start(limit_s=LIMIT_S)))


def test_five_ways_to_bring_the_kernel_down_cost_five_models(tmp_path: Path, monkeypatch: pytest.MonkeyPatch) -> None:
    named: dict[str, str] = {}
    every: list[str] = []

    def change(pieces: list[Piece]) -> list[Piece]:
        every.extend(p.id for p in pieces)
        named.update({pieces[k].id: code for k, (_, code) in TROUBLES.items()})
        return [as_(TROUBLES[k][0], p) if k in TROUBLES else p for k, p in enumerate(pieces)]

    monkeypatch.chdir(tmp_path)
    spoil(monkeypatch, change)
    began = time.monotonic()
    answer = run("demo", "--out", "kit", "--json")
    took = time.monotonic() - began
    assert answer.code == 1 and answer.err == ""
    stops = [f for f in answer.value["findings"] if f["level"] == "stop"]
    assert {f["where"].removeprefix("part "): f["code"] for f in stops} == named and len(stops) == len(TROUBLES)
    assert all("Traceback" not in f["message"] and "\n" not in f["message"] for f in stops)
    made = {p.name.removesuffix(".step") for p in (tmp_path / "kit" / "step").iterdir()}
    assert made == {*every, "assembly"} - named.keys(), "the rest is made, and nothing half made is left"
    assert {f"step/{name}.step" for name in named} == set(answer.value["left_out"])
    assert {p.name.removesuffix(".dxf") for p in (tmp_path / "kit" / "dxf").iterdir()} >= set(every)
    assert set(every) - named.keys() <= set(read_step(tmp_path / "kit" / "step" / "assembly.step").products)
    assert not named.keys() & set(read_step(tmp_path / "kit" / "step" / "assembly.step").products)
    assert took >= LIMIT_S + GRACE_S, "one stood still until the parent's clock ran out"


class SecondTime(SheetPart):
    """Sound by itself, and the end of the process that is sent it a second time: for the assembly."""

    def __reduce__(self) -> tuple[Any, ...]:
        plain = SheetPart(name=self.name, thickness_mm=self.thickness_mm, panels=self.panels, bends=self.bends)
        program = (
            "[__import__('os').kill(__import__('os').getpid(), 9) if hasattr(__import__('sys'), 'met') else "
            f"setattr(__import__('sys'), 'met', 1), __import__('pickle').loads({pickle.dumps(plain)!r})][1]"
        )
        return eval, (program,)


def test_an_assembly_that_brings_it_down_costs_the_assembly(tmp_path: Path, monkeypatch: pytest.MonkeyPatch) -> None:
    def change(pieces: list[Piece]) -> list[Piece]:
        part = pieces[0].part
        second = SecondTime(name=part.name, thickness_mm=part.thickness_mm, panels=part.panels, bends=part.bends)
        return [replace(pieces[0], part=second), *pieces[1:]]

    monkeypatch.chdir(tmp_path)
    assert run("new", "truck").code == 0
    spoil(monkeypatch, change)
    answer = run("make", "truck/job.toml", "--out", "kit", "--json")
    assert answer.code == 1
    (stop,) = [f for f in answer.value["findings"] if f["level"] == "stop"]
    assert (stop["code"], stop["where"]) == ("solid-crashed", "assembly assembly")
    assert answer.value["left_out"] == ["step/assembly.step"]
    assert sorted(os.listdir("kit/step")) == ["boxing-left.step", "boxing-right.step"]
