"""A table of a file into the dataclass that declares it, with every fault found on the way.

Knows kinds, units and messages, no field: what keys there are, what they may hold and what must be unique stands in the dataclass
(`parts.spec`). A rule that looks at several fields stands in its `__post_init__`, which raises `BadInput`.
"""

from __future__ import annotations

import dataclasses
from collections.abc import Mapping, Sequence
from itertools import islice
from typing import Any, TypeVar

from generator.files.nearest import listed, nearest
from generator.files.report import Place, Report
from generator.files.values import REFUSED, Refused, Values
from parts.errors import BadInput, Fault, quoted
from parts.spec import FieldSpec, file_key, specs_of, unique_fields
from parts.units import Units, shown_as_written

T = TypeVar("T")
LONGEST_LABEL = 40
MOST_UNKNOWN_KEYS = 20  #: listed one by one in one table


def build(cls: type[T], raw: Mapping[str, object], units: Units | None, where: str = "") -> T | tuple[Fault, ...]:
    """`raw` as an object of `cls`, or every fault that stands in the way.

    Args:
        cls: a dataclass declared with `parts.spec`.
        raw: the table, with bare numbers as `int` or `parts.units.Written`.
        units: what a bare length counts; None where that is not known, and then nothing is built.
        where: what holds the table, for messages (`part rail-plate`).
    """
    report = Report()
    thing = Walk(units, report).table(cls, raw, Place(where=where))
    if isinstance(thing, cls) and not report.faults:
        return thing
    return report.faults


