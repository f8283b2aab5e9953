"""Flat patterns whose areas, centres and radii are known by closed forms, worked here beside each."""

from __future__ import annotations

import math

from parts.flat import Flat, FlatBend
from parts.holes import Hole
from parts.outline import Contour, rectangle
from parts.sheet import Label, Mark
from tests.reference.dxf_readers import Wanted

INCH = 25.4


def _flat(contour: Contour, *holes: Hole, bends: tuple[FlatBend, ...] = (), labels: tuple[Label, ...] = ()) -> Flat:
    marks = (Mark(name="tick", strokes=(((5.0, 5.0), (5.0, 12.0)),)),)
    return Flat(name="case", thickness_mm=4.0, contour=contour, holes=holes, bends=bends, marks=marks, labels=labels)


def _segment(radius: float, sweep: float) -> float:
    """Between an arc and its chord: r^2 (w - sin w) / 2."""
    return radius**2 / 2 * (sweep - math.sin(sweep))


def _sector(radius: float, sweep: float) -> float:
    return radius**2 / 2 * abs(sweep)


def _round_hole(name: str, x: float, y: float, diameter: float) -> Hole:
    return Hole(name=name, x_mm=x, y_mm=y, diameter_mm=diameter)


def _cases() -> dict[str, tuple[Flat, Wanted]]:
    cases: dict[str, tuple[Flat, Wanted]] = {}

    plate = _flat(
        rectangle(0.0, 0.0, 400.0, 150.0).rounded([0.0, 20.0, 20.0, 0.0]),
        *(_round_hole(f"h{i}", 30.0 + 60.0 * i, 40.0 + 7.0 * i, 13.0 + 0.5 * i) for i in range(6)),
        bends=(
            FlatBend(
                name="a/b", line=((200.0, 0.0), (210.0, 150.0)), angle_deg=8.0, inside_radius_mm=5.0, k_factor=0.42,
                length_mm=150.3, width_mm=0.9,
            ),
        ),
        labels=(Label(text="plate-8 B0O", x_mm=30.0, y_mm=120.0),),
    )  # fmt: skip
    circles = tuple((30.0 + 60.0 * i, 40.0 + 7.0 * i, 6.5 + 0.25 * i) for i in range(6))
    # a square corner of radius r loses r^2 (1 - pi/4)
    area = 400.0 * 150.0 - 2 * 20.0**2 * (1 - math.pi / 4)
    cases["plate"] = plate, Wanted(
        areas_mm2=((area, 2 * _sector(20.0, math.pi / 2)),), circles_mm=circles, centres_mm=tuple(c[:2] for c in circles)
    )

    slots = _flat(
        rectangle(-50.0, -20.0, 250.0, 180.0),
        Hole(name="a", kind="slot", x_mm=0.0, y_mm=30.0, diameter_mm=11.0, length_mm=40.0, angle_deg=30.0),
        Hole(name="b", kind="slot", x_mm=60.0, y_mm=60.0, diameter_mm=9.0, length_mm=25.0, angle_deg=90.0),
        Hole(name="c", kind="rectangle", x_mm=150.0, y_mm=90.0, diameter_mm=50.0, length_mm=60.0, corner_radius_mm=8.0, angle_deg=15.0),
    )
    slot_areas = tuple((w * (long - w) + math.pi * w * w / 4, math.pi * w * w / 4) for w, long in ((11.0, 40.0), (9.0, 25.0)))
    window = (50.0 * 60.0 - 4 * 8.0**2 * (1 - math.pi / 4), 4 * _sector(8.0, math.pi / 2))
    cases["slots"] = slots, Wanted(
        areas_mm2=((300.0 * 200.0, 0.0), *slot_areas, window), circles_mm=(), centres_mm=((0.0, 30.0), (60.0, 60.0), (150.0, 90.0))
    )

    # the top edge rises 5 mm over its chord of 1000 mm: bulge = 2 rise / chord, radius = (500^2 + 5^2) / (2 * 5)
    crowned = _flat(Contour(((0.0, 0.0), (1000.0, 0.0), (1000.0, 100.0), (0.0, 100.0)), (0.0, 0.0, 0.01, 0.0)))
    crown = (500.0**2 + 5.0**2) / 10.0, 4 * math.atan(0.01)
    cases["large arc"] = crowned, Wanted(areas_mm2=((1000.0 * 100.0 + _segment(*crown), _sector(*crown)),), circles_mm=(), centres_mm=())

    # a half-circle bite of radius 15 and a keyhole bite of more than half a turn over a mouth of 20 (bulge -2: radius 20 * 5 / 8)
    top = ((200.0, 100.0), (165.0, 100.0), (135.0, 100.0), (70.0, 100.0), (50.0, 100.0), (0.0, 100.0))
    bitten = _flat(Contour(((0.0, 0.0), (200.0, 0.0), *top), (0.0, 0.0, 0.0, -1.0, 0.0, -2.0, 0.0, 0.0)))
    bites = [(15.0, math.pi), (12.5, 4 * math.atan(2.0))]
    left = 200.0 * 100.0 - sum(_segment(*b) for b in bites)
    cases["bites"] = bitten, Wanted(areas_mm2=((left, sum(_sector(*b) for b in bites)),), circles_mm=(), centres_mm=())

    small = _flat(rectangle(0.0, 0.0, 30.0, 20.0).rounded(0.5), _round_hole("h", 15.0, 10.0, 6.6))
    cases["small arcs"] = small, Wanted(
        areas_mm2=((600.0 - 4 * 0.25 * (1 - math.pi / 4), 4 * _sector(0.5, math.pi / 2)),),
        circles_mm=((15.0, 10.0, 3.3),),
        centres_mm=((15.0, 10.0),),
    )

    inches = _flat(
        rectangle(0.0, 0.0, 16.0 * INCH, 6.0 * INCH),
        _round_hole("h1", 1.5 * INCH, 2.25 * INCH, 17 / 32 * INCH),
        _round_hole("h2", 14.5 * INCH, 2.25 * INCH, 9 / 16 * INCH),
    )
    cases["inches"] = inches, Wanted(
        areas_mm2=((16.0 * 6.0 * 645.16, 0.0),),
        circles_mm=((38.1, 57.15, 17 / 64 * INCH), (368.3, 57.15, 9 / 32 * INCH)),
        centres_mm=((38.1, 57.15), (368.3, 57.15)),
    )
    return cases


CASES = _cases()
