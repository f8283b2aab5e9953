"""What a fabricator with a frame whose sides differ sees: whether one shape serves both, part by part, on the screen and in a list."""

from __future__ import annotations

import csv
import json
from pathlib import Path

import pytest

from generator.cli import main
from generator.files.source import DEMO_FOLDER

JOB = ["demo:orchard-flatbed", "--frame", "demo:mill-pickup"]
PAIRS = {"boxing-left, boxing-right", "front-doubler-left, front-doubler-right", "gearbox-seat-left, gearbox-seat-right"}


def drawn(folder: Path) -> list[str]:
    """The same job on the same frame before anybody measured it."""
    text = (DEMO_FOLDER / "frame-mill-pickup.toml").read_text(encoding="utf-8").partition("[[set]]")[0]
    frame = folder / "frame-pickup.toml"
    frame.write_text("".join(line for line in text.splitlines(keepends=True) if not line.startswith("readings_file")), encoding="utf-8")
    return [*JOB[:-1], str(frame)]


def test_check_says_for_every_pair_whether_one_shape_serves_both(tmp_path: Path, capsys: pytest.CaptureFixture[str]) -> None:
    """The right rail's pin-rear lies 5 mm further forward and 3 mm higher, its pin-front as on the left: no shape has both."""
    job = drawn(tmp_path)
    assert main(["check", *job, "--json"]) == 0
    sections = json.loads(capsys.readouterr().out)["sections"]
    (section,) = [s for s in sections if s["title"] == "Fit on the rails as drawn, whose sides differ"]
    table = next(t for t in section["tables"] if t["name"] == "fit_pairs")
    rows = {row[0]: row for row in table["rows"]}
    assert rows.keys() >= PAIRS
    assert rows["boxing-left, boxing-right"][2].startswith("cut handed: hole pin-")
    # 1 mm deeper, so 1 mm between an edge and its like, half of it above and below
    doubler = rows["front-doubler-left, front-doubler-right"]
    assert doubler[2].startswith("one shape serves both") and doubler[2].endswith("shifted 0.5 mm up")
    assert (doubler[3], doubler[4]) == pytest.approx((0.5, 0.5), abs=0.01)
    assert main(["check", *job]) == 0
    assert "cut handed: hole pin-" in capsys.readouterr().out


def test_on_the_frame_as_found_what_the_readings_cannot_decide_is_not_told(capsys: pytest.CaptureFixture[str]) -> None:
    """Pins drawn 5 mm apart are not made one by readings good to 1.3 mm; a 0.5 mm step, drawn, is no longer known after them."""
    assert main(["check", *JOB, "--json"]) == 0
    (section,) = [s for s in json.loads(capsys.readouterr().out)["sections"] if s["title"] == "Fit on the rails as found"]
    rows = {row[0]: row for row in next(t for t in section["tables"] if t["name"] == "fit_pairs")["rows"]}
    assert rows["boxing-left, boxing-right"][2].startswith("cut handed: hole pin-rear")
    assert rows["front-doubler-left, front-doubler-right"][2].startswith("cannot tell: hole bolt-")


def test_make_writes_it_as_a_list(tmp_path: Path, capsys: pytest.CaptureFixture[str]) -> None:
    out = tmp_path / "out"
    assert main(["make", *JOB, "--no-solids", "--out", str(out)]) == 0
    text = (out / "tables" / "fit_pairs.csv").read_text(encoding="utf-8")
    rows = list(csv.DictReader(text.splitlines()))
    assert {row["pieces"] for row in rows} >= PAIRS
    assert "tables/fit_pairs.csv" in (out / "manifest.json").read_text(encoding="utf-8")
    capsys.readouterr()


def test_on_a_frame_whose_sides_are_alike_nothing_is_said(capsys: pytest.CaptureFixture[str]) -> None:
    assert main(["check", "demo:orchard-flatbed", "--json"]) == 0
    assert not [s for s in json.loads(capsys.readouterr().out)["sections"] if s["title"].startswith("Fit")]
