"""Letters drawn in single strokes, for etching: an alphabet of this project's own, on a small grid, corners cut instead of rounded.

No strokes enclose anything: what would be a ring keeps a small gap, so nothing falls out of a plate that is cut where it should be
etched.
Look-alikes are kept apart: 0 is narrow and O wide, 1 has a foot, I two bars and l a tail, Z a cross bar, 5 a square shoulder, B a
straight back.
"""

from __future__ import annotations

import math
from functools import cache

from parts.outline import Point

CAP = 9.0  #: height of a capital on the grid
GAP = 2.0  #: between letters
SPACE = 4.0
BOX = "0,0 0,9 5,9 5,0 0.5,0"  #: stands for a character that is not drawn here

_GLYPHS = {
    "A": "0,0 3,9 6,0|1,3 4.5,3",
    "B": "0,0 0,9 4,9 5,8 5,6 4,5 0.5,5|4,5 6,3.5 6,1.5 4.5,0 0.5,0",
    "C": "6,7 4,9 2,9 0,7 0,2 2,0 4,0 6,2",
    "D": "0,0 0,9 3,9 6,6 6,3 3,0 0.5,0",
    "E": "5.5,9 0,9 0,0 5.5,0|0,5 4,5",
    "F": "5.5,9 0,9 0,0|0,5 4,5",
    "G": "6,7 4,9 2,9 0,7 0,2 2,0 4,0 6,2 6,4.5 3.5,4.5",
    "H": "0,0 0,9|6,0 6,9|0,5 6,5",
    "I": "0,9 4,9|2,9 2,0|0,0 4,0",
    "J": "5,9 5,2 3,0 2,0 0,2",
    "K": "0,0 0,9|6,9 0,4|1.8,5.5 6,0",
    "L": "0,9 0,0 5,0",
    "M": "0,0 0,9 3.5,4 7,9 7,0",
    "N": "0,0 0,9 6,0 6,9",
    "O": "3.2,9 2.3,9 0,6.7 0,2.3 2.3,0 4.7,0 7,2.3 7,6.7 4.7,9 3.8,9",
    "P": "0,0 0,9 4.5,9 6,7.5 6,5.5 4.5,4 0.5,4",
    "Q": "3.2,9 2.3,9 0,6.7 0,2.3 2.3,0 4.7,0 7,2.3 7,6.7 4.7,9 3.8,9|4.5,2.5 7.5,-0.8",
    "R": "0,0 0,9 4.5,9 6,7.5 6,5.5 4.5,4 0.5,4|3,4 6,0",
    "S": "6,7.5 4.5,9 1.5,9 0,7.5 0,6 1.5,4.8 4.5,4.2 6,3 6,1.5 4.5,0 1.5,0 0,1.5",
    "T": "0,9 6,9|3,9 3,0",
    "U": "0,9 0,2 2,0 4,0 6,2 6,9",
    "V": "0,9 3,0 6,9",
    "W": "0,9 2,0 4,6 6,0 8,9",
    "X": "0,0 6,9|0,9 6,0",
    "Y": "0,9 3,4.5 6,9|3,4.5 3,0",
    "Z": "0,9 6,9 0,0 6,0|1.5,4.5 4.5,4.5",
    "a": "5,6 5,0|5,4.5 3.5,6 1.5,6 0,4.5 0,1.5 1.5,0 3.5,0 4.6,1.1",
    "b": "0,9 0,0|0.4,1.1 1.5,0 3.5,0 5,1.5 5,4.5 3.5,6 1.5,6 0,4.5",
    "c": "4.8,4.7 3.5,6 1.5,6 0,4.5 0,1.5 1.5,0 3.5,0 4.8,1.3",
    "d": "5,9 5,0|5,4.5 3.5,6 1.5,6 0,4.5 0,1.5 1.5,0 3.5,0 4.6,1.1",
    "e": "0.5,3.2 5,3.2 5,4.5 3.5,6 1.5,6 0,4.5 0,1.5 1.5,0 3.5,0 4.8,1.1",
    "f": "4,8.5 3.5,9 2.5,9 1.5,8 1.5,0|0,6 3.5,6",
    "g": "5,6 5,-1.5 3.5,-3 1.3,-3 0.3,-2|5,4.5 3.5,6 1.5,6 0,4.5 0,1.5 1.5,0 3.5,0 4.6,1.1",
    "h": "0,9 0,0|0,4.5 1.5,6 3.5,6 5,4.5 5,0",
    "i": "0,6 1,6 1,0|1,7.8 1,9",
    "j": "1.2,6 2.2,6 2.2,-1.8 1,-3 0,-3|2.2,7.8 2.2,9",
    "k": "0,9 0,0|4.2,6 0,2.3|1.6,3.7 4.6,0",
    "l": "0,9 0,1.5 1.5,0 2.5,0",
    "m": "0,6 0,0|0,4.5 1.5,6 2.5,6 3.8,4.7 3.8,0|3.8,4.7 5.1,6 6.1,6 7.6,4.5 7.6,0",
    "n": "0,6 0,0|0,4.5 1.5,6 3.5,6 5,4.5 5,0",
    "o": "2.2,6 1.5,6 0,4.5 0,1.5 1.5,0 3.5,0 5,1.5 5,4.5 3.5,6 2.8,6",
    "p": "0,6 0,-3|0.4,1.1 1.5,0 3.5,0 5,1.5 5,4.5 3.5,6 1.5,6 0,4.5",
    "q": "5,6 5,-3|5,4.5 3.5,6 1.5,6 0,4.5 0,1.5 1.5,0 3.5,0 4.6,1.1",
    "r": "0,6 0,0|0,4.2 1.8,6 3,6 4,5.2",
    "s": "4.5,5 3.5,6 1,6 0,5 0,4.2 1,3.3 3.5,2.7 4.5,1.8 4.5,1 3.5,0 1,0 0,1",
    "t": "1.5,8.5 1.5,1.2 2.7,0 3.5,0 4,0.4|0,6 3.5,6",
    "u": "0,6 0,1.5 1.5,0 3.5,0 5,1.5|5,6 5,0",
    "v": "0,6 2.5,0 5,6",
    "w": "0,6 1.75,0 3.5,4.5 5.25,0 7,6",
    "x": "0,0 4.5,6|0,6 4.5,0",
    "y": "0,6 2.5,0|5,6 1.25,-3",
    "z": "0,6 4.5,6 0,0 4.5,0",
    "0": "1.9,9 1.4,9 0,7 0,2 1.4,0 3.0,0 4.4,2 4.4,7 3.0,9 2.5,9",
    "1": "0,7 2,9 2,0|0,0 4,0",
    "2": "0,7.3 1.5,9 3.5,9 5,7.5 5,5.7 0,0 5,0",
    "3": "0,7.5 1.5,9 3.5,9 5,7.5 5,6 4,5 2,5|4,5 5,4 5,1.5 3.5,0 1.5,0 0,1.5",
    "4": "4,0 4,9 0,3 3.5,3|4,3 5.5,3",
    "5": "5,9 0.4,9 0.4,5.2 3.5,5.2 5,3.7 5,1.5 3.5,0 1.5,0 0,1.5",
    "6": "4.6,8.4 3.8,9 2.3,9 0,6 0,1.5 1.5,0 3.5,0 5,1.5 5,3.7 3.5,5.2 1.5,5.2 0.4,4.1",
    "7": "0,9 5,9 1.8,0",
    "8": "2.2,5 1.5,5 0.4,6 0.4,8 1.5,9 3.5,9 4.6,8 4.6,6 3.5,5 2.8,5|1.5,5 0,3.6 0,1.4 1.5,0 3.5,0 5,1.4 5,3.6 3.8,4.7",
    "9": "0.4,0.6 1.2,0 2.7,0 5,3 5,7.5 3.5,9 1.5,9 0,7.5 0,5.3 1.5,3.8 3.5,3.8 4.6,4.9",
    "-": "0,4 3.5,4",
    "_": "0,-1 5,-1",
    ".": "0.3,0 0.3,1.2",
    "/": "0,-1 4,10",
    "+": "0,4 5,4|2.5,1.5 2.5,6.5",
    "=": "0,5.2 4.5,5.2|0,2.8 4.5,2.8",
    "(": "2,10 0,8 0,1 2,-1",
    ")": "0,10 2,8 2,1 0,-1",
    ",": "0.8,1.2 0.8,0 0,-1.6",
    ":": "0.3,0 0.3,1.2|0.3,4.8 0.3,6",
    ";": "0.8,1.2 0.8,0 0,-1.6|0.8,4.8 0.8,6",
    "?": "0,7.5 1.5,9 3.5,9 5,7.5 5,6 2.5,4 2.5,2.8|2.5,0 2.5,1.2",
    '"': "0,9 0,6.8|1.6,9 1.6,6.8",
    "'": "0,9 0,6.8",
    "#": "1,0.5 2.4,8.5|3.4,0.5 4.8,8.5|0,3 2.4,3|2.9,3 5.2,3|0.6,6 5.8,6",
    "%": "0.5,0 5.5,9|1.2,9 0,7.8 0,6.8 1,6 2,6.8 2,7.8 1.6,8.8|4.9,3 4,2.2 4,1.2 5,0 6,1.2 6,2.2 5.4,2.9",
    "°": "1.2,9 0,8 0,7 1,6 2,6 3,7 3,8 2,9 1.7,9",
    "ø": "2.2,6 1.5,6 0,4.5 0,1.5 1.5,0 3.5,0 5,1.5 5,4.5 3.5,6 2.8,6|-0.3,-1 2.2,2.6|2.8,3.4 5.3,7",
}
_SAME = {"Ø": "ø", "×": "x", "\u2212": "-", "\u2013": "-", "\u2032": "'", "\u2033": '"'}

