"""`python tests/reference/gmsh/check_output.py FOLDER`: every STEP file of an output folder through gmsh.

What is checked, against the manifest: each part is one solid, its volume is
the manifest's to 1e-9 (gmsh integrates the same surfaces with its own build of OpenCASCADE, so this is a check of the file, not of the
kernel), its name is its id; the assembly holds every placement, and its parts' volumes sum to the manifest's.
"""

from __future__ import annotations

import json
import math
import sys
from collections import Counter
from collections.abc import Iterator
from pathlib import Path
from typing import Any

import gmsh

TOLERANCE = 1e-9


def solids(path: Path) -> list[tuple[str, float]]:
    """(name, volume in mm3) of every solid in the file, the name as gmsh shows it: the path of product names."""
    gmsh.clear()
    gmsh.model.occ.importShapes(str(path))
    gmsh.model.occ.synchronize()
    return [(gmsh.model.getEntityName(3, tag), gmsh.model.occ.getMass(3, tag)) for _, tag in gmsh.model.getEntities(3)]


def part_problems(entry: dict[str, Any], folder: Path) -> Iterator[str]:
    found = solids(folder / entry["files"]["step"])
    if len(found) != 1:
        yield f"{entry['id']}: {len(found)} solids instead of one"
        return
    name, volume = found[0]
    if not math.isclose(volume, entry["volume_mm3"], rel_tol=TOLERANCE):
        yield f"{entry['id']}: volume {volume!r}, the manifest says {entry['volume_mm3']!r}"
    if entry["id"] not in name.split("/"):
        yield f"{entry['id']}: it is called {name!r}"


def assembly_problems(manifest: dict[str, Any], folder: Path) -> Iterator[str]:
    found = solids(folder / manifest["assembly"])
    for entry in manifest["parts"]:
        volume = entry["volume_mm3"]
        placed = [v for _, v in found if math.isclose(v, volume, rel_tol=TOLERANCE)]
        alike = sum(p["quantity"] for p in manifest["parts"] if math.isclose(p["volume_mm3"], volume, rel_tol=TOLERANCE))
        if len(placed) != alike:
            yield f"assembly: {len(placed)} solids of the volume of {entry['id']}, {alike} are placed"
    repeated = [n for n, count in Counter(name for name, _ in found).items() if count > 1]
    if repeated:
        yield f"assembly: these names come more than once: {', '.join(repeated)}"


def main() -> int:
    folder = Path(sys.argv[1])
    manifest = json.loads((folder / "manifest.json").read_bytes())
    gmsh.initialize(interruptible=False)
    gmsh.option.setNumber("General.Terminal", 0)
    gmsh.option.setNumber("Geometry.OCCImportLabels", 1)
    gmsh.option.setString("Geometry.OCCTargetUnit", "MM")
    checks = [list(part_problems(entry, folder)) for entry in manifest["parts"]]
    checks.append(list(assembly_problems(manifest, folder)))
    gmsh.finalize()
    for problem in (p for c in checks for p in c):
        print(problem)
    failed = sum(bool(c) for c in checks)
    print(f"gmsh: {len(checks) - failed} passed, {failed} failed")
    return 1 if failed else 0


if __name__ == "__main__":
    sys.exit(main())
