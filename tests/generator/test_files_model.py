"""Whole files: the header, the stand-ins for a faulty one, and the JSON Schema from the same declarations."""

from __future__ import annotations

import json
from dataclasses import dataclass
from pathlib import Path
from typing import Any

import pytest

from generator.files.model import read_model
from generator.files.schema import DRAFT, file_schema
from generator.files.source import read_source
from parts import spec
from parts.errors import BadInput, Fault
from parts.spec import Position


@dataclass(frozen=True, kw_only=True)
class Leg:
    name: str = spec.name("what it is called")
    length_mm: float = spec.length("how long", least=10, most=2000)
    splay_deg: float = spec.angle("outward", least=0, most=30, default=0.0)


@dataclass(frozen=True, kw_only=True)
class Oak:
    id: str = spec.name("its id")
    age: int = spec.integer("years", least=1, default=80)


@dataclass(frozen=True, kw_only=True)
class Bench:
    name: str = spec.text("what it is")
    units: str = spec.choice("unit", ("mm", "in"))
    top_mm: float = spec.length("thickness of the top", least=5, most=100)
    place: Position | None = spec.position("where", default=None)
    legs: tuple[Leg, ...] = spec.tables(Leg, "the legs", key="leg")
    wood: tuple[Any, ...] = spec.variants("kind", {"oak": Oak}, "the wood")

    def __post_init__(self) -> None:
        if len(self.legs) == 1:
            raise BadInput(Fault(where="", field="leg", limit="a bench on one leg falls over"))


@dataclass(frozen=True, kw_only=True)
class Bare:
    """Has no field for the header."""

    top_mm: float = spec.length("thickness of the top", least=5, most=100)


def read(tmp_path: Path, text: str, cls: type[Any] = Bench) -> Any:
    (tmp_path / "bench.toml").write_text(text, encoding="utf-8")
    return read_model(cls, read_source(tmp_path / "bench.toml", "bench.toml"))


def places(found: tuple[Fault, ...]) -> list[str]:
    assert {f.file for f in found} == {"bench.toml"}
    return [f"{f.where} {f.field}".strip() for f in found]


HEAD = 'format = 1\nname = "garden bench"\nunits = "in"\n'


def test_a_whole_file(tmp_path: Path) -> None:
    bench = read(tmp_path, HEAD + "top = 1.1\n")
    assert bench == Bench(name="garden bench", units="in", top_mm=27.94)
    assert read(tmp_path, HEAD + "top = 1.1\n", Bare) == Bare(top_mm=27.94)


@pytest.mark.parametrize(
    ("head", "expected"),
    [
        ("", ["format", "name", "units"]),
        ('format = 2\nname = ""\nunits = "cm"\n', ["format", "name", "units"]),
        ('format = "1"\nname = 4\nunits = 5\n', ["format", "name", "units"]),
        ('format = 1\nname = " "\nunits = "in"\n', ["name"]),
    ],
)
def test_a_faulty_header_keeps_nothing_back(tmp_path: Path, head: str, expected: list[str]) -> None:
    found = read(tmp_path, head + 'top = "4 nm"\nplaec = "x"\n[[leg]]\nname = "a"\nlength = "1 mm"\n')
    assert places(found) == [*expected, "plaec", "top", "leg a length"]


def test_rules_between_tables_are_told_beside_a_faulty_header(tmp_path: Path) -> None:
    found = read(tmp_path, 'format = 9\nname = "x"\nunits = "mm"\ntop = 20\n[[leg]]\nname = "a"\nlength = 100\n')
    assert places(found) == ["format", "leg"]


def test_an_unknown_unit_blames_no_bare_length(tmp_path: Path) -> None:
    found = read(tmp_path, 'format = 1\nname = "x"\nunits = "mmm"\ntop = 5000\n')
    assert places(found) == ["units"]
    assert 'did you mean "mm"?' in found[0].remedy


def test_a_file_that_does_not_parse_is_one_fault(tmp_path: Path) -> None:
    found = read(tmp_path, HEAD + "top = 4O\nfoo = 3\n")
    assert len(found) == 1
    assert str(found[0]).startswith("bench.toml: is not TOML that can be read: line 4, column 8")


def test_schema_says_what_the_declarations_say() -> None:
    schema = file_schema(Bench, "bench file")
    assert schema["$schema"] == DRAFT == "https://json-schema.org/draft/2020-12/schema"  # json-schema.org, draft 2020-12 core, 8.1.1
    assert list(schema["properties"]) == ["name", "units", "top", "place", "leg", "wood", "format"]
    assert schema["required"] == ["format", "name", "units", "top"]
    assert schema["additionalProperties"] is False
    form = schema["properties"]["format"]
    assert (form["type"], form["minimum"], form["maximum"]) == ("integer", 1, 1)
    assert schema["properties"]["units"]["enum"] == ["mm", "in"]
    assert "5 to 100 mm" in schema["properties"]["top"]["description"]
    leg = schema["properties"]["leg"]["items"]
    assert leg["required"] == ["name", "length"]
    assert leg["properties"]["splay"]["$ref"] == "#/$defs/angle"
    (oak,) = schema["properties"]["wood"]["items"]["oneOf"]
    assert oak["properties"]["kind"] == {"const": "oak"}
    assert oak["required"] == ["kind", "id"]
    references = {v["$ref"].removeprefix("#/$defs/") for v in _objects(schema) if "$ref" in v}
    assert references and references <= set(schema["$defs"])
    assert json.loads(json.dumps(schema)) == schema


def _objects(schema: Any) -> list[dict[str, Any]]:
    if isinstance(schema, list):
        return [o for entry in schema for o in _objects(entry)]
    if isinstance(schema, dict):
        return [schema, *(o for entry in schema.values() for o in _objects(entry))]
    return []
