"""Every part family with its parameters, units, ranges and one line of help, read off the families' own declarations."""

from __future__ import annotations

import dataclasses
from collections.abc import Mapping
from typing import Any

from generator.show import Column, Section, Table
from parts.errors import BadInput, Fault, quoted
from parts.families import FAMILIES
from parts.spec import FieldSpec, file_key, range_text, specs_of
from parts.units import shop_mm

COLUMNS = (
    Column(name="key"),
    Column(name="takes"),
    Column(name="range"),
    Column(name="default"),
    Column(name="meaning"),
)
TAKES = {
    "length": "length", "lengths": "lengths", "angle": "angle", "number": "number", "integer": "whole number", "flag": "true, false",
    "text": "text", "name": "id", "names": "ids", "choice": "one of", "position": "position", "table": "table", "tables": "tables",
    "variants": "tables",
}  # fmt: skip
NOTES = (
    'length: a number in the file\'s units, or text with its own: "4 mm", "5-1/2 in", "10 ga"',
    'position: "NAME", { at = "NAME", offset = LENGTH } or { x = LENGTH }; an offset is laid off along the rail\'s upper corner',
)


def kinds(only: str | None = None) -> tuple[Section, ...]:
    """One section a family, or the one named.

    Raises:
        BadInput: there is no family of that name.
    """
    if only is not None and only not in FAMILIES:
        names = ", ".join(FAMILIES)
        raise BadInput(Fault(where="", field="family", value=quoted(only), limit="no such family", remedy=f"there are {names}"))
    chosen = {n: c for n, c in FAMILIES.items() if only in (None, n)}
    return (*(_section(name, family) for name, family in chosen.items()), Section(title="How values are written", notes=NOTES))


def _section(name: str, family: type[Any]) -> Section:
    rows = tuple(_rows(family, ""))
    table = Table(name=name, title="", columns=COLUMNS, rows=rows)
    return Section(title=f"{name}: {family.SUMMARY}", tables=(table,))


def _rows(cls: type[Any], under: str) -> list[tuple[str, ...]]:
    defaults = {f.name: f.default for f in dataclasses.fields(cls)}
    rows: list[tuple[str, ...]] = []
    for field_name, spec in specs_of(cls).items():
        key = under + file_key(field_name, spec)
        rows.append((key, TAKES[spec.kind], _range(spec), _default(spec, defaults, field_name), spec.help))
        if spec.item is not None:
            rows += _rows(spec.item, f"{key}.")
        for choice, item in (spec.items or {}).items():
            rows += _rows(item, f"{key}({choice}).")
    return rows


def _range(spec: FieldSpec) -> str:
    if spec.kind == "choice":
        return ", ".join(spec.choices)
    if spec.least is None and spec.most is None:
        return ""
    return range_text(spec)


def _default(spec: FieldSpec, defaults: Mapping[str, Any], field_name: str) -> str:
    if spec.required:
        return "(needed)"
    value = defaults[field_name]
    if value is None or value is dataclasses.MISSING or value in ((), ""):
        return ""
    if isinstance(value, bool):
        return "true" if value else "false"
    if isinstance(value, int | float):
        return shop_mm(value) if spec.kind == "length" else f"{value:g}{' deg' if spec.kind == 'angle' else ''}"
    if isinstance(value, tuple):
        return ", ".join(f"{v:g}" if isinstance(v, int | float) else str(v) for v in value)
    return str(value) if isinstance(value, str) else ""
