"""Tabs and their slots: where they lie in the vehicle, the play all round, what they may not do, and that no two pieces share steel."""

from __future__ import annotations

import math
from dataclasses import replace
from typing import Any

import numpy as np
import pytest

from parts.errors import BadInput, Fault
from parts.families.gusset import Place
from parts.features.tabs import tab_pockets, tab_spans, tabbed
from parts.flat import unfold
from parts.frame.offers import FlatFace
from parts.holes import Hole
from parts.outline import rectangle
from parts.piece import Piece
from parts.sheet import HOME, Placement
from parts.shop import Process, Shop
from parts.solid import solid
from parts.soundness import faults
from tests.families.cases import FRAMES
from tests.families.gussets import gusset, kit, legs, panels, seat, straight, under_seat
from tests.parts.frame.makers import check_fault, demo_frame, frame

EXACT = 1e-6
TAB = 20.0


def nose(piece: Piece, name: str, index: int) -> np.ndarray:
    """The corners of the tab's end in the vehicle: the four points farthest out over the leg that stands on `name`."""
    plate, at = panels(piece, index)["plate"]
    angle = math.pi / 2
    deep = sorted(plate.contour.points, key=lambda p: p[0] * math.sin(angle) - p[1] * math.cos(angle) if name == "to" else p[1])[:2]
    return np.array([at.point(u, v, z) for u, v in deep for z in (0.0, piece.part.thickness_mm)])


def slot_corners(host: Piece, name: str) -> np.ndarray:
    """Of one slot on both faces of its panel, in the vehicle, as (2, 4, 3)."""
    for panel, at in panels(host).values():
        for hole in panel.holes:
            if hole.name == name:
                ring = hole.contour().points
                return np.array([[at.point(u, v, z) for u, v in ring] for z in (0.0, host.part.thickness_mm)])
    raise AssertionError(f"no {name} in {host.id}")


@pytest.mark.parametrize("name", FRAMES)
@pytest.mark.parametrize(("process", "play"), [("laser", 0.25), ("plasma", 0.9)])
def test_a_tab_lies_in_its_slot_with_the_play_all_round(name: str, process: Process, play: float) -> None:
    """Play by process: ISO 9013 tolerance of 10 to 35 mm in plate of 3.15 to 6.3 mm, as reproduced: class 1 +-0.25, class 2 +-0.9."""
    shop = Shop(process=process)
    made = kit(demo_frame(name), seat(width_mm=160.0), under_seat(places=(Place(offset_mm=-55.0), Place(offset_mm=55.0))), shop=shop)
    (prop,) = (p for p in made.values() if p.family == "gusset")
    assert prop.quantity == 4 and len(prop.pockets) == 4
    for index, pocket in enumerate(prop.pockets):
        host, end = made[pocket.piece], nose(prop, "to", index)
        slot = slot_corners(host, pocket.name)
        far = min((0, 1), key=lambda k: abs(slot[k] - end.mean(axis=0)).max())  # the face that the tab ends at
        ring = slot[far]
        for a, b in zip(ring, np.roll(ring, -1, axis=0), strict=True):
            way = (b - a) / np.linalg.norm(b - a)
            out = np.cross(way, slot[1 - far][0] - slot[far][0])
            off = (end - a) @ (out / np.linalg.norm(out))
            assert min(abs(off)) == pytest.approx(play, abs=EXACT)
            assert len({bool(o > 0) for o in off}) == 1  # all on one side: the inside
        normal = np.cross(ring[1] - ring[0], ring[2] - ring[1])
        assert (end - ring[0]) @ normal / np.linalg.norm(normal) == pytest.approx(0.0, abs=EXACT)  # flush


def test_area_with_a_tab() -> None:
    """Tab 20 x 4 (flush in a 4 mm seat) more; two half discs of radius 1 beside its root less: 80 - pi."""
    with_tab, without = (kit(frame(), seat(), under_seat(side="right", tabs_to=n))["prop-right"] for n in (1, 0))
    area = [p.part.panels[0].contour.area for p in (with_tab, without)]
    assert area[0] - area[1] == pytest.approx(TAB * 4.0 - math.pi, abs=1e-9)


