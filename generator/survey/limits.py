"""How far a frame may be off, by word: the manuals' figures with number and page, and the user's own in their place.

A manual binds its own vehicles; for any other it is the best figure there is, so what is out by one is a warning. What the user sets is
what the frame is held to: out by that is a stop. Where nobody gives a figure there is none here either.
"""

from __future__ import annotations

from dataclasses import dataclass
from typing import Literal

from parts.errors import Level
from parts.frame.measured import Limits

Word = Literal[
    "square", "diamond", "twist", "sag", "sway", "side bow", "one rail ahead", "level", "length", "width", "kick-up", "thickness left",
]  # fmt: skip
#: The order in which they are told: what the whole frame is, then a rail by itself, then sizes.
WORDS: tuple[Word, ...] = (
    "square", "diamond", "twist", "sag", "sway", "side bow", "one rail ahead", "level", "length", "width", "kick-up", "thickness left",
)  # fmt: skip

GENERAL = "frame measurements unless stated otherwise: +/- 3 mm, TM 9-2320-289-34 p. 9-3"
SQUARE = "diagonals equal within 5 mm, TM 9-2320-289-34 p. 9-3 (TM 9-2320-280-34: more than 6 mm means skew)"
DIAMOND = "one rail square to the other within 6 mm, TM 9-2320-260-34-2"
SWAY = "paired points equally far from the centreline: +/- 3 mm, TM 9-2320-289-34 p. 9-3"
BOW = "string against the rail: more than 13 mm is out, TB 9-2300-247-40 p. 11"
LEVEL_FRONT = "on its wheels, front: within 3 mm, TM 9-2320-361-34 p. 13-2"
LEVEL_REAR = "on its wheels, rear: within 8 mm, TM 9-2320-361-34 p. 13-2"
LEVEL_STANDS = "levelled on stands or a jig within 3 mm: common practice, no source"
NO_TWIST = "none was found for twist: give [limits] twist"
NO_THICKNESS = "none was found for worn steel: give [limits] thickness_left"
YOURS = "your own limit, [limits] {key} in the frame file"

#: word -> (mm, source)
MANUALS: dict[Word, tuple[float | None, str]] = {
    "square": (5.0, SQUARE),
    "diamond": (6.0, DIAMOND),
    "twist": (None, NO_TWIST),
    "sag": (3.0, GENERAL),
    "sway": (3.0, SWAY),
    "side bow": (13.0, BOW),
    "one rail ahead": (3.0, GENERAL),
    "level": (3.0, LEVEL_STANDS),
    "length": (3.0, GENERAL),
    "width": (3.0, GENERAL),
    "kick-up": (3.0, GENERAL),
    "thickness left": (None, NO_THICKNESS),
}
#: word -> the key of [limits] that sets it; a width is held to what lengths are
KEYS: dict[Word, str] = {word: word for word in WORDS} | {
    "side bow": "bow", "one rail ahead": "ahead", "width": "length", "kick-up": "kick", "thickness left": "thickness_left",
}  # fmt: skip


@dataclass(frozen=True, kw_only=True)
class Limit:
    """How far off is still in, who says so, and what being out of it is. `mm` None: nobody gives a figure."""

    mm: float | None
    source: str
    level: Level = "warn"


def limit_of(word: Word, own: Limits | None, *, on_wheels: bool = False, rear: bool = False) -> Limit:
    """The limit of a word: the user's own, else a manual's.

    Args:
        own: the frame file's `[limits]`.
        on_wheels: whether the frame stands on its wheels, `rear` whether it is the rear of it: both matter to `level` alone.
    """
    theirs = getattr(own, f"{KEYS[word]}_mm") if own is not None else None
    if theirs is not None:
        return Limit(mm=theirs, source=YOURS.format(key=KEYS[word]), level="stop")
    mm, source = MANUALS[word]
    if word == "level" and on_wheels:
        mm, source = (8.0, LEVEL_REAR) if rear else (3.0, LEVEL_FRONT)
    return Limit(mm=mm, source=source)
