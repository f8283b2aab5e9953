"""Parts of every family on every demo frame, for the suite that runs over all of them."""

from __future__ import annotations

from functools import cache
from pathlib import Path

from generator.job import JobRead, read_job
from generator.kit import Kit, build

DEMO = Path(__file__).parents[2] / "generator" / "demo"
TWIN = "orchard-flatbed-unknown-steel"  #: the flatbed again, to show what is refused on a frame whose steel nobody knows
FRAMES = tuple(sorted({p.stem.removeprefix("frame-") for p in DEMO.glob("frame-*.toml")} - {TWIN}))
JOBS = tuple(sorted(p.stem.removeprefix("job-") for p in DEMO.glob("job-*.toml")))
PAIRS = tuple((job, frame) for job in JOBS for frame in FRAMES)


@cache
def made(job: str, frame: str) -> tuple[JobRead, Kit]:
    """A demo job on a demo frame, built once for all tests of a session."""
    read = read_job(f"demo:{job}", f"demo:{frame}")
    return read, build(read.job.parts, read.frame, read.job.shop)
