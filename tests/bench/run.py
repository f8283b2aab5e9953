"""`python tests/bench/run.py`: what a run costs, as ratios against a bare import in the same minute. Printed, never asserted by the clock.

Each figure is the best of several runs, because what else the machine does can only add to a run.
"""

from __future__ import annotations

import dataclasses
import os
import subprocess
import sys
import tempfile
import time
from collections.abc import Callable
from functools import partial
from pathlib import Path
from typing import Any

ROOT = Path(__file__).resolve().parents[2]
sys.path.insert(0, str(ROOT))

BEST_OF = 5
PARTS = 10  #: the smallest kit; ten and a hundred times as many beside it
DEMO = "demo:orchard-flatbed"
CACHE = Path(tempfile.gettempdir()) / "ladderframe-bench-cache"


def process_s(*arguments: str, folder: Path, cache: Path = CACHE, best_of: int = BEST_OF) -> float:
    """Best time of `python ARGUMENTS` in a fresh process whose compiled files lie in `cache`."""
    times = []
    for _ in range(best_of):
        begun = time.perf_counter()
        done = subprocess.run(
            [sys.executable, *arguments], cwd=folder, env=_environment(cache), stdin=subprocess.DEVNULL, capture_output=True, check=False
        )
        times.append(time.perf_counter() - begun)
        if done.returncode != 0:
            raise SystemExit(f"{arguments} ended with {done.returncode}\n{done.stderr.decode(errors='replace')}")
    return min(times)


def _environment(cache: Path) -> dict[str, str]:
    """Compiled files are kept, as after an installation, but not in the checkout: the first of several runs makes them."""
    own = {k: v for k, v in os.environ.items() if k != "PYTHONDONTWRITEBYTECODE"}
    return {**own, "PYTHONPATH": str(ROOT), "PYTHONPYCACHEPREFIX": str(cache)}


def call_s(function: Callable[[], Any], best_of: int = BEST_OF) -> float:
    """Best time of a call in this process."""
    times = []
    for _ in range(best_of):
        begun = time.perf_counter()
        function()
        times.append(time.perf_counter() - begun)
    return min(times)


def line(what: str, seconds: float, base: float, bound: str) -> None:
    print(f"{what:<52} {seconds * 1000:9.0f} ms {seconds / base:7.2f} x   {bound}", flush=True)


def commands(folder: Path) -> None:
    """Whole commands against the bare import of what they cannot do without."""
    entry = ("-m", "generator.entry")
    light = process_s("-c", "import click, numpy", folder=folder)
    line("bare import click, numpy", light, light, "baseline")
    line("ladderframe --help", process_s(*entry, "--help", folder=folder), light, "at most 2 x")
    line("ladderframe kinds", process_s(*entry, "kinds", folder=folder), light, "at most 2 x")
    line("ladderframe check, the demo", process_s(*entry, "check", DEMO, folder=folder), light, "at most 3 x")
    dxf = process_s("-c", "import ezdxf", folder=folder)
    line("bare import ezdxf", dxf, dxf, "baseline")
    line("ladderframe demo --no-solids", process_s(*entry, "demo", "--no-solids", "--out", "flat", folder=folder), dxf, "at most 2.5 x")
    kernel = process_s("-c", "import cadquery", folder=folder)
    line("bare import cadquery", kernel, kernel, "baseline")
    line("ladderframe demo", process_s(*entry, "demo", "--out", "whole", folder=folder), kernel, "at most 2 x")


def first_starts(folder: Path) -> None:
    """The first run after an installation, nothing compiled yet, against the same bare import as new."""
    entry = ("-m", "generator.entry")
    light = first_s("-c", "import click, numpy", folder=folder)
    line("bare import click, numpy, nothing compiled", light, light, "baseline")
    line("ladderframe --help, nothing compiled", first_s(*entry, "--help", folder=folder), light, "reported")
    line("ladderframe check, the demo, nothing compiled", first_s(*entry, "check", DEMO, folder=folder), light, "reported")
    kernel = first_s("-c", "import cadquery", folder=folder)
    line("bare import cadquery, nothing compiled", kernel, kernel, "baseline")
    line("ladderframe demo, nothing compiled", first_s(*entry, "demo", "--out", "first", folder=folder), kernel, "reported")


def first_s(*arguments: str, folder: Path) -> float:
    """Time of one run in a fresh process that finds no compiled file."""
    with tempfile.TemporaryDirectory() as empty:
        return process_s(*arguments, folder=folder, cache=Path(empty), best_of=1)


def solids() -> None:
    """The demo's solids against one box and one hole call after another, which bend nothing and place nothing."""
    import cadquery

    from generator.pipeline import check

    parts = [piece.part for piece in check(DEMO).kit.pieces]

    def chain() -> None:
        for part in parts:
            for panel in part.panels:
                x0, y0, x1, y1 = panel.contour.box
                plate = cadquery.Workplane("XY").box(x1 - x0, y1 - y0, part.thickness_mm)
                for hole in panel.holes:
                    at = [(hole.x_mm - (x0 + x1) / 2, hole.y_mm - (y0 + y1) / 2)]
                    face = plate.faces(">Z").workplane(origin=(0, 0, part.thickness_mm / 2)).pushPoints(at)
                    if hole.kind == "round":
                        plate = face.hole(hole.diameter_mm)
                    elif hole.kind == "rectangle":
                        plate = face.rect(hole.length_mm, hole.diameter_mm).cutThruAll()
                    else:
                        plate = face.slot2D(hole.length_mm, hole.diameter_mm, hole.angle_deg).cutThruAll()

    def ours() -> None:
        from parts.solid import shape

        for part in parts:
            shape(part)

    own, usual = call_s(ours), call_s(chain)
    print(f"{'solids of the demo kit':<52} {own * 1000:9.0f} ms {usual / own:7.2f} x   faster than a box and hole chain: at least 5 x")


def growth() -> None:
    """10, 100 and 1,000 parts, the demo's own over and over: building, judging, laying flat, DXF and reading back."""
    from generator.cutting import cut_files
    from generator.job import read_job
    from generator.kit import build
    from generator.rules.judge import judge

    read = read_job(DEMO)

    def run(parts: Any) -> None:
        kit = build(parts, read.frame, read.job.shop)
        judge(kit.pieces, kit.flats, read.frame, read.job.shop)
        cut_files(kit.pieces, kit.flats, read.job.shop)

    before = 0.0
    for count in (PARTS, 10 * PARTS, 100 * PARTS):
        parts = copies(read.job.parts, count)
        spent = call_s(partial(run, parts), best_of=BEST_OF if count < 100 * PARTS else 1)
        line(f"{count} parts, to DXF and back", spent, before or spent, "at most 11 x the line above" if before else "baseline")
        before = spent


def copies(parts: Any, count: int) -> list[Any]:
    """`count` parts: the job's own over and over under other ids, each copy on its own copy of what it needs."""
    ids = {p.id for p in parts}
    out: list[Any] = []
    for number in range(-(-count // len(parts))):
        for part in parts:
            moved = {f.name: f"{getattr(part, f.name)}-c{number}" for f in dataclasses.fields(part) if getattr(part, f.name) in ids}
            out.append(dataclasses.replace(part, **moved))
    return out[:count]


def main() -> None:
    with tempfile.TemporaryDirectory() as folder:
        commands(Path(folder))
        first_starts(Path(folder))
    growth()
    solids()
    from tests.bench.survey import survey

    survey()


if __name__ == "__main__":
    main()
