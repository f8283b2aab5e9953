"""Offers the nearest known word for one that is not known."""

from __future__ import annotations

from collections.abc import Iterable
from difflib import get_close_matches

LONGEST_WORD = 64
LIKE_ENOUGH = 0.6
MOST_LISTED = 16


def nearest(word: str, known: Iterable[str]) -> str | None:
    """The one of `known` most like `word`, or None. A very long word has none: comparing it would take long."""
    if len(word) > LONGEST_WORD:
        return None
    lowered = {k.lower(): k for k in known}
    matches = get_close_matches(word.lower(), lowered, 1, LIKE_ENOUGH)
    return lowered[matches[0]] if matches else None


def nearest_hint(word: str, known: Iterable[str]) -> str:
    """`did you mean "..."?`, or "" where nothing is near."""
    match = nearest(word, known)
    return f'did you mean "{match}"?' if match else ""


def listed(words: Iterable[str]) -> str:
    """The words in their order, cut short when there are many."""
    every = list(words)
    return ", ".join(every[:MOST_LISTED]) + (f" and {len(every) - MOST_LISTED} more" if len(every) > MOST_LISTED else "")
