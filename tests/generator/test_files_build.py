"""The file reader against dataclasses of this test's own: it knows kinds and messages, and no field of the program.

Expected values follow from the declarations below and from one inch = 25.4 mm (1959 agreement; ISO 31-1).
"""

from __future__ import annotations

import time
import tomllib
from dataclasses import dataclass
from typing import Any, ClassVar

import pytest

from generator.files.build import build
from generator.files.report import MOST_FAULTS, Place, Report
from parts import spec
from parts.errors import BadInput, Fault
from parts.spec import Position
from parts.units import Units, Written


@dataclass(frozen=True, kw_only=True)
class Peg:
    UNIQUE: ClassVar[tuple[str, ...]] = ("name", "side")

    name: str = spec.name("what it is called")
    side: str = spec.choice("which side", ("left", "right", "both"), default="both")
    height_mm: float = spec.length("how tall", least=1, most=100, default=10.0)


@dataclass(frozen=True, kw_only=True)
class Rim:
    width_mm: float = spec.length("across", least=5, most=500)
    lip_mm: float = spec.length("of the edge", least=0, most=50, default=0.0)

    def __post_init__(self) -> None:
        if self.lip_mm > self.width_mm:
            raise BadInput(Fault(where="", field="lip", value=f"{self.lip_mm:g} mm", limit="must not be wider than the rim"))


@dataclass(frozen=True, kw_only=True)
class Round:
    id: str = spec.name("its id")
    radius_mm: float = spec.length("radius", least=1, most=200)


@dataclass(frozen=True, kw_only=True)
class Square:
    id: str = spec.name("its id")
    edge_mm: float = spec.length("edge", least=1, most=200)
    start: Position | None = spec.position("where", default=None)


SHAPES: dict[str, type[Any]] = {"round_plate": Round, "square_plate": Square}


@dataclass(frozen=True, kw_only=True)
class Board:
    thickness_mm: float = spec.length("of the sheet", least=0.5, most=25)
    depth_mm: float = spec.length("over all", least=20, most=500, default=100.0)
    tilt_deg: float = spec.angle("of the board", least=-45, most=45, default=0.0)
    factor: float = spec.number("a plain number", least=0, most=1, default=0.5)
    count: int = spec.integer("how many", least=1, most=9, default=1)
    spare: bool = spec.flag("is there a spare", default=False)
    note: str = spec.text("anything", longest=20, default="")
    holes: tuple[str, ...] = spec.names("holes by name", default=())
    gaps_mm: tuple[float, ...] = spec.lengths("gaps", least=0, most=50, default=())
    start: Position | None = spec.position("where it starts", default=None)
    rim: Rim | None = spec.table(Rim, "the rim", default=None)
    pegs: tuple[Peg, ...] = spec.tables(Peg, "the pegs", key="peg")
    shapes: tuple[Any, ...] = spec.variants("family", SHAPES, "the shapes", key="shape")


def read(text: str, units: Units = "mm") -> Board | tuple[Fault, ...]:
    return build(Board, tomllib.loads(text, parse_float=Written), units, "board one")


def board(text: str, units: Units = "mm") -> Board:
    built = read("thickness = 4\n" + text, units)
    assert isinstance(built, Board), built
    return built


def faults(text: str, units: Units = "mm", thickness: str = "thickness = '4 mm'\n") -> tuple[Fault, ...]:
    built = read(thickness + text, units)
    assert isinstance(built, tuple), built
    return built


def fault(text: str, units: Units = "mm", thickness: str = "thickness = '4 mm'\n") -> Fault:
    (only,) = faults(text, units, thickness)
    return only


