"""Rows of bolts and plug welds: places by hand, what a tape reads, the spacing rules, and everything that they dodge."""

from __future__ import annotations

import math
from dataclasses import replace
from itertools import combinations
from typing import Any

import numpy as np
import pytest

from parts.errors import BadInput
from parts.features.bolts import ruled
from parts.frame import Frame
from parts.frame.features import Bracket, Condition, KeepVisible
from parts.frame.frame import Steel
from parts.hole_rules import RailHole
from parts.piece import Piece
from parts.spec import Position
from tests.families.rail_plates import (
    KICK,
    KICK_RADIUS,
    RADIUS,
    TURN,
    axes,
    build,
    codes,
    crossmember,
    hole,
    near,
    one,
    straight,
    swept,
)  # fmt: skip
from tests.parts.frame.makers import at, demo_frame, drawn, frame, kicked, station

TANGENT = RADIUS * math.tan(TURN / 2)
S_BEND = 1500 - TANGENT + RADIUS * TURN / 2  # station "bend" on the web: the middle of its plan arc
SLOPE_RUN = (1000 / math.cos(TURN) - TANGENT + RADIUS * TURN / 2) / math.cos(KICK)  # upper corner, from where its lines meet to the rear


INNER = Bracket(name="b", at=at("front", 820), up_mm=101.5, length_mm=30, height_mm=30, out_mm=20, inner_face=True)

# --- bolted plates ---


def bolted(on: Frame, **parameters: Any) -> tuple[Piece, ...]:
    return build(on, **({"seat": "outside", "attach": "bolt", "bolt": "M12"} | parameters))


def test_bolt_pattern_by_hand() -> None:
    """M12: 13 mm drilled in the rail (ISO 273 fine), 13.5 in the plate (medium). Rows: hole edge 38 mm off the flanges' inner faces:
    up 4 + 38 + 6.5 = 48.5 and 150 - 48.5 = 101.5, staggered. Plate 1000 long, ends kept by 6.75 + 2 x 3: 9 at 120, from 200 + 20."""
    (piece,) = bolted(straight())
    drilled = [(d.datum, d.along_mm, d.up_mm, d.diameter_mm) for d in piece.drilling]
    assert drilled == [("front", near(220 + 120 * k), near(48.5 if k % 2 == 0 else 101.5), 13.0) for k in range(9)]
    for k, bolt in enumerate(piece.bolts):
        z = 450 + (48.5 if k % 2 == 0 else 101.5)
        assert bolt.head == pytest.approx((220 + 120 * k, 433, z)) and bolt.nut == pytest.approx((220 + 120 * k, 426, z))
        point, _, axis = axes(piece)[bolt.name]
        assert (point[0], point[2]) == pytest.approx((220 + 120 * k, z)) and axis.diameter_mm == 13.5
    assert [i for i in codes(piece) if i.startswith("hole")] == []
    assert not piece.welds


@pytest.mark.parametrize(("pitch", "count"), [(40, 25), (300, 4), (1000, 1)])
def test_bolt_pitch(pitch: float, count: int) -> None:
    """(1000 - 2 x 12.75) // pitch + 1; 40 mm staggered over 53 mm leaves 66 - 13 = 53 mm between neighbours' edges, 80 - 13 in a row."""
    if count == 1:
        with pytest.raises(BadInput, match="2 are the least"):
            bolted(straight(), bolt_pitch_mm=pitch)
        return
    (piece,) = bolted(straight(), bolt_pitch_mm=pitch)
    assert len(piece.bolts) == count
    alongs = sorted(d.along_mm for d in piece.drilling)
    assert np.diff(alongs) == pytest.approx([pitch] * (count - 1))


@pytest.mark.parametrize(("size", "drill", "plate"), [("M10", 11.0, 11.0), ("M16", 17.0, 17.5), ("1/2 in", 13.49375, 14.2875)])
def test_bolt_sizes(size: str, drill: float, plate: float) -> None:
    """Rail: ISO 273 medium where that is up to bolt + 1 (M10: 11), else fine (M16: 17); B18.2.8 close for 1/2 in, 17/32. Plate: medium."""
    (piece,) = bolted(straight(), bolt=size)
    assert {d.diameter_mm for d in piece.drilling} == {drill}
    assert {a[2].diameter_mm for a in axes(piece).values()} == {plate}


