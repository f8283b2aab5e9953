"""Steel by its grade, and the least inside radius it bends to without cracking.

Strengths are the least (and where the standard has one, the most) that the standard promises, not what a given plate has.
Not covered: stainless steel, aluminium, quenched and tempered plate.
"""

from __future__ import annotations

import difflib
import math
from collections.abc import Mapping
from dataclasses import dataclass
from functools import cache
from types import MappingProxyType

from parts.csv_table import read_table
from parts.errors import BadInput, Fault, quoted

THIN_MM = 3.0  # EN 10025-2 gives other tensile limits below this
HALF_TURN_DEG = 180.0
STEEPEST_DEG = 120.0  # DIN 6935: beyond it, the row of the next thickness up
SLACK = 1e-9  # a limit is met at the limit, whatever the last bit of a sum says


@dataclass(frozen=True, kw_only=True)
class Steel:
    """A grade of steel.

    `tensile_mpa` is (least, most) at 3 mm and above, `thin_tensile_mpa` below; None where the standard gives none or nothing is known.
    `sure` says how the values were come by ("from memory", "no source" ...).
    """

    grade: str
    density_kg_m3: float
    elastic_modulus_mpa: float
    yield_mpa: float | None
    tensile_mpa: tuple[float | None, float | None]
    thin_tensile_mpa: tuple[float | None, float | None]
    source: str
    sure: str

    def least_tensile_mpa(self, thickness_mm: float) -> float | None:
        """The least tensile strength at this thickness (MPa), None if it is not known."""
        return (self.thin_tensile_mpa if thickness_mm < THIN_MM else self.tensile_mpa)[0]

    def mass_kg(self, volume_mm3: float) -> float:
        return volume_mm3 * 1e-9 * self.density_kg_m3


@dataclass(frozen=True, kw_only=True)
class SteelRow:
    """A line of `steel.csv`."""

    grade: str
    aliases: str | None
    density_kg_m3: float
    elastic_modulus_mpa: float
    yield_mpa: float | None
    tensile_least_mpa: float | None
    tensile_most_mpa: float | None
    thin_tensile_least_mpa: float | None
    thin_tensile_most_mpa: float | None
    source: str
    sure: str

    def names(self) -> tuple[str, ...]:
        return (self.grade, *(self.aliases.split("|") if self.aliases else ()))

    def steel(self) -> Steel:
        thick = self.tensile_least_mpa, self.tensile_most_mpa
        thin = (self.thin_tensile_least_mpa, self.thin_tensile_most_mpa) if self.thin_tensile_least_mpa else thick
        return Steel(
            grade=self.grade, density_kg_m3=self.density_kg_m3, elastic_modulus_mpa=self.elastic_modulus_mpa, yield_mpa=self.yield_mpa,
            tensile_mpa=thick, thin_tensile_mpa=thin, source=self.source, sure=self.sure,
        )  # fmt: skip


@dataclass(frozen=True, kw_only=True)
class RadiusRow:
    """A line of `inside_radius.csv`."""

    thickness_mm: float
    to_390_mm: float
    to_490_mm: float
    to_640_mm: float


@cache
def _steels() -> Mapping[str, Steel]:
    return MappingProxyType({_key(name): row.steel() for row in read_table("steel", SteelRow) for name in row.names()})


def _key(name: str) -> str:
    """`ASTM A36`, `astm-a36` and `AstmA36` are one name."""
    return "".join(c for c in name.casefold() if c.isalnum() or c == ".")


def steel(name: str) -> Steel:
    """The grade called `name`, in any case and spacing ("A36", "s235jr", "mild", "unknown").

    Raises:
        BadInput: no such grade; names the nearest ones.
    """
    found = _steels().get(_key(name))
    if found is None:
        raise BadInput(_no_grade(name))
    return found


def grades() -> tuple[str, ...]:
    """The grades that can be asked for, each by its first name, in the table's order."""
    return tuple(row.grade for row in read_table("steel", SteelRow))


