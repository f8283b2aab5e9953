"""A gap in words: how wide, at which edge, and where with a tape."""

from __future__ import annotations

from parts.frame.rail import Rail
from parts.one_shape import OneShape, Shift
from parts.shape_gaps import Gap
from parts.sheet import Vec3


def by_tape(rail: Rail, point: Vec3) -> str:
    """`front-axle +340 mm`: along the rail's upper corner from the station before it."""
    s, z, _ = rail.szo(point)
    s = min(max(s, 0.0), rail.length_s_mm)
    tape, _ = rail.profile.tape_and_up(s, z)
    station, along = rail.laid_off(min(max(tape, 0.0), rail.tape_length_mm))
    return station if abs(along) < 0.5 else f"{station} {along:+.0f} mm"


def told(gap: Gap, rail: Rail) -> str:
    """`1.2 mm at the upper edge, front-axle +340 mm`; `over`: it reaches past where it belongs."""
    if gap.kind == "hole":
        return f"hole {gap.what} {gap.mm:.1f} mm off ({gap.most_mm:.2g} mm would do)"
    if gap.kind == "bend":
        return f"{gap.mm:.1f} mm beside the {gap.what}"
    place = "" if gap.place is None else f", {by_tape(rail, gap.place.point)}"
    return f"{abs(gap.mm):.1f} mm{' over' if gap.mm < 0 else ''} at the {gap.what} edge{place}"


def moved(shift: Shift) -> str:
    """`0.4 mm up`, `3.3 mm forward, 1.1 mm down in front, 3.7 mm up behind`; "" where it is not moved."""
    words = []
    if shift.rearward_mm:
        words.append(f"{abs(shift.rearward_mm):.1f} mm {'rearward' if shift.rearward_mm > 0 else 'forward'}")
    ends = [("in front", shift.up_front_mm), ("behind", shift.up_rear_mm)]
    if shift.up_front_mm == shift.up_rear_mm:
        ends = [("", shift.up_front_mm)]
    words += [f"{abs(up):.1f} mm {'up' if up > 0 else 'down'} {where}".strip() for where, up in ends if up]
    return ", ".join(words)


def verdict(fit: OneShape, rail: Rail, give_mm: float = 0.0) -> str:
    """`one shape serves both: worst gap 1.2 mm at ..., shifted 0.4 mm up`, `cut handed: 3.1 mm at ...`, or `cannot tell`.

    Args:
        rail: where it was tried.
        give_mm: how far off the measured rails may be, both sides together; 0: as drawn.
    """
    if fit.why_not:
        return f"cut handed: {fit.why_not}"
    by = moved(fit.shift)
    shifted = f", shifted {by}" if by else ""
    worst = fit.worst
    if worst is None:
        return "one shape serves both"
    if abs(fit.margin_mm) < give_mm:
        return f"cannot tell: {told(worst, rail)}, give or take {give_mm:.1f} mm of the readings{shifted}: try it on"
    if not fit.fits:
        return f"cut handed: {told(worst, rail)}{shifted}"
    return f"one shape serves both: worst {'gap ' if worst.kind == 'edge' else ''}{told(worst, rail)}{shifted}"
