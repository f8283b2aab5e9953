"""Files that try to reach out of their folder, or that are none: refused with exit 2, at once, with nothing read from there and nothing
written. The job's names that become file names likewise."""

from __future__ import annotations

import contextlib
import os
import socket
import threading
from collections.abc import Callable, Iterator
from pathlib import Path

import pytest

from generator.starter import write_starter
from tests.cli.helpers import ladderframe
from tests.cli.siege import limited, run, unlike_the_contract
from tests.cli.siege_process import snapshot

SECRET = "plum-tree"
FRAME = 'frame = "frame.toml"'


@pytest.fixture
def truck(tmp_path: Path, monkeypatch: pytest.MonkeyPatch) -> Iterator[Path]:
    """The starter's files in the current folder; beside that folder a frame file that would do, and a secret."""
    write_starter(tmp_path / "truck")
    (tmp_path / "frame.toml").write_bytes((tmp_path / "truck" / "frame.toml").read_bytes())
    (tmp_path / "secret").write_text(f'{SECRET} = "{SECRET}"\n', encoding="utf-8")
    monkeypatch.chdir(tmp_path / "truck")
    yield tmp_path / "truck"


def name_frame(truck: Path, literal: str) -> None:
    job = truck / "job.toml"
    text = job.read_text(encoding="utf-8")
    assert text.count(FRAME) == 1
    job.write_text(text.replace(FRAME, f"frame = {literal}"), encoding="utf-8")


def refused(truck: Path, *, key: str, limit: str = "", more: tuple[str, ...] = ()) -> None:
    """`make` ends with faults of `key` alone; nothing was written; nothing of what lies outside is told."""
    before = snapshot(truck.parent)
    answer = run("make", "job.toml", "--no-solids", "--json", *more)
    assert answer.code == 2, answer.out
    assert all(key in f["field"] and f["file"] == "job.toml" and limit in f["limit"] for f in answer.faults), answer.faults
    assert not unlike_the_contract(answer.faults)
    assert SECRET not in answer.out + answer.err
    assert snapshot(truck.parent) == before


# --- what a job may call its frame ---

LEADS_OUT = (
    "../frame.toml", "..", ".", "./../frame.toml", "sub/../../frame.toml", "/etc/passwd", "//etc/passwd", "~/frame.toml",
    "~root/frame.toml", "C:\\\\frame.toml", "C:frame.toml", "\\\\\\\\server\\\\share\\\\frame.toml", "..\\\\frame.toml",
    "//server/share/frame.toml", "\\\\\\\\?\\\\C:\\\\frame.toml", "file:///etc/passwd", "https://example.org/frame.toml",
    "/dev/zero", "/dev/stdin", "/proc/self/mem", "/proc/self/fd/0", "$HOME/frame.toml", "%USERPROFILE%\\\\frame.toml", "`id`",
    "frame.toml\\u0000.txt", "frame.toml\\n", "\\u2024\\u2024/frame.toml", "．．/frame.toml", " ", "nul", "demo:../../secret",
    "demo:/etc/passwd", "demo:", "demo:*",
)  # fmt: skip


@pytest.mark.parametrize("given", LEADS_OUT)
def test_a_frame_named_elsewhere(given: str, truck: Path) -> None:
    name_frame(truck, f'"{given}"')
    refused(truck, key="frame")


def _link(target: str) -> Callable[[Path], None]:
    return lambda path: path.symlink_to(target)


def _links_to_links(path: Path) -> None:
    (path.parent / "step").symlink_to("..")
    (path.parent / "next").symlink_to("step/frame.toml")
    path.symlink_to("next")


def _socket(path: Path) -> None:
    with contextlib.closing(socket.socket(socket.AF_UNIX)) as server:
        server.bind(path.name)  # a full path would be too long for some systems


def _link_to_a_pipe(path: Path) -> None:
    os.mkfifo(path.parent / "pipe")
    path.symlink_to("pipe")


PUT_THERE: dict[str, tuple[Callable[[Path], None], str]] = {
    "link up": (_link("../frame.toml"), "leads out of the folder"),
    "link to the secret": (_link("../secret"), "leads out of the folder"),
    "link by an absolute path": (_link("/etc/passwd"), "leads out of the folder"),
    "link to an endless device": (_link("/dev/zero"), "leads out of the folder"),
    "link to what is typed": (_link("/dev/stdin"), ""),
    "link to this process's memory": (_link("/proc/self/mem"), "leads out of the folder"),
    "links to links": (_links_to_links, "leads out of the folder"),
    "link to itself": (_link("frame.toml"), ""),
    "link to nothing": (_link("nothing"), "does not exist"),
    "link out to nothing": (_link("../nothing"), "leads out of the folder"),
    "pipe": (os.mkfifo, "pipe, socket or device"),
    "link to a pipe": (_link_to_a_pipe, "pipe, socket or device"),
    "socket": (_socket, "pipe, socket or device"),
    "folder": (Path.mkdir, "is a folder"),
    "link to its own folder": (_link("."), "is a folder"),
}


@pytest.mark.parametrize("case", PUT_THERE)
def test_a_frame_file_that_is_another_thing(case: str, truck: Path) -> None:
    put, limit = PUT_THERE[case]
    (truck / "frame.toml").unlink()
    put(truck / "frame.toml")
    with limited(clock_s=10.0):  # a pipe that nobody writes to must not hold it up
        refused(truck, key="frame", limit=limit)


