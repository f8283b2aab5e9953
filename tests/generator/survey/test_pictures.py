"""Both pictures: scales and places by hand, ellipses by their closed form, labels that do not overlap, left and right told apart."""

from __future__ import annotations

import math
import re
from collections.abc import Mapping
from dataclasses import replace
from itertools import combinations
from typing import Any
from xml.etree import ElementTree

import numpy as np
import pytest

from generator.draw.sheet import Box, Sheet
from generator.job import read_frame
from generator.survey.later import later
from generator.survey.picture_marks import out_points, worst_told
from generator.survey.picture_page import Mark, broken, off_text
from generator.survey.picture_plan import plan_svg
from generator.survey.picture_scales import Scales, both, scales
from generator.survey.picture_side import side_svg
from generator.survey.picture_spots import Ellipse, Spot, ellipse_of, plan_spots, runs, side_spots
from generator.survey.stage import Survey, survey
from parts.sheet import Vec3
from tests.generator.survey.ladder import full, heights, ladder, plan_of, shape, taken
from tests.generator.survey.test_scenarios import misread
from tests.parts.frame.makers import DEMO_NAMES

BENT: Mapping[str, Vec3] = {"C-right": (0.0, -5.0, -6.0), "E-right": (0.0, 0.0, 14.0)}
ROOT_5991 = 2.4477  # square root of 5.991, the 5 % point of chi-square on two (NIST/SEMATECH e-Handbook, table 1.3.6.7.4)


def told(moves: Mapping[str, Vec3] = BENT, **fields: Any) -> Survey:
    return survey(ladder(taken(shape(moves), full()), **fields))


class Seen:
    """What was drawn: every label with its place and its box, discs, and the scales."""

    def __init__(self, monkeypatch: pytest.MonkeyPatch) -> None:
        self.labels: dict[str, tuple[Box, tuple[float, float]]] = {}
        self.boxes: list[Box] = []
        self.heights: list[float] = []
        self.crosses: list[tuple[float, float]] = []
        self.squares: list[tuple[float, float]] = []
        self.dashed = 0
        self.hatched: list[Box] = []
        label, cross, facing, line, hatched = Sheet.label, Sheet.cross, Sheet.facing, Sheet.line, Sheet.hatched

        def kept(sheet: Sheet, lines: Any, at: Any, height: float, **more: Any) -> Box:
            box = label(sheet, lines, at, height, **more)
            self.labels[lines[0]] = (box, at)
            self.boxes.append(box)
            self.heights.append(height)
            return box

        def faced(sheet: Sheet, lines: Any, ends: Any, y: float, height: float) -> tuple[Box, Box]:
            found = facing(sheet, lines, ends, y, height)
            for own, box in zip(lines, found, strict=True):
                self.labels[own[-1]] = (box, (box[0], box[1]))
                self.boxes.append(box)
                self.heights.append(height)
            return found

        def lined(sheet: Sheet, points: Any, *rest: Any, **more: Any) -> None:
            if rest == (0.35,) and more == {"closed": True}:
                self.squares.append(((points[0][0] + points[2][0]) / 2, (points[0][1] + points[2][1]) / 2))
            self.dashed += more.get("dash") == "2.4 1.3"
            line(sheet, points, *rest, **more)

        def hatching(sheet: Sheet, box: Box, *rest: Any) -> None:
            self.hatched.append(box)
            hatched(sheet, box, *rest)

        def crossed(sheet: Sheet, at: Any, reach: float, *rest: Any, **more: Any) -> None:
            self.crosses.append(at)
            cross(sheet, at, reach, *rest, **more)

        monkeypatch.setattr(Sheet, "label", kept)
        monkeypatch.setattr(Sheet, "cross", crossed)
        monkeypatch.setattr(Sheet, "facing", faced)
        monkeypatch.setattr(Sheet, "line", lined)
        monkeypatch.setattr(Sheet, "hatched", hatching)


