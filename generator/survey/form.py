"""The form to fill in: the readings to take, in the order of the walk, and what a survey with them will be able to tell.

The walk is the trade's; the adjustment judges it before anybody has read anything, as its covariance asks for places and accuracies
only. What no other reading checks is to be taken twice.
"""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass, field
from types import MappingProxyType
from typing import TYPE_CHECKING

from generator.files.values import NAME, NAME_LONGEST, NAME_RULE
from generator.survey.measures import Measure, measured
from generator.survey.network import Network, Observation
from generator.survey.pairs import Pair, pairs_of
from generator.survey.quantities import Asked, quantities
from generator.survey.readings import KINDS, set_of
from generator.survey.stage import UNCHECKED, on_wheels
from generator.survey.walk import Leg, Line, again, free_prefix, walk
from parts.errors import BadInput, Fault, quoted
from parts.frame.measured import Reading

if TYPE_CHECKING:
    from generator.survey.adjust import Adjusted
    from parts.frame.frame import Frame

TIMES = 3  #: a reading is asked for so often at most
NEAR_MM = 150.0  #: a pair so near to a crossmember's middle, along the vehicle, is at it; as in `grow`
TWICE = "Once more: no other reading checks these"


@dataclass(frozen=True, kw_only=True)
class Form:
    """What to read of a frame.

    Attributes:
        legs: in the order of the walk.
        redundancy: reading -> the share of an error in it that the others would show.
        measures: each number that is asked, on the frame as drawn: its uncertainty is what these readings will leave of it.
        bare: crossmembers at which there is no pair of control points.
    """

    frame: Frame
    set_name: str
    legs: tuple[Leg, ...] = ()
    redundancy: MappingProxyType[str, float] = field(default_factory=lambda: MappingProxyType({}))
    measures: tuple[Measure, ...] = ()
    pairs: tuple[Pair, ...] = ()
    bare: tuple[str, ...] = ()

    @property
    def lines(self) -> tuple[Line, ...]:
        return tuple(line for leg in self.legs for line in leg.lines)


def form(frame: Frame, set_name: str) -> Form:
    """The form for one set of readings; without legs where the frame has no two pairs of control points.

    Raises:
        BadInput: this cannot be the name of a set, or the frame declares its sets, and none is called so.
    """
    _demand_name(set_name)
    if frame.sets and set_of(frame, set_name) is None:
        known = ", ".join(s.name for s in frame.sets)
        remedy = f'known: {known}; or declare it: [[set]] name = "{set_name}"'
        raise BadInput(Fault(where="", field="set", value=set_name, limit="the frame declares sets, and none of that name", remedy=remedy))
    pairs = pairs_of(frame)
    bare = tuple(c.name for c in frame.placed_crossmembers if not any(abs(p.x_mm - c.x_mm) <= NEAR_MM for p in pairs))
    if len(pairs) < 2:
        return Form(frame=frame, set_name=set_name, pairs=pairs, bare=bare)
    names = [line.name for leg in walk(frame) for line in leg.lines]
    legs = list(walk(frame, free_prefix(frame, set_name, names)))
    judged = _judged(frame, legs)
    for _ in range(TIMES - 1):
        twice = [line for line, r in zip(_lines(legs), judged.redundancy, strict=True) if r < UNCHECKED]
        if not twice:
            break
        legs.append(Leg(title=TWICE, how="Begin anew each time: put the tape or the level down in between.", lines=_anew(twice)))
        judged = _judged(frame, legs)
    asked = Asked(
        pairs=pairs, drawn=frame.control_coordinates, own=frame.limits, string=True, on_wheels=on_wheels(set_of(frame, set_name))
    )  # fmt: skip
    shares = {line.name: float(r) for line, r in zip(_lines(legs), judged.redundancy, strict=True)}
    return Form(
        frame=frame, set_name=set_name, legs=tuple(legs), redundancy=MappingProxyType(shares), pairs=pairs, bare=bare,
        measures=measured(quantities(asked), asked.drawn, judged),
    )  # fmt: skip


def _demand_name(set_name: str) -> None:
    if len(set_name) > NAME_LONGEST or NAME.fullmatch(set_name) is None:
        raise BadInput(Fault(where="", field="set", value=quoted(set_name), limit="is not a name", remedy=NAME_RULE))


def _lines(legs: Sequence[Leg]) -> list[Line]:
    return [line for leg in legs for line in leg.lines]


def _anew(lines: Sequence[Line]) -> tuple[Line, ...]:
    return tuple(again(line) for line in lines)


def _judged(frame: Frame, legs: Sequence[Leg]) -> Adjusted:
    """The adjustment of readings that say what is drawn: how good they are shows without a frame to read them on."""
    from generator.survey.adjust import adjust

    rough = frame.control_coordinates
    return adjust(Network(points=tuple(rough), observations=tuple(_observation(line) for line in _lines(legs)), rough=rough))


def _observation(line: Line) -> Observation:
    reading = Reading(
        name=line.name, kind=line.kind, start=line.start, end=line.end, value_mm=line.drawn_mm, instrument=line.instrument
    )  # fmt: skip
    return Observation(
        name=line.name, kind=KINDS[line.kind], start=line.start, end=line.end, value_mm=line.drawn_mm, sigma_mm=reading.sigma_mm
    )  # fmt: skip
