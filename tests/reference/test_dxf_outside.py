"""Our DXF files through programs that are not ours: closed, nothing twice, areas, centres and radii to 0.001 mm, units."""

from __future__ import annotations

import os
import re
import subprocess
import sys
from pathlib import Path

import pytest

from generator.dxf import flat_dxf
from tests.reference.dxf_cases import CASES
from tests.reference.dxf_readers import Reader, Reading, by_ezdxf, by_gdal, by_parser, problems

WAYS: list[tuple[Reader, str]] = [
    (by_gdal, "R2010"),
    (by_gdal, "R12"),
    (by_parser, "R2010"),
    (by_ezdxf, "R2010"),
    (by_ezdxf, "R12"),
]
MM_PER_UNIT = {"mm": 1.0, "in": 25.4}


@pytest.mark.parametrize("case", CASES)
@pytest.mark.parametrize("units", MM_PER_UNIT)
@pytest.mark.parametrize(("reader", "version"), WAYS)
def test_others_read_what_was_meant(case: str, units: str, reader: Reader, version: str, tmp_path: Path) -> None:
    flat, wanted = CASES[case]
    reading = reader(flat_dxf(flat, case, units=units, version=version), tmp_path)
    assert problems(reading, wanted, MM_PER_UNIT[units]) == []


def test_an_inch_plate_measures_in_inches(tmp_path: Path) -> None:
    flat, _ = CASES["inches"]
    for reader in (by_gdal, by_parser):
        reading = reader(flat_dxf(flat, "p", units="in"), tmp_path)
        (plate,) = [c for c in reading.cuts if c.circle is None]
        assert plate.area == pytest.approx(96.0, abs=1e-6)  # 16 in x 6 in
        assert sorted(c.circle[2] * 64 for c in reading.cuts if c.circle) == pytest.approx([17.0, 18.0], abs=1e-3)


def test_no_entity_but_those_a_cutting_machine_follows(tmp_path: Path) -> None:
    flat, _ = CASES["plate"]
    assert by_parser(flat_dxf(flat, "p"), tmp_path).kinds == {"CIRCLE", "LWPOLYLINE", "POINT", "LINE", "TEXT"}
    assert by_ezdxf(flat_dxf(flat, "p", version="R12"), tmp_path).kinds == {"CIRCLE", "POLYLINE", "POINT", "LINE", "TEXT"}
    assert by_gdal(flat_dxf(flat, "p"), tmp_path).kinds == {"point", "line"}


def _nudged(data: bytes, before: str) -> bytes:
    """0.002 mm added to the first number that follows `before` (a pattern)."""
    return re.sub(f"({before})(\\S+)", lambda m: m[1] + str(float(m[2]) + 0.002), data.decode(), count=1).encode()


def _moved_circle(data: bytes) -> bytes:
    return _nudged(data, r"AcDbCircle\n 10\n")


def _wider_circle(data: bytes) -> bytes:
    return _nudged(data, r"AcDbCircle\n 10\n\S+\n 20\n\S+\n 30\n\S+\n 40\n")


def _opened(data: bytes) -> bytes:
    """The outline's flag says that it is open."""
    at = data.index(b"AcDbPolyline", data.index(b"ENTITIES"))
    return data[:at] + data[at:].replace(b" 70\n1\n", b" 70\n0\n", 1)


def _twice(data: bytes) -> bytes:
    """The first circle once more."""
    at = data.index(b"  0\nCIRCLE\n")
    end = data.index(b"  0\n", at + 5)
    return data[:end] + data[at:end] + data[end:]


def _flattened(data: bytes) -> bytes:
    """Corner arcs gone: all bulges 0."""
    return re.sub(rb"\n 42\n\S+", b"", data)


def _other_units(data: bytes) -> bytes:
    return data.replace(b"$INSUNITS\n 70\n4", b"$INSUNITS\n 70\n1")


FAULTS = {
    "circle moved": (_moved_circle, (by_gdal, by_parser)),
    "circle wider": (_wider_circle, (by_gdal, by_parser)),
    "outline open": (_opened, (by_gdal, by_parser)),
    "circle twice": (_twice, (by_gdal, by_parser)),
    "arcs flattened": (_flattened, (by_gdal, by_parser)),
    "header in inches": (_other_units, (by_parser,)),
}


@pytest.mark.parametrize("fault", FAULTS)
def test_planted_faults_are_seen(fault: str, tmp_path: Path) -> None:
    spoil, readers = FAULTS[fault]
    flat, wanted = CASES["plate"]
    good = flat_dxf(flat, "plate")
    bad = spoil(good)
    assert bad != good
    for reader in readers:
        assert problems(reader(good, tmp_path), wanted, 1.0) == []
        reading: Reading = reader(bad, tmp_path)
        assert problems(reading, wanted, 1.0) != [], reader


WRITER = """
import hashlib
from generator.dxf import flat_dxf
from tests.reference.dxf_cases import CASES
for name, (flat, _) in CASES.items():
    for units in ("mm", "in"):
        for version in ("R2010", "R12"):
            print(name, units, version, hashlib.sha256(flat_dxf(flat, name, units=units, version=version)).hexdigest())
"""


def test_five_hash_seeds_and_five_folders_give_the_same_bytes(tmp_path: Path) -> None:
    root = str(Path(__file__).parents[2])
    printed: set[str] = set()
    for seed in ("0", "1", "2", "77", "4294967295"):
        folder = tmp_path / seed
        folder.mkdir()
        environment = {**os.environ, "PYTHONHASHSEED": seed, "PYTHONPATH": root}
        run = subprocess.run(
            [sys.executable, "-c", WRITER], cwd=folder, env=environment, capture_output=True, text=True, check=True, timeout=60
        )
        assert run.stderr == ""
        printed.add(run.stdout)
    assert len(printed) == 1
    assert len(printed.pop().splitlines()) == 4 * len(CASES)
