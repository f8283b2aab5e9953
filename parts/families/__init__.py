"""The families of parts. A new one is added here and nowhere else: its file, which has the family's name, and its class.

A family's file is loaded when the family is asked for: a job of two of them does not wait for the others.
"""

from __future__ import annotations

from collections.abc import Iterator, Mapping
from importlib import import_module
from typing import TYPE_CHECKING, Any

if TYPE_CHECKING:
    from parts.families.crossmember_bracket import CrossmemberBracket
    from parts.families.fixture_bar import FixtureBar
    from parts.families.gusset import Gusset
    from parts.families.hanger import Hanger
    from parts.families.mount_pad import MountPad
    from parts.families.rail_plate import RailPlate
    from parts.families.spring_doubler import SpringDoubler

CLASSES = {
    "rail_plate": "RailPlate",
    "crossmember_bracket": "CrossmemberBracket",
    "mount_pad": "MountPad",
    "gusset": "Gusset",
    "fixture_bar": "FixtureBar",
    "hanger": "Hanger",
    "spring_doubler": "SpringDoubler",
}


class _Families(Mapping[str, type[Any]]):
    """Family name -> its class, in the order in which they are listed."""

    def __getitem__(self, family: str) -> type[Any]:
        cls = CLASSES[family]  # a name that is none of them raises KeyError before anything is looked for
        found: type[Any] = getattr(import_module(f"parts.families.{family}"), cls)
        return found

    def __contains__(self, family: object) -> bool:
        return family in CLASSES

    def __iter__(self) -> Iterator[str]:
        return iter(CLASSES)

    def __len__(self) -> int:
        return len(CLASSES)


FAMILIES: Mapping[str, type[Any]] = _Families()

__all__ = ["FAMILIES", "CrossmemberBracket", "FixtureBar", "Gusset", "Hanger", "MountPad", "RailPlate", "SpringDoubler"]


def __getattr__(name: str) -> Any:
    for family, cls in CLASSES.items():
        if cls == name:
            return FAMILIES[family]
    raise AttributeError(f"module {__name__!r} has no attribute {name!r}")
