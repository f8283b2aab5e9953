"""Whether two sets of readings were taken with the frame carried and loaded alike: a soft frame lies as it is carried."""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass

from generator.survey.stands import NEWTON_PER_KG, Stand, stands_of
from parts.frame.frame import Frame
from parts.frame.measured import SurveySet

PLACE_MM = 100.0  #: a stand so near to where it stood bears the frame alike; our choice
TOP_MM = 2.0  #: tops that differ by less may be the level's error twice over; our choice
LOAD_SHARE, LOAD_KG = 0.1, 10.0  #: corners that differ by less than both carry alike; our choice


@dataclass(frozen=True, kw_only=True)
class Likeness:
    """Why two sets cannot be compared (empty: they can), and what is not known of them.

    Attributes:
        shimmed: whether that tops of stands are higher or lower than they were is all that stands against it.
    """

    reasons: tuple[str, ...]
    open: tuple[str, ...] = ()
    shimmed: bool = False


def likeness(old: tuple[Frame, str, SurveySet | None], new: tuple[Frame, str, SurveySet | None]) -> Likeness:
    """Each: the frame, the name of its set, and what is told of the set."""
    reasons = [
        f"nothing is known of what carried the frame in set '{name}': give it as [[set]] with its [[set.support]] tables"
        for _, name, told in (old, new)
        if told is None or not told.supports
    ]
    if reasons:
        return Likeness(reasons=tuple(reasons))
    (old_frame, old_name, before), (new_frame, new_name, after) = old, new
    assert before is not None and after is not None
    reasons += _carried(before, after, old_name, new_name)
    pairs, odd = _matched(stands_of(old_frame, before), stands_of(new_frame, after))
    reasons += [f"set '{new_name if later else old_name}' has a {stand.name}, the other one has none there" for later, stand in odd]
    reasons += [r for a, b in pairs if (r := _load_differs(a, b))]
    tops = [r for a, b in pairs if (r := _top_differs(a, b))]
    shimmed = bool(tops) and not reasons
    reasons += tops
    unknown = [b.name for a, b in pairs if a.height_mm is None or b.height_mm is None]
    told: tuple[str, ...] = ()
    if unknown and not reasons:
        told = (
            f"Whether the tops of {', '.join(unknown)} are as high as they were is not told ([[set.support]] height, in both sets): what "
            "looks like a movement of the frame may be theirs.",
        )  # fmt: skip
    return Likeness(reasons=tuple(reasons), open=told, shimmed=shimmed)


def _carried(before: SurveySet, after: SurveySet, old_name: str, new_name: str) -> list[str]:
    here, there = ({name.casefold() for name in told.carries} for told in (before, after))
    if here == there:
        return []
    only = [(old_name, sorted(here - there)), (new_name, sorted(there - here))]
    return [f"only in set '{name}' it carried: {', '.join(names)}" for name, names in only if names]


def _matched(old: Sequence[Stand], new: Sequence[Stand]) -> tuple[list[tuple[Stand, Stand]], list[tuple[bool, Stand]]]:
    """Stands that are the same in both, and those that are not: (whether it is the later set's, stand)."""
    left = list(new)
    pairs, odd = [], []
    for stand in old:
        near = [s for s in left if s.side == stand.side and s.kind == stand.kind and abs(s.x_mm - stand.x_mm) <= PLACE_MM]
        if near:
            other = min(near, key=lambda s: abs(s.x_mm - stand.x_mm))
            left.remove(other)
            pairs.append((stand, other))
        else:
            odd.append((False, stand))
    return pairs, odd + [(True, stand) for stand in left]


def _top_differs(a: Stand, b: Stand) -> str:
    if a.height_mm is None or b.height_mm is None or abs(b.height_mm - a.height_mm) <= TOP_MM:
        return ""
    return f"the top of {b.name} was at {a.height_mm:g} mm and is at {b.height_mm:g} mm: the frame lies otherwise on it"


def _load_differs(a: Stand, b: Stand) -> str:
    if a.load_n is None or b.load_n is None:
        return ""
    by = abs(b.load_n - a.load_n)
    if by <= LOAD_KG * NEWTON_PER_KG or by <= LOAD_SHARE * (a.load_n + b.load_n) / 2:
        return ""
    return f"{b.name} carried {a.load_n / NEWTON_PER_KG:.0f} kg and carries {b.load_n / NEWTON_PER_KG:.0f} kg"
