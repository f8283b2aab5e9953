"""Which frame parts are made for, by how far its points lie off the drawing and how well they are known."""

from __future__ import annotations

import math
from collections.abc import Mapping, Sequence
from dataclasses import replace

import pytest
from scipy.stats import norm

from generator.fit.frame_found import BuiltOn, built_on
from generator.survey.stage import Survey, survey
from parts.frame.measured import SectionReading
from parts.sheet import Vec3
from parts.spec import Position
from tests.generator.fit.test_fit_stage import MADE, moved
from tests.generator.survey.ladder import Planned, full, heights, ladder, plan_of, shape, taken

SIGMAS: Mapping[str, Vec3] = {key: (0.5, 0.5, 0.5) for key in MADE.control_coordinates}
#: 5 % over 8 points x 3 coordinates, two-sided (Bonferroni): scipy's quantile of the normal distribution
BOUND_MM = 0.5 * float(norm.ppf(1 - 0.05 / (2 * 3 * 8)))


@pytest.mark.parametrize("axis", range(3))
@pytest.mark.parametrize("sign", (1, -1))
def test_a_point_off_by_no_more_than_the_readings_error_leaves_the_frame_as_drawn(axis: int, sign: int) -> None:
    """3.078 sigmas: 1.539 mm with 0.5 mm each."""
    assert pytest.approx(1.539, abs=0.001) == BOUND_MM
    for by, found in ((0.98 * BOUND_MM, False), (1.02 * BOUND_MM, True)):
        off = [0.0, 0.0, 0.0]
        off[axis] = sign * by
        done = built_on(MADE, moved(b_left=(off[0], off[1], off[2])), (), SIGMAS)
        assert (done.frame.found is not None) is found
        assert [f.code for f in done.findings] == ([] if found else ["frame-found-as-drawn"])


def test_a_straight_frame_says_how_straight() -> None:
    """By what it is held against: 3.078 x 0.5 = 1.54 mm. At 1.96 sigmas, 0.98 mm, a point 1.5 mm off would belie it."""
    for points in (moved(), moved(b_left=(0, 0, 1.5))):
        (one,) = built_on(MADE, points, (), SIGMAS).findings
        assert (one.level, one.value) == ("note", "1.5 mm") and "the readings' error, 1.5 mm" in one.message


def test_a_straight_frame_stays_mirrored() -> None:
    """Half of its readings' error one way on one side: cut handed it would be two shapes where one is right."""
    assert built_on(MADE, moved(b_left=(0, 0.6, 0), c_right=(0, 0, -0.7)), (), SIGMAS).frame.mirrored


def test_a_point_known_too_roughly_shapes_nothing() -> None:
    """A tape that runs uphill tells a height to 6 mm or so: 20 mm off by it is left out, and the other points stand as drawn."""
    rough = {**SIGMAS, "b-left": (0.5, 0.5, 6.0)}
    done = built_on(MADE, moved(b_left=(0, 0, 20)), (), rough)
    assert done.frame.found is None and [f.code for f in done.findings] == ["frame-found-as-drawn", "frame-point-not-used"]
    assert "b-left: known no better than 10 mm" in done.findings[1].message
    bent = built_on(MADE, moved(b_left=(0, 0, 20), c_left=(0, 0, 4)), (), rough)  # told too where the others do shape the rail
    assert bent.frame.found is not None and "b-left" not in bent.frame.found.points
    assert [f.code for f in bent.findings] == ["frame-point-not-used"]


def test_too_many_rough_points_are_named() -> None:
    rough = {key: (0.5, 0.5, 6.0) if key.endswith("right") and key[0] != "a" else s for key, s in SIGMAS.items()}
    (one,) = built_on(MADE, moved(b_left=(0, 0, -6)), (), rough).findings
    assert one.code == "frame-as-drawn" and "only a-right of the right rail is determined" in one.message
    assert "b-right, c-right, d-right: known no better than 10 mm" in one.message  # 1.96 x 5


def on_survey(
    points: Mapping[str, Vec3], plan: Sequence[Planned], seed: int | None = None, loose: float | None = None
) -> tuple[Survey, BuiltOn]:
    """Readings of these points; those off the string and along the datum good to `loose` mm."""
    held = taken(points, plan, seed)
    if loose is not None:
        held = [replace(r, accuracy_mm=loose) if r.kind in ("offset", "along") else r for r in held]
    made = ladder(held)
    found = survey(made)
    return found, built_on(made, found.points, (), found.sigmas, found.off_drawing, read=found.adjusted is not None)


def test_a_loose_datum_hides_no_diamond() -> None:
    """The right rail lies 8 mm ahead, by tapes to 1.4 mm; where the whole lies is known to 8 mm only. Off its place in the datum no
    point is by more than its error; off its place in the shape each is by about 4 mm, known to less than 0.5."""
    ahead = shape({f"{n}-right": (-8.0, 0.0, 0.0) for n in "ABCDE"})
    found, done = on_survey(ahead, [*full(), ("along", "A-left", None)], loose=8.0)
    assert found.sigmas["A-right"][0] > 3.9  # 8 mm, 95 %, is 4 mm standard deviation
    off, sigma = found.off_drawing["A-right"]
    assert -4.0 < off[0] < -3.0 and sigma[0] < 0.5
    assert done.frame.found is not None


def test_where_the_whole_lies_is_no_shape() -> None:
    """Shifted by (5, -3, 2) and turned by 3 mrad: no point is off its place in the shape; the tapes do not see it at all."""
    c, s = math.cos(0.003), math.sin(0.003)
    points = {k: (x * c - y * s + 5.0, x * s + y * c - 3.0, z + 2.0) for k, (x, y, z) in shape().items()}
    found, _ = on_survey(points, [*full(), ("along", "A-left", None)])
    for key, (off, sigma) in found.off_drawing.items():
        assert off == pytest.approx((0.0, 0.0, 0.0), abs=0.01), key  # noise-free readings of a turned frame, to a hundredth
        assert all(a <= b + 1e-6 for a, b in zip(sigma, found.sigmas[key], strict=True)), key


@pytest.mark.parametrize("string", [True, False])
def test_noise_alone_rarely_bends_a_straight_frame(string: bool) -> None:
    """5 of 100 at most. 40 surveys with normal noise: more than 6 of them at 5 % would be one chance in 300 (binomial)."""
    plan = [*full(), ("along", "A-left", None)] if string else [*plan_of("ABCDE"), *heights("ABCDE")]
    bent = sum(on_survey(shape(), plan, seed)[1].frame.found is not None for seed in range(40))
    assert bent <= 6


@pytest.mark.parametrize("plan", [heights("ABCDE"), plan_of("ABCDE")])
def test_readings_that_place_no_point_are_told(plan: Sequence[Planned]) -> None:
    """Heights alone, tapes alone: there is a sag to see, and no rail to lay."""
    _, done = on_survey(shape({"C-right": (0.0, 0.0, -9.0)}), plan)
    assert done.frame.found is None and {f.code for f in done.findings} == {"frame-as-drawn"}
    assert "no point of the left rail is determined by readings" in done.findings[0].message


def test_sections_alone_say_nothing_of_points() -> None:
    deep = [SectionReading(name="s", side="right", at=Position(at="mid"), depth_mm=151.0)]
    done = built_on(MADE, {}, deep)
    assert done.findings == () and done.frame.rail("right").depth_at(1800) == pytest.approx(151.0)
