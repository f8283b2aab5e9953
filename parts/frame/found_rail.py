"""What is known of a rail as it was found, beside its upright shape: where places moved to, what stands off it, its section."""

from __future__ import annotations

from collections.abc import Mapping
from dataclasses import dataclass, field
from types import MappingProxyType
from typing import TYPE_CHECKING

from parts.frame.found_section import FoundSection
from parts.frame.linear import Linear
from parts.frame.profile import Profile

if TYPE_CHECKING:
    from parts.frame.rail import Rail


@dataclass(frozen=True, kw_only=True, eq=False)
class FoundRail:
    """A rail keeps its web upright over its drawn turns. What was found otherwise is held here, as a gap.

    Attributes:
        drawn: the rail of the frame file, on its own side.
        along: how much further from the front end a place lies, over s as drawn.
        higher: how much higher the upper corner lies, over s as found.
        aside: how far the web's outside face stands off the upright one at `aside_z`, towards the open side, over s as found.
        lean: how much further that is for every mm up, over s as found; 0 where nothing says it.
        base: the drawn side view over s as found.
        across: hole -> up (on the web) or in (on a flange), of holes that were measured themselves.
        lean_known: whether anything said how the web leans: points over each other, or heights of both rails.
    """

    drawn: Rail
    along: Linear
    higher: Linear
    aside: Linear
    aside_z: Linear
    lean: Linear
    base: Profile
    section: FoundSection
    across: Mapping[str, float] = field(default_factory=lambda: MappingProxyType({}))
    lean_known: bool = False

    def s_of(self, drawn_s: float) -> float:
        return drawn_s + self.along.at(drawn_s)

    def drawn_s(self, s: float) -> float:
        return self.along.back(s)

    def off_mm(self, s: float, z: float) -> float:
        """How far the web's outside face stands off the upright one there, + towards the open side."""
        return self.aside.at(s) + self.lean.at(s) * (z - self.aside_z.at(s))

    @property
    def places(self) -> tuple[float, ...]:
        """Where anything about how the web stands was measured."""
        return tuple(sorted({*self.aside.places, *self.lean.places}))
