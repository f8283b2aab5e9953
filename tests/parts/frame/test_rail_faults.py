"""Each fault of a rail by itself provoked once: the station, the field, and what is said about it."""

from __future__ import annotations

import math
from collections.abc import Callable
from typing import Any

import pytest

from parts.frame.station import DrawnRail
from tests.parts.frame.makers import check_fault, drawn, faults_of, section, station, turned

TAN_10, COS_10 = math.tan(math.radians(10)), math.cos(math.radians(10))
TIGHT = (station("a", 0), station("b", 600, z=600, kick=900), station("c", 900, z=720, kick=900), station("d", 2000, z=720))


def straight(*rest: Any, **fields: Any) -> DrawnRail:
    return drawn(station("front", 0), *rest, station("rear", 3600), **fields)


EACH: list[tuple[str, Callable[[], Any], str, str, str]] = [
    # section
    ("flange of no width", lambda: section(flange_mm=-60), "", "flange", "20 to 200 mm"),
    ("web in metres", lambda: section(web_mm=0.004), "", "web", "1 to 16 mm"),
    ("web as thick as the flange is wide", lambda: section(flange_mm=20, web_mm=16, inside_radius_mm=4), "", "flange", "more than 20 mm"),
    ("box with no room", lambda: section(kind="closed", flange_mm=20, web_mm=8, inside_radius_mm=4), "", "flange", "more than 24 mm"),
    ("hat without a lip", lambda: section(kind="hat"), "", "lip", "a hat section has lips"),
    ("channel with a lip", lambda: section(lip_mm=20), "", "lip", "only a hat section has lips"),
    ("radius of nothing", lambda: section(inside_radius_mm=float("nan")), "", "inside_radius", "finite"),
    # stations
    ("depth in metres", lambda: station("a", 0, depth=0.18), "", "depth", "40 to 400 mm"),
    ("negative radius", lambda: station("a", 0, turn=-5), "", "turn_radius", "0 to 20000 mm"),
    ("one station", lambda: drawn(station("a", 0)), "", "station", "at least two"),
    ("same place twice", lambda: straight(station("b", 1000), station("c", 1000)), "station c", "x", "two stations at one place"),
    ("x goes back", lambda: straight(station("b", 1000), station("c", 900)), "station c", "x", "more than 1000 mm, that of b"),
    ("one name twice", lambda: straight(station("rear", 1000)), "station rear", "name", "two stations"),
    ("left rail on the right", lambda: drawn(station("a", 0, y=-430), station("b", 900), side="left"), "station b", "y", "has y below 0"),
    ("right rail on the left", lambda: straight(station("b", 1000, y=-430)), "station b", "y", "has y above 0"),
    ("too long", lambda: drawn(station("a", -500), station("b", 12000)), "station b", "x", "12000 mm"),
    (
        "depth under the flanges",
        lambda: drawn(station("a", 0, depth=100), station("b", 900), section=section(inside_radius_mm=40, flange_thickness_mm=12)),
        "station a",
        "depth",
        "more than 104 mm",
    ),
    ("rail runs sideways", lambda: straight(station("b", 3500, y=100)), "station rear", "y", "sideways by 73.1 deg"),
    ("rail runs upward", lambda: straight(station("b", 3500, z=100)), "station rear", "z", "up or down by 78.7 deg"),
    # 4000 tan 20 = 1455.88
    (
        "turn too wide",
        lambda: drawn(station("a", 0), station("b", 1500, turn=4000), station("c", 1900, y=430 - 400 * math.tan(math.radians(40)))),
        "station b",
        "turn_radius",
        "reaches 1455.9 mm",
    ),
    (
        "turns back",
        lambda: drawn(station("a", 0), station("b", 500, y=630), station("c", 900, y=110), station("d", 1900, y=110)),
        "station b",
        "y",
        "turns by 74.2 deg",
    ),  # atan(200 / 500) + atan(520 / 400) = 21.801 + 52.431
    (
        "kicks down",
        lambda: drawn(station("a", 0), station("b", 500, z=900), station("c", 900, z=500), station("d", 1900, z=500)),
        "station b",
        "z",
        "kicks by 76.0 deg",
    ),  # atan(300 / 500) + 45 = 30.964 + 45
    # the lower corner's kick lies 150 tan 9 = 23.76 behind the station, the rail's end 20
    (
        "end inside a kick",
        lambda: drawn(station("a", 0), station("b", 900), station("c", 920, z=600 + 20 * math.tan(math.radians(18)))),
        "station c",
        "x",
        "no length between b and c",
    ),
    (
        "steep taper",
        lambda: drawn(station("a", 0), station("b", 100, depth=100)),
        "station b",
        "depth",
        "a taper of 26.6 deg",
    ),  # atan(50 / 100)
    ("turn folds the toes", lambda: turned(radius=50), "station turn", "turn_radius", "at least the flange's 60 mm"),
    # a run of sqrt(300^2 + 120^2) = 323.11; tangents 900 tan(atan(0.4) / 2) = 173.32, so 149.79 are left for either
    (
        "kicks do not fit",
        lambda: drawn(*TIGHT),
        "station b",
        "kick_radius",
        "reaches 173.3 mm along the straight lines, where 149.8 mm are free",
    ),
    # Down 100 in 400 to b, then level: half the kick is 7.0181 deg. Above, 3300 tan = 406.26 of sqrt(400^2 + 100^2) = 412.31. Below,
    # 3450 tan = 424.72 of 412.31 + 150 tan(7.0181) - 150 x 100 / 400 = 393.28: the end is cut upright.
    (
        "lower arc does not fit",
        lambda: drawn(station("a", 0, z=700), station("b", 400, kick=3300), station("c", 1500)),
        "station b",
        "kick_radius",
        "the lower corner's arc reaches 424.7 mm along its straight lines, where 393.3 mm are free",
    ),
    # Up at 10 deg over 500 while the depth grows to (500 tan 10 + 150 cos 10) / cos 10 = 239.52: both lower lines are level, 2.28 apart.
    (
        "no meeting point below",
        lambda: drawn(station("a", 0), station("b", 900), station("c", 1400, z=600 + 500 * TAN_10, depth=500 * TAN_10 / COS_10 + 150)),
        "station b",
        "depth",
        "no meeting point",
    ),
    (
        "next to none",
        lambda: drawn(station("a", 0), station("b", 900), station("c", 1400, z=600 + 500 * TAN_10, depth=239.5)),
        "station b",
        "depth",
        "no meeting point",
    ),
]


@pytest.mark.parametrize(("make", "where", "field", "limit"), [case[1:] for case in EACH], ids=[case[0] for case in EACH])
def test_each_fault_is_named(make: Callable[[], Any], where: str, field: str, limit: str) -> None:
    check_fault(make, where, field, limit)


def test_largest_kick_radius_in_the_message_does_fit() -> None:
    """The remedy is tried: 149.79 mm are free where 900 needs 173.32, so 777.7 fits."""
    (fault,) = faults_of(lambda: drawn(*TIGHT))
    most = float(fault.remedy.split()[2])
    assert drawn(TIGHT[0], station("b", 600, z=600, kick=most), *TIGHT[2:]).stations[1].kick_radius_mm == most
