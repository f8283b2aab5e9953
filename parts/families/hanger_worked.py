"""One hanger worked by hand."""

from __future__ import annotations

from parts.families.family import WorkedCase
from parts.families.worked_frame import worked_frame

ARITHMETIC = """
Right rail: the web's inside stands at y = 430 - 4 = 426. The pipe, 10 mm, runs through (800, 386, 520) and off the web rearward: 5 to the
left for every 12 to the rear, so along p = (12, -5, 0) / 13. The web looks along n = (0, -1, 0): p leans 5/13 at it, phi = 22.62 deg.

Ring: the leg stands square to p through the pipe's centre; its base lies in front. Where leg and web meet: 40 off the web, the leg's own
line runs (-5, -12) / 13, so 40 x 13/12 = 43.333 along it: x = 800 + 43.333 x 5/13 = 816.667. The bend turns 90 + 22.62 = 112.62 deg;
its half has the tangent 3/2 (cos 112.62 = -5/13). A36 of 3 mm: inside radius 4 (DIN 6935:1975), 7 outside: setback 7 x 3/2 = 10.5, so
the tangent on the base lies at 816.667 - 10.5 = 806.167, the base's free edge at 816.667 - 25 = 791.667.

Hole: 10 + 2 x 2 of grommet = 14; 6 of steel round it: width 14 + 12 = 26, z = 520 -+ 13 = 507 to 533. Tip: 43.333 + 7 + 6 = 56.333 along
the leg from x 816.667: x = 816.667 - 56.333 x 5/13 = 795, y = 426 - 56.333 x 12/13 = 374. The inside of the tip lies 3 further forward and
outboard: 795 - 3 x 12/13 = 792.231. So x from the base's edge, 791.667, to the outside of the bend, 806.167 + 7 = 813.167.

Flat: base 25 - 10.5 = 14.5, leg 56.333 - 10.5 = 45.833; zone by DIN 6935: k = 0.65 + 0.5 lg(4/3) = 0.712469, K = 0.356235; 112.62 deg =
1.965587: 1.965587 (4 + 0.356235 x 3) = 9.96298. Together 70.2963; 26 wide.
"""


def worked() -> WorkedCase:
    from parts.families.hanger import Hanger
    from parts.frame.space import KeepOut, SpacePoint
    from parts.spec import Position

    ends = (SpacePoint(x_mm=740, y_mm=411, z_mm=520), SpacePoint(x_mm=920, y_mm=336, z_mm=520))
    frame = worked_frame(
        keep_out=(KeepOut(name="line", shape="path", what="a line", points=ends, diameter_mm=10),),
    )
    hanger = Hanger(id="tab", side="right", pipe="line", at=Position(at="front", offset_mm=800), kind="ring", base="front", thickness_mm=3)
    return WorkedCase(
        pieces=hanger.build(frame),
        piece="tab-right",
        box_low=(791.667, 374.0, 507.0),
        box_high=(813.167, 426.0, 533.0),
        holes={"pipe": (800.0, 386.0, 520.0)},
        arithmetic=ARITHMETIC,
        flat_mm=(70.2963, 26.0),
    )
