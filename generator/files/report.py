"""Collects faults while a file is walked, and knows where in the file the walk is."""

from __future__ import annotations

from collections.abc import Iterable
from dataclasses import dataclass, replace

from parts.errors import BadInput, Fault

MOST_FAULTS = 1000  #: so that a file of nothing but faults is bounded work


@dataclass(frozen=True, kw_only=True)
class Place:
    """A table in the file: the entry of an array that holds it (`rail main station front`), and the keys from there (`section.`)."""

    where: str = ""
    prefix: str = ""

    def inner(self, key: str) -> Place:
        """The table under `key`."""
        return replace(self, prefix=f"{self.prefix}{key}.")

    def entry(self, key: str, label: str) -> Place:
        """The entry `label` of the array of tables `key`."""
        return Place(where=f"{self.where} {self.prefix}{key} {label}".strip())


class Report:
    """The faults so far, in the order of the walk."""

    def __init__(self) -> None:
        self._faults: list[Fault] = []
        self._dropped = 0
        self._unread = 0

    @property
    def faults(self) -> tuple[Fault, ...]:
        if not self._dropped and not self._unread:
            return tuple(self._faults)
        more = [f"{self._dropped} more that are not listed"] if self._dropped else []
        more += [f"{self._unread} entries of lists that were not looked at"] if self._unread else []
        limit = f"has {MOST_FAULTS} faults, and {', and '.join(more)}"
        return (*self._faults, Fault(where="", field="", limit=limit, remedy="mend the first ones and run again"))

    @property
    def full(self) -> bool:
        return len(self._faults) >= MOST_FAULTS

    def add(self, place: Place, key: str, *, value: str = "", limit: str, remedy: str = "") -> None:
        self._put(Fault(where=place.where, field=place.prefix + key, value=value, limit=limit, remedy=remedy))

    def add_value(self, place: Place, key: str, error: BadInput) -> None:
        """The faults of one value, which know neither their place nor their key."""
        for fault in error.faults:
            self._put(replace(fault, where=place.where, field=place.prefix + key))

    def add_rule(self, place: Place, faults: Iterable[Fault]) -> None:
        """The faults that a dataclass found among its own values; where they name a place of their own, it is told within ours."""
        for fault in faults:
            if not fault.where or fault.where in place.where:
                self._put(replace(fault, where=place.where, field=place.prefix + fault.field))
            elif place.where in fault.where:
                self._put(fault)
            else:
                self._put(replace(fault, where=f"{place.where} {fault.where}"))

    def leave(self, entries: int) -> None:
        """So many entries are not looked at, because the report is full."""
        self._unread += entries

    def _put(self, fault: Fault) -> None:
        if self.full:
            self._dropped += 1
        else:
            self._faults.append(fault)
