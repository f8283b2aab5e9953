"""One rail plate worked by hand."""

from __future__ import annotations

from parts.families.family import WorkedCase
from parts.families.worked_frame import worked_frame
from parts.frame.features import FrameHole
from parts.spec import Position

ARITHMETIC = """
Right rail: web outside face at y = 430, flange 60 over all, so the toes lie at 430 - 60 = 370; the rail opens inboard, so the plate
stands on the inboard side of the toes: y 370 - 3 = 367 to 370. Upper corner z 600, depth 150: lower corner 450. Fillet leg 3 mm, plate
set in by it: z 450 + 3 = 453 to 600 - 3 = 597. Square ends at x 200 and 1200. The pin hole is 500 mm from the front end and 75 mm up
from the lower face: z 450 + 75 = 525, on the plate's back face y = 370. The window of the crossmember at x 800, 60 wide and 100 deep,
20 below the upper corner, gap 1 mm: 62 x 102 mm round (800, 600 - 20 - 50 = 530); 16 mm of plate is left above it
(597 - 581) and 26 below (479 - 453). Flat: 1000 x 144 mm.
"""


def worked() -> WorkedCase:
    from parts.families.rail_plate import Around, PickUp, RailPlate
    from parts.frame.crossmember import Crossmember, CrossmemberSection

    frame = worked_frame(
        holes=(FrameHole(name="pin", at=Position(at="front", offset_mm=500), up_mm=75, diameter_mm=16),),
        crossmembers=(
            Crossmember(
                name="cm",
                x_mm=800,
                section=CrossmemberSection(kind="channel", depth_mm=100, width_mm=60, thickness_mm=4, inside_radius_mm=4),
                drop_mm=20,
                removable=True,
            ),
        ),
    )
    plate = RailPlate(
        id="boxing",
        side="right",
        thickness_mm=3,
        leg_mm=3,
        seat="toes",
        start=Position(x_mm=200),
        end=Position(x_mm=1200),
        front_end="square",
        rear_end="square",
        pick_up=(PickUp(hole="pin"),),
        around=(Around(crossmember="cm", way="window", out_first=True),),
    )
    return WorkedCase(
        pieces=plate.build(frame),
        piece="boxing-right",
        box_low=(200.0, 367.0, 453.0),
        box_high=(1200.0, 370.0, 597.0),
        holes={"pin": (500.0, 370.0, 525.0), "window-cm": (800.0, 370.0, 530.0)},
        arithmetic=ARITHMETIC,
        flat_mm=(1000.0, 144.0),
    )
