"""Values as a person writes them into a job file."""

from __future__ import annotations

import json
from fractions import Fraction
from typing import Any, Final

from parts.csv_table import read_table
from parts.spec import FieldSpec, Position
from parts.units import MM_PER_IN, Gauge, Units, gauge_mm, shop_inches

FINEST: Final = 64  #: parts of an inch


def literal(value: Any, spec: FieldSpec, units: Units) -> str:
    """TOML text that reads back as `value` in a file of these units."""
    if isinstance(value, Position):
        return _position(value, units)
    if spec.kind in ("length", "lengths") and isinstance(value, float | int):
        return length(value, units)
    if isinstance(value, bool):
        return "true" if value else "false"
    if isinstance(value, str):
        return quoted(value)
    if isinstance(value, tuple):
        return "[" + ", ".join(literal(v, spec, units) for v in value) + "]"
    return plain(value)


def quoted(text: str) -> str:
    """A TOML basic string."""
    return json.dumps(text, ensure_ascii=False).replace("\x7f", "\\u007F")


def plain(value: float) -> str:
    """A bare number, every digit that it has and no more."""
    return str(int(value)) if float(value).is_integer() else repr(float(value))


def length(mm: float, units: Units) -> str:
    """A length: bare in a file in mm; in one in inches as a fraction or gauge where it is one, else with its unit."""
    if units == "mm":
        return plain(mm)
    marks = Fraction(mm) / MM_PER_IN * FINEST
    if float(round(marks) * MM_PER_IN / FINEST) == mm:
        return quoted(shop_inches(round(marks) * MM_PER_IN / FINEST, FINEST))
    gauge = next((row.gauge for row in read_table("gauge", Gauge) if float(gauge_mm(row.gauge)) == mm), None)
    return quoted(f"{gauge} ga" if gauge is not None else f"{plain(mm)} mm")


def _position(place: Position, units: Units) -> str:
    if place.at is None:
        return f"{{ x = {length(place.x_mm or 0.0, units)} }}"
    return f"{{ at = {quoted(place.at)}, offset = {length(place.offset_mm, units)} }}" if place.offset_mm else quoted(place.at)
