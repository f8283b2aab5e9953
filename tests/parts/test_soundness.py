"""What is refused before any kernel or file sees it: every refusal names the field, says what is wrong and what to do.

The numbers are the project's own (0.2 mm the shortest edge, 0.5 mm the least steel beside an opening, 170 deg the most a brake turns);
where a distance is named it is worked by hand beside the check. Tolerance: the 0.1 mm to which messages are written.
"""

from __future__ import annotations

import math
import re
from dataclasses import replace

import pytest
from hypothesis import given, settings
from hypothesis import strategies as st

from parts.errors import BadInput, Fault
from parts.flat import ordered
from parts.formed import collisions
from parts.holes import Hole
from parts.outline import Contour, Transform, rectangle
from parts.prisms import Prism, clash
from parts.sheet import Panel, SheetPart
from parts.soundness import check, faults
from tests.parts.sheets import bend, hole, panel, part, plate, slot

PLATE = rectangle(0.0, 0.0, 100.0, 60.0)
L = part(3.0, (panel("root", 100.0, 43.0), panel("leg", 100.0, 23.0)), bend("root", "leg", 2, 90.0))


def only(p: SheetPart, field: str, *says: str) -> Fault:
    """The one fault of `p`: about `field`, saying all of `says`, with a remedy."""
    found = faults(p)
    assert [f.field for f in found] == [field], [str(f) for f in found]
    for text in says:
        assert text in f"{found[0].value} {found[0].limit}", str(found[0])
    assert found[0].remedy, str(found[0])
    assert found[0].where == "part p"
    return found[0]


def test_sound_parts_are_left_alone() -> None:
    check(plate(PLATE, hole("a", 50.0, 30.0, 20.0), slot("s", 20.0, 30.0, 8.0, 30.0, 90.0)))
    check(L)
    check(plate(PLATE.rounded(8.0)))


# --- numbers

NUMBERS = {"not a number": math.nan, "infinite": math.inf, "what 1e400 is read as": float("1e400"), "over 100 m": 1.1e5, "below": -math.inf}


@pytest.mark.parametrize("value", NUMBERS.values(), ids=NUMBERS.keys())
def test_numbers_that_a_kernel_cannot_bear(value: float) -> None:
    wrong: dict[str, SheetPart] = {
        "panel face point 2": plate(Contour(((0.0, 0.0), (value, 0.0), (100.0, 60.0)), (0.0,) * 3)),
        "panel face point 3": plate(Contour(((0.0, 0.0), (100.0, 0.0), (100.0, 60.0)), (0.0, 0.0, value))),
        "hole h place": plate(PLATE, hole("h", 50.0, value)),
        "hole h size": plate(PLATE, slot("h", 50.0, 30.0, 8.0, value)),
        "bend to leg angle": replace(L, bends=(replace(L.bends[0], angle_deg=value),)),
        "bend to leg offset": replace(L, bends=(replace(L.bends[0], offset_mm=value),)),
    }
    for field, p in wrong.items():
        only(p, field, "finite number below 100 m")
    assert "thickness" in [f.field for f in faults(replace(L, thickness_mm=value))]
    assert "bend to leg inside radius" in [f.field for f in faults(replace(L, bends=(replace(L.bends[0], inside_radius_mm=value),)))]
    with pytest.raises(BadInput):
        check(wrong["hole h place"])


def test_two_wrong_numbers_do_not_cancel_out() -> None:
    """1e300 and -1e300 add up to nothing, infinity and minus infinity to no number."""
    far = Contour(((0.0, 0.0), (1e300, -1e300), (100.0, 60.0)), (0.0,) * 3)
    only(plate(far), "panel face point 2", "1e+300")
    only(plate(PLATE, hole("h", 2e5, -2e5)), "hole h place")
    only(plate(PLATE, hole("h", math.inf, -math.inf)), "hole h place")


@pytest.mark.parametrize("thickness", [0.0, -3.0])
def test_thickness(thickness: float) -> None:
    only(replace(L, thickness_mm=thickness), "thickness", f"{thickness:g} mm", "more than 0")


def test_negative_radius() -> None:
    only(replace(L, bends=(replace(L.bends[0], inside_radius_mm=-1.0),)), "bend to leg inside radius", "-1 mm", "negative")


# --- outlines


