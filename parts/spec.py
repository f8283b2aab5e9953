"""What a parameter is: its unit, range and one line of help, declared where the dataclass that holds it is written.

A dataclass whose fields are made by the functions below can be read from a file, listed by `ladderframe kinds`, put into a JSON
Schema and checked, all from this one declaration. A field's key in a file is its name less the unit: `thickness_mm` is `thickness`.
Lengths are held in mm and angles in degrees; ranges include their ends.
"""

from __future__ import annotations

import dataclasses
import math
from collections.abc import Callable, Mapping
from dataclasses import dataclass
from typing import Any, Literal

from parts.errors import BadInput, Fault, quoted

Kind = Literal[
    "length", "angle", "number", "integer", "flag", "text", "name", "choice",
    "position", "names", "lengths", "table", "tables", "variants",
]  # fmt: skip
UNIT_SUFFIXES = ("_mm", "_deg", "_kg", "_kmh", "_mpa", "_nm")
KEY = "spec"


@dataclass(frozen=True, kw_only=True)
class FieldSpec:
    """One parameter. `least`, `most` in mm, degrees or plain numbers by kind; `item` is the dataclass of a table.

    For variants `items` gives the dataclass of each entry by the value of its key `selector`.
    """

    kind: Kind
    help: str
    least: float | None = None
    most: float | None = None
    choices: tuple[str, ...] = ()
    item: type[Any] | None = None
    required: bool = True
    longest: int = 200  #: characters of a text, or entries of a list
    key: str | None = None  #: the key in a file, where it is not the field's name less its unit
    selector: str = ""
    items: Mapping[str, type[Any]] | None = None


@dataclass(frozen=True, kw_only=True)
class Position:
    """A place along a rail: the named place `at` and `offset_mm` rearward along the rail's upper corner, or a plain `x_mm`."""

    at: str | None = None
    offset_mm: float = 0.0
    x_mm: float | None = None

    def __str__(self) -> str:
        if self.at is None:
            return f"x = {self.x_mm:g} mm" if self.x_mm is not None else "nowhere"
        return f"{self.at} {self.offset_mm:+g} mm" if self.offset_mm else self.at


_NOTHING = dataclasses.MISSING


def _declare(spec: FieldSpec, default: Any, factory: Callable[[], Any] | None = None) -> Any:
    if factory is not None:
        return dataclasses.field(default_factory=factory, metadata={KEY: dataclasses.replace(spec, required=False)})
    if default is _NOTHING:
        return dataclasses.field(metadata={KEY: spec})
    return dataclasses.field(default=default, metadata={KEY: dataclasses.replace(spec, required=False)})


def length(help: str, *, least: float | None = None, most: float | None = None, default: Any = _NOTHING, key: str | None = None) -> Any:
    """A length in mm; the field's name ends in `_mm`."""
    return _declare(FieldSpec(kind="length", help=help, least=least, most=most, key=key), default)


def angle(help: str, *, least: float | None = None, most: float | None = None, default: Any = _NOTHING, key: str | None = None) -> Any:
    """An angle in degrees; the field's name ends in `_deg`."""
    return _declare(FieldSpec(kind="angle", help=help, least=least, most=most, key=key), default)


def number(help: str, *, least: float | None = None, most: float | None = None, default: Any = _NOTHING, key: str | None = None) -> Any:
    return _declare(FieldSpec(kind="number", help=help, least=least, most=most, key=key), default)


def integer(help: str, *, least: int | None = None, most: int | None = None, default: Any = _NOTHING, key: str | None = None) -> Any:
    return _declare(FieldSpec(kind="integer", help=help, least=least, most=most, key=key), default)


def flag(help: str, *, default: Any = _NOTHING, key: str | None = None) -> Any:
    return _declare(FieldSpec(kind="flag", help=help, key=key), default)


def text(help: str, *, longest: int = 200, default: Any = _NOTHING, key: str | None = None) -> Any:
    """Free text, one line or more; never executed, never a path."""
    return _declare(FieldSpec(kind="text", help=help, longest=longest, key=key), default)


def name(help: str, *, default: Any = _NOTHING, key: str | None = None) -> Any:
    """An id: lower or upper case letters, digits, `-`, `_` and `.`, starting with a letter or digit, at most 64 characters."""
    return _declare(FieldSpec(kind="name", help=help, longest=64, key=key), default)


def names(help: str, *, default: Any = _NOTHING, key: str | None = None) -> Any:
    """A list of ids, held as a tuple of str."""
    return _declare(FieldSpec(kind="names", help=help, longest=1000, key=key), default)


def lengths(help: str, *, least: float | None = None, most: float | None = None, default: Any = _NOTHING, key: str | None = None) -> Any:
    """A list of lengths, held as a tuple of float in mm; the field's name ends in `_mm`."""
    return _declare(FieldSpec(kind="lengths", help=help, least=least, most=most, longest=1000, key=key), default)


def choice(help: str, choices: tuple[str, ...], *, default: Any = _NOTHING, key: str | None = None) -> Any:
    return _declare(FieldSpec(kind="choice", help=help, choices=choices, key=key), default)


def position(help: str, *, default: Any = _NOTHING, key: str | None = None) -> Any:
    """A `Position`: `"NAME"`, `{ at = "NAME", offset = L }` or `{ x = L }`."""
    return _declare(FieldSpec(kind="position", help=help, key=key), default)


def table(item: type[Any], help: str, *, default: Any = _NOTHING, key: str | None = None) -> Any:
    """One nested dataclass."""
    return _declare(FieldSpec(kind="table", help=help, item=item, key=key), default)


