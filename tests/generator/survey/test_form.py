"""The form: the order of the walk, what each reading should be, and that a survey with it tells all that is asked and checks itself."""

from __future__ import annotations

import csv
import io
import math
import os
import re
from collections import Counter
from dataclasses import replace
from pathlib import Path

import pytest

from generator.job import read_frame
from generator.show import text_lines
from generator.survey import form as module
from generator.survey.form import TWICE, Form, form
from generator.survey.form_told import additions_toml, form_json, form_sections, readings_csv
from generator.survey.stage import UNCHECKED, survey
from generator.survey.walk import AGAIN, Line
from parts.errors import BadInput
from parts.frame.frame import Frame
from parts.frame.measured import ControlPoint, Limits, Reading, SurveySet
from tests.generator.survey.ladder import control_points, ladder, shape
from tests.generator.test_readings_file import FRAME
from tests.parts.frame.makers import DEMO, DEMO_NAMES

LONG = os.environ.get("LADDERFRAME_SAMPLES") == "long"


def demo(name: str) -> Frame:
    return read_frame(f"demo:{name}")


def of_demo(name: str) -> Form:
    frame = demo(name)
    return form(frame, frame.sets[0].name if frame.sets else "found")


def leg(made: Form, letter: str) -> list[Line]:
    return [line for line in made.lines if line.name.rstrip("0123456789") == letter]


def test_heights_go_down_the_left_rail_and_back_up_the_right_one() -> None:
    made = form(ladder(), "found")
    keys = [line.start for line in made.legs[0].lines]
    down = ["A-left", "B-left", "C-left", "D-left", "E-left"]
    assert keys == [*down, "E-right", "D-right", "C-right", "B-right", "A-right", "A-left"]
    assert made.legs[0].lines[-1].name == made.legs[0].lines[0].name + AGAIN


def test_the_legs_lead_round_without_a_walk_in_vain() -> None:
    """Heights end at the front, so the level goes rearward; the tape starts where that ends, and comes back bay by bay from the front."""
    made = form(ladder(), "found")
    assert [line.start for line in leg(made, "r")] == [f"{n}-left" for n in "ABCDE"]
    assert [line.start for line in leg(made, "w")] == [f"{n}-left" for n in "EDCBA"]
    assert [(line.start, line.end) for line in leg(made, "b")][:4] == [
        ("A-left", "B-left"), ("A-right", "B-right"), ("A-left", "B-right"), ("A-right", "B-left"),
    ]  # fmt: skip


def test_what_each_reading_should_be() -> None:
    """Rails 860 mm apart, pairs at x = 100, 1000, 1900, 2700, 3500, corners at z = 600; worked by hand."""
    made = form(ladder(), "found")
    should = {line.name: line.drawn_mm for line in made.lines}
    assert should["b1"] == pytest.approx(900.0)
    assert should["b3"] == pytest.approx(math.hypot(900.0, 860.0))
    assert should["a3"] == pytest.approx(math.hypot(3400.0, 860.0))
    assert should["h1"] == pytest.approx(600.0)
    assert should["s1"] == pytest.approx(-430.0)
    assert should["x4"] == pytest.approx(3500.0)
    assert should["p1"] == pytest.approx(math.hypot(3400.0, 860.0))
    assert should["r2"] == 0.0


@pytest.mark.parametrize("name", DEMO_NAMES)
def test_with_it_everything_is_told_and_every_reading_checked(name: str) -> None:
    made = of_demo(name)
    assert min(made.redundancy.values()) >= UNCHECKED
    for measure in made.measures:
        assert measure.uncertainty_mm is not None, (measure.word, measure.where)
        if measure.limit_mm is not None:
            assert measure.uncertainty_mm < measure.limit_mm, (measure.word, measure.where)


def test_two_pairs_are_enough_for_a_form() -> None:
    made = form(ladder(xs=(100.0, 3500.0)), "found")
    assert min(made.redundancy.values()) >= UNCHECKED
    assert all(m.uncertainty_mm is not None for m in made.measures)


