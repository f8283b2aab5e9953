"""What a fabricator would meet, from known shapes: the shape is set by hand, so what has to come out is known."""

from __future__ import annotations

from dataclasses import replace

import pytest

from generator.survey.measures import Measure
from generator.survey.stage import Survey, survey
from parts.frame.measured import Limits, Reading
from parts.sheet import Vec3
from tests.generator.survey import ladder
from tests.generator.survey.ladder import Planned, full, heights, offsets, plan_of, reading, shape, taken
from tests.parts.frame.makers import frame

UP_14 = {"E-right": (0.0, 0.0, 14.0)}


def of(found: Survey, word: str, where: str = "") -> list[Measure]:
    return [m for m in found.measures if m.word == word and where in m.where]


def one(found: Survey, word: str, where: str) -> Measure:
    (measure,) = of(found, word, where)
    return measure


def text(found: Survey) -> str:
    return " ".join([*(n for s in found.sections for n in s.notes), *(str(u) for u in found.unknown)])


# ------------------------------------------------------------------ one corner 14 mm off the plane of the other three


def test_equal_diagonals_and_a_corner_up_is_square_and_twisted() -> None:
    """A corner of 3400 x 860 up by 14: both diagonals and all sides stay within 0.05 mm (Pythagoras: 14^2 / (2 x 3507) = 0.03)."""
    points = shape({"B-right": (0.0, 0.0, 14.0)}, xs=(100.0, 3500.0))
    found = survey(ladder.ladder(taken(points, [*plan_of("AB"), *heights("AB"), *offsets("AB")]), xs=(100.0, 3500.0)))
    assert "square, twisted 14 mm" in found.verdict_text
    twist = one(found, "twist", "B against A")
    assert twist.value_mm == pytest.approx(14.0, abs=0.05)
    assert twist.degrees == pytest.approx(0.9328, abs=0.005)  # asin(14 / 860), by hand
    assert (twist.status, twist.limit_mm) == ("cannot tell", None)
    assert "give [limits] twist" in twist.why


def test_the_bay_where_it_grows_is_told_where_every_crossmember_has_heights() -> None:
    """Pairs A to E, one at each crossmember; the right rail climbs 14 mm from C to D and stays up."""
    points = shape({"D-right": (0.0, 0.0, 14.0), "E-right": (0.0, 0.0, 14.0)})
    found = survey(ladder.ladder(taken(points, full())))
    assert [g.bay.name for g in found.growth] == ["C to D"]
    assert found.growth[0].by_mm == pytest.approx(14.0, abs=0.05)
    assert "The twist grows in the bay C to D, by +14.0 mm" in text(found)


def test_where_crossmembers_have_no_heights_the_bay_cannot_be_told() -> None:
    """Four corners alone: the crossmembers between them are named."""
    points = shape(UP_14)
    readings = taken(points, [*plan_of("AE"), *heights("AE"), *offsets("AE")])
    corners = tuple(p for p in ladder.control_points() if p.name in "AE")
    of_corners = frame(control_points=corners, readings=tuple(readings), crossmembers=ladder.crossmembers())
    found = survey(of_corners)
    assert "square, twisted 14 mm" in found.verdict_text
    assert "in which bay cannot be told: no heights at cm-B, cm-C, cm-D" in text(found)


def test_a_pair_with_a_height_missing_is_passed_over_and_its_crossmember_named() -> None:
    points = shape({"D-right": (0.0, 0.0, 14.0), "E-right": (0.0, 0.0, 14.0)})
    found = survey(ladder.ladder(taken(points, [p for p in full() if p != ("height", "D-left", None)])))
    assert [(g.bay.name, g.inside) for g in found.growth] == [("C to E", ("cm-D",))]


def test_a_twist_with_the_users_limit_is_out_and_stops() -> None:
    points = shape(UP_14)
    found = survey(ladder.ladder(taken(points, full()), limits=Limits(twist_mm=6.0)))
    assert one(found, "twist", "E against A").status == "out"
    levels = {f.code: f.level for f in found.findings}
    assert levels["frame-out-twist"] == "stop"
    assert levels["frame-out-level"] == "warn"  # the same 14 mm at the rear pair, by common practice's 3 mm


# ------------------------------------------------------------------ a tape cannot see twist


def test_a_tape_alone_tells_square_and_says_that_twist_is_not_known() -> None:
    points = shape(UP_14)
    found = survey(ladder.ladder(taken(points, plan_of("ABCDE"))))
    assert one(found, "square", "overall").status == "in"
    assert all(m.value_mm is None and m.status == "cannot tell" for m in of(found, "twist"))
    assert "No heights were taken: twist, sag and level cannot be judged." in text(found)
    assert "whether it is twisted cannot be told" in found.verdict_text
    assert found.points == {}


def test_the_missing_height_is_named_with_what_hangs_on_it() -> None:
    points = shape()
    plan = [p for p in full() if p != ("height", "D-right", None)]
    found = survey(ladder.ladder(taken(points, plan)))
    assert [u.sentence for u in found.unknown] == ["No height at D-right: twist and sag there cannot be judged."]
    assert [str(w) for w in found.unknown[0].settle] == ["the height of D-right"]
    again = survey(ladder.ladder(taken(points, full())))
    assert again.unknown == ()


