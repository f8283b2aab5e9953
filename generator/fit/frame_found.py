"""The frame that parts are built on: as it was found where the readings say so, else as drawn, and why."""

from __future__ import annotations

from collections.abc import Mapping, Sequence
from dataclasses import dataclass

from parts.errors import BadInput, Finding
from parts.frame.found import as_found, met_on
from parts.frame.found_plan import LEVER_SHARE, Met
from parts.frame.frame import Frame
from parts.frame.measured import SectionReading
from parts.frame.placing import SIDES
from parts.frame.section import RailSide
from parts.sheet import Vec3

FRAME = "frame"
REMEDY = "`ladderframe survey FRAME` says which readings are missing or not believed"


@dataclass(frozen=True, kw_only=True, eq=False)
class BuiltOn:
    """What parts are built on, and what is to be known about it."""

    frame: Frame
    findings: tuple[Finding, ...] = ()


def built_on(frame: Frame, points: Mapping[str, Vec3], sections: Sequence[SectionReading] = ()) -> BuiltOn:
    """The frame as found where both rails have points enough; else as drawn, with a finding.

    Args:
        points: control points that the readings wholly determine; none where nothing was read: then nothing is said either.
        sections: the rails' sections as measured; they count on a frame as drawn too.
    """
    if not points and not sections:
        return BuiltOn(frame=frame)
    why = [reason for side in SIDES if points and (reason := _too_few(frame, side, points))]
    if why:
        points = {}
    told: tuple[Finding, ...] = tuple(_as_drawn(reason) for reason in why)
    try:
        return BuiltOn(frame=as_found(frame, points, sections), findings=told)
    except BadInput as error:
        return BuiltOn(frame=frame, findings=(*told, *(_as_drawn(str(fault)) for fault in error.faults)))


def _as_drawn(why: str) -> Finding:
    return Finding(
        code="frame-as-drawn", level="warn", where=FRAME, message=f"parts are made for the frame as drawn: {why}", remedy=REMEDY,
        source="geometry of the readings",
    )  # fmt: skip


def _too_few(frame: Frame, side: RailSide, points: Mapping[str, Vec3]) -> str:
    """Why a rail's points do not say how it lies; "" where they do."""
    met = met_on(frame.found.drawn if frame.found is not None else frame, side, points)
    if len(met) < 2:
        known = f"only {met[0].key}" if met else "no point"
        return f"{known} of the {side} rail is determined by readings; two are needed"
    span, wanted = _span(met), LEVER_SHARE * frame.rail(side).length_s_mm
    if span < wanted:
        return f"the {side} rail's points lie within {span:.0f} mm of each other; they have to span {wanted:.0f} mm"
    return ""


def _span(met: Sequence[Met]) -> float:
    return max(p.s_mm for p in met) - min(p.s_mm for p in met)
