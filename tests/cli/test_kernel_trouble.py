"""What the kernel cannot make ends as a finding that names the part; the rest of the kit is made."""

from __future__ import annotations

import json
import math
from collections.abc import Sequence
from dataclasses import replace
from pathlib import Path
from typing import Any

import pytest

import generator.solids
from generator.cli import main
from parts.holes import Hole
from parts.piece import Piece


def with_nan(piece: Piece) -> Piece:
    """The piece with a hole at NaN in its root panel, as no check would let it through."""
    root = piece.part.panels[0]
    bad = replace(root, holes=(*root.holes, Hole(name="nowhere", x_mm=math.nan, y_mm=10.0, diameter_mm=8.0)))
    return replace(piece, part=replace(piece.part, panels=(bad, *piece.part.panels[1:])))


def test_a_nan_that_reaches_the_kernel_costs_one_part(
    tmp_path: Path, monkeypatch: pytest.MonkeyPatch, capsys: pytest.CaptureFixture[str]
) -> None:
    monkeypatch.chdir(tmp_path)
    real = generator.solids.make_solids

    def spoiled(kernel: Any, staging: Any, pieces: Sequence[Piece], *rest: Any) -> Any:
        return real(kernel, staging, (with_nan(pieces[0]), *pieces[1:]), *rest)

    monkeypatch.setattr(generator.solids, "make_solids", spoiled)
    assert main(["demo", "--out", "kit", "--json"]) == 1
    value = json.loads(capsys.readouterr().out)
    manifest = json.loads((tmp_path / "kit" / "manifest.json").read_bytes())
    first, *others = manifest["parts"]
    assert first["files"]["step"] is None and first["files"]["dxf"] is not None
    assert others and all((tmp_path / "kit" / p["files"]["step"]).is_file() for p in others)
    assert (tmp_path / "kit" / manifest["assembly"]).is_file()
    assert value["left_out"] == [f"step/{first['id']}.step"]
    stops = [f for f in value["findings"] if f["level"] == "stop"]
    assert len(stops) == 1 and first["id"] in stops[0]["where"] and stops[0] in manifest["findings"]


def test_a_solid_of_another_volume_than_its_flat_pattern_is_a_stop(
    tmp_path: Path, monkeypatch: pytest.MonkeyPatch, capsys: pytest.CaptureFixture[str]
) -> None:
    """One hole less in the solid, planted here, and the law of volumes names the part."""
    monkeypatch.chdir(tmp_path)
    real = generator.solids.make_solids
    named = []

    def spoiled(kernel: Any, staging: Any, pieces: Sequence[Piece], *rest: Any) -> Any:
        number = next(i for i, p in enumerate(pieces) if p.part.panels[0].holes)
        piece = pieces[number]
        fewer = replace(piece.part.panels[0], holes=piece.part.panels[0].holes[1:])
        named.append(piece.id)
        bad = replace(piece, part=replace(piece.part, panels=(fewer, *piece.part.panels[1:])))
        return real(kernel, staging, (*pieces[:number], bad, *pieces[number + 1 :]), *rest)

    monkeypatch.setattr(generator.solids, "make_solids", spoiled)
    assert main(["demo", "--out", "kit", "--json"]) == 1
    findings = json.loads(capsys.readouterr().out)["findings"]
    assert [(f["code"], f["where"]) for f in findings if f["level"] == "stop"] == [("volume-law", named[0])]
