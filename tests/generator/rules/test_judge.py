"""The stage as a whole: the demo job on every demo frame, the list of rules, acceptance, and findings printed together."""

from __future__ import annotations

import json
from dataclasses import replace
from itertools import chain
from pathlib import Path

import pytest

from generator.cli import main
from generator.job import Accept
from generator.kit import judged, together
from generator.rules.judge import RULES, Rules, judge
from parts.errors import LEVELS, Finding
from parts.flat import unfold
from parts.frame import Frame
from parts.frame.frame import Steel, Use
from parts.piece import Piece
from parts.shop import Shop
from tests.families.cases import PAIRS, made
from tests.generator.rules.makers import angle_piece, straight


def held(on: Frame, *pieces: Piece, shop: Shop | None = None) -> Rules:
    shop = shop or Shop()
    return judge(pieces, [unfold(p.part, shop.bend_rule()) for p in pieces], on, shop)


@pytest.mark.parametrize(("job", "frame"), PAIRS)
def test_the_demo_job_meets_no_stop_but_what_its_frame_file_gives_reason_for(job: str, frame: str) -> None:
    """A crack or rust-through that lies where a part goes; a frame declared so that welding to it is refused."""
    read, kit = made(job, frame)
    rules = judge(kit.pieces, kit.flats, read.frame, read.job.shop)
    stops = [f for f in rules.findings if f.level == "stop"]
    reasons = {c.name for c in read.frame.conditions if c.kind in ("crack", "rust-through")}
    assert [f for f in stops if f.code not in ("lands-on-crack", "lands-on-rust") or not any(r in f.message for r in reasons)] == []
    assert all(f.source and f.level in LEVELS and f.message and f.where for f in rules.findings)


@pytest.mark.parametrize(("job", "frame"), PAIRS)
def test_nothing_is_told_twice(job: str, frame: str) -> None:
    read, kit = made(job, frame)
    rules = judge(kit.pieces, kit.flats, read.frame, read.job.shop)
    assert set(rules.findings) & set(kit.findings) == set()
    assert len(set(rules.findings)) == len(rules.findings)
    matters = [(f.code, f.where, f.message) for f in chain(kit.findings, rules.findings)]
    assert len(set(matters)) == len(matters)


def test_every_finding_is_of_a_rule_that_is_listed() -> None:
    listed = [code for rule in RULES for code in rule.codes]
    assert len(set(listed)) == len(listed), "one code, one rule"
    for job, frame in PAIRS:
        read, kit = made(job, frame)
        for use in (Use(road=True, commercial=True), Use(road=False, commercial=False)):
            on = replace(read.frame, use=use, steel=Steel(grade="unknown", heat_treated="unknown"))
            found = judge(kit.pieces, kit.flats, on, Shop(process="plasma", brake_length_mm=100.0)).findings
            assert {f.code for f in found} <= set(listed)


def test_the_table_lists_every_rule_with_its_level_here() -> None:
    (section,) = held(straight(), angle_piece()).sections
    (table,) = section.tables
    assert len(table.rows) == len(RULES)
    levels = {str(row[0]): row[1] for row in table.rows}
    thick = next(key for key in levels if key.startswith("reinforcement no thicker"))
    assert levels[thick] == "note"
    (table,) = held(straight(commercial=True), angle_piece()).sections[0].tables
    assert {str(row[0]): row[1] for row in table.rows}[thick] == "stop, note"
    judged_parts = {str(row[0]): row[4] for row in table.rows}
    assert judged_parts[thick] == 0 and next(v for k, v in judged_parts.items() if k.startswith("leg of a bend")) == 1
    text = json.dumps([list(row) for row in table.rows]) + " ".join(section.notes)
    assert "safe" not in text.lower() and "licensed engineer" in text


def test_an_empty_kit_is_judged_without_a_word() -> None:
    rules = held(straight())
    assert rules.findings == () and all(row[4] == row[5] == 0 for row in rules.sections[0].tables[0].rows)


def test_a_stop_of_a_rule_is_accepted_by_its_code_with_its_reason() -> None:
    """3 mm inside radius in 4 mm of A36: DIN 6935:1975 asks 5."""
    found = held(straight(), angle_piece(radius=3.0)).findings
    assert [(f.code, f.level) for f in judged(found, ()) if f.level == "stop"] == [("inside-radius", "stop")]
    accepted = judged(found, (Accept(code="inside-radius", why="the mill's sheet allows 2.5 mm"),))
    assert [f.level for f in accepted if f.code == "inside-radius"] == ["note"]
    assert any("stop, accepted in the job: the mill's sheet allows 2.5 mm" in f.message for f in accepted)


