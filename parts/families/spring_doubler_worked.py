"""One spring doubler worked by hand."""

from __future__ import annotations

from parts.families.family import WorkedCase
from parts.families.worked_frame import worked_frame
from parts.frame.features import FrameHole
from parts.spec import Position

ARITHMETIC = """
Right rail: web outside face at y = 430, web 4, so its inside face lies at y = 426 and looks inboard: a plate of 5 mm fills y 421 to 426.
Upper corner z 600, depth 150: lower corner z 450. Rivets 10 mm at x 1000 and 1080, up 45 and 105: z 495 and 555. The next bolt above 10 mm
is M12, its fine hole 13 mm (ISO 273). Ends: 13/2 + 25 = 31.5 past the outer holes: x 968.5 to 1111.5. Long edges: 13/2 + 20 = 26.5
past them: z 468.5 to 581.5. Flat: 143 x 113 mm.
"""


def worked() -> WorkedCase:
    from parts.families.spring_doubler import SpringDoubler

    places = {"hanger-1": (1000.0, 45.0), "hanger-2": (1080.0, 45.0), "hanger-3": (1000.0, 105.0), "hanger-4": (1080.0, 105.0)}
    frame = worked_frame(
        holes=tuple(
            FrameHole(name=name, at=Position(at="front", offset_mm=x), up_mm=up, diameter_mm=10, filled="rivet")
            for name, (x, up) in places.items()
        ),
    )
    doubler = SpringDoubler(id="doubler", side="right", stem="hanger-", foot_mm=6, thickness_mm=5, edge_along_mm=25, edge_across_mm=20)
    return WorkedCase(
        pieces=doubler.build(frame),
        piece="doubler-right",
        box_low=(968.5, 421.0, 468.5),
        box_high=(1111.5, 426.0, 581.5),
        holes={
            "hanger-1": (1000.0, 426.0, 495.0),
            "hanger-2": (1080.0, 426.0, 495.0),
            "hanger-3": (1000.0, 426.0, 555.0),
            "hanger-4": (1080.0, 426.0, 555.0),
        },
        arithmetic=ARITHMETIC,
        flat_mm=(143.0, 113.0),
    )
