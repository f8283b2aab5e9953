"""Where the command `ladderframe` starts. Installed as a module of its own (`ladderframe.py`), beside `parts` and `generator`.

`parts` and `generator` are common words: another installed project may own either name, and then nothing of ours can be imported.
So this module imports only the standard library until it has seen that both names are ours. The mark it looks for is the word
`ladderframe` in each package's `__init__.py`.
"""

from __future__ import annotations

import importlib.util
import os
import sys
from pathlib import Path

OURS = "ladderframe"
NAMES = ("parts", "generator")
EXIT_USAGE = 2
EXIT_INTERRUPTED = 130


def foreign_owner(name: str) -> str | None:
    """Where the package `name` would be imported from if it is not ours (a path, or "not installed"); None where it is ours."""
    try:
        spec = importlib.util.find_spec(name)
    except (ImportError, ValueError) as error:
        return f"it cannot be loaded: {error}"
    if spec is None:
        return "it is not installed"
    if spec.origin is None or not Path(spec.origin).is_file():
        return ", ".join(spec.submodule_search_locations or ()) or "an unknown place"
    text = Path(spec.origin).read_text(encoding="utf-8", errors="replace")
    return None if OURS in text else spec.origin


#: A survey's matrices are small: threads that wait for each other make them slower, on a busy machine 30 times. Read by numpy's OpenBLAS.
THREADS = "OPENBLAS_NUM_THREADS"


def main() -> None:
    """Check who owns the two import names, then hand over to the command line. Ends the process."""
    os.environ.setdefault(THREADS, "1")
    for name in NAMES:
        owner = foreign_owner(name)
        if owner is not None:
            sys.stderr.write(
                f"ladderframe cannot start: the import name '{name}' is not its own here ({owner}). "
                "Install ladderframe in a virtual environment of its own: python3 -m venv .venv && .venv/bin/pip install .\n"
            )
            sys.exit(EXIT_USAGE)
    try:
        from generator.cli import main as command_line

        sys.exit(command_line())
    except KeyboardInterrupt:
        sys.stderr.write("interrupted: nothing was changed\n")
        sys.exit(EXIT_INTERRUPTED)


if __name__ == "__main__":
    main()
