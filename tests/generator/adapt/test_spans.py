"""Where values stand in a text, against `tomllib`: what stands in a span, read alone, is what the file says at that key."""

from __future__ import annotations

import tomllib
from typing import Any

import pytest

from generator.adapt.spans import Keys, spans_of
from tests.generator.adapt.makers import DEMO

HARD = '''# a comment = "with a value"
title = "a # no comment" # a comment
'quoted key'.b = 'it''' + "'" + '''
long = """
two lines # no comment
[[part]]
"""
raw = \'\'\'say ""\'\'\'
when = 1979-05-27 07:32:00
dotted.at = "front"
dotted . offset = -5
list = [ 1, 2, # one ] more
  [ "a", 'b' ], { x = 1, y = [ { z = "}" } ] },
]
none = []
empty = {}

[[part]]
id = "a"
[[part.opening]]
name = "first"   # its name
[[part.opening]]
name = "second"
[part.stops]
every = 320
[[part]]   # another
id = "b"
start = { at = "front", offset = "5-1/2 in" }
[[part.opening]]
name = "third"
[shop.bend]
rule = "k"
'''


def at(tree: Any, path: Keys) -> Any:
    for step in path:
        tree = tree[step]
    return tree


def leaves(tree: Any, path: Keys = ()) -> list[Keys]:
    inner = tree.items() if isinstance(tree, dict) else enumerate(tree) if isinstance(tree, list) else ()
    below = [leaf for key, value in inner for leaf in leaves(value, (*path, key))]
    return below or [path]


TEXTS = {"hard": HARD, "hard with CR LF": HARD.replace("\n", "\r\n")} | {p.name: p.read_text("utf-8") for p in sorted(DEMO.glob("*.toml"))}


@pytest.mark.parametrize("name", TEXTS)
def test_what_stands_in_a_span_is_what_the_file_says(name: str) -> None:
    text = TEXTS[name]
    tree = tomllib.loads(text)
    found = spans_of(text)
    for path, span in found.values.items():
        assert tomllib.loads(f"a = {text[span.start : span.end]}")["a"] == at(tree, path), path
    for path, span in found.pairs.items():
        assert text[span.start : span.end].endswith(text[found.values[path].start : found.values[path].end])
    assert {p for p in leaves(tree) if at(tree, p) != {}} <= found.values.keys()


def test_the_blocks_of_a_part_are_its_own_and_those_in_it() -> None:
    found = spans_of(HARD)
    assert [b.path for b in found.below(("part", 0))] == [
        ("part", 0), ("part", 0, "opening", 0), ("part", 0, "opening", 1), ("part", 0, "stops"),
    ]  # fmt: skip
    assert [b.path for b in found.below(("part", 1))] == [("part", 1), ("part", 1, "opening", 0)]