def test_a_bow_tie() -> None:
    """Its edges cross in the middle, (50, 30)."""
    only(plate(Contour(((0.0, 0.0), (100.0, 60.0), (100.0, 0.0), (0.0, 60.0)), (0.0,) * 4)), "outline of panel face", "(50.0, 30.0)")


def test_a_clockwise_outline() -> None:
    only(plate(PLATE.reversed()), "outline of panel face", "clockwise")
    only(plate(Contour(((0.0, 0.0), (50.0, 0.0)), (0.0, 0.0))), "outline of panel face", "encloses nothing")


@pytest.mark.parametrize(("size", "sound"), [(0.19, False), (0.21, True)])
def test_an_edge_too_short_to_cut(size: float, sound: bool) -> None:
    corner = Contour(((0.0, 0.0), (100.0, 0.0), (100.0, 60.0), (99.0, 60.0 + size), (99.0, 60.0), (0.0, 60.0)), (0.0,) * 6)
    if sound:
        check(plate(corner))
    else:
        only(plate(corner), "outline of panel face", "0.190 mm", "(99.00, 60.19)", "0.2 mm is the shortest")


# --- openings


def test_a_hole_off_the_plate() -> None:
    only(plate(PLATE, hole("h", 112.0, 30.0)), "hole h", "12.0 mm off panel face")


@pytest.mark.parametrize("x", [99.0, 97.5, 103.0])
def test_a_hole_half_on_the_edge(x: float) -> None:
    """Diameter 6: from 97 it reaches the edge at 100."""
    field = only(plate(PLATE, hole("h", x, 30.0)), "hole h")
    assert ("off panel" in field.limit) == (x > 100.0)
    check(plate(PLATE, hole("h", 96.4, 30.0)))


def test_a_move_as_told_is_enough() -> None:
    for x in (96.53, 96.61, 97.0, 98.26, 99.99):
        told = re.search(r"move it (\d+\.\d) mm or more inwards", only(plate(PLATE, hole("h", x, 30.0)), "hole h").remedy)
        assert told is not None
        check(plate(PLATE, hole("h", x - float(told[1]), 30.0)))


def test_too_little_steel_beside_a_hole() -> None:
    """The edge of a 6 mm hole at 96.7 is 0.3 from the plate's: 0.2 more makes the 0.5 that must be left."""
    assert "0.2 mm or more" in only(plate(PLATE, hole("h", 96.7, 30.0)), "hole h", "under 0.5 mm").remedy


def test_a_hole_larger_than_its_plate() -> None:
    only(plate(PLATE, hole("h", 50.0, 30.0, 300.0)), "hole h", "breaks through")


def test_a_slot_through_the_edge() -> None:
    only(plate(PLATE, slot("s", 90.0, 30.0, 8.0, 30.0)), "hole s", "breaks through the edge")


def test_a_slot_that_cuts_the_plate_in_two() -> None:
    only(plate(PLATE, slot("s", 50.0, 30.0, 8.0, 80.0, 90.0)), "hole s", "in two")


@pytest.mark.parametrize(
    "two",
    [
        (hole("a", 40.0, 30.0, 10.0), hole("b", 45.0, 30.0, 10.0)),
        (hole("a", 40.0, 30.0, 10.0), hole("b", 50.3, 30.0, 10.0)),
        (hole("a", 40.0, 30.0, 20.0), hole("b", 40.0, 30.0, 10.0)),
        (hole("a", 40.0, 30.0, 20.0), hole("b", 43.0, 30.0, 6.0)),
        (hole("b", 43.0, 30.0, 6.0), hole("a", 40.0, 30.0, 20.0)),
        (slot("a", 40.0, 30.0, 8.0, 40.0), slot("b", 40.0, 30.0, 8.0, 40.0, 90.0)),
    ],
    ids=["overlap", "0.3 mm apart", "one round the other", "one in the other", "the other way round", "crossed slots"],
)
def test_openings_that_run_into_each_other(two: tuple[Hole, Hole]) -> None:
    only(plate(PLATE, *two), f"hole {two[1].name}", f"runs into {two[0].name}")
    check(plate(PLATE, hole("a", 40.0, 30.0, 10.0), hole("b", 50.6, 30.0, 10.0)))


