"""Whether a survey was taken from another line than the drawing: every point off alike is no bent frame."""

from __future__ import annotations

from collections.abc import Mapping
from statistics import median

from parts.errors import Finding
from parts.sheet import Vec3

OFF_MM = 25.0  #: all points off alike by more than any frame here sags or bows; our choice
WAYS = (
    ("x", "rearward", "forward", "the readings along start at another point than the datum's x = 0"),
    ("y", "to the right", "to the left", "the string does not run down the middle, or offsets to the left lack their minus"),
    ("z", "up", "down", "the level line is not the datum's z = 0"),
)


def off_datum(points: Mapping[str, Vec3], heights: Mapping[str, float], drawn: Mapping[str, Vec3]) -> tuple[Finding, ...]:
    """A warning for each axis along which the middle one of all points is off its drawn place by a lot.

    Args:
        points: those that are wholly determined, by key; mm.
        heights: z of all whose height was read.
        drawn: every point as drawn.
    """
    found = []
    for axis, (name, above, below, why) in enumerate(WAYS):
        at = heights if axis == 2 and heights else {key: p[axis] for key, p in points.items()}
        off = median(value - drawn[key][axis] for key, value in at.items()) if at else 0.0
        if abs(off) > OFF_MM:
            found.append(
                Finding(
                    code=f"frame-off-datum-{name}", level="warn", where="frame", value=f"{off:.0f} mm", limit=f"{OFF_MM:.0f} mm",
                    message=f"the points lie {abs(off):.0f} mm {above if off > 0 else below} of their drawn places, one like the other: "
                    f"{why}; what is judged here does not hang on it, but where parts go does",
                    remedy=f"take {abs(off):.0f} mm {'off' if off > 0 else 'onto'} every such reading, or measure again from the datum",
                    source="our choice of 25 mm, more than a frame bends",
                )
            )  # fmt: skip
    return tuple(found)
