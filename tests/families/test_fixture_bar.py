"""The fixture bar on the seats of the demo frames and on leaning seats made up here.

Places are worked by hand from the frames' own dimensions, or read off the brackets' solids by folding, never off the seats that the bar
was given. Holes by ISO 273 (M12: fine 13). Tolerances: 1e-6 mm where curves were looked up, half the last digit where a note is read.
"""

from __future__ import annotations

import math
import re
from dataclasses import replace
from pathlib import Path
from typing import Any

import numpy as np
import pytest
from hypothesis import given, settings
from hypothesis import strategies as st
from numpy.typing import NDArray

from generator.kernel.messages import BuiltSolid
from generator.kernel.service import Kernel
from parts.bending import KFactor
from parts.errors import BadInput
from parts.families import CrossmemberBracket, FixtureBar
from parts.flat import unfold
from parts.formed import formed
from parts.frame import Frame
from parts.frame.offers import Seat
from parts.outline import rectangle
from parts.piece import Piece
from parts.sheet import HOME, Panel, SheetPart
from parts.soundness import faults
from parts.spec import Position
from tests.families.cases import FRAMES, made
from tests.families.test_suite import STEEL
from tests.parts.frame.makers import check_fault, frame

Array = NDArray[np.float64]
JOB = "orchard-lines"
#: Outermost slots to outermost slots, by hand: seat 110 deep, bend 4 + 5 = 9, slots (9 + 110) / 2 -+ 101 / 4 off the web, the outer 34.25.
#: Flatbed: 2 (430 - 4 - 34.25). Wagon: 2 (17 in - 5/32 in - 34.25). Pickup: (410 - 5 - 34.25) + (413 - 5 - 34.25).
OUTERMOST = {"orchard-flatbed": 783.5, "river-wagon": 2 * (17 * 25.4 - 5 / 32 * 25.4 - 34.25), "mill-pickup": 744.5}


def axes(piece: Piece) -> dict[str, tuple[Array, Array]]:
    """Hole -> (point on its axis on the bearing face, direction), in the vehicle."""
    place, out = piece.placements[0], {}
    for axis in formed(piece.part).hole_axes:
        a, b = (np.array(place.point(*p)) for p in (axis.point, tuple(np.add(axis.point, axis.direction))))
        out[axis.name] = (a, b - a)
    return out


def off_axis(axis: tuple[Array, Array], p: Any) -> float:
    d = np.array(p) - axis[0]
    return float(np.linalg.norm(d - (d @ axis[1]) * axis[1]))


def seated(*seats: Seat, on: Frame | None = None) -> Frame:
    """A frame on which a part called seat has these seats; its steel is far away."""
    part = SheetPart(name="seat", thickness_mm=4, panels=(Panel(name="p", contour=rectangle(0, 0, 50, 50)),))
    away = replace(HOME, origin=(0.0, 0.0, -5000.0))
    pieces = [
        Piece(id=f"seat-{s.side}", family="made up", side=s.side, part=part, grade="A36", placements=(away,), seats=(s,)) for s in seats
    ]
    return (on or frame()).with_built("seat", pieces)


def pair(left: Array, right: Array, *, half: float = 300.0, rise: float = 0.0, bolts: float = 40.0) -> tuple[Seat, Seat]:
    """Two seats with these normals, two bolt places each, `bolts` apart across the vehicle along the seat's own fall."""
    out = []
    for side, normal, y, z in (("left", left, -half, 700.0), ("right", right, half, 700.0 + rise)):
        n = normal / np.linalg.norm(normal)
        way = np.cross(n, [1.0, 0.0, 0.0])
        way /= np.linalg.norm(way)
        middle = np.array([800.0, y, z])
        points = tuple(tuple(float(c) for c in middle + k * bolts / 2 * way) for k in (-1, 1))
        out.append(Seat(name="seat", side=side, normal=tuple(map(float, n)), points=points, bolt="M12", thickness_mm=6.0))  # type: ignore[arg-type]
    return out[0], out[1]


def leaning(roll_deg: float, pitch_deg: float = 0.0) -> Array:
    """A seat's normal: rolled + towards the right, then pitched + towards the rear."""
    a, b = math.radians(roll_deg), math.radians(pitch_deg)
    n = np.array([0.0, math.sin(a), math.cos(a)])
    turn = np.array([[math.cos(b), 0, math.sin(b)], [0, 1, 0], [-math.sin(b), 0, math.cos(b)]])
    out: Array = turn @ n
    return out


