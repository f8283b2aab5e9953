"""One value of a file into what its declaration asks for. Knows kinds and units, no field."""

from __future__ import annotations

import math
import re
from collections.abc import Mapping
from dataclasses import replace
from enum import Enum
from fractions import Fraction
from typing import Final

from generator.files.nearest import nearest, nearest_hint
from generator.files.report import Place, Report
from parts.errors import BadInput, Fault, quoted
from parts.spec import FieldSpec, Position, range_fault
from parts.units import MM_PER_UNIT, Units, Written, angle_deg, length_mm, plain_number, shop_mm, shown_as_written

NAME = re.compile(r"[A-Za-z0-9][A-Za-z0-9_.-]*")
NAME_RULE = "letters a to z, digits, - _ and . only, a letter or digit first, 64 characters at most"
NAME_LONGEST = 64
#: Ids become file names, and these names are devices on Windows whatever their ending.
RESERVED = re.compile(r"(?i:con|prn|aux|nul|com[0-9]|lpt[0-9])(\..*)?")
POSITION_FORMS = 'accepted: "NAME", { at = "NAME", offset = 40 }, { x = 1200 }'
BARE_UNITS = ("mm", "in", "cm", "m", "ft")


class Refused(Enum):
    """Stands for a value that was refused; the fault is in the report."""

    REFUSED = "refused"


REFUSED: Final = Refused.REFUSED


