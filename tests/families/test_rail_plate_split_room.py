"""Joints that keep clear of each other, what is said where none can be placed, and how long the pieces are.

Straight frame as in test_rail_plate_splits.py: a stepped plate is 140 mm high, z 455 to 595. A joint at 30 or 150 deg reaches
70 / tan 30 deg = 121.24 mm to either side of its middle. Tolerances: 1e-6 mm for what is exact by construction.
"""

from __future__ import annotations

import math
import re
import tomllib
from itertools import combinations
from typing import Any

import pytest
from shapely.geometry import Polygon

from parts.bending import Din6935
from parts.blank import held_by
from parts.families.rail_plate import Around, RailPlate
from parts.families.rail_plate_parts import Split
from parts.features.around import runs
from parts.features.draft import Draft
from parts.features.lay import lay
from parts.features.plate import setting_of
from parts.features.split_line import SplitLine, between, parted
from parts.features.split_room import Grounds
from parts.features.split_up import Search
from parts.flat import unfold
from parts.frame import Frame
from parts.piece import Piece
from parts.shop import Sheet, Shop
from parts.spec import Position
from parts.units import length_mm
from tests.families.rail_plates import KICK, build, codes, crossmember, near, straight, swept
from tests.families.test_rail_plate_splits import LONG, SHOP, areas, back_edges, long_plate, places, plates
from tests.parts.frame.makers import faults_of

REACH = 70 / math.tan(math.radians(30))


def outline(piece: Piece) -> Polygon:
    """Of a flat piece, as it lies in the vehicle, seen from the side."""
    return Polygon([(a[0], a[2]) for a, _ in back_edges(piece)])


def test_one_that_is_looked_for_keeps_clear_of_a_given_one_that_leans_the_other_way() -> None:
    """Given at x 500, 150 deg: its upper end is at 500 + 121.2 = 621.2. One at x, 30 deg, has its upper end at x - 121.2. Tip to tip 25 mm
    and half of either gap: x >= 500 + 242.5 + 25 + 1 = 768.5, of the places 5 mm apart 770. A crossmember behind the plate makes the bay's
    quarter 0.2113 x 3270 = 691: what is nearest to that is taken. Each gap takes 140 / sin 30 deg x 1 mm2 of the plate."""
    on = straight(crossmembers=(crossmember("cm", 3300),))
    shop = Shop(sheets=(Sheet(length_mm=1650, width_mm=300),))
    pieces = long_plate(on, shop, split_angle_deg=30, splits=(Split(at=Position(x_mm=500), angle_deg=150),))
    assert places(pieces) == near([500.0, 770.0])
    assert areas(list(pieces)) + 2 * 280 == near(2000 * 140)
    assert all(one.area > 0 and not one.intersects(two) for one, two in combinations([outline(p) for p in pieces], 2))


def test_those_that_are_looked_for_keep_clear_of_each_other() -> None:
    """1000 mm from x 600, sheets of 569: two pieces hold 2 x 569 - 140 and a little, not quite all. The front one ends at x + 70 - 0.7 <=
    1169: up to 1095; the rear one begins at x - 70 + 0.7 >= 1031: from 1105 on. A crossmember that ends at x 430 makes the quarter of
    the bay to 3600 430 + 0.2113 x 3170 = 1100, to which both would go. 25 mm and the gap of 1, by sqrt 2: 36.8 mm along the rail."""
    on, shop = straight(crossmembers=(crossmember("cm", 400),)), Shop(sheets=(Sheet(length_mm=569, width_mm=300),))
    assert places(long_plate(on, shop, start=Position(x_mm=600), end=Position(x_mm=1600))) == near([1095.0, 1135.0])


EDGE_CASES = [
    (150.0, 1.0, 745.0, True), (150.0, 1.0, 744.9, False), (150.0, 5.0, 740.0, True), (150.0, 5.0, 739.0, False),
    (90.0, 5.0, 623.0, True), (90.0, 5.0, 621.0, False),
]  # fmt: skip


