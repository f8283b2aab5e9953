"""Shop lengths: read exactly, refused exactly, printed back.

Sources: one inch is 25.4 mm exactly (international yard and pound agreement, 1959; ISO 31-1), so every expected value is a ratio of
whole numbers and the tolerance is none. Gauge: Manufacturers' Standard Gauge for Sheet Steel as reproduced in handbooks, printed to
0.0001 in, tolerance half of that, 0.00005 in. The forms of text are the project's own.
"""

from __future__ import annotations

import re
from fractions import Fraction

import pytest
from hypothesis import given
from hypothesis import strategies as st

from parts.errors import BadInput
from parts.units import (
    ANGLE_PATTERN,
    LENGTH_PATTERN,
    Denominator,
    Units,
    Written,
    angle_deg,
    gauge_mm,
    length_mm,
    plain_number,
    shop_inches,
    shop_mm,
    shown_as_written,
)

INCH = Fraction(254, 10)

TEXTS = {
    "4 mm": Fraction(4),
    "4mm": Fraction(4),
    "0.5 mm": Fraction(1, 2),
    ".5 mm": Fraction(1, 2),
    "-12 mm": Fraction(-12),
    "+12 mm": Fraction(12),
    "1.2 m": Fraction(1200),
    "12 cm": Fraction(120),
    " 4 mm ": Fraction(4),
    "5-1/2 in": INCH * 11 / 2,
    "5 1/2 in": INCH * 11 / 2,
    "-5-1/2 in": -INCH * 11 / 2,
    "5.5 in": INCH * 11 / 2,
    "0.1 in": Fraction(254, 100),
    '3/16"': INCH * 3 / 16,
    "1/3 in": INCH / 3,
    "19/16 in": INCH * 19 / 16,
    "2 ft": INCH * 24,
    "2-1/2 ft": INCH * 30,
    "5 '": INCH * 60,
    "2 ft 3-1/8 in": INCH * (24 + Fraction(25, 8)),
    "2' 3-1/8\"": INCH * (24 + Fraction(25, 8)),
    "2'3\"": INCH * 27,
    "-2 ft 3 in": -INCH * 27,
    "2 ft 3/4 in": INCH * (24 + Fraction(3, 4)),
}


@pytest.mark.parametrize(("text", "expected"), TEXTS.items())
@pytest.mark.parametrize("units", ["mm", "in"])
def test_text_with_its_own_unit_is_exact_in_any_file(text: str, expected: Fraction, units: Units) -> None:
    assert length_mm(text, units) == expected


@pytest.mark.parametrize("text", TEXTS)
def test_schema_pattern_takes_what_the_parser_takes(text: str) -> None:
    assert re.fullmatch(LENGTH_PATTERN, text)


@pytest.mark.parametrize(
    ("value", "units", "expected"),
    [
        (Written("0.1"), "in", Fraction(254, 100)),
        (Written("0.1"), "mm", Fraction(1, 10)),
        (4, "in", Fraction(1016, 10)),
        (Written("1_000.5"), "mm", Fraction(2001, 2)),
        (Written("-2.5e1"), "mm", Fraction(-25)),
        (0.1, "mm", Fraction(1, 10)),
    ],
)
def test_bare_numbers_count_the_files_units_as_written(value: object, units: Units, expected: Fraction) -> None:
    assert length_mm(value, units) == expected


def test_a_tenth_of_an_inch_is_not_what_binary_arithmetic_makes_of_it() -> None:
    assert float(length_mm(Written("0.1"), "in")) == 2.54
    assert Fraction(0.1) * INCH != Fraction(254, 100)  # what a float would have given


