"""What can be asked of a rail plate besides its outline: openings and their rings, drains, trim lines, recesses, splits, stops."""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass
from typing import Protocol

from parts import spec
from parts.errors import BadInput, Fault
from parts.features.choices import OPENING_SHAPES, OpeningShape, Opens
from parts.spec import Position

STOPS_APART_MM = 10.0  #: from one stop to the next: the torch gets in between. Builder's choice


class Named(Protocol):
    @property
    def name(self) -> str: ...


def repeated(key: str, entries: Sequence[Named], where: str) -> list[Fault]:
    """A fault for every name that two entries of one array share: holes, marks and rings are called by it."""
    names = [e.name for e in entries]
    twice = dict.fromkeys(n for n in names if names.count(n) > 1)
    limit, remedy = "two of them have this name", "a name of its own for each"
    return [Fault(where=where, field=f"{key}.name", value=n, limit=limit, remedy=remedy) for n in twice]


def _needed(key: str, why: str, example: str) -> Fault:
    return Fault(where="", field=key, limit=f"is needed {why}", remedy=example)


def _not_with(key: str, value: object, why: str) -> Fault:
    shown = f"{value:g} mm" if isinstance(value, float | int) else str(value)
    return Fault(where="", field=key, value=shown, limit=why, remedy="leave it out")


@dataclass(frozen=True, kw_only=True)
class Ring:
    """A flat ring welded round an opening, on the plate's seen face."""

    width_mm: float = spec.length("steel all round the opening: a round one's outside radius less the opening's", least=5, most=100)
    thickness_mm: float | None = spec.length("thickness of the ring; else that of the plate", least=0.5, most=25, default=None)

    def __post_init__(self) -> None:
        spec.checked(self)


@dataclass(frozen=True, kw_only=True)
class Opening:
    """An opening for a hand, a tool or a pipe."""

    name: str = spec.name("its name: hole and ring are called by it")
    at: Position | None = spec.position("its middle, along the rail's upper corner", default=None)
    up_mm: float | None = spec.length(
        "its middle, square up from the rail's lower outside face; else half way up the plate", least=-50, most=450, default=None
    )
    path: str | None = spec.name(
        "in place of at: a pipe of the frame (keep_out of shape path); it is made where that crosses", default=None, key="for"
    )
    clearance_mm: float | None = spec.length("with for: air all round the pipe; else the keep_out's own", least=0, most=100, default=None)
    shape: OpeningShape | None = spec.choice(
        "long-round: half circles at both ends; else round, and for an oblique pipe long-round", OPENING_SHAPES, default=None
    )
    diameter_mm: float | None = spec.length("of a round one", least=5, most=300, default=None)
    length_mm: float | None = spec.length("along the rail, over all: rectangle and long-round", least=5, most=1500, default=None)
    height_mm: float | None = spec.length("square to the rail: rectangle and long-round", least=5, most=300, default=None)
    corner_radius_mm: float | None = spec.length("of a rectangle; else the plate's corner_radius", least=0, most=150, default=None)
    ring: Ring | None = spec.table(Ring, "a ring that stiffens its edge", default=None)

    def __post_init__(self) -> None:
        faults = spec.faults_of(self)
        faults += [] if faults else (self._by_path() if self.path is not None else self._by_place())
        if faults:
            raise BadInput(faults)

    def _by_path(self) -> list[Fault]:
        given = [
            ("at", self.at), ("up", self.up_mm), ("diameter", self.diameter_mm), ("length", self.length_mm), ("height", self.height_mm),
            ("corner_radius", self.corner_radius_mm),
        ]  # fmt: skip
        faults = [_not_with(key, v, "place and size come from the pipe, where for names one") for key, v in given if v is not None]
        if self.shape == "rectangle":
            faults.append(_not_with("shape", self.shape, "an opening for a pipe is round or long-round"))
        return faults

    def _by_place(self) -> list[Fault]:
        faults = [] if self.at is not None else [_needed("at", "unless for names a pipe", 'at = "NAME", or for = "KEEP-OUT"')]
        if self.clearance_mm is not None:
            faults.append(_not_with("clearance", self.clearance_mm, "only an opening for a pipe has a clearance"))
        shape = self.shape or "round"
        sizes = {"diameter": self.diameter_mm, "length": self.length_mm, "height": self.height_mm, "corner_radius": self.corner_radius_mm}
        wanted = ("diameter",) if shape == "round" else ("length", "height")
        allowed = (*wanted, "corner_radius") if shape == "rectangle" else wanted
        faults += [_needed(key, f"for a {shape} opening", f'{key} = "60 mm"') for key in wanted if sizes[key] is None]
        remedy = f"a {shape} opening has none"
        faults += [_not_with(key, v, remedy) for key, v in sizes.items() if v is not None and key not in allowed]
        if faults or shape == "round":
            return faults
        assert self.length_mm is not None and self.height_mm is not None
        if shape == "long-round" and self.length_mm <= self.height_mm:
            limit = f"a long-round opening is longer than it is high: more than {self.height_mm:g} mm"
            faults.append(Fault(where="", field="length", value=f"{self.length_mm:g} mm", limit=limit, remedy="swap them, or a round one"))
        most = min(self.length_mm, self.height_mm) / 2
        if self.corner_radius_mm is not None and self.corner_radius_mm >= most:
            value, limit = f"{self.corner_radius_mm:g} mm", f"must be less than half of length and of height: {most:g} mm"
            faults.append(Fault(where="", field="corner_radius", value=value, limit=limit, remedy='shape = "round" or "long-round"'))
        return faults