def _no_grade(name: str) -> Fault:
    spelled = {_key(n): n for row in read_table("steel", SteelRow) for n in row.names()}
    near = [spelled[k] for k in difflib.get_close_matches(_key(name[:64]), list(spelled), n=3, cutoff=0.5)]
    meant = f"nearest: {', '.join(near)}; " if near else ""
    return Fault(
        where="steel", field="grade", value=quoted(name) or '""', limit="no such grade in the table",
        remedy=f"{meant}known: {', '.join(grades())}",
    )  # fmt: skip


UNKNOWN = _steels()["unknown"]  #: steel of which nothing is known but that it is steel


def least_inside_radius_mm(thickness_mm: float, grade: str, angle_deg: float = 90.0, along_rolling: bool = False) -> tuple[float, str]:
    """The least inside radius of a cold bend, and where it comes from.

    The column goes by the grade's least tensile strength; a grade whose strength is not known takes the last column. Along the
    rolling direction, or for a bend of more than 120 degrees, the row of the next thickness up holds.

    Args:
        thickness_mm: above 0, up to 12.
        grade: a name that `steel` knows.
        angle_deg: what the brake turns (either way), not the opening angle; up to 180.
        along_rolling: the bend line lies along the rolling direction.

    Returns:
        (radius in mm, source: standard, column and row).

    Raises:
        BadInput: unknown grade; thickness, angle or strength outside the table.

    Source: DIN 6935:1975 (a copy; the 2011 edition not seen).
    """
    rows = read_table("inside_radius", RadiusRow).rows
    thickest, steps = rows[-1].thickness_mm, _steps_up(angle_deg, along_rolling)
    if not (math.isfinite(thickness_mm) and 0 < thickness_mm <= thickest + SLACK):
        raise BadInput(_off_table("thickness", f"{thickness_mm:g} mm", f"the table of least radii covers above 0 to {thickest:g} mm"))
    row_number = next(i for i, row in enumerate(rows) if thickness_mm <= row.thickness_mm + SLACK) + steps
    if row_number >= len(rows):
        limit = f"the table of least radii ends at {thickest:g} mm, and this bend needs the next thickness up"
        raise BadInput(_off_table("thickness", f"{thickness_mm:g} mm", limit))
    row, metal = rows[row_number], steel(grade)
    radius, column = _column(row, metal.least_tensile_mpa(thickness_mm), metal.grade)
    return radius, f"DIN 6935:1975 least inside radius, {column}, row to {row.thickness_mm:g} mm{_why_up(angle_deg, along_rolling)}"


def _steps_up(angle_deg: float, along_rolling: bool) -> int:
    turn = abs(angle_deg)
    if not (0 < turn <= HALF_TURN_DEG):
        raise BadInput(_off_table("angle", f"{angle_deg:g} deg", "a bend turns above 0 to 180 degrees, either way"))
    return int(along_rolling or turn > STEEPEST_DEG + SLACK)


def _why_up(angle_deg: float, along_rolling: bool) -> str:
    why = ["along the rolling direction"] if along_rolling else []
    why += [f"beyond {STEEPEST_DEG:g} degrees"] if abs(angle_deg) > STEEPEST_DEG + SLACK else []
    return f" (next thickness up: {' and '.join(why)})" if why else ""


def _column(row: RadiusRow, tensile_mpa: float | None, grade: str) -> tuple[float, str]:
    if tensile_mpa is None:
        return row.to_640_mm, f"last column, as the strength of steel {grade!r} is not known"
    columns = ((390.0, row.to_390_mm), (490.0, row.to_490_mm), (640.0, row.to_640_mm))
    for most, radius in columns:
        if tensile_mpa <= most + SLACK:
            return radius, f"least tensile strength {tensile_mpa:g} MPa, column to {most:g}"
    raise BadInput(_off_table("grade", grade, f"least tensile strength {tensile_mpa:g} MPa; the table of least radii ends at 640"))


def _off_table(field: str, value: str, limit: str) -> Fault:
    return Fault(
        where="bend", field=field, value=value, limit=limit,
        remedy="give the inside radius that the shop's tools and the mill's sheet allow",
    )  # fmt: skip