def test_an_ellipse_by_hand() -> None:
    """Covariance (4 3; 3 4): eigenvalues 7 along 45 degrees and 1 across."""
    own = ellipse_of(np.array([[4.0, 3.0], [3.0, 4.0]]))
    assert own.long_mm == pytest.approx(ROOT_5991 * math.sqrt(7.0), abs=1e-3)
    assert own.short_mm == pytest.approx(ROOT_5991, abs=1e-3)
    assert own.angle_deg == pytest.approx(45.0)
    assert ellipse_of(np.array([[4.0, -3.0], [-3.0, 4.0]])).angle_deg == pytest.approx(-45.0)


def test_scales_are_round_and_fit() -> None:
    """3600 mm into 246: 1 : 15 makes 240. 10 mm off and an ellipse of 1 mm: at 20 times 11 x 20 / 15 = 14.7 mm, at 50 times 36.7."""
    spot = Spot(key="A", side="left", drawn=(0.0, 0.0, 0.0), off=(6.0, 8.0), ellipse=Ellipse(long_mm=1.0, short_mm=0.5, angle_deg=0.0))
    assert scales([spot], 3600.0, 860.0, (246.0, 84.0)) == Scales(frame=15, enlarged=20)
    assert scales([], 3600.0, 860.0, (246.0, 84.0)).enlarged == 1


def test_seen_from_above_the_right_rail_is_above_and_the_front_to_the_left(monkeypatch: pytest.MonkeyPatch) -> None:
    """X rearward, Y to the right, Z up, seen from above: with the front to the left, the vehicle's right is up."""
    seen = Seen(monkeypatch)
    plan_svg(told({}))
    at = {key: place for key, (_, place) in seen.labels.items()}
    assert at["A-left"][0] < at["E-left"][0]
    assert at["A-right"][1] < at["A-left"][1]
    assert at["FRONT"][0] < at["REAR"][0]
    assert at["RIGHT"][1] < at["LEFT"][1]
    assert at["FRONT"][1] == at["REAR"][1]


def test_what_is_off_is_drawn_as_large_as_said(monkeypatch: pytest.MonkeyPatch) -> None:
    """C-right 5 mm to the left: drawn 5 x enlarged / 15 mm down on paper from its cross, at 1 : 15."""
    seen = Seen(monkeypatch)
    text = plan_svg(told())
    found = seen.labels["C-right"][1]
    cross = min(seen.crosses, key=lambda p: math.dist(p, found))
    assert "1 : 15" not in text  # letters are strokes: nothing is to be read off the text of the file
    by, _ = both(told())
    assert by.frame == 15
    assert found[1] - cross[1] == pytest.approx(5.0 * by.enlarged / 15, abs=0.05)
    assert found[0] - cross[0] == pytest.approx(0.0, abs=0.3)


def test_seen_from_the_side_up_is_up(monkeypatch: pytest.MonkeyPatch) -> None:
    seen = Seen(monkeypatch)
    side_svg(told())
    found = seen.labels["E-right"][1]
    cross = min(seen.crosses, key=lambda p: abs(p[0] - found[0]) + (0 if p[1] > found[1] else 1000) + 0.01 * (p[1] - found[1]))
    assert cross[1] - found[1] > 5.0
    assert seen.labels["A-right"][1][1] < seen.labels["A-left"][1][1]


@pytest.mark.parametrize("name", DEMO_NAMES)
@pytest.mark.parametrize("draw", [plan_svg, side_svg])
def test_between_labels_a_letter_stays_free(name: str, draw: Any, monkeypatch: pytest.MonkeyPatch) -> None:
    """Side by side: a capital M of its own letters is 7/9 of their height wide. One above the other: half their height."""
    seen = Seen(monkeypatch)
    frame = read_frame(f"demo:{name}")
    ElementTree.fromstring(draw(survey(frame)))
    for (a, i), (b, j) in combinations(zip(seen.boxes, seen.heights, strict=True), 2):
        height = min(i, j)
        apart = max(a[0], b[0]) - min(a[2], b[2]), max(a[1], b[1]) - min(a[3], b[3])
        assert apart[0] >= 7 / 9 * height or apart[1] >= 0.5 * height, (name, seen.labels)
    assert set(frame.control_coordinates) <= seen.labels.keys()