def test_a_point_on_one_rail_alone_is_tied_in() -> None:
    lone = ControlPoint(name="tank", side="left", x_mm=2300.0)
    frame = replace(ladder(), control_points=(*control_points(), lone))
    made = form(frame, "found")
    ends = [line.start for line in made.lines if line.end == "tank"]
    assert sorted(ends) == ["C-left", "C-right", "D-left", "D-right"]
    assert {line.kind for line in made.lines if line.start == "tank"} == {"height", "offset"}
    assert min(made.redundancy.values()) >= UNCHECKED


def test_what_nothing_else_checks_is_taken_twice(monkeypatch: pytest.MonkeyPatch) -> None:
    """With a higher bar some readings miss it at first. A repeat checks its reading by half at the least: redundancy 0.5 each where
    nothing else does, by the closed form for two equal readings of one thing."""
    monkeypatch.setattr(module, "UNCHECKED", 0.45)
    made = form(ladder(), "found")
    last = made.legs[-1]
    assert last.title == TWICE
    known = {line.name: line for line in made.lines}
    for line in last.lines:
        first = known[line.name.removesuffix(AGAIN)]
        assert (line.kind, line.start, line.end) == (first.kind, first.start, first.end)
        assert made.redundancy[line.name] >= 0.5
    assert min(made.redundancy.values()) >= 0.45


def filled(made: Form, points: dict[str, tuple[float, float, float]], wrong: str = "", by: float = 0.0) -> Frame:
    """The form's readings of these points, without noise; one of them off."""
    from generator.survey.walk import value_of

    readings = [
        Reading(name=n.name, kind=n.kind, start=n.start, end=n.end, instrument=n.instrument, set="found",
                value_mm=value_of(n.kind, points[n.start], points[n.end or n.start]) + (by if n.name == wrong else 0.0))
        for n in made.lines
    ]  # fmt: skip
    return ladder(readings, limits=Limits(twist_mm=5.0))


def test_filled_in_on_a_twisted_frame_it_tells_the_twist() -> None:
    made = form(ladder(), "found")
    twisted = shape({"D-right": (0, 0, 7.0), "E-right": (0, 0, 14.0)})
    told = survey(filled(made, twisted))
    twist = {m.where: m for m in told.measures if m.word == "twist"}
    assert twist["E against A"].status == "out"
    assert twist["E against A"].off_mm == pytest.approx(14.0, abs=0.05)
    assert not told.unknown
    assert not told.unchecked
    assert not told.suspects


@pytest.mark.parametrize("kind", ["height", "rise", "distance", "offset", "along", "plan"])
def test_a_slip_of_15_mm_in_any_of_its_readings_is_named(kind: str) -> None:
    made = form(ladder(), "found")
    lines = [line for line in made.lines if line.kind == kind]
    for line in lines if LONG else lines[::4]:
        told = survey(filled(made, shape(), line.name, 15.0))
        assert any(line.name in s.observations for s in told.suspects), line.name


def test_names_that_are_taken_get_a_number() -> None:
    readings = [Reading(name="h1", kind="height", start="A-left", value_mm=600.0, set="found")]
    assert form(ladder(readings), "found").lines[0].name == "2-h1"
    assert form(ladder(readings), "tacked").lines[0].name == "h1"


def test_a_set_that_the_frame_does_not_declare() -> None:
    with pytest.raises(BadInput) as caught:
        form(ladder(sets=(SurveySet(name="found"),)), "tackt")
    assert "known: found" in caught.value.faults[0].remedy


@pytest.mark.parametrize("name", ["=1+1", "a b", ""])
def test_what_cannot_be_the_name_of_a_set(name: str) -> None:
    with pytest.raises(BadInput) as caught:
        form(ladder(), name)
    assert [f.field for f in caught.value.faults] == ["set"]


def test_a_frame_without_pairs_is_told_to_get_some() -> None:
    made = form(replace(ladder(), control_points=()), "found")
    assert not made.legs
    text = "\n".join(text_lines(form_sections(made, "mm")))
    assert "[[control_point]]" in text
    assert "cm-A" in text  # where they go


def test_crossmembers_without_a_pair_are_named() -> None:
    xs = (100.0, 1900.0, 3500.0)
    frame = replace(ladder(), control_points=control_points(xs))
    assert form(frame, "found").bare == ("cm-B", "cm-D")