def test_a_pipe_with_a_writer_is_not_read_either(truck: Path) -> None:
    """Somebody stands ready to write a good frame: it stays in the pipe."""
    good = (truck / "frame.toml").read_bytes()
    (truck / "frame.toml").unlink()
    os.mkfifo(truck / "frame.toml")
    taken = []

    def write() -> None:
        with contextlib.suppress(BrokenPipeError), open(truck / "frame.toml", "wb", buffering=0) as pipe:
            taken.append(pipe.write(good))

    writer = threading.Thread(target=write, daemon=True)
    writer.start()
    refused(truck, key="frame", limit="pipe, socket or device")
    assert taken == [], "the pipe was opened"
    with open(truck / "frame.toml", "rb") as reader:  # lets the writer go
        reader.read(len(good))
    writer.join(5)
    assert not writer.is_alive()


def test_a_frame_inside_by_links_is_taken(truck: Path) -> None:
    """Otherwise the refusals above could be of links as such."""
    (truck / "sub").mkdir()
    (truck / "frame.toml").rename(truck / "sub" / "measured.toml")
    (truck / "frame.toml").symlink_to("sub/measured.toml")
    assert run("check", "job.toml").code == 0
    name_frame(truck, '"sub/measured.toml"')
    assert run("check", "job.toml").code == 0


# --- what is typed: it may lie anywhere, and must be a file ---


NO_FILES = ("/dev/zero", "/dev/stdin", "/dev/tty", ".", "pipe", "/proc/self/mem", "", "demo:../secret", "a/../../job.toml")


@pytest.mark.parametrize("given", NO_FILES)
@pytest.mark.parametrize("option", [False, True], ids=["job", "frame"])
def test_what_is_typed_and_is_no_file(given: str, option: bool, truck: Path) -> None:
    os.mkfifo(truck / "pipe")
    before = snapshot(truck.parent)
    with limited(clock_s=10.0):
        answer = run("make", *(["job.toml", "--frame", given] if option else [given]), "--no-solids", "--json")
    assert answer.code == 2 and len(answer.faults) == 1
    assert snapshot(truck.parent) == before


def test_what_is_typed_may_lie_outside(truck: Path) -> None:
    (truck / "frame.toml").unlink()
    assert run("check", "job.toml", "--frame", "../frame.toml").code == 0


# --- names that become file names ---

BAD_IDS = (
    "..", ".", "", " ", "../x", "a/b", "/x", "a\\\\b", "..\\\\x", "C:x", "a:b", "x\\u0000", "x\\n", ".hidden", "-x", "~", "*",
    "a b", "CON", "con", "nul.txt", "COM1", "lpt9.dxf", "ä", "a\\u202eb", "аb", "%2e%2e%2fx", "$x", "a\\u0301",
)  # fmt: skip
#: These pass as names; two that would be one file, or the kit's own, do not.
TAKEN_IDS = ("assembly", "ASSEMBLY")


@pytest.mark.parametrize("given", [*BAD_IDS, "x" * 65])
def test_a_part_by_a_name_that_is_no_file_name(given: str, truck: Path) -> None:
    job = truck / "job.toml"
    job.write_text(job.read_text(encoding="utf-8").replace('id = "boxing"', f'id = "{given}"'), encoding="utf-8")
    refused(truck, key="id")


@pytest.mark.parametrize("given", TAKEN_IDS)
def test_a_part_called_like_the_whole(given: str, truck: Path) -> None:
    """A part of one side keeps its id as its piece's, and that would be the assembly's file."""
    job = truck / "job.toml"
    text = job.read_text(encoding="utf-8").replace('id = "boxing"', f'id = "{given}"').replace('side = "both"', 'side = "left"')
    job.write_text(text, encoding="utf-8")
    answer = run("make", "job.toml", "--no-solids", "--json", "--out", "kit")
    if answer.code == 2:
        assert any("id" in f["field"] for f in answer.faults)
    else:  # where the side is part of the piece's id, nothing is taken
        names = [p.name for p in (truck / "kit" / "dxf").iterdir()]
        assert answer.code == 0 and all(n != f"{given}.dxf" for n in names)


@pytest.mark.parametrize("given", ["../x", "/etc", "..", "boxing/../../x", "*"])
def test_a_selection_that_is_no_part(given: str, truck: Path) -> None:
    before = snapshot(truck.parent)
    answer = run("make", "job.toml", "--no-solids", "--only", given, "--json")
    assert answer.code == 2 and [f["field"] for f in answer.faults] == ["--only"]
    assert snapshot(truck.parent) == before


@pytest.mark.parametrize("path", ["../truck/job.toml", "../truck/.././truck/job.toml"])
def test_the_default_folder_is_made_here_whatever_the_jobs_path(path: str, truck: Path) -> None:
    assert run("make", path, "--no-solids").code == 0
    assert sorted(p.name for p in truck.iterdir()) == ["frame.toml", "job.toml", "ladderframe-truck"]
    assert sorted(p.name for p in truck.parent.iterdir()) == ["frame.toml", "secret", "truck"]


def test_as_typed_with_a_pipe_for_a_frame(truck: Path) -> None:
    """In a process of its own, with the kernel starting meanwhile."""
    (truck / "frame.toml").unlink()
    os.mkfifo(truck / "frame.toml")
    before = snapshot(truck.parent)
    done = ladderframe("make", "job.toml", "--out", "kit", folder=truck)
    assert done.returncode == 2 and "Traceback" not in done.stderr and "pipe" in done.stderr
    assert snapshot(truck.parent) == before