def tape_to_sz(before_rear: float, up: float) -> tuple[float, float]:
    """The swept frame's straight slope: `before_rear` along the upper corner's line from its rear end, then square down to `up`."""
    s_rear, z_rear = S_BEND + SLOPE_RUN * math.cos(KICK), 600 + SLOPE_RUN * math.sin(KICK)
    drop = 100 + 50 * before_rear / SLOPE_RUN - up
    s = s_rear - before_rear * math.cos(KICK) + drop * math.sin(KICK)
    return s, z_rear - before_rear * math.sin(KICK) - drop * math.cos(KICK)


@pytest.mark.parametrize("side", ["left", "right"])
def test_drilled_places_are_what_a_tape_reads_on_the_slope(side: str) -> None:
    """Tape from station "bend" along the upper corner's arc and slope, then square up from the lower face. The kick's arc of radius 300
    takes 300 x 18 deg where its tangents take 2 x 300 tan 9 deg; "bend" is where the web's plan arc is half way, s 1499.954, the corner of
    the profile's lines, above which the arc is at asin(tan 9 deg) of its turn."""
    sign = 1 if side == "right" else -1
    half = KICK_RADIUS * math.tan(KICK / 2)
    to_bend = KICK_RADIUS * math.asin(half / KICK_RADIUS)
    rear_tape = KICK_RADIUS * KICK - to_bend + SLOPE_RUN - half  # from "bend" to the rear end
    (piece,) = bolted(swept(), side=side, start=at("rear", -800), end=at("rear", -150), bolt_pitch_mm=90)
    s_rear = S_BEND + SLOPE_RUN * math.cos(KICK)
    assert len(piece.drilling) >= 5
    for d in piece.drilling:
        assert d.datum == "bend" and d.rail == f"rail {side}"
        s, z = tape_to_sz(rear_tape - d.along_mm, d.up_mm)
        y = 430 - 1000 * math.tan(TURN) + (s_rear - s) * math.sin(TURN)
        web = (2500 - (s_rear - s) * math.cos(TURN), sign * y, z)
        assert d.point == pytest.approx(web, abs=1e-6), "outside: the plate's back is the web's outside"
        bolt = next(b for b in piece.bolts if b.name == d.name)
        along = np.subtract(bolt.nut, bolt.head)
        assert along / np.linalg.norm(along) == pytest.approx((-math.sin(TURN), -sign * math.cos(TURN), 0), abs=1e-9)
        assert bolt.grip_mm == pytest.approx(float(np.linalg.norm(along))) == pytest.approx(7)


def test_bolts_keep_the_rules_on_the_slope() -> None:
    """25 mm between hole edges and 38 mm to the flanges' inner faces, square to them, wherever no finding says otherwise; every place where
    the web is too shallow is told once for each flange. Web 4 + 38 + 6.5 at both flanges and one diameter between: 110 mm deep."""
    (piece,) = bolted(swept(), start=at("rear", -800), end=at("rear", -150), bolt_pitch_mm=60)
    for one_hole, other in combinations(piece.drilling, 2):
        assert math.dist(one_hole.point, other.point) - 13 >= 25 - 1e-6
    told = {(f.where.split(", ")[-1], f.code) for f in piece.findings if f.code.startswith("hole-near")}
    for d in piece.drilling:
        depth = (
            100
            + 50
            * (KICK_RADIUS * KICK - KICK_RADIUS * math.asin(math.tan(KICK / 2)) + SLOPE_RUN - KICK_RADIUS * math.tan(KICK / 2) - d.along_mm)
            / SLOPE_RUN
        )
        for flange, gap in (("lower", d.up_mm - 6.5 - 4), ("upper", depth - 4 - d.up_mm - 6.5)):
            assert ((d.name, f"hole-near-{flange}-flange") in told) == (gap < 38 - 1e-6), (d, depth)
    assert len(told) == sum(1 for f in piece.findings if f.code.startswith("hole-near"))


