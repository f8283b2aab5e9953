"""gmsh needs a dozen system libraries (X and GL) that nothing else here does. So this folder runs only when it is asked for by name:

    python -m pytest tests/reference/gmsh

and then a missing gmsh or library is an error, not a skip.
"""

from __future__ import annotations

from pathlib import Path

import pytest

from tests.reference.conftest import WrittenKit, step_kit

__all__ = ["WrittenKit", "step_kit"]

HERE = Path(__file__).resolve().parent


def pytest_ignore_collect(collection_path: Path, config: pytest.Config) -> bool | None:
    asked = [Path(config.invocation_params.dir, argument.split("::")[0]).resolve() for argument in config.args]
    return None if any(path == HERE or HERE in path.parents for path in asked) else True
