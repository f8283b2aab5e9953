"""Where hangers stand: rows along a pipe, and crossmembers. Every number is read off the placed tabs; see `test_hanger.py`."""

from __future__ import annotations

import math

import numpy as np
import pytest

from generator.rules.judge import judge
from parts.frame.features import KeepVisible
from parts.spec import Position
from tests.families.cases import FRAMES, made
from tests.families.test_hanger import JOB, axis, base_corners, hanger, level, path
from tests.parts.frame.makers import check_fault, cross, cross_section, frame


@pytest.mark.parametrize("name", FRAMES)
def test_a_row_of_clips(name: str) -> None:
    """At most 300 apart, none within 30 of a crossmember: every number read off the placed tabs."""
    read, kit = made(JOB, name)
    pieces = [p for p in kit.pieces if p.id.startswith("brake-clip")]
    assert [p.quantity for p in pieces] == [sum(p.quantity for p in pieces)]  # one straight web: one shape
    (piece,) = pieces
    pipe = np.array([p.xyz for p in next(k for k in read.frame.keep_out if k.name == "brake-pipe").points])
    xs = []
    for number in range(piece.quantity):
        point, direction = axis(piece, "clip", number)
        assert abs(direction[2]) == pytest.approx(1, abs=1e-9)
        web = read.frame.rail("left").point(read.frame.rail("left").plan.s_at_x(point[0]), 0.0, read.frame.rail("left").thickness_mm)[1]
        assert base_corners(piece, number)[:, 1] == pytest.approx(web, abs=1e-6)
        diameter = next(k for k in read.frame.keep_out if k.name == "brake-pipe").diameter_mm
        assert diameter is not None
        assert point[1] == pytest.approx(pipe[0][1] - (diameter / 2 + 1.5 + 10 / 2), abs=1e-6)  # M5 washer 10 across (ISO 7089)
        ends = base_corners(piece, number)[:, 0]
        for cm in read.frame.placed_crossmembers:
            assert max(cm.box[0] - ends.max(), ends.min() - cm.box[1]) >= 30 - 1e-6
        xs.append(point[0])
    gaps = np.diff(xs)
    assert (gaps > 0).all() and gaps.max() <= 300 + 1e-6
    assert len(piece.bolts) == len(piece.drilling) == piece.quantity
    for drilling, bolt in zip(piece.drilling, piece.bolts, strict=True):
        assert drilling.diameter_mm == 6.6 and drilling.diameter_mm <= 6 + 1  # ISO 273 medium; bolt + 1.0 mm (VSB 6)
        assert bolt.grip_mm == pytest.approx(2 + read.frame.rail("left").thickness_mm)
        assert drilling.along_mm == pytest.approx(
            bolt.head[0] - read.frame.rail("left").point(read.frame.rail("left").station_s(drilling.datum), 0)[0], abs=1e-6
        )  # level and straight there: the tape runs along x
    assert not [f for f in judge(kit.pieces, kit.flats, read.frame, read.job.shop).findings if f.level == "stop"]


def test_a_row_keeps_off_numbers_crossmembers_and_turns() -> None:
    """The number takes x 450 -+ 60, the crossmember 800 -+ 25 and 40 more to either side; the pipe turns at 1100."""
    number = KeepVisible(name="number", what="stamp", at=Position(x_mm=450.0), up_mm=70.0, length_mm=120.0, height_mm=60.0, side="right")
    on = frame(keep_visible=(number,), crossmembers=(cross(at=Position(x_mm=800.0), drop_mm=25.0),))
    bent = path(on, (100, 380, 520), (1100, 380, 520), (1400, 380, 500))
    row = hanger(every_mm=150.0, start=Position(x_mm=200.0), end=Position(x_mm=1300.0), off_crossmember_mm=40.0)
    pieces = row.build(bent)
    spans = sorted((base_corners(p, k)[:, 0].min(), base_corners(p, k)[:, 0].max()) for p in pieces for k in range(p.quantity))
    for a, b in spans:
        assert b <= 390 + 1e-6 or a >= 510 - 1e-6
        assert b <= 735 + 1e-6 or a >= 865 - 1e-6
    ats = sorted(axis(p, "pipe", k)[0][0] for p in pieces for k in range(p.quantity))
    reach = 3 * 10 * math.tan(math.atan(20 / 300) / 2)
    assert all(abs(x - 1100) >= 13 + reach - 1e-6 for x in ats)
    assert ats[0] == pytest.approx(200) and ats[-1] >= 1290
    along = [x if x <= 1100 else 1100 + (x - 1100) * math.hypot(1, 20 / 300) for x in ats]  # by the pipe's own length
    wide = [f for p in pieces for f in p.findings if f.code == "span-long"]
    told = sorted(float(f.value.removesuffix(" mm")) for f in wide)
    assert told == pytest.approx(sorted(g for g in np.diff(along) if g > 150 + 1e-6), abs=0.05) and told


def test_crossmembers_that_no_tab_stands_on() -> None:
    tube = cross_section(kind="tube", width_mm=None, depth_mm=76)
    pipe = path(frame(crossmembers=(cross(name="tube", at=Position(x_mm=800.0), section=tube),)),
                (100, 0, 400), (1400, 0, 400))  # fmt: skip
    check_fault(lambda: hanger(on="tube").build(pipe), "part tab", "on", "is a tube: it has no flat side")
    check_fault(lambda: hanger(on="nobody").build(level()), "part tab", "on", "no part before this one and no crossmember has that name")
    on = frame(crossmembers=(cross(name="cm", at=Position(x_mm=800.0)),))
    check_fault(lambda: hanger(on="cm", at=Position(x_mm=800.0)).build(level(on)), "part tab", "at", "the pipe itself says where")


def test_a_pipe_across_the_vehicle_on_a_crossmembers_front() -> None:
    """The channel opens rearward: its web looks forward, x 775; the pipe runs across 45 in front of it."""
    on = path(frame(crossmembers=(cross(name="cm", at=Position(x_mm=800.0)),)), (730, -300, 525), (730, 300, 525))
    (piece,) = hanger(on="cm", y_mm=50.0).build(on)
    assert piece.side == "centre" and piece.id == "tab"
    assert base_corners(piece)[:, 0] == pytest.approx(775, abs=1e-9)
    point, direction = axis(piece, "pipe")
    assert point == pytest.approx((730, 50, 525), abs=1e-6) and abs(direction[1]) == pytest.approx(1)