def test_every_kind_is_read() -> None:
    built = board(
        """
        depth = "5-1/2 in"
        tilt = "12 deg"
        factor = 0.25
        count = 3
        spare = true
        note = "turn over"
        holes = ["pin-front", "pin-rear"]
        gaps = [1, 2.5, "1/8 in"]
        start = { at = "pin-front", offset = "-1/2 in" }
        [rim]
        width = 50
        [[peg]]
        name = "a"
        side = "left"
        [[peg]]
        name = "a"
        side = "right"
        height = 3.5
        [[shape]]
        family = "square_plate"
        id = "s"
        edge = 20
        start = { x = 1200 }
        [[shape]]
        family = "round_plate"
        id = "r"
        radius = 7
        """
    )
    assert built == Board(
        thickness_mm=4.0, depth_mm=139.7, tilt_deg=12.0, factor=0.25, count=3, spare=True, note="turn over",
        holes=("pin-front", "pin-rear"), gaps_mm=(1.0, 2.5, 3.175), start=Position(at="pin-front", offset_mm=-12.7),
        rim=Rim(width_mm=50.0), pegs=(Peg(name="a", side="left"), Peg(name="a", side="right", height_mm=3.5)),
        shapes=(Square(id="s", edge_mm=20.0, start=Position(x_mm=1200.0)), Round(id="r", radius_mm=7.0)),
    )  # fmt: skip
    assert (type(built.count), type(built.thickness_mm)) == (int, float)


def test_inches_are_exact_and_so_are_their_millimetre_twins() -> None:
    text = "depth = {}\nstart = {{ at = 'p', offset = {} }}\ngaps = [{}]"
    inches = build(Board, tomllib.loads("thickness = 0.1\n" + text.format(4, 1.1, 0.3), parse_float=Written), "in")
    twin = build(Board, tomllib.loads("thickness = 2.54\n" + text.format(101.6, 27.94, 7.62), parse_float=Written), "mm")
    assert isinstance(inches, Board) and inches == twin


def test_all_faults_of_a_table_in_one_go() -> None:
    found = faults(
        """
        depth = 0
        tilt = 90
        factor = 2
        count = 1.5
        spare = "yes"
        note = 4
        holes = "pin"
        gaps = [1, -1, "x"]
        start = { offset = 4 }
        wobble = 1
        rim = [1]
        peg = 5
        shape = { family = "x" }
        """,
        thickness="",
    )
    assert {f.field for f in found} == {
        "thickness", "depth", "tilt", "factor", "count", "spare", "note", "holes", "gaps[2]", "gaps[3]", "start", "wobble", "rim", "peg",
        "shape",
    }  # fmt: skip
    assert len(found) == 15
    assert {f.where for f in found} == {"board one"}


@pytest.mark.parametrize(
    ("text", "field", "says"),
    [
        ("depth = nan", "depth", "finite"),
        ("depth = inf", "depth", "finite"),
        ("depth = 1e400", "depth", "out of the range"),
        ("depth = 1e12", "depth", "too large"),
        ("depth = 1000000000000", "depth", "at most 1 km"),
        ("depth = -100", "depth", "must be 20 to 500 mm"),
        ("depth = 1e-30", "depth", "0 or at least 0.001 mm"),  # far below what any gauge of a shop shows, and no edge that can be drawn
        ("start = { x = -0.0009 }", "start.x", "0 or at least 0.001 mm"),
        ("tilt = '0.0005 deg'", "tilt", "0 or at least 0.001 degrees"),
        ("depth = '6 nm'", "depth", '"6 nm"'),
        ("depth = '1OO mm'", "depth", "letter O where a zero belongs"),
        ("depth = '4,5in'", "depth", "use a point, not a comma"),
        ("depth = true", "depth", "is not a length"),
        ("depth = 1979-05-27", "depth", "1979-05-27"),
        ("depth = []", "depth", "a list of 0"),
        ("depth = 600", "depth", "must be 20 to 500 mm"),
        ("tilt = nan", "tilt", "finite"),
        ("tilt = '12 mm'", "tilt", '"12 deg"'),
        ("factor = '0.5'", "factor", "is not a number"),
        ("factor = inf", "factor", "finite"),
        ("count = 4.0", "count", "whole number"),
        ("count = 10", "count", "must be 1 to 9"),
        ("count = true", "count", "whole number"),
        ("spare = 1", "spare", "true or false"),
        ("[[shape]]\nfamily = 'round_plate'\nid = ''\nradius = 5", "id", "is not a name"),
        ("note = 'a text that is longer than twenty'", "note", "at most 20 characters"),
        ('note = "bell \\u0007"', "note", "control characters"),
        ("holes = ['a', 'a']", "holes", "twice"),
        ("holes = ['a', 4]", "holes[2]", "name in quotes"),
        ("holes = ['../x']", "holes[1]", "is not a name"),
        ("holes = 'pin'", "holes", 'write ["pin"]'),
        ("gaps = ['1 mm', '60 mm']", "gaps[2]", "0 to 50 mm"),
        ("start = 5", "start", '{ x = 1200 }'),
        ("start = { at = 'p', x = 5 }", "start", 'either "at" or "x"'),
        ("start = { x = 5, offset = 2 }", "start", '"offset" goes with "at"'),
        ("start = { at = 'p', ofset = 2 }", "start.ofset", 'did you mean "offset"?'),
        ("start = { at = 'p', offset = '2 nm' }", "start.offset", '"2 nm"'),
        ("start = { at = 'a/b' }", "start.at", "is not a name"),
        ("start = { x = 1e7 }", "start.x", "at most 1 km"),
        ("rim = { }", "rim.width", "is required"),
        ("rim = { width = 50, lipp = 1 }", "rim.lipp", 'did you mean "lip"?'),
        ("rim = { width = 10, lip = 20 }", "rim.lip", "must not be wider"),
        ("[[rim]]\nwidth = 50", "rim", "single brackets: [rim]"),
        ("[peg]\nname = 'a'", "peg", "[[peg]], with two brackets"),
        ("depht = 50", "depht", 'did you mean "depth"?'),
        ("zzz = 50", "zzz", "known keys: thickness, depth"),
    ],
)
def test_one_fault(text: str, field: str, says: str) -> None:
    found = fault(text)
    assert found.field == field
    assert says in str(found)


