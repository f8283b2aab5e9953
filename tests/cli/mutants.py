"""Input files with one thing wrong in each: every leaf, table and array of a TOML tree in turn, replaced by each of a list of bad values.

A tree is what `tomllib` reads. `text_of` writes one back with one key a line, as a person does, so that what a syntax error quotes can be
told from the rest.
"""

from __future__ import annotations

import copy
import itertools
import json
import random
from collections.abc import Callable, Iterable, Iterator, Mapping
from dataclasses import dataclass
from typing import Any

Steps = tuple[str | int, ...]
Tree = dict[str, Any]


@dataclass(frozen=True)
class Raw:
    """TOML text that stands in a tree in a value's place."""

    text: str


@dataclass(frozen=True, kw_only=True)
class Bad:
    """What is put in a value's place."""

    name: str
    literal: str = ""  #: TOML text
    factor: float | None = None  #: for numbers, instead: the value times this
    never: bool = False  #: no field of any kind may take it


def _never(name: str, literal: str) -> Bad:
    return Bad(name=name, literal=literal, never=True)


#: What may come from a slip of the hand, from a broken program or from an unkind one.
BAD_VALUES: tuple[Bad, ...] = (
    _never("nan", "nan"),
    _never("inf", "inf"),
    _never("-inf", "-inf"),
    _never("1e400", "1e400"),
    _never("1e308", "1e308"),
    _never("a whole number of 40 digits", "9" * 40),
    _never("a whole number of 5000 digits", "9" * 5000),
    _never("more decimals than can be meant", "0." + "1" * 5000),
    _never("a date", "1979-05-27"),
    _never("a moment", "1979-05-27T07:32:00Z"),
    _never("lists in lists", "[[1], [[2]]]"),
    _never("a table that nobody knows", '{ nobody = "knows" }'),
    _never("a very long text", '"' + "x" * 100_000 + '"'),
    _never("control characters", '"a\\u0007\\u001b[31mb"'),
    _never("a null byte", '"a\\u0000b"'),
    _never("half a surrogate pair", '"\\uD800"'),
    _never("no value", ""),
    _never("a bare word", "thick"),
    _never("a bare fraction of nothing", "1/0 in"),
    Bad(name="nautical miles", literal='"5 nm"'),
    Bad(name="a fraction of nothing", literal='"1/0 in"'),
    Bad(name="a way out", literal='"../x"'),
    Bad(name="a device", literal='"CON"'),
    Bad(name="an empty text", literal='""'),
    Bad(name="digits of another script", literal='"٣ mm"'),
    Bad(name="a letter of another script", literal='"fr\\u043ent"'),  # the Cyrillic o
    Bad(name="text that turns round", literal='"\\u202efront"'),
    Bad(name="a number in quotes", literal='"100"'),
    Bad(name="a name that is not there", literal='"nowhere"'),
    Bad(name="true", literal="true"),
    Bad(name="an empty list", literal="[]"),
    Bad(name="an empty table", literal="{}"),
    Bad(name="zero", literal="0"),
    Bad(name="minus zero", literal="-0.0"),
    Bad(name="negative", literal="-7"),
    Bad(name="next to nothing", literal="1e-30"),
    Bad(name="inches as mm", factor=25.4),
    Bad(name="mm as inches", factor=1 / 25.4),
    Bad(name="mm as m", factor=0.001),
    Bad(name="a hair more", factor=1.000001),
)


@dataclass(frozen=True, kw_only=True)
class Mutant:
    """One file with one thing wrong."""

    name: str
    steps: Steps  #: where; the last step that is a key is what a fault has to name
    never: bool  #: whether it must be refused
    make: Callable[[], str]  #: its text
    meant: str = ""  #: the key that a misspelt one was

    @property
    def key(self) -> str:
        return next(s for s in reversed(self.steps) if isinstance(s, str))

    @property
    def kind(self) -> Steps:
        """The place without its numbers: what the program declares once, however often it stands in the file."""
        return tuple(s for s in self.steps if isinstance(s, str))

    def __str__(self) -> str:
        return f"{'.'.join(map(str, self.steps))}: {self.name}"


def wrong_values(tree: Tree) -> Iterator[Mutant]:
    """Every leaf, table and array of `tree` with every bad value in its place."""
    for steps in _places(tree):
        there = _at(tree, steps)
        number = isinstance(there, int | float) and not isinstance(there, bool) and there != 0
        for bad in BAD_VALUES:
            if bad.factor is None:
                # Nothing between two commas of a list is one entry less.
                never = bad.never and not (bad.literal == "" and isinstance(steps[-1], int))
                yield Mutant(name=bad.name, steps=steps, never=never, make=_replaced(tree, steps, bad.literal))
            elif number:
                yield Mutant(name=bad.name, steps=steps, never=False, make=_replaced(tree, steps, repr(there * bad.factor)))


