"""`ladderframe adapt` as it is typed: every demo job on every demo frame, the file that is written, and what is never written over."""

from __future__ import annotations

import difflib
import json
import threading
import tomllib
from pathlib import Path

import pytest

from generator.cli import main
from generator.files.source import DEMO_FOLDER
from generator.output_file import write_file
from generator.output_folder import CannotWrite
from tests.cli.helpers import ladderframe, names_below
from tests.families.cases import FRAMES, JOBS
from tests.generator.adapt.makers import bare_flatbed, demo_text, shallow, without

LONG = "orchard-long-boxing"  #: seconds a build: on one other frame only
PAIRS = [(j, f) for j in JOBS for f in FRAMES if f != "orchard-flatbed" and (j != LONG or f == "mill-pickup")]


@pytest.mark.parametrize(("job", "frame"), PAIRS)
def test_every_demo_job_goes_onto_every_demo_frame(job: str, frame: str, tmp_path: Path, capsys: pytest.CaptureFixture[str]) -> None:
    """They are written to carry over with no edit: only the frame's line differs, so `check` finds what `check --frame` does."""
    out = tmp_path / "job.toml"
    code = main(["adapt", f"demo:{job}", "--frame", f"demo:{frame}", "--out", str(out), "--json"])
    value = json.loads(capsys.readouterr().out)
    words = {False: {"carries over unchanged", "carries over, other sizes"}, True: {"can be built, but is stopped there"}}
    assert value["fits"] and all(p["verdict"] in words[bool(p["new_stops"])] for p in value["parts"])
    stops = any(f["level"] == "stop" for f in value["findings"])
    assert code == value["exit_code"] == (1 if stops else 0)
    old, new = demo_text("job", job), out.read_text(encoding="utf-8")
    gone = [line[2:] for line in difflib.ndiff(old.splitlines(), new.splitlines()) if line.startswith("- ")]
    assert gone == ['frame = "demo:orchard-flatbed"']
    assert tomllib.loads(new) == {**tomllib.loads(old), "frame": f"demo:{frame}"}


def test_the_other_frames_readings_are_among_what_was_read(capsys: pytest.CaptureFixture[str]) -> None:
    """The parts are made for the rails as those readings have them: they are told by their hashes like the frame."""
    main(["adapt", "demo:orchard-lines", "--frame", "demo:mill-pickup", "--json"])
    files = {(one["role"], one["name"]) for one in json.loads(capsys.readouterr().out)["inputs"]}
    assert {("frame", "demo:mill-pickup"), ("readings", "readings-mill-pickup.csv")} <= files


def test_what_no_longer_fits_is_changed_marked_and_checked(tmp_path: Path, capsys: pytest.CaptureFixture[str]) -> None:
    """The frame lies elsewhere, so the job names it as a file beside itself, and says that it has to be copied there."""
    other = tmp_path / "found" / "frame-low.toml"
    other.parent.mkdir()
    other.write_text(shallow(120), encoding="utf-8")
    out = tmp_path / "shop" / "adapted.toml"
    out.parent.mkdir()
    assert main(["adapt", "demo:orchard-lines", "--frame", str(other), "--out", str(out)]) == 0
    said = capsys.readouterr().out
    assert f"copy {other} to {out.parent}" in said and "fits with changes" in said and "drop" in said
    assert main(["check", str(out)]) == 2  # it is not there yet
    (out.parent / other.name).write_bytes(other.read_bytes())
    assert main(["check", str(out)]) == 0
    assert "# adapted: drop was 80: " in out.read_text(encoding="utf-8")
    assert main(["adapt", "demo:orchard-lines", "--frame", str(other), "--out", str(other.parent / "beside.toml")]) == 0
    assert "copy" not in capsys.readouterr().out.split("The adapted job")[1]
    assert tomllib.loads((other.parent / "beside.toml").read_text(encoding="utf-8"))["frame"] == other.name


def test_a_part_that_does_not_fit_ends_in_one_and_is_kept_as_a_comment(tmp_path: Path, capsys: pytest.CaptureFixture[str]) -> None:
    text = bare_flatbed()
    for n in range(1, 5):
        text = without(text, "hole", f"hanger-front-{n}")
    other = tmp_path / "other.toml"
    other.write_text(without(text, "condition", "loose-hanger-rivet"), encoding="utf-8")
    out = tmp_path / "job.toml"
    assert main(["adapt", "demo:orchard-springs", "--frame", str(other), "--out", str(out)]) == 1
    assert "does not fit" in capsys.readouterr().out
    written = out.read_text(encoding="utf-8")
    assert "part" not in tomllib.loads(written) and '# family = "spring_doubler"' in written
    assert main(["check", str(out)]) == 0  # it reads, though nothing is left of it
    capsys.readouterr()


def test_without_out_it_only_tells(tmp_path: Path) -> None:
    run = ladderframe("adapt", "demo:orchard-springs", "--frame", "demo:river-wagon", folder=tmp_path)
    assert (run.returncode, run.stderr) == (0, "")
    assert "nothing was written: --out FILE writes the adapted job" in run.stdout
    assert names_below(tmp_path) == []


@pytest.mark.parametrize("there", ["file", "folder", "link", "dangling link"])
def test_nothing_is_written_over(there: str, tmp_path: Path, capsys: pytest.CaptureFixture[str]) -> None:
    out = tmp_path / "job.toml"
    if there == "file":
        out.write_text("mine")
    elif there == "folder":
        out.mkdir()
    else:
        target = tmp_path / "target"
        if there == "link":
            target.write_text("mine")
        out.symlink_to(target)
    before = names_below(tmp_path)
    assert main(["adapt", "demo:orchard-springs", "--frame", "demo:river-wagon", "--out", str(out)]) == 3
    assert "it is there already" in capsys.readouterr().err
    assert names_below(tmp_path) == before
    assert there != "file" or out.read_text() == "mine"


def test_of_two_runs_that_write_one_file_at_once_one_does(tmp_path: Path) -> None:
    """Both have seen that nothing is there; the second to finish must not replace what the first wrote."""
    out = tmp_path / "job.toml"
    start = threading.Barrier(8)
    done: list[bytes] = []

    def write(data: bytes) -> None:
        start.wait()
        try:
            write_file(out, data)
        except CannotWrite:
            return
        done.append(data)

    for _ in range(20):
        threads = [threading.Thread(target=write, args=(bytes([65 + i]) * 100_000,)) for i in range(8)]
        for t in threads:
            t.start()
        for t in threads:
            t.join()
        assert [out.read_bytes()] == done
        assert names_below(tmp_path) == ["job.toml"]
        done.clear()
        out.unlink()


@pytest.mark.parametrize(
    ("arguments", "code", "said"),
    [
        (["adapt", "demo:orchard-springs"], 2, "--frame"),
        (["adapt", "demo:orchard-springs", "--frame", "demo:river-wagen"], 2, "river-wagon"),
        (["adapt", "demo:orchard-spring", "--frame", "demo:river-wagon"], 2, "orchard-springs"),
        (["adapt", "demo:orchard-springs", "--frame", "demo:river-wagon", "--out", "no/such/job.toml"], 3, "does not exist"),
    ],
)
def test_bad_usage(arguments: list[str], code: int, said: str, tmp_path: Path) -> None:
    run = ladderframe(*arguments, folder=tmp_path)
    assert run.returncode == code and said in run.stderr
    assert names_below(tmp_path) == []


def test_the_demo_folder_is_where_the_tests_think() -> None:
    assert (DEMO_FOLDER / "job-orchard-springs.toml").is_file()
