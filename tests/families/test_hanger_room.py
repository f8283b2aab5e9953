"""Hangers beside what is there already: plates on both sides of a web, crossmembers, brackets, body mounts; holes that are too large.

Numbers are worked by hand beside their checks. On the straight test frame the right web lies from y 426 to 430, z 450 to 600. VSB 6 section
H: a hole in a rail at most the bolt + 1.0 mm. Washers by ISO 7089: M8 16 across.
"""

from __future__ import annotations

from dataclasses import replace
from typing import Any

import pytest

from parts.families import RailPlate
from parts.families.hanger import HangerPlace
from parts.frame import Frame
from parts.frame.features import Bracket
from parts.frame.frame import Use
from parts.spec import Position
from tests.families.test_hanger import base_corners, hanger, level, path
from tests.parts.frame.makers import (
    check_fault,
    cross,
    cross_section,
    demo_frame,
    drawn,
    faults_of,
    frame,
    hole,
    kicked,
    mount,
    section,
    station,
)

HERE = Position(x_mm=800.0)


def plated(on: Frame, seat: Any, thickness: float = 3.0) -> Frame:
    """With a plate called skin from x 300 to 1400, its ends square."""
    plate = RailPlate(id="skin", thickness_mm=thickness, seat=seat, start=Position(x_mm=300.0), end=Position(x_mm=1400.0),
                      front_end="square", rear_end="square")  # fmt: skip
    return on.with_faces(plate.faces(on)).with_built("skin", plate.build(on))


def told(vehicle: Frame, code: str, **fields: Any) -> list[Any]:
    return [f for p in hanger(**fields).build(vehicle) for f in p.findings if f.code == code]


def test_no_base_lies_between_a_plate_and_the_web_behind_it() -> None:
    """The plate lies outside, y 430 to 433; the pipe inside, at 380: 53 behind the face that is seen."""
    inboard = level(plated(frame(), "outside"))
    check_fault(lambda: hanger(on="skin", at=HERE).build(inboard), "part tab", "on", "lies 53.0 mm behind skin-right")
    (piece,) = hanger(on="skin", at=HERE).build(level(plated(frame(), "outside"), y=480.0))
    assert base_corners(piece)[:, 1] == pytest.approx(433, abs=1e-9)


@pytest.mark.parametrize(
    ("on", "seat", "y", "ends"),
    [("web", "outside", 380.0, (423, 433)), ("skin", "outside", 480.0, (436, 426)), ("web-outside", "inside", 480.0, (433, 423))],
)
def test_bolts_go_through_all_the_steel_that_is_there(on: str, seat: str, y: float, ends: tuple[float, float]) -> None:
    """Tab 3, web 4, plate 3, whichever way round: grip 10; each of them is drilled."""
    (piece,) = hanger(on=on, at=HERE, attach="bolt").build(level(plated(frame(), seat), y=y))
    (bolt,) = piece.bolts
    assert bolt.grip_mm == pytest.approx(10) and (bolt.head[1], bolt.nut[1]) == pytest.approx(ends, abs=1e-9)
    assert len(piece.drilling) == 2 and {d.diameter_mm for d in piece.drilling} == {9.0}
    assert len(bolt.between) == 3


def test_no_bolt_is_put_into_a_closed_rail() -> None:
    on = frame(drawn(station("front", 0), station("rear", 3600), section=section(kind="closed")))
    for face, seated, y in (("web", on, 330.0), ("skin", plated(on, "outside"), 480.0)):
        check_fault(lambda face=face, on=seated, y=y: hanger(on=face, at=HERE, attach="bolt").build(level(on, y=y)),  # type: ignore[misc]
                    "part tab", "attach", "no nut can be reached")  # fmt: skip


@pytest.mark.parametrize(("diameter", "loose", "falls"), [(9.0, False, False), (9.1, True, False), (15.9, True, False), (16.0, True, True)])
@pytest.mark.parametrize(("commercial", "level_of"), [(False, "note"), (True, "stop")])
def test_a_hole_that_is_taken_up_and_too_large(diameter: float, loose: bool, falls: bool, commercial: bool, level_of: str) -> None:
    """M8: 9 is allowed, and a washer of 16 falls into 16."""
    own = hole(name="own", at=Position(x_mm=770.0), up_mm=70.0, diameter_mm=diameter)
    on = level(replace(frame(holes=(own,)), use=Use(road=True, commercial=commercial)))
    fields: dict[str, Any] = {"attach": "bolt", "base": "front", "bolts": 0, "pick_up": ("own",)}
    assert [f.level for f in told(on, "hole-loose", **fields)] == ([level_of] if loose else [])
    assert [f.level for f in told(on, "washer-small", **fields)] == (["stop"] if falls else [])


def by(remedy: str) -> float:
    size = float(next(word for word in remedy.split() if word[0].isdigit()))
    return -size if "forward" in remedy else size


@pytest.mark.parametrize("z", [520.0, 527.0, 530.0])
def test_following_the_remedy_gets_it_past_a_crossmember(z: float) -> None:
    """Crossmember x 775 to 825, its top 70 under the corner, z 530. The ring is 26 wide: at z 527 its lowest 16 lie in the way, but along
    the pipe all of the tab has to go: its leg stands at x 800, so 25 forward."""
    on = level(frame(crossmembers=(cross(at=Position(x_mm=800.0), drop_mm=70.0, joint="gusseted"),)), z=z)
    (found,) = told(on, "tab-in-the-way", base="front")
    assert "forward" in found.remedy
    assert by(found.remedy) == -25
    assert not told(on, "tab-in-the-way", base="front", at=Position(x_mm=775.0))
    assert told(on, "tab-in-the-way", base="front", at=Position(x_mm=776.0))


