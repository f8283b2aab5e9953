"""What is measured on a frame: control points, and in files of their own the readings between them, sections, sets and limits."""

from __future__ import annotations

from dataclasses import dataclass
from typing import ClassVar

from parts.frame.limits import Limits
from parts.frame.placing import OnFace
from parts.frame.reading import READING_KINDS, Reading, ReadingKind
from parts.frame.section_reading import SectionReading
from parts.frame.survey_set import FIRST_SET, STAGES, Stage, Support, SurveySet

__all__ = [
    "FIRST_SET", "READING_KINDS", "STAGES", "ControlPoint", "Limits", "Reading", "ReadingKind", "SectionReading", "Stage", "Support",
    "SurveySet",
]  # fmt: skip


@dataclass(frozen=True, kw_only=True)
class ControlPoint(OnFace):
    """A point of a rail that is measured: a hole's centre, or a point of a face; with neither up nor in, the upper corner.

    Where `at` is a hole's name, with no offset, no up and no in, it is that hole's centre. A point of side both is two points, called
    NAME-left and NAME-right where points are asked for one by one.
    """

    WORD: ClassVar[str] = "control_point"
    PLACE_OPTIONAL: ClassVar[bool] = True

    def key(self, side: str) -> str:
        """What readings and `as_found` call the point on that side."""
        return f"{self.name}-{side}" if self.side == "both" else self.name
