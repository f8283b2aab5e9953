"""The families of parts. A new one is added here and nowhere else."""

from __future__ import annotations

from collections.abc import Mapping
from types import MappingProxyType
from typing import Any

from parts.families.crossmember_bracket import CrossmemberBracket
from parts.families.rail_plate import RailPlate

FAMILIES: Mapping[str, type[Any]] = MappingProxyType({cls.FAMILY: cls for cls in (RailPlate, CrossmemberBracket)})

__all__ = ["FAMILIES", "CrossmemberBracket", "RailPlate"]
