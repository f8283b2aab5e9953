"""One small kit, written once by the program, for other people's readers to look at."""

from __future__ import annotations

from dataclasses import dataclass
from pathlib import Path

import pytest

from generator.kernel.service import BuiltSolid, Kernel
from tests.generator.kernel_parts import write_kit


@dataclass(frozen=True, kw_only=True)
class WrittenKit:
    folder: Path
    solids: dict[str, BuiltSolid]  #: by part; what the program itself says of them


@pytest.fixture(scope="session")
def step_kit(tmp_path_factory: pytest.TempPathFactory) -> WrittenKit:
    folder = tmp_path_factory.mktemp("kit")
    with Kernel.start() as kernel:
        return WrittenKit(folder=folder, solids=write_kit(kernel, folder))
