"""How a brake stretches steel: bend allowance, setback and the K factor, by a plain number, by DIN 6935 or by a shop's own table.

K is where the layer that keeps its length lies, as a part of the thickness from the inside face. `angle_deg` is what the brake
turns (90 for a square corner), not the opening angle. Sources: allowance BA = A (R + K T) and setback (R + T) tan(A/2), general
shop practice and any bending handbook; DIN 6935:2011-10, k = 0.65 + 0.5 lg(r/s) up to r/s = 5, beyond that 1, with K = k/2
(formulas as reproduced; the standard itself not seen).
"""

from __future__ import annotations

import math
from collections.abc import Iterable
from dataclasses import dataclass
from itertools import pairwise
from typing import Protocol

from parts.errors import BadInput, Fault


class BendRule(Protocol):
    """Gives K for a bend. Raises `BadInput` where the rule does not reach."""

    def k(self, inside_radius_mm: float, thickness_mm: float, angle_deg: float) -> float: ...


@dataclass(frozen=True, kw_only=True)
class KFactor:
    """One K for every bend."""

    value: float

    def __post_init__(self) -> None:
        if not 0.0 <= self.value <= 0.5:
            raise BadInput(Fault(where="bend rule", field="k", value=f"{self.value:g}", limit="must be 0 to 0.5"))

    def k(self, inside_radius_mm: float, thickness_mm: float, angle_deg: float) -> float:
        return self.value


@dataclass(frozen=True, kw_only=True)
class Din6935:
    """K = k/2 by DIN 6935: k = 0.65 + 0.5 lg(r/s), 1 from r/s = 5 up; not given under r/s = 0.05, where k would turn negative."""

    def k(self, inside_radius_mm: float, thickness_mm: float, angle_deg: float) -> float:
        ratio = inside_radius_mm / thickness_mm
        if ratio < 0.05:
            raise BadInput(
                Fault(
                    where="bend rule",
                    field="inside_radius",
                    value=f"{inside_radius_mm:g} mm",
                    limit=f"DIN 6935 gives no k under r/s = 0.05; {thickness_mm:g} mm steel needs {0.05 * thickness_mm:g} mm or more",
                    remedy="give a larger inside radius, or the shop's own K",
                )
            )
        # the formula's own zero lies at r/s = 0.0501, a hair above the limit
        return max(0.0, 0.65 + 0.5 * math.log10(ratio)) / 2 if ratio <= 5 else 0.5


@dataclass(frozen=True, kw_only=True)
class ShopRow:
    """One bend that the shop has measured on its own brake."""

    thickness_mm: float
    inside_radius_mm: float
    k: float
    angle_deg: float = 90.0


@dataclass(frozen=True, kw_only=True)
class ShopTable:
    """The shop's own bends. Between two radii of one thickness K runs straight; the nearest thickness within 2 % counts, then the nearest
    angle (of two equally near the smaller); nothing is extrapolated."""

    rows: tuple[ShopRow, ...]

    def k(self, inside_radius_mm: float, thickness_mm: float, angle_deg: float) -> float:
        same = [r for r in self.rows if abs(r.thickness_mm - thickness_mm) <= 0.02 * thickness_mm]
        if not same:
            have = ", ".join(f"{t:g}" for t in sorted({r.thickness_mm for r in self.rows})) or "none"
            raise self._missing("thickness", f"{thickness_mm:g} mm", f"the shop's bend table has {have} mm")
        thickness = _nearest((r.thickness_mm for r in same), thickness_mm)
        same = [r for r in same if r.thickness_mm == thickness]
        angle = _nearest((r.angle_deg for r in same), abs(angle_deg))
        rows = sorted((r for r in same if r.angle_deg == angle), key=lambda r: r.inside_radius_mm)
        low, high = rows[0].inside_radius_mm, rows[-1].inside_radius_mm
        if not low - 1e-9 <= inside_radius_mm <= high + 1e-9:
            limit = f"the shop's bend table has {low:g} to {high:g} mm for {thickness_mm:g} mm steel"
            raise self._missing("inside_radius", f"{inside_radius_mm:g} mm", limit)
        for one, two in pairwise(rows):
            if one.inside_radius_mm <= inside_radius_mm <= two.inside_radius_mm and two.inside_radius_mm > one.inside_radius_mm:
                part = (inside_radius_mm - one.inside_radius_mm) / (two.inside_radius_mm - one.inside_radius_mm)
                return one.k + part * (two.k - one.k)
        return min(rows, key=lambda r: abs(r.inside_radius_mm - inside_radius_mm)).k

    @staticmethod
    def _missing(field: str, value: str, limit: str) -> BadInput:
        remedy = "bend a strip of it, measure, and add the row; or name another rule"
        return BadInput(Fault(where="bend rule", field=field, value=value, limit=limit, remedy=remedy))


def _nearest(values: Iterable[float], to: float) -> float:
    return min(values, key=lambda v: (abs(v - to), v))


def allowance_mm(angle_deg: float, inside_radius_mm: float, thickness_mm: float, k_factor: float) -> float:
    """Length of the neutral layer through the bend, tangent to tangent: BA = A (R + K T), A in radians."""
    return math.radians(abs(angle_deg)) * (inside_radius_mm + k_factor * thickness_mm)


def setback_mm(angle_deg: float, inside_radius_mm: float, thickness_mm: float) -> float:
    """From the tangent line to the outer apex, (R + T) tan(A/2)."""
    return (inside_radius_mm + thickness_mm) * math.tan(math.radians(abs(angle_deg)) / 2)


def deduction_mm(angle_deg: float, inside_radius_mm: float, thickness_mm: float, k_factor: float) -> float:
    """What both legs to the outer apex together exceed the flat length by: BD = 2 setback - BA."""
    return 2 * setback_mm(angle_deg, inside_radius_mm, thickness_mm) - allowance_mm(
        angle_deg, inside_radius_mm, thickness_mm, k_factor
    )