def test_a_recess_shortens_the_tab_and_is_plug_welded_from_the_far_side() -> None:
    made = kit(frame(), seat(), under_seat(side="right", tab_recess_mm=1.5))
    prop, host = made["prop-right"], made["seat-right"]
    assert nose(prop, "to", 0)[:, 2] == pytest.approx(570.0 - 1.5, abs=EXACT)  # the seat's upper face: 600 - 30
    (plug,) = [w for w in prop.welds if w.kind == "plug"]
    slot = slot_corners(host, prop.pockets[0].name)
    middle = slot[int(np.argmax(slot[:, 0, 2]))].mean(axis=0)
    assert np.array(plug.points[0]) == pytest.approx(middle, abs=EXACT)


def test_slots_are_in_flat_pattern_and_keep_the_volume_law() -> None:
    """Slot 20.5 x 4.5 a tab, both through the seat: its flat loses 2 x 20.5 x 4.5 mm2."""
    places = (Place(offset_mm=-55.0), Place(offset_mm=55.0))
    with_tabs, without = (kit(frame(), seat(), under_seat(side="left", tabs_to=n, places=places))["seat-left"] for n in (1, 0))
    rule = Shop().bend_rule()
    flats = [unfold(p.part, rule) for p in (with_tabs, without)]
    assert flats[1].area_mm2 - flats[0].area_mm2 == pytest.approx(2 * 20.5 * 4.5, abs=1e-9)
    slots = [h for h in flats[0].holes if h.purpose == "slot for a tab"]
    assert {(h.kind, h.length_mm, h.diameter_mm) for h in slots} == {("rectangle", 20.5, 4.5)}
    assert faults(with_tabs.part) == []


def common_mm3(one: Piece, index: int, two: Piece, moved: tuple[float, float, float] = (0.0, 0.0, 0.0)) -> float:
    import cadquery

    def placed(piece: Piece, at: Placement, by: tuple[float, float, float]) -> Any:
        origin = tuple(a + b for a, b in zip(at.origin, by, strict=True))
        return solid(piece.part).moved(cadquery.Location(cadquery.Plane(origin=origin, xDir=at.u, normal=at.normal)))

    both = placed(one, one.placements[index], moved).intersect(placed(two, two.placements[0], (0.0, 0.0, 0.0)))
    return float(sum(s.Volume() for s in both.Solids()))


def test_gusset_and_host_share_no_steel() -> None:
    """By the kernel. Pushed 1 mm along the rail the tab cuts into its slot's side: (1 - 0.25) x 20 x 4 mm3; down on the slot it fits."""
    made = kit(frame(), seat(), under_seat(side="right"))
    prop, host = made["prop-right"], made["seat-right"]
    assert common_mm3(prop, 0, host) == pytest.approx(0.0, abs=1e-6)
    assert common_mm3(prop, 0, host, (1.0, 0.0, 0.0)) == pytest.approx(0.75 * TAB * 4.0, abs=1e-3)
    assert common_mm3(prop, 0, host, (0.0, 0.5, 0.0)) > 1.0


def test_a_slot_moved_the_wrong_way_is_seen_by_that_check() -> None:
    made = kit(frame(), seat(), under_seat(side="right"))
    prop, host = made["prop-right"], made["seat-right"]
    base, plate = host.part.panels
    wrong = tuple(replace(h, x_mm=h.x_mm + 2.0) if h.kind == "rectangle" else h for h in plate.holes)
    bad = replace(host, part=replace(host.part, panels=(base, replace(plate, holes=wrong))))
    assert common_mm3(prop, 0, bad) == pytest.approx((2.0 - 0.25) * TAB * 4.0, abs=1e-3)


# --- refusals ---


def test_no_tab_goes_into_the_vehicles_own_steel() -> None:
    check_fault(lambda: gusset(side="right", tabs_on=1).build(straight()), "part corner", "tabs_on", "vehicle's own steel")
    check_fault(lambda: gusset(side="right", tabs_to=1).build(straight()), "part corner", "tabs_to", "vehicle's own steel")


def test_too_many_tabs_for_a_leg() -> None:
    """95 - 8 of leg; each of five takes 20 + 4 x 1 + 2 = 26: 130."""
    make = under_seat(side="right", tabs_to=5)
    check_fault(lambda: kit(frame(), seat(), make), "part prop", "tabs_to", "need 130.0 mm of leg; it has 87.0 mm")


