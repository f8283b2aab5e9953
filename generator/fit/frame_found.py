"""The frame that parts are built on: as it was found where the readings say so, else as drawn, and why."""

from __future__ import annotations

from collections.abc import Mapping, Sequence
from dataclasses import dataclass
from statistics import NormalDist
from types import MappingProxyType

from parts.errors import BadInput, Finding
from parts.frame.found import as_found, met_on
from parts.frame.found_plan import LEVER_SHARE, Met
from parts.frame.frame import Frame
from parts.frame.measured import SectionReading
from parts.frame.placing import SIDES
from parts.frame.section import RailSide
from parts.sheet import Vec3

FRAME = "frame"
ROUGH_MM = 5.0  #: standard deviation of a coordinate over which a point does not shape a rail; our choice
FAMILY = 0.05  #: how often a frame as drawn is taken for one that is not, all its points together
SAME_MM = 1e-6
NORMAL_95 = 1.96  #: two-sided 95 % of a normal distribution
EXACT: Vec3 = (0.0, 0.0, 0.0)
REMEDY = "`ladderframe survey FRAME` says which readings are missing or not believed"


@dataclass(frozen=True, kw_only=True, eq=False)
class BuiltOn:
    """What parts are built on, and what is to be known about it."""

    frame: Frame
    findings: tuple[Finding, ...] = ()


def built_on(
    frame: Frame, points: Mapping[str, Vec3], sections: Sequence[SectionReading] = (), sigmas: Mapping[str, Vec3] = MappingProxyType({}),
    off: Mapping[str, tuple[Vec3, Vec3]] = MappingProxyType({}), *, read: bool = False,
) -> BuiltOn:  # fmt: skip
    """The frame as found where both rails have points enough and they lie off the drawing by more than their own error; else as drawn.

    A frame that is straight as far as its readings can tell is made for as drawn: the readings' error would cut every plate handed.

    Args:
        frame: as drawn.
        points: control points that the readings wholly determine.
        sections: the rails' sections as measured; they count on a frame as drawn too.
        sigmas: standard deviations of the points' coordinates; a point without is taken as it stands.
        off: point -> (how far its place in the shape is off the drawn one, standard deviations): tells what a loose datum hides.
        read: whether anything was read beside sections; where nothing was, nothing is said.
    """
    rough = [key for key in points if max(sigmas.get(key, EXACT)) > ROUGH_MM]
    points = {key: at for key, at in points.items() if key not in rough}
    why = [reason for side in SIDES if (points or rough or read) and (reason := _too_few(frame, side, points, rough))]
    told: tuple[Finding, ...] = tuple(_as_drawn(reason) for reason in why)
    if not why and points and not _stands_off(frame, points, sigmas, off):
        told = (_straight(points, sigmas, off),)
    unused = () if why or not rough else (_not_used(rough),)
    if told:
        points = {}
    if not points and not sections:
        return BuiltOn(frame=frame, findings=(*told, *unused))
    try:
        return BuiltOn(frame=as_found(frame, points, sections), findings=(*told, *unused))
    except BadInput as error:
        return BuiltOn(frame=frame, findings=(*told, *(_as_drawn(str(fault)) for fault in error.faults)))


def _sigmas_of_one(points: Mapping[str, Vec3], off: Mapping[str, tuple[Vec3, Vec3]]) -> float:
    """How many standard deviations one coordinate may be off, at FAMILY over all of them together (Bonferroni)."""
    return NormalDist().inv_cdf(1 - FAMILY / (2 * 3 * (len(points) + len(off.keys() & points.keys()))))


def _stands_off(
    frame: Frame, points: Mapping[str, Vec3], sigmas: Mapping[str, Vec3], off: Mapping[str, tuple[Vec3, Vec3]]
) -> bool:
    """Whether any point lies off its drawn place, or off its place in the drawn shape, by more than its error."""
    drawn, many = frame.control_coordinates, _sigmas_of_one(points, off)
    moves = [(at[axis] - drawn[key][axis], sigmas.get(key, EXACT)[axis]) for key, at in points.items() for axis in range(3)]
    moves += [(by[axis], sigma[axis]) for key, (by, sigma) in off.items() if key in points for axis in range(3)]
    return any(abs(by) > max(SAME_MM, many * sigma) for by, sigma in moves)


def _straight(points: Mapping[str, Vec3], sigmas: Mapping[str, Vec3], off: Mapping[str, tuple[Vec3, Vec3]]) -> Finding:
    """The error is that of the least sure coordinate, as it was held against the point: what is off by less would not show there."""
    error = _sigmas_of_one(points, off) * max((max(sigmas.get(key, EXACT)) for key in points), default=0.0)
    found = f"no point was found off its drawn place by more than the readings' error, {error:.1f} mm"
    message = f"parts are made for the frame as drawn: {found}"
    return Finding(
        code="frame-found-as-drawn", level="note", where=FRAME, message=message, value=f"{error:.1f} mm",
        source="normal distribution, 5 % over all points together",
    )  # fmt: skip


def _not_used(rough: Sequence[str]) -> Finding:
    message = f"no part is made by where these points were found: {', '.join(rough)}: known no better than {NORMAL_95 * ROUGH_MM:.0f} mm"
    return Finding(
        code="frame-point-not-used", level="note", where=FRAME, message=message, remedy=REMEDY, source="geometry of the readings",
    )  # fmt: skip


def _as_drawn(why: str) -> Finding:
    return Finding(
        code="frame-as-drawn", level="warn", where=FRAME, message=f"parts are made for the frame as drawn: {why}", remedy=REMEDY,
        source="geometry of the readings",
    )  # fmt: skip


def _too_few(frame: Frame, side: RailSide, points: Mapping[str, Vec3], rough: Sequence[str]) -> str:
    """Why a rail's points do not say how it lies; "" where they do."""
    met = met_on(frame.found.drawn if frame.found is not None else frame, side, points)
    if len(met) < 2:
        known = f"only {met[0].key}" if met else "no point"
        lost = f"; {', '.join(rough)}: known no better than {NORMAL_95 * ROUGH_MM:.0f} mm" if rough else ""
        return f"{known} of the {side} rail is determined by readings; two are needed{lost}"
    span, wanted = _span(met), LEVER_SHARE * frame.rail(side).length_s_mm
    if span < wanted:
        return f"the {side} rail's points lie within {span:.0f} mm of each other; they have to span {wanted:.0f} mm"
    return ""


def _span(met: Sequence[Met]) -> float:
    return max(p.s_mm for p in met) - min(p.s_mm for p in met)
