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
    # "in" is a word too: only behind a number, at the end of what the brackets hold, is it the unit
    "12 mm (drilled in place)": "12 mm (0.47 in) (drilled in place)",
    "60 mm (2 in each side)": "60 mm (2.4 in) (2 in each side)",
    "13.5 mm (for a bolt 1/2 in)": "13.5 mm (0.53 in) (for a bolt 1/2 in)",
    "40 mm is in the way": "40 mm (1.6 in) is in the way",
    # what is counted or named is no length
    "joint 1, 30 mm from it": "joint 1, 30 mm (1.2 in) from it",
    "rivet 7, 12.7 mm: its hole": "rivet 7, 12.7 mm (0.50 in): its hole",
    "joints 1 and 2, 30 mm on": "joints 1 and 2, 30 mm (1.2 in) on",
    "joints 1, 2 and 3, 30 mm on": "joints 1, 2 and 3, 30 mm (1.2 in) on",
    "pin 4, 12 and 14 mm": "pin 4, 12 and 14 mm (0.47 and 0.55 in)",
    "holes of 13.5, 17.0 mm": "holes of 13.5, 17.0 mm (0.53, 0.67 in)",
    "VSB 6, 30 mm": "VSB 6, 30 mm (1.2 in)",
}

#: A limit keeps its side in inches too: mm / 25.4 by hand, then away from what is forbidden.
LIMITS = {
    "list a sheet of at least 2000 x 140 mm, 6 mm A36": "at least 2000 x 140 mm (78.8 x 5.6 in), 6 mm (0.24 in)",  # 78.740, 5.512, 0.236
    "at least 12.7 mm": "at least 12.7 mm (0.50 in)",  # 0.5 exactly: nothing to round
    "at least the flange's 80 mm": "at least the flange's 80 mm (3.2 in)",  # 3.150
    "2 t + r = 13.0 mm is the least": "13.0 mm (0.52 in) is the least",  # 0.5118
    "move it 30.1 mm or more rearward": "30.1 mm (1.19 in) or more",  # 1.1850
    "x must be more than 300 mm, that of b": "more than 300 mm (11.9 in), that of b",  # 11.811
    "must be 0 (sharp) or at least 3 mm": "at least 3 mm (0.12 in)",  # 0.118
    "at most 50 mm, or another place": "at most 50 mm (1.9 in), or",  # 1.9685
    "at most the bolt + 1.0 mm": "+ 1.0 mm (0.039 in)",  # 0.03937
    "at most about 47 mm, or a seat 10 mm wider": "at most about 47 mm (1.8 in), or a seat 10 mm (0.40 in) wider",  # 1.850; 0.394
    "36 mm higher, or another face": "36 mm (1.5 in) higher",  # 1.417: less would not do
    "were measured 36 mm higher than drawn": "36 mm (1.4 in) higher",  # 1.417: no limit
    "at most 25.4 mm fits here": "at most 25.4 mm (1.00 in) fits",
    "must be less than half of length and of height: 47 mm": "height: 47 mm (1.8 in)",  # 1.850
    "must lie on the pad: less than 47.5 mm": "less than 47.5 mm (1.87 in)",  # 1.87008
    "leaves 0.5 mm, at least 3 mm asked": "leaves 0.5 mm (0.020 in), at least 3 mm (0.12 in) asked",  # 0.01969
    "up to 10.0 mm would do": "up to 10.0 mm (0.39 in) would",  # 0.3937
    "must be 1 to 50 mm": "must be 1 to 50 mm (0.040 to 1.9 in)",  # 0.03937, 1.9685
    "give up between 47.5 and 60.1 mm": "between 47.5 and 60.1 mm (1.88 and 2.36 in)",  # 1.87008, 2.36614
    "give in between -12.0 and -10.0 mm": "between -12.0 and -10.0 mm (-0.47 and -0.40 in)",  # -0.47244, -0.39370: inwards
    "at most 6 mm thick at 30.1 mm": "at most 6 mm (0.23 in) thick at 30.1 mm (1.19 in)",  # 0.2362; 1.1850 to the nearest
}


@pytest.mark.parametrize("text", SAID)
def test_inches_stand_beside_the_mm(text: str) -> None:
    assert beside_inches(text) == SAID[text]
    assert beside_inches(SAID[text]) == SAID[text], "told twice, it says it once"


@pytest.mark.parametrize("text", LIMITS)
def test_a_limit_is_kept_when_it_is_kept_in_inches(text: str) -> None:
    told = beside_inches(text)
    assert LIMITS[text] in told and beside_inches(told) == told


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
