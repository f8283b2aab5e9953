"""Lengths in sentences for a reader who works in inches. One inch is 25.4 mm exactly (international yard and pound agreement of 1959);
each figure below is worked by hand: mm / 25.4, rounded to one digit more than the mm have.
"""

from __future__ import annotations

import re
from pathlib import Path

import pytest
from click.testing import CliRunner

from generator.cli import cli
from generator.cli import main as command
from generator.inches import beside_inches

SAID = {
    "leaves 12.5 mm to the edge": "leaves 12.5 mm (0.49 in) to the edge",
    "a slot of 140 x 60 mm": "a slot of 140 x 60 mm (5.5 x 2.4 in)",
    "must be 0.5 to 25 mm": "must be 0.5 to 25 mm (0.020 to 0.98 in)",
    "at 6, 8 and 10 mm": "at 6, 8 and 10 mm (0.24, 0.31 and 0.39 in)",
    "their middles at y -311.5, y -259.4 mm": "their middles at y -311.5, y -259.4 mm (-12.26, y -10.21 in)",
    "at x 1066.5, z 609.6 mm": "at x 1066.5, z 609.6 mm (41.99, z 24.00 in)",
    "moved -4.2 mm": "moved -4.2 mm (-0.17 in)",
    "3 t + r = 13 mm.": "3 t + r = 13 mm (0.51 in).",
    "at least 1.5 t": "at least 1.5 t",
    "an area of 30 mm2, 40 mm/s and 50 mm²": "an area of 30 mm2, 40 mm/s and 50 mm²",
    "M12 x 40 8.8": "M12 x 40 8.8",
    "12.7 mm (1/2 in) wide": "12.7 mm (1/2 in) wide",
    "1/2 in (+0.4 mm)": "1/2 in (+0.4 mm)",
    'thickness: "60 mm": too thick': 'thickness: "60 mm": too thick',
    "60 mm is 2.362 in: check the unit": "60 mm is 2.362 in: check the unit",
    "a gap of 0 mm": "a gap of 0 mm (0.0 in)",
    "hole-6 mm-wide": "hole-6 mm-wide",
}


@pytest.mark.parametrize("text", SAID)
def test_inches_stand_beside_the_mm(text: str) -> None:
    assert beside_inches(text) == SAID[text]
    assert beside_inches(SAID[text]) == SAID[text], "told twice, it says it once"


@pytest.mark.parametrize("text", SAID)
def test_what_was_there_stays(text: str) -> None:
    assert re.sub(r" \([^()]*\bin\)", "", beside_inches(text)) == re.sub(r" \([^()]*\bin\)", "", text)


def test_a_job_in_inches_is_told_in_inches_too(tmp_path: Path, capsys: pytest.CaptureFixture[str]) -> None:
    assert CliRunner().invoke(cli, ["new", str(tmp_path / "job")]).exit_code == 0
    job = next((tmp_path / "job").glob("*job*.toml"))
    text = job.read_text(encoding="utf-8")
    assert 'units = "mm"' in text
    thick = re.sub(r"(?m)^thickness *= *[^#\n]+", 'thickness = "60 mm"', text, count=1)
    for units, told in (("mm", False), ("in", True)):
        job.write_text(thick.replace('units = "mm"', f'units = "{units}"'), encoding="utf-8")
        assert command(["check", str(job)]) == 2
        assert ("25 mm (0.020 to 0.98 in)" in capsys.readouterr().err) is told
