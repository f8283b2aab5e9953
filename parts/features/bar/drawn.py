"""A bar as it is drawn so far: its part, where its middle panel lies, and which panel lies on which seat."""

from __future__ import annotations

from dataclasses import dataclass, replace
from typing import TYPE_CHECKING

from parts.features.bar.lie import Lie
from parts.formed import formed
from parts.landing import within
from parts.sheet import Panel, Placement, SheetPart

if TYPE_CHECKING:
    from parts.families.fixture_bar import FixtureBar

MIDDLE, ENDS, FLANGES = "bar", ("end-left", "end-right"), ("flange-front", "flange-rear")
SIDES = ("left", "right")


@dataclass(frozen=True, kw_only=True)
class Drawn:
    """`half_mm`: half of what is flat across the bar. The middle panel's u runs 0 to `length_mm`, left to right."""

    bar: FixtureBar
    lie: Lie
    half_mm: float
    length_mm: float
    part: SheetPart
    place: Placement

    @property
    def where(self) -> str:
        return f"part {self.bar.id}"

    @property
    def places(self) -> dict[str, Placement]:
        """Each panel's place in the vehicle."""
        return {name: within(self.place, at) for name, at in formed(self.part).places.items()}

    def over(self, which: int) -> str:
        """The panel that lies on the left (0) or right (1) seat."""
        return ENDS[which] if self.lie.ends[which].bend_deg else MIDDLE

    def panel(self, name: str) -> Panel:
        return next(p for p in self.part.panels if p.name == name)

    def with_panel(self, panel: Panel) -> Drawn:
        panels = tuple(panel if p.name == panel.name else p for p in self.part.panels)
        return replace(self, part=replace(self.part, panels=panels))
