"""Shop lengths and angles: read exactly, as ratios of whole numbers, and printed back as a tape shows them.

A length is a bare number in the file's units, or text with its own unit. Nothing is guessed: what is not one of the accepted
forms is refused, with the text as given and the forms that would be read. One inch is 25.4 mm exactly (international yard and
pound agreement of 1959; ISO 31-1), one foot 12 inches.
"""

from __future__ import annotations

import re
from dataclasses import dataclass
from fractions import Fraction
from typing import Literal, NoReturn

from parts.csv_table import read_table
from parts.errors import BadInput, Fault, quoted

Units = Literal["mm", "in"]
Denominator = Literal[16, 32, 64]

MM_PER_IN = Fraction(254, 10)
INCHES_PER_FOOT = 12
MM_PER_UNIT = {"mm": Fraction(1), "cm": Fraction(10), "m": Fraction(1000), "in": MM_PER_IN, "ft": MM_PER_IN * INCHES_PER_FOOT}
LARGEST_MM = 1_000_000  #: longer than any vehicle; what lies above it is a slip
SMALLEST_MM = Fraction(1, 1000)  #: a calliper shows a fiftieth; what lies under it is a slip, and no edge that can be cut or drawn
LARGEST_DEG = 3600
SMALLEST_DEG = Fraction(1, 1000)
LARGEST_NUMBER = 1_000_000_000
LONGEST_TEXT = 64  #: characters; keeps the work on one value bounded
LARGEST_EXPONENT = 30
LARGEST_INTEGER_BITS = 64

LENGTH_FORMS = """4 (in the file's units), "4 mm", "12 cm", "1.2 m", "5-1/2 in", '3/16"', "2 ft 3-1/8 in", "10 ga" (steel sheet)"""
ANGLE_FORMS = '12 or 12.5 (degrees), "12 deg", "12°"'

_DECIMAL = r"(?:[0-9]+(?:\.[0-9]+)?|\.[0-9]+)"
_RATIO = r"(?:[0-9]+/[0-9]+)"
_SHOP = rf"(?:[0-9]+(?:-| +){_RATIO}|{_RATIO}|{_DECIMAL})"  # 5-1/2, 5 1/2, 3/16, 5.5
_METRIC = rf"(?P<metric>{_DECIMAL}) *(?P<metric_unit>mm|cm|m)"
_GAUGE = r"(?P<gauge>[0-9]+) *ga"
_INCHES = rf"""(?:(?P<whole_feet>[0-9]+) *(?:ft|') *)?(?P<inches>{_SHOP}) *(?:in|")"""
_FEET = rf"(?P<feet>{_SHOP}) *(?:ft|')"
_LENGTH = re.compile(rf"(?P<sign>[+-]?)(?:{_METRIC}|{_GAUGE}|{_INCHES}|{_FEET})")
_ANGLE = re.compile(rf"(?P<sign>[+-]?)(?P<degrees>{_DECIMAL}) *(?:deg|°)")
_BARE = re.compile(r"[+-]?[0-9]+(?:\.[0-9]+)?(?:[eE](?P<exponent>[+-]?[0-9]+))?")

#: The same grammar for a JSON Schema, which knows no named groups.
LENGTH_PATTERN = "^ *" + re.sub(r"\?P<\w+>", "?:", _LENGTH.pattern) + " *$"
ANGLE_PATTERN = "^ *" + re.sub(r"\?P<\w+>", "?:", _ANGLE.pattern) + " *$"

_SLIPS: tuple[tuple[re.Pattern[str], str], ...] = (
    (re.compile(r"(?<=[0-9./-])[oO]|[oO](?=[0-9.])"), "letter O where a zero belongs"),
    (re.compile(r"(?<=[0-9./-])[lI]|\b[lI](?=[0-9.])"), "letter l or I where a one belongs"),
    (re.compile(r"[0-9],|,[0-9]"), "use a point, not a comma"),
    (re.compile("[\N{MINUS SIGN}\N{EN DASH}\N{EM DASH}\N{HYPHEN}\N{NON-BREAKING HYPHEN}]"), "use a plain hyphen"),
    (
        re.compile("[\N{PRIME}\N{DOUBLE PRIME}\N{RIGHT SINGLE QUOTATION MARK}\N{RIGHT DOUBLE QUOTATION MARK}]"),
        "use plain ' and \", or ft and in",
    ),
    (re.compile(r"[0-9]\s*-\s+[0-9]|[0-9]\s+-\s*[0-9]"), "no spaces around the hyphen of a fraction"),
    (re.compile(r"(?i)^[+-]?(nan|inf)"), "a finite number is needed"),
    (re.compile(r"[0-9][eE][+-]?[0-9]"), "write the number out, without an exponent"),
    (re.compile(r"/.*m$"), "fractions go with inches and feet only"),
)