def test_a_body_mount_is_run_into() -> None:
    """Its pad: x 760 to 840, y 430 to 540, z 594 to 600; the ring's leg, 13 up from the pipe, over it at z 583."""
    on = frame(drawn(station("front", 0), station("mid", 1800), station("rear", 3600), section=section(inside_radius_mm=0)),
               body_mounts=(mount(at=Position(x_mm=800.0)),))  # fmt: skip
    fields: dict[str, Any] = {"on": "web-outside", "at": HERE, "leg_mm": 1.0}
    (found,) = told(level(on, y=470.0, z=583.0), "tab-in-the-way", **fields)
    assert found.level == "stop" and "body mount cab right" in found.message and found.value == "2.0 mm"
    assert not told(level(on, y=470.0, z=580.0), "tab-in-the-way", **fields)


def test_a_bracket_under_a_flange_is_run_into() -> None:
    """On the upper flange's inside, hanging down 80 from z 596: the tab at z 520 stands in it."""
    own = Bracket(name="b", face="upper flange", at=Position(x_mm=790.0), in_mm=30.0, length_mm=40.0, height_mm=40.0, out_mm=80.0,
                  inner_face=True, fate="kept", held_by="weld", side="right")  # fmt: skip
    assert [f.level for f in told(level(frame(brackets=(own,))), "tab-in-the-way")] == ["stop"]
    assert not told(level(frame(brackets=(replace(own, out_mm=60.0),))), "tab-in-the-way")  # down to 536; the tab reaches up to 533


def test_a_pipe_across_is_told_its_own_way_out() -> None:
    """Nothing is forward or rearward along a pipe that runs across the vehicle."""
    on = path(frame(crossmembers=(cross(name="cm", at=Position(x_mm=800.0)),)), (730, -425, 525), (730, 425, 525))
    (base,) = hanger(on="cm", y_mm=300.0).build(on)
    built = on.with_built("other", [replace(base, id="other")])
    remedies = {f.remedy for f in told(built, "tab-in-the-way", on="cm", y_mm=300.0)}
    assert remedies and all(("to the left" in r or "to the right" in r) and "ward" not in r for r in remedies)


def test_places_that_no_rail_has_are_all_named() -> None:
    three = tuple(HangerPlace(at=Position(at=name) if name else Position(x_mm=800.0)) for name in ("here", "", "there"))
    found = faults_of(lambda: hanger(places=three).build(level()))
    assert [(f.field, f.value) for f in found] == [("place.at", "here"), ("place.at", "there")]


@pytest.mark.parametrize("side", [1, -1])
@pytest.mark.parametrize(("y", "z", "into"), [(390.0, 640.0, "33.0"), (357.1, 640.0, "0.1"), (356.9, 640.0, None),
                                              (390.0, 583.1, "0.1"), (390.0, 582.9, None),
                                              (358.0, 584.0, None), (363.0, 589.0, "6.0")])  # fmt: skip
def test_a_tab_on_a_crossmember_stays_out_of_both_rails(side: int, y: float, z: float, into: str | None) -> None:
    """The crossmember, 60 deep, has its top 80 under the corner, z 520. The ring is 26 wide: 13 to either side and 13 up from the
    pipe. The flanges reach in to y 370, the upper one fills z 596 to 600: 357 and 583 are the last that go; 390 + 13 is 33 in.
    Its corner is rounded by 8: with 1 mm over both it passes the flange's edge, 7 sqrt 2 = 9.9 from the round's middle, with 6 not."""
    low = cross(at=Position(x_mm=800.0), drop_mm=80.0, section=cross_section(depth_mm=60.0))
    on = path(frame(crossmembers=(low,)), (400, side * y, z), (1400, side * y, z))
    if into is None:
        assert hanger(on="cm").build(on)
        return
    name = f"{into} mm into the upper flange of rail {'right' if side > 0 else 'left'}"
    check_fault(lambda: hanger(on="cm").build(on), "part tab", "pipe", name)
    assert hanger(on="cm", side="left").build(path(on, (400, side * 340.0, z), (1400, side * 340.0, z)))


def test_the_mill_pickups_crossmember_is_no_way_round_its_flange() -> None:
    """Left rail: web's outside at y -410, flange 65, so its toes at -345; upper corner z 500, flange 5. The leg stands on z 470 and ends
    over 578: it cannot but go through."""
    on = path(demo_frame("mill-pickup"), (1500, -396.4, 578.4), (1800, -396.4, 578.4))
    found = faults_of(lambda: hanger(on="cm-mid", kind="clip").build(on))
    assert {f.field for f in found} == {"pipe"} and any("into the upper flange of rail left" in f.limit for f in found)


def test_a_leg_along_a_kick_is_held_against_the_rail_as_it_runs() -> None:
    """The rail rises by 18 deg from x 1500 on, its kick rounded by 300. From a crossmember that stands over it, its front at x 1575, a leg
    reaches forward over the flange, from z 631 - 13 = 618 up: at x 1500 + 18 / tan 18 deg = 1555 the corner has risen to that, and at 1575
    to 624.4. 8 mm higher nothing is in its way."""
    tall = cross(at=None, x_mm=1600.0, drop_mm=-60.0, section=cross_section(depth_mm=150.0), joint="bolted", opens="rearward")
    on = frame(kicked(), crossmembers=(tall,))
    for z, clear in ((631.0, False), (639.0, True)):
        across = path(on, (1445, 300, z), (1445, 460, z))
        if clear:
            assert hanger(on="cm", y_mm=390.0, longest_mm=200.0).build(across)
        else:
            found = faults_of(lambda on=across: hanger(on="cm", y_mm=390.0, longest_mm=200.0).build(on))  # type: ignore[misc]
            assert {f.field for f in found} == {"y"} and any("upper flange of rail right" in f.limit for f in found)