SIZES = {
    "nothing": hole("h", 50.0, 30.0, 0.0),
    "negative": hole("h", 50.0, 30.0, -6.0),
    "slot as long as wide": slot("h", 50.0, 30.0, 8.0, 8.0),
    "slot wider than long": slot("h", 50.0, 30.0, 10.0, 8.0),
    "rectangle of no length": Hole(name="h", kind="rectangle", x_mm=50.0, y_mm=30.0, diameter_mm=10.0),
    "corners too round": Hole(name="h", kind="rectangle", x_mm=50.0, y_mm=30.0, diameter_mm=10.0, length_mm=30.0, corner_radius_mm=5.0),
    "corners negative": Hole(name="h", kind="rectangle", x_mm=50.0, y_mm=30.0, diameter_mm=10.0, length_mm=30.0, corner_radius_mm=-1.0),
}


@pytest.mark.parametrize("wrong", SIZES.values(), ids=SIZES.keys())
def test_sizes_of_openings(wrong: Hole) -> None:
    only(plate(PLATE, wrong), "hole h")


def test_a_hole_in_a_bend_zone_names_the_distance() -> None:
    """The root ends at v 43: a 6 mm hole at 41 lies 2.0 from the tangent line and must move by 3 - 2 + 0.5; one at 45.2 lies 2.2 into the
    zone; on the leg the tangent line is v 0."""
    root, leg = L.panels
    fault = only(replace(L, panels=(replace(root, holes=(hole("h", 50.0, 41.0),)), leg)), "hole h", "bend zone", "2.0 mm from its centre")
    assert "1.5 mm or more away from the bend" in fault.remedy
    only(replace(L, panels=(replace(root, holes=(hole("h", 50.0, 45.2),)), leg)), "hole h", "2.2 mm off panel root", "bend")
    only(replace(L, panels=(root, replace(leg, holes=(hole("h", 50.0, 2.5),)))), "hole h", "bend zone", "2.5 mm from its centre")
    check(replace(L, panels=(replace(root, holes=(hole("h", 50.0, 39.4),)), leg)))


@settings(max_examples=60, deadline=None)
@given(st.floats(-30.0, 130.0), st.floats(-30.0, 90.0), st.floats(0.1, 50.0))
def test_a_round_hole_is_accepted_just_where_steel_is_left_all_round(x: float, y: float, diameter: float) -> None:
    """Independent of how it is computed: the least of the four distances to a rectangle's edges, less the radius, is 0.5 or more."""
    left = min(x, 100.0 - x, y, 60.0 - y) - diameter / 2
    if abs(left - 0.5) > 1e-6:
        assert bool(faults(plate(PLATE, hole("h", x, y, diameter)))) == (left < 0.5)


# --- trees


@pytest.mark.parametrize("angle", [0.0, 170.1, -180.0])
def test_angles_no_brake_turns(angle: float) -> None:
    only(replace(L, bends=(replace(L.bends[0], angle_deg=angle),)), "bend to leg", f"{angle:g} deg", "at most 170 deg")


def test_an_orphan() -> None:
    only(replace(L, panels=(*L.panels, panel("alone", 10.0, 10.0))), "panels", "alone", "hangs from one bend")


def test_a_cycle() -> None:
    ring = part(
        3.0,
        (panel("root", 50.0, 50.0), panel("a", 50.0, 50.0), panel("b", 50.0, 50.0)),
        bend("a", "b", 2, 90.0),
        bend("b", "a", 2, 90.0),
    )
    only(ring, "bends", "does not hang from panel 'root'")
    back = replace(L, bends=(*L.bends, bend("leg", "root", 2, 90.0)))
    only(back, "bends", "bend to 'root'")
    twice = replace(L, bends=(*L.bends, bend("root", "leg", 0, 90.0)))
    only(twice, "bends", "bend to 'leg'")


def test_a_bend_to_a_panel_that_is_not_there() -> None:
    only(replace(L, bends=(*L.bends, bend("root", "ghost", 0, 90.0))), "bends", "ghost")
    only(replace(L, bends=(*L.bends, bend("ghost", "leg", 0, 90.0))), "bends", "ghost")
    only(replace(L, panels=(*L.panels, panel("leg", 10.0, 10.0))), "panels", "one name")
    with pytest.raises(BadInput, match="one panel or more"):
        ordered(SheetPart(name="p", thickness_mm=3.0, panels=()))
    assert faults(SheetPart(name="p", thickness_mm=3.0, panels=()))


