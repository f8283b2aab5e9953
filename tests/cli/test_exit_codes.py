"""Exit codes and what is printed where, as a script that calls the program sees them."""

from __future__ import annotations

import json
import re
import subprocess
import sys
from pathlib import Path

import pytest

from generator.cli import main
from tests.cli.helpers import ROOT, environment, ladderframe, names_below

DEMO = "demo:orchard-flatbed"
BROKEN_LIBRARY = 'raise ImportError("libGL.so.1: cannot open shared object file: No such file or directory")\n'


@pytest.fixture(autouse=True)
def _here(tmp_path: Path, monkeypatch: pytest.MonkeyPatch) -> None:
    monkeypatch.chdir(tmp_path)


@pytest.mark.parametrize(
    "line",
    ["", "nonsense", "make", f"make {DEMO} --unknown", f"check {DEMO} two", "schema bolt", "kinds bolt", f"make {DEMO} --only zz"],
)
def test_usage_is_exit_2_and_says_what_would_do(line: str, tmp_path: Path, capfd: pytest.CaptureFixture[str]) -> None:
    assert main(line.split()) == 2
    out, err = capfd.readouterr()
    assert (out + err).strip() and "Traceback" not in out + err
    assert names_below(tmp_path) == []


@pytest.mark.parametrize("command", ["check", "make"])
def test_a_stop_is_exit_1(command: str, tmp_path: Path, monkeypatch: pytest.MonkeyPatch, capsys: pytest.CaptureFixture[str]) -> None:
    """A stop planted in the findings: the set is made, the stop comes first, the exit code says it."""
    import generator.pipeline
    from generator.kit import judged
    from parts.errors import Finding

    planted = (
        Finding(code="a-note", level="note", where="x", message="a note"),
        Finding(code="a-stop", level="stop", where="x", message="planted", source="this test"),
    )
    monkeypatch.setattr(generator.pipeline, "judged", lambda found, accepted: judged((*found, *planted), accepted))
    extra = ["--no-solids"] if command == "make" else []
    assert main([command, DEMO, *extra]) == 1
    out = capsys.readouterr().out
    assert "1 stop" in out
    assert out.index("planted") < out.index("a note")


def test_make_prints_what_was_made_and_nothing_to_stderr_without_a_terminal(tmp_path: Path) -> None:
    done = ladderframe("demo", "--no-solids", folder=tmp_path)
    assert (done.returncode, done.stderr) == (0, "")
    assert "ladderframe-orchard-flatbed" in done.stdout
    assert "left out: STEP models, as asked" in done.stdout
    assert "never on jacks" in done.stdout
    assert "safe" not in done.stdout.lower()


def test_json_is_one_document(tmp_path: Path) -> None:
    done = ladderframe("demo", "--no-solids", "--json", folder=tmp_path)
    assert done.returncode == 0
    value = json.loads(done.stdout)
    folder = tmp_path / value["out"]
    assert sorted(value["files"]) == sorted(n for n in names_below(folder) if (folder / n).is_file())
    assert value["exit_code"] == 0 and value["sections"] and value["left_out"]
    assert {"code", "level", "where", "message"} <= set((value["findings"] or [{"code": 0, "level": 0, "where": 0, "message": 0}])[0])


def test_each_frame_and_selection_gets_a_folder_of_its_own(tmp_path: Path) -> None:
    import generator.cli as cli

    job = "work/job-a b.toml"
    names = [
        cli._default_out(job, None, ()),
        cli._default_out(job, "demo:river-wagon", ()),
        cli._default_out(job, None, ("one",)),
        cli._default_out(job, None, ("two",)),
    ]
    endings = ("", "-on-river-wagon", "-only-one", "-only-two")
    assert names == [Path(f"ladderframe-a-b{ending}") for ending in endings]


def test_where_it_cannot_write_is_exit_3_and_names_what_is_in_the_way(tmp_path: Path, capsys: pytest.CaptureFixture[str]) -> None:
    (tmp_path / "mine").mkdir()
    (tmp_path / "mine" / "letter.txt").write_text("dear", encoding="utf-8")
    assert main(["demo", "--no-solids", "--out", "mine"]) == 3
    assert "letter.txt" in capsys.readouterr().err
    assert names_below(tmp_path) == ["mine", "mine/letter.txt"]
    assert main(["new", "mine"]) == 3
    assert "letter.txt" in capsys.readouterr().err or names_below(tmp_path) == ["mine", "mine/letter.txt"]
    (tmp_path / "file").write_text("x", encoding="utf-8")
    assert main(["new", "file"]) == 3
    assert main(["demo", "--no-solids", "--out", "no/such/parent"]) == 3