def bar(**fields: Any) -> FixtureBar:
    return FixtureBar(**{"id": "bar", "ties": "seat", "thickness_mm": 5.0, "width_mm": 60.0, **fields})


@pytest.mark.parametrize("name", FRAMES)
def test_its_holes_have_the_seats_distances_on_every_frame(name: str) -> None:
    """Every distance between two holes of the bar is that between the slots' middles of the two folded brackets."""
    _, kit = made(JOB, name)
    own = next(p for p in kit.pieces if p.id == "seat-bar")
    holes = axes(own)
    wanted: dict[str, tuple[Array, Array]] = {}
    for side in ("left", "right"):
        bracket = next(p for p in kit.pieces if p.id == f"gearbox-seat-{side}")
        wanted |= {f"{side}-{k[-1]}": v for k, v in axes(bracket).items()}
    names = sorted(wanted)
    assert names == ["left-1", "left-2", "right-1", "right-2"]
    assert set(holes) == {*names, "centre"}
    for one in names:
        assert abs(holes[one][1] @ wanted[one][1]) == pytest.approx(1, abs=1e-12)
        for two in names:
            apart = (np.linalg.norm(np.cross(x[two][0] - x[one][0], x[one][1])) for x in (holes, wanted))
            a, b = apart
            assert a == pytest.approx(b, abs=1e-6)
        assert off_axis(holes[one], wanted[one][0]) < 1e-6
    widest = max(np.linalg.norm(holes[f"left-{i}"][0] - holes[f"right-{j}"][0]) for i in (1, 2) for j in (1, 2))
    assert widest == pytest.approx(OUTERMOST[name], abs=1e-6)
    assert holes["centre"][0][1] == pytest.approx(0, abs=1e-9)
    assert not own.welds and not own.drilling and len(own.bolts) == 4
    assert any("after the last weld has cooled" in n for n in own.notes)


@pytest.mark.parametrize("name", FRAMES)
def test_it_lies_level_on_the_seats_upper_faces(name: str) -> None:
    """At one height with the brackets' seats, read off their folded solids; bolts clamp 4 + 4 mm."""
    _, kit = made(JOB, name)
    own = next(p for p in kit.pieces if p.id == "seat-bar")
    top = formed(next(p for p in kit.pieces if p.id == "gearbox-seat-left").part).box(
        next(p for p in kit.pieces if p.id == "gearbox-seat-left").placements[0]
    )[1][2]
    low, high = formed(own.part).box(own.placements[0])
    assert low[2] == pytest.approx(top, abs=1e-6)
    assert high[2] - low[2] == pytest.approx(30, abs=1e-6)  # the flanges, over all
    assert {b.grip_mm for b in own.bolts} == {8.0}
    for bolt in own.bolts:
        assert bolt.nut[2] == pytest.approx(top - 4, abs=1e-6) and bolt.head[2] == pytest.approx(top + 4, abs=1e-6)


def test_diagonals_of_two_rails_that_differ() -> None:
    """pin-front by hand from the pickup's file: 330 rearward of front-axle, 70 up. Left x 980, y -405 (inside), z 500 - 140 + 70; right
    x 984, y 408, z 500 - 141 + 70. Both numbers of the note, to its last digit."""
    _, kit = made(JOB, "mill-pickup")
    own = next(p for p in kit.pieces if p.id == "seat-bar")
    left = axes(next(p for p in kit.pieces if p.id == "gearbox-seat-left"))["slot-1"][0]
    right = axes(next(p for p in kit.pieces if p.id == "gearbox-seat-right"))["slot-1"][0]
    top = formed(own.part).box(own.placements[0])[0][2]
    left[2] = right[2] = top  # on the bearing face, along the upright axis
    one = np.linalg.norm(left - [984, 408, 429])
    two = np.linalg.norm(right - [980, -405, 430])
    (said,) = [n for n in own.notes if n.startswith("square")]
    read = [float(x) for x in re.findall(r"([\d.]+) mm", said)[:2]]
    assert read == pytest.approx([one, two], abs=0.05)
    assert f"{abs(one - two):.1f} mm" in said


