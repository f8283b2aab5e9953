"""The frame from above: as drawn in thin lines, as found beside it, enlarged."""

from __future__ import annotations

from collections.abc import Callable
from typing import TYPE_CHECKING

from generator.draw.sheet import GREY, WIDE, Sheet
from generator.survey.picture_marks import damage_mark, out_elsewhere, out_mark, out_points
from generator.survey.picture_page import (
    NORMAL,
    SMALL,
    THIN,
    Mark,
    dashed,
    differs,
    faint,
    legend,
    not_compared,
    off_text,
    spot_marks,
    suspect_mark,
    thick,
    title,
)
from generator.survey.picture_rails import Lines, damaged, outline
from generator.survey.picture_scales import LOW, TOP, both
from generator.survey.picture_spots import Spot, marks_of, moved_edge, plan_spots, runs, runs_before
from generator.survey.stage import Survey
from parts.frame.frame import Frame
from parts.frame.placing import SIDES
from parts.frame.section import RailSide
from parts.outline import Point

if TYPE_CHECKING:
    from generator.survey.later import Later

_Place = Callable[[float, float], Point]
IN_PLAN = ("distance", "plan", "x", "y")
WHAT = "seen from above"


def plan_svg(survey: Survey, held: Later | None = None) -> str:
    """An A4 sheet: front to the left, the right rail above, as it lies seen from above. Lengths in mm, told in the frame's units.

    Args:
        held: the survey held against an earlier one, whose shape is drawn beside it where the two may be compared.
    """
    frame, spots = survey.frame, plan_spots(survey, held)
    outlines = {side: outline(frame.rail(side)) for side in SIDES}
    xs = [x for edges in outlines.values() for edge in edges for x, _ in edge]
    ys = [y for edges in outlines.values() for edge in edges for _, y in edge]
    by, _ = both(survey, held)
    middle = ((min(xs) + max(xs)) / 2, (min(ys) + max(ys)) / 2)

    def place(x: float, y: float) -> Point:
        return WIDE / 2 + (x - middle[0]) / by.frame, (TOP + LOW) / 2 - (y - middle[1]) / by.frame

    sheet = Sheet()
    title(sheet, survey, WHAT, held)
    for edges in outlines.values():
        for edge in edges:
            faint(sheet, [place(*p) for p in edge])
        for end in (0, -1):
            faint(sheet, [place(*edges[0][end]), place(*edges[1][end])])
    _crossmembers(sheet, frame, place)
    ends = _centreline(sheet, place, min(xs), max(xs))
    worn = [(patch.side, words, damage_mark(sheet, place(*a), place(*b))) for patch, words, (a, b), _ in damaged(frame)]
    for side in SIDES:
        own = [s for s in spots if s.side == side]
        for run in runs_before(own):
            dashed(sheet, [place(*p) for p in moved_edge(outlines[side][0], run, by.enlarged)])
        for run in runs(own):
            thick(sheet, [place(*p) for p in moved_edge(outlines[side][0], run, by.enlarged)])
    at = {s.key: spot_marks(sheet, s, place(*s.drawn[:2]), _both(s), by.off) for s in spots}
    out = [s.key for s in spots if s.key in out_points(survey, upright=False) and _both(s) is not None]
    for key in out:
        out_mark(sheet, at[key])
    doubted = {name for s in survey.suspects for name in s.observations}
    marked = [o for o in survey.network.observations if o.name in doubted and o.kind in IN_PLAN]
    labels = [suspect_mark(sheet, survey, o, at[o.start], at[o.end] if o.end else None) for o in marked]
    sheet.facing((("FRONT",), ("REAR",)), (ends[0][0] - 2.0, ends[1][0] + 2.0), ends[0][1], NORMAL)
    _sides(sheet, outlines, place)
    area = (4.0, TOP, WIDE - 4.0, LOW)
    for spot in spots:
        up = 90.0 if spot.side == "right" else -90.0
        sheet.label(_words(spot, frame.units), at[spot.key], SMALL, prefer_deg=up, within=area)
    for side, words, where in worn:
        sheet.label(words, where, SMALL, prefer_deg=-90.0 if side == "right" else 90.0, within=area)
    for spot_at, words in labels:
        sheet.label(words, spot_at, SMALL, prefer_deg=0.0, within=area)
    extra: dict[Mark, bool] = {"out": bool(out), "suspect": bool(marked), "damage": bool(worn)}
    marks = marks_of(spots) | {kind for kind, there in extra.items() if there}
    notes = (*not_compared(held), *differs(by, "the side"), *out_elsewhere(survey, upright=False), *_upright(survey))
    legend(sheet, survey, by, marks, notes, held)
    return sheet.svg(f"{frame.name}: survey '{survey.set_name}' {WHAT}")


def _both(spot: Spot) -> Point | None:
    a, b = spot.off
    return None if a is None or b is None else (a, b)


def _words(spot: Spot, units: str) -> tuple[str, ...]:
    a, b = spot.off
    if a is None or b is None:
        return (spot.key,)
    return spot.key, f"x {off_text(a, units)}  y {off_text(b, units)}"


def _crossmembers(sheet: Sheet, frame: Frame, place: _Place) -> None:
    for member in frame.placed_crossmembers:
        x0, x1, _, _ = member.box
        left, right = member.y_left_mm, member.y_right_mm
        corners = [place(x0, left), place(x1, left), place(x1, right), place(x0, right)]
        faint(sheet, corners, closed=True)


def _centreline(sheet: Sheet, place: _Place, x0: float, x1: float) -> tuple[Point, Point]:
    """Its ends, a little outside the frame."""
    (ax, y), (bx, _) = place(x0, 0.0), place(x1, 0.0)
    a, b = (ax - 4.0, y), (bx + 4.0, y)
    sheet.line([a, b], THIN, ink=GREY, dash="7 1.5 1 1.5")
    sheet.take_line(a, b, lightly=True)
    return a, b


def _sides(sheet: Sheet, outlines: dict[RailSide, Lines], place: _Place) -> None:
    for side in SIDES:
        front = place(*outlines[side][0][0])
        sheet.label((side.upper(),), front, NORMAL, prefer_deg=180.0, bold=True)


def _upright(survey: Survey) -> tuple[str, ...]:
    doubted = {name for s in survey.suspects for name in s.observations}
    others = [o.name for o in survey.network.observations if o.name in doubted and o.kind not in IN_PLAN]
    return (f"Not believed, seen from the side: {', '.join(others)}.",) if others else ()