Polyline = tuple[Point, ...]
CHARACTERS = frozenset(_GLYPHS) | frozenset(_SAME) | {" "}  #: what is drawn; everything else becomes a box


def _strokes(drawing: str) -> tuple[Polyline, ...]:
    return tuple(
        tuple((float(x), float(y)) for x, y in (point.split(",") for point in stroke.split())) for stroke in drawing.split("|")
    )


@cache
def _glyph(character: str) -> tuple[float, tuple[Polyline, ...]]:
    """The advance without the gap, and the strokes, on the grid."""
    if character == " ":
        return SPACE, ()
    strokes = _strokes(_GLYPHS.get(_SAME.get(character, character), BOX))
    return max(x for stroke in strokes for x, _ in stroke), strokes


def text_width(text: str, height_mm: float) -> float:
    """How long `text` is, in mm, from the left edge of its first letter to the right edge of its last."""
    if not text:
        return 0.0
    return (sum(_glyph(c)[0] for c in text) + GAP * (len(text) - 1)) * height_mm / CAP


def text_strokes(text: str, x_mm: float, y_mm: float, height_mm: float, angle_deg: float = 0.0) -> tuple[Polyline, ...]:
    """`text` as open polylines.

    Args:
        text: one line; a character that is not drawn here becomes a box.
        x_mm: left end of the base line.
        y_mm: the base line; some small letters reach a third of the height below it.
        height_mm: of a capital.
        angle_deg: of the base line, counter-clockwise from +x.

    Returns:
        One tuple of (x, y) points in mm a stroke.
    """
    scale = height_mm / CAP
    turn = math.radians(angle_deg)
    cos, sin = math.cos(turn) * scale, math.sin(turn) * scale
    placed: list[Polyline] = []
    along = 0.0
    for character in text:
        width, strokes = _glyph(character)
        for stroke in strokes:
            placed.append(tuple((x_mm + (along + x) * cos - y * sin, y_mm + (along + x) * sin + y * cos) for x, y in stroke))
        along += width + GAP
    return tuple(placed)
