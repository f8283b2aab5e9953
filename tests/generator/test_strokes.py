"""The stroke alphabet: everything asked for is drawn, nothing closes, look-alikes differ, sizes are what they say."""

from __future__ import annotations

import math
import string
from itertools import combinations, pairwise

import pytest

from generator.draw.strokes import CHARACTERS, text_strokes, text_width
from parts.outline import Point, Segment

ASKED = string.ascii_letters + string.digits + "-_./+=(),:\"'x#% °ø"
HEIGHT_MM = 9.0  # a cap height of nine grid units, so that the numbers below are grid units
#: Pairs that a reader in a shop mixes up; common practice, no source.
LOOK_ALIKES = [
    "0O", "0D", "0o", "0Q", "OQ", "1I", "1l", "Il", "il", "ij", "5S", "5s", "8B", "8S", "2Z", "6b", "6G", "9g", "UV", "uv", "ce", "CG",
    "nh",
]  # fmt: skip


def _samples(character: str) -> list[Point]:
    """Points a tenth of a grid unit apart along the strokes, moved so that the box begins at x = 0."""
    out: list[Point] = []
    for stroke in text_strokes(character, 0.0, 0.0, HEIGHT_MM):
        for a, b in pairwise(stroke):
            steps = max(1, math.ceil(math.dist(a, b) / 0.1))
            out += [(a[0] + (b[0] - a[0]) * k / steps, a[1] + (b[1] - a[1]) * k / steps) for k in range(steps + 1)]
    left = min(x for x, _ in out)
    return [(x - left, y) for x, y in out]


def _farthest(one: list[Point], two: list[Point]) -> float:
    """Hausdorff distance."""
    there = [min(math.dist(p, q) for q in two) for p in one]
    return max(*there, *(min(math.dist(p, q) for q in one) for p in two))


def test_every_character_asked_for_is_drawn() -> None:
    assert set(ASKED) <= CHARACTERS
    box = text_strokes("\N{SNOWMAN}", 0.0, 0.0, HEIGHT_MM)
    assert len(box) == 1
    for character in ASKED.replace(" ", ""):
        strokes = text_strokes(character, 0.0, 0.0, HEIGHT_MM)
        assert strokes and strokes != box, character
    assert text_strokes(" ", 0.0, 0.0, HEIGHT_MM) == ()


def _loops(segments: list[Segment]) -> int:
    """How many areas the segments enclose: edges - corners + connected parts, once all are split where they meet (Euler)."""
    corners: set[Point] = set()
    edges: set[tuple[Point, Point]] = set()
    for s in segments:
        meets = [s.a, s.b] + [p for o in segments if o is not s for p in s.crossings(o)]
        along = sorted({(round(x, 6), round(y, 6)) for x, y in meets}, key=lambda p: math.dist(p, s.a))
        corners.update(along)
        edges.update((min(p), max(p)) for p in pairwise(along))
    parts = len(corners)
    leader = {c: c for c in corners}

    def find(c: Point) -> Point:
        while leader[c] != c:
            c = leader[c]
        return c

    for p, q in edges:
        if find(p) != find(q):
            leader[find(p)] = find(q)
            parts -= 1
    return len(edges) - len(corners) + parts


def test_the_loop_count_sees_a_ring_and_a_barred_letter() -> None:
    square = [Segment((0, 0), (1, 0)), Segment((1, 0), (1, 1)), Segment((1, 1), (0, 1)), Segment((0, 1), (0, 0))]
    assert (_loops(square[:3]), _loops(square), _loops([*square, Segment((0.5, -1), (0.5, 2))])) == (0, 1, 2)


@pytest.mark.parametrize("character", sorted(CHARACTERS | {"?"}))
def test_strokes_enclose_nothing_that_could_fall_out(character: str) -> None:
    segments = []
    for stroke in text_strokes(character, 0.0, 0.0, HEIGHT_MM):
        assert math.dist(stroke[0], stroke[-1]) > 0.3, "ends meet"
        segments += [Segment(a, b) for a, b in pairwise(stroke)]
    assert all(s.chord > 0.2 for s in segments), "a step too short to etch"
    assert _loops(segments) == 0


@pytest.mark.parametrize("pair", LOOK_ALIKES)
def test_look_alikes_differ_by_a_tenth_of_the_height(pair: str) -> None:
    assert _farthest(_samples(pair[0]), _samples(pair[1])) > HEIGHT_MM / 10


def test_all_characters_differ() -> None:
    drawn = [c for c in sorted(CHARACTERS) if c not in " Ø×\u2212\u2013\u2032\u2033"]
    samples = {c: _samples(c) for c in drawn}
    alike = [(a, b) for a, b in combinations(drawn, 2) if _farthest(samples[a][::3], samples[b][::3]) < 0.6]
    assert alike == []


def test_capitals_and_digits_are_as_high_as_asked() -> None:
    for character in string.ascii_uppercase.replace("Q", "") + string.digits:
        ys = [y for s in text_strokes(character, 0.0, 0.0, 6.0) for _, y in s]
        assert (min(ys), max(ys)) == pytest.approx((0.0, 6.0)), character


def test_width_is_where_the_last_letter_ends() -> None:
    text = "rail-plate-2"
    strokes = text_strokes(text, 10.0, 0.0, 6.0)
    assert max(x for s in strokes for x, _ in s) == pytest.approx(10.0 + text_width(text, 6.0), abs=1e-9)
    assert text_width("", 6.0) == 0.0
    assert text_width("AA", 12.0) == pytest.approx(2 * text_width("AA", 6.0))


def test_turned_and_moved_is_the_plain_one_turned_and_moved() -> None:
    plain, turned = text_strokes("Ab4", 0.0, 0.0, 6.0), text_strokes("Ab4", 7.0, -3.0, 6.0, 90.0)
    for one, two in zip(plain, turned, strict=True):
        for (x, y), (p, q) in zip(one, two, strict=True):
            assert (p, q) == pytest.approx((7.0 - y, -3.0 + x), abs=1e-9)
