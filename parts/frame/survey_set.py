"""A set of readings: taken in one go, at one stage of the work, with the frame carried and loaded in one way."""

from __future__ import annotations

from dataclasses import dataclass
from typing import ClassVar, Literal

from parts import spec
from parts.errors import BadInput, Fault
from parts.frame.placing import OnRail

Stage = Literal["found", "straightened", "tacked", "welded"]
STAGES: tuple[Stage, ...] = ("found", "straightened", "tacked", "welded")
SupportKind = Literal["stand", "wheel", "jig"]
SUPPORT_KINDS: tuple[SupportKind, ...] = ("stand", "wheel", "jig")
FIRST_SET = "found"  #: what readings belong to where no set is declared


@dataclass(frozen=True, kw_only=True)
class Support(OnRail):
    """What carries the frame at one place, or at one on either rail."""

    UNIQUE: ClassVar[tuple[str, ...]] = ()
    WORD: ClassVar[str] = "support"

    name: str = spec.name("its name, if it has one", default="")
    kind: SupportKind = spec.choice("what stands there: stand, wheel (its axle's place), jig", SUPPORT_KINDS, default="stand")
    height_mm: float | None = spec.length("height of its top over z = 0", least=-3000, most=5000, default=None)
    load_kg: float | None = spec.number("what a scale under it shows, in kg", least=0, most=20_000, default=None, key="load_kg")

    @property
    def places(self) -> frozenset[str]:
        """What two supports may not share: the sides at one position."""
        return frozenset(f"{side} {self.position}" for side in self.sides)


@dataclass(frozen=True, kw_only=True)
class SurveySet:
    """What is to be known of a set of readings besides the readings. Their order in a file is their order in time."""

    WORD: ClassVar[str] = "set"

    name: str = spec.name("its name, which readings give as their set")
    stage: Stage = spec.choice("how far the work was", STAGES, default="found")
    carries: tuple[str, ...] = spec.names('what was bolted on while it was read: ["body", "engine"]; nothing: a bare frame', default=())
    supports: tuple[Support, ...] = spec.tables(Support, "what the frame stood on", key="support")
    date: str = spec.text("when it was taken", longest=60, default="")
    note: str = spec.text("who, where, what was odd", longest=500, default="")

    def __post_init__(self) -> None:
        faults = spec.faults_of(self)
        taken: set[str] = set()
        for number, support in enumerate(self.supports, start=1):
            if both := taken & support.places:
                limit = f"another support of this set stands at the same place: {', '.join(sorted(both))}"
                remedy = "give each its own place; one of side both is two"
                faults.append(Fault(where=f"support number {number}", field="at", limit=limit, remedy=remedy))
            taken |= support.places
        if faults:
            raise BadInput(faults)
