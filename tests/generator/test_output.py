"""The output folder holds a whole set or the one before: real folders, real kills, real full disks."""

from __future__ import annotations

import contextlib
import errno
import hashlib
import json
import os
import random
import signal
import subprocess
import sys
import tempfile
import time
from collections.abc import Iterator
from pathlib import Path
from typing import Any

import pytest

from generator import output_folder, output_swap
from generator.output import CannotWrite, preflight, recover, staged

ROOT = Path(__file__).resolve().parents[2]
PROGRAM = Path(__file__).with_name("output_process.py")
#: SHA-256 of the three letters "abc": FIPS 180-2, appendix B.1.
SHA256_OF_ABC = "ba7816bf8f01cfea414140de5dae2223b00361a396177a9cb410ff61f20015ad"
KILLS = 20
PARTS = 2


def command(*arguments: str) -> list[str]:
    return [sys.executable, str(PROGRAM), *arguments]


def run(*arguments: str, before: tuple[str, ...] = ()) -> subprocess.CompletedProcess[str]:
    environment = {**os.environ, "PYTHONPATH": str(ROOT)}
    return subprocess.run([*before, *command(*arguments)], env=environment, capture_output=True, text=True, timeout=60, check=False)


@contextlib.contextmanager
def running(*arguments: str) -> Iterator[tuple[subprocess.Popen[str], str]]:
    """The program, after it has printed its first line, and that line."""
    environment = {**os.environ, "PYTHONPATH": str(ROOT)}
    with subprocess.Popen(command(*arguments), env=environment, stdin=subprocess.PIPE, stdout=subprocess.PIPE, text=True) as process:
        try:
            assert process.stdout is not None
            line = process.stdout.readline()
            assert line
            yield process, line
        finally:
            process.kill()


def write(out_dir: Path, number: int, **files: str) -> None:
    with staged(out_dir) as staging:
        for name, text in (files or {"a": f"set {number}"}).items():
            staging.write_text(f"dxf/{name}.dxf", text)
        staging.commit({"number": number})


def snapshot(folder: Path) -> dict[str, bytes | None]:
    """Every path below, with the bytes of the files."""
    return {path.relative_to(folder).as_posix(): path.read_bytes() if path.is_file() else None for path in sorted(folder.rglob("*"))}


def complete(folder: Path) -> dict[str, Any]:
    """The manifest of a set in which every listed file, and no other, is there as listed."""
    manifest: dict[str, Any] = json.loads((folder / "manifest.json").read_text(encoding="utf-8"))
    listed = {entry["path"]: (entry["size_bytes"], entry["sha256"]) for entry in manifest["files"]}
    content = {name: data for name, data in snapshot(folder).items() if data is not None and name != "manifest.json"}
    assert listed == {name: (len(data), hashlib.sha256(data).hexdigest()) for name, data in content.items()}
    return manifest


def refused(out_dir: Path) -> CannotWrite:
    """The refusal, the same from `preflight` and from `staged`."""
    with pytest.raises(CannotWrite) as early:
        preflight(out_dir)
    with pytest.raises(CannotWrite) as late, staged(out_dir):
        pass
    assert str(early.value) == str(late.value)
    assert early.value.exit_code == 3
    return early.value


# --- a set ---


def test_a_set_arrives_whole_and_leaves_nothing_beside(tmp_path: Path) -> None:
    out = tmp_path / "out"
    assert preflight(out) is None
    assert not list(tmp_path.iterdir())
    with staged(out) as staging:
        assert staging.folder == tmp_path / f".out.new-{os.getpid()}"
        staging.write_text("dxf/plate.dxf", "one\r\ntwo\n")
        staging.write_bytes("abc.txt", b"abc")
        staging.path("step/plate.step").write_text("solid")
        assert not out.exists()
        staging.commit({"parts": [], "files": {"abc.txt": "three letters"}})
    manifest = complete(out)
    assert manifest["program"] == "ladderframe"
    assert manifest["files"][0] == {"path": "abc.txt", "size_bytes": 3, "sha256": SHA256_OF_ABC, "what": "three letters"}
    assert (out / "dxf/plate.dxf").read_bytes() == b"one\ntwo\n"
    assert sorted(entry.name for entry in tmp_path.iterdir()) == ["out"]


