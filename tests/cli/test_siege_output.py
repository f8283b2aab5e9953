"""Where the output cannot go: exit 3 with the reason, and what was there before is there still, to the byte. The whole command each time;
the engine's own tests (`tests/generator/test_output.py`) go through more of its moments.

Nothing here needs more rights than a user has, nor is left out where there are more: as root, the right to write everywhere is given up.
"""

from __future__ import annotations

import contextlib
import hashlib
import json
import os
import shutil
import subprocess
import sys
from collections.abc import Callable, Iterator
from pathlib import Path
from typing import Any

import pytest

from generator.starter import write_starter
from tests.cli.helpers import LIMIT_S, ROOT, environment, ladderframe, python
from tests.cli.siege import run
from tests.cli.siege_process import KB, ROOMS, SHUT, snapshot, write_old

HOLDER = ROOT / "tests" / "generator" / "output_process.py"

@pytest.fixture
def work(tmp_path: Path, monkeypatch: pytest.MonkeyPatch) -> Iterator[Path]:
    """The starter's files and `kit`, an old set of other bytes than any run below makes, in the current folder."""
    monkeypatch.chdir(tmp_path)
    write_starter(tmp_path / "truck")
    write_old(tmp_path / "kit")
    yield tmp_path


def make(out: str | Path, *more: str) -> list[str]:
    return ["make", "truck/job.toml", "--out", str(out), *more]


# --- what lies there ---


def _file(work: Path) -> str:
    (work / "file").write_text("mine", encoding="utf-8")
    return "file"


def _link_to_a_file(work: Path) -> str:
    _file(work)
    (work / "link").symlink_to("file")
    return "link"


def _pipe(work: Path) -> str:
    os.mkfifo(work / "pipe")
    return "pipe"


def _below_a_file(work: Path) -> str:
    _file(work)
    return "file/kit"


def _round(work: Path) -> str:
    (work / "one").symlink_to("two")
    (work / "two").symlink_to("one")
    return "one/kit"


def _foreign(work: Path) -> str:
    (work / "kit" / "dxf" / "letter.txt").write_text("dear", encoding="utf-8")
    return "kit"


def _foreign_alone(work: Path) -> str:
    (work / "photos").mkdir()
    (work / "photos" / "letter.txt").write_text("dear", encoding="utf-8")
    return "photos"


def _folder_that_leads_out(work: Path) -> str:
    """One folder of the old set is now a link to a folder elsewhere, which removing the old set must not reach."""
    (work / "elsewhere").mkdir()
    shutil.move(work / "kit" / "dxf" / "old.dxf", work / "elsewhere" / "old.dxf")
    (work / "kit" / "dxf").rmdir()
    (work / "kit" / "dxf").symlink_to("../elsewhere")
    return "kit"


def _lock_that_leads_out(work: Path) -> str:
    (work / "elsewhere").mkdir()
    (work / ".kit.lock").symlink_to("elsewhere/lock")  # opening it would make a file there
    return "kit"


def _lock_that_is_none(work: Path) -> str:
    (work / ".kit.lock").write_text("mine", encoding="utf-8")
    return "kit"


def _staging_that_leads_out(work: Path) -> str:
    (work / "elsewhere").mkdir()
    (work / f".kit.new-{os.getpid()}").symlink_to("elsewhere")
    return "kit"


Prepare = Callable[[Path], str]
IN_THE_WAY: dict[str, tuple[Prepare, str]] = {
    "a file": (_file, "not a folder"),
    "a link to a file": (_link_to_a_file, "not a folder"),
    "a pipe": (_pipe, "not a folder"),
    "below a file": (_below_a_file, "not a folder"),
    "no such parent": (lambda work: "no/such/kit", "does not exist; make it first"),
    "links in a circle": (_round, ""),
    "the system's root": (lambda work: "/", "root of the file system"),
    "a mount point": (lambda work: "/proc", "it is a mount point" if os.access("/", os.W_OK) else "may not be written"),
    "a device": (lambda work: "/dev/null", "not a folder" if os.access("/dev", os.W_OK) else "may not be written"),
    "the working folder": (lambda work: ".", "the folder you are in"),
    "the folder above": (lambda work: "..", "the folder you are in is in it"),
    "the job's own folder": (lambda work: "truck", "frame.toml, job.toml"),
    "a foreign file among ours": (_foreign, "letter.txt"),
    "foreign files": (_foreign_alone, "letter.txt"),
    "a folder of the set that leads out": (_folder_that_leads_out, "dxf"),
    "a lock that leads out": (_lock_that_leads_out, ""),
    "a lock that is none": (_lock_that_is_none, "has the name of its lock"),
    "a staging folder that leads out": (_staging_that_leads_out, "has the name of its staging folder"),
    "a name too long": (lambda work: "n" * 254, "too long"),
}


@pytest.mark.parametrize("case", IN_THE_WAY)
def test_what_is_in_the_way(case: str, work: Path) -> None:
    prepare, reason = IN_THE_WAY[case]
    out = prepare(work)
    before = snapshot(work)
    answer = run(*make(out, "--no-solids"))
    assert answer.code == 3, answer.out + answer.err
    assert answer.out == "" and answer.err.startswith("cannot write ")
    assert reason in answer.err and len(answer.err) < 1000
    assert snapshot(work) == before


