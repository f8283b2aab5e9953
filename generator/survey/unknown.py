"""What a survey cannot know, in plain words, and the readings that would settle it."""

from __future__ import annotations

from collections.abc import Mapping, Sequence
from dataclasses import dataclass
from itertools import combinations
from typing import TYPE_CHECKING

from generator.survey.limits import WORDS, Word
from generator.survey.measures import HANGS, NO_REST, Measure
from generator.survey.pairs import Pair, Points
from generator.survey.quantities import Quantity

if TYPE_CHECKING:
    from generator.survey.network import Network, Observation
    from generator.survey.snoop import Suspect

BY_HEIGHT: tuple[Word, ...] = ("twist", "sag", "level", "kick-up")  #: what only heights tell
LEVEL_MM = 20.0  #: points drawn within so much of one height are level with each other as far as a tape cares; our choice
AT_ONE_POINT = {"height": "the height of {}", "offset": "the offset of {} from the string", "along": "how far along x {} lies"}
BETWEEN_TWO = {
    "distance": "the tape from {} to {}", "plan": "the plan distance from {} to {}, between floor marks", "rise": "the rise from {} to {}",
}  # fmt: skip
WRITTEN: dict[str, str] = {"z": "height", "y": "offset", "x": "along"}  #: the equation of a reading -> its kind in the frame file
NO_REST_HELP = (
    "Look first at what is held as known, and whether points, signs and units are what they are written as; then take again what is "
    "suspected."
)
TAPE = "A tape cannot see them: it changes by less than 0.1 mm when a corner rises by 20 mm."


@dataclass(frozen=True, kw_only=True)
class Wanted:
    """A reading that somebody may take, as the frame file writes it."""

    kind: str  #: distance, plan, rise, height, offset, along
    start: str
    end: str | None = None

    def __str__(self) -> str:
        if self.end is None:
            return AT_ONE_POINT[self.kind].format(self.start)
        return BETWEEN_TWO[self.kind].format(self.start, self.end)


def wanted(observation: Observation) -> Wanted:
    """The same reading, as the frame file writes it."""
    kind = WRITTEN.get(observation.kind, observation.kind)
    return Wanted(kind=kind, start=observation.start, end=observation.end)


def deciding(suspect: Suspect, network: Network) -> str:
    """The reading that would say which of a tied group is off; of a single one: itself, taken again."""
    told = suspect.decided_by
    if told is None:
        return f"take {'it' if len(suspect.observations) == 1 else 'each of them'} again{_held(suspect, network)}"
    one = wanted(told.observation)
    return f"{one}{', once more' if one in {wanted(o) for o in network.observations} else ''}{_held(suspect, network)}"


def _held(suspect: Suspect, network: Network) -> str:
    """What is known is never doubted by the adjustment: somebody has to."""
    ends = {key for o in network.observations if o.name in suspect.observations for key in (o.start, o.end) if key}
    held = [key for key in network.points if key in ends and key in network.held]
    return f"; or what is given as known of {_listed(held)} is wrong" if held else ""


@dataclass(frozen=True, kw_only=True)
class Unknown:
    """One thing that cannot be known, and what would settle it: all of `settle` together."""

    sentence: str
    words: tuple[Word, ...]
    settle: tuple[Wanted, ...] = ()

    def __str__(self) -> str:
        if not self.settle:
            return self.sentence
        return f"{self.sentence} What would settle it: {', '.join(str(w) for w in self.settle)}."


def unknowns(
    asked: Sequence[Quantity],
    measures: Sequence[Measure],
    network: Network,
    heights: Mapping[str, float],
    pairs: tuple[Pair, ...],
    drawn: Points,
) -> tuple[Unknown, ...]:
    """What of the asked is not told by the readings or so roughly that no number could ever be in.

    Args:
        asked, measures: in one order.
        heights: z by point, of those whose height is known.
    """
    if len(pairs) < 2:
        return (no_pairs(pairs),)
    if measures and all(m.why == NO_REST for m in measures if m.judged):
        return (Unknown(sentence=f"Nothing can be judged: {NO_REST}. {NO_REST_HELP}", words=()),)
    dark = [(q, m) for q, m in zip(asked, measures, strict=True) if m.judged and _dark(m)]
    found = _heights(dark, heights, pairs)
    told = {word for unknown in found for word in unknown.words}
    listed = {one for unknown in found for one in unknown.settle}
    for word in WORDS:
        own = [q for q, _ in dark if q.word == word]
        if own and not (word in told and word in BY_HEIGHT):
            hang = all(m.why.startswith(HANGS) for q, m in dark if q.word == word)
            found.append(_tapes(word, own, network, heights, drawn, frozenset(listed), hang))
            listed |= set(found[-1].settle)
    return tuple(found)