def test_a_slot_too_near_to_the_hosts_bend() -> None:
    """Two tabs of 30 share 87 mm from 8 on: the first begins at 8 + 21.75 - 15 = 14.75, its slot at 14.5, 9.5 mm from the bend's tangent at
    5; 2 t + r = 13 is the least."""
    make = under_seat(side="right", tabs_to=2, tab_mm=30.0)
    check_fault(lambda: kit(frame(), seat(), make), "part prop", "tabs_to", "9.5 mm from a bend's tangent")


def test_a_slot_too_near_to_the_hosts_side() -> None:
    """At 67 of 75: the slot's side is 75 - 67 - 2.25 = 5.75 mm from the seat's; 2 t = 8 is the least."""
    make = under_seat(side="right", places=(Place(offset_mm=67.0),))
    check_fault(lambda: kit(frame(), seat(), make), "part prop", "tabs_to", "5.8 mm from its panel's edge")


def test_a_slot_on_a_bolts_slot() -> None:
    """In the seat's middle the bolt slot, 43.5 x 13.5, lies where the tab goes."""
    found: tuple[Fault, ...] = ()
    try:
        kit(frame(), seat(), under_seat(side="right", places=(Place(offset_mm=0.0),)))
    except BadInput as error:
        found = error.faults
    assert [(f.where, f.field) for f in found] == [("part prop", "tabs_to")] and "0.0 mm from slot-1" in found[0].limit


def test_two_gussets_tabs_in_one_place_are_refused_together() -> None:
    one, two = under_seat(side="right"), under_seat(side="right", id="other", places=(Place(offset_mm=58.0),))
    check_fault(lambda: kit(frame(), seat(), one, two), "part other", "tabs_to", "from prop 1 to tab 1")


def test_a_plate_that_stands_askew_gets_no_slot() -> None:
    """10 deg off square: named with the angle."""
    face = FlatFace(name="host", side=None, placement=HOME, outline=rectangle(0, 0, 100, 100), thickness_mm=4.0, onto="host", piece="host")
    turn = math.radians(10)
    leaning = Placement(origin=(50.0, 20.0, 0.0), u=(0.0, 1.0, 0.0), v=(math.sin(turn), 0.0, math.cos(turn)))
    square = replace(leaning, v=(0.0, 0.0, 1.0))
    edge, spans = ((0.0, 0.0), (60.0, 0.0)), ((20.0, 40.0),)
    found = tab_pockets("lean", leaning, 4.0, edge, spans, face, 0.25, "part lean", "tabs")
    assert isinstance(found, Fault) and "10.00 deg off square to host" in found.limit
    sound = tab_pockets("lean", square, 4.0, edge, spans, face, 0.25, "part lean", "tabs")
    assert not isinstance(sound, Fault)
    assert (sound[0].length_mm, sound[0].width_mm) == (20.5, 4.5)
    assert sound[0].centre == pytest.approx((50.0 + 2.0, 50.0, 0.0), abs=1e-12)  # half the plate's thickness along its normal, +x


def test_tabs_share_an_edge_evenly() -> None:
    """Two on 100 mm: middles at 25 and 75."""
    assert tab_spans(0.0, 100.0, 2, 20.0, 1.0) == ((15.0, 35.0), (65.0, 85.0))
    assert tab_spans(0.0, 50.0, 2, 20.0, 1.0) == pytest.approx(2.0)  # 2 x 26 needed


def test_tabbed_edge() -> None:
    """A plate 100 x 50, its lower edge with one tab 20 x 5, reliefs of 1.5: 5000 + 100 - pi 1.5^2."""
    shape = tabbed(rectangle(0, 0, 100, 50), 0, [(40.0, 60.0)], 5.0, 1.5)
    assert shape.area == pytest.approx(5000 + 100 - math.pi * 1.5**2, abs=1e-9)
    assert shape.box == pytest.approx((0.0, -5.0, 100.0, 50.0), abs=1e-12)
    assert shape.self_crossing() is None


def test_hole_names_are_the_tabs() -> None:
    made = kit(frame(), seat(), under_seat(side="right"))
    holes: list[Hole] = [h for p in made["seat-right"].part.panels for h in p.holes]
    assert [h.name for h in holes if h.kind == "rectangle"] == ["prop 1 to tab 1"]
    assert legs(made["prop-right"])[0].shape == (4, 3)