def test_a_new_set_takes_the_place_of_the_old_one_with_all_its_files(tmp_path: Path) -> None:
    out = tmp_path / "out"
    write(out, 1, a="a", b="b")
    write(out, 2, b="B", c="C")
    assert complete(out)["number"] == 2
    assert [entry["path"] for entry in complete(out)["files"]] == ["dxf/b.dxf", "dxf/c.dxf"]
    assert sorted(entry.name for entry in tmp_path.iterdir()) == ["out"]


def test_same_set_same_bytes_in_another_folder_and_another_order(tmp_path: Path) -> None:
    with staged(tmp_path / "one") as staging:
        staging.write_text("a.txt", "ä\n")
        staging.write_text("b.txt", "b\n")
        staging.commit({"x": 1, "y": {"p": 1, "q": 2}})
    with staged(tmp_path / "two") as staging:
        staging.write_text("b.txt", "b\n")
        staging.write_text("a.txt", "ä\n")
        staging.commit({"y": {"q": 2, "p": 1}, "x": 1})
    assert snapshot(tmp_path / "one") == snapshot(tmp_path / "two")


def test_modes_follow_the_umask_and_the_folder_that_was_there(tmp_path: Path) -> None:
    kept = tmp_path / "kept"
    kept.mkdir(mode=0o700)
    before = os.umask(0o027)
    try:
        write(tmp_path / "out", 1)
        write(kept, 1)
    finally:
        os.umask(before)
    modes = {path.name: oct(path.stat().st_mode & 0o777) for path in (tmp_path / "out", *(tmp_path / "out").rglob("*"))}
    assert modes == {"out": "0o750", "dxf": "0o750", "a.dxf": "0o640", "manifest.json": "0o640"}
    assert kept.stat().st_mode & 0o777 == 0o700


def test_an_empty_folder_and_a_folder_of_file_manager_litter_are_taken(tmp_path: Path) -> None:
    out = tmp_path / "out"
    out.mkdir()
    write(out, 1)
    (out / ".DS_Store").write_bytes(b"x")
    (out / "dxf" / "Thumbs.db").write_bytes(b"x")
    write(out, 2)
    assert complete(out)["number"] == 2


def test_a_link_to_the_folder_stays_a_link(tmp_path: Path) -> None:
    real = tmp_path / "disk" / "real"
    real.parent.mkdir()
    write(real, 1)
    link = tmp_path / "link"
    link.symlink_to(real)
    with staged(link) as staging:
        assert staging.folder.parent == real.parent
        staging.write_text("a.txt", "a")
        staging.commit({"number": 2})
    assert link.is_symlink()
    assert complete(real)["number"] == 2
    assert sorted(entry.name for entry in tmp_path.rglob("*") if entry.name.startswith(".")) == []


# --- what stops a set ---


def test_without_commit_or_after_an_error_the_old_set_stays(tmp_path: Path) -> None:
    out = tmp_path / "out"
    write(out, 1)
    before = snapshot(tmp_path)
    with staged(out) as staging:
        staging.write_text("a.txt", "a")
    assert snapshot(tmp_path) == before
    for error in (ZeroDivisionError, KeyboardInterrupt):
        with pytest.raises(error), staged(out) as staging:
            staging.write_text("deep/er/a.txt", "a")
            raise error
        assert snapshot(tmp_path) == before
    with pytest.raises(ValueError, match="JSON compliant"), staged(out) as staging:
        staging.commit({"mass_kg": float("nan")})
    assert snapshot(tmp_path) == before


