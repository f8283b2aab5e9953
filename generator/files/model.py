"""A whole file into its dataclass: the three lines that every file begins with, then the rest."""

from __future__ import annotations

from collections.abc import Mapping
from dataclasses import dataclass
from typing import Literal, TypeVar

from generator.files.build import Walk
from generator.files.report import Place, Report
from generator.files.source import Source
from generator.files.toml_text import parse
from parts import spec
from parts.errors import BadInput, Fault
from parts.units import Units

T = TypeVar("T")
FORMAT = 1


@dataclass(frozen=True, kw_only=True)
class Header:
    """What a frame or job file begins with."""

    format: int = spec.integer(f"the form of the file: this program reads format = {FORMAT}", least=FORMAT, most=FORMAT)
    name: str = spec.text("what the file is about, in a few words", longest=100)
    units: Units = spec.choice("what a bare length counts", ("mm", "in"))


def read_model(cls: type[T], source: Source) -> T | tuple[Fault, ...]:
    """The file as an object of `cls`, or its faults, each with the file's label. A file that does not parse is one fault."""
    try:
        raw = parse(source)
    except BadInput as error:
        return error.faults
    return model_of(cls, raw, source.label)


def model_of(cls: type[T], raw: Mapping[str, object], label: str) -> T | tuple[Fault, ...]:
    """The parsed file `raw` as an object of `cls`, or its faults. `cls` gets `format`, `name` and `units` where it has such fields."""
    report = Report()
    declared = spec.specs_of(cls)
    header_keys = spec.specs_of(Header)
    header = Walk("mm", report).table(Header, {k: v for k, v in raw.items() if k in header_keys}, Place())
    units = _units(raw.get("units"))
    # A faulty header keeps nothing back: the rest is judged with stand-ins, and thrown away.
    stand_in = header if isinstance(header, Header) else Header(format=FORMAT, name="unnamed", units=units or "mm")
    ready = {k: getattr(stand_in, k) for k in header_keys if k in declared}
    thing = Walk(units, report).table(cls, {k: v for k, v in raw.items() if k not in header_keys}, Place(), ready=ready)
    if isinstance(thing, cls) and not report.faults:
        return thing
    return tuple(f.in_file(label) for f in report.faults)


def _units(given: object) -> Units | None:
    known: tuple[Literal["mm"], Literal["in"]] = ("mm", "in")
    return next((u for u in known if u == given), None)