@pytest.mark.parametrize("name", DEMO_NAMES)
def test_words_for_the_ends_stand_at_one_height_and_clear_of_the_points(name: str, monkeypatch: pytest.MonkeyPatch) -> None:
    frame = read_frame(f"demo:{name}")
    for draw in (plan_svg, side_svg):
        seen = Seen(monkeypatch)
        draw(survey(frame))
        front, rear = seen.labels["FRONT"][0], seen.labels["REAR"][0]
        assert (front[1], front[3]) == (rear[1], rear[3])
        for key in frame.control_coordinates:
            assert front[2] < seen.labels[key][1][0] < rear[0]
        seen.labels.clear()


def test_one_scale_serves_both_pictures() -> None:
    """By hand: 4 mm to the side, at 1 : 15 and 50 times 13.3 mm on paper, at 100 times 26.7; 6 mm down, at 50 times 20 mm. The largest
    ellipse of the ladder's readings is under 1 mm, 3.3 mm on paper at 50 times."""
    above, beside = both(told({"C-right": (0.0, -4.0, -6.0)}))
    assert above == beside
    assert (above.frame, above.other) == (15, None)
    assert above.enlarged in (20, 50)


def test_where_one_scale_cannot_serve_both_it_is_said(monkeypatch: pytest.MonkeyPatch) -> None:
    """200 mm down and 1 mm to the side: at the scale of the one (1 or 2 times) nothing of the other would be seen."""
    said: list[str] = []
    text = Sheet.text

    def kept(sheet: Sheet, words: str, *rest: Any, **more: Any) -> Box:
        said.append(words)
        return text(sheet, words, *rest, **more)

    monkeypatch.setattr(Sheet, "text", kept)
    own = told({"C-right": (0.0, 1.0, -200.0), "C-left": (0.0, 1.0, -200.0)})
    above, beside = both(own)
    assert beside.enlarged == 1
    assert above.enlarged >= 20
    assert (above.other, beside.other) == (beside.enlarged, above.enlarged)
    side_svg(own)
    assert f"Seen from above it is {above.enlarged} times: the two pictures differ in this." in said
    assert any(words.endswith("off, as large as the frame is drawn") for words in said)
    assert not any("1 times" in words and "21 times" not in words for words in said)


def legend_of(monkeypatch: pytest.MonkeyPatch, draw: Any, *given: Any) -> set[Mark]:
    marks: set[Mark] = set()
    for module in ("picture_plan", "picture_side"):
        monkeypatch.setattr(f"generator.survey.{module}.legend", lambda sheet, survey, by, found, *rest: marks.update(found))
    draw(*given)
    return marks


def test_the_legend_holds_what_is_in_the_picture_and_nothing_else(monkeypatch: pytest.MonkeyPatch) -> None:
    straight = told({})
    assert legend_of(monkeypatch, plan_svg, straight) == {"drawn", "found", "ellipse"}
    assert legend_of(monkeypatch, plan_svg, survey(ladder())) == {"drawn", "unknown"}
    tapes = survey(ladder(taken(shape(), plan_of("ABCDE"))))
    assert legend_of(monkeypatch, side_svg, tapes) == {"drawn", "unknown"}
    level = survey(ladder(taken(shape(), heights("ABCDE"))))
    assert legend_of(monkeypatch, side_svg, level) == {"drawn", "found", "bar"}
    assert legend_of(monkeypatch, side_svg, told({"E-right": (0.0, 0.0, 14.0)})) == {"drawn", "found", "ellipse", "out"}
    assert legend_of(monkeypatch, plan_svg, survey(read_frame("demo:mill-pickup"))) == {"drawn", "found", "ellipse", "damage"}


