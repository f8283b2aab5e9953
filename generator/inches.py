"""Sentences for a reader who works in inches: each length in mm keeps its number and gains the same in inches behind it.

Findings and faults are written in mm, most of them from rules whose limits are in mm. What is added is only ever added: the number that
was meant stays where it was.
"""

from __future__ import annotations

import re
from collections.abc import Iterator
from contextlib import contextmanager

from parts.errors import BadInput
from parts.units import MM_PER_IN, Units

NUMBER = r"(?<![\w.,/\"'-])-?\d+(?:\.\d+)?"
JOINT = r" ?(?:x|to|and|or|-|,|/) ?(?:[xyzs] )?"
LENGTHS = re.compile(rf"(?P<all>{NUMBER}(?:(?:{JOINT})-?\d+(?:\.\d+)?)*) mm(?![\w/²³^])")
ALREADY = re.compile(r" (?:\([^()]*|is [0-9./-]+ )\bin\b")  #: the inches stand there
IN_BRACKETS = re.compile(r"in \([+-]?$")  #: what a tape reading leaves over is told in mm
DIGITS_PAST_MM = 1  #: an inch is 25.4 mm: one more digit than the mm have says about as much


def beside_inches(text: str) -> str:
    """`leaves 12.5 mm` becomes `leaves 12.5 mm (0.49 in)`; `140 x 60 mm` becomes `140 x 60 mm (5.5 x 2.4 in)`."""

    def with_inches(match: re.Match[str]) -> str:
        if ALREADY.match(text, match.end()) or IN_BRACKETS.search(text[: match.start()]):
            return match[0]
        return f"{match[0]} ({re.sub(r'-?[0-9.]+', _inches, match['all'])} in)"

    return LENGTHS.sub(with_inches, text)


def _inches(match: re.Match[str]) -> str:
    number = match[0]
    digits = len(number.partition(".")[2]) + DIGITS_PAST_MM
    value = float(number) / float(MM_PER_IN)
    while value and digits < 4 and abs(value) < 10.0 ** (1 - digits):  # a small length keeps two digits that say something
        digits += 1
    return f"{value:.{digits}f}"


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