def test_diagonals_of_a_straight_frame_are_equal() -> None:
    """Flatbed: seat x 1665, y 391.75, z 520; pin-front x 1050, y 426, z 450 + 75: sqrt(615^2 + 817.75^2 + 5^2) = 1023.2."""
    _, kit = made(JOB, "orchard-flatbed")
    (said,) = [n for n in next(p for p in kit.pieces if p.id == "seat-bar").notes if n.startswith("square")]
    assert f"both diagonals read {math.sqrt(615**2 + 817.75**2 + 25):.1f} mm" in said


@pytest.mark.parametrize(
    ("roll", "pitch"), [(6.0, 0.0), (-6.0, 0.0), (0.0, 5.0), (8.0, 4.0), (-3.0, -7.0), (0.0, 0.0)], ids=lambda v: f"{v:g}"
)
@pytest.mark.parametrize("form", ["flat", "channel"])
def test_leaning_seats_are_followed(roll: float, pitch: float, form: str) -> None:
    """Seats that mirror each other: the ends are bent by the roll, whatever the pitch, and lie on the seats' planes."""
    seats = pair(leaning(roll, pitch), leaning(-roll, pitch))
    (piece,) = bar(form=form, width_mm=80.0).build(seated(*seats))
    assert not faults(piece.part)
    bends = {b.child: b.angle_deg for b in piece.part.bends}
    # Rolled and then pitched about y: across the vehicle both lean by the roll still.
    wanted = {} if roll == 0 else {"end-left": roll, "end-right": roll}
    assert {k: v for k, v in bends.items() if k.startswith("end")} == {k: pytest.approx(v, abs=1e-9) for k, v in wanted.items()}
    holes = axes(piece)
    for seat in seats:
        for k, point in enumerate(seat.points, start=1):
            axis = holes[f"{seat.side}-{k}"]
            assert off_axis(axis, point) < 1e-6
            assert axis[0] == pytest.approx(point, abs=1e-6)  # its z = 0 face is the bearing face
            assert axis[1] == pytest.approx(seat.normal, abs=1e-9)
            bolt = next(b for b in piece.bolts if b.name == f"{seat.side}-{k}")  # through 5 of bar and 6 of seat
            assert bolt.grip_mm == 11 and bolt.between == ("bar", f"seat {seat.side}")
            assert bolt.head == pytest.approx(np.array(point) + 5 * np.array(seat.normal), abs=1e-6)
            assert bolt.nut == pytest.approx(np.array(point) - 6 * np.array(seat.normal), abs=1e-6)
    assert {h.diameter_mm for p in piece.part.panels for h in p.holes} == {13.0}  # M12, ISO 273 fine


def test_seats_at_two_heights_take_a_bar_with_two_opposite_bends() -> None:
    """Level seats, the right 60 higher: both bends turn by the same angle, one up, one down."""
    seats = pair(leaning(0), leaning(0), rise=60.0)
    (piece,) = bar().build(seated(*seats))
    left, right = (next(b.angle_deg for b in piece.part.bends if b.child == f"end-{s}") for s in ("left", "right"))
    assert left == pytest.approx(-right, abs=1e-9) and 5 < abs(left) < 8  # atan(60 / 600) = 5.7 deg over all, more between the bends
    holes = axes(piece)
    for seat in seats:
        for k, point in enumerate(seat.points, start=1):
            assert off_axis(holes[f"{seat.side}-{k}"], point) < 1e-6


def test_a_bent_channel_keeps_the_volume_law(tmp_path: Path) -> None:
    """Pappus: volume of the kernel's solid = t A + the bends' share, by the flat pattern."""
    (piece,) = bar(form="channel", width_mm=90.0).build(seated(*pair(leaning(7, 3), leaning(-7, 3))))
    flat = unfold(piece.part, KFactor(value=0.4))
    with Kernel.start() as kernel:
        solid = kernel.build(piece.part, tmp_path / "bar.step", name="bar", colour=STEEL)
    assert isinstance(solid, BuiltSolid), solid
    assert solid.volume_mm3 / flat.volume_mm3 == pytest.approx(1, abs=1e-9)


