"""One job in fractional inches and its twin in millimetres: the same geometry. 1 in = 25.4 mm exactly."""

from __future__ import annotations

import json
import re
from decimal import Decimal
from fractions import Fraction
from pathlib import Path
from typing import Any

import ezdxf
import pytest

from generator.cli import main

TOLERANCE_MM = 0.001
MM_PER_SIXTEENTH = Decimal("1.5875")

FRAME = """
format = 1
name = "twin"
units = "{units}"
steel = {{ grade = "mild steel", heat_treated = "no" }}
use = {{ road = true, commercial = false }}
datum = {{ x = "front", z = "floor" }}
[[rail]]
side = "both"
section = {{ kind = "channel", flange = {40}, web = {3}, flange_thickness = {3}, inside_radius = {4}, open = "inboard" }}
[[rail.station]]
name = "front"
x = 0
y = {264}
z = {300}
depth = {93}
[[rail.station]]
name = "kick"
x = {600}
y = {264}
z = {300}
depth = {93}
turn_radius = {160}
kick_radius = {96}
[[rail.station]]
name = "rear"
x = {1600}
y = {320}
z = {420}
depth = {71}
[[hole]]
name = "pin"
at = {{ at = "kick", offset = {333} }}
up = {41}
diameter = {9}
[[crossmember]]
name = "cross"
at = {{ at = "front", offset = {210} }}
section = {{ kind = "channel", depth = {60}, width = {30}, thickness = {3} }}
opens = "rearward"
drop = {16}
"""
JOB = """
format = 1
name = "twins"
units = "{units}"
frame = "frame.toml"
shop = {{ dxf_units = "in", weld_gap = {1}, root_gap = {1}, inside_radius = {4} }}
[[part]]
id = "plate"
family = "rail_plate"
thickness = {2}
grade = "A36"
seat = "toes"
leg = {2}
start = {{ at = "front", offset = {65} }}
end = {{ at = "rear", offset = {-133} }}
pick_up = [{{ hole = "pin", by = "pin" }}]
plug_diameter = {8}
plug_pitch = {72}
mouth_radius = {6}
corner_radius = {4}
"""


class Sixteenths(dict[str, str]):
    """Turns a whole number of sixteenths of an inch in a template into a length in the file's units."""

    def __init__(self, units: str) -> None:
        super().__init__(units=units)

    def __getitem__(self, key: Any) -> str:
        if key == "units":
            return super().__getitem__("units")
        count = int(key)
        if super().__getitem__("units") == "mm":
            return str(count * MM_PER_SIXTEENTH)
        whole, rest = divmod(abs(count), 16)
        if not rest:
            return str(count // 16)
        shown = "-".join(str(p) for p in (whole, Fraction(rest, 16)) if p)
        return f'"{"-" if count < 0 else ""}{shown} in"'


def filled(template: str, units: str) -> str:


    values = Sixteenths(units)
    text = re.sub(r"(?<!\{)\{(-?\w+)\}(?!\})", lambda m: values[m[1]], template)
    return text.replace("{{", "{").replace("}}", "}")


def made(folder: Path, units: str, capsys: pytest.CaptureFixture[str]) -> dict[str, Any]:
    place = folder / units
    place.mkdir()
    (place / "frame.toml").write_text(filled(FRAME, units), encoding="utf-8")
    (place / "job.toml").write_text(filled(JOB, units), encoding="utf-8")
    code = main(["make", str(place / "job.toml"), "--no-solids", "--out", str(place / "kit")])
    shown = capsys.readouterr()
    assert code == 0, shown.out + shown.err
    value: dict[str, Any] = json.loads((place / "kit" / "manifest.json").read_bytes())
    return value


def numbers(value: Any, where: str = "") -> dict[str, float]:
    """Every number in a part's entry by where it stands."""
    if isinstance(value, dict):
        return {k: n for key, v in value.items() for k, n in numbers(v, f"{where}/{key}").items()}
    if isinstance(value, list):
        return {k: n for i, v in enumerate(value) for k, n in numbers(v, f"{where}/{i}").items()}
    return {where: float(value)} if isinstance(value, int | float) and not isinstance(value, bool) else {}


def test_the_twins_are_the_same_and_the_inch_drawing_measures_right(tmp_path: Path, capsys: pytest.CaptureFixture[str]) -> None:
    millimetres, inches = made(tmp_path, "mm", capsys), made(tmp_path, "in", capsys)
    one, two = numbers(millimetres["parts"]), numbers(inches["parts"])
    assert one.keys() == two.keys() and len(one) > 50
    scale = {"_mm2": 1e3, "_mm3": 1e4}  # an area or a volume of edges that are TOLERANCE_MM off
    for key, value in one.items():
        bound = TOLERANCE_MM * next((s for end, s in scale.items() if key.endswith(end)), 1.0)
        assert abs(value - two[key]) <= bound, key

    assert any(p["holes"] for p in inches["parts"])
    for part in inches["parts"]:
        document = ezdxf.readfile(tmp_path / "in" / "kit" / part["files"]["dxf"])  # type: ignore[attr-defined]
        assert document.header["$INSUNITS"] == 1  # inches, DXF reference
        circles = sorted((c.dxf.center.x, c.dxf.center.y, c.dxf.radius) for c in document.modelspace().query('CIRCLE[layer=="CUT"]'))
        wanted = sorted((h["x_mm"] / 25.4, h["y_mm"] / 25.4, h["diameter_mm"] / 50.8) for h in part["holes"] if h["kind"] == "round")
        assert circles == [pytest.approx(w, abs=TOLERANCE_MM / 25.4) for w in wanted]


def test_the_tables_of_an_inch_job_are_in_inches(tmp_path: Path, capsys: pytest.CaptureFixture[str]) -> None:
    made(tmp_path, "in", capsys)
    text = (tmp_path / "in" / "kit" / "tables" / "cut_list.csv").read_text(encoding="utf-8-sig")
    assert "thickness (in)" in text and "nearest 1/16" in text and "(mm)" not in text
    assert ",0.125," in text  # 2/16 in