@pytest.mark.parametrize(
    ("text", "units", "shown", "remedy"),
    [
        # 152 mm is 5.98 in: six inches, turned into millimetres, where 6 mm was meant
        ("thickness = 152", "mm", "152 mm", "5.984 in"),
        # a rail depth in metres
        ("thickness = 4\ndepth = 0.18", "mm", "0.18 mm", "0.18 m would be 180 mm"),
        ("thickness = 4\ndepth = '0.18 mm'", "mm", '"0.18 mm"', "0.18 m would be 180 mm"),
        # a bare number meant in mm in a file in inches: 6 in = 152.4 mm
        ("thickness = 6", "in", "6 in = 152.4 mm", '"6 mm" would be 6 mm'),
        ("thickness = '6 in'", "mm", '"6 in" = 152.4 mm', "check the unit"),
        ("thickness = 0.25\ndepth = 0.18", "in", "0.18 in = 4.572 mm", '"0.18 m" would be 180 mm'),
    ],
)
def test_unit_slips_are_named(text: str, units: Units, shown: str, remedy: str) -> None:
    found = fault(text, units, thickness="")
    assert found.value == shown
    assert remedy in found.remedy


def test_a_misspelt_required_key_is_one_fault() -> None:
    found = fault("thicknes = 4", thickness="")
    assert (found.field, found.limit) == ("thicknes", "unknown key")
    assert 'did you mean "thickness"?' in found.remedy


NOT_NAMES = ["../x", "a/b", "", " a", "a b", ".hidden", "-x", "ä", "a\\b", "a\n", "x" * 65, "CON", "nul.txt", "x" * 1_000_000]


@pytest.mark.parametrize("name", NOT_NAMES, ids=range(len(NOT_NAMES)))
def test_names_are_plain(name: str) -> None:
    found = build(Peg, {"name": name}, "mm")
    assert isinstance(found, tuple) and len(found) == 1
    assert len(str(found[0])) < 300


@pytest.mark.parametrize("name", ["a", "rail-plate", "8.5_hole", "X" * 64, "console"])
def test_plain_names_are_read(name: str) -> None:
    assert build(Peg, {"name": name}, "mm") == Peg(name=name)


def test_unique_by_name_and_side() -> None:
    text = "[[peg]]\nname = 'a'\nside = 'left'\n" * 2
    found = fault(text)
    assert (found.where, found.field) == ("board one peg a", "name")
    assert found.limit == "stands twice: number 1 and number 2"
    assert found.remedy == "they must differ in name or side"


