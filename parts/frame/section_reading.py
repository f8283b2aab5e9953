"""A rail's section as it was measured at one place."""

from __future__ import annotations

from dataclasses import dataclass
from typing import ClassVar

from parts import spec
from parts.errors import Fault
from parts.frame.placing import OnRail

PLACE_FIELDS = ("x_mm", "accuracy_mm")  #: lengths that are no size of the section


@dataclass(frozen=True, kw_only=True)
class SectionReading(OnRail):
    """A rail's section as measured at one place: each size optional, one at least.

    `set` "" is the frame's first declared set; in a frame every reading has its set filled in.
    """

    UNIQUE: ClassVar[tuple[str, ...]] = ("name", "side", "set")
    WORD: ClassVar[str] = "section_reading"

    set: str = spec.name("the set of readings it belongs to; the first declared one, else found", default="")
    depth_mm: float | None = spec.length("over the outside faces, square to the rail", least=30, most=420, default=None)
    opening_toe_mm: float | None = spec.length("clear between the flanges at their toes", least=10, most=420, default=None)
    opening_web_mm: float | None = spec.length("clear between the flanges at the web, past its corners", least=10, most=420, default=None)
    upper_flange_mm: float | None = spec.length("width of the upper flange over all", least=10, most=220, default=None)
    lower_flange_mm: float | None = spec.length("width of the lower flange over all", least=10, most=220, default=None)
    upper_square_mm: float | None = spec.length(
        "upper toe off square to the web; above 0: away from the section's inside", least=-40, most=40, default=None
    )
    lower_square_mm: float | None = spec.length(
        "lower toe off square to the web; above 0: away from the section's inside", least=-40, most=40, default=None
    )
    web_thickness_mm: float | None = spec.length("steel left of the web", least=0, most=25, default=None)
    upper_thickness_mm: float | None = spec.length("steel left of the upper flange", least=0, most=25, default=None)
    lower_thickness_mm: float | None = spec.length("steel left of the lower flange", least=0, most=25, default=None)
    accuracy_mm: float = spec.length("how far off each may be", least=0.01, most=20, default=0.5)

    def own_faults(self) -> list[Fault]:
        faults = super().own_faults()
        sizes = [value for field, value in vars(self).items() if field.endswith("_mm") and field not in PLACE_FIELDS]
        if all(value is None for value in sizes):
            faults.append(Fault(where="", field="depth", limit="a section reading holds one size at least", remedy='depth = "150 mm"'))
        return faults
