"""What carries the frame: how the stands lie, what of the twist shims out, what stays, and which stand is shimmed by how much.

A bare open frame lies as its stands lie: it is so soft in twist that its own weight lays it onto them. So its heights tell of the
stands; what it has of its own shows only with the corners weighed, or with one end carried at a single point in the middle.
"""

from __future__ import annotations

import math
from collections.abc import Mapping, Sequence
from dataclasses import dataclass
from typing import TYPE_CHECKING

from generator.survey import shapes
from generator.survey.measures import NORMAL_95, sigma_of
from generator.survey.pairs import Pair, Points
from parts.frame.frame import Frame
from parts.frame.measured import Support, SurveySet
from parts.frame.placing import SIDES
from parts.frame.section import RailSide
from parts.sheet import Vec3

if TYPE_CHECKING:
    from generator.survey.adjust import Adjusted

NEWTON_PER_KG = 9.80665  # standard gravity, CGPM 1901
#: N at each corner that twist the reference frame by 14 mm over its 860 mm: 16 N m / 0.86 m, crossmembers on the webs alone, and
#: 60 N m / 0.86 m, crossmembers also on the flanges. Computed with shells: rails of open channel 150 x 60 x 4 mm, 3600 mm long.
REFERENCE_TWIST_MM = 14.0
REFERENCE_CORNER_N = (18.0, 69.0)
LIES = (
    "A bare open frame lies as its stands lie: 14 mm of twist takes 18 N at each corner (crossmembers on the webs alone) to 69 N (also on "
    "the flanges), where its own weight puts 215 N on each stand. Computed with shells for a frame like the reference: open channel "
    "150 x 60 x 4 mm, 3600 mm long, 860 mm wide; how stiff this one is nobody has measured."
)
SAME_PLACE_MM = 300.0  #: how far apart along the vehicle a left and a right stand may be and still be a pair; our choice
CLEAR = "wind it clear of the rail; once the corners are right, bring it up until it just touches"
OFF_WHEELS = (
    "set the frame on four stands and read every height again: on its wheels it lies as springs and tyres let it; shim nothing there"
)
AIR_MM = 3.0  #: over a stand, before it is said to stand clear: tops and depths are not read to better; our choice
TOUCH = "bring it up until it just touches the rail, then read every height again"
HALF_MM = 0.5  #: a shim thinner than this is not told; common practice, no source


@dataclass(frozen=True, kw_only=True)
class Stand:
    """A support in its place."""

    number: int  #: as told, from 1, in the order of the file
    side: RailSide
    x_mm: float
    y_mm: float
    kind: str
    height_mm: float | None
    load_n: float | None

    @property
    def name(self) -> str:
        return f"{self.kind} {self.number}, {self.side} rail at x = {self.x_mm:.0f} mm"


@dataclass(frozen=True, kw_only=True)
class Split:
    """How much of a twist goes with the stands, how much stays, and in words what was known and what is missing."""

    twist_mm: float | None  #: of the frame between the first and the last pair of stands
    stands_mm: float | None  #: the stands' own twist there
    stays_mm: tuple[float, float] | None  #: what weighed corners leave: (least, most), by the reference frame
    notes: tuple[str, ...]


@dataclass(frozen=True, kw_only=True)
class Shim:
    """What goes under one stand (above 0) or out from under it, or one corner where no stands are told; or what is done in its place."""

    where: str
    by_mm: float | None = None
    do: str = ""  #: where there is no amount


def stands_of(frame: Frame, survey_set: SurveySet | None) -> tuple[Stand, ...]:
    """Where the set's supports stand; one of side both is two."""
    found: list[Stand] = []
    for support in survey_set.supports if survey_set is not None else ():
        found += [_stand(frame, support, side, len(found) + i) for i, side in enumerate(support.sides, 1)]
    return tuple(found)


def _stand(frame: Frame, support: Support, side: RailSide, number: int) -> Stand:
    rail = frame.rail(side)
    x, y, _ = rail.point(rail.s_at(support.position), 0.0)
    load = support.load_kg * NEWTON_PER_KG if support.load_kg is not None else None
    return Stand(number=number, side=side, x_mm=x, y_mm=y, kind=support.kind, height_mm=support.height_mm, load_n=load)


def corners(stands: tuple[Stand, ...]) -> tuple[tuple[Stand, Stand], tuple[Stand, Stand]] | None:
    """The front and the rear pair of stands, each (left, right); None where there are not two pairs."""
    lefts, rights = ([s for s in stands if s.side == side] for side in SIDES)
    pairs = [(a, b) for a in lefts for b in rights if abs(a.x_mm - b.x_mm) <= SAME_PLACE_MM]
    if not pairs:
        return None
    front, rear = (pick(pairs, key=lambda p: p[0].x_mm + p[1].x_mm) for pick in (min, max))
    return None if front[0] is rear[0] or front[1] is rear[1] else (front, rear)


Shares = tuple[tuple[str, float], ...]  #: point and its share of a height between points