@pytest.mark.parametrize("edge", [4, -1, 99])
def test_a_bend_on_an_edge_that_is_not_there(edge: int) -> None:
    only(replace(L, bends=(replace(L.bends[0], edge=edge),)), "bend to leg", f"edge {edge}", "straight edge")


def test_a_bend_on_an_arc() -> None:
    round_one = Panel(name="root", contour=Contour(((0.0, 0.0), (100.0, 0.0), (100.0, 43.0), (0.0, 43.0)), (0.0, 0.0, 0.3, 0.0)))
    only(replace(L, panels=(round_one, L.panels[1])), "bend to leg", "panel root along one straight edge")


def test_two_bends_on_one_edge() -> None:
    """One of them would be left out of the flat without a word."""
    two = part(
        3.0, (*L.panels, panel("other", 100.0, 23.0)), *L.bends, bend("root", "other", 2, -90.0)
    )
    only(two, "bend to other", "edge 2", "leg")
    own = part(3.0, (*L.panels, panel("other", 100.0, 23.0)), *L.bends, bend("leg", "other", 0, 90.0))
    only(own, "bend to other", "edge 0")


def test_a_child_that_does_not_begin_with_its_bend_edge() -> None:
    root, leg = L.panels
    for wrong in (Transform.shift(0.0, 5.0), Transform.rotation(math.pi / 2), Transform.rotation(math.pi)):
        only(replace(L, panels=(root, replace(leg, contour=leg.contour.moved(wrong)))), "bend to leg", "along +u on v = 0")


def test_every_fault_in_one_go() -> None:
    root, leg = L.panels
    bad = replace(
        L,
        panels=(
            replace(root, holes=(hole("off", 300.0, 0.0), hole("zero", 50.0, 20.0, 0.0))),
            replace(leg, contour=Contour(((0.0, 0.0), (100.0, 0.0), (0.0, 23.0), (100.0, 23.0)), (0.0,) * 4)),
        ),
        bends=(replace(L.bends[0], angle_deg=175.0),),
    )
    assert {f.field for f in faults(bad)} == {"hole off", "hole zero", "outline of panel leg", "bend to leg"}
    with pytest.raises(BadInput) as caught:
        check(bad)
    assert len(caught.value.faults) == 4


# --- folded


def u_with_lips(height: float, lip: float, lip2: float | None = None, *, thickness: float = 3.0) -> SheetPart:
    """Root 80 + 2 bends wide, two sides up, a lip turned inwards on each: the opening between the sides' insides is 80 + 2 r."""
    lip2 = lip if lip2 is None else lip2
    sides = (panel("root", 100.0, 80.0), panel("a", 100.0, height), panel("b", 100.0, height))
    return part(
        thickness,
        (*sides, panel("al", 100.0, lip), panel("bl", 100.0, lip2)),
        bend("root", "a", 2, 90.0),
        bend("root", "b", 0, 90.0),
        bend("a", "al", 2, 90.0),
        bend("b", "bl", 2, 90.0),
    )


def test_lips_that_meet_over_a_channel() -> None:
    """Each lip's flat begins where its bend ends, over the root's own edges: 80 are free between them, 40 for each of two alike."""
    check(u_with_lips(50.0, 39.9))
    check(u_with_lips(50.0, 40.0))
    clashing = faults(u_with_lips(50.0, 40.5))
    assert [f.field for f in clashing] == ["panels al and bl"]
    assert clashing[0].remedy
    assert "run into each other when folded" in clashing[0].limit
    (x, y, z) = (float(v) for v in re.findall(r"-?\d+\.\d", clashing[0].limit))
    assert 0.0 <= x <= 100.0
    assert 39.4 <= y <= 40.6
    assert 61.0 - 0.1 <= z <= 64.1
    assert faults(u_with_lips(50.0, 50.0, 31.0))
    check(u_with_lips(50.0, 50.0, 29.9))


def test_symmetric_flanges_that_cross() -> None:
    """Two sides of 120 turned by 135 deg cross over the middle of the root, in exact symmetry; at 60 they do not reach it."""

    def roof(height: float) -> SheetPart:
        legs = (panel("root", 100.0, 80.0), panel("a", 100.0, height), panel("b", 100.0, height))
        return part(3.0, legs, bend("root", "a", 2, 135.0), bend("root", "b", 0, 135.0))

    only(roof(120.0), "panels a and b", "run into each other")
    check(roof(45.0))


