"""A job on another frame: what carries over, what takes a name's place, and that the nearest change is the nearest."""

from __future__ import annotations

from dataclasses import replace
from typing import Any

import pytest

from generator.adapt.bench import Bench
from generator.adapt.fields import DROPPED, changed
from generator.adapt.stage import Adapted, Carried
from generator.adapt.tables import sections, verdict
from parts.spec import Position
from tests.generator.adapt.makers import HEAD, bare_flatbed, carried, demo_frame, demo_text, frame_of, job_of, shallow, without

PLATE = '[[part]]\nid = "plate"\nfamily = "rail_plate"\nthickness = 4\nseat = "inside"\nfront_end = "square"\nrear_end = "square"\n'


def only(adapted: Adapted) -> Carried:
    (one,) = adapted.carried
    return one


def changes(carried: Carried) -> dict[str, Any]:
    return {c.spot.shown: c.value for c in carried.changes}


def built(adapted: Adapted, other: str, **values: Any) -> bool:
    """Whether the adapted job's only part, with other values of its parameters, can be built on that frame: no search is asked."""
    (part,) = adapted.job.parts
    bench = Bench(frame=frame_of(other), shop=adapted.job.shop, judge=lambda p, f, where: ())
    return bench.build(replace(part, **values)).fits


def cut_off(text: str) -> str:
    """The flatbed's rails ending at rear-axle, x = 2900 mm, without what lay behind."""
    rear = text.index('[[rail.station]]\nname = "rear"\n')
    text = text[:rear] + text[text.index("# -", rear) :]
    gone = (("crossmember", "cm-rear"), ("hole", "drain-rear"), ("body_mount", "bed-rear"), ("condition", "thin-web"))
    for table, name in gone:
        text = without(text, table, name)
    return text


# ---------------------------------------------------------------- what carries over


def test_on_its_own_frame_nothing_changes_but_the_frames_name() -> None:
    text = demo_text("job", "orchard-flatbed")
    adapted = carried(text, frame_of(bare_flatbed()), reference="same.toml")
    assert all(c.same and verdict(c) == "carries over unchanged" for c in adapted.carried)
    old, new = text.splitlines(), adapted.text.splitlines()
    assert [line for line in new if line not in old] == [
        '# adapted: frame was "demo:orchard-flatbed": now on \'orchard flatbed\', no more on \'orchard flatbed\'', 'frame = "same.toml"',
    ]  # fmt: skip
    assert [line for line in old if line not in new] == ['frame = "demo:orchard-flatbed"']


def test_what_was_accepted_of_one_frame_is_not_accepted_of_another() -> None:
    """That the one truck's sag was looked at says nothing of the other's; what was accepted of a part stays."""
    row = '[[accept]]\ncode = "{}"\nwhy = "looked at"\n'
    codes = ("frame-out-sag", "covers-open-hole", "survey-suspect-h1")
    text = demo_text("job", "orchard-lines") + "".join(row.format(code) for code in codes)
    adapted = carried(text, demo_frame("mill-pickup"))
    assert [one.code for one in adapted.job.accept] == ["covers-open-hole"]
    assert adapted.no_more_accepted == ("frame-out-sag", "survey-suspect-h1")
    assert '# code = "frame-out-sag"' in adapted.text and "says nothing of 'mill pickup'" in adapted.text
    own = carried(text, demo_frame("orchard-flatbed"), own=demo_frame("orchard-flatbed"))
    assert len(own.job.accept) == 3 and own.no_more_accepted == ()


