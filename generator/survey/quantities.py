"""Everything that is asked of a frame's pairs, in the trade's words: which points, which closed form, which limit."""

from __future__ import annotations

from collections.abc import Callable, Iterator, Sequence
from dataclasses import dataclass

from generator.survey import shapes
from generator.survey.limits import Limit, Word, limit_of
from generator.survey.pairs import Bay, Pair, Points, bays_of, kicks_of
from parts.frame.measured import Limits
from parts.frame.placing import SIDES
from parts.frame.section import RailSide
from parts.sheet import Vec3

Form = Callable[[Sequence[Vec3]], float]


@dataclass(frozen=True, kw_only=True)
class Quantity:
    """One number that is asked of the frame. `form` takes the points in the order of `points`."""

    word: Word
    where: str
    points: tuple[str, ...]
    form: Form
    limit: Limit
    degrees: Form | None = None
    judged: bool = True  #: False: told, but not held against a limit
    bay: Bay | None = None  #: of what is asked of a bay

    def of(self, points: Points) -> float:
        return self.form([points[key] for key in self.points])


@dataclass(frozen=True, kw_only=True)
class Asked:
    """What is known before anything is asked."""

    pairs: tuple[Pair, ...]
    drawn: Points
    own: Limits | None
    string: bool  #: whether readings tie the frame to the centreline string
    on_wheels: bool

    def limit(self, word: Word, *, rear: bool = False) -> Limit:
        return limit_of(word, self.own, on_wheels=self.on_wheels, rear=rear)


def quantities(asked: Asked) -> tuple[Quantity, ...]:
    """All that can be asked of these pairs, in the order of `limits.WORDS`; a frame with one pair has a width and a level."""
    pairs = asked.pairs
    found: list[Quantity] = []
    if len(pairs) > 1:
        found += [*_bays(asked, "square", shapes.square), *_bays(asked, "diamond", shapes.diamond), *_twist(asked)]
        found += [*_sag(asked), *_sway(asked), *_bow(asked), *_ahead(asked)]
    found += _level(asked)
    if len(pairs) > 1:
        found += _lengths(asked)
    found += [_pair(asked, "width", pair, lambda p: shapes.length(p[0], p[1])) for pair in pairs]
    found += _kicks(asked)
    return tuple(found)


def growth(asked: Asked) -> tuple[Quantity, ...]:
    """The twist of each bay between the pairs of `asked`, by itself: what the roll grows from one to the next."""
    return tuple(
        Quantity(word="twist", where=bay.name, points=bay.keys, form=lambda p: shapes.twist((p[0], p[1]), (p[2], p[3])),
                 degrees=lambda p: shapes.twist_deg((p[0], p[1]), (p[2], p[3])), limit=asked.limit("twist"), judged=False, bay=bay)
        for bay in bays_of(asked.pairs)
        if not bay.overall
    )  # fmt: skip


def yaw_and_shift(pairs: tuple[Pair, ...]) -> tuple[Form, Form, tuple[str, ...]]:
    """Two numbers that are known only where readings tie the frame to the string: how its ends' middles lie off it; and their points."""
    return (
        lambda p: shapes.centre((p[0], p[1]))[1],
        lambda p: shapes.centre((p[2], p[3]))[1],
        (*pairs[0].keys, *pairs[-1].keys),
    )


def _bays(asked: Asked, word: Word, form: Callable[[shapes.Pair3, shapes.Pair3], float]) -> Iterator[Quantity]:
    for bay in bays_of(asked.pairs):
        yield Quantity(word=word, where=bay.name, points=bay.keys, form=lambda p: form((p[0], p[1]), (p[2], p[3])),
                       limit=asked.limit(word), bay=bay)  # fmt: skip


def _twist(asked: Asked) -> Iterator[Quantity]:
    datum = asked.pairs[0]
    for pair in asked.pairs[1:]:
        yield Quantity(
            word="twist", where=f"{pair.name} against {datum.name}", points=(*datum.keys, *pair.keys), limit=asked.limit("twist"),
            form=lambda p: shapes.twist((p[0], p[1]), (p[2], p[3])), degrees=lambda p: shapes.twist_deg((p[0], p[1]), (p[2], p[3])),
        )  # fmt: skip


def _sag(asked: Asked) -> Iterator[Quantity]:
    for side in SIDES:
        yield from _on_rail(asked, "sag", side, lambda p: shapes.sag(p[0], p[1], p[2]))


def _bow(asked: Asked) -> Iterator[Quantity]:
    for side in SIDES:
        yield from _on_rail(asked, "side bow", side, lambda p: shapes.bow(p[0], p[1], p[2]))


def _on_rail(asked: Asked, word: Word, side: RailSide, form: Form) -> Iterator[Quantity]:
    first, *inner, last = asked.pairs
    for pair in inner:
        keys = (first.key(side), last.key(side), pair.key(side))
        yield Quantity(word=word, where=f"{side} rail at {pair.name}", points=keys, form=form, limit=asked.limit(word))


def _sway(asked: Asked) -> Iterator[Quantity]:
    first, *inner, last = asked.pairs
    if asked.string:
        yield from (_pair(asked, "sway", pair, lambda p: shapes.sway_off_string((p[0], p[1]))) for pair in asked.pairs)
        return
    for pair in inner:
        yield Quantity(
            word="sway", where=pair.name, points=(*first.keys, *last.keys, *pair.keys), limit=asked.limit("sway"),
            form=lambda p: shapes.sway((p[0], p[1]), (p[2], p[3]), (p[4], p[5])),
        )  # fmt: skip


def _ahead(asked: Asked) -> Iterator[Quantity]:
    """At one end only: the front pair's offset less the rear pair's. What both ends show alike is diamond."""
    first, last = asked.pairs[0], asked.pairs[-1]

    def form(p: Sequence[Vec3]) -> float:
        front, rear = (p[0], p[1]), (p[2], p[3])
        if asked.string:
            return shapes.behind_off_string(front) - shapes.behind_off_string(rear)
        return shapes.behind(front, rear, front) - shapes.behind(front, rear, rear)

    yield Quantity(
        word="one rail ahead", where=f"{first.name} against {last.name}", points=(*first.keys, *last.keys), form=form,
        limit=asked.limit("one rail ahead"),
    )  # fmt: skip


def _level(asked: Asked) -> list[Quantity]:
    ends = asked.pairs[:1] + asked.pairs[-1:] if len(asked.pairs) > 1 else asked.pairs
    return [_pair(asked, "level", pair, lambda p: shapes.rise((p[0], p[1])), rear=i == 1) for i, pair in enumerate(ends)]


def _lengths(asked: Asked) -> Iterator[Quantity]:
    first, last = asked.pairs[0], asked.pairs[-1]
    for side in SIDES:
        yield Quantity(
            word="length", where=f"{side} rail, {first.name} to {last.name}", points=(first.key(side), last.key(side)),
            form=lambda p: shapes.length(p[0], p[1]), limit=asked.limit("length"),
        )  # fmt: skip


def _kicks(asked: Asked) -> Iterator[Quantity]:
    for side in SIDES:
        for before, behind in kicks_of(asked.pairs, side):
            yield Quantity(
                word="kick-up", where=f"{side} rail, {before.name} to {behind.name}", points=(before.key(side), behind.key(side)),
                form=lambda p: p[1][2] - p[0][2], limit=asked.limit("kick-up"),
            )  # fmt: skip


def _pair(asked: Asked, word: Word, pair: Pair, form: Form, *, rear: bool = False) -> Quantity:
    return Quantity(word=word, where=pair.name, points=pair.keys, form=form, limit=asked.limit(word, rear=rear))
