"""What an opening of a rail plate keeps off besides edges and bends: the weld on a stepped plate's face, the flange's edge behind it."""

from __future__ import annotations

from functools import partial

import pytest

from parts.errors import BadInput
from tests.families.rail_plates import one, straight
from tests.families.test_rail_plate_openings import opening, pipe, through
from tests.parts.frame.makers import check_fault, section


def test_an_opening_keeps_off_the_fillet_on_a_stepped_plates_face() -> None:
    """Stepped in, the plate's lower edge lies at z 455 and its fillet of 3 mm on its face, to z 458: no opening under 458.5. Plates on the
    toes and between the flanges' edges have no weld on their face: 455.5 will do."""
    for bottom, seat, fits in ((458.6, "stepped", True), (458.4, "stepped", False), (457.0, "flush", True)):
        cut = opening(up_mm=bottom + 30 - 450, diameter_mm=60.0)
        if fits:
            one(straight(), seat=seat, openings=(cut,))
            continue
        cramped = partial(one, straight(), seat="stepped", openings=(cut,))
        check_fault(cramped, "part plate", "opening.at", "fillet of 3 mm lies on its face")
    one(straight(), seat="stepped", height_mm=80.0, openings=(opening(up_mm=84 - 31.0, diameter_mm=60.0),))  # its free edge has no weld


@pytest.mark.parametrize(("lip", "up", "over"), [(0.0, 13.0, 1.0), (0.0, 14.1, None), (20.0, 10.0, 4.0), (20.0, -5.0, 19.0)])
def test_an_opening_over_the_flange_or_its_lip_is_told(lip: float, up: float, over: float | None) -> None:
    """On the toes the flange's edge stands behind the plate up to z 454, a hat's lip under it: 20 mm round, its middle `up` over z 450."""
    on = straight(section(kind="hat", lip_mm=lip) if lip else section())
    piece = one(on, edge="set in" if lip else "bevelled", openings=(opening(up_mm=up, diameter_mm=20.0),))
    told = [f for f in piece.findings if f.code == "opening-over-flange"]
    assert [(f.level, f.value) for f in told] == ([] if over is None else [("warn", f"{over:.1f} mm")])


def test_what_is_moved_for_a_pipe_is_the_pipe() -> None:
    on = straight(keep_out=(pipe((600, 300, 460), (600, 480, 460)),))
    with pytest.raises(BadInput) as caught:
        through(on)
    assert caught.value.faults[0].remedy == "move pipe fuel-pipe inwards, or give it less clearance"