def test_what_shifts_is_told() -> None:
    """On rails 20 mm less deep a doubler between the flanges is 20 mm less high. By hand: its blank is as wide as it is high, and its
    mass goes down by 300 x 20 x 4 mm at 7850 kg/m3 (EN 1993-1-1, 3.2.6) = 0.188 kg; its bolts' holes keep their distance along."""
    job = HEAD + PLATE + 'start = { at = "front", offset = 150 }\nend = { at = "front", offset = 450 }\n'
    one = only(carried(job, frame_of(bare_flatbed().replace("depth = 150", "depth = 130").replace("drop = 15", "drop = 5"))))
    assert verdict(one) == "carries over, other sizes" and not one.changes
    for shift in one.shifts:
        assert shift.before is not None and shift.after is not None
        assert shift.before.length_mm == pytest.approx(300, abs=1e-6)
        assert shift.before.width_mm - shift.after.width_mm == pytest.approx(20, abs=1e-6)
        assert shift.before.mass_kg - shift.after.mass_kg == pytest.approx(300 * 20 * 4 * 7850e-9, abs=5e-4)
        assert shift.after.place.endswith(", front")
        assert shift.after.front_mm == pytest.approx(150, abs=1e-6)


# ---------------------------------------------------------------- names that the other frame lacks


def test_a_hole_that_is_gone_gives_its_place_to_a_station_and_is_left_out() -> None:
    """pin-front lay 350 mm behind front-axle (the frame's text), so 200 mm before it is 150 mm behind front-axle."""
    other = without(bare_flatbed(), "hole", "pin-front")
    adapted = carried(demo_text("job", "orchard-flatbed"), frame_of(other))
    boxing = adapted.carried[0]
    assert changes(boxing) == {"start": Position(at="front-axle", offset_mm=150.0), "pick_up[1]": DROPPED}
    assert boxing.changes[0].why.startswith("no place pin-front there; it lies 350.0 mm behind front-axle; the nearest name there is ")
    assert 'start = { at = "front-axle", offset = 150 }' in adapted.text
    assert '# adapted: pick_up[1] was { hole = "pin-front", by = "pin" }: left out: no hole pin-front there' in adapted.text
    assert all(c.same for c in adapted.carried[1:])


def test_a_hole_and_a_crossmember_of_another_name_in_the_same_place_stand_in() -> None:
    other = bare_flatbed().replace("pin-front", "jig-front").replace("cm-mid", "third")
    boxing = carried(demo_text("job", "orchard-flatbed"), frame_of(other)).carried[0]
    assert changes(boxing) == {
        "start": Position(at="jig-front", offset_mm=-200.0), "pick_up[1].hole": "jig-front", "around[2].crossmember": "third",
    }  # fmt: skip
    assert {s.piece for s in boxing.shifts if s.same} == {"boxing-left", "boxing-right"}  # the filler is called by its crossmember


def test_a_part_that_has_nothing_to_hold_on_to_is_commented_out_with_the_reason() -> None:
    other = bare_flatbed()
    for n in range(1, 5):
        other = without(other, "hole", f"hanger-front-{n}")
    other = without(other, "condition", "loose-hanger-rivet")
    adapted = carried(demo_text("job", "orchard-springs"), frame_of(other))
    one = only(adapted)
    assert not adapted.fits and verdict(one) == "does not fit"
    assert one.reasons == ("stem (hanger-front-): no hole of that name is there, and nothing that could stand in for it",)
    assert adapted.job.parts == ()
    assert '# id = "hanger-plate"' in adapted.text and "# adapted: left out: hanger-plate does not fit" in adapted.text
    assert "no change was found" in sections(adapted)[-1].notes[-1]


def test_holes_by_the_beginning_of_their_names_become_a_list() -> None:
    other = bare_flatbed().replace("hanger-front-", "shackle-")
    one = only(carried(demo_text("job", "orchard-springs"), frame_of(other)))
    assert changes(one) == {"stem": DROPPED, "holes": ("shackle-1", "shackle-2", "shackle-3", "shackle-4")}
    assert one.fits and all(s.same for s in one.shifts)