def test_a_promised_file_that_is_missing_or_empty_stops_the_set(tmp_path: Path) -> None:
    out = tmp_path / "out"
    with pytest.raises(CannotWrite, match=r"step/a\.step.*was not written"), staged(out) as staging:
        staging.path("step/a.step")
        staging.commit({})
    with pytest.raises(CannotWrite, match=r"step/a\.step.*written empty"), staged(out) as staging:
        staging.path("step/a.step").touch()
        staging.commit({})
    with pytest.raises(CannotWrite, match=r"a\.txt.*reads back otherwise"), staged(out) as staging:
        staging.write_text("a.txt", "a").write_text("b")
        staging.commit({})
    with pytest.raises(CannotWrite, match=r"a\.txt.*is not a file"), staged(out) as staging:
        staging.path("a.txt").symlink_to("/etc/hostname")
        staging.commit({})
    assert list(tmp_path.iterdir()) == []


def test_dropped_and_stray_files_are_not_taken_along(tmp_path: Path) -> None:
    out = tmp_path / "out"
    with staged(out) as staging:
        staging.path("step/a.step").write_text("half of a solid")
        staging.drop("step/a.step")
        staging.path("step/b.step")
        staging.drop("step/b.step")
        staging.write_text("dxf/a.dxf", "a")
        (staging.folder / "dxf" / "tmp123").write_text("left by a killed child")
        staging.commit({})
    assert [entry["path"] for entry in complete(out)["files"]] == ["dxf/a.dxf"]
    assert sorted(snapshot(out)) == ["dxf", "dxf/a.dxf", "manifest.json"]


NOT_NAMES = [
    "",
    "/etc/x",
    "../x",
    "a/../../x",
    "a//b",
    "./a",
    "a/",
    "a\\b",
    "C:x",
    "a\0b",
    "a\nb",
    ".hidden",
    "a/.x",
    "a.",
    "a ",
    "CON",
    "n" * 201,
]


@pytest.mark.parametrize("name", [*NOT_NAMES, "manifest.json", ".ladderframe-staging"])
def test_a_path_that_leaves_the_folder_or_is_no_name_everywhere_is_refused(tmp_path: Path, name: str) -> None:
    with staged(tmp_path / "out") as staging:
        with pytest.raises(CannotWrite):
            staging.write_text(name, "a")
        with pytest.raises(CannotWrite):
            staging.path(name)
        assert snapshot(staging.folder).keys() == {".ladderframe-staging"}
    assert list(tmp_path.iterdir()) == []


def test_two_files_with_one_name_are_refused_also_where_only_case_differs(tmp_path: Path) -> None:
    with staged(tmp_path / "out") as staging:
        staging.write_text("dxf/a.dxf", "a")
        for name in ("dxf/a.dxf", "dxf/A.dxf"):
            with pytest.raises(CannotWrite, match="two files of this set"):
                staging.write_text(name, "b")
        assert staging.path("step/a.step") == staging.path("step/a.step")


# --- what is there already ---


def test_files_that_no_manifest_lists_are_named_and_kept(tmp_path: Path) -> None:
    out = tmp_path / "out"
    write(out, 1)
    for i in range(11):
        (out / f"note-{i:02}.txt").write_text("mine")
    (out / "dxf" / "mine.dxf").write_text("mine")
    (out / "mine").mkdir()
    before = snapshot(tmp_path)
    error = refused(out)
    assert error.files == ("dxf/mine.dxf", "mine/", *(f"note-{i:02}.txt" for i in range(11)))
    assert "its manifest does not list" in str(error)
    assert str(error).endswith("dxf/mine.dxf, mine/, " + ", ".join(f"note-{i:02}.txt" for i in range(8)) + " and 3 more")
    assert snapshot(tmp_path) == before


@pytest.mark.parametrize("manifest", [None, "{}", "[" * 100_000, '{"program": "ladderframe", "files": [{"path": 1}]}', '{"files": []}'])
def test_files_without_a_manifest_of_ours_are_kept(tmp_path: Path, manifest: str | None) -> None:
    out = tmp_path / "out"
    out.mkdir()
    (out / "holiday.jpg").write_text("mine")
    if manifest is not None:
        (out / "manifest.json").write_text(manifest)
    before = snapshot(tmp_path)
    error = refused(out)
    assert error.files == ("holiday.jpg",) if manifest is None else ("holiday.jpg", "manifest.json")
    assert "no manifest of this program" in error.reason
    assert snapshot(tmp_path) == before


