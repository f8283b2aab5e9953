"""Where every value of a TOML text stands in it, so that one can be replaced and all else stays as it was written.

For texts that `tomllib` has read: what is wrong with one is not told here.
"""

from __future__ import annotations

import re
import tomllib
from collections.abc import Iterator
from dataclasses import dataclass, field

Keys = tuple[str | int, ...]  #: keys and numbers of entries, from the top of the file

_BARE = re.compile(r"[A-Za-z0-9_-]+")
_BASIC = re.compile(r'"(?:[^"\\]|\\.)*"')
_LITERAL = re.compile(r"'[^']*'")
_LONG = re.compile(r'"""(?:[^\\]|\\.)*?"{3,5}(?!")|' + r"'''.*?'{3,5}(?!')", re.DOTALL)
_SCALAR = re.compile(r"[^,\]}#\r\n]+")
_BLANK = re.compile(r"(?:[ \t\r\n]|#[^\n]*)*")
_SPACE = re.compile(r"[ \t]*")


@dataclass(frozen=True, kw_only=True)
class Span:
    """A stretch of the text: `text[start:end]`."""

    start: int
    end: int


@dataclass(kw_only=True)
class Block:
    """A `[table]` or one `[[entry]]`, or what stands before the first of them (path ()): its header and its own statements."""

    path: Keys
    header: Span
    statements: list[Span] = field(default_factory=list)

    @property
    def end(self) -> int:
        """Where its last statement ends; comments behind it may belong to what follows."""
        return max([self.header.end, *(s.end for s in self.statements)])


@dataclass(kw_only=True)
class Spans:
    """What stands where. Items of arrays and pairs of inline tables have their own."""

    values: dict[Keys, Span] = field(default_factory=dict)
    pairs: dict[Keys, Span] = field(default_factory=dict)  #: `key = value`, of a line of its own or in an inline table
    inline: dict[Keys, list[Keys]] = field(default_factory=dict)  #: inline tables: their pairs, in order
    blocks: list[Block] = field(default_factory=list)
    owner: dict[Keys, Span] = field(default_factory=dict)  #: the whole statement that a value stands in

    def below(self, path: Keys) -> Iterator[Block]:
        """The blocks of a table and of all tables in it."""
        return (b for b in self.blocks if b.path[: len(path)] == path)


def spans_of(text: str) -> Spans:
    """The spans of every value in `text`, which is TOML."""
    return _Scan(text).run()


class _Scan:
    def __init__(self, text: str) -> None:
        self.text = text
        self.at = 0
        self.out = Spans()
        self.counts: dict[Keys, int] = {}  #: entries of arrays of tables so far

    def run(self) -> Spans:
        block = Block(path=(), header=Span(start=0, end=0))
        self.out.blocks.append(block)
        while True:
            self._skip(_BLANK)
            if self.at >= len(self.text):
                return self.out
            start = self.at
            if self.text[self.at] == "[":
                block = self._header()
                self.out.blocks.append(block)
                continue
            path = (*block.path, *self._keys())
            self._skip(_SPACE)
            self.at += 1  # =
            self._skip(_SPACE)
            before = set(self.out.values)
            self._value(path)
            whole = Span(start=start, end=self.at)
            self.out.pairs[path] = whole
            block.statements.append(whole)
            self.out.owner |= {p: whole for p in self.out.values.keys() - before}

    def _header(self) -> Block:
        start = self.at
        double = self.text.startswith("[[", self.at)
        self.at += 2 if double else 1
        self._skip(_SPACE)
        keys = self._keys()
        path: Keys = ()
        for i, key in enumerate(keys):
            path = (*path, key)
            if double and i == len(keys) - 1:
                self.counts[path] = self.counts.get(path, 0) + 1
            if path in self.counts:
                path = (*path, self.counts[path] - 1)
        self._skip(_SPACE)
        self.at += 2 if double else 1
        return Block(path=path, header=Span(start=start, end=self.at))

    def _keys(self) -> tuple[str, ...]:
        keys = []
        while True:
            bare = _BARE.match(self.text, self.at)
            if bare:
                keys.append(bare[0])
                self.at = bare.end()
            else:
                keys.append(self._text())
            self._skip(_SPACE)
            if not self.text.startswith(".", self.at):
                return tuple(keys)
            self.at += 1
            self._skip(_SPACE)

    def _text(self) -> str:
        match = (_BASIC if self.text[self.at] == '"' else _LITERAL).match(self.text, self.at)
        assert match is not None, "tomllib has read it"
        self.at = match.end()
        value: str = tomllib.loads(f"a = {match[0]}")["a"]
        return value

    def _value(self, path: Keys) -> None:
        start, text = self.at, self.text
        if text.startswith(('"""', "'''"), self.at):
            match = _LONG.match(text, self.at)
            assert match is not None, "tomllib has read it"
            self.at = match.end()
        elif text[self.at] in "\"'":
            self._text()
        elif text[self.at] == "[":
            self._array(path)
        elif text[self.at] == "{":
            self._table(path)
        else:
            match = _SCALAR.match(text, self.at)
            assert match is not None, "tomllib has read it"
            self.at = start + len(match[0].rstrip())
        self.out.values[path] = Span(start=start, end=self.at)

    def _array(self, path: Keys) -> None:
        self.at += 1
        number = 0
        while True:
            self._skip(_BLANK)
            if self.text[self.at] == "]":
                self.at += 1
                return
            self._value((*path, number))
            number += 1
            self._skip(_BLANK)
            self.at += self.text[self.at] == ","

    def _table(self, path: Keys) -> None:
        self.at += 1
        listed = self.out.inline.setdefault(path, [])
        while True:
            self._skip(_BLANK)
            if self.text[self.at] == "}":
                self.at += 1
                return
            start = self.at
            here = (*path, *self._keys())
            self._skip(_SPACE)
            self.at += 1  # =
            self._skip(_SPACE)
            self._value(here)
            self.out.pairs[here] = Span(start=start, end=self.at)
            listed.append(here)
            self._skip(_BLANK)
            self.at += self.text[self.at] == ","

    def _skip(self, pattern: re.Pattern[str]) -> None:
        match = pattern.match(self.text, self.at)
        self.at = match.end() if match else self.at