@dataclass(frozen=True, kw_only=True)
class Drains:
    """Drains at the low points of a closed box."""

    diameter_mm: float = spec.length("of each drain: builder's choice, no size was found in the trade", least=4, most=40)

    def __post_init__(self) -> None:
        spec.checked(self)


@dataclass(frozen=True, kw_only=True)
class Trim:
    """An etched line along which a piece may be cut off later."""

    name: str = spec.name("its name: the mark is called by it")
    at: Position = spec.position("where it meets the plate's upper edge, along the rail's upper corner")
    angle_deg: float = spec.angle("to the rail's length; under 90 its lower end lies further to the rear", least=30, most=150, default=90.0)
    label: str = spec.text('etched beside it; else "trim NAME"', longest=40, default="")

    def __post_init__(self) -> None:
        spec.checked(self)


@dataclass(frozen=True, kw_only=True)
class Recess:
    """A cut-in from a long edge, for something that stays."""

    name: str = spec.name("its name")
    edge: Opens = spec.choice("the edge it is cut from; nearest: that of the bracket", ("lower", "upper", "nearest"), default="nearest")
    at: Position | None = spec.position("its middle, along the rail's upper corner", default=None)
    length_mm: float | None = spec.length("along the edge", least=5, most=1500, default=None)
    depth_mm: float | None = spec.length("in from the plate's edge, square to it", least=3, most=300, default=None)
    bracket: str | None = spec.name("in place of at: a bracket of the frame that stays; it is cut clear of that", default=None, key="for")
    air_mm: float | None = spec.length("with for: left between bracket and plate", least=0.5, most=50, default=None)
    corner_radius_mm: float = spec.length("in its two inner corners, at the most", least=0, most=100, default=10.0)

    def __post_init__(self) -> None:
        faults = spec.faults_of(self)
        if not faults:
            by_place: tuple[tuple[str, object], ...] = (("at", self.at), ("length", self.length_mm), ("depth", self.depth_mm))
            if self.bracket is not None:
                why = "place and size come from the bracket, where for names one"
                faults += [_not_with(key, v, why) for key, v in by_place if v is not None]
                faults += [] if self.air_mm is not None else [_needed("air", "where for names a bracket", 'air = "5 mm"')]
            else:
                faults += [_needed(key, "unless for names a bracket", 'at, length and depth, or for = "BRACKET"')
                           for key, v in by_place if v is None]  # fmt: skip
                if self.air_mm is not None:
                    faults.append(_not_with("air", self.air_mm, "only a recess for a bracket has air"))
                if self.edge == "nearest":
                    faults.append(_needed("edge", "unless for names a bracket", 'edge = "lower" or "upper"'))
        if faults:
            raise BadInput(faults)




@dataclass(frozen=True, kw_only=True)
class Split:
    """A place where the plate is made of two pieces that are butt-welded."""

    at: Position = spec.position("the joint's middle, along the rail's upper corner; staggered where the part is for both sides")
    angle_deg: float | None = spec.angle(
        "of this joint to the rail's length; under 90 its lower end lies further to the rear; else split_angle", least=30, most=150,
        default=None,
    )  # fmt: skip

    def __post_init__(self) -> None:
        spec.checked(self)


@dataclass(frozen=True, kw_only=True)
class Stops:
    """Small flat pieces on the flanges' insides, behind a stepped-in plate, that hold it at its step while it is tacked."""

    every_mm: float = spec.length(
        "the most from one to the next, centre to centre on the tape, wherever one has room; where none has it is told", least=40, most=2000
    )
    length_mm: float = spec.length("of a stop, along the rail", least=10, most=100)
    height_mm: float = spec.length("of a stop, square off the flange's inner face", least=8, most=60)
    thickness_mm: float = spec.length("of the stops' sheet", least=1, most=16)

    def __post_init__(self) -> None:
        faults = spec.faults_of(self)
        if not faults and self.every_mm < self.length_mm + STOPS_APART_MM:
            limit = f"stops of {self.length_mm:g} mm stand {self.length_mm + STOPS_APART_MM:g} mm or more apart, centre to centre"
            faults.append(Fault(where="", field="every", value=f"{self.every_mm:g} mm", limit=limit, remedy="shorter stops, or fewer"))
        if faults:
            raise BadInput(faults)
