"""Every value and every key of every file that the program brings, spoiled in some forty ways: accepted, or refused by the contract.

Short: a sample that is always the same. Long: every one.
"""

from __future__ import annotations

import shutil
import tomllib
from collections.abc import Iterable, Iterator
from pathlib import Path

import pytest

from tests.cli.helpers import ROOT, ladderframe, names_below
from tests.cli.mutants import Mutant, Tree, sample, text_of, wrong_keys, wrong_values
from tests.cli.siege import LONG, NO_NUMBER, Answer, numbers_missing, run, unlike_the_contract

DEMO = ROOT / "generator" / "demo"
FILES = sorted(p.name for p in DEMO.glob("*.toml"))
#: How many in all, shared out over the files; None is every one.
VALUES = None if LONG else 150
KEYS = None if LONG else 50
WHOLE = 100 if LONG else 6  #: as typed, in a process of their own
LEAST = 12  #: of one file, however many there are
MADE_OF = 15  #: one in so many of the accepted ones is made as well
MOST_TOLD = 10


def tree_of(name: str) -> Tree:
    return tomllib.loads((DEMO / name).read_text(encoding="utf-8"))


def chosen(every: Iterable[Mutant], name: str, count: int | None) -> list[Mutant]:
    return list(every) if count is None else sample(every, max(LEAST, count // len(FILES)), seed=FILES.index(name))


def words(name: str, folder: Path, text: str) -> list[str]:
    """What follows `check` or `make` for the file `name` with other text; its fellow is as it should be."""
    job, frame = folder / "job.toml", folder / "frame.toml"
    starter = name.startswith("starter")
    mine = job if "job" in name else frame
    mine.write_text(text, encoding="utf-8")
    for sheet in DEMO.glob("*.csv"):  # beside the frame that names it
        shutil.copy(sheet, folder)
    if mine == frame:
        return [str(DEMO / "starter-job.toml") if starter else "demo:orchard-flatbed", "--frame", str(frame)]
    return [str(job), *(["--frame", str(DEMO / "starter-frame.toml")] if starter else [])]


def complaints(mutant: Mutant, answer: Answer) -> Iterator[str]:
    """What in the answer is not as it must be."""
    if answer.err:
        yield f"stderr: {answer.err[:100]}"
    if answer.code in (0, 1):
        if answer.value["exit_code"] != answer.code:
            yield "two exit codes"
        if mutant.never:
            yield "accepted"
        if NO_NUMBER.search(answer.out):
            yield "a number that is none"
        return
    if answer.code != 2:
        yield f"exit code {answer.code}"
        return
    yield from unlike_the_contract(answer.faults)
    if mutant.never and not any(mutant.key in f"{f['where']} {f['field']} {f['limit']}" for f in answer.faults):
        yield f"the key is not named: {answer.faults[:2]}"
    if mutant.meant and not any(f'"{mutant.meant}"' in f["remedy"] for f in answer.faults):
        yield f'"{mutant.meant}" is not offered: {answer.faults[:2]}'


@pytest.mark.parametrize("name", FILES)
def test_the_files_stand_the_writing_back(name: str, tmp_path: Path) -> None:
    """Otherwise what is refused below could be refused for how it is written."""
    text = text_of(tree_of(name))
    assert tomllib.loads(text) == tree_of(name)
    answer = run("check", *words(name, tmp_path, text), "--json")
    assert answer.code in (0, 1), answer.out
    plain = run("check", *words(name, tmp_path, (DEMO / name).read_text(encoding="utf-8")), "--json")
    assert answer.value["findings"] == plain.value["findings"]


@pytest.mark.parametrize("name", FILES)
def test_every_value_spoiled(name: str, tmp_path: Path) -> None:
    besiege(name, chosen(wrong_values(tree_of(name)), name, VALUES), tmp_path)


@pytest.mark.parametrize("name", FILES)
def test_every_key_spoiled(name: str, tmp_path: Path) -> None:
    besiege(name, chosen(wrong_keys(tree_of(name)), name, KEYS), tmp_path)


def besiege(name: str, mutants: list[Mutant], folder: Path) -> None:
    assert len(mutants) >= LEAST
    wrong: list[str] = []
    codes: set[int] = set()
    accepted = 0
    for mutant in mutants:
        arguments = words(name, folder, mutant.make())
        try:
            answer = run("check", *arguments, "--json")
        except BaseException as error:
            wrong.append(f"{mutant}: {type(error).__name__}: {error}")
            if isinstance(error, KeyboardInterrupt):
                raise
            continue
        codes.add(answer.code)
        wrong += [f"{mutant}: {text}" for text in complaints(mutant, answer)]
        if answer.code != 2:
            accepted += 1
            if accepted % MADE_OF == 1:
                wrong += [f"{mutant}: made: {text}" for text in made(arguments, folder / "kit")]
    assert not wrong, f"{len(wrong)} of {len(mutants)} in {name}:\n" + "\n".join(wrong[:MOST_TOLD])
    assert 2 in codes, "nothing was refused: nothing was spoiled"


def made(arguments: list[str], kit: Path) -> list[str]:
    answer = run("make", *arguments, "--no-solids", "--out", kit)
    return [f"exit code {answer.code}: {answer.err}"] if answer.code not in (0, 1) else numbers_missing(kit)


def test_some_as_typed(tmp_path: Path) -> None:
    """In a process of its own, warnings being errors: no traceback, nothing on the wrong stream, nothing written where it is refused."""
    every = [(name, m) for name in FILES for m in sample(wrong_values(tree_of(name)), 2 * WHOLE, seed=len(name))]
    step = len(every) // WHOLE
    codes = []
    for number, (name, mutant) in enumerate(every[::step][:WHOLE]):
        folder = tmp_path / str(number)
        folder.mkdir()
        arguments = words(name, folder, mutant.make())
        before = names_below(folder)
        done = ladderframe("make", *arguments, "--no-solids", "--out", "kit", folder=folder)
        codes.append(done.returncode)
        assert done.returncode in (0, 1, 2), f"{name}: {mutant}: {done.stderr}"
        assert "Traceback" not in done.stdout + done.stderr and "at fault" not in done.stderr, f"{name}: {mutant}: {done.stderr}"
        if done.returncode == 2:
            head, *lines = done.stderr.splitlines()
            assert "nothing was written" in head and done.stdout == ""
            assert lines and all(line.startswith("  ") and ": " in line and len(line) < 1000 for line in lines)
            assert names_below(folder) == before
        else:
            assert done.stderr == "" and numbers_missing(folder / "kit") == []
    assert len(codes) == WHOLE and 2 in codes
