"""Sentences for a reader who works in inches: each length in mm keeps its number and gains the same in inches behind it.

Findings and faults are written in mm, most of them from rules whose limits are in mm. What is added is only ever added: the number that
was meant stays where it was.
"""

from __future__ import annotations

import re
from collections.abc import Iterator
from contextlib import contextmanager
from decimal import Decimal
from typing import Literal

from parts.errors import BadInput
from parts.units import MM_PER_IN, Units

NUMBER = r"(?<![\w.,/\"'-])-?\d+(?:\.\d+)?"
JOINT = r" ?(?:x|to|and|or|-|,|/) ?(?:[xyzs] )?"
LENGTHS = re.compile(rf"(?P<all>{NUMBER}(?:(?:{JOINT})-?\d+(?:\.\d+)?)*) mm(?![\w/²³^])")
INCHES = r"-?\d[\d./-]*"
ALREADY = re.compile(rf" (?:\({INCHES}(?:{JOINT}{INCHES})* in\)|is {INCHES} in\b)")  #: the inches stand there
IN_BRACKETS = re.compile(r"in \([+-]?$")  #: what a tape reading leaves over is told in mm
DIGITS_PAST_MM = 1  #: an inch is 25.4 mm: one more digit than the mm have says about as much

#: `joint 1, 30 mm`: what is counted, or has a number for a name, is no length
NOUN = r"(?:joint|part|hole|rivet|pin|bolt|stop|slot|tab|drain|piece|panel|facet|bend|row|page|table|[A-Z]{2,})"
COUNTED = re.compile(rf"\b{NOUN}(?P<many>s?) $")
NUMBERS = re.compile(r"\d+(?:(?: and | to |, |-)\d+)*")

#: What makes a limit of the length behind it, with no other length between them: one that is kept in inches is kept in mm.
BETWEEN = r"(?:(?! mm\b)[^.;,()]|\.(?=\d))*$"
AT_MOST = re.compile(rf"\b(?:at most|no more than|up to|must (?:[^.;]*\b)?less than)\b{BETWEEN}")
AT_LEAST = re.compile(rf"\b(?:at least|no less than|must (?:[^.;]*\b)?more than)\b{BETWEEN}")
OR_LESS, OR_MORE = re.compile(r" (?:or less|is the most)\b"), re.compile(r" (?:or more|is the least)\b")
MOVED, BY_MORE = re.compile(r"(?:^|\bseats? |\bor )$"), re.compile(r" (?:higher|lower|wider|deeper)\b")  #: a remedy: less would not do
FROM_TO = re.compile(r"\b(?:must be|between|free from|room from(?: z)?|and rear, x) $")

Rounding = Literal["ROUND_HALF_EVEN", "ROUND_FLOOR", "ROUND_CEILING"]
NEAREST: Rounding = "ROUND_HALF_EVEN"


def beside_inches(text: str) -> str:
    """`leaves 12.5 mm` becomes `leaves 12.5 mm (0.49 in)`; `140 x 60 mm` becomes `140 x 60 mm (5.5 x 2.4 in)`.

    To the nearest, but a limit is rounded to its own side: down behind `at most`, up behind `at least`.
    """

    def with_inches(match: re.Match[str]) -> str:
        before = text[: match.start()]
        if ALREADY.match(text, match.end()) or IN_BRACKETS.search(before):
            return match[0]
        counted, lengths = _parted(before, match["all"])
        return f"{match[0]} ({_inches(lengths, before + counted, text[match.end() :])} in)"

    return LENGTHS.sub(with_inches, text)


def _parted(before: str, numbers: str) -> tuple[str, str]:
    """What of `numbers` only counts or names, and the lengths."""
    noun = COUNTED.search(before)
    if noun:
        head, comma, lengths = numbers.rpartition(", ") if noun["many"] else numbers.partition(", ")
        if comma and NUMBERS.fullmatch(head):
            return head + comma, lengths
    return "", numbers


def _inches(lengths: str, before: str, after: str) -> str:
    ends = re.fullmatch(r"(-?[\d.]+)( to | and )(-?[\d.]+)", lengths)
    if ends and FROM_TO.search(before):
        low, high = _in_inches(ends[1], "ROUND_CEILING"), _in_inches(ends[3], "ROUND_FLOOR")
        if float(low) <= float(high):  # else nothing that a tape shows lies between them
            return f"{low}{ends[2]}{high}"
    rounding = NEAREST
    if AT_MOST.search(before) or OR_LESS.match(after):
        rounding = "ROUND_FLOOR"
    elif AT_LEAST.search(before) or OR_MORE.match(after) or (MOVED.search(before) and BY_MORE.match(after)):
        rounding = "ROUND_CEILING"
    return re.sub(r"-?\d[\d.]*", lambda match: _in_inches(match[0], rounding), lengths)


def _in_inches(number: str, rounding: Rounding) -> str:
    digits = len(number.partition(".")[2]) + DIGITS_PAST_MM
    value = Decimal(number) / Decimal(MM_PER_IN.numerator) * MM_PER_IN.denominator
    while value and digits < 4 and abs(value) < Decimal(10) ** (1 - digits):  # a small length keeps two digits that say something
        digits += 1
    return str(value.quantize(Decimal(1).scaleb(-digits), rounding=rounding))


def told(text: str, units: Units) -> str:
    """A sentence as it is told to a reader who works in `units`."""
    return beside_inches(text) if units == "in" else text


@contextmanager
def faults_told_in(units: Units) -> Iterator[None]:
    """Bad input that is found within is told to a reader who works in `units`."""
    try:
        yield
    except BadInput as error:
        error.units = units
        raise
