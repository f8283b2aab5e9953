"""`python -m tests.refresh_demo`: make `outputs_demo/` anew, with its picture, before a commit that changes what the demo makes."""

from __future__ import annotations

import sys
from pathlib import Path

from generator.cli import main as command_line
from generator.pipeline import DEMO_JOB
from tests.picture import paint, png, scene

FOLDER = Path(__file__).resolve().parent.parent / "outputs_demo"
PICTURE = FOLDER / "picture.png"


def main() -> int:
    PICTURE.unlink(missing_ok=True)  # the output engine leaves a folder alone that holds what its manifest does not list
    code = command_line(["demo", "--out", str(FOLDER)])
    if FOLDER.is_dir():
        PICTURE.write_bytes(png(paint(scene(DEMO_JOB))))
    return code


if __name__ == "__main__":
    sys.exit(main())