@pytest.mark.parametrize(("left", "right", "twist"), [(3.0, 0.0, "3.00"), (2.0, -2.5, "4.50"), (0.0, 0.1, "0.10")])
def test_twisted_seats_are_refused_with_their_angle(left: float, right: float, twist: str) -> None:
    seats = pair(leaning(0, left), leaning(0, right), bolts=0.0)
    check_fault(lambda: bar().build(seated(*seats)), "part bar", "ties", f"twisted by {twist} deg")


def test_refusals_name_field_and_number() -> None:
    level = pair(leaning(0), leaning(0))
    check_fault(lambda: bar().build(seated(level[0])), "part bar", "ties", "seat on the right side")
    check_fault(lambda: bar().build(seated(level[0], replace(level[1], normal=(0.0, 0.0, -1.0)))), "part bar", "ties", "180.0 deg apart")
    # 13 / 2 + 2 x 5 = 16.5 asked; 12 - 6.5 = 5.5 there
    check_fault(lambda: bar(over_mm=12.0).build(seated(*level)), "part bar", "over", "leaves 5.5 mm")
    # flat: (30 - 13) / 2 = 8.5 of steel, 10 asked
    check_fault(lambda: bar(width_mm=30.0).build(seated(*level)), "part bar", "width", "leaves 8.5 mm")
    check_fault(lambda: bar(ties="bar"), "part bar", "ties", "itself")
    check_fault(lambda: bar(form="channel", width_mm=80.0, flange_mm=20.0).build(seated(*level)), "part bar", "flange", "too short to bend")
    one = pair(leaning(0), leaning(-4))
    check_fault(lambda: bar().build(seated(*one)), "part bar", "ties", "would need a bend of")


def test_an_unknown_hole_for_the_diagonals_is_refused_on_both_sides() -> None:
    with pytest.raises(BadInput) as caught:
        bar(square_to="pin").build(seated(*pair(leaning(0), leaning(0))))
    assert [(f.field, "no hole" in f.limit) for f in caught.value.faults] == [("square_to", True)] * 2


def on_brackets(**fields: Any) -> Piece:
    """On two seats of the straight test frame: webs' inside at y 426, seat at z 530, slots at y 394.25 and 348.75."""
    on = frame()
    seats = CrossmemberBracket(
        id="seat", at=Position(x_mm=800.0), drop_mm=70.0, thickness_mm=4.0, width_mm=200.0, depth_mm=100.0, slots=2, attach="bolt"
    )
    (piece,) = bar(**{"thickness_mm": 4.0, **fields}).build(on.with_built("seat", seats.build(on)))
    return piece


def test_air_to_the_web_is_measured() -> None:
    """Bar's end at 394.25 + over; the web's inside at 426."""
    assert not on_brackets(over_mm=28.0).findings  # 3.75 of air
    tight = on_brackets(over_mm=29.75).findings  # 426 - 394.25 - 29.75 = 2
    assert [(f.code, f.level, f.value) for f in tight] == [("bar-tight", "warn", "2.0 mm")] * 2
    stops = [f for f in on_brackets(over_mm=40.05).findings if f.code == "bar-in-the-way" and "the web of rail left" in f.message]
    assert [(f.level, f.value) for f in stops] == [("stop", "8.3 mm")]  # 394.25 + 40.05 - 426 = 8.3


def test_one_bolt_alone_is_told() -> None:
    single = tuple(replace(s, points=s.points[:1]) for s in pair(leaning(0), leaning(0), bolts=0.0))
    findings = bar().build(seated(*single))[0].findings
    assert [(f.code, f.level) for f in findings] == [("one-bolt", "warn")] * 2


