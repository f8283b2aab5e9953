"""The adapted job file: the old one's text with exactly what changed replaced, each change under a comment that says what it was and why.

All else stays: comments, order, forms in which lengths are written. What is left out is commented out, so that it can be put back.
"""

from __future__ import annotations

import textwrap
from collections.abc import Sequence
from dataclasses import dataclass
from typing import Any

from generator.adapt.fields import DROPPED
from generator.adapt.literal import literal, quoted
from generator.adapt.spans import Keys, Span, Spans, spans_of
from parts.spec import FieldSpec, Position
from parts.units import Units

WIDTH = 130
MARK = "adapted"


@dataclass(frozen=True, kw_only=True)
class Rewritten:
    """One change of the file. `value` may be `DROPPED`; `keys` counts entries as they stand in the old file."""

    keys: Keys
    spec: FieldSpec
    value: Any
    why: str


def rewritten(text: str, changes: Sequence[Rewritten], units: Units) -> str:
    """The text with the changes made."""
    return _Rewrite(text, units).run(changes)


class _Rewrite:
    def __init__(self, text: str, units: Units) -> None:
        self.text = text
        self.units = units
        self.spans: Spans = spans_of(text)
        self.newline = "\r\n" if "\r\n" in text else "\n"
        self.cuts: list[tuple[int, int, str]] = []  #: (start, end, what comes in its place)
        self.notes: dict[int, list[str]] = {}  #: start of a line -> comments before it
        self.added: dict[int, list[str]] = {}  #: end of a line -> lines behind it
        self.hidden: set[int] = set()  #: starts of lines that are commented out

    def run(self, changes: Sequence[Rewritten]) -> str:
        for change in changes:
            if change.value is DROPPED:
                self._drop(change)
            else:
                self._set(change)
        for start in self.hidden:
            self.cuts.append((start, start, "# "))
        for start, notes in self.notes.items():
            indent = self._indent(start)
            lines = [f"{indent}# {line}" for note in notes for line in textwrap.wrap(note, WIDTH - len(indent), break_long_words=False)]
            self.cuts.append((start, start, "".join(f"{line}{self.newline}" for line in lines)))
        for end, lines in self.added.items():
            self.cuts.append((end, end, "".join(f"{self.newline}{line}" for line in lines)))
        out = self.text
        # Notes go before what stands at the same place: put in last.
        for start, end, new in sorted(self.cuts, key=lambda c: (c[0], c[1], c[2] == "# "), reverse=True):
            out = out[:start] + new + out[end:]
        return out

    def _set(self, change: Rewritten) -> None:
        path = change.keys
        new = literal(change.value, change.spec, self.units)
        if path in self.spans.values:
            span = self.spans.values[path]
            owner = self.spans.owner[path]
            self.cuts.append((span.start, span.end, new))
            self._note(owner.start, path, self._old(span), change.why)
        elif isinstance(change.value, Position) and self._parts_of(path):
            self._position_in_parts(change, change.value)
        else:
            self._add(path, new, change.why)

    def _parts_of(self, path: Keys) -> list[Keys]:
        """Keys of a table that is written out, by dotted keys or under a header of its own."""
        return [p for p in self.spans.pairs if p[: len(path)] == path and len(p) == len(path) + 1]

    def _position_in_parts(self, change: Rewritten, place: Position) -> None:
        parts = {"at": place.at, "offset": place.offset_mm if place.at is not None else None, "x": place.x_mm}
        for key, value in parts.items():
            here = (*change.keys, key)
            spec = FieldSpec(kind="name" if key == "at" else "length", help="")
            if value is None and here in self.spans.pairs:
                self._drop(Rewritten(keys=here, spec=spec, value=DROPPED, why=change.why))
            elif value is not None and (here in self.spans.pairs or value):
                new = literal(value, spec, self.units)
                if here not in self.spans.pairs:
                    self._add(here, new, change.why)
                elif new != self._old(self.spans.values[here]):
                    self._set(Rewritten(keys=here, spec=spec, value=value, why=change.why))

    def _add(self, path: Keys, new: str, why: str) -> None:
        """A key that the file does not have yet."""
        table, key = path[:-1], path[-1]
        if table in self.spans.inline:
            pairs = self.spans.inline[table]
            end = self.spans.pairs[pairs[-1]].end if pairs else self.spans.values[table].start + 1
            self.cuts.append((end, end, f"{', ' if pairs else ' '}{key} = {new}"))
            self._note(self.spans.owner[table].start, path, "not given", why)
            return
        block = next((b for b in self.spans.blocks if b.path == table), None)
        if block is None:  # written by dotted keys: beside them
            mate = max(self._parts_of(table), key=lambda p: self.spans.pairs[p].start)
            at, line = self.spans.pairs[mate].end, f"{'.'.join(str(k) for k in (*table[-1:], key))} = {new}"
        else:
            at, line = block.end, f"{key} = {new}"
        notes = textwrap.wrap(f"{MARK}: {key} was not given: {why}", WIDTH, break_long_words=False)
        self.added.setdefault(self._line_end(at), []).extend([*(f"# {n}" for n in notes), line])

    def _drop(self, change: Rewritten) -> None:
        path = change.keys
        if path in self.spans.pairs and path[:-1] in self.spans.inline:
            self._cut_pair(path)
            self._note(self.spans.owner[path].start, path, self._old(self.spans.values[path]), f"left out: {change.why}")
        elif path in self.spans.pairs:
            span = self.spans.pairs[path]
            self._hide(span, f"{MARK}: left out: {change.why}")
        elif path in self.spans.values:
            span = self.spans.values[path]
            self._cut_item(span)
            self._note(self.spans.owner[path].start, path, self._old(span), f"left out: {change.why}")
        else:
            blocks = list(self.spans.below(path))
            if blocks:
                self.notes.setdefault(self._line_start(blocks[0].header.start), []).append(f"{MARK}: left out: {change.why}")
                for block in blocks:
                    for span in (block.header, *block.statements):
                        self._hide(span)
            else:
                for p in self._parts_of(path):
                    self._hide(self.spans.pairs[p], f"{MARK}: left out: {change.why}")

    def _cut_item(self, span: Span) -> None:
        """An item of an array with its comma, and its line where nothing else is on it."""
        rest = self.text[span.end :]
        blank = len(rest) - len(rest.lstrip(" \t"))
        end = span.end + blank + 1 if rest[blank : blank + 1] == "," else span.end
        first, last = self._line_start(span.start), self._line_break(end)
        if not self.text[first : span.start].strip() and not self.text[end:last].strip() and last < len(self.text):
            self.cuts.append((first, last + 1, ""))
            return
        after = self.text[end:last]
        self.cuts.append((span.start, end + (len(after) - len(after.lstrip(" \t")) if after.strip() else 0), ""))

    def _cut_pair(self, path: Keys) -> None:
        listed = self.spans.inline[path[:-1]]
        i = listed.index(path)
        here = self.spans.pairs[path]
        if i:
            self.cuts.append((self.spans.pairs[listed[i - 1]].end, here.end, ""))
        else:
            end = self.spans.pairs[listed[1]].start if len(listed) > 1 else here.end
            self.cuts.append((here.start, end, ""))

    def _hide(self, span: Span, note: str = "") -> None:
        """Comment out every line of a statement."""
        start = self._line_start(span.start)
        if note:
            self.notes.setdefault(start, []).append(note)
        while start < span.end:
            self.hidden.add(start)
            start = self._line_break(start) + 1

    def _note(self, at: int, path: Keys, old: str, why: str) -> None:
        named = ""
        for k in path[2:] if path[0] == "part" and len(path) > 2 else path:
            named += f"[{k + 1}]" if isinstance(k, int) else f".{k}" if named else k
        notes = self.notes.setdefault(self._line_start(at), [])
        notes.append(f"{MARK}: {named} was {old}{': ' if why else ''}{why}")

    def _old(self, span: Span) -> str:
        return " ".join(self.text[span.start : span.end].split())

    def _line_start(self, at: int) -> int:
        return self.text.rfind("\n", 0, at) + 1

    def _line_break(self, at: int) -> int:
        """The place of the break at the line's end."""
        end = self.text.find("\n", at)
        return len(self.text) if end < 0 else end

    def _line_end(self, at: int) -> int:
        """The end of what the line says."""
        end = self._line_break(at)
        return end - 1 if end > at and self.text[end - 1] == "\r" else end

    def _indent(self, start: int) -> str:
        line = self.text[start : self._line_end(start)]
        return line[: len(line) - len(line.lstrip())]


def frame_change(reference: str, why: str) -> Rewritten:
    """The line that names the frame."""
    return Rewritten(keys=("frame",), spec=FieldSpec(kind="text", help=""), value=reference, why=why)


__all__ = ["Rewritten", "frame_change", "quoted", "rewritten"]