def test_a_refusal_as_json(work: Path) -> None:
    out = _foreign(work)
    answer = run(*make(out, "--no-solids", "--json"))
    assert answer.code == answer.value["exit_code"] == 3 and answer.err == ""
    assert answer.value["error"] == run(*make(out, "--no-solids")).err.removesuffix("\n")


@pytest.mark.parametrize("case", ["a file", "no such parent", "the working folder", "foreign files", "below a file", "a name too long"])
def test_a_starter_is_refused_where_a_kit_is(case: str, work: Path) -> None:
    out = IN_THE_WAY[case][0](work)
    before = snapshot(work)
    answer = run("new", out)
    assert answer.code == 3 and answer.err.startswith("cannot write ")
    assert snapshot(work) == before


# --- other runs ---


def test_a_second_run_waits_for_nobody_and_spoils_nothing(work: Path) -> None:
    """Held by another process: refused at once with its number; when that is killed, its half-made set is cleared away."""
    words = [sys.executable, str(HOLDER), "hold", str(work / "kit")]
    with subprocess.Popen(words, env=environment(), stdin=subprocess.PIPE, stdout=subprocess.PIPE, text=True) as holder:
        try:
            assert holder.stdout is not None and holder.stdout.readline() == "holding\n"
            before = snapshot(work)
            answer = run(*make("kit", "--no-solids"))
            assert answer.code == 3 and f"another run (process {holder.pid}) is writing it" in answer.err
            assert snapshot(work) == before
        finally:
            holder.kill()
    assert run(*make("kit", "--no-solids")).code == 0
    whole(work / "kit")
    assert sorted(p.name for p in work.iterdir()) == ["kit", "truck"]


def whole(out: Path) -> dict[str, bytes]:
    """The files of a set that its manifest lists, each as listed, and no other."""
    manifest = json.loads((out / "manifest.json").read_bytes())
    listed = {entry["path"]: (entry["size_bytes"], entry["sha256"]) for entry in manifest["files"]}
    found = {n: d for n, d in snapshot(out).items() if isinstance(d, bytes) and n != "manifest.json"}
    assert listed == {n: (len(d), hashlib.sha256(d).hexdigest()) for n, d in found.items()}
    return found


# --- no right, no room ---


def starved(name: str, work: Path, before: tuple[str, ...] = ()) -> list[dict[str, Any]]:
    """What `tests/cli/siege_process.py` tells of its cases."""
    words = [*before, sys.executable, "-m", "tests.cli.siege_process", name, str(work)]
    changes = {**environment(), "PYTHONDONTWRITEBYTECODE": "1"}
    done = subprocess.run(words, cwd=work, env=changes, capture_output=True, encoding="utf-8", timeout=LIMIT_S, check=False)
    assert done.returncode == 0, done.stderr
    return [json.loads(line) for line in done.stdout.splitlines()]


def test_no_room_for_a_file(work: Path) -> None:
    cases = starved("rooms", work)
    assert len(cases) == len(ROOMS)
    for case in cases:
        assert (case["code"], case["out"], case["as before"]) == (3, "", True), case
        assert case["err"] == f"cannot write {work / 'kit'}: a file would be larger than is allowed here\n"


def test_no_right_to_write(work: Path) -> None:
    """As root too: the right to write everywhere is given up first."""
    *cases, last = starved("rights", work)
    assert [case["name"] for case in cases] == list(SHUT)
    for case in cases:
        assert (case["code"], case["out"], case["as before"]) == (3, "", True), case
        assert "may not be written by this user" in case["err"]
    assert last["code"] == 0, "nothing but the rights stood in the way"
    whole(work / "kit")


def test_a_disk_that_fills_up(work: Path) -> None:
    """A real one, of every size from next to nothing on, in a mount namespace of its own; where this user may have none, the limits above
    stand in for it. Either the old set stays, or the whole new one is there."""
    for before in (("unshare", "-m"), ("unshare", "-rm")):
        with contextlib.suppress(FileNotFoundError):
            if subprocess.run([*before, "true"], capture_output=True, check=False).returncode == 0:
                break
    else:
        assert {case["code"] for case in starved("rooms", work)} == {3}
        return
    cases = starved("disks", work, before)
    codes = [case["code"] for case in cases]
    assert codes == sorted(codes, reverse=True), "a larger disk never did worse"
    assert set(codes) == {0, 3}, "neither every disk too small nor every disk large enough"
    for case in cases:
        assert case["beside"] == ["kit"]
        assert case["as before"] == (case["code"] == 3)
        assert case["code"] == 0 or "no space is left on its disk" in case["err"]


def with_room(room: int, *arguments: str, folder: Path) -> subprocess.CompletedProcess[str]:
    """The command where no file may grow beyond `room` bytes; the kernel's child has the limit from it."""
    code = "import resource, sys; resource.setrlimit(resource.RLIMIT_FSIZE, (int(sys.argv.pop(1)),) * 2)\n"
    code += "from generator.entry import main\nmain()"
    return python(code, str(room), *arguments, folder=folder, changes={"PYTHONDONTWRITEBYTECODE": "1"})