@pytest.mark.parametrize(("first", "gap", "second", "made"), EDGE_CASES)
def test_what_is_left_of_an_edge_between_two_given_ones(first: float, gap: float, second: float, made: bool) -> None:
    """One at 500, one of 30 deg behind it. Half a gap takes gap / 2 / sin a of an edge that it meets at angle a: the whole gap at 30 and
    150 deg. The plate is 142 mm less two gaps high, so that with 1 mm 745 - 500 - 2 x 121.24 - 2 = 0.51 are left, with 5 mm at
    740: 240 - 2 x 114.32 - 10 = 1.37, and of one of 90 deg at 621: 121 - 114.32 - 2.5 - 5 = -0.82. 0.5 is the least."""
    given = (Split(at=Position(x_mm=500), angle_deg=first), Split(at=Position(x_mm=second), angle_deg=30))
    reach = (142 - 2 * gap) / 2 / math.tan(math.radians(30))
    left = second - 500 - (reach if first == 90 else 2 * reach) - gap - gap / 2 / math.sin(math.radians(first))
    assert (left >= 0.5) == made
    if not made:
        (fault,) = faults_of(lambda: build(straight(), Shop(root_gap_mm=gap), **LONG, splits=given))
        assert fault.field == "split.at" and f"leave {max(left, 0):.1f} mm" in fault.limit
        return
    pieces = build(straight(), Shop(root_gap_mm=gap), **LONG, splits=given)
    (edge,) = [(a, b) for a, b in back_edges(pieces[1]) if min(a[2], b[2]) > 596 - gap - 1e-6]
    assert abs(edge[0][0] - edge[1][0]) == near(left)
    (finding,) = [f for f in pieces[0].findings if f.code == "split-near"]
    assert finding.level == "warn" and "close to the one at" in finding.message


def grounds(on: Frame, **fields: Any) -> Grounds:
    values: dict[str, Any] = {"id": "plate", "side": "right", "thickness_mm": 3, "front_end": "square", "rear_end": "square"}
    setting = setting_of(RailPlate(**(values | LONG | fields)), on, Shop(), "right")
    face = setting.face
    chain = next(iter(face.chains(1.6)))
    draft = lay(setting, chain, next(iter(runs(setting, [], face.s0_mm, face.s1_mm))))
    return Grounds(draft=draft)


def test_two_that_cross_leave_no_piece_that_fits_and_part_no_plate() -> None:
    """At 700 leaning back at its top, at 720 leaning forward: they cross, and the wedge below them is no piece."""
    ground = grounds(straight())
    one, two = ground.line(700.0, 135.0), ground.line(720.0, 45.0)
    assert isinstance(one, SplitLine) and isinstance(two, SplitLine)
    assert one.off_mm(two) < 0 and one.left_mm(two) < 0
    search = Search(grounds=ground, sheets=SHOP.sheets, front=None, rear=None)
    assert not search.fits(one, two)
    for wrong in (lambda: between(ground.draft, one, two), lambda: parted(ground.draft, (), (one, two))):
        with pytest.raises(ValueError, match="two joints meet"):
            wrong()
    assert isinstance(ground.draft, Draft)


# --- where there is no place ---


def crowded() -> tuple[Frame, dict[str, Any], Shop]:
    """Windows for crossmembers 190 mm apart: a joint of 45 deg passes between two, but crossmembers are 130 mm apart and it takes 141."""
    names = [f"cm{k}" for k in range(10)]
    members = tuple(crossmember(name, 260 + 190 * k, removable=True) for k, name in enumerate(names))
    around_them = tuple(Around(crossmember=name, way="window", out_first=True) for name in names)
    return straight(crossmembers=members), {"around": around_them}, Shop(sheets=(Sheet(length_mm=1500, width_mm=300),))


def given_in(remedy: str) -> tuple[Split, ...]:
    """The joints that a remedy writes out, read as the job file would be."""
    text = re.search(r"split = \[.*?\]", remedy)
    assert text is not None, remedy
    entries = tomllib.loads(text.group())["split"]
    return tuple(Split(at=Position(at=e["at"]["at"], offset_mm=float(length_mm(e["at"]["offset"], "in")))) for e in entries)