def shares_at(pairs: tuple[Pair, ...], heights: Mapping[str, float], drawn: Points, side: RailSide, x_mm: float) -> Shares:
    """Which heights tell that rail's own at x: linear between its pairs, past the last ones as at the last one; () where none does.

    Args:
        heights: z by point, of those whose height is known.
    """
    known = sorted((drawn[p.key(side)][0], p.key(side)) for p in pairs if p.key(side) in heights)
    if not known:
        return ()
    before = [k for k in known if k[0] <= x_mm][-1:] or known[:1]
    after = [k for k in known if k[0] >= x_mm][:1] or known[-1:]
    (x0, key0), (x1, key1) = before[0], after[0]
    if x1 <= x0:
        return ((key0, 1.0),)
    share = (x_mm - x0) / (x1 - x0)
    return ((key0, 1.0 - share), (key1, share))


def over_drawn(pairs: tuple[Pair, ...], heights: Mapping[str, float], drawn: Points, side: RailSide, x_mm: float) -> float | None:
    """How far that rail lies over its drawn height at x, by the heights of `shares_at`."""
    shares = shares_at(pairs, heights, drawn, side, x_mm)
    return sum(share * (heights[key] - drawn[key][2]) for key, share in shares) if shares else None


def split(
    frame: Frame, survey_set: SurveySet | None, pairs: tuple[Pair, ...], heights: Mapping[str, float], drawn: Points
) -> Split:  # fmt: skip
    """What of the twist between the stands is theirs."""
    stands = stands_of(frame, survey_set)
    ends = corners(stands)
    if survey_set is None or ends is None:
        note = (
            "What of the twist shims out cannot be told: give the set the two pairs of stands that carry it, each as a [[set.support]] "
            "with its place, its side and the height of its top."
        )
        return Split(twist_mm=None, stands_mm=None, stays_mm=None, notes=(note, LIES))
    (fl, fr), (rl, rr) = ends
    if not survey_set.carries and (clear := standing_clear(frame, ends, pairs, heights, drawn)):
        notes = [f"{one.name} does not touch: {air:.0f} mm of air by its top and the heights. {TOUCH.capitalize()}." for one, air in clear]
        notes.append("Until then nobody can tell what of the twist shims out.")
        return Split(twist_mm=None, stands_mm=None, stays_mm=None, notes=(*notes, LIES))
    over = [over_drawn(pairs, heights, drawn, s.side, s.x_mm) for s in (fl, fr, rl, rr)]
    twist = _twist_of((fl, fr), (rl, rr), over)
    tops = _twist_of((fl, fr), (rl, rr), [s.height_mm for s in (fl, fr, rl, rr)])
    drawn_lower = [_lower(frame, s) for s in (fl, fr, rl, rr)]
    drawn_tops = _twist_of((fl, fr), (rl, rr), drawn_lower)
    own_tops = None if tops is None or drawn_tops is None else tops - drawn_tops
    notes, stays = _told(frame, survey_set, twist, own_tops, [s.load_n for s in (fl, fr, rl, rr)])
    return Split(twist_mm=twist, stands_mm=own_tops, stays_mm=stays, notes=tuple(notes))


def standing_clear(
    frame: Frame, ends: tuple[tuple[Stand, Stand], tuple[Stand, Stand]], pairs: tuple[Pair, ...], heights: Mapping[str, float],
    drawn: Points,
) -> tuple[tuple[Stand, float], ...]:  # fmt: skip
    """The corner stands that the rail does not lie on, each with the air over it in mm; none where a top or a height is not known.

    A frame lies on two of its four stands at least, so the air is counted from the second smallest gap: where the level line lies, or how
    deep both rails are, does not matter.
    """
    gaps: list[tuple[Stand, float]] = []
    for stand in (s for pair in ends for s in pair):
        over = over_drawn(pairs, heights, drawn, stand.side, stand.x_mm)
        if over is None or stand.height_mm is None or stand.kind == "wheel":
            return ()
        gaps.append((stand, _lower(frame, stand) + over - stand.height_mm))
    least = sorted(gap for _, gap in gaps)[1]
    return tuple((stand, gap - least) for stand, gap in gaps if gap - least > AIR_MM)


def _lower(frame: Frame, stand: Stand) -> float:
    """Where a stand's top is drawn to be: the rail's lower face there."""
    rail = frame.rail(stand.side)
    return rail.profile.lower_z(rail.plan.s_at_x(stand.x_mm))


def _twist_of(front: tuple[Stand, Stand], rear: tuple[Stand, Stand], z: Sequence[float | None]) -> float | None:
    values = [v for v in z if v is not None]
    if len(values) < 4:
        return None
    placed: list[Vec3] = [(s.x_mm, s.y_mm, v) for s, v in zip((*front, *rear), values, strict=True)]
    return shapes.twist((placed[0], placed[1]), (placed[2], placed[3]))