REFUSED_TEXTS = {
    "6 nm": "accepted",
    "4O mm": "letter O where a zero belongs",
    "1o5 mm": "letter O where a zero belongs",
    "O.5 in": "letter O where a zero belongs",
    "0.O5 in": "letter O where a zero belongs",
    "l2 mm": "letter l or I where a one belongs",
    "4,5in": "use a point, not a comma",
    "1,200 mm": "use a point, not a comma",
    "": "empty",
    "   ": "empty",
    "٤ mm": "digits 0 to 9",
    "５ mm": "digits 0 to 9",
    "5½ in": "digits 0 to 9",
    "3/16″": "plain ' and \"",
    "−4 mm": "plain hyphen",
    "5–1/2 in": "plain hyphen",
    "5 - 1/2 in": "no spaces around the hyphen",
    "5-9/8 in": "stays under 1",
    "5-8/8 in": "stays under 1",
    "1/0 in": "fraction of nothing",
    "2 ft 12 in": "under 12",
    "2 ft 14-1/2 in": "under 12",
    "1/2 mm": "fractions go with inches",
    "4": "no unit",
    "5-1/2": "accepted",
    "4 MM": "small letters",
    "5 IN": "small letters",
    "nan": "finite",
    "inf": "finite",
    "-inf mm": "finite",
    "1e400 mm": "without an exponent",
    "1e12 mm": "without an exponent",
    "1e3 mm": "without an exponent",
    "1000000000000 mm": "at most 1 km",
    "9" * 60 + " mm": "at most 1 km",
    "9" * 1_000_000 + " mm": "too long",
    "4 mm\n": "accepted",
    "4 mm 5": "accepted",
    "4 mm 5 mm": "accepted",
    "mm": "accepted",
    "-10 ga": "no sign",
    "10.5 ga": "accepted",
    "9 ga": "7, 8, 10, 11, 12, 14 and 16",
    "0x10 mm": "accepted",
    "5.5.5 mm": "accepted",
    "--5 mm": "accepted",
}


@pytest.mark.parametrize(("text", "says"), REFUSED_TEXTS.items(), ids=lambda t: repr(t[:20]))
def test_nothing_is_guessed(text: str, says: str) -> None:
    with pytest.raises(BadInput) as caught:
        length_mm(text, "mm")
    (fault,) = caught.value.faults
    message = str(fault)
    assert says in message
    assert f'"{text[:10]}'.rstrip() in message.replace("�", "\n")  # quotes what was given
    assert len(message) < 500


@pytest.mark.parametrize("text", [t for t in REFUSED_TEXTS if "at most" not in REFUSED_TEXTS[t] and len(t) < 65])
def test_schema_pattern_refuses_malformed_text(text: str) -> None:
    well_formed = ("stays under 1", "fraction of nothing", "under 12", "no sign", "7, 8")
    if any(w in REFUSED_TEXTS[text] for w in well_formed):
        assert re.fullmatch(LENGTH_PATTERN, text)  # what only arithmetic or a table can tell
    else:
        assert not re.fullmatch(LENGTH_PATTERN, text)


@pytest.mark.parametrize(
    "value",
    [
        Written("nan"), Written("inf"), Written("-inf"), Written("1e400"), Written("1e12"), Written("1e-400"),
        Written("1e999999999999999999"), Written("1." + "3" * 1_000_000), 10**12, 10**5000, -(10**5000), 16**100_000,
        float("nan"), float("inf"), True, None, [4], {"mm": 4}, b"4 mm",
    ],
    ids=lambda v: type(v).__name__,
)  # fmt: skip
@pytest.mark.parametrize("units", ["mm", "in"])
def test_bare_values_that_are_no_length(value: object, units: Units) -> None:
    with pytest.raises(BadInput) as caught:
        length_mm(value, units)
    assert len(str(caught.value)) < 500


@given(st.text(max_size=80))
def test_any_text_is_a_length_or_bad_input(text: str) -> None:
    try:
        assert isinstance(length_mm(text, "mm"), Fraction)
    except BadInput as error:
        assert error.faults


@given(st.text(alphabet="0123456789oOlI-+/ .,'\"mcinftgade½″", max_size=24))
def test_any_text_near_a_length_is_a_length_or_bad_input(text: str) -> None:
    for read in (lambda t: length_mm(t, "in"), angle_deg):
        try:
            assert isinstance(read(text), Fraction)
        except BadInput as error:
            assert error.faults


@pytest.mark.parametrize(
    ("value", "expected"),
    [
        (12, Fraction(12)),
        (Written("12.5"), Fraction(25, 2)),
        ("12 deg", Fraction(12)),
        ("12.5deg", Fraction(25, 2)),
        ("12°", Fraction(12)),
        ("-3.2 °", Fraction(-16, 5)),
    ],
)
def test_angles(value: object, expected: Fraction) -> None:
    assert angle_deg(value) == expected
    assert not isinstance(value, str) or re.fullmatch(ANGLE_PATTERN, value)


@pytest.mark.parametrize("value", ["12", "12 rad", "1O deg", "4,5 deg", "", "12 mm", Written("nan"), 99_999, True, None])
def test_angles_refused(value: object) -> None:
    with pytest.raises(BadInput):
        angle_deg(value)