def test_points_of_what_is_out_are_marked_where_it_shows(monkeypatch: pytest.MonkeyPatch) -> None:
    """C-right 9 mm up: its rail sags there (limit 3 mm), nothing of it is seen from above. Of three points only the one it is said of."""
    own = told({"C-right": (0.0, 0.0, 9.0)})
    words = {m.word for m in own.measures if m.status == "out"}
    assert words == {"sag"}
    twisted = {key for m in own.measures if m.word == "twist" and m.is_seen for key in m.points[2:]}
    assert out_points(own, upright=True) == {"C-right"} | twisted
    assert out_points(own, upright=False) == frozenset()
    seen = Seen(monkeypatch)
    side_svg(own)
    found = seen.labels["C-right"][1]
    assert any(math.dist(found, square) < 1e-6 for square in seen.squares)
    assert len(seen.squares) == len(out_points(own, upright=True)) + 1  # and the one in the legend
    seen.squares.clear()
    plan_svg(own)
    assert seen.squares == []
    assert worst_told(own).startswith("Worst: sag, right rail at C: off by +9.0 mm +/- ")
    assert worst_told(told({})) == ""


def test_damage_is_drawn_where_it_is_with_its_name(monkeypatch: pytest.MonkeyPatch) -> None:
    """The mill pickup's left rail is rusted through at its rear end: 3363 mm of tape along it, between cp-pin-rear and its rear end."""
    seen = Seen(monkeypatch)
    own = survey(read_frame("demo:mill-pickup"))
    for draw in (plan_svg, side_svg):
        seen.labels.clear()
        seen.hatched.clear()
        draw(own)
        _, at = seen.labels["rust-rear"]
        assert any(h[0] < at[0] < h[2] and h[1] < at[1] < h[3] for h in seen.hatched)
        assert seen.labels["cp-pin-rear-left"][1][0] < at[0] < seen.labels["REAR"][0][0]
        assert abs(at[1] - seen.labels["cp-rear-left"][1][1]) < 15.0  # on the left rail


def test_the_shape_before_is_dashed_and_lies_where_the_movements_say(monkeypatch: pytest.MonkeyPatch) -> None:
    frame = read_frame("demo:orchard-flatbed")
    new, old = survey(frame, "tacked"), survey(frame, "found")
    held = later(new, old)
    assert held.by_datum is not None
    movement = held.by_datum.points["cp-mid-left"].by
    for spots, axes in ((plan_spots(new, held), (0, 1)), (side_spots(new, held), (0, 2))):
        spot = next(s for s in spots if s.key == "cp-mid-left")
        assert spot.was is not None
        for i, axis in enumerate(axes):
            assert (spot.off[i] or 0.0) - spot.was[i] == pytest.approx(movement[axis])
            before = old.points["cp-mid-left"][axis] - frame.control_coordinates["cp-mid-left"][axis]
            assert spot.was[i] == pytest.approx(before, abs=0.5)  # by one datum, but for what was fitted
    seen = Seen(monkeypatch)
    for draw in (plan_svg, side_svg):
        seen.dashed = 0
        draw(new, held)
        assert seen.dashed >= 3  # both rails, and the legend
        assert "was" in legend_of(monkeypatch, draw, new, held)
        seen.dashed = 0
        draw(new)
        assert seen.dashed == 0


def test_what_cannot_be_compared_is_not_drawn_beside(monkeypatch: pytest.MonkeyPatch) -> None:
    """Nothing is told of what carried the ladder: no movement, so no old shape."""
    own = told()
    held = later(own, told({}))
    assert held.alike.reasons
    seen = Seen(monkeypatch)
    plan_svg(own, held)
    assert seen.dashed == 0


def test_a_suspect_is_drawn_dashed_with_its_name(monkeypatch: pytest.MonkeyPatch) -> None:
    seen = Seen(monkeypatch)
    own = survey(ladder(misread(shape(), full(), "B-left", "C-right", 25.0)))
    assert own.suspects
    text = plan_svg(own)
    assert "d-B-left-C-right" in seen.labels
    assert "stroke-dasharray" in text
    seen.labels.clear()
    side_svg(own)
    assert "d-B-left-C-right" not in seen.labels  # across: it is seen from above only


