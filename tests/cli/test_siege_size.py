"""Files of any size and depth: refused with few words, and with the memory and the time that a small file takes.

Memory is the peak of the process's resident set as the system counts it (getrusage(2)), over that of the same command on the starter's
files in the same run, so that no number here hangs on the machine or on the libraries.
"""

from __future__ import annotations

import json
import subprocess
import sys
from collections.abc import Callable, Iterator
from pathlib import Path

import pytest

from generator.files.source import LARGEST_BYTES
from generator.files.toml_text import MOST_MARKS
from generator.starter import write_starter
from tests.cli.helpers import environment, names_below
from tests.cli.measured import IN_BYTES, Measured, measured
from tests.cli.siege import LONG, run, unlike_the_contract

MB = 1 << 20
#: A file that is not read costs nothing but Python's own unrest from run to run.
UNREAD_BYTES = 8 * MB
#: What is read is held as bytes and as text, whose characters take up to 4 bytes each (PEP 393).
TEXT_BYTES = 5 * LARGEST_BYTES
#: A key of its own costs the parser a table and its notes about it: two sets and three tables, 216 and 64 to 232 bytes each in CPython 3.11
#: (`sys.getsizeof`). That is the most that one mark, a dot or a bracket, stands for.
PARSED_BYTES = TEXT_BYTES + MOST_MARKS * 1128
CPU_S = 8.0  #: over the plain run's; without the limits these files take minutes, or more memory than there is
HEAD = 'format = 1\nname = "x"\nunits = "mm"\n'
HOLE = '[[hole]]\nname = "h{}"\nat = {{ at = "front", offset = 700 }}\nup = 70\ndiameter = 13\n'
PART = '\n[[part]]\nid = "p{}"\nfamily = "rail_plate"\nthickness = {}\nseat = "toes"\nstart = "{}"\nend = "rear"\n'
MOST_ENTRIES = 10_000


@pytest.fixture(scope="module")
def plain(tmp_path_factory: pytest.TempPathFactory) -> Measured:
    """The starter's files, which are good and small."""
    folder = tmp_path_factory.mktemp("plain")
    write_starter(folder / "truck")
    done = measured("check", "job.toml", folder=folder / "truck")
    assert done.code == 0, done.err
    return done


@pytest.fixture
def truck(tmp_path: Path) -> Iterator[Path]:
    write_starter(tmp_path / "truck")
    yield tmp_path / "truck"


def sparse(path: Path) -> None:
    """400 MB that take no room on the disk."""
    with path.open("r+b") as file:
        file.truncate(400 * MB)


def two_million_holes(path: Path) -> None:
    """Some 150 MB of them, well formed."""
    with path.open("a", encoding="utf-8") as file:
        for thousand in range(2000):
            file.write("".join(HOLE.format(1000 * thousand + k) for k in range(1000)))


def two_million_short_holes(path: Path) -> None:
    path.write_text("hole = [" + "{}," * 2_000_000 + "]\n" + path.read_text(encoding="utf-8"), encoding="utf-8")


UNREAD: dict[str, Callable[[Path], None]] = {
    "400 MB": sparse,
    "2,000,000 holes": two_million_holes,
    "2,000,000 short holes": two_million_short_holes,
}


@pytest.mark.parametrize("case", UNREAD)
def test_what_is_too_large_is_refused_unread(case: str, truck: Path, plain: Measured) -> None:
    UNREAD[case](truck / "frame.toml")
    assert (truck / "frame.toml").stat().st_size > LARGEST_BYTES
    try:
        done = refused(truck, plain, UNREAD_BYTES, cpu_s=1.0)
    finally:
        (truck / "frame.toml").unlink()  # test runs keep their folders for a while
    assert "4 MB is the most that is read" in done.err


DEEP = 100_000
#: All under 4 MB, so they are read, and all that the parser can make of that much. From the end of the file on the starter goes on.
READ: dict[str, str] = {
    "arrays 100,000 deep": "a = " + "[" * DEEP + "]" * DEEP + "\n",
    "inline tables 100,000 deep": "a = " + "{a = " * DEEP + "1" + "}" * DEEP + "\n",
    "a line of 4 million characters": "# " + "x" * 3_900_000 + "\na = 1\n",
    "a text of a million wide characters": 'a = "' + "\N{RAILWAY CAR}" * 900_000 + '"\n',
    "dotted keys": "".join(f"a{i}{'.a' * 30}=1\n" for i in range(58_000)),
    "dotted headers": "".join(f"[a{i}{'.a' * 30}]\n" for i in range(58_000)),
    "dotted headers, as many as are read": "".join(f"[a{i}{'.a' * 30}]\n" for i in range(7_500)),
    "headers": "".join(f"[a{i}]\n" for i in range(120_000)),
}


