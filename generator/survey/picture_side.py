"""Both rails from the side, one above the other: as drawn in thin lines, as found beside it, enlarged."""

from __future__ import annotations

from collections.abc import Sequence
from typing import TYPE_CHECKING

from generator.draw.sheet import WIDE, Sheet
from generator.survey.network import Observation
from generator.survey.picture_marks import damage_mark, out_elsewhere, out_mark, out_points
from generator.survey.picture_page import (
    NORMAL,
    SMALL,
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
from generator.survey.picture_rails import damaged, edges
from generator.survey.picture_scales import LOW, STRIP, TOP, both
from generator.survey.picture_spots import Spot, marks_of, moved_edge, runs, runs_before, side_spots
from generator.survey.stage import Survey
from parts.frame.placing import SIDES
from parts.outline import Point

if TYPE_CHECKING:
    from generator.survey.later import Later

UPRIGHT = ("rise", "z")
THROUGH = "Front to the left on both: the right rail is seen from its inside, through the frame."
ORDER = tuple(reversed(SIDES))  #: the right rail above, as on the picture from above
WHAT = "seen from the side"


def side_svg(survey: Survey, held: Later | None = None) -> str:
    """An A4 sheet: front to the left on both, so the right rail is seen through the frame, from its inside. Arguments as `plan_svg`."""
    frame, spots = survey.frame, side_spots(survey, held)
    lines = {side: edges(frame.rail(side)) for side in SIDES}
    xs = [x for pair in lines.values() for edge in pair for x, _ in edge]
    zs = [z for pair in lines.values() for edge in pair for _, z in edge]
    _, by = both(survey, held)
    middle = ((min(xs) + max(xs)) / 2, (min(zs) + max(zs)) / 2)
    sheet = Sheet()
    title(sheet, survey, WHAT, held)
    at: dict[str, Point] = {}
    worn: list[tuple[int, tuple[str, ...], Point]] = []
    outs = out_points(survey, upright=True)
    for i, side in enumerate(ORDER):
        level = TOP + STRIP * (i + 0.5)

        def place(x: float, z: float, level: float = level) -> Point:
            return WIDE / 2 + (x - middle[0]) / by.frame, level - (z - middle[1]) / by.frame

        for edge in lines[side]:
            faint(sheet, [place(*p) for p in edge])
        for end in (0, -1):
            faint(sheet, [place(*lines[side][0][end]), place(*lines[side][1][end])])
        worn += [(i, words, damage_mark(sheet, place(*a), place(*b))) for patch, words, _, (a, b) in damaged(frame) if patch.side == side]
        own = [s for s in spots if s.side == side]
        for edge in lines[side]:
            for run in runs_before(own):
                dashed(sheet, [place(*p) for p in moved_edge(edge, run, by.enlarged)])
            for run in runs(own):
                thick(sheet, [place(*p) for p in moved_edge(edge, run, by.enlarged)])
        for spot in own:
            off = None if spot.off[1] is None else (spot.off[0] or 0.0, spot.off[1])
            at[spot.key] = spot_marks(sheet, spot, place(spot.drawn[0], spot.drawn[2]), off, by.off)
            if spot.key in outs and off is not None:
                out_mark(sheet, at[spot.key])
    marked = [o for o in _suspects(survey) if _shown(o, spots)]
    labels = [suspect_mark(sheet, survey, o, at[o.start], at[o.end] if o.end else None) for o in marked]
    for i, side in enumerate(ORDER):
        ends = [WIDE / 2 + (x - middle[0]) / by.frame for x in (min(xs), max(xs))]
        sheet.facing(((side.upper(), "FRONT"), (side.upper(), "REAR")), (ends[0] - 4.0, ends[1] + 4.0), TOP + STRIP * (i + 0.5), NORMAL)
    for spot in spots:
        sheet.label(_words(spot, frame.units), at[spot.key], SMALL, prefer_deg=90.0, within=_strip(ORDER.index(spot.side)))
    for i, words, where in worn:
        sheet.label(words, where, SMALL, prefer_deg=-90.0, within=_strip(i))
    for spot_at, words in labels:
        sheet.label(words, spot_at, SMALL, prefer_deg=-90.0, within=(4.0, TOP, WIDE - 4.0, LOW))
    out = any(s.key in outs and s.off[1] is not None for s in spots)
    extra: dict[Mark, bool] = {"out": out, "suspect": bool(marked), "damage": bool(worn)}
    marks = marks_of(spots) | {kind for kind, there in extra.items() if there}
    legend(sheet, survey, by, marks, (*not_compared(held), *differs(by, "above"), *out_elsewhere(survey, upright=True), THROUGH), held)
    return sheet.svg(f"{frame.name}: survey '{survey.set_name}' {WHAT}")


def _strip(i: int) -> tuple[float, float, float, float]:
    return 4.0, TOP + STRIP * i, WIDE - 4.0, TOP + STRIP * (i + 1)


def _words(spot: Spot, units: str) -> tuple[str, ...]:
    return (spot.key,) if spot.off[1] is None else (spot.key, f"z {off_text(spot.off[1], units)}")


def _suspects(survey: Survey) -> list[Observation]:
    doubted = {name for s in survey.suspects for name in s.observations}
    return [o for o in survey.network.observations if o.name in doubted]


def _shown(reading: Observation, spots: Sequence[Spot]) -> bool:
    """Heights and rises, and tapes along one rail."""
    sides = {s.key: s.side for s in spots}
    return reading.kind in UPRIGHT or (reading.kind == "distance" and sides[reading.start] == sides[reading.end or reading.start])
