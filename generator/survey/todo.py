"""What to do about it, first things first: mend, read again, shim, and pull only what is left."""

from __future__ import annotations

from collections.abc import Iterator, Sequence
from dataclasses import dataclass

from generator.survey.damage import Damage
from generator.survey.limits import Word
from generator.survey.measures import Measure
from generator.survey.pairs import Points
from generator.survey.snoop import Suspect
from generator.survey.stands import Shim
from generator.survey.unknown import BY_HEIGHT, Unknown, Wanted
from generator.survey.words import by_word

#: The order in which a frame is pulled: what runs through the whole of it before what one rail has by itself. From memory.
PULLED: tuple[Word, ...] = ("twist", "diamond", "square", "one rail ahead", "length", "kick-up", "sag", "sway", "side bow", "width")
ORDER = "Order of pulling, twist first and one rail's bow last: from memory."
RAISE = "raise: shim under the stand, never on top of it"
LOWER = "lower it, or raise the other stands by as much"
AGAIN = "take it again, and once more from the other side"
STRING = (
    "lay the string anew, through the middles of the first and the last pair, and read the offsets again: the frame's middles lie in one "
    "line, the string lies off it"
)
MANY = 8
RAILS_OWN: tuple[Word, ...] = ("sag", "side bow")
ONE_PULL: tuple[Word, ...] = ("twist", "sway", *RAILS_OWN)
STILL = "if it is still out then: "
SPRINGS = "Steel springs back: pull a little, let go, measure, pull again. No heat on a rail whose steel is not known."


@dataclass(frozen=True, kw_only=True)
class Step:
    """One thing to do. `by_mm` None: there is no amount."""

    do: str
    where: str
    by_mm: float | None = None


def steps(
    damage: Sequence[Damage],
    suspects: Sequence[tuple[Suspect, str]],
    unknown: Sequence[Unknown],
    shims: Sequence[Shim],
    measures: Sequence[Measure],
    drawn: Points,
) -> tuple[Step, ...]:
    """In order: damage, readings not believed, readings missing, what to shim, what to pull.

    Args:
        suspects: each with what would decide it.
        drawn: the control points as drawn.
    """
    found = [Step(do=d.finding.remedy, where=f"{d.name}: {d.side} rail, {d.place}") for d in damage if d.level != "note"]
    found += [_again(suspect, decides) for suspect, decides in suspects]
    found += _missing([wanted for u in unknown for wanted in u.settle])
    pulls = tuple(_pulls(measures, any(s.by_mm is not None for s in shims), drawn))
    if shims or pulls:
        found += _unchecked(measures, bool(shims))
    if shims:
        found += [_shim(s) for s in shims]
        if any(s.by_mm is not None for s in shims):
            found.append(Step(do="read every height again: the frame lies otherwise on them", where="all points"))
    return (*found, *pulls)


def _again(suspect: Suspect, decides: str) -> Step:
    if len(suspect.observations) == 1:
        return Step(do=AGAIN + decides.removeprefix("take it again"), where=f"reading {suspect.observations[0]}")
    first = f"begin with {decides}" if suspect.decided_by is not None else decides
    names = ", ".join(suspect.observations)
    return Step(do=f"one of them is off, and nothing that was read says which: {first}", where=f"readings {names}")


def _unchecked(measures: Sequence[Measure], shimmed: bool) -> list[Step]:
    """Readings that steel would be moved on the word of, with no other one to check them."""
    own = [m for m in measures if m.judged and (m.status == "out" or (shimmed and m.word in ("twist", "level") and m.is_seen))]
    names = tuple(dict.fromkeys(name for m in own for name in m.rests_on))
    if not names:
        return []
    if len(names) > MANY:
        do = f"take the {len(names)} readings again that no other one checks: what follows hangs on them"
        return [Step(do=do, where="listed under what this survey cannot know")]
    return [Step(do="take it again: no other reading checks it, and what follows hangs on it", where=f"reading {name}") for name in names]


def _shim(shim: Shim) -> Step:
    if shim.by_mm is None:
        return Step(do=shim.do, where=shim.where)
    return Step(do=RAISE if shim.by_mm > 0 else LOWER, where=shim.where, by_mm=abs(shim.by_mm))


def _missing(wanted: Sequence[Wanted]) -> list[Step]:
    """The readings to take: one by one where they are few."""
    if len(wanted) > MANY:
        return [Step(do=f"take the {len(wanted)} readings that are missing", where="listed under what this survey cannot know")]
    return [Step(do=f"read {one}", where=one.start) for one in wanted]


