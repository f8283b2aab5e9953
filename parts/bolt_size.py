"""The size of a bolt as the trade writes it: "M12", "1/2 in"."""

from __future__ import annotations

import re
from dataclasses import dataclass
from fractions import Fraction

from parts.errors import BadInput, Fault, quoted

INCH_MM = 25.4
SIZE_FORMS = '"M12", "1/2 in" or 1/2"'
LONGEST_TEXT = 32
_METRIC = re.compile(r"M *([1-9][0-9]{0,2})", re.IGNORECASE)
_INCH = re.compile(r'(?:([1-9][0-9]?)[ -])?([1-9][0-9]?)(?:/([1-9][0-9]?))? *(?:in|inch|")', re.IGNORECASE)


@dataclass(frozen=True, kw_only=True)
class BoltSize:
    """A bolt's size as the trade says it, and what it measures."""

    name: str  #: as the tables have it: "M12", "1/2 in"
    diameter_mm: float
    metric: bool

    def mm(self, number: float) -> float:
        """A number of this size's tables in mm: they hold mm for metric sizes and inches for inch sizes."""
        return number if self.metric else round(number * INCH_MM, 6)  # so that 17/32 in is 13.49375, not 13.493749999999999


def bolt_size(text: str) -> BoltSize:
    """Reads "M12", "m 12", "1/2 in", '1/2"', "1-1/8 in". Says nothing about what a table covers.

    Raises:
        BadInput: anything else; shows the accepted forms.
    """
    cut = text.strip()[:LONGEST_TEXT]
    if found := _METRIC.fullmatch(cut):
        return BoltSize(name=f"M{found[1]}", diameter_mm=float(found[1]), metric=True)
    found = _INCH.fullmatch(cut)
    if found and (found[3] or not found[1]):
        size = int(found[1] or 0) + Fraction(int(found[2]), int(found[3] or 1))
        return BoltSize(name=f"{_fraction(size)} in", diameter_mm=float(size * Fraction(254, 10)), metric=False)
    raise BadInput(Fault(where="bolt", field="size", value=quoted(text) or '""', limit="not a bolt size", remedy=f"write {SIZE_FORMS}"))


def _fraction(size: Fraction) -> str:
    whole, rest = divmod(size, 1)
    return "-".join(str(part) for part in (whole, rest) if part)