def test_inches_as_a_tape_shows_them() -> None:
    """River wagon: rails 34 in apart at the front; its bay diagonals are told in whole sixteenths."""
    made = of_demo("river-wagon")
    text = "\n".join(text_lines(form_sections(made, "in"), "in"))
    assert "34 in" in text
    assert Counter(line.instrument for line in made.lines)["1/16 in tape"] > 10


def beside(tmp_path: Path, name: str, sheet: str, extra: str = "") -> Frame:
    """A demo frame with this sheet of readings beside it in place of its own sets and readings."""
    text = (DEMO / f"frame-{name}.toml").read_text(encoding="utf-8")
    head, mark, rest = text.partition("\n[[reading]]")
    del mark, rest
    start = head.index("\nunits")
    head = head[:start] + '\nreadings_file = "readings.csv"' + head[start:]
    (tmp_path / "frame.toml").write_text(head + "\n" + extra, encoding="utf-8")
    (tmp_path / "readings.csv").write_text(sheet, encoding="utf-8")
    return read_frame(tmp_path / "frame.toml")


def test_the_form_is_a_sheet_of_readings_once_filled_in(tmp_path: Path) -> None:
    """Every second line filled in, in inches and sixteenths; the blank ones count as not taken."""
    made = form(demo("river-wagon"), "found")
    rows = list(csv.reader(io.StringIO(readings_csv(made))))
    assert beside(tmp_path, "river-wagon", readings_csv(made)).readings == ()
    at = rows[0].index("value")
    for row, line in zip(rows[1::2], made.lines[0::2], strict=True):
        sixteenths = round(line.drawn_mm / 25.4 * 16)
        sign, whole, part = "-" if sixteenths < 0 else "", abs(sixteenths) // 16, abs(sixteenths) % 16
        row[at] = f"{sign}{whole}-{part}/16" if part and whole else f"{sign}{part}/16" if part else f"{sign}{whole}"
    out = io.StringIO()
    csv.writer(out).writerows(rows)
    frame = beside(tmp_path, "river-wagon", out.getvalue())
    own = [r for r in frame.readings if r.set == "found"]
    assert len(own) == len(made.lines[0::2])
    for reading, line in zip(own, made.lines[0::2], strict=True):
        assert (reading.name, reading.kind, reading.start, reading.end) == (line.name, line.kind, line.start, line.end)
        assert reading.value_mm == pytest.approx(line.drawn_mm, abs=25.4 / 32 + 1e-9)
        assert reading.instrument == line.instrument


def test_the_lines_for_the_frame_file_are_read_once_filled_in(tmp_path: Path) -> None:
    made = form(demo("river-wagon"), "found")
    lines = []
    for line in additions_toml(made).splitlines():
        bare = line.removeprefix("# ") if line.startswith("# ") else line.removeprefix("#")
        key, equals, rest = bare.partition(" =")
        if equals and not rest.split("#")[0].strip():  # a blank: fill in what is drawn, or leave it out
            told = rest.partition("as drawn ")[2]
            if not told:
                continue
            bare = f'{key} = "{told}"'
        if bare.startswith("[[") or (equals and not bare.startswith("readings_file")):
            lines.append(bare)
    frame = beside(tmp_path, "river-wagon", readings_csv(made), "\n".join(lines) + "\n")
    assert [s.name for s in frame.sets] == ["found"]
    assert len(frame.sets[0].supports) == 4
    sections = [s for s in frame.section_readings if s.set == "found"]
    assert len(sections) == 8
    # the wagon's rails are 5-7/8 in deep in front and 4 in behind, of 5/32 in: its own file
    assert {round(s.depth_mm or 0.0, 6) for s in sections} == {round(5.875 * 25.4, 6), 4 * 25.4}
    # 5-7/8 in less twice 5/32 in is 5-9/16 in; 4 in less that 3-11/16 in
    assert {round(s.opening_toe_mm or 0.0, 6) for s in sections} == {round(5.5625 * 25.4, 6), round(3.6875 * 25.4, 6)}
    assert {round(s.web_thickness_mm or 0.0, 6) for s in sections} == {round(25.4 * 5 / 32, 6)}


