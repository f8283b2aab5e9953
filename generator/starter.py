"""`ladderframe new`: a commented job and frame file that can be made at once and then changed."""

from __future__ import annotations

from pathlib import Path

from generator.output_new import write_new

TEMPLATES = Path(__file__).resolve().parent / "demo"
FILES = {"job.toml": "starter-job.toml", "frame.toml": "starter-frame.toml"}


def write_starter(folder: Path) -> tuple[str, ...]:
    """Write the files into `folder`, which is new or empty; their names, the job's first.

    Raises:
        CannotWrite: the folder holds something, or cannot be written.
    """
    write_new(folder, {name: (TEMPLATES / template).read_bytes() for name, template in FILES.items()})
    return tuple(FILES)