def test_a_listed_name_that_is_now_a_link_is_not_ours(tmp_path: Path) -> None:
    out = tmp_path / "out"
    write(out, 1)
    (out / "dxf" / "a.dxf").unlink()
    (out / "dxf" / "a.dxf").symlink_to(tmp_path)
    assert refused(out).files == ("dxf/a.dxf",)


def test_a_manifest_that_lists_paths_outside_reaches_nothing_outside(tmp_path: Path) -> None:
    (tmp_path / "mine.txt").write_text("mine")
    out = tmp_path / "out"
    out.mkdir()
    listed = [{"path": "../mine.txt"}, {"path": str(tmp_path / "mine.txt")}]
    (out / "manifest.json").write_text(json.dumps({"program": "ladderframe", "files": listed}))
    write(out, 1)
    assert (tmp_path / "mine.txt").read_text() == "mine"


def test_files_that_appear_during_the_run_are_kept(tmp_path: Path) -> None:
    out = tmp_path / "out"
    write(out, 1)
    with pytest.raises(CannotWrite) as caught, staged(out) as staging:
        staging.write_text("a.txt", "a")
        (out / "mine.txt").write_text("mine")
        staging.commit({"number": 2})
    assert caught.value.files == ("mine.txt",)
    (out / "mine.txt").unlink()
    assert complete(out)["number"] == 1


@pytest.mark.parametrize("way", ["exchange", "renames"])
def test_files_that_appear_just_before_the_swap_are_put_back(tmp_path: Path, monkeypatch: pytest.MonkeyPatch, way: str) -> None:
    out = tmp_path / "out"
    write(out, 1)
    swap = output_swap.exchange_or_rename

    def late(new: Path, place: Path, aside: Path) -> None:
        if complete_number(place) == 1:
            (place / "mine.txt").write_text("mine")
        swap(new, place, aside)

    if way == "renames":
        monkeypatch.setattr(output_swap, "exchange", no_exchange)
    monkeypatch.setattr(output_swap, "exchange_or_rename", late)
    with pytest.raises(CannotWrite) as caught, staged(out) as staging:
        staging.write_text("a.txt", "a")
        staging.commit({"number": 2})
    assert caught.value.files == ("mine.txt",)
    assert (out / "mine.txt").read_text() == "mine"
    assert complete_number(out) == 1
    assert sorted(entry.name for entry in tmp_path.iterdir()) == ["out"]


def complete_number(folder: Path) -> int:
    number = json.loads((folder / "manifest.json").read_text())["number"]
    assert isinstance(number, int)
    return number


def test_a_file_that_takes_the_folders_name_during_the_run_is_kept(tmp_path: Path) -> None:
    with pytest.raises(CannotWrite, match="it is not a folder"), staged(tmp_path / "out") as staging:
        (tmp_path / "out").write_text("mine")
        staging.commit({})
    assert snapshot(tmp_path) == {"out": b"mine"}


def test_an_empty_folder_that_is_filled_during_the_run_is_kept(tmp_path: Path, monkeypatch: pytest.MonkeyPatch) -> None:
    out = tmp_path / "out"
    take = output_swap.take_empty

    def late(new: Path, place: Path) -> None:
        place.mkdir()
        (place / "mine.txt").write_text("mine")
        take(new, place)

    monkeypatch.setattr(output_swap, "take_empty", late)
    with pytest.raises(CannotWrite, match="appeared"), staged(out) as staging:
        staging.commit({})
    assert snapshot(tmp_path) == {"out": None, "out/mine.txt": b"mine"}


