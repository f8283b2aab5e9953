"""A sheet of paper to draw on: A4 across, in mm from its upper left corner, y down. Lines, letters in our own strokes, and labels that
find room for themselves. Text only: no kernel, no fonts.
"""

from __future__ import annotations

import math
from collections.abc import Iterable, Sequence
from typing import TYPE_CHECKING
from xml.sax.saxutils import escape

import numpy as np

from generator.draw.strokes import CAP, text_strokes, text_width
from parts.outline import Point

if TYPE_CHECKING:
    from numpy.typing import NDArray

WIDE, HIGH = 297.0, 210.0
INK, GREY = "#1c1c1c", "#8a8a8a"
DESCENT = 3.0 / CAP  #: how far small letters reach below the base line, of a capital's height
AWAY_MM = (3.0, 5.0, 7.5, 10.5, 14.0, 18.0, 23.0, 29.0)  #: how far from its point a label may stand
TURNS = 24  #: directions in which it is tried
CLEAR_MM = 0.7  #: between a label and a mark
BESIDE, ABOVE = 1.2, 0.9  #: heights of its letters that stay free between a label and the next one beside, over and under it
PITCH = 1.55  #: from one line of a label to the next, in heights of its letters
LEADER_MM = 4.5  #: a label farther off than this gets a line to its point

Box = tuple[float, float, float, float]  #: left, top, right, low