@pytest.mark.parametrize("side", ["right", "both"])
def test_the_remedy_gives_places_that_part_it(side: Any) -> None:
    """Followed word for word, also in an inch job, the plate is made of pieces that a sheet holds; so is it on a sheet as large as told."""
    on, fields, shop = crowded()
    pieces = long_plate(on, shop, **fields, side=side)
    found = [f for p in pieces for f in p.findings if f.code == "split-no-place"]
    assert len(found) == (1 if side == "right" else 2)
    for finding in found:
        own = finding.where.split()[1]
        assert f"front +200 mm to mid +400 mm on rail {own}" in finding.message
        assert (f'side = "{own}"' in finding.remedy) == (side == "both")
        again = long_plate(on, shop, **fields, side=own, splits=given_in(finding.remedy))
        assert len(plates(again)) > 1 and "split-no-place" not in [c for p in again for c in codes(p)]
        assert all(held_by(unfold(p.part, Din6935()).contour, shop.sheets) for p in plates(again))
        size = re.search(r"a sheet of at least (\d+) x (\d+) mm", finding.remedy)
        assert size is not None
        larger = Shop(sheets=(Sheet(length_mm=float(size.group(1)), width_mm=float(size.group(2))),))
        assert "split-no-place" not in [c for p in long_plate(on, larger, **fields, side=own) for c in codes(p)]


def test_it_says_where_joints_would_do_and_what_is_in_the_way() -> None:
    """Windows 100 mm apart leave no room for any joint of 45 deg, which takes 140 mm and its gap."""
    names = [f"cm{k}" for k in range(19)]
    on = straight(crossmembers=tuple(crossmember(name, 260 + 100 * k, removable=True) for k, name in enumerate(names)))
    ways = tuple(Around(crossmember=name, way="window", out_first=True) for name in names)
    (one,) = long_plate(on, Shop(sheets=(Sheet(length_mm=1500, width_mm=300),)), around=ways)
    (finding,) = [f for f in one.findings if f.code == "split-no-place"]
    assert finding.remedy.startswith("list a sheet of at least 2000 x 140 mm, 3 mm")
    assert re.search(r"; joints at front \+\d+ mm would do, but that at front \+\d+ mm", finding.remedy)
    assert re.search(r"runs into window-cm\d+$", finding.remedy)


def test_a_plate_higher_than_every_sheet_is_not_told_to_be_parted() -> None:
    (one,) = long_plate(straight(), Shop(sheets=(Sheet(length_mm=2000, width_mm=100),)))
    (finding,) = [f for f in one.findings if f.code == "split-no-place"]
    assert finding.remedy.startswith("list a sheet of at least 2000 x 140 mm, 3 mm") and "wherever a joint lies" in finding.remedy


# --- how long the pieces are ---


def told_lengths(pieces: tuple[Piece, ...]) -> list[float]:
    return [float(n.split(" mm long over all")[0]) for p in plates(pieces) for n in p.notes if "mm long over all, along the rail" in n]


def test_how_long_a_piece_is() -> None:
    """Straight, joint at 45 deg at x 900: the front piece ends at 970 less 0.5 x sqrt 2, the rear one begins at 830 and as much more."""
    assert told_lengths(build(straight(), **LONG, splits=(Split(at=Position(x_mm=900)),))) == near([769.3, 869.3], 0.05)


@pytest.mark.parametrize("angle", [45.0, 90.0, 135.0])
def test_how_long_a_piece_is_on_a_slope(angle: float) -> None:
    """All of the plate past the kick, on a slope of 18 deg: a tape along that measures what the corners' way along the slope spans, which
    for a piece on one straight is that of x cos 18 deg + z sin 18 deg."""
    on = swept(turn_deg=0.0)
    at, end = Position(at="bend", offset_mm=500), Position(x_mm=2400)
    pieces = build(on, seat="stepped", start=Position(x_mm=1700), end=end, splits=(Split(at=at, angle_deg=angle),))
    spans = []
    for piece in plates(pieces):
        along = [x * math.cos(KICK) + z * math.sin(KICK) for x, _, z in (p for e in back_edges(piece) for p in e)]
        spans.append(max(along) - min(along))
    assert told_lengths(pieces) == near(spans, 0.06)
