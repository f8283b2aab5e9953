"""What both pictures of a survey share: title, legend, and how a point and a suspect reading are drawn."""

from __future__ import annotations

import math
from collections.abc import Collection, Iterator, Sequence
from itertools import pairwise
from typing import TYPE_CHECKING, Literal

from generator.draw.sheet import GREY, HIGH, WIDE, Sheet
from generator.draw.strokes import text_width
from generator.inches import told
from generator.survey.moved import free_ways
from generator.survey.network import Observation
from generator.survey.picture_marks import damage_mark, out_mark, worst_told
from generator.survey.picture_scales import Scales
from generator.survey.picture_spots import Spot
from generator.survey.stage import Survey
from parts.errors import quoted
from parts.outline import Point

if TYPE_CHECKING:
    from generator.survey.later import Later

THIN, THICK = 0.18, 0.6  #: mm: the frame as drawn and as found
TITLE, NORMAL, SMALL = 4.2, 2.6, 2.1  #: heights of letters, mm
MARGIN = 10.0
BARS_MM = {"mm": (0.5, 1.0, 2.0, 5.0, 10.0, 20.0, 50.0, 100.0), "in": tuple(25.4 * n for n in (1 / 32, 1 / 16, 1 / 8, 0.25, 0.5, 1.0, 2.0))}
RULERS_MM = {"mm": (100.0, 200.0, 500.0, 1000.0, 2000.0), "in": tuple(25.4 * n for n in (6, 12, 24, 36, 72))}
MM_PER_IN = 25.4


#: what may be in a picture, in the order of the legend
Mark = Literal["drawn", "found", "alone", "was", "ellipse", "bar", "unknown", "out", "suspect", "damage"]
TELLS: dict[Mark, str] = {
    "drawn": "as drawn, and a control point",
    "found": "as found{more}",
    "alone": "a point as found{more}",
    "was": "as it was, set '{old}'{more}",
    "ellipse": "95 % error ellipse{alike}",
    "bar": "95 % of its height{alike}",
    "unknown": "not known where: not read enough",
    "out": "out, or seen twisted: see the verdict",
    "suspect": "reading not believed: left out",
    "damage": "damage",
}
MOST_ROWS = 5  #: of the legend in one column


def title(sheet: Sheet, survey: Survey, what: str, held: Later | None) -> None:
    """The head of the sheet: which frame, which set, the verdict, and the worst number of it."""
    own, units = survey.set, survey.frame.units
    when = f", {own.date}" if own is not None and own.date else ""
    stage = f" ({own.stage}{when})" if own is not None else ""
    against = f", set '{survey.set_name}' against '{held.old.set_name}'" if held is not None else ""
    head = f"{survey.frame.name}: {what}{against}"
    height = min(TITLE, TITLE * (WIDE - 2 * MARGIN) / text_width(head, TITLE))
    sheet.text(head, (MARGIN, MARGIN + TITLE), height, bold=True)
    worst = broken(told(worst_told(survey), units), WIDE - 2 * MARGIN, NORMAL)[0]
    line = told(f"Set '{survey.set_name}'{stage}. {survey.verdict_text}", units)
    height = next((h for h in (NORMAL, SMALL) if len(broken(line, WIDE - 2 * MARGIN, h)) <= 2), SMALL)
    y = MARGIN + TITLE + 5.5
    for part in [*broken(line, WIDE - 2 * MARGIN, height)[: 2 if worst else 3], worst]:
        sheet.text(part, (MARGIN, y), height)
        y += 4.0


def broken(text: str, wide: float, height: float) -> list[str]:
    """Lines no wider than `wide`."""
    lines = [""]
    for word in text.split():
        longer = f"{lines[-1]} {word}".strip()
        if text_width(longer, height) > wide and lines[-1]:
            lines.append(word)
        else:
            lines[-1] = longer
    return lines