def test_a_default_counts_for_uniqueness_and_so_does_a_faulty_entry() -> None:
    assert "twice" in fault("[[peg]]\nname = 'a'\nside = 'both'\n[[peg]]\nname = 'a'\n").limit
    found = faults("[[peg]]\nname = 'a'\nheight = 1000\n[[peg]]\nname = 'a'\n")
    assert [f.field for f in found] == ["height", "name"]


def test_ids_that_differ_in_case_only_would_be_one_file() -> None:
    found = fault("[[shape]]\nfamily = 'round_plate'\nid = 'a'\nradius = 5\n[[shape]]\nfamily = 'square_plate'\nid = 'A'\nedge = 5\n")
    assert (found.where, found.field, found.value) == ("board one shape A", "id", '"A"')


def test_unknown_family_offers_the_nearest_and_the_others_are_still_judged() -> None:
    found = faults(
        """
        [[shape]]
        family = "rond_plate"
        id = "a"
        [[shape]]
        id = "b"
        [[shape]]
        family = 4
        id = "c"
        [[shape]]
        family = "round_plate"
        id = "d"
        radius = 0
        [[shape]]
        family = "round_plate"
        id = "a"
        radius = 5
        """
    )
    assert [(f.where, f.field) for f in found] == [
        ("board one shape a", "family"),
        ("board one shape b", "family"),
        ("board one shape c", "family"),
        ("board one shape d", "radius"),
        ("board one shape a", "id"),
    ]
    assert 'did you mean "round_plate"?' in found[0].remedy
    assert "square_plate" in found[1].remedy


def test_a_rule_between_fields_is_told_at_its_place_beside_the_other_faults() -> None:
    found = faults("rim = { width = 10, lip = 20 }\n[[peg]]\nname = 'a'\nheight = 0\n")
    assert [(f.where, f.field) for f in found] == [("board one", "rim.lip"), ("board one peg a", "height")]


@pytest.mark.parametrize(
    ("own", "told"),
    [("", "board one"), ("one", "board one"), ("board one hook", "board one hook"), ("hook", "board one hook")],
)
def test_a_rule_that_names_its_place_is_told_within_the_readers(own: str, told: str) -> None:
    report = Report()
    report.add_rule(Place(where="board one"), [Fault(where=own, field="lip", limit="x")])
    assert [f.where for f in report.faults] == [told]


def test_bare_lengths_are_not_judged_while_the_units_are_unknown() -> None:
    raw = tomllib.loads("thickness = 500\ndepth = '5 nm'\ntilt = 90\ngaps = [nan]", parse_float=Written)
    found = build(Board, raw, None)
    assert isinstance(found, tuple)
    assert {f.field for f in found} == {"depth", "tilt", "gaps[1]"}
    assert build(Board, {"thickness": 4}, None) == ()  # nothing to blame here, and nothing built


def test_many_faults_are_bounded_work_and_still_told() -> None:
    keys = {f"thicknes{i}": i for i in range(200_000)}
    pegs = [{f"nam{i}": i for i in range(50)} for _ in range(10_000)]
    begin = time.process_time()
    found = build(Board, {**keys, "peg": pegs, "note": "x" * 1_000_000}, "mm")
    assert isinstance(found, tuple)
    assert len(found) == MOST_FAULTS + 1
    assert "more that are not listed" in found[-1].limit
    assert sum(len(str(f)) for f in found) < 500_000
    assert time.process_time() - begin < 10  # unbounded, this takes minutes; bounded, a fraction of a second


def test_too_many_entries_are_refused_before_they_are_looked_at() -> None:
    found = build(Board, {"thickness": 4, "peg": [{}] * 10_001, "holes": ["a"] * 1_001}, "mm")
    assert isinstance(found, tuple)
    assert {f.limit for f in found} == {"must have at most 10000 entries", "must have at most 1000 entries"}


def test_deep_values_in_messages_are_short() -> None:
    deep: dict[str, Any] = {}
    for _ in range(100_000):
        deep = {"a": deep}
    try:
        found = build(Board, {"thickness": deep, "rim": {"width": deep}, "k" * 1_000_000: deep}, "mm")
        assert isinstance(found, tuple) and len(found) == 3
        assert all(len(str(f)) < 500 for f in found)
    finally:
        while deep:  # taken apart level by level, so that letting go of it cannot recurse
            deep = deep["a"]
