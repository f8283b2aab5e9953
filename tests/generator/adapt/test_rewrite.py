"""The adapted text: what was asked is another, all else stands as it stood, and each change says what it was and why."""

from __future__ import annotations

import tomllib
from typing import Any

import pytest

from generator.adapt.fields import DROPPED
from generator.adapt.literal import length, literal
from generator.adapt.rewrite import Rewritten, rewritten
from generator.adapt.spans import Keys
from parts.spec import FieldSpec, Position
from parts.units import length_mm

TEXT = '''# top
[[part]]
id = "a"            # its id
thickness = 3       # mm
start = { at = "pin-front", offset = -200 }  # where it begins
pick_up = [
    { hole = "pin-front", by = "pin" },  # the first
    # between
    { hole = "pin-rear", by = "pin" },
]
holes = ["x", "y", "z"]
end.at = "rear"
end.offset = -50

# The first opening.
[[part.opening]]
name = "o"

# The second part.
[[part]]
id = "b"
[part.at]
at = "mid"
'''
LENGTH = FieldSpec(kind="length", help="")
NAME = FieldSpec(kind="name", help="")
PLACE = FieldSpec(kind="position", help="")
TABLES = FieldSpec(kind="tables", help="")


def change(*keys: str | int, to: Any, spec: FieldSpec = LENGTH, why: str = "because") -> Rewritten:
    return Rewritten(keys=("part", *keys), spec=spec, value=to, why=why)


def told(*changes: Rewritten, text: str = TEXT) -> tuple[dict[str, Any], list[str]]:
    """The new text as read, and what became of its lines: `-` gone, `+` new."""
    new = rewritten(text, changes, "mm")
    before, after = text.splitlines(), new.splitlines()
    return tomllib.loads(new), [f"- {x}" for x in before if x not in after] + [f"+ {x}" for x in after if x not in before]


def test_a_value_is_replaced_and_its_comment_stays() -> None:
    tree, lines = told(change(0, "thickness", to=2.5))
    assert tree["part"][0]["thickness"] == 2.5
    assert lines == ["- thickness = 3       # mm", "+ # adapted: thickness was 3: because", "+ thickness = 2.5       # mm"]


def test_a_place_is_written_as_a_place() -> None:
    tree, lines = told(change(0, "start", to=Position(at="front-axle", offset_mm=150.0), spec=PLACE))
    assert tree["part"][0]["start"] == {"at": "front-axle", "offset": 150}
    assert lines[1] == '+ # adapted: start was { at = "pin-front", offset = -200 }: because'
    assert lines[2] == '+ start = { at = "front-axle", offset = 150 }  # where it begins'


@pytest.mark.parametrize(
    ("keys", "place", "read"),
    [
        ((0, "end"), Position(at="rear", offset_mm=-62.5), {"at": "rear", "offset": -62.5}),
        ((1, "at"), Position(at="mid", offset_mm=10.0), {"at": "mid", "offset": 10}),
        ((1, "at"), Position(at="front"), {"at": "front"}),
    ],
)
def test_a_place_by_dotted_keys_or_a_header_of_its_own(keys: Keys, place: Position, read: dict[str, Any]) -> None:
    tree, lines = told(change(*keys, to=place, spec=PLACE))
    assert tree["part"][keys[0]][keys[1]] == read
    assert any("adapted" in line for line in lines)


def test_an_entry_goes_and_what_is_said_between_stays() -> None:
    tree, lines = told(change(0, "pick_up", 1, to=DROPPED, spec=TABLES))
    assert tree["part"][0]["pick_up"] == [{"hole": "pin-front", "by": "pin"}]
    assert lines == [
        '-     { hole = "pin-rear", by = "pin" },',
        '+ # adapted: pick_up[2] was { hole = "pin-rear", by = "pin" }: left out: because',
    ]


def test_all_entries_go() -> None:
    gone = [("pick_up", 0), ("pick_up", 1), ("holes", 1), ("holes", 2)]
    tree, _ = told(*(change(0, *keys, to=DROPPED, spec=TABLES) for keys in gone))
    assert tree["part"][0]["pick_up"] == []
    assert tree["part"][0]["holes"] == ["x"]


def test_a_name_in_a_list_and_in_an_entry() -> None:
    tree, _ = told(change(0, "pick_up", 0, "hole", to="jig", spec=NAME), change(0, "holes", 1, to="w", spec=NAME))
    assert tree["part"][0]["pick_up"][0] == {"hole": "jig", "by": "pin"}
    assert tree["part"][0]["holes"] == ["x", "w", "z"]


def test_a_key_that_was_not_given() -> None:
    fit = change(0, "pick_up", 0, "fit", to="fine", spec=NAME)
    tree, lines = told(change(0, "leg", to=4.0), change(0, "opening", 0, "up", to=30.0), fit)
    assert tree["part"][0]["leg"] == 4
    assert tree["part"][0]["opening"][0] == {"name": "o", "up": 30}
    assert tree["part"][0]["pick_up"][0]["fit"] == "fine"
    assert "+ # adapted: leg was not given: because" in lines


def test_a_pair_of_an_inline_table_goes() -> None:
    tree, _ = told(change(0, "start", "offset", to=DROPPED))
    assert tree["part"][0]["start"] == {"at": "pin-front"}
    tree, _ = told(change(0, "pick_up", 0, "hole", to=DROPPED))
    assert tree["part"][0]["pick_up"][0] == {"by": "pin"}


def test_a_part_is_commented_out_with_all_that_is_in_it_and_nothing_else() -> None:
    """What stands before the next part is the next part's."""
    new = rewritten(TEXT, [change(0, to=DROPPED, spec=TABLES, why="does not fit")], "mm")
    assert [p["id"] for p in tomllib.loads(new)["part"]] == ["b"]
    lines = new.splitlines()
    assert lines[:4] == ["# top", "# adapted: left out: does not fit", "# [[part]]", '# id = "a"            # its id']
    assert "# [[part.opening]]" in lines and "# The second part." in lines and "[[part]]" in lines
    old = TEXT.splitlines()
    back = "\n".join(line if (bare := line.removeprefix("# ")) not in old else bare for line in lines if "adapted" not in line)
    assert tomllib.loads(back) == tomllib.loads(TEXT)  # what was commented out can be put back


def test_line_ends_stay_what_they_are() -> None:
    new = rewritten(TEXT.replace("\n", "\r\n"), [change(0, "thickness", to=4.0), change(0, "leg", to=4.0), change(1, to=DROPPED)], "mm")
    assert new.count("\n") == new.count("\r\n")
    assert tomllib.loads(new)["part"][0]["leg"] == 4


@pytest.mark.parametrize(
    ("mm", "text"), [(139.7, '"5-1/2 in"'), (-12.7, '"-1/2 in"'), (4.0, '"4 mm"'), (3.03784, '"11 ga"'), (0.0, '"0 in"')]
)
def test_a_length_in_a_file_in_inches(mm: float, text: str) -> None:
    """5-1/2 x 25.4 = 139.7; 11 ga is 0.1196 in x 25.4 = 3.03784 mm (Manufacturers' Standard Gauge)."""
    assert length(mm, "in") == text
    assert float(length_mm(tomllib.loads(f"a = {text}")["a"], "in")) == mm


def test_words_and_flags() -> None:
    assert literal(True, FieldSpec(kind="flag", help=""), "mm") == "true"
    assert tomllib.loads(f'a = {literal(chr(127) + chr(34) + "é", NAME, "mm")}')["a"] == chr(127) + chr(34) + "é"
