"""Every DXF and STEP file of the demo kit on each demo frame, as other people's programs read them, against the run's own manifest.

GDAL's driver and dxf-parser share no code with what writes the DXF files; steputils reads STEP as text, without any kernel. cascadio
is built on the program's kernel, in another version and by other hands.
"""

from __future__ import annotations

import json
import math
from collections import Counter
from pathlib import Path
from typing import Any

import numpy as np
import pytest

from tests.cli.helpers import ladderframe
from tests.families.cases import FRAMES
from tests.reference.dxf_readers import Reading, by_gdal, by_parser
from tests.reference.step_readers import read_mesh, read_step

PLACE_MM = 0.001  #: asked of this project
SAGITTA_MM = 0.02
MESH_SHARE = 2e-3  #: of a part's volume that chords of that sagitta may take off or add at holes and bends


@pytest.fixture(scope="module", params=FRAMES)
def kit(request: pytest.FixtureRequest, tmp_path_factory: pytest.TempPathFactory) -> tuple[Path, dict[str, Any]]:
    folder = tmp_path_factory.mktemp("kit")
    done = ladderframe("demo", "--frame", f"demo:{request.param}", "--out", "kit", folder=folder)
    assert done.returncode in (0, 1), done.stdout + done.stderr  # 1: a crack is drawn on one of the frames, which is a stop
    out = folder / "kit"
    return out, json.loads((out / "manifest.json").read_text(encoding="utf-8"))


@pytest.mark.parametrize(("reader", "share"), [(by_gdal, 5e-6), (by_parser, 1e-9)], ids=["gdal", "dxf-parser"])
def test_every_flat_pattern(kit: tuple[Path, dict[str, Any]], reader: Any, share: float, tmp_path: Path) -> None:
    """Closed, nothing twice, the area of the steel, every hole where the manifest has it. GDAL's arcs are chords of 0.1 deg: 5e-7 of
    each arc's sector, which for a kick's large radius can be several times the plate: hence the share."""
    out, manifest = kit
    assert len(manifest["parts"]) >= 10
    for part in manifest["parts"]:
        reading: Reading = reader((out / part["files"]["dxf"]).read_bytes(), tmp_path)
        where = part["id"]
        assert all(c.closed for c in reading.cuts), where
        assert max(Counter((c.circle is None, c.key) for c in reading.cuts).values()) == 1, where
        assert reading.mm_per_unit in (None, 1.0), where
        assert len(reading.cuts) == part["pierces"], where
        areas = sorted((math.pi * c.circle[2] ** 2 if c.circle else c.area for c in reading.cuts), reverse=True)
        assert abs(areas[0] - sum(areas[1:]) - part["flat_area_mm2"]) < share * areas[0], where
        round_holes = sorted((h["x_mm"], h["y_mm"], h["diameter_mm"] / 2) for h in part["holes"] if h["kind"] == "round")
        circles = sorted(c.circle for c in reading.cuts if c.circle)
        assert np.abs(np.array(circles) - np.array(round_holes)).max(initial=0.0) < PLACE_MM, where
        centres = sorted((h["x_mm"], h["y_mm"]) for h in part["holes"])
        assert len(reading.centres) == len(centres), where
        assert np.abs(np.array(sorted(reading.centres)) - np.array(centres)).max(initial=0.0) < PLACE_MM, where


def test_every_model_by_its_text(kit: tuple[Path, dict[str, Any]]) -> None:
    out, manifest = kit
    for part in manifest["parts"]:
        contents = read_step(out / part["files"]["step"])
        assert contents.products == [part["id"]]
        assert len(contents.length_units) == 1
        assert set(contents.colours) == {part["id"]}
        radii = sorted(round(c.radius_mm, 6) for c in contents.cylinders[part["id"]])
        for hole in part["holes"]:
            assert hole["kind"] == "rectangle" or round(hole["diameter_mm"] / 2, 6) in radii, f"{part['id']}: {hole['name']}"


def test_the_assembly_holds_every_part_where_the_manifest_places_it(kit: tuple[Path, dict[str, Any]]) -> None:
    out, manifest = kit
    nodes = {n.name: n for n in read_mesh(out / manifest["assembly"], SAGITTA_MM)}
    for part in manifest["parts"]:
        node = nodes[part["id"]]
        (place,) = part["placements"]
        u, v = np.array(place["u"]), np.array(place["v"])
        wanted = np.column_stack([u, v, np.cross(u, v), np.array(place["origin_mm"])])
        assert np.abs(node.matrix[:3] - wanted).max() < 1e-3, part["id"]  # glTF holds single precision, in metres
        assert abs(node.volume_mm3 / part["volume_mm3"] - 1) < MESH_SHARE, part["id"]
    assert {"rail left", "rail right"} <= set(nodes)