def test_a_height_that_is_not_believed_is_seen_from_the_side(monkeypatch: pytest.MonkeyPatch) -> None:
    readings = taken(shape(), [*full(), *heights("ABCDE")])
    twice = [replace(r, name=f"{r.name}-{i}") if r.kind == "height" else r for i, r in enumerate(readings)]
    wrong = next(i for i, r in enumerate(twice) if r.kind == "height" and r.start == "C-left")
    twice[wrong] = replace(twice[wrong], value_mm=twice[wrong].value_mm + 20.0)
    own = survey(ladder(twice))
    names = {n for s in own.suspects for n in s.observations}
    assert twice[wrong].name in names
    seen = Seen(monkeypatch)
    side_svg(own)
    assert twice[wrong].name in seen.labels
    seen.labels.clear()
    plan_svg(own)
    assert twice[wrong].name not in seen.labels


def test_what_is_not_known_is_not_drawn_as_found() -> None:
    """Tapes alone see nothing from the side; from above they do, on a flat frame."""
    own = survey(ladder(taken(shape(), plan_of("ABCDE"))))
    assert all(s.off[1] is None for s in side_spots(own))
    assert all(s.off[1] is not None for s in plan_spots(own))
    assert 'stroke-width="0.6"' not in side_svg(own)
    assert 'stroke-width="0.6"' in plan_svg(own)


def test_the_found_line_ends_where_a_point_is_not_known() -> None:
    known = [Spot(key=str(i), side="left", drawn=(float(i), 0.0, 0.0), off=(0.0, None if i == 2 else 1.0)) for i in range(6)]
    assert [[s.key for s in run] for run in runs(known)] == [["0", "1"], ["3", "4", "5"]]


def test_a_height_without_the_rest_has_a_bar() -> None:
    own = survey(ladder(taken(shape({"C-left": (0.0, 0.0, 8.0)}), heights("ABCDE"))))
    spots = {s.key: s for s in side_spots(own)}
    assert spots["C-left"].off[0] is None
    assert spots["C-left"].off[1] == pytest.approx(8.0, abs=1e-6)
    assert spots["C-left"].bar_mm == pytest.approx(1.96 * 0.5, abs=1e-6)  # a level of 1.0 mm, 95 %, is 0.5 mm
    ElementTree.fromstring(side_svg(own))


def test_numbers_beside_a_point() -> None:
    assert off_text(3.44, "mm") == "+3.4"
    assert off_text(-0.04, "mm") == "0.0"
    assert off_text(3.175, "in") == "+0.12"


def test_lines_are_broken_between_words() -> None:
    lines = broken("one two three four five six seven eight nine ten", 30.0, 2.5)
    assert len(lines) > 1
    assert " ".join(lines) == "one two three four five six seven eight nine ten"


def test_the_same_twice() -> None:
    assert plan_svg(told()) == plan_svg(told())
    assert side_svg(told()) == side_svg(told())


@pytest.mark.parametrize("up_mm", [0.0, 900.0, 3000.0])
def test_nothing_drawn_leaves_the_sheet(up_mm: float) -> None:
    """Also where heights were read from another level line than the drawing's: off by a man's height and more."""
    own = told({**BENT, **{f"{name}-{side}": (0.0, 0.0, up_mm) for name in "AB" for side in ("left", "right")}})
    for svg in (plan_svg(own), side_svg(own)):
        for x, y in re.findall(r"[ML](-?[0-9.]+) (-?[0-9.]+)", svg):
            assert 0.0 <= float(x) <= 297.0
            assert 0.0 <= float(y) <= 210.0


def test_a_frame_without_readings_is_drawn_as_it_is_drawn() -> None:
    """A frame without readings has no picture of what was found, but one of what is drawn."""
    own = survey(ladder())
    assert own.adjusted is None
    ElementTree.fromstring(plan_svg(own))
    ElementTree.fromstring(side_svg(own))
