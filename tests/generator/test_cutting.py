"""What a cutting shop is told in words beside the geometry: units, and notes in the units that it reads. R12 has no header variable for
units; $INSUNITS came later (from memory; ezdxf leaves it out of R12 files too).
"""

from __future__ import annotations

from dataclasses import replace
from typing import Any

import pytest

from generator.cutting import cut_files
from generator.pipeline import check


@pytest.mark.parametrize(("version", "units", "said"), [("R12", "in", True), ("R12", "mm", False), ("R2010", "in", False)])
def test_an_r12_file_in_inches_is_pointed_out_and_notes_are_in_its_units(version: Any, units: Any, said: bool) -> None:
    checked = check("demo:orchard-flatbed", only=["gearbox-seat"])
    shop = replace(checked.read.job.shop, dxf_version=version, dxf_units=units)
    for cut in cut_files(checked.kit.pieces, checked.kit.flats, shop):
        assert [f.code for f in cut.findings] == (["dxf-unit-unsaid"] if said else [])
        text = cut.data.decode()
        assert "530.0 mm" in text
        assert ("530.0 mm (20.87" in text) is (units == "in")  # 530 / 25.4 = 20.866