def test_a_channel_leaves_room_to_its_bends_and_for_a_socket() -> None:
    """2.5 mm A36 bends to 3 (DIN 6935:1975, column to 490). M12 (fine 13) 19 off the middle line, 65 wide: 32.5 - 5.5 - 19 - 6.5 = 1.5 to
    the bend's tangent, where 2 t + r = 8 is the least. M24 (fine 25) on the middle line, 2 mm, 50 wide: 25 - 2 = 23 to a flange, and a
    socket over 36 mm flats (ISO 4014) takes (1.3 x 36 + 1.5) / 2 = 24.15 (common practice, no source)."""
    plain = pair(leaning(0), leaning(0))
    across = [replace(s, points=tuple((800.0 + k * 19.0, s.points[0][1], s.points[0][2]) for k in (-1, 1))) for s in plain]
    check_fault(lambda: bar(form="channel", thickness_mm=2.5, width_mm=65.0).build(seated(*across)), "part bar", "width", "leaves 1.5 mm")
    assert not bar(form="channel", thickness_mm=2.5, width_mm=80.0).build(seated(*across))[0].findings
    large = [
        replace(s, bolt="M24", points=tuple((800.0, y * 1.0, 700.0) for y in (s.points[0][1] - 30, s.points[0][1] + 30))) for s in plain
    ]
    told = bar(form="channel", thickness_mm=2.0, width_mm=50.0, over_mm=40.0).build(seated(*large))[0].findings
    assert [(f.code, f.level, f.value) for f in told] == [("spanner-room", "warn", "23.0 mm")] * 2


def test_a_bracket_above_its_seat_is_run_into() -> None:
    """Bases above: gussets stand beside the seat; a bar as wide as the seat cuts through both."""
    on = frame()
    seats = CrossmemberBracket(
        id="seat", at=Position(x_mm=800.0), drop_mm=110.0, thickness_mm=4.0, width_mm=140.0, depth_mm=110.0, base="above", slots=2,
        slot_travel_mm=10.0,
    )  # fmt: skip
    built = on.with_built("seat", seats.build(on))
    wide = bar(thickness_mm=4.0, width_mm=140.0).build(built)[0]
    assert {f.level for f in wide.findings if "gusset" in f.message} == {"stop"}
    narrow = bar(thickness_mm=4.0, width_mm=60.0).build(built)[0]
    assert not [f for f in narrow.findings if "gusset" in f.message]


def etched(piece: Piece) -> list[str]:
    labels = [label for p in piece.part.panels for label in p.labels]
    xs = [label.x_mm for label in labels]
    assert xs == sorted(xs)
    return [label.text for label in labels]


def test_what_is_etched_says_which_end_is_which() -> None:
    """The spacing in both units, whichever the job is written in: 2 x 371.5 = 743.0 mm; / 25.4 = 29.252 in, 936.06 marks of 1/32."""
    assert etched(on_brackets()) == ["LEFT", "bar", "743.0 mm / 29-1/4 in", "RIGHT"]


def test_the_spacing_in_inches_is_the_nearest_mark_of_a_tape() -> None:
    """300 mm = 11.8110 in = 377.95 marks of 1/32: 378/32 = 11-13/16. On a bar too short for both the mm stand alone; on a shorter one
    only the words for its ends, and then nothing."""
    found = []
    for half in (150.0, 90.0, 60.0, 35.0):
        single = [replace(s, points=s.points[:1]) for s in pair(leaning(0), leaning(0), half=half, bolts=0.0)]
        found.append(etched(bar().build(seated(*single))[0]))
    assert found[0] == ["LEFT", "bar", "300.0 mm / 11-13/16 in", "RIGHT"]
    assert found[1:] == [["LEFT", "bar", "180.0 mm", "RIGHT"], ["LEFT", "RIGHT"], []]


@settings(max_examples=60, deadline=None, derandomize=True)
@given(
    roll=st.floats(-20, 20), pitch=st.floats(-15, 15), half=st.floats(120, 500), bolts=st.floats(0, 90), width=st.floats(30, 160),
    form=st.sampled_from(["flat", "channel"]), thickness=st.floats(2, 10),
)  # fmt: skip
def test_any_pair_that_mirrors_itself(
    roll: float, pitch: float, half: float, bolts: float, width: float, form: str, thickness: float
) -> None:
    seats = pair(leaning(roll, pitch), leaning(-roll, pitch), half=half, bolts=bolts)
    try:
        (piece,) = bar(form=form, width_mm=width, thickness_mm=thickness).build(seated(*seats))
    except BadInput as error:
        assert all(f.field and f.limit for f in error.faults)
        return
    holes = axes(piece)
    for seat in seats:
        for k, point in enumerate(seat.points, start=1):
            assert off_axis(holes[f"{seat.side}-{k}"], point) < 1e-6 or (
                piece.findings and any(f.code == "bar-off-seat" for f in piece.findings)
            )
    assert not faults(piece.part)