def legend(sheet: Sheet, survey: Survey, by: Scales, marks: Collection[Mark], notes: Sequence[str], held: Later | None) -> None:
    """Along the foot of the sheet: what each mark that is in the picture is, both scales, and what the picture is laid on."""
    top = HIGH - 33.0
    sheet.line([(MARGIN, top - 4.5), (WIDE - MARGIN, top - 4.5)], THIN)
    step, height = 5.4, NORMAL
    more = {"more": ", what is off enlarged", "alike": ", enlarged alike"} if by.enlarged > 1 else {"more": "", "alike": ""}
    old = quoted(held.old.set_name, 20) if held is not None else ""
    shown = [(kind, text.format(**more, old=old)) for kind, text in TELLS.items() if kind in marks]
    x = MARGIN
    for first in range(0, len(shown), MOST_ROWS):
        column = shown[first : first + MOST_ROWS]
        for i, (kind, text) in enumerate(column):
            _sample(sheet, kind, x, top + step * i)
            sheet.text(text, (x + 16.0, top + step * i + height / 2), height)
        x += 24.0 + max(text_width(text, height) for _, text in column)
    x = max(x, 112.0)
    y = top
    units = survey.frame.units
    known = "found" in marks or "alone" in marks
    for length, text in _rulers(by, units, known=known):
        sheet.line([(x, y - 1.2), (x, y + 1.2)], 0.3)
        sheet.line([(x + length, y - 1.2), (x + length, y + 1.2)], 0.3)
        sheet.line([(x, y), (x + length, y)], 0.3)
        sheet.text(text, (x + length + 3.0, y + NORMAL / 2), NORMAL)
        y += step
    numbers = f"Numbers beside a point: off by, in {'inches' if units == 'in' else 'mm'}: found less drawn."
    lines = [n for note in (_lies(survey), *((numbers,) if known else ()), *notes) for n in broken(note, WIDE - MARGIN - x, SMALL)]
    pitch = min(3.5, (HIGH - 4.0 - y) / max(1, len(lines)))
    for i, line in enumerate(lines):
        sheet.text(line, (x, y + SMALL / 2 + pitch * i), SMALL)


def _rulers(by: Scales, units: str, *, known: bool) -> Iterator[tuple[float, str]]:
    """(mm on paper, what they are) of the frame's scale, and of what is off where something is known of it."""
    ruler = max((r for r in RULERS_MM[units] if r / by.frame <= 40.0), default=RULERS_MM[units][0])
    yield ruler / by.frame, f"{length_text(ruler, units)}, frame 1 : {by.frame}"
    if known:
        off = max((b for b in BARS_MM[units] if b * by.off <= 30.0), default=BARS_MM[units][0])
        times = f"{by.enlarged} times as large as the frame" if by.enlarged > 1 else "as large as the frame is drawn"
        yield off * by.off, f"{length_text(off, units)} off, {times}"


def _sample(sheet: Sheet, kind: Mark, x: float, y: float) -> None:
    match kind:
        case "drawn":
            sheet.line([(x, y), (x + 9.0, y)], THIN, ink=GREY)
            sheet.cross((x + 12.0, y), 0.9)
        case "found":
            sheet.line([(x, y), (x + 9.0, y)], THICK)
            sheet.disc((x + 12.0, y), 0.45)
        case "alone":
            sheet.disc((x + 12.0, y), 0.45)
        case "was":
            dashed(sheet, [(x, y), (x + 13.0, y)])
        case "out":
            sheet.disc((x + 12.0, y), 0.45)
            out_mark(sheet, (x + 12.0, y))
        case "damage":
            damage_mark(sheet, (x + 10.4, y), (x + 13.6, y))
        case "bar":
            _bar(sheet, (x + 12.0, y), 2.0)
        case "ellipse":
            sheet.ellipse((x + 10.0, y), 3.2, 1.5, 0.0)
        case "unknown":
            sheet.disc((x + 12.0, y), 0.9, filled=False)
        case "suspect":
            sheet.line([(x, y), (x + 13.0, y)], 0.35, dash="1.6 1.2")
            _query(sheet, (x + 6.5, y))


def length_text(mm: float, units: str) -> str:
    if units == "in":
        inches = mm / MM_PER_IN
        if inches < 1:
            return f"1/{round(1 / inches)} in"
        return f"{inches:g} in"
    return f"{mm:g} mm"


def _lies(survey: Survey) -> str:
    """What the points lie on, and how they are laid on the drawing where that is free."""
    if survey.adjusted is None:
        return "Nothing was read."
    free = free_ways(survey.adjusted, tuple(survey.points))
    if not survey.points or len(free) == 6:
        return "Laid on the drawing as well as it goes: not enough was read to tie all points to each other."
    if not free:
        return "Laid by x = 0, the string and the level line, as read."
    return f"Laid as read; where no reading says ({', '.join(free)}) as well as it goes on the drawing."