def _told(
    frame: Frame, survey_set: SurveySet, twist: float | None, tops: float | None, loads: Sequence[float | None]
) -> tuple[list[str], tuple[float, float] | None]:
    if survey_set.carries:
        what = ", ".join(survey_set.carries)
        note = f"What of the twist shims out cannot be told while {what} is on the frame: it stiffens and loads it. Survey it bare."
        return [note], None
    if any(support.kind == "wheel" for support in survey_set.supports):
        return ["What of the twist shims out cannot be told on wheels: the frame lies as springs and tyres let it. Set it on stands."], None
    if twist is None:
        return ["What of the twist shims out cannot be told: the heights at the stands are not known."], None
    if any(frame.rail(side).section.kind == "closed" for side in SIDES):
        return [
            "A frame of closed rails does not lie down on its stands: with all stands' tops in one plane, what it has of its own shows as "
            "a gap over one stand. Put a feeler under each and write the gaps down."
        ], None
    return _open(twist, tops, loads)


def _open(twist: float, tops: float | None, loads: Sequence[float | None]) -> tuple[list[str], tuple[float, float] | None]:
    notes: list[str] = []
    if tops is not None:
        notes.append(
            f"Of {twist:+.1f} mm of twist between the stands, the stands' own tops are twisted {tops:+.1f} mm: that much shims out. "
            f"The other {twist - tops:+.1f} mm is not theirs: rails that are not as deep as drawn there, or a little air over a stand."
        )
    else:
        notes.append("How much of the twist is the stands' cannot be told: give the height of each stand's top, [[set.support]] height.")
    known = [n for n in loads if n is not None]
    if len(known) < 4:
        notes.append(
            "What stays once the stands are level cannot be told from heights. Weigh all four corners ([[set.support]] load_kg), or carry "
            "one end at a single point in its middle and read the heights again: then the frame shows its own."
        )
        return [*notes, LIES], None
    fl, fr, rl, rr = known
    cross = ((fl + rr) - (fr + rl)) / 4
    held = sorted(cross * REFERENCE_TWIST_MM / n for n in REFERENCE_CORNER_N)
    stays = (twist - held[1], twist - held[0])
    notes.append(
        f"The corners carry {abs(cross):.0f} N {'more' if cross >= 0 else 'less'} than their share at left front and right rear. On a "
        f"frame like the reference that bends {held[0]:+.1f} to {held[1]:+.1f} mm of twist into it, so {stays[0]:+.1f} to "
        f"{stays[1]:+.1f} mm would stay with the corners equally loaded."
    )
    return [*notes, LIES], stays


def shims(
    frame: Frame, survey_set: SurveySet | None, pairs: tuple[Pair, ...], heights: Mapping[str, float], drawn: Points, adjusted: Adjusted
) -> tuple[Shim, ...]:  # fmt: skip
    """By how much each stand goes up (below 0: down) so that the frame lies as drawn there, the fewest being touched.

    Where no two pairs of stands are told, the four corners that were measured. Empty where a height is missing, or nothing is needed: what
    the heights' own error may be is not shimmed. Stands between the corners are in the way until those are right. Nothing is put under
    a wheel: the frame would lie otherwise on its springs at the next step on the brake.
    """
    stands = stands_of(frame, survey_set)
    ends = corners(stands)
    if any(s.kind == "wheel" for s in stands):
        return (Shim(where="all points", do=OFF_WHEELS),)
    between: tuple[Stand, ...] = ()
    if ends is not None and (clear := standing_clear(frame, ends, pairs, heights, drawn)):
        return tuple(Shim(where=stand.name, do=TOUCH) for stand, _ in clear)
    if ends is not None:
        own = tuple(s for pair in ends for s in pair)
        between = tuple(s for s in stands if s not in own)
        places = [(s.name, s.side, s.x_mm) for s in own]
    elif len(pairs) > 1:
        places = [(f"{side} rail at {p.name}", side, drawn[p.key(side)][0]) for p in (pairs[0], pairs[-1]) for side in SIDES]
    else:
        return ()
    shares = [shares_at(pairs, heights, drawn, side, x) for _, side, x in places]
    if not all(shares):
        return ()
    over = [sum(share * (heights[key] - drawn[key][2]) for key, share in own_shares) for own_shares in shares]
    kept = sorted(range(len(over)), key=lambda i: over[i])[(len(over) - 1) // 2]  # a middle one: a single corner that is off moves alone
    found = [
        Shim(where=where, by_mm=over[kept] - own_over)
        for (where, _, _), own_over, own_shares in zip(places, over, shares, strict=True)
        if abs(over[kept] - own_over) >= max(HALF_MM, _may_be_off(shares[kept], own_shares, adjusted))
    ]
    return (*(Shim(where=s.name, do=CLEAR) for s in between), *found) if found else ()


def _may_be_off(one: Shares, other: Shares, adjusted: Adjusted) -> float:
    """95 % of the difference of two heights between points; endless where the readings do not tell it."""
    weights: dict[str, float] = {}
    for key, share in one:
        weights[key] = weights.get(key, 0.0) + share
    for key, share in other:
        weights[key] = weights.get(key, 0.0) - share
    keys = tuple(weights)
    sigma = sigma_of(lambda p: sum(weights[key] * point[2] for key, point in zip(keys, p, strict=True)), keys, adjusted)
    return math.inf if sigma is None else NORMAL_95 * sigma