def test_holes_too_near_each_other_are_dropped_and_findings_told_once() -> None:
    """40 mm pitch in one row on a web 80 mm deep: holes of 17 mm (M16) leave 23 mm, under 1.5 x 17 = 25.5 (maker's guide over 16 mm): every
    second one is dropped, so no pair is told; and whatever else is told is told once."""
    on = frame(drawn(station("front", 0, depth=80), station("rear", 3600, depth=80)))
    (piece,) = bolted(on, bolt="M16", bolt_pitch_mm=40)
    assert not [c for c in codes(piece) if c == "holes-close"]
    alongs = sorted(d.along_mm for d in piece.drilling)
    assert min(np.diff(alongs)) == pytest.approx(80)
    assert any("dropped" in n for n in piece.notes)
    told = [(f.where, f.message) for f in piece.findings]
    assert len(told) == len(set(told))


@pytest.mark.parametrize(
    ("more", "lost"),
    [
        ({"holes": (hole("old", at("front", 340), 101.5, 20),)}, {340}),
        ({"holes": (hole("old", at("front", 460), 48.5, 20, filled="rivet"),)}, {460}),  # and its head's clearance hole
        ({"crossmembers": (crossmember("cm", 700, drop=25),)}, {700}),  # on the far side: no nut can be put on
        ({"keep_visible": (KeepVisible(name="n", what="number", at=at("front", 580), up_mm=101.5, length_mm=60, height_mm=12),)}, {580}),
        ({"brackets": (INNER,)}, {820}),
        ({"conditions": (Condition(name="c", kind="crack", at=at("front", 940), up_mm=48.5, length_mm=20),)}, {940}),
    ],
)  # fmt: skip
def test_bolts_dodge_everything_else(more: dict[str, Any], lost: set[float]) -> None:
    (piece,) = bolted(straight(**more))
    usual = {220.0 + 120 * k for k in range(9)}
    kept = {round(d.along_mm, 6) for d in piece.drilling}
    assert usual - kept == lost and kept < usual
    assert any("1 dropped" in n for n in piece.notes)


# --- plug welds ---


def plugged(on: Frame, **parameters: Any) -> Piece:
    return one(on, **({"seat": "outside", "attach": "plug"} | parameters))


def test_plug_rows_by_hand() -> None:
    """3 mm: hole 3 + 8 = 11 mm (AWS D1.1 4.5.5). Rows at a quarter and three quarters of 11 to 139 up: 43 and 107. 120 pitch, ends kept by
    5.5 + 6: (1000 - 23) // 120 + 1 = 9, from 220."""
    piece = plugged(straight())
    found = sorted((round(p[0], 6), round(p[2], 6)) for p, _, _ in axes(piece).values())
    assert found == sorted((220.0 + 120 * k, 450.0 + up) for k in range(9) for up in (43, 107))
    assert {a[2].diameter_mm for a in axes(piece).values()} == {11}
    assert [w.kind for w in piece.welds] == ["plug"] * 18
    for weld in piece.welds:
        (point,) = weld.points
        assert point == pytest.approx(axes(piece)[weld.name][0])
        assert weld.onto == "rail right web outside" and weld.thickness_mm == (3, 4)


@pytest.mark.parametrize(
    ("parameters", "count"), [({"plug_rows": 1}, 9), ({"plug_rows": 3}, 21), ({"plug_pitch_mm": 200}, 10), ({"plug_diameter_mm": 14}, 18)]
)
def test_plug_options(parameters: dict[str, Any], count: int) -> None:
    """Three rows on 128 mm stand 42.7 apart, under 4 x 11 = 44: two are laid. One row: 9. 14 mm: 2.25 x 3 and 11 + 3 allow up to 14."""
    piece = plugged(straight(), **parameters)
    if parameters.get("plug_rows") == 3:
        count = 18
        assert any("3 rows asked for" in n for n in piece.notes)
    assert len(piece.welds) == count
    assert not [c for c in codes(piece) if c.startswith("plug")]


@pytest.mark.parametrize("on", [swept(), frame(kicked(-18))])
def test_plugs_stand_at_least_four_diameters_apart_everywhere(on: Frame) -> None:
    """Also where the rail kicks down: the upper corner's radius is 300, the lower one's 150, so the lower row draws together. A pitch under
    44 mm is asked."""
    piece = plugged(on, start=Position(x_mm=1250), end=at("rear", -500), plug_pitch_mm=20)
    points = [p for p, _, _ in axes(piece).values()]
    assert min(float(np.linalg.norm(a - b)) for a, b in combinations(points, 2)) >= 43.9  # across a bend a chord is shorter than the web
    assert any("4 diameters are the least" in n for n in piece.notes)
    assert "plug-pitch" not in codes(piece)


