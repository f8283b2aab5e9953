"""Weld joints of a rail plate: lines in space against the rail's own edges, what they join, and what is said of their legs."""

from __future__ import annotations

import math
from itertools import pairwise
from typing import Any

import numpy as np
import pytest

from parts.families.rail_plate import Around
from parts.piece import Piece, WeldJoint
from parts.shop import Shop
from parts.spec import Position
from tests.families.rail_plates import (
    DEG,
    SEAT_OFFSETS,
    box,
    build,
    codes,
    crossmember,
    off_seat,
    one,
    seat_course,
    steel_points,
    straight,
    swept,
    weld_samples,
)  # fmt: skip
from tests.families.test_rail_plate_seats import SEATED
from tests.parts.frame.makers import CHANNEL, at


def by_name(piece: Piece) -> dict[str, WeldJoint]:
    names = [w.name for w in piece.welds]
    assert len(names) == len(set(names))
    return {w.name: w for w in piece.welds}


# Where the root of each long seam lies, right rail, straight frame: (y, z of the lower one, z of the upper one), kind, onto, leg, gap.
ROOTS: dict[str, tuple[tuple[float, float, float], str, str, float, float]] = {
    "toes": ((370, 453, 597), "fillet", "rail right {} flange edge", 3, 0),
    "bevelled": ((370, 450, 600), "bevel", "rail right {} flange edge", 0, 0),
    "flush": ((370, 455, 595), "butt", "rail right {} flange edge", 0, 1),  # seen face, level with the toes
    "stepped": ((386, 455, 595), "fillet", "rail right {} flange inside", 3, 1),  # seen face, in the corner with the flange
    "outside": ((430, 461, 589), "fillet", "rail right web outside", 3, 0),
    "inside": ((426, 461, 589), "fillet", "rail right web inside", 3, 0),
}


@pytest.mark.parametrize("case", ROOTS)
def test_long_seams_by_hand(case: str) -> None:
    (y, low, high), kind, onto, leg, gap = ROOTS[case]
    welds = by_name(one(straight(), **SEATED[case][0]))
    assert set(welds) == {"lower edge", "upper edge"}, "square ends are not welded"
    for edge, z in (("lower", low), ("upper", high)):
        weld = welds[f"{edge} edge"]
        assert list(weld.points) == [pytest.approx((200, y, z)), pytest.approx((1200, y, z))]
        assert (weld.kind, weld.onto, weld.leg_mm, weld.gap_mm) == (kind, onto.format(edge), leg, gap)
        assert weld.thickness_mm == (3, 4)


@pytest.mark.parametrize("side", ["left", "right"])
@pytest.mark.parametrize("case", ROOTS)
def test_long_seams_run_along_the_swept_rails_own_edges(case: str, side: str) -> None:
    """Sampled: on the plate's steel, at the seat's distance off the web and at the flange's height less the seat's inset."""
    on, parameters = swept(), SEATED[case][0]
    piece = one(on, **parameters, side=side, start=Position(x_mm=900), end=at("rear", -150))
    rail = on.rail(side)  # type: ignore[arg-type]
    (_, z_low, z_high), *_ = ROOTS[case]
    inset = z_low - 450
    assert inset == 600 - z_high
    offset_of, away = SEAT_OFFSETS[parameters["seat"]]
    on_seen_face = parameters["seat"] in ("flush", "stepped")
    offset = offset_of(CHANNEL, 3.0, 16.0) + (3 if on_seen_face else 0)
    course = seat_course(rail, offset)
    for edge, z_of in (("lower", rail.profile.lower_z), ("upper", rail.profile.upper_z)):
        line = by_name(piece)[f"{edge} edge"].points
        for point in weld_samples(line):
            assert -0.1 <= off_seat(rail, course, away, point) <= 1.6
            s, z, _ = rail.szo(point)
            slack = 0.15 if not on_seen_face else 0.6  # a thickness off the web, along a turn, the slope is a little further on
            assert z == pytest.approx(z_of(s, inset), abs=slack), (edge, point)
        assert line[0][0] < line[-1][0], "front to rear"
        steel = np.array(list(steel_points(piece, 3.0 if on_seen_face else 0.0, edges_only=True)))
        for point in weld_samples(line):
            assert np.min(np.linalg.norm(steel - np.array(point), axis=1)) < 2.5, "a seam where there is no plate"


