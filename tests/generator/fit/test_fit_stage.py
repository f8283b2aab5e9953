"""The stage on small frames: verdicts, gaps off a face, seats, against closed forms worked by hand."""

from __future__ import annotations

import math
from collections.abc import Mapping
from dataclasses import replace
from typing import Any

import pytest

from generator.fit.frame_found import built_on
from generator.fit.planes import standing
from generator.fit.stage import Fit, fit
from parts.families.crossmember_bracket import CrossmemberBracket
from parts.families.rail_plate import RailPlate
from parts.families.rail_plate_parts import Split
from parts.features.gap_words import by_tape
from parts.features.gap_words import moved as moved_words
from parts.features.shared import moved_in_plane
from parts.frame import Frame
from parts.frame.found import as_found
from parts.frame.measured import ControlPoint, SectionReading
from parts.laid_flat import LaidFlat
from parts.one_shape import Shift, place_of
from parts.shop import Shop
from parts.spec import Position
from tests.parts.frame.makers import STRAIGHT, at, drawn, frame, station

PLACES = {"a": 100.0, "b": 1200.0, "c": 2400.0, "d": 3500.0}
POINTS = tuple(ControlPoint(name=name, at=Position(at="front", offset_mm=x)) for name, x in PLACES.items())
MADE = frame(control_points=POINTS)


def moved(on: Frame = MADE, **by: tuple[float, float, float]) -> Mapping[str, tuple[float, float, float]]:
    out = dict(on.control_coordinates)
    for key, (x, y, z) in by.items():
        name = key.replace("_", "-")
        out[name] = (out[name][0] + x, out[name][1] + y, out[name][2] + z)
    return out


def plate(**fields: Any) -> RailPlate:
    values: dict[str, Any] = {"id": "plate", "thickness_mm": 3, "seat": "toes", "start": at("front", 600), "end": at("front", 1800)}
    return RailPlate(**(values | {"front_end": "square", "rear_end": "square"} | fields))


def fitted(on: Frame, *parts: Any) -> Fit:
    return fit(parts, [piece for part in parts for piece in part.build(on, Shop())], on, Shop())


def near(value: object, within: float = 1e-6) -> Any:
    return pytest.approx(value, abs=within)


def test_on_mirrored_rails_there_is_nothing_to_say() -> None:
    found = fitted(MADE, plate())
    assert found == Fit() or (found.sections, found.findings, found.pairs) == ((), (), ())


def test_the_gap_off_a_bowed_face_is_twice_the_least_largest_miss() -> None:
    """The right web bows 4 mm to the right at 1200, a peak between two straights (0 at 100 and 2400). Over a plate from 600 to 1800 it
    stands 4 x 5/11, 4, 2 off: y over the chord at 1200 is 4 - (20/11 + 2) / 2 = 2.0909. The right rail opens to -y: a plate on the
    toes stands on the open side, so it rides on its two ends at best where the rail bows away: gap 2.0909 in the middle."""
    on = as_found(MADE, moved(b_right=(0, 4, 0)))
    rail = on.rail("right")
    (piece,) = [p for p in plate(side="right").build(on, Shop())]
    found = standing(piece, rail, away=1, at_toes=True, between=False)
    assert found is not None
    assert found.gap_mm == near(4 - (20 / 11 + 2) / 2, 1e-3) and found.where.startswith("front +1200")
    # the other way it rides on its middle and stands off at both ends alike, once it is turned to balance them
    other = as_found(MADE, moved(b_right=(0, -4, 0)))
    off = standing(plate(side="right").build(other, Shop())[0], other.rail("right"), away=1, at_toes=True, between=False)
    assert off is not None and off.gap_mm == near(4 - (20 / 11 + 2) / 2, 1e-3) and not off.where.startswith("front +1200")
    message = next(f for f in fitted(on, plate(side="right")).findings if f.code == "fit-face-gap")
    assert "stands 2.1 mm off its face at front +1200 mm" in message.message and message.level == "warn"