@pytest.mark.parametrize(
    ("gauge", "inches"), [(7, "0.1793"), (8, "0.1644"), (10, "0.1345"), (11, "0.1196"), (12, "0.1046"), (14, "0.0747"), (16, "0.0598")]
)
def test_gauge_by_the_manufacturers_standard(gauge: int, inches: str) -> None:
    half_the_last_digit = Fraction(5, 100_000) * INCH
    assert abs(gauge_mm(gauge) - Fraction(inches) * INCH) <= half_the_last_digit
    assert length_mm(f"{gauge} ga", "mm") == gauge_mm(gauge)


@pytest.mark.parametrize("gauge", [0, 1, 6, 9, 13, 17, 100])
def test_a_gauge_that_is_not_in_the_table_names_what_is(gauge: int) -> None:
    with pytest.raises(BadInput, match="7, 8, 10, 11, 12, 14 and 16 ga"):
        gauge_mm(gauge)


@pytest.mark.parametrize(
    ("mm", "denominator", "expected"),
    [  # by hand: 5-1/2 in = 139.7 mm; 1/16 in = 1.5875 mm, 1/32 in = 0.79375 mm, 1/64 in = 0.396875 mm
        (139.7, 16, "5-1/2 in"),
        (139.82, 16, "5-1/2 in (+0.12 mm)"),
        (139.6, 16, "5-1/2 in (-0.10 mm)"),
        (Fraction(254, 10), 64, "1 in"),
        (4.7625, 16, "3/16 in"),
        (4, 16, "3/16 in (-0.76 mm)"),
        (4, 32, "5/32 in (+0.03 mm)"),
        (4, 64, "5/32 in (+0.03 mm)"),
        (0, 16, "0 in"),
        (0.5, 16, "0 in (+0.50 mm)"),
        (-139.7, 16, "-5-1/2 in"),
        (-3, 16, "-1/8 in (+0.17 mm)"),
        (25.3, 16, "1 in (-0.10 mm)"),
    ],
)
def test_inches_as_a_tape_shows_them(mm: float, denominator: Denominator, expected: str) -> None:
    assert shop_inches(mm, denominator) == expected


@given(st.integers(min_value=-600_000, max_value=600_000), st.sampled_from([16, 32, 64]))
def test_whole_marks_come_back_exactly(marks: int, denominator: Denominator) -> None:
    exact = INCH * marks / denominator
    assert length_mm(shop_inches(exact, denominator), "mm") == exact


@given(st.floats(min_value=-900_000, max_value=900_000), st.sampled_from([16, 32, 64]))
def test_printed_inches_and_remainder_are_the_length(mm: float, denominator: Denominator) -> None:
    text = shop_inches(mm, denominator)
    inches, _, rest = text.partition(" (")
    printed = length_mm(inches, "mm")
    assert abs(Fraction(mm) - printed) <= INCH / denominator / 2
    remainder = Fraction(rest.removesuffix(" mm)")) if rest else Fraction(0)
    assert abs(Fraction(mm) - printed - remainder) <= Fraction(501, 100_000)  # half of the last printed digit, 0.005 mm, and float noise


@pytest.mark.parametrize(
    ("mm", "digits", "expected"), [(139.7, 2, "139.7 mm"), (4, 2, "4 mm"), (-0.001, 2, "0 mm"), (100, 0, "100 mm"), (2.545, 1, "2.5 mm")]
)
def test_mm_without_trailing_zeros(mm: float, digits: int, expected: str) -> None:
    assert shop_mm(mm, digits) == expected


@pytest.mark.parametrize(
    ("value", "expected"),
    [
        ("a\nb", '"a�b"'),
        (Written("0.10"), "0.10"),
        (True, "true"),
        (12, "12"),
        (10**6000, "a whole number of 19932 bits"),  # 6000 lb 10 = 19931.6
        ({"a": {}}, "a table"),
        ([[[]]], "a list of 1"),
    ],
    ids=lambda v: type(v).__name__,
)
def test_values_in_messages_are_short_whatever_they_are(value: object, expected: str) -> None:
    assert shown_as_written(value) == expected


def test_plain_number_keeps_every_digit() -> None:
    assert plain_number(Written("0.30000000000000000001")) == Fraction(30000000000000000001, 10**20)
