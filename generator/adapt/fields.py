"""A part's parameters as places that can be changed one by one: where each stands in the part and in the job file, and what it holds."""

from __future__ import annotations

from collections.abc import Iterator, Mapping
from dataclasses import MISSING, dataclass, fields, replace
from typing import Any, Final, TypeVar

from parts.spec import FieldSpec, Position, file_key, specs_of

T = TypeVar("T")
Path = tuple[str | int, ...]  #: field names and numbers of entries, from the part on


class Dropped:
    """Stands for what is taken out of the file: an entry of a list, or a key, which then has its default."""

    def __repr__(self) -> str:
        return "left out"


DROPPED: Final = Dropped()
Edits = Mapping[Path, Any]  #: new values by place; entries keep the numbers that they have in the job as it was


@dataclass(frozen=True, kw_only=True)
class Spot:
    """One parameter of a part."""

    path: Path
    keys: Path  #: the same in the words of the job file
    spec: FieldSpec
    value: Any
    entry: Any = None  #: the object that holds it

    @property
    def key(self) -> str:
        """As faults name it: `around.way`."""
        return ".".join(k for k in self.keys if isinstance(k, str))

    @property
    def shown(self) -> str:
        """As a person finds it in the file: `opening[2].at`."""
        text = ""
        for k in self.keys:
            text += f"[{k + 1}]" if isinstance(k, int) else f".{k}" if text else k
        return text


def spots(thing: Any, path: Path = (), keys: Path = ()) -> Iterator[Spot]:
    """Every parameter of `thing` that holds a value, tables before what is in them."""
    for name, spec in specs_of(type(thing)).items():
        value = getattr(thing, name)
        here, key = (*path, name), (*keys, file_key(name, spec))
        yield Spot(path=here, keys=key, spec=spec, value=value, entry=thing)
        if value is None:
            continue
        if spec.kind == "table":
            yield from spots(value, here, key)
        elif spec.kind in ("tables", "variants"):
            for i, one in enumerate(value):
                yield from spots(one, (*here, i), (*key, i))


def changed(thing: T, edits: Edits, path: Path = ()) -> T:
    """`thing` with the edits made; the object itself where none is.

    Raises:
        BadInput: what comes out breaks a rule of its own.
    """
    new: dict[str, Any] = {}
    for name, spec in specs_of(type(thing)).items():
        old = getattr(thing, name)
        here = (*path, name)
        value = _value(spec, old, edits, here)
        if value is DROPPED:
            value = default_of(thing, name)
        if value is not old:
            new[name] = value
    return replace(thing, **new) if new else thing  # type: ignore[type-var]


def _value(spec: FieldSpec, old: Any, edits: Edits, here: Path) -> Any:
    if here in edits:
        return edits[here]
    below = any(p[: len(here)] == here for p in edits)
    if not below or old is None:
        return old
    if spec.kind == "table":
        return changed(old, edits, here)
    kept = [(i, one) for i, one in enumerate(old) if edits.get((*here, i)) is not DROPPED]
    if spec.kind in ("tables", "variants"):
        return tuple(changed(one, edits, (*here, i)) for i, one in kept)
    return tuple(edits.get((*here, i), one) for i, one in kept)


def default_of(thing: Any, name: str) -> Any:
    """What a parameter is where the file does not give it; `MISSING` where it must."""
    field = next(f for f in fields(thing) if f.name == name)
    return field.default_factory() if field.default_factory is not MISSING else field.default


def shown(value: Any) -> str:
    """A value in a sentence."""
    if isinstance(value, Position | Dropped | str):
        return str(value) if not isinstance(value, Dropped) else repr(value)
    if isinstance(value, bool):
        return "true" if value else "false"
    if isinstance(value, float | int):
        return f"{value:g}"
    if isinstance(value, tuple):
        return ", ".join(shown(v) for v in value)
    return "not given" if value is None else str(value)