def test_a_straight_rail_laid_askew_leaves_no_gap() -> None:
    on = as_found(MADE, {k: (x, y + 0.003 * x, z) for k, (x, y, z) in MADE.control_coordinates.items()})
    assert fitted(on, plate()).planes == ()


def test_an_even_lean_leaves_no_gap_and_a_growing_one_does() -> None:
    """Right side up by 8.6 mm in 860 from c to d, level to b: 0.01 of lean at 2400 and behind, growing from 1200. A plate from 2450 to
    3400 lies flat on a web that leans evenly. One from 1200 to 2400 is 144 high (leg 3): lean grows by 0.01 over it, 1.44 mm over its
    height. A flat plate misses a warped face by a quarter of that at each corner, alternately: gap 2 x 0.36 = 0.72."""
    on = as_found(MADE, moved(c_right=(0, 0, 8.6), d_right=(0, 0, 8.6)))
    even = plate(side="left", start=at("front", 2450), end=at("front", 3400))
    assert fitted(on, even).planes == ()
    growing = plate(side="left", leg_mm=3.0, start=at("front", 1200), end=at("front", 2400))
    (found,) = fitted(on, growing).planes
    assert found.gap_mm == near(0.72, 0.005)


def test_toes_of_other_widths_hold_a_plate_off() -> None:
    """The upper flange is 1.2 mm wider at 1200 than at 600 and 1800, the lower one as drawn. A plate 60 high from 3 mm up has its upper
    edge 63/150 up the depth: 0.504 there in its middle, nothing at its ends. The best plane has half of that on both sides: it touches
    in the middle and stands 0.504 off at the ends."""
    wide = [
        SectionReading(name=f"w{x:g}", side="right", at=at("front", x), upper_flange_mm=w)
        for x, w in ((600.0, 60.0), (1200.0, 61.2), (1800.0, 60.0))
    ]
    on = as_found(MADE, {}, wide)
    (found,) = fitted(on, plate(side="right", leg_mm=3.0, height_mm=60.0)).planes
    assert found.gap_mm == near(0.504, 1e-3)


def test_a_gap_that_is_too_wide_grows_the_leg_or_stops() -> None:
    """Openings 142 at 600 and 144.8 / 152 at 1800: the plate of 140 leaves 2 mm more / 10 mm more at its end, half of it at each edge."""
    def read(wide: float) -> list[SectionReading]:
        return [
            SectionReading(name=f"{side}{x:g}", side=side, at=at("front", x), opening_web_mm=o, opening_toe_mm=o)
            for side in ("left", "right") for x, o in ((600.0, 142.0), (1800.0, wide))
        ]  # fmt: skip

    def findings(wide: float) -> list[tuple[str, str]]:
        on = as_found(MADE, {}, read(wide))
        return [(f.code, f.level) for f in fitted(on, plate(seat="stepped")).findings]

    assert findings(142.5) == []
    assert findings(144.8) == [("fit-root-gap", "warn")] * 2
    assert findings(153.0) == [("fit-root-gap", "stop")] * 2


def test_both_sides_are_told_with_number_place_and_shift() -> None:
    """Right rail 1 mm deeper: see test_rail_plate_shared for the arithmetic. 3.4 mm deeper: no shape serves both."""
    def on(deeper: float) -> Frame:
        right = tuple(replace(p, depth_mm=150 + deeper) for p in STRAIGHT.stations)
        return frame(STRAIGHT.mirrored(), drawn(*right, side="right"))

    def verdict(deeper: float) -> str:
        (section,) = fitted(on(deeper), plate(seat="stepped")).sections
        (row,) = section.tables[0].rows
        return str(row[2])

    assert verdict(1.0).startswith("one shape serves both: worst gap 0.5 mm at the ") and verdict(1.0).endswith("shifted 0.5 mm down")
    assert verdict(3.4).startswith("cut handed: ") and "front +" in verdict(3.4)


