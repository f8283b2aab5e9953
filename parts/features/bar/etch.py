"""What is etched on a bar's seen face: which end is which, its id and spacing, and the vehicle's centreline."""

from __future__ import annotations

from dataclasses import replace

from parts.features.bar.drawn import MIDDLE, Drawn
from parts.features.bar.holes import centre_u
from parts.features.marks import CHARACTER_WIDTHS, LABEL_HEIGHTS_MM, OFF_EDGE_MM, TICK_MM
from parts.hardware import spanner_room
from parts.sheet import Label, Mark
from parts.units import Denominator, shop_inches
from parts.vectors import inside

Words = list[tuple[str, float | None]]  #: a text, and the u at which it starts or ends; None: anywhere between

TAPE_MARKS: Denominator = 32  #: to the inch, on a shop's tape
BETWEEN_MM = 4.0  #: round every word, and between the middle one and the centre's tick


def etched(drawn: Drawn) -> Drawn:
    panel = drawn.panel(MIDDLE)
    half = drawn.half_mm
    size = min(TICK_MM, half / 2)
    strokes = []
    for way in (-1.0, 1.0):
        a, b = (centre_u(drawn, way * v) for v in (half - OFF_EDGE_MM, half - size))
        if a is not None and b is not None:
            strokes.append(((a, way * (half - OFF_EDGE_MM)), (b, way * (half - size))))
    marks = (Mark(name="vehicle's centreline", strokes=tuple(strokes)),) if strokes else ()
    return drawn.with_panel(replace(panel, marks=(*panel.marks, *marks), labels=(*panel.labels, *_labels(drawn))))


def _labels(drawn: Drawn) -> tuple[Label, ...]:
    """LEFT and RIGHT clear of the bolts' heads; id and spacing in the middle of either half. The largest letters that fit; in mm alone
    where it does not fit with the inches."""
    low, high = _free(drawn)
    middle = (low + high) / 2
    off = drawn.bar.centre_hole_mm / 2 + BETWEEN_MM
    fit = [height for height in LABEL_HEIGHTS_MM if 2 * drawn.half_mm >= height + 2 * BETWEEN_MM]
    first: Words = [("LEFT", low), (drawn.bar.id, None)]
    last: Words = [("RIGHT", high)]
    rows = [(first, [(spacing, None), *last], height) for spacing in _spacings(drawn.lie.spacing_mm) for height in fit]
    for left, right, height in (*rows, *((first[:1], last, height) for height in fit[-1:])):
        found = _row(left, low, middle - off, height), _row(right, middle + off, high, height)
        if all(found):
            return (*found[0], *found[1])
    return ()


def _spacings(mm: float) -> tuple[str, str]:
    """With the inches to the nearest mark of a tape, and in mm alone. A part is not told which of the two its job is written in, and a bar
    may go to another shop: both are etched, as the mm stand beside the inches in a sentence."""
    inches = shop_inches(mm, TAPE_MARKS).partition(" (")[0]
    return f"{mm:.1f} mm / {inches}", f"{mm:.1f} mm"


def _row(words: Words, low: float, high: float, height: float) -> tuple[Label, ...]:
    """Side by side from `low` to `high`: evenly spread; none where they do not fit."""
    widths = [len(word) * height * CHARACTER_WIDTHS for word, _ in words]
    spare = high - low - sum(widths)
    if spare < BETWEEN_MM * len(words):
        return ()
    out, at = [], low if words[0][1] is not None else low + spare / 2
    for (word, _), width in zip(words, widths, strict=True):
        out.append(Label(text=word, x_mm=at, y_mm=-height / 2, height_mm=height))
        at += width + spare / 2
    return tuple(out)


def _free(drawn: Drawn) -> tuple[float, float]:
    """(lowest, highest) u of the middle panel between the bolts' heads, or between its bends."""
    ends = []
    for which, end in enumerate(drawn.lie.ends):
        if end.bend_deg:
            ends.append(BETWEEN_MM if which == 0 else drawn.length_mm - BETWEEN_MM)
            continue
        us = [inside(drawn.place, p)[0] for p in end.seat.points]
        room = spanner_room(end.bolt).centre_to_wall_mm + BETWEEN_MM
        ends.append(max(us) + room if which == 0 else min(us) - room)
    return ends[0], ends[1]
