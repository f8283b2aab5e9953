"""Rules for the cutting table: the smallest hole, the steel between cuts, the size of the sheet."""

from __future__ import annotations

import math
from collections.abc import Iterator

from generator.dxf_tags import is_drilled
from generator.rules.rule import SLACK, Rule, Source, Subject
from parts.blank import held_by, sizes
from parts.errors import Finding
from parts.holes import Hole
from parts.outline import Contour

SHOPS = Source(text="common practice among cutting shops, no source: laser cuts holes from t (some from 0.7 t, some from 1.5 t), "
               "plasma from 1.5 t", level="note")  # fmt: skip
LASER_ASKED = 1.5  #: thicknesses that the more careful shops ask
PLASMA_WEBS = Source(text="common practice among cutting shops, no source: plasma leaves 1.5 t between cuts", level="note")
WEB_THICKNESSES = 1.5
SHEETS = Source(text="[[shop.sheet]] of the job file", level="stop")
SHOWN = 3  #: names in a message


def smallest_hole(subject: Subject) -> list[Finding] | None:
    """Openings too small for the process are centre marks to drill; what only some shops cut is told."""
    process, t, holes = subject.shop.process, subject.thickness_mm, subject.flat.holes
    least = subject.shop.least_hole_mm(t)
    if not holes or least == 0:
        return None
    found = []
    drilled = [h for h in holes if is_drilled(h, least)]
    if drilled:
        message = f"{_named(drilled)}: too small for {process} in {t:g} mm sheet; only the centre is marked, to be drilled"
        limit = f"at least {least:g} mm across"
        found.append(subject.finding("hole-drilled", SHOPS, message, value=_across(drilled), limit=limit, remedy="a larger hole is cut"))
    asked = LASER_ASKED * t
    small = [h for h in holes if h not in drilled and h.diameter_mm < asked - SLACK]
    if small and process == "laser":
        message = f"{_named(small)}: some shops ask {asked:g} mm at least in {t:g} mm"
        found.append(
            subject.finding("hole-small", SHOPS, message, value=_across(small), limit=f"{asked:g} mm", remedy="ask the shop, or drill")
        )
    return found


def _named(holes: list[Hole]) -> str:
    shown = [h.name for h in holes[:SHOWN]]
    more = f" and {len(holes) - SHOWN} more" if len(holes) > SHOWN else ""
    return f"{', '.join(shown)}{more}, {_across(holes)} across"


def _across(holes: list[Hole]) -> str:
    sizes = sorted({h.diameter_mm for h in holes})
    return f"{sizes[0]:g} mm" if len(sizes) == 1 else f"{sizes[0]:g} to {sizes[-1]:g} mm"


def steel_between_cuts(subject: Subject) -> list[Finding] | None:
    """Plasma only: for laser and water jet no figure was found. Holes that are drilled are no cuts."""
    flat, t = subject.flat, subject.thickness_mm
    least_hole = subject.shop.least_hole_mm(t)
    cut = [h for h in flat.holes if not is_drilled(h, least_hole)]
    if subject.shop.process != "plasma" or not cut:
        return None
    least = WEB_THICKNESSES * t
    near = [found for found in _gaps(flat.contour, cut, least) if found[0] < least - SLACK]
    if not near:
        return []
    gap, what = min(near)
    more = f", and {len(near) - 1} more such places" if len(near) > 1 else ""
    message = f"plasma leaves {gap:.1f} mm of steel between {what}{more}: it may burn through"
    return [
        subject.finding(
            "steel-between-cuts", PLASMA_WEBS, message, value=f"{gap:.1f} mm", limit=f"at least {least:g} mm",
            remedy="move them apart, drill one of them, or have it cut by laser",
        )
    ]  # fmt: skip


def _gaps(outline: Contour, holes: list[Hole], least: float) -> Iterator[tuple[float, str]]:
    """(steel left, between what) wherever it may be less than `least`."""
    for hole in holes:
        if outline.distance(hole.centre) - hole.reach_mm < least:
            yield outline.gap(hole.contour()), f"{hole.name} and the edge"
    waiting: list[Hole] = []
    for hole in sorted(holes, key=lambda h: h.x_mm - h.reach_mm):
        waiting = [w for w in waiting if w.x_mm + w.reach_mm + least > hole.x_mm - hole.reach_mm]
        for other in waiting:
            if math.dist(hole.centre, other.centre) - hole.reach_mm - other.reach_mm < least:
                yield hole.contour().gap(other.contour()), f"{other.name} and {hole.name}"
        waiting.append(hole)


def sheet_size(subject: Subject) -> list[Finding] | None:
    """Whether the flat pattern comes out of one of the shop's sheets, laid along it or turned to one of its own edges."""
    if not subject.shop.sheets:
        return None
    t, grade = subject.thickness_mm, subject.piece.grade
    fitting = [s for s in subject.shop.sheets if s.serves(t, grade)]
    if not fitting:
        message = f"no sheet of {t:g} mm {grade} is listed"
        remedy = "add it to [[shop.sheet]]"
        return [subject.finding("sheet-missing", SHEETS, message, value=f"{t:g} mm {grade}", remedy=remedy, level="warn")]
    if held_by(subject.flat.contour, fitting):
        return []
    (a, b), largest = next(sizes(subject.flat.contour)), max(fitting, key=lambda s: s.length_mm * s.width_mm)
    message = f"its flat pattern is {a:.0f} x {b:.0f} mm; the largest sheet for it is {largest.length_mm:g} x {largest.width_mm:g} mm"
    limit = f"within {largest.length_mm:g} x {largest.width_mm:g} mm"
    remedy = "make it in two parts that meet, or list a larger sheet"
    return [subject.finding("part-over-sheet", SHEETS, message, value=f"{a:.0f} x {b:.0f} mm", limit=limit, remedy=remedy)]


RULES = (
    Rule(asks="smallest hole for process and thickness; below it: a centre to drill", codes=("hole-drilled", "hole-small"),
         sources=(SHOPS,), check=smallest_hole),
    Rule(asks="plasma: at least 1.5 t of steel between cuts", codes=("steel-between-cuts",), sources=(PLASMA_WEBS,),
         check=steel_between_cuts),
    Rule(asks="part no larger than a sheet of its thickness and grade", codes=("part-over-sheet", "sheet-missing"), sources=(SHEETS,),
         check=sheet_size),
)  # fmt: skip
