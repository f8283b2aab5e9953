"""What goes into the flat pattern besides its outline, and what it refuses. Worked by hand beside each check; tolerance 1e-9."""

from __future__ import annotations

import math

import pytest

from parts.bending import Din6935, KFactor
from parts.errors import BadInput
from parts.flat import as_child, edge_between, unfold
from parts.outline import Contour, Transform, rectangle
from parts.sheet import Label, Mark, Panel
from tests.parts.sheets import bend, hole, l_shape, panel, part, slot

HALF = KFactor(value=0.5)



def test_marks_and_labels_and_slots_move_with_their_panel() -> None:
    here = (20.0, 10.0)
    mark = Mark(name="tick", strokes=((here, (25.0, 10.0)),))
    leg = Panel(
        name="leg",
        contour=rectangle(0.0, 0.0, 100.0, 23.0),
        holes=(hole("h", *here), slot("s", 60.0, 12.0, 6.0, 20.0, 30.0)),
        marks=(mark,),
        labels=(Label(text="AB", x_mm=here[0], y_mm=here[1], angle_deg=0.0),),
    )
    flat = unfold(part(3.0, (panel("root", 40.0, 100.0), leg), bend("root", "leg", 1, 90.0)), HALF)
    (stroke,) = flat.marks[0].strokes
    at = (flat.holes[0].x_mm, flat.holes[0].y_mm)
    assert stroke[0] == pytest.approx(at)
    # on edge 1 (x = 40, walked upward) the leg's u runs down: along -y, its v along +x
    assert stroke[1] == pytest.approx((at[0], at[1] - 5.0))
    assert (flat.labels[0].x_mm, flat.labels[0].y_mm) == pytest.approx(at)
    assert flat.labels[0].angle_deg == pytest.approx(-90.0)
    assert flat.holes[1].angle_deg == pytest.approx(-60.0)


def test_area_cut_length_and_pierces() -> None:
    flat = unfold(part(3.0, (panel("root", 100.0, 50.0, holes=(hole("h", 20.0, 20.0, 10.0), slot("s", 60.0, 25.0, 8.0, 20.0))),)), HALF)
    assert flat.area_mm2 == pytest.approx(5000.0 - 25.0 * math.pi - (12.0 * 8.0 + 16.0 * math.pi))
    assert flat.cut_length_mm == pytest.approx(300.0 + 10.0 * math.pi + 24.0 + 8.0 * math.pi)
    assert flat.pierces == 3


def test_the_outline_has_no_corner_where_a_bend_leaves_straight_on() -> None:
    flat = unfold(l_shape(90.0), HALF)
    assert len(flat.contour.points) == 4
    assert flat.contour.area > 0


def test_a_flat_that_overlaps_itself_is_refused() -> None:
    """Legs 90 wide on two neighbouring edges of 60, meeting at (60, 60). Edge 1 ends there: with offset -30 the leg stands 30 past that
    corner, with 0 past the other one. Edge 2 begins there: with offset 0 the leg stands 30 past it."""
    wide = (panel("root", 60.0, 60.0), panel("a", 90.0, 40.0), panel("b", 90.0, 40.0))
    apart = part(3.0, wide, bend("root", "a", 1, 90.0, 4.0, 0.0), bend("root", "b", 2, 90.0, 4.0, 0.0))
    assert unfold(apart, HALF).area_mm2 > 3600.0 + 2 * 3600.0
    with pytest.raises(BadInput) as caught:
        unfold(part(3.0, wide, bend("root", "a", 1, 90.0, 4.0, -30.0), bend("root", "b", 2, 90.0, 4.0, 0.0)), HALF)
    (fault,) = caught.value.faults
    assert fault.field == "flat pattern"
    assert "overlaps itself" in fault.limit
    assert fault.remedy


def test_a_rule_that_does_not_reach_refuses_the_part() -> None:
    with pytest.raises(BadInput, match=r"r/s = 0\.05"):
        unfold(l_shape(90.0, t=4.0, r=0.1), Din6935())


def test_a_panel_becomes_a_child() -> None:
    """Any straight edge of a panel can be the bend edge: it becomes segment 0 on v = 0, steel above, sizes and hole distances kept."""
    whole = Contour(((0.0, 0.0), (60.0, 10.0), (50.0, 45.0), (5.0, 40.0)), (0.0, 0.2, 0.0, 0.0)).moved(Transform.rotation(0.7))
    t = Transform.rotation(0.7)
    mark = Mark(name="m", strokes=((t.apply((20.0, 20.0)), t.apply((30.0, 20.0))),))
    holes = tuple(hole(n, *t.apply(p)) for n, p in (("a", (20.0, 20.0)), ("b", (40.0, 25.0))))
    for edge in (0, 2, 3):
        s = whole.segments[edge]
        child = as_child(Panel(name="c", contour=whole, holes=holes, marks=(mark,)), edge, s.a)
        first = child.contour.segments[0]
        assert first.a == pytest.approx((0.0, 0.0), abs=1e-9)
        assert first.b == pytest.approx((s.length, 0.0), abs=1e-9)
        assert child.contour.area == pytest.approx(whole.area)
        assert child.contour.centroid[1] > 0
        assert edge_between(child.contour, first.a, first.b) == 0
        for h, before in zip(child.holes, holes, strict=True):
            assert child.contour.distance(h.centre) == pytest.approx(whole.distance(before.centre))
        assert child.marks[0].strokes[0][0] == pytest.approx(child.holes[0].centre)
        turn = math.atan2(child.holes[1].y_mm - child.holes[0].y_mm, child.holes[1].x_mm - child.holes[0].x_mm)
        assert child.holes[0].y_mm > 0
        assert math.remainder(turn - 0.7 - math.atan2(5.0, 20.0) + math.atan2(s.b[1] - s.a[1], s.b[0] - s.a[0]), math.tau) == pytest.approx(
            0.0, abs=1e-9
        )
    with pytest.raises(ValueError, match="no edge"):
        edge_between(whole, (0.0, 0.0), (1.0, 1.0))