@pytest.mark.parametrize(
    ("more", "at_x", "up"),
    [
        ({"holes": (hole("open", at("front", 340), 43, 20),)}, 340, 43),
        ({"holes": (hole("open", at("front", 352), 43, 16),)}, 340, 43),  # 12 off: 8 + 5.5 + 6 asked
        ({"holes": (hole("rivet", at("front", 460), 107, 10, filled="rivet"),)}, 460, 107),
        ({"keep_visible": (KeepVisible(name="n", what="number", at=at("front", 580), up_mm=107, length_mm=60, height_mm=12),)}, 580, 107),
        ({"conditions": (Condition(name="c", kind="rust-through", at=at("front", 700), up_mm=43, length_mm=20),)}, 700, 43),
    ],
)  # fmt: skip
def test_plugs_dodge_everything_else_and_say_what_they_dropped(more: dict[str, Any], at_x: float, up: float) -> None:
    on = straight(**more)
    seat = "inside" if "keep_visible" in more else "outside"  # from inside too: the heat marks the number
    piece = plugged(on, seat=seat)
    found = [p for n, (p, _, _) in axes(piece).items() if n.startswith("plug")]
    assert len(found) == 17
    assert not any(abs(p[0] - at_x) < 1 and abs(p[2] - 450 - up) < 1 for p in found)
    assert any("1 dropped" in n for n in piece.notes)


def test_plugs_that_find_no_place_are_refused() -> None:
    with pytest.raises(BadInput) as error:
        plugged(straight(holes=(hole("big", at("front", 225), 75, 90),)), start=Position(x_mm=200), end=Position(x_mm=250))
    (fault,) = error.value.faults
    assert (fault.field, fault.value) == ("attach", "plug") and "no place" in fault.limit and fault.remedy


def test_plug_size_off_the_rule_warns() -> None:
    assert "plug-hole-size" in codes(plugged(straight(), plug_diameter_mm=20))


@pytest.mark.parametrize(("grade", "heat_treated", "stop"), [("A36", "yes", False), ("spring steel", "yes", True), ("A36", "no", False)])
def test_quenched_steel_by_its_yield(grade: str, heat_treated: str, stop: bool) -> None:
    """AWS D1.1: none on quenched steel above 485 MPa; A36 has 250 (from memory); what the table does not know may have more."""
    on = replace(straight(), steel=Steel(grade=grade, heat_treated=heat_treated))  # type: ignore[arg-type]
    assert ("plug-quenched" in codes(plugged(on))) == stop


def test_a_close_pair_of_new_holes_is_told_once_and_not_from_either_side() -> None:
    """Two holes of 13 mm, 30 mm apart: 17 mm between their edges, 25 asked. On level ground and on a slope of 18 deg."""
    for on, s in ((straight(), 1000.0), (swept(), 2000.0)):
        rail = on.rail("right")
        low, high = rail.opening_between_flanges(s)
        new = [RailHole(name=n, along_mm=x, up_mm=(low + high) / 2, diameter_mm=13) for n, x in (("a", s), ("b", s + 30))]
        found = [f for f in ruled(on, rail, "plate", new, []) if f.code == "holes-close"]
        assert len(found) == 1 and "hole a" in found[0].message and "hole b" in found[0].message
        assert found[0].value == "17 mm"


def test_findings_of_the_demo_frames_repeat_nothing() -> None:
    for name in ("orchard-flatbed", "river-wagon"):
        for piece in build(demo_frame(name), side="both", seat="inside", attach="bolt", start=at("front-axle", 30), end=at("mid", 100)):
            assert len(piece.findings) == len(set(piece.findings))


def test_four_holes_square_above_each_other_on_a_slope_are_on_one_line() -> None:
    """30 mm apart, square to a slope of 18 deg: plumb lines would cut two of 13 mm, as each stands 9.3 mm forward of the one under it."""
    on = swept()
    places = [on.rail("right").profile.web_point(2100.0, up) for up in (15.0, 45.0, 75.0, 105.0)]
    *own, new = (RailHole(name=f"h{i}", along_mm=s, up_mm=z, diameter_mm=13) for i, (s, z) in enumerate(places))
    assert "holes-on-one-line" in [f.code for f in ruled(on, on.rail("right"), "plate", [new], own)]