def test_places_that_cannot_be_a_folder_of_ours(tmp_path: Path, monkeypatch: pytest.MonkeyPatch) -> None:
    file = tmp_path / "file"
    file.write_text("mine")
    (tmp_path / "round").symlink_to(tmp_path / "round")
    (tmp_path / "to-file").symlink_to(file)
    here = tmp_path / "work" / "here"
    here.mkdir(parents=True)
    home = tmp_path / "homes" / "me"
    home.mkdir(parents=True)
    monkeypatch.chdir(here)
    monkeypatch.setenv("HOME", str(home))
    for path, reason in {
        "/": "root of the file system",
        ".": "the folder you are in",
        str(here.parent): "the folder you are in is in it",
        str(home): "your home folder",
        str(home.parent): "your home folder is in it",
        str(file): "it is not a folder",
        str(tmp_path / "to-file"): "it is not a folder",
        str(file / "out"): "is not a folder",
        str(tmp_path / "no" / "out"): "does not exist; make it first",
        str(tmp_path / "round"): "",
        "a\0b": "cannot be the name of a folder",
        "n" * 254: "the name is too long",
    }.items():
        error = refused(Path(path))
        assert reason in error.reason, path
    assert file.read_text() == "mine"
    assert sorted(entry.name for entry in tmp_path.iterdir()) == ["file", "homes", "round", "to-file", "work"]


def test_a_listed_mount_point_is_refused(tmp_path: Path, monkeypatch: pytest.MonkeyPatch) -> None:
    write(tmp_path / "out", 1)
    monkeypatch.setattr(output_folder, "mount_points", lambda: [tmp_path / "out"])
    assert "mount point" in refused(tmp_path / "out").reason
    monkeypatch.setattr(output_folder, "mount_points", lambda: [tmp_path / "out" / "dxf"])
    assert "mount point is in it" in refused(tmp_path / "out").reason
    monkeypatch.setattr(output_folder, "mount_points", lambda: [tmp_path, tmp_path / "out2"])
    write(tmp_path / "out", 2)


def test_full_read_only_and_mounted(tmp_path: Path) -> None:
    """Real mounts in a namespace of their own. Where this user may not have one, the size limit below stands in for the full disk."""
    for before in (("unshare", "-m"), ("unshare", "-rm")):
        with contextlib.suppress(FileNotFoundError):
            if subprocess.run([*before, "true"], capture_output=True, check=False).returncode == 0:
                break
    else:
        assert "larger than is allowed" in run("refuse_large_files", str(tmp_path / "out")).stdout
        return
    result = run("refusals_of_mounts", str(tmp_path), before=before)
    assert result.returncode == 0, result.stderr
    answers = json.loads(result.stdout)
    assert "no space is left on its disk" in answers["full"]
    assert answers["full, after"] == '["set 1"]'
    assert answers["full, beside"] == '["out"]'
    assert "it is a mount point" in answers["mount point"]
    assert "read-only" in answers["read-only"] or "may not be written" in answers["read-only"]
    assert "it is a mount point" in answers["bound"]
    assert "a mount point is in it" in answers["bound inside"]


def test_no_room_for_a_file(tmp_path: Path) -> None:
    result = run("refuse_large_files", str(tmp_path / "out"))
    assert "a file would be larger than is allowed here" in result.stdout, result.stderr
    assert complete(tmp_path / "out")["number"] == 1
    assert sorted(entry.name for entry in tmp_path.iterdir()) == ["out"]


def test_no_rights() -> None:
    with tempfile.TemporaryDirectory() as folder:
        base = Path(folder)
        base.chmod(0o755)
        closed, opened = base / "closed", base / "open"
        closed.mkdir()
        opened.mkdir()
        write(opened / "out", 1)
        closed.chmod(0o555)
        opened.chmod(0o777)
        for path in (opened / "out", opened / "out" / "dxf"):
            path.chmod(0o555)
        result = run("refuse_without_rights", folder)
        assert result.returncode == 0, result.stderr
        without_parent, without_folder = json.loads(result.stdout)
        assert "may not be written by this user" in without_parent
        assert str(closed) in without_parent
        assert "may not be written by this user" in without_folder
        assert sorted(path.name for path in base.rglob("*")) == ["a.dxf", "closed", "dxf", "manifest.json", "open", "out"]
        for path in (closed, opened / "out", opened / "out" / "dxf"):
            path.chmod(0o755)