class Sheet:
    """What is drawn, and which places are taken."""

    def __init__(self) -> None:
        self.body: list[str] = []
        self.taken: list[Box] = []
        self.crossed: list[Box] = []  #: may be covered where there is no better place
        self.labels: list[Box] = []  #: as large as they are drawn

    def line(self, points: Sequence[Point], width: float, *, ink: str = INK, dash: str = "", closed: bool = False) -> None:
        path = "M" + "L".join(_pair(p) for p in points) + ("Z" if closed else "")
        dashes = f' stroke-dasharray="{dash}"' if dash else ""
        self.body.append(
            f'<path d="{path}" stroke="{ink}" stroke-width="{width:g}" fill="none" stroke-linejoin="round" stroke-linecap="round"{dashes}/>'
        )

    def disc(self, at: Point, radius: float, *, filled: bool = True, width: float = 0.25) -> None:
        fill = INK if filled else "white"
        self.body.append(
            f'<circle cx="{at[0]:.2f}" cy="{at[1]:.2f}" r="{radius:g}" fill="{fill}" stroke="{INK}" stroke-width="{width:g}"/>'
        )

    def cross(self, at: Point, reach: float, width: float = 0.2, *, ink: str = INK) -> None:
        for dx, dy in ((reach, reach), (reach, -reach)):
            self.line([(at[0] - dx, at[1] - dy), (at[0] + dx, at[1] + dy)], width, ink=ink)

    def hatched(self, box: Box, pitch: float = 1.0, width: float = 0.15) -> None:
        """A rectangle, hatched both ways."""
        left, top, right, low = box
        self.line([(left, top), (right, top), (right, low), (left, low)], width, closed=True)
        high, wide = low - top, right - left
        count = math.ceil((wide + high) / pitch)
        for i in range(1, count):
            c = (wide + high) * i / count  # along the slanting line x + y = c, from the upper left corner
            ends = ((max(0.0, c - high), min(high, c)), (min(wide, c), max(0.0, c - wide)))
            self.line([(left + x, top + y) for x, y in ends], width)
            self.line([(right - x, top + y) for x, y in ends], width)

    def ellipse(self, at: Point, long: float, short: float, angle_deg: float, width: float = 0.25) -> None:
        """Half axes; the long one turned `angle_deg` counter-clockwise, as seen, from the right."""
        turn = f' transform="rotate({-angle_deg:.2f} {_pair(at)})"' if abs(angle_deg) > 0.005 else ""
        self.body.append(
            f'<ellipse cx="{at[0]:.2f}" cy="{at[1]:.2f}" rx="{long:.2f}" ry="{short:.2f}" fill="none" stroke="{INK}" '
            f'stroke-width="{width:g}"{turn}/>'
        )

    def text(self, text: str, at: Point, height: float, *, middle: bool = False, bold: bool = False) -> Box:
        """From the left end of its base line, or round its middle; returns the room it takes."""
        wide = text_width(text, height)
        x, y = (at[0] - wide / 2, at[1] + height / 2) if middle else at
        strokes = text_strokes(text, x, -y, height)
        path = " ".join("M" + "L".join(_pair((px, -py)) for px, py in stroke) for stroke in strokes)
        if path:
            width = height * (0.14 if bold else 0.09)
            self.body.append(f'<path d="{path}" stroke="{INK}" stroke-width="{width:.3g}" fill="none" stroke-linecap="round" '
                             f'stroke-linejoin="round"/>')  # fmt: skip
        return x, y - height, x + wide, y + height * DESCENT

    def take(self, points: Iterable[Point], reach: float = 0.6) -> None:
        """No label comes to lie on these."""
        self.taken += [(x - reach, y - reach, x + reach, y + reach) for x, y in points]

    def take_line(self, a: Point, b: Point, reach: float = 0.4, *, lightly: bool = False) -> None:
        """The same for a line; `lightly`: it may be covered where there is no better place."""
        steps = max(1, math.ceil(math.dist(a, b) / (2 * reach)))
        boxes = self.crossed if lightly else self.taken
        for i in range(steps + 1):
            x, y = a[0] + (b[0] - a[0]) * i / steps, a[1] + (b[1] - a[1]) * i / steps
            boxes.append((x - reach, y - reach, x + reach, y + reach))

    def label(
        self, lines: Sequence[str], at: Point, height: float, *, prefer_deg: float = 90.0, within: Box | None = None, bold: bool = False
    ) -> Box:  # fmt: skip
        """Lines of text beside a point, where they cover least: nearest first, `prefer_deg` (counter-clockwise from the right) first.

        Bold ones name what lies there as a whole: no line leads to their point.
        """
        wide, high = _size(lines, height)
        area = within or (2.0, 2.0, WIDE - 2.0, HIGH - 2.0)
        reach = (AWAY_MM[-1] + wide + 2 * height, AWAY_MM[-1] + high + 2 * height)
        taken, crossed, labels = _near(self.taken, at, reach), _near(self.crossed, at, reach), _near(self.labels, at, reach)
        best: tuple[float, Box] | None = None
        for away in AWAY_MM:
            for i in range(TURNS):
                turn = math.radians(prefer_deg + ((i + 1) // 2) * (1 if i % 2 else -1) * 360.0 / TURNS)
                c, s = math.cos(turn), -math.sin(turn)
                x, y = at[0] + away * c + (wide / 2) * _side(c), at[1] + away * s + (high / 2) * _side(s)
                box = (x - wide / 2, y - high / 2, x + wide / 2, y + high / 2)
                cost = 10.0 * _common(_wider(box, CLEAR_MM, CLEAR_MM), taken)
                cost += 10.0 * _common(_wider(box, BESIDE * height, ABOVE * height), labels)
                cost += _common(box, crossed) + 50.0 * _outside(box, area) + 0.2 * away + 0.05 * i
                near = _nearest(box, at)
                if not bold and math.dist(near, at) > LEADER_MM:
                    cost += 5.0 * _through(at, near, labels)
                if best is None or cost < best[0]:
                    best = (cost, box)
        assert best is not None
        box = best[1]
        near = _nearest(box, at)
        if math.dist(near, at) > LEADER_MM and not bold:
            self.line([at, near], 0.12, ink=GREY)
            self.take_line(at, near)
        self._lettered(lines, box, height, bold)
        return box

    def facing(self, lines: tuple[Sequence[str], Sequence[str]], ends: tuple[float, float], y: float, height: float) -> tuple[Box, Box]:
        """Two bold labels at one height, as near to `y` as there is room: one ends left of `ends[0]`, one begins right of `ends[1]`."""
        sizes = [_size(own, height) for own in lines]
        lefts = (max(2.0, ends[0] - sizes[0][0]), min(WIDE - 2.0 - sizes[1][0], ends[1]))

        def boxes(middle: float) -> tuple[Box, Box]:
            a, b = ((x, middle - high / 2, x + wide, middle + high / 2) for x, (wide, high) in zip(lefts, sizes, strict=True))
            return a, b

        def cost(away: float) -> float:
            around = [_wider(box, BESIDE * height, ABOVE * height) for box in boxes(y + away)]
            others = np.array([*self.taken, *self.labels], dtype=float).reshape(-1, 4)
            return 10.0 * sum(_common(box, others) for box in around) + abs(away)

        found = boxes(y + min((step * sign for step in range(25) for sign in (1.0, -1.0)), key=cost))
        for own, box in zip(lines, found, strict=True):
            self._lettered(own, box, height, True)
        return found

    def _lettered(self, lines: Sequence[str], box: Box, height: float, bold: bool) -> None:
        for k, line in enumerate(lines):
            self.text(line, (box[0], box[1] + height + height * PITCH * k), height, bold=bold)
        self.labels.append(box)

    def svg(self, title: str) -> str:
        """The text of an SVG file; the same calls give the same text."""
        head = (
            f'<svg xmlns="http://www.w3.org/2000/svg" viewBox="0 0 {WIDE:g} {HIGH:g}" width="{WIDE:g}mm" height="{HIGH:g}mm" role="img">'
        )
        paper = f'<rect x="0" y="0" width="{WIDE:g}" height="{HIGH:g}" fill="white"/>'
        return "\n".join([head, f"<title>{escape(title)}</title>", paper, *self.body, "</svg>", ""])


def _side(share: float) -> float:
    """-1 to 1: a box beside a point touches it with its edge's middle or a corner, not with its own middle."""
    return max(-1.0, min(1.0, 1.4 * share))


def _size(lines: Sequence[str], height: float) -> tuple[float, float]:
    return max(text_width(line, height) for line in lines), height * (1 + DESCENT) + height * PITCH * (len(lines) - 1)


def _wider(box: Box, beside: float, above: float) -> Box:
    return box[0] - beside, box[1] - above, box[2] + beside, box[3] + above


def _nearest(box: Box, at: Point) -> Point:
    return min(max(at[0], box[0]), box[2]), min(max(at[1], box[1]), box[3])


def _through(a: Point, b: Point, boxes: NDArray[np.float64]) -> int:
    """How many of the boxes (n, 4) the line from a to b runs into, looked at in twelve places."""
    share = np.linspace(0.0, 1.0, 12)[:, None]
    x, y = a[0] + (b[0] - a[0]) * share, a[1] + (b[1] - a[1]) * share
    inside = (x > boxes[:, 0]) & (x < boxes[:, 2]) & (y > boxes[:, 1]) & (y < boxes[:, 3])
    return int(inside.any(axis=0).sum())


def _near(boxes: Sequence[Box], at: Point, reach: tuple[float, float]) -> NDArray[np.float64]:
    """(n, 4) those of the boxes that come within reach of a point."""
    own = np.array(boxes, dtype=float).reshape(-1, 4)
    dx, dy = reach
    near = (own[:, 0] < at[0] + dx) & (own[:, 2] > at[0] - dx) & (own[:, 1] < at[1] + dy) & (own[:, 3] > at[1] - dy)
    out: NDArray[np.float64] = own[near]
    return out


def _common(box: Box, others: NDArray[np.float64]) -> float:
    """mm2 that the others (n, 4) have in common with a box, each by itself."""
    wide = np.minimum(box[2], others[:, 2]) - np.maximum(box[0], others[:, 0])
    high = np.minimum(box[3], others[:, 3]) - np.maximum(box[1], others[:, 1])
    return float((np.maximum(wide, 0.0) * np.maximum(high, 0.0)).sum())


def _outside(box: Box, area: Box) -> float:
    return max(0.0, area[0] - box[0]) + max(0.0, area[1] - box[1]) + max(0.0, box[2] - area[2]) + max(0.0, box[3] - area[3])


def _pair(p: Point) -> str:
    return f"{p[0]:.2f} {p[1]:.2f}".replace("-0.00", "0.00")
