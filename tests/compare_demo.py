"""`python -m tests.compare_demo NEW OLD`: two output folders by value, numbers to 1e-6: libraries may change bytes, not values.

Manifest, tables and DXF are compared number by number; of STEP files the names and the count of entities, as their volumes are in the
manifest and their numbers come from the kernel's own rounding.
"""

from __future__ import annotations

import csv
import json
import math
import re
import sys
from collections.abc import Iterator
from pathlib import Path
from typing import Any

TOLERANCE = 1e-6
NOT_COMPARED = {"versions", "files"}  # change with the libraries; `files` holds checksums and sizes
NUMBER = re.compile(r"[-+]?\d+\.?\d*(?:[eE][-+]?\d+)?")
MOST_SHOWN = 20


def differences(new: Path, old: Path) -> Iterator[str]:
    """What differs between two output folders, in words."""
    names, others = _files(new), _files(old)
    for name in sorted(names ^ others):
        yield f"{name}: only in {new if name in names else old}"
    for name in sorted(names & others):
        one, two = new / name, old / name
        if name == "manifest.json":
            yield from _values(json.loads(one.read_bytes()), json.loads(two.read_bytes()), name)
        elif name.endswith(".csv"):
            yield from _values(_cells(one), _cells(two), name)
        elif name.endswith((".dxf", ".svg")):
            yield from _values(one.read_text("utf-8").splitlines(), two.read_text("utf-8").splitlines(), name)
        elif name.endswith(".step"):
            yield from _values(_step(one), _step(two), name)


def _files(folder: Path) -> set[str]:
    return {p.relative_to(folder).as_posix() for p in folder.rglob("*") if p.is_file()}


def _cells(path: Path) -> list[list[str]]:
    with path.open(encoding="utf-8-sig", newline="") as file:
        return list(csv.reader(file))


def _step(path: Path) -> dict[str, Any]:
    text = path.read_text("ascii")
    return {
        "products": sorted(re.findall(r"= PRODUCT\('([^']*)'", text)),
        "faces": len(re.findall(r"= ADVANCED_FACE\(", text)),
        "solids": len(re.findall(r"= MANIFOLD_SOLID_BREP\(", text)),
    }


def _values(one: Any, two: Any, where: str) -> Iterator[str]:
    if isinstance(one, dict) and isinstance(two, dict):
        for key in sorted((one.keys() | two.keys()) - NOT_COMPARED):
            yield from _values(one.get(key), two.get(key), f"{where} {key}")
    elif isinstance(one, list) and isinstance(two, list) and len(one) == len(two):
        for i, (a, b) in enumerate(zip(one, two, strict=True)):
            yield from _values(a, b, f"{where} {i + 1}")
    elif not _same(one, two):
        yield f"{where}: {one!r} instead of {two!r}"


def _same(one: Any, two: Any) -> bool:
    if isinstance(one, bool) or isinstance(two, bool) or not isinstance(one, str | float | int) or not isinstance(two, str | float | int):
        return bool(one == two)
    if isinstance(one, str) and isinstance(two, str):
        a, b = NUMBER.findall(one), NUMBER.findall(two)
        return NUMBER.sub("#", one) == NUMBER.sub("#", two) and all(map(_near, map(float, a), map(float, b)))
    return not isinstance(one, str) and not isinstance(two, str) and _near(one, two)


def _near(a: float, b: float) -> bool:
    return math.isclose(a, b, rel_tol=TOLERANCE, abs_tol=TOLERANCE)


def main() -> int:
    found = list(differences(Path(sys.argv[1]), Path(sys.argv[2])))
    for text in found[:MOST_SHOWN]:
        print(text)
    print(f"{len(found)} differences" if found else "the same, by value")
    return 1 if found else 0


if __name__ == "__main__":
    sys.exit(main())