def test_what_stands_on_a_part_that_does_not_fit_goes_onto_the_web() -> None:
    """Both lie past the end of a rail of 2900 mm: the plate by more than two thirds of its length, the seat by less."""
    long = without(bare_flatbed(), "crossmember", "cm-axle")
    plate = PLATE.replace('"inside"', '"toes"').replace("thickness = 4", "thickness = 3")
    text = demo_text("job", "orchard-flatbed")
    seat = text[text.index('[[part]]\nid = "gearbox-seat"') :].replace('"boxing"', '"plate"').replace("slots = 2", "slots = 1")
    seat = seat.replace('{ at = "cm-gearbox", offset = 165 }', "{ x = 3010 }")
    job = f"{HEAD}{plate}start = {{ x = 2910 }}\nend = {{ x = 3220 }}\n\n{seat}"
    adapted = carried(job, frame_of(cut_off(long)), own=frame_of(long))
    gone, stays = adapted.carried
    assert not gone.before.faults and not stays.before.faults
    assert not gone.fits and stays.fits
    assert changes(stays)["on"] == "web" and changes(stays)["at"].x_mm < 2900
    assert [p.id for p in adapted.job.parts] == ["gearbox-seat"]


# ---------------------------------------------------------------- the nearest change


def test_a_place_past_the_end_of_a_shorter_rail_comes_back_to_its_end() -> None:
    """A straight rail from x = 0 to 2900 mm: x = 2900 is on it, x = 2900.1 is not."""
    other = cut_off(without(bare_flatbed(), "crossmember", "cm-axle"))
    adapted = carried(HEAD + PLATE + "start = { x = 2620 }\nend = { x = 3050 }\n", frame_of(other))
    assert changes(only(adapted)) == {"end": Position(x_mm=2900.0)}
    assert built(adapted, other) and not built(adapted, other, end=Position(x_mm=2900.1))


def test_a_clip_moves_to_where_the_pipe_begins() -> None:
    """The pipe begins at x = 500. An M5 clip is 5.5 + 2 x 6 = 17.5 mm wide (ISO 273 medium; its rim by its own default), so its middle is
    at least 500 + 8.75 = 508.75 mm from the front: 91.25 mm before an axle at 600 mm, on the grid of 0.1 mm 91.2."""
    text = demo_text("job", "orchard-lines")
    clip = text[text.index('[[part]]\nid = "doubler-clip"') :].partition("\n\n")[0].replace('on = "step-doubler"', 'on = "web"')
    other = bare_flatbed().replace("x = 700\n", "x = 600\n")
    adapted = carried(HEAD + clip.replace("offset = -150", "offset = -110") + "\n", frame_of(other))
    place = changes(only(adapted))["at"]
    assert place.offset_mm == pytest.approx(-91.2, abs=1e-9)
    assert built(adapted, other) and not built(adapted, other, at=replace(place, offset_mm=-91.3))


def test_a_seat_that_a_shallower_rail_leaves_no_base_goes_up_no_more_than_it_must() -> None:
    """What is left of the base under it is what the rail has: with 20 mm less of rail the seat is 20 mm higher."""
    text = demo_text("job", "orchard-lines")
    seat = text[text.index('[[part]]\nid = "gearbox-seat"') :].partition("\n\n")[0]
    drops = {}
    for depth in (100, 120):
        adapted = carried(f"{HEAD}{seat}\n", frame_of(shallow(depth)))
        found = changes(only(adapted))
        assert found.keys() == {"drop"} and found["drop"] < 80
        assert built(adapted, shallow(depth)) and not built(adapted, shallow(depth), drop_mm=found["drop"] + 0.1)
        drops[depth] = found["drop"]
    assert drops[120] - drops[100] == pytest.approx(20, abs=1e-9)


def test_a_stepped_plate_in_narrower_flanges_steps_less() -> None:
    """The plate's back, step + thickness from the toes, clears the corner's inside radius: flange less web less radius. On 30 mm flanges
    30 - 4 - 4 = 22 mm are left; with 3 mm of plate the step is 19 mm at the most."""
    plate = PLATE.replace('"inside"', '"stepped"').replace("thickness = 4", "thickness = 3\nstep = 24")
    job = HEAD + plate + 'start = { at = "front", offset = 150 }\nend = { at = "front", offset = 450 }\n'
    other = bare_flatbed().replace("flange = 60", "flange = 30").replace("in = 35", "in = 17").replace("in = 40", "in = 17")
    other = other.replace("in = 30", "in = 17")
    adapted = carried(job, frame_of(other))
    found = changes(only(adapted))
    assert found == {"step": 19.0}
    assert built(adapted, other) and not built(adapted, other, step_mm=19.1)


