"""One gusset worked by hand."""

from __future__ import annotations

from parts.families.family import WorkedCase
from parts.families.worked_frame import worked_frame
from parts.frame.crossmember import Crossmember, CrossmemberSection

ARITHMETIC = """
Right rail: web outside at y = 430, 4 mm thick: its inside y = 426, flat from z 450 + 8 = 458 to 600 - 8 = 592. Crossmember at x = 1000, 50
wide, open rearward: its web is its front, x = 975, flat from z 575 - 100 + 8 = 483 to 575 - 8 = 567. The corner stands upright at
x = 975, y = 426 and opens forward and inboard, 90 deg. drop 75: mid-plane z = 525, so a 4 mm plate lies from z 523 to 527.

Plate, u forward along the web, v inboard: legs 100 and 80, toes 20: free edge from (100, 20) to (20, 80), (-80, 60) long 100, its unit
normal outward (0.6, 0.8). Fillet between web and crossmember, both 4 mm: least of the table 3, 5 for load that comes and goes, never above
the thinner part: 4. Snipe 4 + 3 = 7 along both legs. So the plate takes x 975 - 100 = 875 to 975 and y 426 - 80 = 346 to 426.

Flange 30 wide, up, A36 of 4 mm: inside radius 5 (DIN 6935:1975, least tensile 400: column to 490); its outside stands 9 off the free edge,
its ends 6 short of the toes: from (100, 20) + 6 (-0.8, 0.6) + 9 (0.6, 0.8) = (100.6, 30.8) to (20, 80) - 6 (-0.8, 0.6) + (5.4, 7.2) =
(30.2, 83.6). Box: x 975 - 100.6 = 874.4 to 975, y 426 - 83.6 = 342.4 to 426, z 523 to 523 + 30 = 553.

Hole: middle (r, r) equally far from both legs and the free edge 0.6 u + 0.8 v = 0.6 x 100 + 0.8 x 20 = 76: 1.4 r + r = 76, r = 31.6667:
x = 975 - 31.6667 = 943.3333, y = 426 - 31.6667 = 394.3333.

Flat by DIN 6935 (r 5, t 4: k = 0.65 + 0.5 lg(5/4) = 0.69846, K = 0.34923, zone pi/2 (5 + 0.34923 x 4) = 10.0483): the flange's own edge
lies 10.0483 + 30 - 9 = 31.0483 off the plate's. Its corners are rounded 3 mm, which takes 3 (0.6 + 0.8 - 1) = 1.2 off along u and along v:
95.2 + 31.0483 x 0.6 = 113.829 - 1.2 = 112.629 and
76.4 + 31.0483 x 0.8 = 101.239 - 1.2 = 100.039. So 112.629 x 100.039.
"""


def worked() -> WorkedCase:
    from parts.families.gusset import Gusset, Place

    channel = CrossmemberSection(kind="channel", depth_mm=100, width_mm=50, thickness_mm=4, inside_radius_mm=4)
    frame = worked_frame(
        crossmembers=(Crossmember(name="cm", x_mm=1000, section=channel, opens="rearward", drop_mm=25),),
    )
    gusset = Gusset(
        id="corner",
        side="right",
        on="web",
        to="cm",
        to_face="front",
        places=(Place(drop_mm=75),),
        thickness_mm=4,
        leg_on_mm=100,
        leg_to_mm=80,
        toe_mm=20,
        flange_mm=30,
        flange_way="up",
        hole_mm=30,
    )
    return WorkedCase(
        pieces=gusset.build(frame),
        piece="corner-right",
        box_low=(874.4, 342.4, 523.0),
        box_high=(975.0, 426.0, 553.0),
        holes={"lightening": (943.0 + 1 / 3, 394.0 + 1 / 3, 525.0)},
        arithmetic=ARITHMETIC,
        flat_mm=(112.629, 100.039),
    )