class Values:
    """Reads single values. `units` is None where the file's units are not known: bare lengths are then not judged."""

    def __init__(self, units: Units | None, report: Report) -> None:
        self.units = units
        self.report = report

    def read(self, key: str, spec: FieldSpec, raw: object, place: Place) -> object:
        """The value of a field that is not a table, or REFUSED."""
        match spec.kind:
            case "length" | "angle" | "number" | "integer":
                return self._quantity(key, spec, raw, place)
            case "lengths" | "names":
                return self._list(key, spec, raw, place)
            case "flag":
                return raw if isinstance(raw, bool) else self._refuse(place, key, raw, "must be true or false", "no quotes, small letters")
            case "text":
                return self._text(key, spec, raw, place)
            case "name":
                return self._name(key, raw, place)
            case "choice":
                return self._choice(key, spec, raw, place)
            case "position":
                return self._position(key, raw, place)
            case _:
                raise AssertionError(f"{spec.kind} is read by the walk over tables")

    def _refuse(self, place: Place, key: str, raw: object, limit: str, remedy: str = "") -> Refused:
        self.report.add(place, key, value=shown_as_written(raw), limit=limit, remedy=remedy)
        return REFUSED

    def _quantity(self, key: str, spec: FieldSpec, raw: object, place: Place) -> object:
        try:
            exact = self._exact(spec, raw)
        except BadInput as error:
            self.report.add_value(place, key, error)
            return REFUSED
        if exact is None:
            return REFUSED
        value = int(exact) if spec.kind == "integer" else float(exact)
        fault = range_fault(key, value, spec, shown=self._shown(spec, raw, exact))
        if fault is None:
            return value
        remedy = self._bare_unit_hint(spec, raw) or fault.remedy
        self.report.add_value(place, key, BadInput(replace(fault, remedy=remedy)))
        return REFUSED

    def _exact(self, spec: FieldSpec, raw: object) -> Fraction | None:
        """None where a bare length cannot be judged because the file's units are not known."""
        if spec.kind in ("length", "lengths"):
            value = length_mm(raw, self.units or "mm")
            return None if self.units is None and not isinstance(raw, str) else value
        if spec.kind == "angle":
            return angle_deg(raw)
        if spec.kind == "number":
            return plain_number(raw)
        value = plain_number(raw, "a whole number", "4")
        if not isinstance(raw, int):
            raise BadInput(Fault(where="", field="", value=shown_as_written(raw), limit="must be a whole number, without a point"))
        return value

    def _shown(self, spec: FieldSpec, raw: object, exact: Fraction) -> str:
        shown = shown_as_written(raw)
        if spec.kind not in ("length", "lengths"):
            return shown
        if not isinstance(raw, str):
            shown = f"{shown} {self.units}"
        in_mm = shop_mm(exact, 3)
        return shown if shown.strip('"') == in_mm else f"{shown} = {in_mm}"

    def _bare_unit_hint(self, spec: FieldSpec, raw: object) -> str:
        """For a bare length out of its range in a file in inches: the unit that would put it inside."""
        if self.units != "in" or spec.kind not in ("length", "lengths") or isinstance(raw, str):
            return ""
        number = plain_number(raw)
        low = spec.least if spec.least is not None else -math.inf
        high = spec.most if spec.most is not None else math.inf
        for unit in BARE_UNITS:
            in_mm = number * MM_PER_UNIT[unit]
            if number > 0 and low <= in_mm <= high:
                return f'bare numbers in this file are inches; "{shown_as_written(raw)} {unit}" would be {shop_mm(in_mm)}: check the unit'
        return ""

    def _list(self, key: str, spec: FieldSpec, raw: object, place: Place) -> object:
        if not isinstance(raw, list):
            shown = shown_as_written(raw)
            return self._refuse(place, key, raw, "must be a list", f"write [{shown}]" if isinstance(raw, str | int | Written) else "")
        if len(raw) > spec.longest:
            return self._refuse(place, key, raw, f"must have at most {spec.longest} entries")
        read = self._quantity if spec.kind == "lengths" else self._name_of_list
        values = tuple(read(f"{key}[{number}]", spec, entry, place) for number, entry in enumerate(raw, start=1))
        twice = next((v for i, v in enumerate(values) if v in values[:i] and v is not REFUSED), None) if spec.kind == "names" else None
        if twice is not None:
            return self._refuse(place, key, twice, "stands twice in the list", "name it once")
        return REFUSED if REFUSED in values else values

    def _name_of_list(self, key: str, _spec: FieldSpec, raw: object, place: Place) -> object:
        return self._name(key, raw, place)

    def _text(self, key: str, spec: FieldSpec, raw: object, place: Place) -> object:
        if not isinstance(raw, str):
            return self._refuse(place, key, raw, "must be text", "put it in quotes")
        if spec.required and not raw.strip():
            return self._refuse(place, key, raw, "must not be empty", spec.help)
        if len(raw) > spec.longest:
            return self._refuse(place, key, raw, f"must have at most {spec.longest} characters")
        if any(not (c.isprintable() or c in "\n\t") for c in raw):
            return self._refuse(place, key, raw, "must not hold control characters")
        return raw

    def _name(self, key: str, raw: object, place: Place) -> object:
        if not isinstance(raw, str):
            return self._refuse(place, key, raw, "must be a name in quotes", NAME_RULE)
        if len(raw) > NAME_LONGEST or NAME.fullmatch(raw) is None:
            return self._refuse(place, key, raw, "is not a name", NAME_RULE)
        if RESERVED.fullmatch(raw):
            return self._refuse(place, key, raw, "is the name of a device on some computers", "choose another name")
        return raw

    def _choice(self, key: str, spec: FieldSpec, raw: object, place: Place) -> object:
        if isinstance(raw, str) and raw in spec.choices:
            return raw
        remedy = nearest_hint(raw, spec.choices) if isinstance(raw, str) else "put it in quotes"
        return self._refuse(place, key, raw, "must be one of " + ", ".join(f'"{c}"' for c in spec.choices), remedy)

    def _position(self, key: str, raw: object, place: Place) -> object:
        if isinstance(raw, str):
            at = self._name(key, raw, place)
            return Position(at=at) if isinstance(at, str) else REFUSED
        if not isinstance(raw, Mapping):
            return self._refuse(place, key, raw, "is not a position", POSITION_FORMS)
        inner = place.inner(key)
        unknown = [k for k in raw if k not in ("at", "offset", "x")]
        for extra in unknown[:3]:
            meant = nearest(extra, ("at", "offset", "x"))
            hint = f'did you mean "{meant}"? ' if meant else ""
            self.report.add(inner, quoted(extra), limit="unknown key", remedy=hint + POSITION_FORMS)
        if ("at" in raw) == ("x" in raw):
            return self._refuse(place, key, raw, 'needs either "at" or "x"', POSITION_FORMS)
        if "x" in raw and "offset" in raw:
            return self._refuse(place, key, raw, '"offset" goes with "at" only', POSITION_FORMS)
        at = self._name("at", raw["at"], inner) if "at" in raw else None
        length = FieldSpec(kind="length", help=POSITION_FORMS)
        offset = self._quantity("offset", length, raw.get("offset", 0), inner) if "offset" in raw else 0.0
        x = self._quantity("x", length, raw["x"], inner) if "x" in raw else None
        if unknown or REFUSED in (at, offset, x):
            return REFUSED
        return Position(at=_str_or_none(at), offset_mm=_float(offset), x_mm=None if x is None else _float(x))


def _str_or_none(value: object) -> str | None:
    return value if isinstance(value, str) else None


def _float(value: object) -> float:
    assert isinstance(value, float)
    return value
