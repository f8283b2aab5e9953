"""The sheet of paper: what is drawn is well-formed, letters are our own, and labels find room."""

from __future__ import annotations

import math
import re
from itertools import combinations
from random import Random
from xml.etree import ElementTree

import pytest

from generator.draw.sheet import HIGH, WIDE, Box, Sheet

A4 = (297.0, 210.0)  # ISO 216


def common(a: Box, b: Box) -> float:
    return max(0.0, min(a[2], b[2]) - max(a[0], b[0])) * max(0.0, min(a[3], b[3]) - max(a[1], b[1]))


def test_it_is_a4() -> None:
    root = ElementTree.fromstring(Sheet().svg("empty"))
    assert (WIDE, HIGH) == A4
    assert root.attrib["viewBox"] == "0 0 297 210"
    assert root.attrib["width"] == "297mm"


def test_a_title_with_signs_of_its_own_is_harmless() -> None:
    root = ElementTree.fromstring(Sheet().svg('<script> & "quotes"'))
    assert root[0].text == '<script> & "quotes"'
    assert len(list(root.iter())) == 3


def test_no_letters_of_the_readers_fonts() -> None:
    sheet = Sheet()
    sheet.text("as drawn; 95 %?", (20.0, 20.0), 2.5)
    assert "<text" not in sheet.svg("t")


def test_labels_do_not_cover_each_other() -> None:
    """Forty points at random on the sheet, some of them close together."""
    random = Random(1)
    sheet = Sheet()
    points = [(random.uniform(40, 250), random.uniform(40, 170)) for _ in range(40)]
    sheet.take(points, 1.0)
    boxes = [sheet.label((f"point-{i}-left", "x +1.2  y -0.3"), at, 2.1) for i, at in enumerate(points)]
    for a, b in combinations(boxes, 2):
        assert common(a, b) == 0.0
    for box in boxes:
        assert min(box[:2]) >= 0.0
        assert box[2] <= WIDE
        assert box[3] <= HIGH
        assert not any(box[0] < x < box[2] and box[1] < y < box[3] for x, y in points)


def test_the_preferred_side_comes_first() -> None:
    above = Sheet().label(("A",), (100.0, 100.0), 2.0, prefer_deg=90.0)
    below = Sheet().label(("A",), (100.0, 100.0), 2.0, prefer_deg=-90.0)
    assert above[3] < 100.0 < below[1]  # y runs down


def test_a_label_keeps_off_a_line() -> None:
    sheet = Sheet()
    sheet.take_line((50.0, 97.0), (150.0, 97.0))
    box = sheet.label(("A-right",), (100.0, 100.0), 2.0, prefer_deg=90.0)
    assert not box[1] < 97.0 < box[3]


@pytest.mark.parametrize("angle", [0.0, 30.0, -45.0])
def test_an_ellipse_turns_counter_clockwise_as_seen(angle: float) -> None:
    """SVG's y runs down, so that its rotate() is clockwise: the sign is turned."""
    sheet = Sheet()
    sheet.ellipse((100.0, 100.0), 5.0, 2.0, angle)
    found = re.search(r"rotate\((-?[0-9.]+)", sheet.svg("t"))
    assert (float(found[1]) if found else 0.0) == pytest.approx(-angle)


def test_a_far_label_is_tied_to_its_point() -> None:
    """Walled in to 9 mm all round, it goes farther out and a line leads back."""
    sheet = Sheet()
    ring = [(100.0 + 6.0 * math.cos(i / 10), 100.0 + 6.0 * math.sin(i / 10)) for i in range(63)]
    sheet.take(ring, 3.0)
    before = len(sheet.body)
    box = sheet.label(("A",), (100.0, 100.0), 2.0)
    assert max(abs(box[0] - 100.0), abs(box[1] - 100.0), abs(box[2] - 100.0), abs(box[3] - 100.0)) > 9.0
    assert len(sheet.body) == before + 2  # the line and the letter
