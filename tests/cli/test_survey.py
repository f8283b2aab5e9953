"""`ladderframe survey`: what is typed, what is printed, what is written and what is not."""

from __future__ import annotations

import json
import shutil
from pathlib import Path
from typing import Any

import pytest

from generator.cli import main
from tests.cli.helpers import names_below, python
from tests.parts.frame.makers import DEMO

ORCHARD = "demo:orchard-flatbed"


def printed(capsys: pytest.CaptureFixture[str], *words: str) -> tuple[int, str]:
    code = main(["survey", *words])
    found = capsys.readouterr()
    return code, found.out + found.err


def value(capsys: pytest.CaptureFixture[str], *words: str) -> tuple[int, dict[str, Any]]:
    code = main(["survey", *words, "--json"])
    told: dict[str, Any] = json.loads(capsys.readouterr().out)
    assert told["exit_code"] == code
    return code, told


def copied(tmp_path: Path, name: str = "orchard-flatbed") -> Path:
    """A demo frame in a folder of its own, with its sheet of readings."""
    for path in DEMO.glob("readings-*.csv"):
        shutil.copy(path, tmp_path)
    return Path(shutil.copy(DEMO / f"frame-{name}.toml", tmp_path / "frame.toml"))


def test_damage_is_told_first_and_then_the_verdict(capsys: pytest.CaptureFixture[str]) -> None:
    code, text = printed(capsys, ORCHARD)
    assert code == 0
    places = [text.index(word) for word in ("Damage first", "Verdict on the frame", "What to do, first things first")]
    assert places == sorted(places)
    assert "never on jacks" in text
    assert "safe" not in text.lower()


def test_nothing_is_written_unasked(tmp_path: Path, monkeypatch: pytest.MonkeyPatch, capsys: pytest.CaptureFixture[str]) -> None:
    monkeypatch.chdir(tmp_path)
    for words in ([], ["--form"], ["--against", "found"]):
        assert printed(capsys, ORCHARD, *words)[0] == 0
    assert names_below(tmp_path) == []


def test_what_is_written_is_what_the_manifest_lists(tmp_path: Path, capsys: pytest.CaptureFixture[str]) -> None:
    out = tmp_path / "survey"
    code, told = value(capsys, ORCHARD, "--out", str(out))
    assert code == 0
    manifest = json.loads((out / "manifest.json").read_bytes())
    files = [name for name in names_below(out) if (out / name).is_file()]
    assert sorted([*(f["path"] for f in manifest["files"]), "manifest.json"]) == files
    assert {"survey-above.svg", "survey-side.svg", "survey.txt", "tables/verdict.csv"} <= set(files)
    assert sorted(told["files"]) == sorted(f["path"] for f in manifest["files"])
    assert [i["role"] for i in manifest["inputs"]] == ["frame", "readings"]
    assert manifest["points"]["cp-front-left"]["at_mm"][1] == pytest.approx(-430, abs=5)  # as drawn, to what it may be out


def test_a_folder_with_other_files_is_left_alone(tmp_path: Path, capsys: pytest.CaptureFixture[str]) -> None:
    (tmp_path / "mine.txt").write_text("mine")
    code, text = printed(capsys, ORCHARD, "--out", str(tmp_path))
    assert code == 3
    assert "mine.txt" in text
    assert names_below(tmp_path) == ["mine.txt"]


def test_the_form_and_its_files(tmp_path: Path, capsys: pytest.CaptureFixture[str]) -> None:
    out = tmp_path / "form"
    code, told = value(capsys, "demo:river-wagon", "--form", "--out", str(out))
    assert code == 0
    assert names_below(out) == ["form.txt", "frame-additions.toml", "manifest.json", "readings.csv"]
    assert len(told["form"]) == (out / "readings.csv").read_text().count("\n") - 1
    assert "Level the frame on its stands" in (out / "form.txt").read_text()


@pytest.mark.parametrize("name", ["readings.csv", "frame-additions.toml", "form.txt"])
@pytest.mark.parametrize("again", [["survey", "FRAME", "--form"], ["survey", "FRAME"], ["make", "JOB", "--no-solids"]], ids=" ".join)
def test_a_form_that_was_filled_in_is_not_written_over(
    again: list[str], name: str, tmp_path: Path, capsys: pytest.CaptureFixture[str]
) -> None:
    """By no command: a day's readings would be gone."""
    out = tmp_path / "form"
    given = {"FRAME": "demo:river-wagon", "JOB": "demo:orchard-flatbed"}
    assert main(["survey", "demo:river-wagon", "--form", "--out", str(out)]) == 0
    (out / name).write_text((out / name).read_text() + "# 860.5\n")
    before = {n: (out / n).read_bytes() for n in names_below(out)}
    capsys.readouterr()
    code = main([*(given.get(word, word) for word in again), "--out", str(out)])
    said = capsys.readouterr().err
    assert code == 3
    assert "has been filled in or changed since it was written" in said
    assert name in said
    assert "another folder" in said
    assert {n: (out / n).read_bytes() for n in names_below(out)} == before


def test_a_form_as_it_was_written_is_written_anew(tmp_path: Path, capsys: pytest.CaptureFixture[str]) -> None:
    """Also where its text was copied out, or a file of it was thrown away."""
    out = tmp_path / "form"
    for _ in range(2):
        assert printed(capsys, "demo:river-wagon", "--form", "--out", str(out))[0] == 0
        (out / "form.txt").unlink()
    assert printed(capsys, "demo:river-wagon", "--form", "--out", str(out))[0] == 0
    assert (out / "form.txt").is_file()


