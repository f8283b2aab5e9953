"""Parameters drawn from a family's own declarations: any value that each of them allows, names of the frame where names are asked for."""

from __future__ import annotations

import types
import typing
from collections.abc import Mapping
from dataclasses import dataclass
from functools import cache
from typing import Any

from hypothesis import strategies as st

from parts import spec
from parts.errors import BadInput
from parts.frame import Frame
from parts.spec import FieldSpec, Position

GRADES = ("A36", "S355MC", "unknown", "no such steel")
SIZES = ("M8", "M10", "M12", "M16", "1/2 in", "3/8 in", "M3", "no such bolt")
FARTHEST = 5000.0  #: where a declaration sets no end


@dataclass(frozen=True, kw_only=True)
class Named:
    """What names may be drawn: of places along a rail, and of everything else that the frame or the job calls by a name."""

    places: tuple[str, ...]
    others: tuple[str, ...]


@cache
def names_of(frame: Frame, parts: tuple[str, ...]) -> Named:
    places = sorted({name for side in frame.sides for name in frame.rail(side).places})
    others = {f.name for f in frame.features} | {k.name for k in frame.keep_out} | set(parts)
    return Named(places=tuple(places), others=(*sorted(others), "web", "nobody"))


def changed(cls: type[Any], given: Any, named: Named, most: int) -> st.SearchStrategy[dict[str, Any]]:
    """Up to `most` fields of `cls` with other values than `given` has (id aside), as keyword arguments."""
    fields = {name: field for name, field in spec.specs_of(cls).items() if name != "id"}
    chosen = st.lists(st.sampled_from(sorted(fields)), min_size=1, max_size=most, unique=True)
    return chosen.flatmap(
        lambda some: st.fixed_dictionaries({name: value_of(cls, name, fields[name], getattr(given, name, None), named) for name in some})
    )


def value_of(cls: type[Any], name: str, field: FieldSpec, given: Any, named: Named) -> st.SearchStrategy[Any]:
    drawn = _drawn(cls, name, field, given, named)
    return drawn if field.required else st.one_of(st.none() if _optional(cls, name) else drawn, drawn, drawn)


def _optional(cls: type[Any], name: str) -> bool:
    hint = typing.get_type_hints(cls, include_extras=False, localns=vars(spec))[name]
    return type(None) in typing.get_args(hint) if isinstance(hint, types.UnionType) or typing.get_origin(hint) is typing.Union else False


def _number(field: FieldSpec, given: Any) -> st.SearchStrategy[float]:
    low = field.least if field.least is not None else -FARTHEST
    high = field.most if field.most is not None else FARTHEST
    anywhere = st.floats(low, high).map(lambda v: min(max(round(v, 3), low), high))
    if not isinstance(given, int | float):
        return anywhere
    near = st.floats(0.8, 1.25).map(lambda share: min(max(round(given * share, 3), low), high))
    return st.one_of(near, near, anywhere)


def _drawn(cls: type[Any], name: str, field: FieldSpec, given: Any, named: Named) -> st.SearchStrategy[Any]:
    kind = field.kind
    if kind in ("length", "angle", "number"):
        return _number(field, given)
    if kind == "integer":
        low, high = int(field.least or 0), int(field.most if field.most is not None else 20)
        return st.integers(low, min(high, low + 50))
    if kind == "flag":
        return st.booleans()
    if kind == "choice":
        return st.sampled_from(field.choices)
    if kind == "text":
        return st.sampled_from(SIZES if "bolt" in name else GRADES)
    if kind == "name":
        return st.sampled_from(named.others)
    if kind == "names":
        return st.lists(st.sampled_from(named.others), max_size=3, unique=True).map(tuple)
    if kind == "lengths":
        return st.lists(_number(field, None), max_size=3).map(tuple)
    if kind == "position":
        place = st.builds(Position, at=st.sampled_from(named.places), offset_mm=st.integers(-300, 300).map(float))
        if isinstance(given, Position) and given.at is not None:
            moved = st.integers(-120, 120).map(lambda by: Position(at=given.at, offset_mm=given.offset_mm + by))
            return st.one_of(moved, moved, place)
        return st.one_of(place, st.builds(Position, x_mm=st.floats(0, 3600)))
    if kind == "table":
        assert field.item is not None
        return _whole(field.item, given, named)
    if kind == "tables":
        assert field.item is not None
        several: tuple[Any, ...] = given if isinstance(given, tuple) and given else (None,)
        entries = st.lists(st.one_of([_whole(field.item, one, named) for one in several]), max_size=3)
        return entries.map(lambda found: tuple(e for e in found if e is not None))
    items: Mapping[str, type[Any]] = field.items or {}
    mixed = st.lists(st.one_of([_whole(item, None, named) for item in items.values()]), max_size=3)
    return mixed.map(lambda found: tuple(e for e in found if e is not None))


def _whole(cls: type[Any], given: Any, named: Named) -> st.SearchStrategy[Any]:
    """An entry of a table; None where its own checks refuse it: what they say is held by the tests of the file reader."""
    fields = spec.specs_of(cls)

    def made(values: dict[str, Any]) -> Any:
        try:
            return cls(**values)
        except BadInput as error:
            assert all(f.field and f.limit for f in error.faults), error
            return given

    drawn = {name: value_of(cls, name, field, getattr(given, name, None), named) for name, field in fields.items() if field.required}
    other = {name: value_of(cls, name, field, getattr(given, name, None), named) for name, field in fields.items() if not field.required}
    return st.fixed_dictionaries(drawn, optional=other).map(made)