def test_a_notch_breaks_the_seam_and_its_filler_closes_it() -> None:
    """Notch of x 769 to 831 open to the lower edge; the filler x 770 to 830. Its upright sides to the plate, its top to the crossmember."""
    on = straight(crossmembers=(crossmember("cm", 800),))
    plate, filler = build(on, around=(Around(crossmember="cm", way="notch", opens="lower"),))
    welds = by_name(plate)
    assert set(welds) == {"lower edge 1", "lower edge 2", "upper edge"}
    spans = [(w.points[0][0], w.points[-1][0]) for n, w in welds.items() if n.startswith("lower")]
    assert spans == [pytest.approx((200, 769)), pytest.approx((831, 1200))]
    closing = by_name(filler)
    assert {n: (w.kind, w.onto) for n, w in closing.items()} == {
        "lower edge": ("fillet", "rail right lower flange edge"),
        "front side": ("butt", "plate-right"),
        "rear side": ("butt", "plate-right"),
        "inner edge": ("fillet", "cm"),
    }
    assert list(closing["lower edge"].points) == [pytest.approx((770, 370, 453)), pytest.approx((830, 370, 453))]
    assert list(closing["front side"].points) == [pytest.approx((770, 367, 453)), pytest.approx((770, 367, 479))]
    assert list(closing["inner edge"].points) == [pytest.approx((770, 367, 479)), pytest.approx((830, 367, 479))]
    assert all(closing[n].gap_mm == 1 for n in ("front side", "rear side", "inner edge"))


@pytest.mark.parametrize("more", [{"removable": True}, {"joint": "bolted"}])
def test_a_filler_is_not_welded_to_a_crossmember_that_comes_out(more: dict[str, Any]) -> None:
    on = straight(crossmembers=(crossmember("cm", 800, **more),))
    _, filler = build(on, around=(Around(crossmember="cm", way="notch", opens="lower"),))
    assert "inner edge" not in by_name(filler)


@pytest.mark.parametrize(("seat", "seams"), [("toes", {"lower edge"}), ("flush", {"lower edge"}), ("inside", {"lower edge", "upper edge"})])
def test_a_free_edge_is_no_seam(seat: str, seams: set[str]) -> None:
    """60 mm high off the web the upper edge lies on nothing; on the web both edges do."""
    assert set(by_name(one(straight(), seat=seat, height_mm=60))) == seams
    hung = {"lower edge": "upper edge"}
    assert set(by_name(one(straight(), seat=seat, height_mm=60, hang="upper"))) == (seams if len(seams) > 1 else {hung[n] for n in seams})


def test_slanted_ends_are_welded_on_the_web_and_only_there() -> None:
    """128 mm high on the web's inside: at 45 deg from (200, 461) to (328, 589); the mouth of the rear end from tip to tip in 64 mm."""
    piece = one(straight(), seat="inside", front_end="angled", rear_end="fish-mouth", mouth_radius_mm=0)
    welds = by_name(piece)
    assert set(welds) == {"lower edge", "upper edge", "front end", "rear end"}
    assert sorted(welds["front end"].points) == [pytest.approx((200, 426, 461)), pytest.approx((328, 426, 589))]
    ends = sorted(welds["rear end"].points, key=lambda p: p[2])
    assert ends == [pytest.approx((1200, 426, 461)), pytest.approx((1136, 426, 525)), pytest.approx((1200, 426, 589))]
    assert "square-end" not in codes(piece)
    for seat in ("toes", "flush", "stepped"):
        assert set(by_name(one(straight(), seat=seat, front_end="angled"))) == {"lower edge", "upper edge"}