def test_a_later_set_against_the_first(capsys: pytest.CaptureFixture[str]) -> None:
    """The orchard flatbed's plates are tacked in its second set; without --set that is the one that is held against the first."""
    code, told = value(capsys, ORCHARD, "--against", "found")
    assert code == 0
    assert told["set"] == "tacked"
    assert told["against"]["set"] == "found"
    assert told["against"]["alike"] == []
    assert told["sections"][0]["title"] == "Again, later: set 'tacked' against 'found'"


def test_another_file_of_the_same_frame(tmp_path: Path, capsys: pytest.CaptureFixture[str]) -> None:
    """The same readings under another path: nothing moved, exactly."""
    frame = copied(tmp_path)
    code, told = value(capsys, ORCHARD, "--set", "found", "--against", str(frame))
    assert code == 0
    assert told["against"]["moved"] == []
    for point in told["against"]["points"].values():
        assert point["by_mm"] == pytest.approx([0.0, 0.0, 0.0], abs=1e-6)
    assert len(told["inputs"]) == 3  # one sheet of readings, the same bytes and name


@pytest.mark.parametrize(
    ("words", "said"),
    [
        (["--set", "tackt"], "nearest: tacked"),
        (["--against", "fund"], "the sets of"),
        (["--set", "found", "--against", "found"], "is held against itself"),
        (["--set", "found", "--against", "tacked"], "--set tacked --against found"),
        (["--against", "tacked"], "is the last set that has readings"),
        (["--form", "--set", "=1+1"], "is not a name"),
        (["--form", "--against", "found"], "nothing yet to hold against others"),
        (["--form", "--set", "tackt"], "known: found, tacked"),
    ],
)
def test_what_cannot_be_asked(words: list[str], said: str, capsys: pytest.CaptureFixture[str]) -> None:
    code, text = printed(capsys, ORCHARD, *words)
    assert code == 2
    assert said in text
    assert "Traceback" not in text


def test_a_name_that_is_a_set_and_a_file(tmp_path: Path, monkeypatch: pytest.MonkeyPatch, capsys: pytest.CaptureFixture[str]) -> None:
    frame = copied(tmp_path)
    (tmp_path / "found").write_text("anything")
    monkeypatch.chdir(tmp_path)
    code, text = printed(capsys, frame.name, "--against", "found")
    assert code == 2
    assert "write ./found for the file" in text


def test_lines_that_are_blank_are_left_out_with_their_count(tmp_path: Path, capsys: pytest.CaptureFixture[str]) -> None:
    frame = copied(tmp_path)
    assert "no value in" not in printed(capsys, str(frame))[1]
    sheet = tmp_path / "readings-orchard-flatbed.csv"
    text = sheet.read_text(encoding="utf-8")
    lines = [line.replace(",860.5,", ",,") for line in text.splitlines() if not line.startswith("#")]
    count = sum(a != b for a, b in zip(lines, [n for n in text.splitlines() if not n.startswith("#")], strict=True))
    assert count > 1
    sheet.write_text("\n".join(lines), encoding="utf-8")
    code, said = printed(capsys, str(frame))
    assert code == 0
    assert f"{count} lines have no value in readings-orchard-flatbed.csv" in " ".join(said.split())


def test_every_fault_of_the_frame_file_is_told(tmp_path: Path, capsys: pytest.CaptureFixture[str]) -> None:
    frame = copied(tmp_path)
    frame.write_text(frame.read_text(encoding="utf-8").replace('stage = "tacked"', 'stage = "tackd"', 1), encoding="utf-8")
    code, text = printed(capsys, str(frame))
    assert code == 2
    assert "stage" in text


def test_out_by_the_users_own_limit_stops(tmp_path: Path, capsys: pytest.CaptureFixture[str]) -> None:
    """The mill pickup is out of level by some millimetres; held to 3 mm by the user it is a stop, exit code 1."""
    frame = copied(tmp_path, "mill-pickup")
    code, told = value(capsys, str(frame))
    levels = {f["code"]: f["level"] for f in told["findings"]}
    assert levels["frame-out-level"] == "warn"
    assert code == 0
    text = frame.read_text(encoding="utf-8")
    at = text.index("\n[[rail]]")
    frame.write_text(text[:at] + '\n[limits]\nlevel = "3 mm"\n' + text[at:], encoding="utf-8")
    code, told = value(capsys, str(frame))
    assert code == 1
    assert {f["code"]: f["level"] for f in told["findings"]}["frame-out-level"] == "stop"


def test_the_same_bytes_twice(tmp_path: Path, capsys: pytest.CaptureFixture[str]) -> None:
    for name in ("one", "two"):
        printed(capsys, "demo:mill-pickup", "--out", str(tmp_path / name))
    one, two = tmp_path / "one", tmp_path / "two"
    assert names_below(one) == names_below(two)
    for name in names_below(one):
        if (one / name).is_file():
            assert (one / name).read_bytes() == (two / name).read_bytes(), name


def test_neither_kernel_nor_dxf_are_loaded(tmp_path: Path) -> None:
    code = (
        "import sys; from generator.cli import main; main(['survey', 'demo:orchard-flatbed', '--out', 'out']);"
        "print([m for m in ('cadquery', 'OCP', 'ezdxf', 'scipy') if m in sys.modules])"
    )
    done = python(code, folder=tmp_path)
    assert done.stdout.splitlines()[-1] == "[]", done.stderr
