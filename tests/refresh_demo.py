"""`python -m tests.refresh_demo`: make `outputs_demo/` and its picture anew, before a commit that changes what the demo makes."""

from __future__ import annotations

import sys
from pathlib import Path

from generator.cli import main as command_line
from generator.pipeline import DEMO_JOB
from tests.picture import paint, png, scene

FOLDER = Path(__file__).resolve().parent.parent / "outputs_demo"
PICTURE = FOLDER.parent / ".pictures" / "demo-kit.png"


def main() -> int:
    code = command_line(["demo", "--out", str(FOLDER)])
    if code in (0, 1):
        PICTURE.parent.mkdir(exist_ok=True)
        PICTURE.write_bytes(png(paint(scene(DEMO_JOB))))
    return code


if __name__ == "__main__":
    sys.exit(main())
