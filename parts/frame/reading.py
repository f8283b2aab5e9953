"""A reading: one length as it was read off, between which points, with what, and how far off it may be."""

from __future__ import annotations

from collections.abc import Mapping
from dataclasses import dataclass
from types import MappingProxyType
from typing import ClassVar, Literal

from parts import spec
from parts.errors import BadInput, Fault
from parts.frame.instruments import bound_mm, instrument_names

ReadingKind = Literal["distance", "plan", "rise", "height", "along", "offset", "known x", "known y", "known z"]
READING_KINDS: tuple[ReadingKind, ...] = (
    "distance", "plan", "rise", "height", "along", "offset", "known x", "known y", "known z",
)  # fmt: skip
BETWEEN: tuple[ReadingKind, ...] = ("distance", "plan", "rise")  #: from one point to another; the rest are taken at one
LENGTHS: tuple[ReadingKind, ...] = ("distance", "plan")  #: more than 0
KNOWN: Mapping[ReadingKind, ReadingKind] = MappingProxyType({"known x": "along", "known y": "offset", "known z": "height"})
#: What a reading is taken to be taken with where nothing is said; common practice, no source.
DEFAULTS: Mapping[ReadingKind, str] = MappingProxyType(
    {
        "distance": "tape II", "plan": "plumbed tape", "rise": "water level", "height": "water level", "along": "tape II",
        "offset": "string",
    }
)  # fmt: skip
BOUND_SIGMAS = 2.0  #: "how far off it may be" is a 95 % bound, taken as two standard deviations
FURTHEST_MM = 14000.0


@dataclass(frozen=True, kw_only=True)
class Reading:
    """One measurement, as read off. Repeats are readings of their own.

    `set` "" is the frame's first declared set; in a frame every reading has its set filled in.
    """

    UNIQUE: ClassVar[tuple[str, ...]] = ("name", "set")

    name: str = spec.name("its name, its own in its set")
    kind: ReadingKind = spec.choice(
        "distance: tape, straight through the air; plan: tape, between marks plumbed to the floor; rise: how far `to` lies over `from`; "
        "height: over the level line z = 0; along: x, from the datum's x = 0; offset: y, from the string down the middle, + to the "
        "right; known x, known y, known z: held as given",
        READING_KINDS,
        default="distance",
    )
    start: str = spec.name("the control point it is taken at or from; a pair's: NAME-left, NAME-right", key="from")
    end: str | None = spec.name("the control point it is taken to: distance, plan, rise", default=None, key="to")
    value_mm: float = spec.length("as read", least=-FURTHEST_MM, most=FURTHEST_MM)
    accuracy_mm: float | None = spec.length("how far off it may be (19 times of 20 it is nearer)", least=0.01, most=100, default=None)
    instrument: str | None = spec.choice(
        "what it was taken with: gives the accuracy where none is written", instrument_names(), default=None, key="with"
    )
    set: str = spec.name("the set of readings it belongs to; the first declared one, else found", default="")
    note: str = spec.text("who, when, what was odd", longest=200, default="")

    def __post_init__(self) -> None:
        if faults := [*spec.faults_of(self), *self._end_faults(), *self._value_faults()]:
            raise BadInput(faults)

    def _end_faults(self) -> list[Fault]:
        if self.kind in BETWEEN and self.end is None:
            limit = f"is needed: a {self.kind} is taken from one point to another"
            remedy = 'to = "NAME"; what is read at one point is kind height, along or offset'
            return [Fault(where="", field="to", limit=limit, remedy=remedy)]
        if self.kind not in BETWEEN and self.end is not None:
            limit = f"a reading of kind {self.kind} is taken at one point, from"
            remedy = "leave to out" + ("; how far one point lies over another is kind rise" if self.kind == "height" else "")
            return [Fault(where="", field="to", value=self.end, limit=limit, remedy=remedy)]
        if self.kind in BETWEEN and self.start == self.end:
            remedy = "from and to name two different points"
            return [Fault(where="", field="to", value=str(self.end), limit=f"a {self.kind} lies between two points", remedy=remedy)]
        return []

    def _value_faults(self) -> list[Fault]:
        faults = []
        if self.kind in LENGTHS and self.value_mm <= 0:
            value, remedy = f"{self.value_mm:g} mm", "" if self.value_mm else "leave out what was not read"
            faults.append(Fault(where="", field="value", value=value, limit=f"a {self.kind} is more than 0", remedy=remedy))
        if self.held and (self.accuracy_mm is not None or self.instrument is not None):
            field = "accuracy" if self.accuracy_mm is not None else "with"
            value = f"{self.accuracy_mm:g} mm" if self.accuracy_mm is not None else str(self.instrument)
            limit = f"{self.kind} is held as given: nothing makes it more or less sure"
            remedy = f"leave {field} out, or write kind {KNOWN[self.kind]}, which is adjusted with the rest"
            faults.append(Fault(where="", field=field, value=value, limit=limit, remedy=remedy))
        return faults

    @property
    def held(self) -> bool:
        """Whether it is known, and not adjusted."""
        return self.kind in KNOWN

    @property
    def points(self) -> tuple[str, ...]:
        return (self.start,) if self.end is None else (self.start, self.end)

    @property
    def taken_with(self) -> str:
        """The instrument whose accuracy counts; "" where the accuracy itself is given, or the value is held."""
        if self.accuracy_mm is not None or self.held:
            return ""
        return self.instrument or DEFAULTS[self.kind]

    @property
    def bound_mm(self) -> float:
        """How far off it may be, 95 times in 100; 0 of what is held."""
        if self.held:
            return 0.0
        return self.accuracy_mm if self.accuracy_mm is not None else bound_mm(self.taken_with, self.value_mm)

    @property
    def sigma_mm(self) -> float:
        """Its standard deviation; 0 of what is held."""
        return self.bound_mm / BOUND_SIGMAS

    @property
    def accuracy_told(self) -> str:
        """`1.2 mm, as given`, `1.4 mm, tape II`, `1.1 mm, taken to be a water level's`, `held`."""
        if self.held:
            return "held"
        if self.accuracy_mm is not None:
            return f"{round(self.accuracy_mm, 2):g} mm, as given"
        by = self.taken_with if self.instrument is not None else f"taken to be a {self.taken_with}'s"
        return f"{self.bound_mm:.1f} mm, {by}"
