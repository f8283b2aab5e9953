"""What each word means, as it is printed, and the verdict in one sentence."""

from __future__ import annotations

from collections.abc import Iterable, Sequence

from generator.survey.limits import WORDS, Word
from generator.survey.measures import Measure

#: word -> (formula, what a number above 0 means). What is judged is always the number as measured less the number as drawn.
MEANING: dict[Word, tuple[str, str]] = {
    "square": ("d1 - d2: the diagonals of a bay, d1 from left front to right rear, d2 from right front to left rear", "d1 is the longer"),
    "diamond": ("(d1^2 - d2^2) / (4 x length), length being the mean of the bay's two rails", "the right rail lies further back"),
    "twist": ("rise of the right point over the left one, less that of the first pair brought to the same width; as an angle "
              "asin(rise / width), less the first pair's", "the right side climbs from front to rear"),
    "sag": ("z of a rail's point less z of the line through the rail's first and last point: both rails are asked",
            "over the line; below 0 it sags"),
    "sway": ("y of a pair's middle off the centreline string; without a string, off the line through the first and last middles",
             "to the right"),
    "side bow": ("y of a rail's point off the line through the rail's first and last point, seen from above", "to the right"),
    "one rail ahead": ("x of the right point less x of the left one at the front pair, less the same at the rear pair: what one end has "
                       "alone. What both ends share is diamond", "the right rail is the shorter one"),
    "level": ("z of the right point less z of the left one, at the first and the last pair", "the right side is up"),
    "length": ("straight from a rail's first point to its last one", "longer than drawn"),
    "width": ("straight from the left point to the right one", "wider than drawn"),
    "kick-up": ("z of a rail's point behind the kick less z of its point before it", "higher than drawn"),
    "thickness left": ("as measured; in: less what the reading may be off, it is still within the limit", "thicker than new"),
}  # fmt: skip

TWIST_TOLD_MM = 10.0  #: a twist known no better than this, as from a tape that runs uphill, is not told; our choice


def worst(measures: Iterable[Measure]) -> Measure | None:
    """The one that decides: out before cannot tell before in, then the most by its limit, and where there is none by itself."""
    ranks = {"out": 0, "cannot tell": 1, "in": 2}
    own = [m for m in measures if m.judged]
    return min(own, key=lambda m: (ranks[m.status], m.value_mm is None, -_share(m)), default=None)


def _share(measure: Measure) -> float:
    off = abs(measure.off_mm or 0.0)
    return off / measure.limit_mm if measure.limit_mm else off


def by_word(measures: Iterable[Measure]) -> dict[Word, list[Measure]]:
    found: dict[Word, list[Measure]] = {}
    for measure in measures:
        found.setdefault(measure.word, []).append(measure)
    return {word: found[word] for word in WORDS if word in found}


def verdict(measures: Sequence[Measure]) -> str:
    """`square, twisted 14 mm; in: ...; out: ...; cannot tell: ...`."""
    words = by_word(m for m in measures if m.judged)
    first = [_square(words.get("square", [])), _twist(words.get("twist", []))]
    rest: dict[str, list[str]] = {"out": [], "in": [], "cannot tell": []}
    for word, own in words.items():
        decides = worst(own)
        if word in ("square", "twist", "thickness left") or decides is None:
            continue
        rest[decides.status].append(word)
    tail = [f"{status}: {', '.join(names)}" for status, names in rest.items() if names]
    return "; ".join([", ".join(f for f in first if f), *tail])


def _square(own: Sequence[Measure]) -> str:
    decides = worst(own)
    if decides is None:
        return ""
    if decides.status == "in":
        return "square"
    if decides.status == "out":
        return f"out of square by {abs(decides.off_mm or 0.0):.0f} mm ({decides.where})"
    if any(m.bay is not None and m.bay.overall and m.status == "in" for m in own):
        open_bays = ", ".join(m.where for m in own if m.status != "in")
        return f"square over all (not told: {open_bays})"
    return "whether it is square cannot be told"


def _twist(own: Sequence[Measure]) -> str:
    known = [m for m in own if m.off_mm is not None and (m.uncertainty_mm or 0.0) < TWIST_TOLD_MM]
    if not known:
        return "whether it is twisted cannot be told" if own else ""
    most = most_twisted(known)
    if not most.is_seen:
        most_mm = max(abs(m.off_mm or 0.0) + (m.uncertainty_mm or 0.0) for m in known)
        return f"no twist seen ({'' if len(known) == len(own) else 'where heights were read, '}under {most_mm:.1f} mm)"
    return f"twisted {abs(most.off_mm or 0.0):.0f} mm"


def most_twisted(own: Sequence[Measure]) -> Measure:
    """The pair that is rolled most against the first one."""
    return max(own, key=lambda m: abs(m.off_mm or 0.0))