# --- other runs ---


def test_a_second_run_is_refused_with_the_first_ones_process(tmp_path: Path) -> None:
    out = tmp_path / "out"
    write(out, 1)
    with running("hold", str(out)) as (first, _):
        before = snapshot(tmp_path)
        assert f"another run (process {first.pid}) is writing it" in refused(out).reason
        assert snapshot(tmp_path) == before
        print(file=first.stdin, flush=True)
        first.wait(10)
    write(out, 2)
    assert complete(out)["number"] == 2


def test_a_lock_of_a_dead_run_does_not_stop_the_next_and_a_strangers_file_does(tmp_path: Path) -> None:
    lock = tmp_path / ".out.lock"
    lock.write_text("ladderframe 4242\n")
    write(tmp_path / "out", 1)
    assert not lock.exists()
    lock.write_text("a door")
    assert refused(tmp_path / "out").files == (str(lock),)
    assert lock.read_text() == "a door"


def dead_pid() -> int:
    process = subprocess.Popen([sys.executable, "-c", ""])
    process.wait()
    return process.pid


def test_leftovers_of_dead_runs_are_removed_and_others_kept(tmp_path: Path) -> None:
    out = tmp_path / "out"
    pids = [dead_pid() for _ in range(4)]
    marked, full, foreign, empty = (tmp_path / f".out.new-{pid}" for pid in pids)
    marked.mkdir()
    (marked / ".ladderframe-staging").touch()
    (marked / "half").write_text("half")
    write(full, 1)
    foreign.mkdir()
    (foreign / "mine").touch()
    empty.mkdir()
    alive, other = tmp_path / f".out.new-{os.getppid()}", tmp_path / f".other.new-{pids[0]}"
    for folder in (alive, other, tmp_path / ".out.new-x"):
        folder.mkdir()
        (folder / ".ladderframe-staging").touch()
    write(out, 1)
    kept = {alive.name, other.name, foreign.name, "out", ".out.new-x"}
    assert {entry.name for entry in tmp_path.iterdir()} == kept


def test_our_own_process_number_on_a_leftover_is_of_a_dead_run(tmp_path: Path) -> None:
    """In a container every run may be process 1."""
    left = tmp_path / f".out.new-{os.getpid()}"
    left.mkdir()
    (left / ".ladderframe-staging").touch()
    write(tmp_path / "out", 1)
    assert not left.exists()
    left.mkdir()
    (left / "mine").touch()
    assert refused(tmp_path / "out").files == (str(left),)
    assert (left / "mine").exists()


# --- without an exchange ---


def no_exchange(one: Path, other: Path) -> None:
    raise output_swap.NoExchange


def test_two_renames_do_where_folders_cannot_be_exchanged(tmp_path: Path, monkeypatch: pytest.MonkeyPatch) -> None:
    monkeypatch.setattr(output_swap, "exchange", no_exchange)
    for number in (1, 2, 3):
        write(tmp_path / "out", number)
        assert complete(tmp_path / "out")["number"] == number
        assert [entry.name for entry in tmp_path.iterdir()] == ["out"]


def test_a_refused_second_rename_undoes_the_first(tmp_path: Path, monkeypatch: pytest.MonkeyPatch) -> None:
    out = tmp_path / "out"
    write(out, 1)
    rename = os.rename

    def fail(source: Path, target: Path) -> None:
        if ".new-" in Path(source).name:
            raise OSError(errno.EIO, "planted")
        rename(source, target)

    monkeypatch.setattr(output_swap, "exchange", no_exchange)
    monkeypatch.setattr(os, "rename", fail)
    with pytest.raises(CannotWrite, match="the disk reports an error"):
        write(out, 2)
    assert complete(out)["number"] == 1
    assert [entry.name for entry in tmp_path.iterdir()] == ["out"]


