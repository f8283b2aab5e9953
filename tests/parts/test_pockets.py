"""Slots cut where tabs ask for them: place, size and turn by hand; what has no room for one names it. Distances: TM 9-2320-289-34 p. 9-7
for edges and openings (2 t), trade pages for bends (2 t + r)."""

from __future__ import annotations

import math
from dataclasses import replace

import pytest

from parts.errors import BadInput
from parts.frame.offers import Pocket
from parts.outline import rectangle
from parts.piece import Piece
from parts.pockets import pocketed
from parts.sheet import HOME, Panel, Placement, SheetPart
from tests.parts.frame.makers import check_fault
from tests.parts.test_landing import ANGLE


def host(**fields: object) -> Piece:
    plain = Piece(id="host", family="x", side="left", part=ANGLE, grade="A36", placements=(HOME,))
    return replace(plain, **fields)  # type: ignore[arg-type]


def guest(*pockets: Pocket, name: str = "guest") -> Piece:
    plate = SheetPart(name=name, thickness_mm=4.0, panels=(Panel(name="p", contour=rectangle(0, 0, 50, 50)),))
    return Piece(id=name, family="x", side="left", part=plate, grade="A36", placements=(HOME,), pockets=pockets)


def pocket(**fields: object) -> Pocket:
    plain = Pocket(name="tab", piece="host", panel="base", centre=(60.0, 40.0, 3.0), along=(1.0, 0.0, 0.0), length_mm=20.5, width_mm=4.5)
    return replace(plain, **fields)  # type: ignore[arg-type]


def test_a_slot_on_the_base() -> None:
    """At (60, 40), along x; from the lower face the same slot."""
    for z in (3.0, 0.0):
        made, _ = pocketed([host(), guest(pocket(centre=(60.0, 40.0, z)))])
        (hole,) = [h for h in made.part.panels[0].holes if h.name == "tab"]
        assert (hole.kind, hole.x_mm, hole.y_mm, hole.length_mm, hole.diameter_mm) == ("rectangle", 60.0, 40.0, 20.5, 4.5)
        assert hole.angle_deg == pytest.approx(0.0)


def test_a_slot_in_the_folded_leg_of_a_placed_host() -> None:
    """The leg's inside is at y = 84, 30 mm above its tangent (z = 7 + 30); the whole stood upright: (x, y, z) to (x, -z, y)."""
    stood = Placement(origin=(0.0, 0.0, 0.0), u=(1.0, 0.0, 0.0), v=(0.0, 0.0, 1.0))
    turned = math.sqrt(0.5)
    where = pocket(panel="leg", centre=(70.0, -37.0, 84.0), along=(turned, -turned, 0.0), length_mm=15.0)
    made, _ = pocketed([host(placements=(stood,)), guest(where)])
    (hole,) = [h for h in made.part.panels[1].holes if h.name == "tab"]
    assert hole.y_mm == pytest.approx(30.0, abs=1e-9)
    assert abs(hole.angle_deg) % 90 == pytest.approx(45.0, abs=1e-9)
    assert made.part.panels[0] == ANGLE.panels[0]


def test_order_and_what_is_not_asked_for_stay() -> None:
    pieces = [guest(name="a"), host(), guest(pocket(), name="b")]
    made = pocketed(pieces)
    assert [p.id for p in made] == ["a", "host", "b"] and made[0] is pieces[0] and made[2] is pieces[2]
    assert pocketed([pieces[0], pieces[1]]) == (pieces[0], pieces[1])


def test_off_the_face_is_a_fault_of_the_program() -> None:
    with pytest.raises(ValueError, match="does not lie on a face"):
        pocketed([host(), guest(pocket(centre=(60.0, 40.0, 1.5)))])
    with pytest.raises(ValueError, match="does not lie on a face"):
        pocketed([host(), guest(pocket(along=(0.8, 0.0, 0.6)))])


def test_distances() -> None:
    """2 t = 6 mm to edges and openings, 2 t + r = 10 to the tangent at y = 80: at the limit is allowed, 0.1 nearer is not."""
    half_l, half_w = 20.5 / 2, 4.5 / 2
    for centre, limit in (
        ((6.0 + half_l, 60.0, 3.0), "from its panel's edge"),
        ((50.0, 80.0 - 10.0 - half_w, 3.0), "from a bend's tangent"),
        ((20.0 + 5.5 + 6.0 + half_l, 30.0, 3.0), "from a ("),
    ):
        pocketed([host(), guest(pocket(centre=centre))])
        x, y, z = centre
        nearer = (x, y + 0.1, z) if "bend" in limit else (x - 0.1, y, z)
        check_fault(lambda at=nearer: pocketed([host(), guest(pocket(centre=at))]), "part guest", "tabs", limit)  # type: ignore[misc]


def test_off_the_panel_and_into_another_tabs_slot() -> None:
    check_fault(lambda: pocketed([host(), guest(pocket(centre=(160.0, 40.0, 3.0)))]), "part guest", "tabs", "off the panel")
    both = [host(), guest(pocket()), guest(pocket(name="second", centre=(60.0, 48.0, 3.0)), name="late")]
    check_fault(lambda: pocketed(both), "part late", "tabs", "would lie 3.5 mm from tab (")  # 8 - 4.5


def test_hosts_that_cannot_be_slotted() -> None:
    check_fault(lambda: pocketed([guest(pocket())]), "part guest", "tabs", "is not one piece of this job")
    twice = host(placements=(HOME, replace(HOME, origin=(0.0, 500.0, 0.0))))
    check_fault(lambda: pocketed([twice, guest(pocket())]), "part guest", "tabs", "is made 2 times")


def test_the_remedy_works() -> None:
    """1.5 mm short of the edge, told as whole mm: moved by as much it fits."""
    x = 6.0 + 20.5 / 2 - 1.5
    with pytest.raises(BadInput) as caught:
        pocketed([host(), guest(pocket(centre=(x, 60.0, 3.0)))])
    remedy = caught.value.faults[0].remedy
    by = float(remedy.removeprefix("move it ").split(" ")[0])
    assert (by, "away from it" in remedy) == (2.0, True)
    pocketed([host(), guest(pocket(centre=(x + by, 60.0, 3.0)))])


def test_every_fault_is_told() -> None:
    with pytest.raises(BadInput) as caught:
        pocketed([host(), guest(pocket(centre=(5.0, 40.0, 3.0)), pocket(name="second", centre=(95.0, 40.0, 3.0)))])
    assert len(caught.value.faults) == 2