def test_the_missing_diagonal_is_named() -> None:
    """Two pairs, one diagonal: square and diamond hang on the other one."""
    points = shape(xs=(100.0, 3500.0))
    plan = [p for p in [*plan_of("AB"), *heights("AB")] if p != ("distance", "A-right", "B-left")]
    plan = [p for p in plan if p != ("distance", "B-left", "B-right")]
    found = survey(ladder.ladder(taken(points, plan), xs=(100.0, 3500.0)))
    settle = {str(w) for u in found.unknown if "square" in u.words for w in u.settle}
    assert settle == {"the tape from A-right to B-left"}
    assert found.verdict_text.startswith("Verdict: whether it is square cannot be told, no twist seen")


def test_no_pair_of_points_is_said_and_no_more() -> None:
    found = survey(ladder.ladder(taken(shape(xs=(100.0,)), [("distance", "A-left", "A-right")], seed=1), xs=(100.0,)))
    assert "pairs of control points" in found.unknown[0].sentence
    assert of(found, "square") == []


# ------------------------------------------------------------------ readings that are wrong


def misread(points: dict[str, Vec3], plan: list[Planned], start: str, end: str, off: float) -> list[Reading]:
    found = []
    for item in plan:
        extra = off if item == ("distance", start, end) else 0.0
        found += [reading(points, *item, off=extra, accuracy=ladder.TAPE)] if extra else taken(points, [item])
    return found


def test_a_bay_diagonal_misread_by_25_is_named_where_overall_ones_are_there() -> None:
    """And the frame is not called out of square for it, nor square in that bay."""
    found = survey(ladder.ladder(misread(shape(), full(), "B-left", "C-right", 25.0)))
    assert [s.observations for s in found.suspects] == [("d-B-left-C-right",)]
    assert found.suspects[0].error_mm == pytest.approx(25.0, abs=1.5)
    assert [f.code for f in found.findings if f.level == "warn"] == ["survey-suspect-d-B-left-C-right"]
    bay = one(found, "square", "B to C")
    assert (bay.status, "hangs on d-B-left-C-right: in without it, out with it" in bay.why) == ("cannot tell", True)
    assert bay.off_mm == pytest.approx(0.0, abs=0.5)
    assert one(found, "square", "overall").status == "in"


def test_in_a_single_bay_the_tied_group_is_named_and_nothing_is_said_of_square() -> None:
    """One bay of four sides and two diagonals has one reading too many: which one is off nobody can say."""
    xs = (100.0, 1000.0)
    points = shape(xs=xs)
    found = survey(ladder.ladder(misread(points, [*plan_of("AB"), *heights("AB")], "A-left", "B-right", 25.0), xs=xs))
    assert len(found.suspects) == 1
    group = set(found.suspects[0].observations)
    assert {"d-A-left-B-right", "d-A-right-B-left", "d-A-left-B-left", "d-A-right-B-right"} <= group
    square = one(found, "square", "A to B")
    assert square.status == "cannot tell"
    assert "take it again" in square.why
    assert all(m.status != "out" for m in found.measures)


@pytest.mark.parametrize(("factor", "word"), [(1 / 25.4, "in"), (10.0, "10"), (1 / 10.0, "10")])
def test_a_reading_in_another_unit_is_suspected_as_such(factor: float, word: str) -> None:
    points = shape()
    readings = taken(points, full())
    wrong = next(r for r in readings if r.name == "d-B-left-C-right")
    off = wrong.value_mm * factor - wrong.value_mm
    readings = [reading(points, "distance", "B-left", "C-right", off=off, accuracy=ladder.TAPE) if r is wrong else r for r in readings]
    found = survey(ladder.ladder(readings))
    assert [s.observations for s in found.suspects] == [("d-B-left-C-right",)]
    assert word in found.suspects[0].unit_slip
    assert one(found, "square", "overall").status == "in"


# ------------------------------------------------------------------ what has no readings


def test_a_frame_without_readings_has_one_note() -> None:
    found = survey(ladder.ladder())
    assert [(f.code, f.level) for f in found.findings] == [("frame-not-measured", "note")]
    assert (found.points, found.measures, found.adjusted) == ({}, (), None)


def test_a_blunder_is_no_correction_of_its_neighbours() -> None:
    """A width 860 read as inches written down as mm, 33.86: it is put right by 826.1, and no other reading by more than it may be off."""
    readings = [
        replace(r, value_mm=r.value_mm / 25.4) if r.name == "d-C-left-C-right" else r for r in taken(shape(), full())
    ]  # fmt: skip
    found = survey(ladder.ladder(readings))
    assert [s.observations for s in found.suspects] == [("d-C-left-C-right",)]
    (table,) = [t for s in found.sections for t in s.tables if t.name == "readings"]
    rows = {row[0]: row for row in table.rows}
    assert rows["d-C-left-C-right"][6] == pytest.approx(860 - 860 / 25.4, abs=0.3) and rows["d-C-left-C-right"][9] is True
    for name, row in rows.items():
        if name != "d-C-left-C-right":
            correction, may_be = row[6], row[5]
            assert isinstance(correction, float) and isinstance(may_be, float)
            assert abs(correction) <= may_be and row[9] is False, name