def test_what_the_readings_do_not_carry_is_not_told() -> None:
    """The right rail was measured 1 mm deeper, so 0.5 mm is left above and below where 0 to 1.6 may be: 0.5 from the limit of 0. The
    depth may be off by 0.1 mm, the heights by 1.96 x 0.2 mm on both rails: root of 0.1^2 + 2 x 0.392^2 = 0.563: more than 0.5. With
    heights to 0.1 mm, 0.295, it is told."""
    deep = [SectionReading(name="s", side="right", at=at("mid"), depth_mm=151.0, accuracy_mm=0.1)]
    on = as_found(MADE, MADE.control_coordinates, deep)
    part: Any = plate(seat="stepped")

    def verdict(sigma: float) -> str:
        found = fit([part], part.build(on, Shop()), on, Shop(), {key: (1.0, 1.0, sigma) for key in MADE.control_coordinates})
        return str(next(t for t in found.sections[0].tables if t.name == "fit_pairs").rows[0][2])

    assert verdict(0.1).startswith("one shape serves both")
    assert verdict(0.2).startswith("cannot tell: 0.5 mm at the") and "give or take 0.6 mm of the readings" in verdict(0.2)
    deep[0] = replace(deep[0], accuracy_mm=0.6)  # heights as good as exact: the depth's own 0.6 is over 0.5
    on = as_found(MADE, MADE.control_coordinates, deep)
    assert verdict(0.01).startswith("cannot tell: 0.5 mm at the")


def test_a_shared_plate_is_held_against_what_each_side_asks_for() -> None:
    right = tuple(replace(p, depth_mm=151) for p in STRAIGHT.stations)
    on = frame(STRAIGHT.mirrored(), drawn(*right, side="right"))
    (pair,) = fitted(on, plate(seat="stepped", shape="shared")).pairs
    assert pair.serves_both and pair.fit.worst is not None and abs(pair.fit.worst.mm) == near(0.5, 1e-6)


def test_staggered_joints_are_not_meant_to_be_alike() -> None:
    right = tuple(replace(p, depth_mm=151) for p in STRAIGHT.stations)
    on = frame(STRAIGHT.mirrored(), drawn(*right, side="right"))
    assert fitted(on, plate(seat="stepped", splits=(Split(at=at("front", 1200)),))).pairs == ()


@pytest.mark.parametrize("climb", [0.0, 9.0])
def test_a_pair_of_seats_is_level_and_at_one_height_on_a_twisted_frame(climb: float) -> None:
    """Right rail up 9 mm behind c, so the web under the seat leans by 9/860: 1.05 mm in 100. Both seats stay level at one z; what
    differs is how far under its own upper corner each lies: 9 mm more on the right."""
    on = as_found(MADE, moved(c_right=(0, 0, climb), d_right=(0, 0, climb), a_left=(0.5, 0, 0)))
    bracket = CrossmemberBracket(**BRACKET)
    found = fitted(on, bracket)
    left, right = found.seats
    assert left.z_mm == near(right.z_mm) and left.slope_deg == right.slope_deg == near(0.0)
    assert right.under_mm - left.under_mm == near(climb, 1e-3)
    told = [f for f in found.findings if f.code == "fit-seat-leans"]
    assert len(told) == (2 if climb else 0) and (not climb or right.leans_mm == near(100 * climb / 860, 1e-3))


BRACKET: dict[str, Any] = {
    "id": "seat", "at": Position(x_mm=2800.0), "drop_mm": 70.0, "thickness_mm": 4.0, "width_mm": 130.0, "depth_mm": 100.0,
}  # fmt: skip