def test_a_mouths_round_bottom_is_in_the_seam() -> None:
    piece = one(straight(), seat="inside", front_end="fish-mouth", mouth_radius_mm=10)
    line = by_name(piece)["front end"].points
    deepest = max(p[0] for p in line)
    assert deepest == pytest.approx(200 + 64 - 10 * (math.sqrt(2) - 1), abs=0.05)  # chords
    assert max(math.dist(a, b) for a, b in pairwise(sorted(line, key=lambda p: p[2]))) < 64 * math.sqrt(2)


def test_square_ends_on_the_web_are_told() -> None:
    found = [f for f in one(straight(), seat="inside").findings if f.code == "square-end"]
    assert len(found) == 2 and {f.level for f in found} == {"note"}
    assert "square-end" not in codes(one(straight(), seat="toes"))


@pytest.mark.parametrize(("attach", "kinds"), [("bolt", []), ("plug", ["plug"])])
def test_bolted_and_plugged_plates_have_no_edge_welds(attach: str, kinds: list[str]) -> None:
    assert sorted({w.kind for w in one(straight(), seat="outside", attach=attach).welds}) == kinds


def test_a_wide_gap_is_added_to_the_leg() -> None:
    """14 deg at radius 400, toes 340, one chord: 340 (1 - cos 7 deg) = 2.534 mm, allowed by a weld gap of 3. AWS D1.1: over 1.6 mm the gap
    is added to the leg."""
    on = swept(turn_deg=14)
    piece = one(on, Shop(weld_gap_mm=3), start=Position(x_mm=900), end=at("rear", -150))
    gap = 340 * (1 - math.cos(7 * DEG))
    assert [w.leg_mm for w in piece.welds] == pytest.approx([3 + gap] * 2)
    assert [w.gap_mm for w in piece.welds] == pytest.approx([gap] * 2)
    assert "fillet-gap" in codes(piece)
    assert "fillet-gap" not in codes(one(on, start=Position(x_mm=900), end=at("rear", -150)))


@pytest.mark.parametrize("seat", ["flush", "stepped"])
def test_round_a_turn_a_plate_between_the_flanges_bridges_what_its_seat_asks(seat: str) -> None:
    """14 deg at radius 400. A flush plate of 3 on toes of 60 lies 57 off the web: its chord stands 343 (1 - cos 7 deg) = 2.557 mm proud of
    them, while the root gap of 1 mm is square to that: its butt bridges sqrt(1 + 2.557²) = 2.745 mm. Stepped by 16 it slides along the
    flanges' inner faces: 1 mm everywhere, and nothing is added to the leg of 3.

    Both sampled besides: how far the seam lies off the toe's edge, or off the flange, by the rail's own (s, z, offset). Tolerance: 0.1 mm
    for what curves are refitted by and a stub beside a kick, and the kick's rise of 18 deg over what the seen face, 3 mm off the back, lies
    further along the rail where the chord ends 7 deg off it."""
    on, shop = swept(turn_deg=14), Shop(weld_gap_mm=3)
    piece = one(on, shop, seat=seat, start=Position(x_mm=900), end=at("rear", -150))
    proud = 343 * (1 - math.cos(7 * DEG))
    gap = math.hypot(1.0, proud) if seat == "flush" else 1.0
    assert [w.gap_mm for w in piece.welds] == pytest.approx([gap] * 2, abs=1e-6)
    assert [w.leg_mm for w in piece.welds] == [0.0 if seat == "flush" else 3.0] * 2 and "fillet-gap" not in codes(piece)
    rail = on.rail("right")
    for weld in piece.welds:
        flange = rail.profile.lower_z if weld.name == "lower edge" else rail.profile.upper_z
        found = []
        for point in weld_samples(weld.points):
            s, z, offset = rail.szo(point)
            slope = (flange(s + 0.5, 4.0) - flange(s - 0.5, 4.0)) / 1.0
            square = abs(flange(s, 4.0) - z) / math.hypot(1.0, slope)
            found.append(math.hypot(square, max(offset - 60.0, 0.0)))
        assert max(found) == pytest.approx(gap, abs=0.1 + 3 * math.tan(7 * DEG) * math.tan(18 * DEG))
    told = [n for n in piece.notes if "proud of the flange edges" in n]
    assert ["up to 2.6 mm" in n and "bridge 2.7 mm" in n for n in told] == ([True] if seat == "flush" else [])
    straight_on = one(straight(), seat=seat)
    assert {w.gap_mm for w in straight_on.welds} == {1.0} and not [n for n in straight_on.notes if "proud of the flange" in n]