class Walk:
    """The walk over the tables of one file."""

    def __init__(self, units: Units | None, report: Report) -> None:
        self.report = report
        self.values = Values(units, report)

    def table(
        self, cls: type[Any], raw: Mapping[str, object], place: Place, ready: Mapping[str, object] | None = None, selector: str = ""
    ) -> object:
        """An object of `cls`, or REFUSED. `ready` holds values read before, by field; `selector` is a key that was read before."""
        known = {file_key(name, spec): (name, spec) for name, spec in specs_of(cls).items()}
        fields = dict(ready or {})
        whole = True
        # What a misspelt key leaves open is not told a second time.
        meant = self._unknown_keys([k for k in raw if k not in known and k != selector], known, raw, place)
        for key, (name, spec) in known.items():
            if name in fields:
                continue
            if key in raw:
                value = self._value(key, spec, raw[key], place)
                whole = whole and value is not REFUSED
                fields[name] = value
            elif spec.required:
                whole = False
                if key not in meant:
                    self.report.add(place, key, limit="is required", remedy=spec.help)
        if not whole:
            return REFUSED
        try:
            return cls(**fields)
        except BadInput as error:
            self.report.add_rule(place, [f for f in error.faults if f.field not in meant])
            return REFUSED

    def _unknown_keys(self, keys: Sequence[str], known: Mapping[str, object], raw: Mapping[str, object], place: Place) -> set[str]:
        meant = set()
        for key in keys[:MOST_UNKNOWN_KEYS]:
            near = nearest(key, [k for k in known if k not in raw]) or nearest(key, known)
            if near is not None:
                meant.add(near)
            remedy = f'did you mean "{near}"?' if near else f"known keys: {listed(known)}"
            self.report.add(place, quoted(key), limit="unknown key", remedy=remedy)
        if len(keys) > MOST_UNKNOWN_KEYS:
            self.report.add(place, "", limit=f"{len(keys) - MOST_UNKNOWN_KEYS} more unknown keys")
        return meant

    def _value(self, key: str, spec: FieldSpec, raw: object, place: Place) -> object:
        if spec.kind == "table":
            if not isinstance(raw, Mapping):
                once = f"write it once, with single brackets: [{place.prefix}{key}]"
                return self._refuse(key, raw, place, "must be a table", once if isinstance(raw, list) else f"its keys: {_keys(spec)}")
            return self.table(_item(spec), raw, place.inner(key))
        if spec.kind in ("tables", "variants"):
            return self._entries(key, spec, raw, place)
        return self.values.read(key, spec, raw, place)

    def _entries(self, key: str, spec: FieldSpec, raw: object, place: Place) -> object:
        if not isinstance(raw, list):
            remedy = f"write [[{place.prefix}{key}]], with two brackets, once for each"
            return self._refuse(key, raw, place, "must be an array of tables", remedy)
        if len(raw) > spec.longest:
            return self._refuse(key, raw, place, f"must have at most {spec.longest} entries")
        entries: list[object] = []
        seen: dict[tuple[object, ...], int] = {}
        for number, entry in enumerate(raw, start=1):
            if self.report.full:
                self.report.leave(len(raw) - number + 1)
                return REFUSED
            if not isinstance(entry, Mapping):
                entries.append(self._refuse(f"{key}[{number}]", entry, place, "must be a table"))
                continue
            where = place.entry(key, _label(spec.item, entry, number))
            cls, thing = self._entry(spec, entry, where)
            entries.append(thing)
            if cls is not None and not self._unique(cls, thing, entry, number, seen, where):
                entries.append(REFUSED)
        return REFUSED if REFUSED in entries else tuple(entries)

    def _entry(self, spec: FieldSpec, raw: Mapping[str, object], place: Place) -> tuple[type[Any] | None, object]:
        if spec.kind == "tables":
            return _item(spec), self.table(_item(spec), raw, place)
        items = spec.items or {}
        chosen = raw.get(spec.selector)
        if isinstance(chosen, str) and chosen in items:
            return items[chosen], self.table(items[chosen], raw, place, selector=spec.selector)
        remedy = f"known: {listed(items)}"
        if chosen is None:
            misspelt = next((k for k in islice(raw, MOST_UNKNOWN_KEYS) if nearest(k, [spec.selector])), None)
            if misspelt is not None:
                self.report.add(place, quoted(misspelt), limit="unknown key", remedy=f'did you mean "{spec.selector}"? {remedy}')
            else:
                self.report.add(place, spec.selector, limit="is required", remedy=remedy)
        else:
            near = nearest(chosen, items) if isinstance(chosen, str) else None
            remedy = f'did you mean "{near}"? {remedy}' if near else remedy
            self._refuse(spec.selector, chosen, place, f"unknown {spec.selector}", remedy)
        return next(iter(items.values()), None), REFUSED

    def _unique(
        self, cls: type[Any], thing: object, raw: Mapping[str, object], number: int, seen: dict[tuple[object, ...], int], place: Place
    ) -> bool:
        names = unique_fields(cls)
        values = _identity(cls, names, thing, raw)
        if values is None or not names:
            return True
        first = seen.setdefault(values, number)
        if first == number:
            return True
        keys = [file_key(n, specs_of(cls)[n]) for n in names]
        shown = ", ".join(shown_as_written(raw[k]) for k in keys if k in raw)
        remedy = "give each its own" if len(keys) == 1 else f"they must differ in {' or '.join(keys)}"
        self.report.add(place, keys[0], value=shown, limit=f"stands twice: number {first} and number {number}", remedy=remedy)
        return False

    def _refuse(self, key: str, raw: object, place: Place, limit: str, remedy: str = "") -> Refused:
        self.report.add(place, key, value=shown_as_written(raw), limit=limit, remedy=remedy)
        return REFUSED


def _item(spec: FieldSpec) -> type[Any]:
    assert spec.item is not None, "a table is declared with its dataclass"
    return spec.item


def _keys(spec: FieldSpec) -> str:
    return listed(file_key(n, s) for n, s in specs_of(_item(spec)).items())


def _label(cls: type[Any] | None, raw: Mapping[str, object], number: int) -> str:
    """What a message calls an entry: its name or id, else what it is unique by where that is text, else its number."""
    unique = unique_fields(cls) if cls is not None else ()
    given = [raw[k] for k in ("name", "id", *unique) if raw.get(k) and isinstance(raw[k], str)]
    return quoted(given[0], LONGEST_LABEL) if given else f"number {number}"


def _identity(cls: type[Any], names: Sequence[str], thing: object, raw: Mapping[str, object]) -> tuple[object, ...] | None:
    """What must differ from every other entry; None where that is not known. Letters count alike in either case: ids name files."""
    declared = specs_of(cls)
    defaults = {f.name: f.default for f in dataclasses.fields(cls)}
    values = []
    for name in names:
        value = raw.get(file_key(name, declared[name]), defaults[name]) if thing is REFUSED else getattr(thing, name)
        if thing is REFUSED and not isinstance(value, str):
            return None
        values.append(value.casefold() if isinstance(value, str) else value)
    return tuple(values)
