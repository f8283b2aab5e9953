"""TOML text into plain values, with numbers kept as written, and a syntax error told as a slip of the keyboard where it is one."""

from __future__ import annotations

import re
import tomllib

from generator.files.source import Source
from parts.errors import BadInput, Fault, quoted
from parts.units import Written

DEEPEST_KEY = 32  #: parts of a dotted key; the parser's work grows with their square
#: Lines, keys, parts of dotted keys, commas and brackets together; the parser takes some microseconds and up to a kilobyte for each.
MOST_MARKS = 250_000
MOST_DIGITS = 4300  #: Python's own limit for a whole number in decimal
LONGEST_LINE = 300  #: characters of a line that a hint looks at

_DEEP_KEY = re.compile(rf"""(?:\.[ \t]*+(?:[A-Za-z0-9_-]++|"[^"\n]*+"|'[^'\n]*+')[ \t]*+){{{DEEPEST_KEY}}}""")
_LONG_NUMBER = re.compile(rf"[0-9_]{{{MOST_DIGITS}}}")
_PLACE = re.compile(r"\s*\(at (?:line (?P<line>[0-9]+), column (?P<column>[0-9]+)|end of document)\)$")
_VALUE = r"^[^#]*?=\s*(?:\[\s*)?"
_HINTS: tuple[tuple[re.Pattern[str], str], ...] = (
    (re.compile(_VALUE + r"[+-]?[0-9.]*(?:[0-9.][oO]|[oO][0-9.])"), "letter O where a zero belongs"),
    (re.compile(r"^[^#]*?=\s*[+-]?[0-9]+,[0-9]"), "use a point, not a comma"),
    (re.compile(_VALUE + r"""["'].*["'] *["'] *(?:[,}\]#].*)?$"""), "inch marks go between single quotes: '3/16\"'"),
    (
        re.compile(_VALUE + r"""[+-]?[0-9.]+(?:[-/ ][0-9/ -]*)?\s*(?:mm|cm|m|in|ft|ga|deg|°|"|'|(?<=/[0-9])|(?<=/[0-9][0-9]))"""),
        'a value with a unit or a fraction goes in quotes: "5-1/2 in"',
    ),
    (re.compile(_VALUE + r"[+-]?\.[0-9]"), "a bare number starts with a digit: 0.5"),
    (re.compile(_VALUE + r"[+-]?[0-9]+\.\s*(?:[,}\]#].*)?$"), "a bare number ends with a digit: 5.0 or 5"),
    (re.compile(_VALUE + r"(?i:yes|no|true|false|on|off)\b"), "true or false, in small letters"),
    (re.compile(_VALUE + r"[A-Za-z]"), "text goes in quotes"),
    (re.compile(_VALUE + r"(?:#.*)?$"), "a value is missing after ="),
)


def parse(source: Source) -> dict[str, object]:
    """The top table of the file; bare numbers with a point or exponent come as `Written`.

    Raises:
        BadInput: one fault with line and column.
    """
    text = source.text
    if sum(map(text.count, "\n=.,[{")) > MOST_MARKS:
        limit = f"holds more than {MOST_MARKS} lines and values"
        raise BadInput(Fault(where="", field="", limit=limit, remedy="a frame or job file holds some hundreds", file=source.label))
    deep = _DEEP_KEY.search(text)
    if deep:
        raise _fault(source, *_line_column(text, deep.start()), f"a key of more than {DEEPEST_KEY} parts", "")
    try:
        return tomllib.loads(text, parse_float=Written)
    except tomllib.TOMLDecodeError as error:
        message = str(error)
        match = _PLACE.search(message)
        if match and match["line"]:
            line, column = int(match["line"]), int(match["column"])
        else:
            line, column = _line_column(text, len(text))
        raise _fault(source, line, column, message[: match.start()] if match else message, _hint(text, line)) from None
    except RecursionError:
        raise BadInput(Fault(where="", field="", limit="is not TOML that can be read: nested too deeply", file=source.label)) from None
    except ValueError:  # Python refuses decimal whole numbers beyond MOST_DIGITS, without a place
        found = _LONG_NUMBER.search(text)
        line, column = _line_column(text, found.start() if found else 0)
        raise _fault(source, line, column, "a number with more digits than can be meant", "") from None


def _fault(source: Source, line: int, column: int, message: str, hint: str) -> BadInput:
    lines = source.text.split("\n", line)
    shown = lines[line - 1].strip() if line <= len(lines) else ""
    limit = f"is not TOML that can be read: line {line}, column {column}: {quoted(message[:1].lower() + message[1:], 200)}"
    return BadInput(Fault(where="", field="", limit=limit + (f": {quoted(shown)}" if shown else ""), remedy=hint, file=source.label))


def _line_column(text: str, place: int) -> tuple[int, int]:
    return text.count("\n", 0, place) + 1, place - text.rfind("\n", 0, place)


def _hint(text: str, line: int) -> str:
    lines = text.split("\n", line)
    shown = lines[line - 1][:LONGEST_LINE].rstrip() if line <= len(lines) else ""
    return next((hint for pattern, hint in _HINTS if pattern.search(shown)), "")