@pytest.mark.parametrize("units", ["mm", "in"])
def test_every_key_of_the_lines_for_the_frame_file_is_one_that_it_reads(units: str, tmp_path: Path) -> None:
    """All lines with the # off and every blank filled; `readings_file` at the place that is said for it, in a frame whose first table
    has single brackets: below it, it would be one of its keys."""
    bare = FRAME.replace('readings_file = "{sheet}"\n', "").replace("datum = {{ x", "[datum]\nx")
    text = bare.replace(', z = "floor" }}', '\nz = "floor"').format(units=units, more="")
    assert text.index("\n[datum]") == text.index("\n[")
    (tmp_path / "frame.toml").write_text(text, encoding="utf-8")
    made = form(read_frame(tmp_path / "frame.toml"), "found")
    given = additions_toml(made)
    lines, blanks = [], {"height": '"900 mm"', "load_kg": "250"}
    for line in given.splitlines():
        key, equals, rest = line.removeprefix("# ").partition(" =")
        if equals and not rest.split("#")[0].strip():
            rest = blanks[key] if key in blanks else repr(rest.partition("as drawn ")[2])
        if equals or key.startswith("[["):
            lines.append(f"{key}{equals} {rest}".strip())
    assert lines[0].split() == ["readings_file", "=", '"readings.csv"']
    assert "Under `units`, above the first line of the file that begins with [ :\n# readings_file" in given
    head, bracket, tables = text.partition("\n[")
    whole = "\n".join([head, lines[0] + bracket + tables, *lines[1:], ""])
    (tmp_path / "frame.toml").write_text(whole, encoding="utf-8")
    (tmp_path / "readings.csv").write_text(readings_csv(made), encoding="utf-8")
    frame = read_frame(tmp_path / "frame.toml")
    assert frame.readings_file == "readings.csv"
    assert len(frame.section_readings) == 2 * len(made.pairs)
    assert {s.load_kg for s in frame.sets[0].supports} == {250}


@pytest.mark.parametrize("name", DEMO_NAMES)
def test_where_there_are_no_control_points_the_lines_propose_some_that_are_read(name: str, tmp_path: Path) -> None:
    """One at each crossmember, here also at both ends; with them the frame has a form that judges every word."""
    text = re.split(r"\n\[\[(control_point|set|reading|section_reading)\]\]", (DEMO / f"frame-{name}.toml").read_text(encoding="utf-8"))[0]
    path = tmp_path / "frame.toml"
    path.write_text(re.sub(r"(?m)^readings_file.*\n", "", text), encoding="utf-8")
    none = form(read_frame(path), "found")
    assert not none.legs
    given = additions_toml(none)
    assert "readings_file" not in given and "section_reading" not in given
    points = [line.removeprefix("#").strip() for line in given.partition("# What carries")[0].splitlines()[2:]]
    keys = [line for line in points if line.startswith(("[[", "name", "at", "x"))]
    path.write_text(path.read_text(encoding="utf-8") + "\n" + "\n".join(keys) + "\n", encoding="utf-8")
    made = form(read_frame(path), "found")
    assert len(made.pairs) == len(none.bare)
    assert made.bare == ()
    assert all(m.uncertainty_mm is not None for m in made.measures)


def test_without_crossmembers_the_ends_are_proposed(tmp_path: Path) -> None:
    """Rails from x = 0 to 3000 mm: 50 mm from either end."""
    text = re.sub(r"\[\[control_point\]\]\n.*\n.*\n", "", FRAME).replace('readings_file = "{sheet}"\n', "").format(units="mm", more="")
    (tmp_path / "frame.toml").write_text(text, encoding="utf-8")
    given = additions_toml(form(read_frame(tmp_path / "frame.toml"), "found"))
    assert given.count("[[control_point]]") == 2
    assert '# name = "cp-front-end"\n# x = "50 mm"' in given
    assert '# name = "cp-rear-end"\n# x = "2950 mm"' in given


def test_the_form_says_when_sections_need_not_be_measured() -> None:
    made = form(ladder(), "found")
    said = " ".join(" ".join(text_lines(form_sections(made, "mm"))).split())
    assert "left out where only straightness is asked" in said
    assert "left out where only straightness is asked" in additions_toml(made)


def test_every_line_is_there_for_a_program() -> None:
    made = of_demo("orchard-flatbed")
    told = form_json(made)
    assert [t["name"] for t in told] == [line.name for line in made.lines]
    assert all(0.0 <= t["redundancy"] <= 1.0 for t in told)
