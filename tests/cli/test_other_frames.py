"""The demo job goes onto the other two demo frames with `--frame` and no edit; what no longer fits is a finding, not a crash."""

from __future__ import annotations

import json
import re
import tomllib
from pathlib import Path

import pytest

from generator.cli import main
from tests.cli.helpers import ROOT
from tests.families.cases import FRAMES, TWIN

DEMO = ROOT / "generator" / "demo"
OTHERS = sorted(set(FRAMES) - {"orchard-flatbed"})


def test_there_are_two_others() -> None:
    assert len(OTHERS) == 2


def test_on_the_twin_of_unknown_steel_every_weld_is_a_stop(capsys: pytest.CaptureFixture[str]) -> None:
    """It is the flatbed but for what is said of its steel; only the bolted plate is left standing."""
    own, twin = (tomllib.loads((DEMO / f"frame-{name}.toml").read_text(encoding="utf-8")) for name in ("orchard-flatbed", TWIN))
    assert {k for k in own if own[k] != twin[k]} == {"name", "steel"}
    assert twin["steel"]["heat_treated"] == "unknown"
    assert main(["check", "demo:orchard-flatbed", "--frame", f"demo:{TWIN}", "--json"]) == 1
    findings = json.loads(capsys.readouterr().out)["findings"]
    stopped = {f["where"] for f in findings if f["code"] == "weld-heat-treated" and f["level"] == "stop"}
    assert stopped == {f"{part} {side}" for part in ("boxing", "hanger-doubler", "gearbox-seat") for side in ("left", "right")}


def test_the_demo_job_uses_named_positions_only() -> None:
    text = (DEMO / "job-orchard-flatbed.toml").read_text(encoding="utf-8")
    assert re.findall(r"\{\s*x\s*=", text) == []


@pytest.mark.parametrize("frame", OTHERS)
def test_every_part_is_made_on_it(frame: str, tmp_path: Path, monkeypatch: pytest.MonkeyPatch, capsys: pytest.CaptureFixture[str]) -> None:
    monkeypatch.chdir(tmp_path)
    code = main(["demo", "--frame", f"demo:{frame}", "--no-solids", "--json"])
    value = json.loads(capsys.readouterr().out)
    stops = [f for f in value["findings"] if f["level"] == "stop"]
    assert code == (1 if stops else 0)
    assert value["out"] == f"ladderframe-orchard-flatbed-on-{frame}"
    manifest = json.loads((tmp_path / value["out"] / "manifest.json").read_bytes())
    assert [s["name"] for s in manifest["inputs"]][:2] == ["demo:orchard-flatbed", f"demo:{frame}"]
    wanted = {p["id"] for p in tomllib.loads((DEMO / "job-orchard-flatbed.toml").read_text(encoding="utf-8"))["part"]}
    made = {p["id"] for p in manifest["parts"]}
    assert {w for w in wanted if not any(m == w or m.startswith(f"{w}-") for m in made)} == set()
