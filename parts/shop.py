"""What the cutting shop and the builder's own bench can do: a section of the job file. Every field has a default: `Shop()` works."""

from __future__ import annotations

from dataclasses import dataclass, replace
from typing import ClassVar, Literal, get_args

from parts import spec
from parts.bending import BendRule, Din6935, KFactor, ShopRow, ShopTable
from parts.errors import BadInput, Fault
from parts.material import steel

Process = Literal["laser", "plasma", "water jet"]
Rule = Literal["k", "din6935", "table"]
DxfUnits = Literal["mm", "in"]
DxfVersion = Literal["R2010", "R12"]

#: Least diameter a process cuts, in sheet thicknesses. Common practice among cutting shops, no source; for water jet no figure was found.
LEAST_HOLE_BY_THICKNESS: dict[Process, float] = {"laser": 1.0, "plasma": 1.5, "water jet": 0.0}
SAME_SHEET_MM = 0.05  #: sheet sizes are told to a tenth of a millimetre


@dataclass(frozen=True, kw_only=True)
class MeasuredBend:
    """One bend that the shop has made and measured on its own brake."""

    UNIQUE: ClassVar[tuple[str, ...]] = ("thickness_mm", "inside_radius_mm", "angle_deg")

    thickness_mm: float = spec.length("thickness of the strip that was bent", least=0.4, most=25)
    inside_radius_mm: float = spec.length("inside radius that came out", least=0.1, most=200)
    angle_deg: float = spec.angle("what the brake turned, 90 for a square corner", least=1, most=180, default=90.0)
    k: float = spec.number("K that was found: where the layer that keeps its length lies, in thicknesses from inside", least=0, most=0.5)

    def __post_init__(self) -> None:
        spec.checked(self)


@dataclass(frozen=True, kw_only=True)
class ShopBend:
    """How the shop's brake stretches steel."""

    rule: Rule = spec.choice(
        "k: one K for every bend; din6935: K by radius and thickness; table: the shop's own measured bends",
        get_args(Rule),
        default="k",
    )
    k: float = spec.number("K of rule k; common practice, no source: 0.33 to 0.5; the shop knows its own", least=0, most=0.5, default=0.42)
    rows: tuple[MeasuredBend, ...] = spec.tables(MeasuredBend, "measured bends of rule table", key="row")

    def __post_init__(self) -> None:
        faults = spec.faults_of(self)
        if self.rule == "table" and not self.rows:
            remedy = "add [[shop.bend.row]] with thickness, inside_radius and k, or name another rule"
            faults.append(Fault(where="", field="rule", value='"table"', limit="needs at least one measured bend", remedy=remedy))
        if faults:
            raise BadInput(faults)

    def bend_rule(self) -> BendRule:
        """The rule itself, which gives K for a radius, a thickness and an angle."""
        if self.rule == "din6935":
            return Din6935()
        if self.rule == "table":
            return ShopTable(rows=tuple(_shop_row(row) for row in self.rows))
        return KFactor(value=self.k)


@dataclass(frozen=True, kw_only=True)
class Sheet:
    """A sheet that parts are cut from. One of no given thickness or grade is to be had in any."""

    length_mm: float = spec.length("its longer side", least=50, most=20000)
    width_mm: float = spec.length("its shorter side", least=50, most=20000)
    thickness_mm: float | None = spec.length("its thickness; left out: any", least=0.4, most=50, default=None)
    grade: str | None = spec.text("its steel; left out: any", longest=40, default=None)

    def __post_init__(self) -> None:
        faults = spec.faults_of(self)
        if self.grade is not None:
            try:
                steel(self.grade)
            except BadInput as error:
                faults += [replace(f, where="", field="grade") for f in error.faults]
        if faults:
            raise BadInput(faults)

    def serves(self, thickness_mm: float, grade: str) -> bool:
        """Whether a part of that thickness and grade may be cut from it."""
        thick = self.thickness_mm is None or abs(self.thickness_mm - thickness_mm) <= SAME_SHEET_MM
        return thick and (self.grade is None or steel(self.grade).grade == steel(grade).grade)


@dataclass(frozen=True, kw_only=True)
class Shop:
    """How parts are cut, bent and welded, and how their files are written."""

    process: Process = spec.choice("how the outline is cut", get_args(Process), default="laser")
    weld_gap_mm: float = spec.length(
        "largest gap under a fillet that is welded as it is; a wider one adds to the leg (AWS D1.1: 1.6 mm)", least=0, most=5, default=1.6
    )
    root_gap_mm: float = spec.length("gap left on purpose where an edge is welded to a face", least=0, most=5, default=1.0)
    bend: ShopBend = spec.table(ShopBend, "how the brake stretches steel", default=ShopBend())
    inside_radius_mm: float | None = spec.length(
        "inside radius of every bend; without it the least of DIN 6935:1975 for grade and thickness", least=0.2, most=100, default=None
    )
    brake_length_mm: float | None = spec.length(
        "longest bend that the brake makes; left out: not judged", least=100, most=20000, default=None
    )
    sheets: tuple[Sheet, ...] = spec.tables(Sheet, "the sheets that parts are cut from; none: their size is not judged", key="sheet")
    dxf_units: DxfUnits = spec.choice("unit of the DXF files, header and coordinates", get_args(DxfUnits), default="mm")
    dxf_version: DxfVersion = spec.choice("version of the DXF files", get_args(DxfVersion), default="R2010")

    def __post_init__(self) -> None:
        spec.checked(self)

    def bend_rule(self) -> BendRule:
        """The shop's bend rule."""
        return self.bend.bend_rule()

    def least_hole_mm(self, thickness_mm: float) -> float:
        """The smallest opening that the shop's process cuts in this sheet; smaller ones are drilled."""
        return LEAST_HOLE_BY_THICKNESS[self.process] * thickness_mm


def _shop_row(row: MeasuredBend) -> ShopRow:
    return ShopRow(thickness_mm=row.thickness_mm, inside_radius_mm=row.inside_radius_mm, angle_deg=row.angle_deg, k=row.k)