def test_a_lip_that_comes_down_through_its_root() -> None:
    """Up 20, back, and down 40: through the root."""
    panels = (panel("root", 100.0, 80.0), panel("a", 100.0, 20.0), panel("b", 100.0, 30.0), panel("c", 100.0, 40.0))
    turns = (bend("root", "a", 2, 90.0), bend("a", "b", 2, 90.0), bend("b", "c", 2, 90.0))
    only(part(3.0, panels, *turns), "panels root and c", "run into each other")
    check(part(3.0, (*panels[:3], panel("c", 100.0, 15.0)), *turns))


def test_an_ear_that_goes_down_through_its_own_parent() -> None:
    """A leg on a short edge in a notch, with ears either side that reach past the bend line: folded up they would go through the root
    beside the notch. Both hang on one bend, and yet they run into each other."""
    notched = Contour(
        ((0.0, 0.0), (100.0, 0.0), (100.0, 60.0), (70.0, 60.0), (70.0, 40.0), (30.0, 40.0), (30.0, 60.0), (0.0, 60.0)), (0.0,) * 8
    )
    eared = Contour(
        ((0.0, 0.0), (40.0, 0.0), (40.0, 8.0), (60.0, 8.0), (60.0, -30.0), (70.0, -30.0), (70.0, 30.0), (0.0, 30.0)), (0.0,) * 8
    )
    p = part(3.0, (Panel(name="root", contour=notched), Panel(name="leg", contour=eared)), bend("root", "leg", 4, 90.0))
    assert [f.field for f in collisions(p)] == ["panels root and leg"]
    plain = part(3.0, (Panel(name="root", contour=notched), panel("leg", 40.0, 30.0)), bend("root", "leg", 4, 90.0))
    assert collisions(plain) == []


def box_of(w: float, d: float, h: float, x: float = 0.0, y: float = 0.0, z: float = 0.0) -> Prism:
    ring = ((0.0, 0.0), (w, 0.0), (w, d), (0.0, d))
    return Prism(origin=(x, y, z), u=(1.0, 0.0, 0.0), v=(0.0, 1.0, 0.0), ring=ring, thickness_mm=h)


@settings(max_examples=80, deadline=None)
@given(
    st.tuples(st.floats(1, 50), st.floats(1, 50), st.floats(1, 50)),
    st.tuples(st.floats(1, 50), st.floats(1, 50), st.floats(1, 50)),
    st.tuples(st.floats(-60, 60), st.floats(-60, 60), st.floats(-60, 60)),
)
def test_two_boxes_share_room_just_where_their_sides_overlap(
    one: tuple[float, float, float], two: tuple[float, float, float], at: tuple[float, float, float]
) -> None:
    """Independent: on each axis the overlap of two intervals. Under 0.02 mm counts as touching, so that band is left out."""
    overlap = min(min(a, x + b) - max(0.0, x) for a, b, x in zip(one, two, at, strict=True))
    found = clash(box_of(*one), box_of(*two, *at))
    if overlap > 0.02:
        assert found is not None
        for c, a, b, x in zip(found, one, two, at, strict=True):
            assert max(0.0, x) - 1e-6 <= c <= min(a, x + b) + 1e-6
    elif overlap < 0.0:
        assert found is None


def test_boxes_alike_and_boxes_that_touch() -> None:
    assert clash(box_of(10.0, 10.0, 3.0), box_of(10.0, 10.0, 3.0)) is not None
    assert clash(box_of(10.0, 10.0, 3.0), box_of(10.0, 10.0, 3.0, z=3.0)) is None
    assert clash(box_of(10.0, 10.0, 3.0), box_of(10.0, 10.0, 3.0, x=10.0)) is None
    assert clash(box_of(40.0, 10.0, 3.0, y=15.0), box_of(10.0, 40.0, 3.0, x=15.0)) is not None, "crossed: no corner of either in the other"
    through = box_of(4.0, 4.0, 40.0, 13.0, 13.0, -20.0)
    plain = box_of(30.0, 30.0, 3.0)
    assert clash(plain, through) is not None
    assert clash(through, plain) is not None
    assert clash(replace(plain, openings=(((12.0, 12.0), (18.0, 12.0), (18.0, 18.0), (12.0, 18.0)),)), through) is None
    assert clash(replace(plain, openings=(((12.0, 12.0), (16.0, 12.0), (16.0, 18.0), (12.0, 18.0)),)), through) is not None