@dataclass(frozen=True)
class Written:
    """A number as it stands in a file, kept as text until its unit is known: `tomllib.loads(..., parse_float=Written)`."""

    text: str

    def __str__(self) -> str:
        return self.text


@dataclass(frozen=True, kw_only=True)
class Gauge:
    """One row of the gauge table."""

    gauge: int
    thickness_in: float


def length_mm(value: object, units: Units) -> Fraction:
    """A length in mm, exactly as written.

    Args:
        value: a bare number (`int`, `Written`, or a `float` that a program made) in `units`, or text with its own unit.
        units: what a bare number counts.

    Raises:
        BadInput: one fault without a place, which quotes the value; the caller knows where it stands.
    """
    number = _length_of_text(value) if isinstance(value, str) else plain_number(value, "a length", LENGTH_FORMS) * MM_PER_UNIT[units]
    _demand_no_less(number, SMALLEST_MM, value, "a length here is 0 or at least 0.001 mm")
    return _within(number, LARGEST_MM, value, "a length here is at most 1 km either way")


def angle_deg(value: object) -> Fraction:
    """An angle in degrees, exactly as written: a bare number, `"12 deg"` or `"12°"`. Raises `BadInput` as `length_mm` does."""
    if isinstance(value, str):
        text = _bounded(value, "an angle", ANGLE_FORMS)
        match = _ANGLE.fullmatch(text)
        if match is None:
            _refuse(value, "is not an angle", _slip(text) or _bare_text(text, "deg"), ANGLE_FORMS)
        number = Fraction(match["degrees"]) * _sign(match)
    else:
        number = plain_number(value, "an angle", ANGLE_FORMS)
    _demand_no_less(number, SMALLEST_DEG, value, "an angle here is 0 or at least 0.001 degrees")
    return _within(number, LARGEST_DEG, value, f"an angle here is at most {LARGEST_DEG} degrees either way")


def plain_number(value: object, what: str = "a number", forms: str = "4 or 4.5") -> Fraction:
    """A bare number, exactly as written. Refuses nan, inf and what is too long or too large to be meant. Raises `BadInput`."""
    if isinstance(value, bool) or not isinstance(value, int | float | Written):
        _refuse(value, f"is not {what}", "", forms)
    if isinstance(value, int):
        if value.bit_length() > LARGEST_INTEGER_BITS:
            _refuse(value, f"is far too large for {what}", "", forms)
        return Fraction(value)
    text = (value.text if isinstance(value, Written) else float.__repr__(value)).replace("_", "")
    match = _BARE.fullmatch(text) if len(text) <= LONGEST_TEXT else None
    if match is None:
        _refuse(value, f"is not {what}", "more digits than can be meant" if len(text) > LONGEST_TEXT else _slip(text), forms)
    # Fraction("1e999999999") would work for ever, so the exponent is looked at first.
    if abs(int(match["exponent"] or 0)) > LARGEST_EXPONENT:
        _refuse(value, f"is far out of the range of {what}", "", forms)
    return _within(Fraction(text), LARGEST_NUMBER, value, "too large to be meant")


def gauge_mm(gauge: int) -> Fraction:
    """Thickness in mm of steel sheet by the Manufacturers' Standard Gauge. Raises `BadInput` that names what the table covers."""
    table = read_table("gauge", Gauge)
    for row in table:
        if row.gauge == gauge:
            return Fraction(repr(row.thickness_in)) * MM_PER_IN  # repr gives back the table's own digits
    limit = "is not in the gauge table, which covers " + table.covers
    raise BadInput(Fault(where="", field="", value=f'"{gauge} ga"', limit=limit, remedy="give the thickness itself, in mm or in"))


def shop_inches(mm: float | Fraction, denominator: Denominator = 16) -> str:
    """`mm` as a tape shows it: the nearest mark, and in brackets what is still to be added to it: `5-1/2 in (+0.12 mm)`.

    The brackets are left out where the rest is under 0.005 mm. Halfway between two marks goes to the even one.
    """
    exact = Fraction(mm)
    marks = round(exact / MM_PER_IN * denominator)
    whole, rest = divmod(abs(marks), denominator)
    fraction = Fraction(rest, denominator)
    shown = "-".join(str(p) for p in (whole, fraction) if p) or "0"
    left_mm = round(float(exact - marks * MM_PER_IN / denominator), 2)
    remainder = f" ({left_mm:+.2f} mm)" if left_mm else ""
    return f"{'-' if marks < 0 else ''}{shown} in{remainder}"


