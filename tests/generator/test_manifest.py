"""The manifest holds what a program after this one is promised, each number as the parts have it."""

from __future__ import annotations

import json
import math

from generator.job import InputFile
from generator.manifest import manifest, part_entry
from parts.errors import Finding
from tests.generator.test_tables import DENSITY, record

PROMISED = {
    "id", "kind", "family", "side", "quantity", "material", "thickness_mm", "density_kg_m3", "flat_area_mm2", "cut_length_mm", "pierces",
    "volume_mm3", "mass_kg", "bends", "holes", "placements", "files",
}  # fmt: skip


def test_a_part_has_every_promised_key() -> None:
    entry = part_entry(record("bracket", quantity=2, bent=True))
    assert entry.keys() >= PROMISED
    assert entry["quantity"] == len(entry["placements"]) == 2
    (bend,) = entry["bends"]
    assert bend.keys() >= {"angle_deg", "inside_radius_mm", "k_factor", "length_mm"}
    assert (bend["angle_deg"], bend["inside_radius_mm"], bend["k_factor"], bend["length_mm"]) == (90.0, 5.0, 0.5, 100.0)
    pin, slot = entry["holes"]
    assert pin == {"name": "pin", "kind": "round", "diameter_mm": 10.0, "x_mm": 20.0, "y_mm": 25.0}
    assert (slot["kind"], slot["length_mm"], slot["angle_deg"]) == ("slot", 30.0, 90.0)


def test_volume_and_mass_by_hand() -> None:
    """K = 1/2 puts the neutral layer in mid-thickness: volume = t A (Pappus). A = 100 (50 + 7 pi/2 + 30) - 25 pi - (216 + 36 pi)."""
    entry = part_entry(record("bracket", bent=True))
    area = 100 * (80 + 7 * math.pi / 2) - 25 * math.pi - 216 - 36 * math.pi
    assert math.isclose(entry["flat_area_mm2"], area, rel_tol=1e-12)
    assert math.isclose(entry["volume_mm3"], 4 * area, rel_tol=1e-12)
    assert math.isclose(entry["mass_kg"], 4 * area * 1e-9 * DENSITY, rel_tol=1e-12)


def test_the_whole_is_plain_json_and_holds_no_folder() -> None:
    finding = Finding(code="c", level="note", where="w", message="m")
    value = manifest(
        job="kit", frame="truck", units="mm", dxf_units="in", sources=(InputFile(role="job", name="job.toml", sha256="0" * 64),),
        libraries=("click", "no-such-distribution"), findings=(finding,), accepted=(), left_out=(), records=(record("plate"),),
        tables={"tables/holes.csv": "Holes"}, assembly=None,
    )  # fmt: skip
    assert json.loads(json.dumps(value, allow_nan=False)) == value
    assert value["inputs"] == [{"role": "job", "name": "job.toml", "sha256": "0" * 64}]
    assert value["units"] == {"job": "mm", "dxf": "in", "step": "mm", "manifest": "mm, deg, kg"}
    assert value["versions"]["no-such-distribution"] == "not installed" and value["versions"]["click"][0].isdigit()
    drawing = {"drawings/plate.svg": "picture of plate"}
    assert value["files"] == {"dxf/plate.dxf": "flat pattern of plate", "tables/holes.csv": "Holes", **drawing}
    assert value["findings"][0]["code"] == "c"