def _dark(measure: Measure) -> bool:
    """Not told, or too rough for any number to be in."""
    by, limit = measure.uncertainty_mm, measure.limit_mm
    return by is None or (limit is not None and by >= limit and measure.status == "cannot tell")


def no_pairs(pairs: tuple[Pair, ...]) -> Unknown:
    have = f"there is one, {pairs[0].name}" if pairs else "there is none"
    return Unknown(
        sentence=f"A frame is judged by pairs of control points, a left and a right one of one name at two places at least; {have}. "
        'Add [[control_point]] with side = "both" near both ends and at each crossmember.',
        words=("square", "twist"),
    )


def _heights(dark: Sequence[tuple[Quantity, Measure]], heights: Mapping[str, float], pairs: tuple[Pair, ...]) -> list[Unknown]:
    """What hangs on heights that were not taken: one sentence a point, or one for all."""
    blocked: dict[str, list[Word]] = {}
    for quantity, _ in dark:
        if quantity.word in BY_HEIGHT:
            for key in quantity.points:
                if key not in heights:
                    own = blocked.setdefault(key, [])
                    own += [] if quantity.word in own else [quantity.word]
    if not blocked:
        return []
    keys = [key for pair in pairs for key in pair.keys]
    words = tuple(w for w in BY_HEIGHT if any(w in own for own in blocked.values()))
    if not any(key in heights for key in keys):
        sentence = f"No heights were taken: {_listed(words)} cannot be judged. {TAPE}"
        return [Unknown(sentence=sentence, words=words, settle=tuple(Wanted(kind="height", start=key) for key in keys))]
    alike: dict[tuple[Word, ...], list[str]] = {}
    for key, there in blocked.items():
        alike.setdefault(tuple(there), []).append(key)
    return [
        Unknown(sentence=f"No height at {_listed(at)}: {_listed(there)} there cannot be judged.", words=there,
                settle=tuple(Wanted(kind="height", start=key) for key in at))
        for there, at in alike.items()
    ]  # fmt: skip


def _tapes(
    word: Word,
    own: Sequence[Quantity],
    network: Network,
    heights: Mapping[str, float],
    drawn: Points,
    listed: frozenset[Wanted],
    hang: bool,
) -> Unknown:  # fmt: skip
    """What is still to be read for one word: the readings that give it by themselves, less those taken and those `listed` before."""
    have = {(o.kind, frozenset(k for k in (o.start, o.end) if k)) for o in network.observations}
    open_: dict[Wanted, None] = {}
    for quantity in own:
        for one in direct(word, quantity, heights, drawn):
            kind = {"height": "z", "offset": "y"}.get(one.kind, one.kind)
            if (kind, frozenset(k for k in (one.start, one.end) if k)) not in have:
                open_[one] = None
    some = ", ".join(q.where for q in own[:3]) + (" ..." if len(own) > 3 else "")
    lead = f"{word.capitalize()} cannot be judged at {some}"
    if not open_ and hang:
        return Unknown(sentence=f"{lead}: it hangs on readings that are not believed. Take those again.", words=(word,))
    if not open_:
        return Unknown(sentence=f"{lead}: the readings are too rough. Take them again, by a finer way.", words=(word,))
    new = tuple(w for w in open_ if w not in listed)
    also = " The readings above settle it." if not new else " With the readings above:" if len(new) < len(open_) else ""
    return Unknown(sentence=f"{lead}: not enough is read.{also}", words=(word,), settle=new)


def direct(word: Word, quantity: Quantity, heights: Mapping[str, float], drawn: Points) -> list[Wanted]:
    """The readings that give a quantity by themselves."""
    p = quantity.points
    if word in BY_HEIGHT:
        return [Wanted(kind="height", start=key) for key in p]
    if word == "square":
        return [Wanted(kind="distance", start=p[0], end=p[3]), Wanted(kind="distance", start=p[1], end=p[2])]
    if word in ("width", "length"):
        return [Wanted(kind="distance", start=p[0], end=p[1])]
    if word == "diamond":
        return [Wanted(kind="distance", start=a, end=b) for a, b in ((p[0], p[3]), (p[1], p[2]), (p[0], p[2]), (p[1], p[3]))]
    if word in ("side bow", "sway"):
        return [Wanted(kind="offset", start=key) for key in p]
    braced = [Wanted(kind="distance", start=a, end=b) for a, b in combinations(p, 2)]
    z = [drawn[key][2] for key in p]
    stepped = max(z) - min(z) > LEVEL_MM
    return braced + ([Wanted(kind="height", start=key) for key in p if key not in heights] if stepped else [])


def _listed(words: Sequence[str]) -> str:
    return words[0] if len(words) == 1 else f"{', '.join(words[:-1])} and {words[-1]}"