def test_the_acceptance_stands_in_the_manifest(tmp_path: Path, monkeypatch: pytest.MonkeyPatch, capsys: pytest.CaptureFixture[str]) -> None:
    """The starter job with a sheet too small for its parts: a stop, and a note once it is accepted."""
    monkeypatch.chdir(tmp_path)
    assert main(["new", "truck"]) == 0
    job = tmp_path / "truck" / "job.toml"
    text = job.read_text(encoding="utf-8")
    assert "[[shop.sheet]]" not in text
    small = text + '\n[[shop.sheet]]\nlength = "100 mm"\nwidth = "60 mm"\n'
    job.write_text(small, encoding="utf-8")
    capsys.readouterr()
    assert main(["make", str(job), "--no-solids", "--out", "one"]) == 1
    assert "the largest sheet for it is 100 x 60 mm" in " ".join(capsys.readouterr().out.split())
    job.write_text(small + '\n[[accept]]\ncode = "part-over-sheet"\nwhy = "the shop orders a larger sheet"\n', encoding="utf-8")
    assert main(["make", str(job), "--no-solids", "--out", "two"]) == 0
    manifest = json.loads((tmp_path / "two" / "manifest.json").read_bytes())
    findings = [f for f in manifest["findings"] if f["code"] == "part-over-sheet"]
    assert findings and {f["level"] for f in findings} == {"note"}
    assert all("the shop orders a larger sheet" in f["message"] for f in findings)
    assert len({f["where"] for f in findings}) == len(findings), "the manifest keeps left and right apart"


def test_faults_of_a_sheet_are_told(tmp_path: Path, monkeypatch: pytest.MonkeyPatch, capsys: pytest.CaptureFixture[str]) -> None:
    monkeypatch.chdir(tmp_path)
    assert main(["new", "truck"]) == 0
    job = tmp_path / "truck" / "job.toml"
    one = '\n[[shop.sheet]]\nlength = "2.5 mm"\nwidth = "50 in"\n'
    two = '\n[[shop.sheet]]\nlength = "2500 mm"\nwidth = "50 in"\ngrade = "butter"\n'
    job.write_text(job.read_text(encoding="utf-8") + one + two, encoding="utf-8")
    capsys.readouterr()
    assert main(["check", str(job)]) == 2
    err = capsys.readouterr().err
    assert "shop.sheet number 1: length" in err and "shop.sheet number 2: grade" in err and "butter" in err


# --- printed together ---


def finding(where: str, message: str, **more: str) -> Finding:
    return Finding(code="c", level="note", where=where, message=message, **more)


def test_left_and_right_that_say_the_same_are_one_line() -> None:
    (found,) = together([finding("boxing left", "is long"), finding("boxing right", "is long")])
    assert (found.where, found.message) == ("boxing left and right", "is long")
    (found,) = together([finding("boxing left, bolt-1", "on rail left"), finding("boxing right, bolt-1", "on rail right")])
    assert (found.where, found.message) == ("boxing left and right, bolt-1", "on rail left and right")


def test_parts_that_say_the_same_are_one_line() -> None:
    said = [finding(w, "is long") for w in ("boxing left", "boxing right", "doubler right", "job")]
    (found,) = together(said)
    assert found.where == "boxing left and right, doubler right, job"


@pytest.mark.parametrize(
    "other",
    [finding("boxing right", "is 3 mm long"), finding("boxing right", "is long", remedy="cut it"),
     finding("boxing right", "is long", source="s"), replace(finding("boxing right", "is long"), level="warn"),
     replace(finding("boxing right", "is long"), code="d")],
)  # fmt: skip
def test_what_differs_stays_apart(other: Finding) -> None:
    assert together([finding("boxing left", "is long"), other]) == (finding("boxing left", "is long"), other)


def test_a_message_about_the_other_side_stays_as_it_is() -> None:
    both = [finding("boxing left", "is nearer to rail right"), finding("boxing right", "is nearer to rail right")]
    assert [f.message for f in together(both)] == ["is nearer to rail right"] * len(together(both))
    crossed = [finding("boxing left", "left of rail right"), finding("boxing right", "right of rail left")]
    assert list(together(crossed)) == crossed
