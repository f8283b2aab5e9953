"""One fixture bar worked by hand."""

from __future__ import annotations

from parts.families.family import WorkedCase
from parts.families.worked_frame import worked_frame

ARITHMETIC = """
Seats: those of the crossmember bracket's own worked case, on both rails. Its slots' middles lie at x = 800, z = 530, right at
y = 394.25 and 348.75, left at the same below 0. Middles of each pair: (394.25 + 348.75) / 2 = 371.5, so the spacing is 2 x 371.5 = 743.

Bar: a channel of 4 mm A36 on the seats, z = 530 up. Over = 25 past the outermost bolts: y = -+(394.25 + 25) = -+419.25; the web's inside
stands at 426, so 6.75 of air. Width 80 about x = 800: 760 to 840. Flanges 40 over all, turned up: z = 530 + 40 = 570, and the rail's
upper flange begins at 600 - 4 = 596.

Holes: M12, ISO 273 fine, 13; over the slots' middles.

Flat: A36 of 4 mm bends to an inside radius of 5 (DIN 6935:1975, least tensile 400: column to 490), so a bend takes 5 + 4 = 9 of each leg.
Across: 80 - 2 x 9 = 62 flat, twice a zone and a leg of 40 - 9 = 31. Zone by DIN 6935: k = 0.65 + 0.5 lg(5/4) = 0.69846, K = 0.34923,
pi/2 (5 + 0.34923 x 4) = 10.0483. Together 62 + 2 (10.0483 + 31) = 144.097. Along: 2 x 419.25 = 838.5.
"""


def worked() -> WorkedCase:
    from parts.families.crossmember_bracket import CrossmemberBracket
    from parts.families.fixture_bar import FixtureBar
    from parts.spec import Position

    frame = worked_frame()
    seats = CrossmemberBracket(
        id="seat", at=Position(at="front", offset_mm=800), drop_mm=70, thickness_mm=4, width_mm=200, depth_mm=100, slots=2, attach="bolt"
    )
    bar = FixtureBar(id="bar", ties="seat", form="channel", thickness_mm=4, width_mm=80, flange_mm=40, over_mm=25)
    return WorkedCase(
        pieces=bar.build(frame.with_built("seat", seats.build(frame))),
        piece="bar",
        box_low=(760.0, -419.25, 530.0),
        box_high=(840.0, 419.25, 570.0),
        holes={
            "left-1": (800.0, -394.25, 530.0),
            "left-2": (800.0, -348.75, 530.0),
            "right-1": (800.0, 394.25, 530.0),
            "right-2": (800.0, 348.75, 530.0),
        },
        arithmetic=ARITHMETIC,
        flat_mm=(838.5, 144.097),
    )