def shop_mm(mm: float | Fraction, digits: int = 2) -> str:
    """`mm` rounded to `digits` decimals, without trailing zeros: `139.7 mm`, `4 mm`."""
    text = f"{float(mm):.{digits}f}"
    if "." in text:
        text = text.rstrip("0").rstrip(".")
    return f"{'0' if text == '-0' else text} mm"


def shown_as_written(value: object) -> str:
    """A value from a file for a message: text in quotes, numbers as typed, the rest by kind; short whatever its size or depth."""
    if isinstance(value, bool):
        return "true" if value else "false"
    if isinstance(value, str):
        return f'"{quoted(value)}"'
    if isinstance(value, Written):
        return quoted(value.text)
    if isinstance(value, int):  # the decimal text of a huge integer is refused by Python itself
        return str(value) if value.bit_length() <= LARGEST_INTEGER_BITS else f"a whole number of {value.bit_length()} bits"
    if isinstance(value, float):
        return repr(value)
    if isinstance(value, dict):
        return "a table"
    if isinstance(value, list | tuple):
        return f"a list of {len(value)}"
    return quoted(str(value))


def _length_of_text(value: str) -> Fraction:
    text = _bounded(value, "a length", LENGTH_FORMS)
    match = _LENGTH.fullmatch(text)
    if match is None:
        _refuse(value, "is not a length", _slip(text) or _bare_text(text, "mm"), LENGTH_FORMS)
    if match["metric"]:
        return _sign(match) * Fraction(match["metric"]) * MM_PER_UNIT[match["metric_unit"]]
    if match["gauge"]:
        if match["sign"]:
            _refuse(value, "is not a length", "a gauge takes no sign", LENGTH_FORMS)
        return gauge_mm(int(match["gauge"]))
    if match["feet"]:
        return _sign(match) * _shop_number(value, match["feet"]) * MM_PER_UNIT["ft"]
    inches = _shop_number(value, match["inches"])
    if match["whole_feet"]:
        if inches >= INCHES_PER_FOOT:
            _refuse(value, "is not a length", "inches after feet stay under 12", LENGTH_FORMS)
        inches += int(match["whole_feet"]) * INCHES_PER_FOOT
    return _sign(match) * inches * MM_PER_IN


def _shop_number(value: str, text: str) -> Fraction:
    """`5-1/2`, `5 1/2`, `3/16` or `5.5`."""
    whole, _, ratio = text.replace("-", " ").rpartition(" ")
    if "/" not in ratio:
        return Fraction(ratio)
    top, bottom = (int(n) for n in ratio.split("/"))
    if bottom == 0:
        _refuse(value, "is not a length", "a fraction of nothing", LENGTH_FORMS)
    if whole and top >= bottom:
        _refuse(value, "is not a length", "the fraction after a whole number stays under 1", LENGTH_FORMS)
    return int(whole or 0) + Fraction(top, bottom)


def _bounded(value: str, what: str, forms: str) -> str:
    text = value.strip(" ")
    if not text:
        _refuse(value, f"is empty where {what} belongs", "", forms)
    if len(text) > LONGEST_TEXT:
        _refuse(value, f"is too long for {what}", "", forms)
    return text


def _slip(text: str) -> str:
    """What in `text` is a slip of the keyboard, in words; else ""."""
    if any(c.isnumeric() and c not in "0123456789" for c in text):
        return "use the digits 0 to 9 and / for fractions"
    words = next((words for pattern, words in _SLIPS if pattern.search(text)), "")
    if not words and any(form.fullmatch(text.lower()) for form in (_LENGTH, _ANGLE)):
        return "units are written in small letters"
    return words


def _bare_text(text: str, unit: str) -> str:
    return f'no unit: write {text} without quotes, or "{text} {unit}"' if _BARE.fullmatch(text) else ""


def _sign(match: re.Match[str]) -> int:
    return -1 if match["sign"] == "-" else 1


def _within(number: Fraction, largest: int, value: object, limit: str) -> Fraction:
    if abs(number) > largest:
        raise BadInput(Fault(where="", field="", value=shown_as_written(value), limit=limit))
    return number


def _demand_no_less(number: Fraction, smallest: Fraction, value: object, limit: str) -> None:
    if 0 < abs(number) < smallest:
        raise BadInput(Fault(where="", field="", value=shown_as_written(value), limit=limit, remedy="write 0 where there is none"))


def _refuse(value: object, limit: str, slip: str, forms: str) -> NoReturn:
    remedy = f"{slip}; " if slip else ""
    raise BadInput(Fault(where="", field="", value=shown_as_written(value), limit=limit, remedy=f"{remedy}accepted: {forms}"))
