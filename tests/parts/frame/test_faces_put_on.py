"""Faces that parts put on a frame."""

from __future__ import annotations

from dataclasses import dataclass
from typing import Any

import pytest

from parts.errors import BadInput
from tests.parts.frame.makers import frame

MADE = frame()


@dataclass(frozen=True)
class NamedFace:
    name: str
    side: str
    mark: int = 0


def test_faces_are_found_by_name_and_side_and_replaced() -> None:
    first: Any = [NamedFace("plate", "left"), NamedFace("plate", "right")]
    again: Any = [NamedFace("plate", "left", 1)]
    whole = MADE.with_faces(first).with_faces(again)
    assert (len(MADE.faces), len(whole.faces)) == (0, 2)
    found: Any = whole.face("plate", "left")
    assert found.mark == 1
    assert whole.rail("left") is MADE.rail("left")  # worked out once
    with pytest.raises(BadInput, match="no part before this one has a face on the right side of that name; nearest: plate"):
        whole.face("plat", "right")