def test_parts_in_one_array_and_what_is_left_of_it() -> None:
    """The plate is 2900 - 2620 mm long there; the hanger's doubler has no holes, and goes out of the array with its comma."""
    plate = 'id = "p", family = "rail_plate", thickness = 4, seat = "inside", start = { x = 2620 }, end = { x = 3050 }'
    doubler = 'id = "q", family = "spring_doubler", stem = "hanger-front-", foot = 6, thickness = 4'
    job = HEAD.replace("[shop]", f"part = [ # parts\n  {{ {plate} }}, # one\n  {{ {doubler} }},\n]\n[shop]")
    other = cut_off(without(bare_flatbed(), "crossmember", "cm-axle"))
    for n in range(1, 5):
        other = without(other, "hole", f"hanger-front-{n}")
    adapted = carried(job, frame_of(without(other, "condition", "loose-hanger-rivet")))
    assert [p.id for p in adapted.job.parts] == ["p"]
    lines = adapted.text.splitlines()
    assert f"  {{ {plate.replace('3050', '2900')} }}, # one" in lines and any(x.startswith("# adapted: part[2] was { id") for x in lines)


def test_several_parameters_at_once() -> None:
    """On rails 100 mm deep three things are wrong with the closing plate: a window, a notch and an opening's ring."""
    adapted = carried(demo_text("job", "orchard-closed-rails"), frame_of(shallow(100)))
    one = only(adapted)
    assert one.fits and len(one.before.faults) == 0
    assert {c.spot.key for c in one.changes} >= {"around.way"} and len(one.changes) == 3
    for c in one.changes:  # each of them is needed
        rest = {x.spot.path: x.value for x in one.changes if x is not c}
        bench = Bench(frame=frame_of(shallow(100)), shop=adapted.job.shop, judge=lambda p, f, where: ())
        assert not bench.build(changed(one.part, rest)).fits
    assert all(c.why for c in one.changes)


def test_a_length_that_the_job_leaves_open_is_given_one() -> None:
    adapted = carried(demo_text("job", "orchard-springs"), frame_of(shallow(90)))
    found = changes(only(adapted))
    assert found.keys() == {"edge_across"}
    assert built(adapted, shallow(90)) and not built(adapted, shallow(90), edge_across_mm=found["edge_across"] + 0.1)
    assert f"edge_across = {found['edge_across']:g}" in adapted.text.splitlines()


def test_a_job_in_inches_gets_places_in_inches() -> None:
    """pin-front lies 9-3/4 in behind front-axle on the river wagon (the frame's text): 9-3/4 - 2 = 7-3/4 in."""
    job = HEAD.replace('units = "mm"', 'units = "in"') + PLATE.replace("thickness = 4", 'thickness = "5/32 in"')
    job += 'start = { at = "pin-front", offset = -2 }\nend = { at = "pin-front", offset = 12 }\n'
    other = without(bare_flatbed(), "hole", "pin-front")
    adapted = carried(job, frame_of(other), own=demo_frame("river-wagon"))
    assert 'start = { at = "front-axle", offset = "7-3/4 in" }' in adapted.text
    assert adapted.job == job_of(adapted.text)


def test_a_stop_of_the_vehicles_steel_starts_no_search() -> None:
    """On a frame whose steel nobody knows every weld is a stop, wherever the plate ends."""
    adapted = carried(demo_text("job", "orchard-flatbed"), demo_frame("orchard-flatbed-unknown-steel"), own=demo_frame("orchard-flatbed"))
    welded = [c for c in adapted.carried if c.new_stops]
    assert {c.part.id for c in welded} == {"boxing", "hanger-doubler", "gearbox-seat"}
    assert all(c.builds == 1 and not c.changes for c in welded)
    assert [s.title for s in sections(adapted)][-1] == "Stops that are new there"