def spot_marks(sheet: Sheet, spot: Spot, at: Point, off: Point | None, scale: float, *, down: int = -1) -> Point:
    """The point as drawn, as found with its ellipse or bar; returns where that is on paper. `down`: y there against the second axis."""
    sheet.cross(at, 0.9)
    sheet.take([at], 1.0)
    if off is None:
        sheet.disc(at, 0.9, filled=False)
        return at
    found = (at[0] + off[0] * scale, at[1] + down * off[1] * scale)
    if math.dist(found, at) > 0.6:
        sheet.line([at, found], 0.15)
        sheet.take_line(at, found)
    sheet.disc(found, 0.45)
    sheet.take([found], 1.1)
    if spot.ellipse is not None:
        long, short = max(0.05, spot.ellipse.long_mm * scale), max(0.05, spot.ellipse.short_mm * scale)
        angle = -down * spot.ellipse.angle_deg
        sheet.ellipse(found, long, short, angle)
        turn = math.radians(angle)
        for i in range(24):
            a = math.tau * i / 24
            u, v = long * math.cos(a), short * math.sin(a)
            sheet.take([(found[0] + u * math.cos(turn) - v * math.sin(turn), found[1] - u * math.sin(turn) - v * math.cos(turn))], 0.4)
    elif spot.bar_mm is not None:
        _bar(sheet, found, spot.bar_mm * scale)
        sheet.take_line((found[0], found[1] - spot.bar_mm * scale), (found[0], found[1] + spot.bar_mm * scale))
    return found


def suspect_mark(sheet: Sheet, survey: Survey, reading: Observation, a: Point, b: Point | None) -> tuple[Point, tuple[str, ...]]:
    """A reading that is not believed: a dashed line between its points, or a square round its only one. Returns where its label goes."""
    suspect = next(s for s in survey.suspects if reading.name in s.observations)
    units = survey.frame.units
    tied = len(suspect.observations) > 1
    by = f"one of {len(suspect.observations)} tied" if tied else f"{off_text(suspect.error_mm, units)} {units}"
    if b is None:
        corners = [(a[0] + dx, a[1] + dy) for dx, dy in ((-2, -2), (2, -2), (2, 2), (-2, 2))]
        sheet.line(corners, 0.35, dash="1.2 0.9", closed=True)
        at = (a[0] + 2.0, a[1] - 2.0)
    else:
        sheet.line([a, b], 0.35, dash="1.6 1.2")
        sheet.take_line(a, b, 0.5)
        at = (a[0] + 0.4 * (b[0] - a[0]), a[1] + 0.4 * (b[1] - a[1]))
    _query(sheet, at)
    sheet.take([at], 2.0)
    return at, (reading.name, f"not believed: {by}")


def off_text(mm: float, units: str) -> str:
    """`+3.4` in mm, `+0.13` in inches; a zero has no sign."""
    value, digits = (mm / MM_PER_IN, 2) if units == "in" else (mm, 1)
    text = f"{value:+.{digits}f}"
    return text[1:] if float(text) == 0 else text


def faint(sheet: Sheet, points: Sequence[Point], *, closed: bool = False) -> None:
    """A line of the frame as drawn."""
    sheet.line(points, THIN, ink=GREY, closed=closed)
    for a, b in pairwise([*points, *points[:1]] if closed else points):
        sheet.take_line(a, b, lightly=True)


def thick(sheet: Sheet, points: Sequence[Point]) -> None:
    """A line of the frame as found."""
    if len(points) > 1:
        sheet.line(points, THICK)
        for a, b in pairwise(points):
            sheet.take_line(a, b)


def dashed(sheet: Sheet, points: Sequence[Point]) -> None:
    """A line of the frame as it was in an earlier survey."""
    if len(points) > 1:
        sheet.line(points, 0.3, dash="2.4 1.3")
        for a, b in pairwise(points):
            sheet.take_line(a, b, lightly=True)


def not_compared(held: Later | None) -> Iterator[str]:
    """Why nothing is drawn of the earlier survey."""
    if held is not None and not held.compared:
        why = held.alike.reasons[0] if held.alike.reasons else "fewer than three points are wholly measured in both"
        yield f"Set '{held.old.set_name}' is not drawn, as the two cannot be compared: {why}."


def differs(by: Scales, other: str) -> Iterator[str]:
    """Where one scale cannot serve both pictures."""
    if by.other is not None:
        yield f"Seen from {other} it is {by.other} times: the two pictures differ in this."


def _query(sheet: Sheet, at: Point) -> None:
    sheet.disc(at, 1.7, filled=False, width=0.3)
    sheet.text("?", at, 2.0, middle=True, bold=True)


def _bar(sheet: Sheet, at: Point, half: float) -> None:
    x, y = at
    sheet.line([(x, y - half), (x, y + half)], 0.25)
    for end in (y - half, y + half):
        sheet.line([(x - 0.9, end), (x + 0.9, end)], 0.25)