@pytest.mark.parametrize("case", READ)
def test_whatever_the_parser_makes_of_it_is_bounded(case: str, truck: Path, plain: Measured) -> None:
    text = HEAD + READ[case]
    assert len(text.encode()) <= LARGEST_BYTES
    (truck / "job.toml").write_text(text, encoding="utf-8")
    refused(truck, plain, PARSED_BYTES, cpu_s=CPU_S)


def refused(truck: Path, plain: Measured, bytes_more: int, *, cpu_s: float) -> Measured:
    """`make` in `truck`, which has to refuse at no more than that much more memory than `plain`."""
    before = names_below(truck)
    done = measured("check", "job.toml", folder=truck)
    assert done.code == 2, done.err
    assert done.out == "" and len(done.err) < 5000 and "Traceback" not in done.err
    assert names_below(truck) == before
    assert done.peak_bytes - plain.peak_bytes < bytes_more, f"{(done.peak_bytes - plain.peak_bytes) / MB:.0f} MB more"
    assert done.cpu_s - plain.cpu_s < cpu_s
    return done


def test_the_measure_sees_what_it_is_for(truck: Path) -> None:
    """A process that fills 100 MB is seen to use them: otherwise every bound above would hold of itself."""
    answer = truck / "answer.json"
    words = [sys.executable, "-m", "tests.cli.measured", str(answer), sys.executable, "-c", "x = b'x' * (100 << 20)"]
    subprocess.run(words, cwd=truck, env=environment(), check=True, timeout=60)
    assert json.loads(answer.read_bytes())["peak"] * IN_BYTES > 100 * MB


# --- many parts, many faults ---


def with_parts(truck: Path, count: int, thickness: str, start: str) -> None:
    with (truck / "job.toml").open("a", encoding="utf-8") as file:
        file.write("".join(PART.format(i, thickness, start) for i in range(count)))


def test_ten_thousand_faults_are_told_in_few_words_and_counted(truck: Path, plain: Measured) -> None:
    with_parts(truck, MOST_ENTRIES - 1, "-3", "front")
    done = refused(truck, plain, PARSED_BYTES, cpu_s=CPU_S)
    lines = done.err.splitlines()
    assert len(lines) <= 42 and lines[0].startswith("1001 faults")
    assert lines[-1].strip().startswith("and 961 more")
    answer = run("check", truck / "job.toml", "--json")
    *first, last = answer.faults
    assert len(first) == 1000 and not unlike_the_contract(first)
    assert {(f["field"], f["value"]) for f in first} == {("thickness", "-3 mm")}
    assert "1000 faults" in last["limit"]
    # The starter's own part is sound, so of the 10,000 entries the first 1001 were looked at.
    assert "8999 entries" in last["limit"] and last["file"].endswith("job.toml")


def test_faults_that_were_seen_and_not_listed_are_counted(truck: Path) -> None:
    """Each entry has eleven unknown keys: the 91st fills the report at its tenth, and its eleventh is one more."""
    keys = "".join(f"zz{k} = 1\n" for k in range(11))
    with (truck / "job.toml").open("a", encoding="utf-8") as file:
        file.write("".join(PART.format(i, "3", "front") + keys for i in range(200)))
    last = run("check", truck / "job.toml", "--json").faults[-1]
    assert "1 more that are not listed" in last["limit"] and "109 entries" in last["limit"]


def test_more_parts_than_a_job_may_have(truck: Path, plain: Measured) -> None:
    with_parts(truck, MOST_ENTRIES, "3", "front")
    done = refused(truck, plain, PARSED_BYTES, cpu_s=CPU_S)
    assert "a list of 10001" in done.err and "at most 10000" in done.err


def test_many_parts_none_of_which_can_be_built(truck: Path, plain: Measured) -> None:
    """They read well and fail when they are built, one by one: still every fault is counted and few are shown."""
    parts = MOST_ENTRIES - 1 if LONG else 1500
    with_parts(truck, parts, "3", "nowhere")
    done = refused(truck, plain, PARSED_BYTES, cpu_s=parts * 0.01)
    count = int(done.err.split(" ")[0])
    assert count >= parts
    assert len(done.err.splitlines()) == 42 and f"and {count - 40} more" in done.err
