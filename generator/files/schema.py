"""JSON Schema (draft 2020-12) of a file, from the same declarations that read it, for editors that complete and check TOML.

It says what a schema can: keys, kinds, choices, forms of text, ranges of plain numbers. Ranges of lengths depend on the unit that a
length is written in, so they stand in the descriptions; what must be unique or fit together is told by reading the file.
"""

from __future__ import annotations

from typing import Any

from generator.files.model import Header
from generator.files.values import NAME, NAME_LONGEST, NAME_RULE
from parts.spec import FieldSpec, file_key, range_text, specs_of
from parts.units import ANGLE_FORMS, ANGLE_PATTERN, LENGTH_FORMS, LENGTH_PATTERN, LONGEST_TEXT

DRAFT = "https://json-schema.org/draft/2020-12/schema"

Schema = dict[str, Any]


def file_schema(cls: type[Any], title: str) -> Schema:
    """The schema of a whole file of `cls`, with its header."""
    whole = _table(cls)
    header = _table(Header)
    return {
        "$schema": DRAFT,
        "title": title,
        "type": "object",
        "additionalProperties": False,
        "properties": {**whole["properties"], **header["properties"]},
        "required": list(dict.fromkeys([*header["required"], *whole.get("required", ())])),
        "$defs": {
            "length": {
                "description": f"accepted: {LENGTH_FORMS}",
                "anyOf": [{"type": "number"}, {"type": "string", "maxLength": LONGEST_TEXT, "pattern": LENGTH_PATTERN}],
            },
            "angle": {
                "description": f"accepted: {ANGLE_FORMS}",
                "anyOf": [{"type": "number"}, {"type": "string", "maxLength": LONGEST_TEXT, "pattern": ANGLE_PATTERN}],
            },
            "name": {"description": NAME_RULE, "type": "string", "maxLength": NAME_LONGEST, "pattern": f"^{NAME.pattern}$"},
            "position": {
                "anyOf": [
                    {"$ref": "#/$defs/name"},
                    _closed({"at": {"$ref": "#/$defs/name"}, "offset": {"$ref": "#/$defs/length"}}, ["at"]),
                    _closed({"x": {"$ref": "#/$defs/length"}}, ["x"]),
                ]
            },
        },
    }


def _closed(properties: Schema, required: list[str]) -> Schema:
    schema: Schema = {"type": "object", "additionalProperties": False, "properties": properties}
    return {**schema, "required": required} if required else schema


def _table(cls: type[Any], also: Schema | None = None) -> Schema:
    """`also` are keys that pick the class: constant here, and required."""
    declared = {file_key(name, spec): spec for name, spec in specs_of(cls).items()}
    properties = {key: {"description": _description(spec), **_value(spec)} for key, spec in declared.items()}
    return _closed({**(also or {}), **properties}, [*(also or {}), *(key for key, spec in declared.items() if spec.required)])


def _description(spec: FieldSpec) -> str:
    ranged = spec.kind in ("length", "lengths", "angle") and (spec.least is not None or spec.most is not None)
    return f"{spec.help} ({range_text(spec)})" if ranged else spec.help


def _value(spec: FieldSpec) -> Schema:
    match spec.kind:
        case "length" | "angle" | "name" | "position":
            return {"$ref": f"#/$defs/{spec.kind}"}
        case "lengths":
            return {"type": "array", "maxItems": spec.longest, "items": {"$ref": "#/$defs/length"}}
        case "names":
            return {"type": "array", "maxItems": spec.longest, "uniqueItems": True, "items": {"$ref": "#/$defs/name"}}
        case "number" | "integer":
            limits = {"minimum": spec.least, "maximum": spec.most}
            return {"type": spec.kind, **{k: v for k, v in limits.items() if v is not None}}
        case "flag":
            return {"type": "boolean"}
        case "text":
            return {"type": "string", "maxLength": spec.longest}
        case "choice":
            return {"enum": list(spec.choices)}
        case "table":
            return _table(spec.item) if spec.item is not None else {"type": "object"}
        case "tables":
            return {"type": "array", "maxItems": spec.longest, "items": _table(spec.item) if spec.item is not None else {}}
        case "variants":
            items = (spec.items or {}).items()
            return {
                "type": "array",
                "maxItems": spec.longest,
                "items": {"oneOf": [_table(cls, {spec.selector: {"const": name}}) for name, cls in items]},
            }