def test_what_carries_a_seat_is_not_tilted() -> None:
    """The right rail climbs 30 mm in 3600: a bracket there follows with its base's corners at most, and its seat stays level: the left
    one's shape in its place is moved up or down as a whole."""
    right = tuple(replace(p, z_mm=600 + 15 * k) for k, p in enumerate(STRAIGHT.stations))
    on = frame(STRAIGHT.mirrored(), drawn(*right, side="right"))
    (pair,) = fitted(on, CrossmemberBracket(**BRACKET)).pairs
    assert pair.fit.shift.up_front_mm == pair.fit.shift.up_rear_mm
    (plates,) = fitted(on, plate()).pairs
    assert plates.fit.shift.up_front_mm != plates.fit.shift.up_rear_mm


def test_a_place_is_told_along_the_upper_corner_also_low_on_a_slope() -> None:
    """400 mm of tape behind a kick of 18 deg with a sharp corner, then 130 down square to the slope: 130 sin 18 = 40 mm further back in
    s than the corner over it, which a tape along the corner does not measure."""
    on = frame(drawn(station("front", 0), station("kick", 1500), station("rear", 2500, z=600 + 1000 * math.tan(math.radians(18)))))
    c, s = math.cos(math.radians(18)), math.sin(math.radians(18))
    point = (1500 + 400 * c + 130 * s, 430.0, 600 + 400 * s - 130 * c)
    assert by_tape(on.rail("right"), point) == "kick +400 mm"
    assert by_tape(on.rail("right"), (1500, 430, 600)) == "kick"


def test_parts_of_any_family_may_differ_by_the_weld_gap() -> None:
    """A bracket that stands 2 mm lower on its rail's web than the other: seats at one height, rails 2 mm apart, bases cut to both."""
    def verdict(higher: float) -> bool:
        right = tuple(replace(p, z_mm=600 + higher) for p in STRAIGHT.stations)
        bracket = CrossmemberBracket(**(BRACKET | {"base": "above", "drop_mm": 130.0}))
        (pair,) = fitted(frame(STRAIGHT.mirrored(), drawn(*right, side="right")), bracket).pairs
        return pair.serves_both

    assert verdict(1.0) and not verdict(7.0)


@pytest.mark.parametrize(("lower_away", "upper_away", "shift"), [(1.12, 0.0, "0.7 mm down"), (0.0, 1.12, "no")])
def test_which_toe_stands_away_says_which_gap_is_wide(lower_away: float, upper_away: float, shift: str) -> None:
    """Web inside at 4, toes at 60; a plate of 3 stepped in 16 stands 37/56 to 40/56 of the way. A toe 1.12 away leaves 0.74 to 0.8 more:
    the plate is 142 + 0.74 - 2 high, from 455 on. Where the lower toe is the one, it leaves 1.74 below and 0.26 above: moved down by
    0.7, to a tenth, 1.04 and 0.96. Where the upper one is, it leaves 1 and 1 as it is."""
    one = SectionReading(name="s", side="right", at=at("mid"), lower_square_mm=lower_away, upper_square_mm=upper_away)
    (row,) = _table(as_found(MADE, {}, [one]), "fit_own", plate(seat="stepped", step_mm=16.0, side="right"))
    below, above = (1.04, 0.96) if lower_away else (1.0, 1.0)
    assert row[1:3] == (near(below), near(above)) and row[4] == shift


def test_a_toe_in_and_a_toe_out_are_no_section_as_drawn() -> None:
    """The opening is as drawn, both flanges lean down by 1 mm at the toes."""
    one = SectionReading(name="s", side="right", at=at("mid"), lower_square_mm=1.0, upper_square_mm=-1.0)
    assert as_found(MADE, {}, [one]) is not MADE


def test_the_gap_to_a_flange_is_not_that_of_a_cut_end() -> None:
    """A fish-mouthed plate, the lower toe 1.12 away: moved 0.7 down, its mouth's lower lip is 0.5 off and looks up, as the upper edge
    does. That is held against 1.6, the flanges' gaps against the middle of 0 to 1.6, and both 1.04 and 0.96 are nearer to that."""
    one = SectionReading(name="s", side="right", at=at("mid"), lower_square_mm=1.12)
    on = as_found(MADE, {}, [one])
    part = plate(seat="stepped", step_mm=16.0, side="right", front_end="fish-mouth", rear_end="fish-mouth")
    (row,) = _table(on, "fit_own", part)
    assert row[1:3] == (near(1.04), near(0.96))


