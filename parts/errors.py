"""Two channels for what is wrong: `BadInput` for what cannot be computed, `Finding` for what a fabricator must judge."""

from __future__ import annotations

from collections.abc import Iterable
from dataclasses import dataclass, replace
from typing import Literal

Level = Literal["stop", "warn", "note"]
LEVELS: tuple[Level, ...] = ("stop", "warn", "note")

LONGEST_QUOTE = 60


def quoted(value: object, longest: int = LONGEST_QUOTE) -> str:
    """`value` as it is shown in a message: one line, printable, cut to `longest` characters."""
    text = value if isinstance(value, str) else repr(value)
    text = "".join(c if c.isprintable() else "\N{REPLACEMENT CHARACTER}" for c in text)
    return text if len(text) <= longest else f"{text[: longest - 1]}… ({len(text)} characters)"


@dataclass(frozen=True, kw_only=True)
class Fault:
    """One thing wrong with what was given: where it stands, what it is, what is allowed and how to mend it."""

    where: str  #: the thing that carries it: `part rail-plate`, `frame hole pin-front`, or "" for the file as a whole
    field: str  #: the key, as written in the file (`thickness`, `start.offset`)
    value: str = ""  #: as given, quoted and cut short
    limit: str  #: the rule or range that it breaks
    remedy: str = ""  #: what to type instead, or where to look
    file: str = ""  #: the file's name, filled in by whoever read it

    def __str__(self) -> str:
        place = ": ".join(p for p in (self.file, self.where, self.field) if p)
        value = f" {self.value}" if self.value else ""
        remedy = f"; {self.remedy}" if self.remedy else ""
        return f"{place}:{value}: {self.limit}{remedy}" if value else f"{place}: {self.limit}{remedy}"

    def in_file(self, file: str) -> Fault:
        return replace(self, file=self.file or file)

    def inside(self, where: str) -> Fault:
        """The same fault, placed under `where` if it does not know its place yet."""
        return replace(self, where=self.where or where)


class BadInput(ValueError):
    """What was given cannot be computed. Carries every fault that was found, not only the first."""

    def __init__(self, faults: Iterable[Fault] | Fault) -> None:
        self.faults: tuple[Fault, ...] = (faults,) if isinstance(faults, Fault) else tuple(faults)
        if not self.faults:
            raise AssertionError("BadInput needs at least one fault")
        self.units: Literal["mm", "in"] = "mm"  #: what whoever reads it works in, set by who knows it
        super().__init__("\n".join(str(f) for f in self.faults))


@dataclass(frozen=True, kw_only=True)
class Finding:
    """Something that a fabricator must judge: collected, never raised."""

    code: str  #: short and stable, `hole-near-bend`
    level: Level
    where: str  #: the part or the place on the frame
    message: str  #: a sentence, with its numbers and units
    value: str = ""
    limit: str = ""
    remedy: str = ""
    source: str = ""  #: standard, manual and page, or "common practice, no source"

    def __str__(self) -> str:
        tail = "".join(f"; {t}" for t in (self.remedy,) if t) + (f" [{self.source}]" if self.source else "")
        return f"{self.level}: {self.where}: {self.message}{tail}"