def test_what_new_writes_can_be_made_at_once(tmp_path: Path, capsys: pytest.CaptureFixture[str]) -> None:
    assert main(["new", "truck"]) == 0
    assert names_below(tmp_path) == ["truck", "truck/frame.toml", "truck/job.toml"]
    assert "ladderframe make truck/job.toml" in capsys.readouterr().out
    assert main(["make", "truck/job.toml", "--no-solids"]) == 0
    assert (tmp_path / "ladderframe-truck" / "manifest.json").is_file()


def test_without_the_kernels_library_the_rest_is_made_and_the_line_to_type_is_given(tmp_path: Path) -> None:
    (tmp_path / "broken" / "OCP").mkdir(parents=True)
    (tmp_path / "broken" / "OCP" / "__init__.py").write_text(BROKEN_LIBRARY, encoding="utf-8")
    path = f"{tmp_path / 'broken'}:{ROOT}"
    done = ladderframe("demo", "--out", "kit", folder=tmp_path, changes={"PYTHONPATH": path})
    assert done.returncode == 1, done.stderr
    assert "libGL.so.1" in done.stdout and "apt-get install" in done.stdout and "libgl1" in done.stdout
    assert "left out: STEP models" in done.stdout and "Traceback" not in done.stdout + done.stderr
    names = names_below(tmp_path / "kit")
    assert any(n.startswith("dxf/") for n in names) and "manifest.json" in names
    assert not any(n.startswith("step/") for n in names)


def test_a_reader_that_has_seen_enough_ends_it_quietly(tmp_path: Path) -> None:
    done = subprocess.run(
        ["bash", "-c", f"'{sys.executable}' -m generator.entry schema | head -c 10; exit ${{PIPESTATUS[0]}}"],
        cwd=tmp_path, env=environment(), capture_output=True, encoding="utf-8", timeout=60, check=False,
    )  # fmt: skip
    assert len(done.stdout) == 10
    assert (done.returncode, done.stderr) == (0, "")


def test_a_fault_of_the_program_itself_is_one_line(monkeypatch: pytest.MonkeyPatch, capsys: pytest.CaptureFixture[str]) -> None:
    import generator.kinds

    monkeypatch.delenv("LADDERFRAME_TRACEBACK", raising=False)
    monkeypatch.setattr(generator.kinds, "kinds", lambda only: 1 / 0)
    assert main(["kinds"]) == 1
    out, err = capsys.readouterr()
    assert out == "" and len(err.splitlines()) == 1 and "ZeroDivisionError" in err
    monkeypatch.setenv("LADDERFRAME_TRACEBACK", "1")
    with pytest.raises(ZeroDivisionError):
        main(["kinds"])


def test_the_frames_that_help_names_are_there(capsys: pytest.CaptureFixture[str]) -> None:
    assert main(["demo", "--help"]) == 0
    named = set(re.findall(r"demo:([\w-]+)", capsys.readouterr().out)) - {"NAME"}
    frames = {p.stem.removeprefix("frame-") for p in (ROOT / "generator" / "demo").glob("frame-*.toml")}
    assert named == frames - {"orchard-flatbed"}


def test_kinds_lists_every_family_and_parameter(capsys: pytest.CaptureFixture[str]) -> None:
    from parts.families import FAMILIES
    from parts.spec import file_key, specs_of

    assert main(["kinds"]) == 0
    out = capsys.readouterr().out
    for name, family in FAMILIES.items():
        assert name in out
        for field, spec in specs_of(family).items():
            assert file_key(field, spec) in out and spec.help in out


@pytest.mark.parametrize("kind", ["job", "frame"])
def test_schema_prints_json(kind: str, capsys: pytest.CaptureFixture[str]) -> None:
    assert main(["schema", kind]) == 0
    value = json.loads(capsys.readouterr().out)
    assert value["$schema"].startswith("https://json-schema.org/") and value["properties"]["units"]