def _pulls(measures: Sequence[Measure], shimmed: bool, drawn: Points) -> Iterator[Step]:
    """What is out, in the order of pulling. What is in, or cannot be told, is let alone; what hangs on the stands waits for them."""
    out = by_word(_each_once([m for m in measures if m.status == "out" and m.judged]))
    diamonds = {m.where: m for m in measures if m.word == "diamond"}
    for word in PULLED:
        if word == "sway" and word in out and _straight_off_the_string([m for m in measures if m.word == "sway"], drawn):
            yield Step(do=STRING, where="all points")
            continue
        for measure in _telling(out.get(word, [])):
            off = measure.off_mm or 0.0
            if word == "square":
                shift = diamonds[measure.where].off_mm if measure.where in diamonds else None
                yield Step(do=_pull("diamond", off), where=measure.where, by_mm=None if shift is None else abs(shift))
            else:
                first = STILL if shimmed and word in BY_HEIGHT else ""
                yield Step(do=first + _pull(word, off), where=measure.where, by_mm=abs(off))


def _straight_off_the_string(sways: Sequence[Measure], drawn: Points) -> bool:
    """Whether all pairs' middles lie in one line, as far as their limit goes, which is not the string's: then nothing is bent."""
    own = [(sum(drawn[k][0] for k in m.points) / 2, m) for m in sways if len(m.points) == 2]  # a pair by itself: it is held to the string
    if len(own) < 2 or any(m.off_mm is None for _, m in own):
        return False
    own.sort(key=lambda pair: pair[0])
    (x0, first), (x1, last) = own[0], own[-1]
    y0, y1 = first.off_mm or 0.0, last.off_mm or 0.0
    slope = (y1 - y0) / (x1 - x0) if x1 > x0 else 0.0
    return all(abs((m.off_mm or 0.0) - y0 - slope * (x - x0)) <= (m.limit_mm or 0.0) for x, m in own)


def _each_once(out: Sequence[Measure]) -> Iterator[Measure]:
    """What two words say alike is pulled by one: square by diamond; a section that went sideways whole by sway, one rail of it by bow."""
    own = {word: [m for m in out if m.word == word] for word in PULLED}
    spread = {key for m in own["width"] for key in m.points}
    bowed = {m.points[-1] for m in own["side bow"]}
    swayed = {m.points[-1] for m in own["sway"]} | {m.points[-2] for m in own["sway"]}
    diamonds = {m.where for m in own["diamond"]}
    for measure in out:
        here = set(measure.points[-2:])
        twice = (
            (measure.word == "square" and measure.where in diamonds)
            or (measure.word == "sway" and bool(here & spread & bowed))
            or (measure.word == "side bow" and measure.points[-1] in swayed - spread)
            or (measure.word == "width" and bool(here & bowed))
        )
        if not twice:
            yield measure


def _telling(out: Sequence[Measure]) -> Sequence[Measure]:
    """What one pull mends is told once, at its worst place: the whole length's in place of its bays', where it is out itself; of a twist
    the pair that is rolled most; of a rail's sag or bow, or a sway, the place that is furthest off to either hand."""
    whole = [m for m in out if m.bay is not None and m.bay.overall]
    if whole or not out or out[0].word not in ONE_PULL:
        return whole or out
    worst: dict[tuple[str, bool], Measure] = {}
    for measure in out:
        off = measure.off_mm or 0.0
        alike = (measure.where.partition(" at ")[0] if measure.word in RAILS_OWN else measure.word, off > 0)
        if alike not in worst or abs(off) > abs(worst[alike].off_mm or 0.0):
            worst[alike] = measure
    return tuple(worst.values())


def _pull(word: Word, off: float) -> str:
    plus = off > 0
    side = {
        "twist": ("right side down, left side up, at this end", "right side up, left side down, at this end"),
        "diamond": ("push the right rail forward against the left one", "push the left rail forward against the right one"),
        "one rail ahead": ("draw the right rail's end out, or the left one's in: see which end is off its marks",
                           "draw the left rail's end out, or the right one's in: see which end is off its marks"),
        "length": ("the rail is longer than drawn: measure again from the datum hole, then push it in",
                   "the rail is shorter than drawn: pull it out, hold the rest"),
        "kick-up": ("see that the rail lies level before the kick, then pull it down behind it",
                    "see that the rail lies level before the kick, then lift it behind it"),
        "sag": ("pull the rail down against its ends", "lift the rail against its ends"),
        "sway": ("pull the section to the left", "pull the section to the right"),
        "side bow": ("pull the rail to the left against its ends", "pull the rail to the right against its ends"),
        "width": ("draw the rails together", "spread the rails"),
    }  # fmt: skip
    over, under = side[word]
    return over if plus else under