def test_a_wide_root_gap_is_added_to_a_stepped_plates_leg_and_not_to_a_butt() -> None:
    """Root gap 2 mm: 3 + 2. Flush plates are butt-welded over it. The filler's seams likewise, 3 + 2 to plate's rail and crossmember."""
    shop = Shop(root_gap_mm=2)
    piece = one(straight(), shop, seat="stepped")
    assert {(w.leg_mm, w.gap_mm) for w in piece.welds} == {(5.0, 2.0)} and "fillet-gap" in codes(piece)
    piece = one(straight(), shop, seat="flush")
    assert {(w.kind, w.leg_mm, w.gap_mm) for w in piece.welds} == {("butt", 0.0, 2.0)} and "fillet-gap" not in codes(piece)
    on = straight(crossmembers=(crossmember("cm", 800),))
    _, filler = build(on, shop, seat="stepped", around=(Around(crossmember="cm", way="notch", opens="lower"),))
    closing = by_name(filler)
    assert closing["lower edge"].leg_mm == 5 and closing["inner edge"].leg_mm == 5


# Legs: AWS D1.1:2025 table 7.7 (3 mm up to 6, 5 mm up to 13), 5 mm for load that comes and goes, never above the thinner part, along an
# edge at most t under 6 mm, else t - 2. Rail 4 mm.
@pytest.mark.parametrize(
    ("seat", "thickness", "leg", "conflict"),
    [
        ("inside", 3, 3, True),  # 5 cannot be kept on 3
        ("inside", 4, 4, True),
        ("inside", 6, 4, True),  # the rail is the thinner
        ("toes", 4, 3, True),  # 4 would take the whole flange edge
        ("stepped", 6, 4, True),
    ],
)
def test_leg_by_the_tables_and_its_conflicts(seat: str, thickness: float, leg: float, conflict: bool) -> None:
    piece = one(straight(), seat=seat, thickness_mm=thickness)
    assert {w.leg_mm for w in piece.welds} == {leg}
    assert ("fillet-leg-conflict" in codes(piece)) == conflict
    assert any(n.startswith(f"fillet leg {leg:g} mm") for n in piece.notes)


@pytest.mark.parametrize(("leg", "thickness", "code"), [(1.0, 3, "fillet-leg-small"), (3.4, 3, "fillet-leg-large"), (3.0, 3, None)])
def test_a_leg_of_ones_own_is_held_against_the_tables(leg: float, thickness: float, code: str | None) -> None:
    piece = one(straight(), seat="toes", thickness_mm=thickness, leg_mm=leg)
    assert [c for c in codes(piece) if c.startswith("fillet-leg")] == ([code] if code else [])
    assert box(piece)[0][2] == pytest.approx(450 + leg), "set in by it"


def test_a_step_smaller_than_its_fillet_is_told() -> None:
    assert "step-under-leg" in codes(one(straight(), seat="stepped", step_mm=2))
    assert "step-under-leg" not in codes(one(straight(), seat="stepped", step_mm=3))