def test_a_call_that_the_system_lacks_is_told_from_one_it_refuses(tmp_path: Path) -> None:
    with pytest.raises(FileNotFoundError):
        output_swap.exchange(tmp_path / "a", tmp_path / "b")
    with pytest.raises(FileNotFoundError):
        output_swap.exchange_or_rename(tmp_path / "a", tmp_path / "b", tmp_path / "c")


def test_an_old_set_left_aside_is_put_back_and_said_so(tmp_path: Path) -> None:
    out, aside = tmp_path / "out", tmp_path / ".out.old"
    assert recover(out) is None
    for act in (recover, preflight):
        write(out, 1)
        assert recover(out) is None
        out.rename(aside)
        note = act(out)
        assert note is not None
        assert "put back" in note
        assert str(out) in note
        assert complete(out)["number"] == 1
        assert [entry.name for entry in tmp_path.iterdir()] == ["out"]
    out.rename(aside)
    with staged(out) as staging:
        assert "put back" in "".join(staging.notes)
    assert complete(out)["number"] == 1


def test_what_only_has_the_name_of_an_old_set_is_left_alone(tmp_path: Path) -> None:
    aside = tmp_path / ".out.old"
    aside.mkdir()
    (aside / "mine").touch()
    assert recover(tmp_path / "out") is None
    write(tmp_path / "out", 1)
    assert (aside / "mine").exists()


# --- signals and kills ---


@pytest.mark.parametrize(
    ("number", "seen"), [(signal.SIGINT, "KeyboardInterrupt None"), (signal.SIGTERM, "Terminated 15"), (signal.SIGHUP, "Terminated 1")]
)
def test_a_signal_during_the_work_leaves_the_old_set_and_nothing_beside(tmp_path: Path, number: int, seen: str) -> None:
    out = tmp_path / "out"
    write(out, 1)
    before = snapshot(tmp_path)
    result = run("interrupted_while_working", str(out), str(int(number)))
    assert result.stdout.strip() == seen, result.stderr
    assert snapshot(tmp_path) == before


def test_a_signal_inside_the_swap_waits_for_it(tmp_path: Path) -> None:
    out = tmp_path / "out"
    write(out, 1)
    result = run("interrupted_while_swapping", str(out))
    assert (result.stdout, result.stderr) == ("done\n", "")
    assert complete(out)["number"] == 2
    assert [entry.name for entry in tmp_path.iterdir()] == ["out"]


def test_a_kill_at_any_moment_leaves_a_whole_set(tmp_path: Path) -> None:
    out = tmp_path / "out"
    write(out, 0)
    moments = random.Random(20240229)
    for _ in range(KILLS):
        with running("write_for_ever", str(out)) as (process, one_set_s):
            time.sleep(moments.uniform(0.0, 2.0) * float(one_set_s))
            process.send_signal(signal.SIGKILL)
            assert process.wait() == -signal.SIGKILL
        manifest = complete(out)
        assert manifest["number"] >= 1
        assert len(manifest["files"]) == PARTS + 1
    write(out, 0)
    assert [entry.name for entry in tmp_path.iterdir()] == ["out"]


@pytest.mark.parametrize("way", ["exchange", "renames"])
def test_a_kill_at_each_step_in_turn_leaves_a_whole_set(tmp_path: Path, way: str) -> None:
    result = run("kill_at_each_step", str(tmp_path / "out"), way)
    assert result.returncode == 0, result.stderr
    rows = [json.loads(line) for line in result.stdout.splitlines()]
    assert len(rows) > 30  # opens, renames and removals of a set of three files
    assert [row["through"] for row in rows] == [False] * (len(rows) - 1) + [True]
    assert all(row["beside"] == [] for row in rows)
    assert {tuple(row["set"]) for row in rows} == {("set 1",), ("set 2",)}
    missing = [row for row in rows if not row["there"]]
    assert len(missing) == (0 if way == "exchange" else 1)
    assert all(row["note"] is not None and row["set"] == ["set 1"] for row in missing)