def tables(item: type[Any], help: str, *, required: bool = False, key: str | None = None) -> Any:
    """An array of nested dataclasses, held as a tuple: `rails = tables(Rail, ..., key="rail")` reads `[[rail]]`.

    What must be unique among them is the class attribute `UNIQUE` of `item`, a tuple of field names: see `unique_fields`.
    """
    spec = FieldSpec(kind="tables", help=help, item=item, longest=10_000, key=key)
    return _declare(spec, _NOTHING if required else ())


def variants(selector: str, items: Mapping[str, type[Any]], help: str, *, required: bool = False, key: str | None = None) -> Any:
    """An array of dataclasses of several kinds, held as a tuple; the key `selector` of each entry picks its class out of `items`."""
    spec = FieldSpec(kind="variants", help=help, selector=selector, items=items, longest=10_000, key=key)
    return _declare(spec, _NOTHING if required else ())


def unique_fields(cls: type[Any]) -> tuple[str, ...]:
    """The fields that together must differ between the entries of an array: `cls.UNIQUE`, else `name`, else `id`, else none."""
    declared = specs_of(cls)
    default = next(((n,) for n in ("name", "id") if n in declared), ())
    unique: tuple[str, ...] = getattr(cls, "UNIQUE", default)
    return unique


def specs_of(cls: type[Any]) -> Mapping[str, FieldSpec]:
    """Field name -> declaration, in the order of the class; fields declared without a spec are left out."""
    return {f.name: f.metadata[KEY] for f in dataclasses.fields(cls) if KEY in f.metadata}


def key_of(field_name: str) -> str:
    """The key that stands in a file for `field_name`: the name less its unit."""
    for suffix in UNIT_SUFFIXES:
        if field_name.endswith(suffix):
            return field_name[: -len(suffix)]
    return field_name


def file_key(field_name: str, spec: FieldSpec) -> str:
    """The key of a declared field: its own `key`, else by its name."""
    return spec.key or key_of(field_name)


def range_text(spec: FieldSpec) -> str:
    """The range in words: `0.5 to 25 mm`, `at least 1`."""
    unit = {"length": " mm", "lengths": " mm", "angle": " deg"}.get(spec.kind, "")
    if spec.least is not None and spec.most is not None:
        return f"{spec.least:g} to {spec.most:g}{unit}"
    if spec.least is not None:
        return f"at least {spec.least:g}{unit}"
    if spec.most is not None:
        return f"at most {spec.most:g}{unit}"
    return f"any finite value{unit and ' in'}{unit}"


def slip_hint(value: float, spec: FieldSpec) -> str:
    """What a value outside its range may have been meant to be, where one unit slip alone would put it inside; else ""."""
    if spec.kind not in ("length", "lengths") or not math.isfinite(value) or value <= 0:
        return ""
    low = spec.least if spec.least is not None else -math.inf
    high = spec.most if spec.most is not None else math.inf
    slips = ((1000.0, "m"), (25.4, "in"), (10.0, "cm"), (304.8, "ft")) if value < low else ()
    for factor, unit in slips:
        if low <= value * factor <= high:
            return f"{value:g} {unit} would be {value * factor:g} mm: check the unit"
    if value > high:
        for factor, unit in ((25.4, "in"), (10.0, "cm"), (1000.0, "m")):
            if low <= value / factor <= high:
                return f"{value:g} mm is {value / factor:.4g} {unit}: check the unit"
    return ""


def range_fault(field_name: str, value: float, spec: FieldSpec, where: str = "", shown: str | None = None) -> Fault | None:
    """A fault if `value` is not finite or out of range, with the likely unit slip as remedy; else None."""
    unit = {"length": " mm", "lengths": " mm", "angle": " deg"}.get(spec.kind, "")
    given = shown if shown is not None else f"{value:g}{unit}"
    if not math.isfinite(value):
        return Fault(where=where, field=file_key(field_name, spec), value=given, limit="must be a finite number")
    low, high = spec.least, spec.most
    if (low is not None and value < low) or (high is not None and value > high):
        hint = slip_hint(value, spec) or spec.help
        return Fault(where=where, field=file_key(field_name, spec), value=given, limit=f"must be {range_text(spec)}", remedy=hint)
    return None


def faults_of(thing: Any, where: str = "") -> list[Fault]:
    """Every value of a dataclass that breaks its own declaration (kind, range, choice). For `__post_init__` and the file reader."""
    faults: list[Fault] = []
    for field_name, spec in specs_of(type(thing)).items():
        value = getattr(thing, field_name)
        if value is None and not spec.required:
            continue
        values = value if spec.kind == "lengths" else (value,)
        for v in values:
            if spec.kind in ("length", "lengths", "angle", "number", "integer"):
                if isinstance(v, bool) or not isinstance(v, int | float):
                    faults.append(Fault(where=where, field=file_key(field_name, spec), value=quoted(v), limit="must be a number"))
                elif (fault := range_fault(field_name, v, spec, where)) is not None:
                    faults.append(fault)
            elif spec.kind == "choice" and v not in spec.choices:
                limit = "must be one of " + ", ".join(spec.choices)
                faults.append(Fault(where=where, field=file_key(field_name, spec), value=quoted(v), limit=limit))
    return faults


def checked(thing: Any, where: str = "") -> None:
    """Raise `BadInput` with every fault of `thing`; call it from `__post_init__`."""
    faults = faults_of(thing, where)
    if faults:
        raise BadInput(faults)