def test_room_for_all_but_the_models(work: Path) -> None:
    """The kernel says nothing of a full disk. A set that lacks its models for want of room must not take the place of a whole one."""
    assert run(*make("other", "--no-solids")).code == 0
    room = max(len(d) for d in whole(work / "other").values()) + 8 * KB  # the manifest tells of the models too
    shutil.rmtree(work / "other")
    before = snapshot(work)
    done = with_room(room, *make("kit"), folder=work)
    assert done.returncode == 3, done
    assert done.stderr.startswith("cannot write kit: ") and "the STEP file" in done.stderr and "no room" in done.stderr
    assert snapshot(work) == before


def test_no_room_for_what_is_temporary_and_no_home(work: Path) -> None:
    """Neither a folder for temporary files nor a home is needed, and their lack changes no byte: staging lies beside the output."""
    assert run(*make("first", "--no-solids")).code == 0
    (work / "full").write_text("not a folder", encoding="utf-8")
    nowhere = str(work / "full" / "no")
    changes = {name: nowhere for name in ("TMPDIR", "TEMP", "TMP", "HOME", "XDG_CACHE_HOME", "XDG_CONFIG_HOME", "XDG_DATA_HOME")}
    done = ladderframe(*make("second"), folder=work, changes=changes)
    assert (done.returncode, done.stderr) == (0, ""), done.stdout
    first, second = whole(work / "first"), whole(work / "second")
    assert any(name.startswith("step/") for name in second)
    assert all(second[name] == data for name, data in first.items() if name.startswith(("dxf/", "drawings/")))


# --- what is printed ---


def printed_to(out: str, err: str, *arguments: str, folder: Path) -> int:
    """The exit code of the command with its streams put there by a shell: `>/dev/full`, `>&-`."""
    line = f'exec "{sys.executable}" -m generator.entry "$@" {out} {err}'
    done = subprocess.run(
        ["sh", "-c", line, "sh", *arguments], cwd=folder, env=environment(), stdin=subprocess.DEVNULL, timeout=LIMIT_S, check=False,
    )  # fmt: skip
    return done.returncode


@pytest.mark.parametrize(
    ("out", "err", "code"),
    [(">/dev/full", "2>err", 3), (">/dev/full", "2>/dev/full", 3), (">&-", "2>&-", 0)],
    ids=["full", "both full", "both closed"],
)
def test_what_cannot_be_printed_is_made_all_the_same(out: str, err: str, code: int, work: Path) -> None:
    assert printed_to(out, err, *make("kit", "--no-solids"), folder=work) == code
    assert any(name.startswith("dxf/boxing") for name in whole(work / "kit"))
    if err == "2>err":
        assert (work / "err").read_text(encoding="utf-8") == "cannot print: No space left on device\n"


@pytest.mark.parametrize(("out", "err", "code"), [(">out", "2>/dev/full", 3), (">out", "2>&-", 2)], ids=["full", "closed"])
def test_faults_that_cannot_be_printed_are_no_success(out: str, err: str, code: int, work: Path) -> None:
    assert printed_to(out, err, "check", "nowhere.toml", folder=work) == code
    assert (work / "out").read_bytes() == b""


@pytest.mark.parametrize("as_json", [False, True], ids=["text", "json"])
def test_a_terminal_of_western_letters(as_json: bool, work: Path) -> None:
    name = "kit of the 果樹園"
    job = work / "truck" / "job.toml"
    job.write_text(job.read_text(encoding="utf-8").replace("my kit", name), encoding="utf-8")
    words = ["check", "truck/job.toml", *(["--json"] if as_json else [])]
    done = ladderframe(*words, folder=work, changes={"PYTHONIOENCODING": "cp1252"})
    assert done.returncode == 0 and done.stderr == ""
    if as_json:
        assert json.loads(done.stdout)["job"] == name
    else:
        assert done.stdout.startswith("kit of the \\u679c\\u6a39\\u5712 on my frame")


@pytest.mark.parametrize("name", [b"job-\xff.toml", "𝒜".encode() * 60 + b".toml", b"-x.toml", b"a\nb \x1b[31m.toml"], ids=repr)
def test_a_job_by_any_name(name: bytes, work: Path) -> None:
    """What a file system calls a name need not be text, nor short in bytes where it is short in letters."""
    os.rename(os.fsencode(work / "truck" / "job.toml"), os.path.join(os.fsencode(work / "truck"), name))
    for more in ((), ("--json",)):
        answer = run("make", *more, "--no-solids", "--", os.fsdecode(name) if name.startswith(b"-") else os.fsdecode(b"truck/" + name))
        if name.startswith(b"-"):
            assert answer.code == 2 and "-x.toml" in answer.err + answer.out  # it lies in another folder
            continue
        assert answer.code == 0, answer.err
        assert not any(c != "\n" and not c.isprintable() for c in answer.out)
    assert name.startswith(b"-") or len([p for p in work.iterdir() if p.name.startswith("ladderframe-")]) == 1
