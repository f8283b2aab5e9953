"""One mount pad worked by hand."""

from __future__ import annotations

import math

from parts.families.family import WorkedCase
from parts.families.worked_frame import worked_frame
from parts.spec import Position

ARITHMETIC = """
Right rail: web outside at y = 430, 4 mm thick, open inboard: the base stands on the web's inside, y = 426. A36 of 4 mm bends to an inside
radius of 5 (DIN 6935:1975, least tensile 400: column to 490).

The point: x 800, out 150 inboard of the web's outside: y = 430 - 150 = 280; rise -20: z = 600 - 20 = 580. The top rises inboard by
tan = 5/12 (22.62 deg; 5-12-13 triangle), so its normal is (0, 5, 12)/13.

The top's upper face meets the base's back, y = 426, 146 from the point: z = 580 - 146 x 5/12 = 519.1667. Turn: from upright to
a slope of 5/12: cos = 5/13, sin = 12/13, tan of half the turn = (12/13) / (1 + 5/13) = 2/3; both faces lie outside the bend, at
5 + 4 = 9: set back by 9 x 2/3 = 6. The base ends at its tangent, z = 513.1667, and begins where the web's inside is flat and its fillet of
4 (4 mm against 4 mm) lies on it: 450 + 4 (flange) + 4 (radius) + 4 = 462.

Free edge of the top 40 further up the slope: upper face y = 280 - 40 x 12/13 = 243.0769, z = 580 + 40 x 5/13 = 595.3846; its lower face
4 square under it: y = 243.0769 - 4 x 5/13 = 241.5385. Box: x 800 -+ 60, y 241.5385 to 426, z 462 to 595.3846.

Holes 60 apart along the vehicle, round the point: x = 770 and 830, y 280, z 580 on the upper face, their axes along the normal.

Flat by DIN 6935: k = 0.65 + 0.5 lg(5/4) = 0.69846, K = 0.34923; turn 67.3801 deg = 1.176005; zone 1.176005 x (5 + 0.34923 x 4) = 7.5228.
Base 513.1667 - 462 = 51.1667; top 146 x 13/12 + 40 - 6 = 192.1667; in all 250.8562. Width 120.
"""


def worked() -> WorkedCase:
    from parts.families.mount_pad import MountPad

    frame = worked_frame()
    pad = MountPad(
        id="pad",
        side="right",
        at=Position(at="front", offset_mm=800),
        out_mm=150,
        rise_mm=-20,
        tilt_across_deg=math.degrees(math.atan2(5, 12)),
        thickness_mm=4,
        width_mm=120,
        top_reach_mm=40,
        pattern="two",
        pitch_along_mm=60,
        top_bolt="M10",
    )
    return WorkedCase(
        pieces=pad.build(frame),
        piece="pad-right",
        box_low=(740.0, 241.5385, 462.0),
        box_high=(860.0, 426.0, 595.3846),
        holes={"mount-1": (770.0, 280.0, 580.0), "mount-2": (830.0, 280.0, 580.0)},
        arithmetic=ARITHMETIC,
        flat_mm=(250.856, 120.0),
    )