def wrong_keys(tree: Tree) -> Iterator[Mutant]:
    """Every key of `tree` left out, misspelt, in capitals, and twice."""
    for steps in _places(tree):
        *above, key = steps
        if not isinstance(key, str):
            continue
        spellings = {
            "a letter twice": key[:1] + key,
            "two letters exchanged": key[:-2] + key[-1] + key[-2] if len(key) > 3 and key[-1] != key[-2] else "",
            "a letter short": key[:2] + key[3:] if len(key) > 4 else "",
            "in capitals": key.upper(),
        }
        for name, spelling in spellings.items():
            if spelling:
                yield Mutant(name=name, steps=(*above, spelling), never=True, make=_renamed(tree, steps, spelling), meant=key)
        yield Mutant(name="left out", steps=steps, never=False, make=_renamed(tree, steps, None))
        yield Mutant(name="twice", steps=steps, never=True, make=_doubled(tree, steps))


def sample(every: Iterable[Mutant], count: int, seed: int) -> list[Mutant]:
    """`count` of them, always the same: each kind of place in turn, so that a key that stands in one table comes as surely as one that
    stands in every hole."""
    shuffled = list(every)
    random.Random(seed).shuffle(shuffled)
    by_kind: dict[Steps, list[Mutant]] = {}
    for mutant in shuffled:
        by_kind.setdefault(mutant.kind, []).append(mutant)
    turns = itertools.chain.from_iterable(itertools.zip_longest(*by_kind.values()))
    return [m for m in turns if m is not None][:count]


# --- trees ---


def text_of(tree: Tree) -> str:
    """`tree` as TOML, one key a line."""
    return "\n".join(_lines(tree, "")) + "\n"


def _lines(table: Mapping[str, Any], path: str) -> Iterator[str]:
    for key, value in table.items():
        if not _is_tables(value) and not isinstance(value, Mapping):
            yield f"{_key(key)} = {_literal(value)}"
    for key, value in table.items():
        inner = f"{path}{_key(key)}"
        if isinstance(value, Mapping):
            yield f"[{inner}]"
            yield from _lines(value, f"{inner}.")
        elif _is_tables(value):
            for entry in value:
                yield f"[[{inner}]]"
                yield from _lines(entry, f"{inner}.")


def _is_tables(value: object) -> bool:
    return isinstance(value, list) and bool(value) and all(isinstance(v, Mapping) for v in value)


def _key(key: str) -> str:
    return key if key.isascii() and key.replace("_", "a").replace("-", "a").isalnum() else json.dumps(key)


def _literal(value: object) -> str:
    match value:
        case Raw():
            return value.text
        case bool():
            return str(value).lower()
        case str():
            return json.dumps(value, ensure_ascii=False)
        case int() | float():
            return repr(value)
        case Mapping():
            return "{ " + ", ".join(f"{_key(k)} = {_literal(v)}" for k, v in value.items()) + " }"
        case list():
            return "[" + ", ".join(map(_literal, value)) + "]"
    raise AssertionError(f"no TOML for {value!r}")


def _places(tree: object, above: Steps = ()) -> Iterator[Steps]:
    """Every leaf, table and array below the top, outer ones first."""
    if above:
        yield above
    items: Iterable[tuple[str | int, object]] = ()
    if isinstance(tree, Mapping):
        items = tree.items()
    elif isinstance(tree, list):
        items = enumerate(tree)
    for step, inner in items:
        yield from _places(inner, (*above, step))


def _at(tree: object, steps: Steps) -> Any:
    there: Any = tree
    for step in steps:
        there = there[step]
    return there


def _replaced(tree: Tree, steps: Steps, literal: str) -> Callable[[], str]:
    def make() -> str:
        changed = copy.deepcopy(tree)
        _at(changed, steps[:-1])[steps[-1]] = Raw(literal)
        return text_of(changed)

    return make


def _renamed(tree: Tree, steps: Steps, name: str | None) -> Callable[[], str]:
    def make() -> str:
        changed = copy.deepcopy(tree)
        table = _at(changed, steps[:-1])
        items = [(k, v) if k != steps[-1] else (name, v) for k, v in table.items()]
        table.clear()
        table.update({k: v for k, v in items if k is not None})
        return text_of(changed)

    return make


def _doubled(tree: Tree, steps: Steps) -> Callable[[], str]:
    def make() -> str:
        changed = copy.deepcopy(tree)
        table = _at(changed, steps[:-1])
        value = _literal(table[steps[-1]])
        table[steps[-1]] = Raw(f"{value}\n{steps[-1]} = {value}")
        return text_of(changed)

    return make