def _table(on: Frame, name: str, part: Any) -> tuple[tuple[Any, ...], ...]:
    return next(t.rows for t in fitted(on, part).sections[0].tables if t.name == name)


@pytest.mark.parametrize("side", ["left", "right"])
def test_a_shift_is_told_the_way_it_moves(side: str) -> None:
    """2 mm rearward, 0.5 down at its front end, 1.5 up at its rear one: in the vehicle x grows by 2; the plate is 1200 long, so it turns by
    2 in 1200 about the middle of its front end, and a corner 70 over or under that goes 70 x 2/1200 = 0.12 forward or rearward."""
    shift = Shift(rearward_mm=2.0, up_front_mm=-0.5, up_rear_mm=1.5)
    assert moved_words(shift) == "2.0 mm rearward, 0.5 mm down in front, 1.5 mm up behind"
    assert moved_words(Shift(rearward_mm=-0.3, up_front_mm=0.4, up_rear_mm=0.4)) == "0.3 mm forward, 0.4 mm up"
    piece = next(p for p in plate().build(MADE, Shop()) if p.side == side)
    laid = LaidFlat.of(piece, Shop().bend_rule())
    by = laid.to_rear.then(place_of(laid, laid, shift)).then(laid.to_rear.inverse())
    place = piece.placements[0]
    after = moved_in_plane(place, by)
    for u, v in piece.part.panels[0].contour.points:
        (x, _, _), (x1, _, z1), z = place.point(u, v), after.point(u, v), place.point(u, v)[2]
        assert x1 - x == near(2.0, 0.13) and z1 - z == near(-0.5 if x < 1000 else 1.5, 0.01)


# --- which frame parts are built on ---


def test_readings_enough_give_the_frame_as_found() -> None:
    done = built_on(MADE, moved(b_left=(0, 0, -6)))
    assert done.findings == () and done.frame.found is not None


def test_nothing_read_says_nothing() -> None:
    done = built_on(MADE, {})
    assert done.frame is MADE and done.findings == ()


@pytest.mark.parametrize(
    ("keys", "words"),
    [
        (("a-left", "b-left"), "no point of the right rail is determined by readings; two are needed"),
        (("a-left", "d-left", "a-right"), "only a-right of the right rail is determined by readings; two are needed"),
    ],
)
def test_too_few_points_give_the_frame_as_drawn_and_say_so(keys: tuple[str, ...], words: str) -> None:
    points = {k: v for k, v in moved(b_left=(0, 0, -6)).items() if k in keys}
    done = built_on(MADE, points)
    assert done.frame is MADE
    assert [(f.code, f.level) for f in done.findings] == [("frame-as-drawn", "warn")] and words in done.findings[0].message


def test_points_too_near_to_each_other_say_so() -> None:
    close = frame(control_points=(*POINTS, ControlPoint(name="e", at=at("front", 400))))
    points = {k: v for k, v in moved(close, b_left=(0, 0, -6)).items() if k[0] in "ae"}
    done = built_on(close, points)
    assert "lie within 300 mm of each other; they have to span 900 mm" in done.findings[0].message and done.frame is close


def test_points_no_rail_runs_through_are_a_finding_and_no_crash() -> None:
    done = built_on(MADE, moved(b_left=(60, 0, 0)))
    assert done.frame is MADE and done.findings[0].code == "frame-as-drawn"
    assert "were measured 60.0 mm longer apart" in done.findings[0].message


def test_sections_count_where_points_do_not() -> None:
    deep = [SectionReading(name="s", side="right", at=at("mid"), depth_mm=151.0)]
    done = built_on(MADE, {"a-left": (math.pi, -430, 600)}, deep)
    assert done.frame.rail("right").depth_at(1800) == near(151) and done.findings[0].code == "frame-as-drawn"
