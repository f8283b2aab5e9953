"""One crossmember bracket worked by hand."""

from __future__ import annotations

from parts.families.family import WorkedCase
from parts.families.worked_frame import worked_frame
from parts.spec import Position

ARITHMETIC = """
Right rail: web outside at y = 430, 4 mm thick, open inboard: the base stands on the web's inside, y = 426, and the seat goes inboard, to
y = 426 - 100 = 326. A36 of 4 mm bends to an inside radius of 5 (DIN 6935:1975, least tensile 400: column to 490): a bend reaches
5 + 4 = 9 off its tangent.

Height: upper corner 600, drop 70: the seat's upper face 530, the base's tangent 530 - 9 = 521. Lower corner 600 - 150 = 450; the web's
inside is flat from 450 + 4 (flange) + 4 (radius) = 458, no fillet to leave room for, and 454 + 3 of air is less: the base ends at 458.
Box: x 800 -+ 200/2 = 700 to 900, y 326 to 426, z 458 to 530.

Slots: middle of what is flat of the seat, (9 + 100) / 2 = 54.5 off the face: y = 426 - 54.5 = 371.5; pitch half of 91 = 45.5, so
y = 371.5 + 22.75 = 394.25 and 371.5 - 22.75 = 348.75; both at x = 800.

Gussets: outer faces set in by their fillet, 4 mm (thinner part 4): at 100 - 4 = 96 from the middle, so the base is flat over
2 (96 - 9) = 174. Bolts M12: hole 13.5 (ISO 273 medium), 6.75 + 3 x 4 + 5 = 23.75 from a bend's tangent: x = 800 -+ (87 - 23.75) = 736.75
and 863.25. Height: at most 521 - 23.75 = 497.25, at least 458 + 6.75 + 2 x 4 = 472.75; that is 24.5, too little for two rows
(25 between 13 mm holes: 38), so one row in the middle, z = 485.

Flat by DIN 6935: k = 0.65 + 0.5 lg(5/4) = 0.69846, K = 0.34923, zone 90 deg: pi/2 (5 + 0.34923 x 4) = 10.0483. Upright: 521 - 458 = 63,
zone, 100 - 9 = 91: 164.048. Across: 174 and twice zone and gusset, which ends 6 mm before the seat: 100 - 6 - 9 = 85: 364.097.
"""


def worked() -> WorkedCase:
    from parts.families.crossmember_bracket import CrossmemberBracket

    frame = worked_frame()
    bracket = CrossmemberBracket(
        id="seat",
        side="right",
        at=Position(at="front", offset_mm=800),
        drop_mm=70,
        thickness_mm=4,
        width_mm=200,
        depth_mm=100,
        slots=2,
        attach="bolt",
    )
    return WorkedCase(
        pieces=bracket.build(frame),
        piece="seat-right",
        box_low=(700.0, 326.0, 458.0),
        box_high=(900.0, 426.0, 530.0),
        holes={
            "slot-1": (800.0, 394.25, 530.0),
            "slot-2": (800.0, 348.75, 530.0),
            "bolt-1": (736.75, 426.0, 485.0),
            "bolt-2": (863.25, 426.0, 485.0),
        },
        arithmetic=ARITHMETIC,
        flat_mm=(364.097, 164.048),
    )
