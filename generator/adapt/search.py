"""The nearest change that makes a part fit: the smallest, of the fewest parameters, found by building the part with one after the other.

One parameter at a time is moved along its lanes, all lanes abreast in order of the size of the change; between the last value that does
not fit and the first that does, bisection finds the nearest on the grid. Where no single one is enough, what cures some of the faults
without adding others is kept and the rest is sought from there; then two at once in step; then what may be left out is. At the end each
change is taken back as far as the others allow. Nothing is claimed beyond what was tried: a fit that lies in a gap between two probes,
or that needs three parameters at once, is not found.
"""

from __future__ import annotations

import heapq
import re
from collections.abc import Callable, Iterable, Mapping, Sequence
from dataclasses import dataclass, replace
from itertools import combinations

from generator.adapt.bench import OutOfTrials, Trial, Trials, fault_key, stop_key
from generator.adapt.fields import DROPPED, Edits, Path, Spot, changed, spots
from generator.adapt.lanes import Lane, Ruler, entries_out, lanes_of, left_out
from parts.errors import BadInput, Fault, Finding

DEEPEST = 6  #: changes one after the other
MOST_IN_STEP = 10  #: parameters of which two are moved at once
IN_STEP = (0.02, 0.08, 0.2, 0.4)
MOST_FOR_STOPS = 16  #: builds that are spent on a part that can be built, for a stop finding
SMALL_FOR_STOPS = 0.25  #: what can be built is not changed by more than this
SMALL = 0.2  #: a change of a parameter that no fault names is tried before another word where it is no larger than this

Passes = Callable[[Trial], bool]


@dataclass(frozen=True, kw_only=True, eq=False)
class Nearest:
    """The outcome of a search: the part as it comes closest to fitting, and what was changed for it."""

    edits: Edits
    trial: Trial
    cured: Mapping[Path, tuple[Fault | Finding, ...]]  #: by place: what it was changed for
    tried: tuple[str, ...]  #: parameters that were moved
    builds: int


@dataclass(frozen=True, kw_only=True)
class _Found:
    edits: Edits
    cost: float


class Search:
    """The search for one part."""

    def __init__(self, trials: Trials, ruler: Ruler, fixed: Edits, own_stops: frozenset[tuple[str, str]]) -> None:
        self.trials = trials
        self.ruler = ruler
        self.edits: dict[Path, object] = dict(fixed)
        self.fixed = frozenset(fixed)
        self.own_stops = own_stops
        self.tried: dict[str, None] = {}
        self.cured: dict[Path, tuple[Fault | Finding, ...]] = {}  #: by what was changed: what it was changed for

    def run(self) -> Nearest:
        """Change the part until it fits, or all that is tried has been."""
        first = self.trials.of(self.edits)
        try:
            fits = first.fits or self._cure()
            if fits:
                self._take_back()
                self._stops()
        except OutOfTrials:
            pass
        trial = self.trials.done[frozenset((p, repr(v)) for p, v in self.edits.items())]
        return Nearest(edits=dict(self.edits), trial=trial, cured=self.cured, tried=tuple(self.tried), builds=len(self.trials.done))

    def _cure(self) -> bool:
        for _ in range(DEEPEST):
            now = self.trials.of(self.edits)
            if now.fits:
                return True
            found = self._step(now)
            if found is None:
                return False
            after = self.trials.of({**self.edits, **found.edits})
            gone = now.fault_keys - after.fault_keys
            self._change(found, tuple(f for f in now.faults if fault_key(f) in gone))
        return self.trials.of(self.edits).fits

    def _change(self, found: _Found, why: tuple[Fault | Finding, ...]) -> None:
        self.edits |= found.edits
        self.cured |= {p: (*self.cured.get(p, ()), *why) for p in found.edits}

    def _step(self, now: Trial) -> _Found | None:
        """The next change: one that makes it fit, else one that brings it nearer."""
        every = self._spots()
        named = [_as_built(s, now.faults) for s in _concerned(every, now.faults)]
        lanes = [lane for s in named for lane in lanes_of(s, self.ruler, now.faults)]
        near = [lane for lane in lanes if lane.kind != "word" or lane.told]
        clean: Passes = lambda t: t.fits and not t.stop_keys - self.own_stops  # noqa: E731
        fits: Passes = lambda t: t.fits  # noqa: E731
        better: Passes = lambda t: t.fits or _nearer(t, now)  # noqa: E731
        goals = (clean, fits, better)
        parted = not set.intersection(*({s.path for s in _concerned(every, [f])} for f in now.faults))
        if (found := self._single(near, goals, enough=2 if parted else 0)) is not None:
            return found
        mine = {s.path for s in named}
        rest = [x for s in every if s.path not in mine for x in lanes_of(s, self.ruler) if x.kind != "word"]
        small = [_shortened(x, SMALL) for x in rest]
        words = [lane for lane in lanes if lane.kind == "word" and not lane.told]
        for row in ([*(x for x in small if x.probes), *words], rest):
            if (found := self._single(row, goals)) is not None:
                return found
        if (found := self._in_step([x for x in near if x.slides], fits)) is not None:
            return found
        arrays = [s for s in every if s.spec.kind in ("tables", "names") and any(n.path[: len(s.path)] == s.path for n in named)]
        out = [lane for s in named if (lane := left_out(s)) is not None]
        out += [lane for s in arrays for lane in entries_out(s) if any(n.path[: len(lane.spot.path)] == lane.spot.path for n in named)]
        return self._single(out, (fits, better))

    def _spots(self) -> list[Spot]:
        """Parameters as they stand now, less what was put there for a name that is missing and is no place."""
        try:
            part = changed(self.trials.part, {p: v for p, v in self.edits.items() if not _removes(p, v)})
        except BadInput:
            part = self.trials.part
        gone = [p for p, v in self.edits.items() if _removes(p, v)]
        return [s for s in spots(part) if not any(s.path[: len(p)] == p for p in gone) and s.path != ("id",)]

    def _single(self, lanes: Sequence[Lane], goals: Sequence[Passes], enough: int = 0) -> _Found | None:
        """The cheapest change by one lane that meets the first of the goals that any meets.

        Lanes go abreast: of all next probes the smallest change is built. Once one meets the goal that is enough (the last one where the
        faults have no parameter in common, so that one change will hardly cure them all), only smaller changes of the other lanes are
        looked at.
        """
        self._say(lanes)
        heap = [(lane.cost(lane.probes[0]), i, 0) for i, lane in enumerate(lanes) if lane.probes]
        heapq.heapify(heap)
        met: list[tuple[int, int, int] | None] = [None] * len(goals)  # (lane, last probe that failed, probe)
        try:
            while heap and all(m is None for m in met[: enough + 1]):
                _, i, j = heapq.heappop(heap)
                lane = lanes[i]
                trial = self._trial(lane.change(lane.probes[j]))
                for g, goal in enumerate(goals):
                    if met[g] is None and goal(trial):
                        met[g] = (i, lane.probes[j - 1] if j else 0, lane.probes[j])
                if j + 1 < len(lane.probes):
                    heapq.heappush(heap, (lane.cost(lane.probes[j + 1]), i, j + 1))
        except OutOfTrials:
            if met == [None] * len(goals):
                raise
        for goal, at in zip(goals, met, strict=True):
            if at is not None:
                waiting = {i: lanes[i].probes[j - 1] if j else 0 for _, i, j in heap}
                return self._nearest(lanes, at, waiting, goal)
        return None

    def _nearest(self, lanes: Sequence[Lane], at: tuple[int, int, int], waiting: dict[int, int], goal: Passes) -> _Found:
        i, low, high = at
        best = self._bisected(lanes[i], low, high, goal)
        for k, failed in waiting.items():
            lane = lanes[k]
            if k == i or not lane.slides:
                continue
            most = _last_below(lane, failed, best.cost)
            try:
                if most > failed and goal(self._trial(lane.change(most))):
                    best = self._bisected(lane, failed, most, goal)
            except OutOfTrials:
                break
        return best

    def _bisected(self, lane: Lane, low: int, high: int, goal: Passes) -> _Found:
        """The nearest change between one that does not meet the goal (0: none) and one that does."""
        try:
            while lane.slides and high - low > 1:
                middle = (low + high) // 2
                low, high = (low, middle) if goal(self._trial(lane.change(middle))) else (middle, high)
        except OutOfTrials:
            pass
        return _Found(edits=lane.change(high), cost=lane.cost(high))

    def _in_step(self, lanes: Sequence[Lane], goal: Passes) -> _Found | None:
        """Two parameters moved at once by the same part of their size."""
        firsts = list({lane.spot.path: None for lane in lanes})[:MOST_IN_STEP]
        pairs = [(a, b) for a, b in combinations([x for x in lanes if x.spot.path in firsts], 2) if a.spot.path != b.spot.path]
        for share in IN_STEP:
            for a, b in pairs:
                m, n = _last_below(a, 0, share), _last_below(b, 0, share)
                if m and n and goal(self._trial({**a.change(m), **b.change(n)})):
                    return self._both_back(a, b, m, n, goal)
        return None

    def _both_back(self, a: Lane, b: Lane, m: int, n: int, goal: Passes) -> _Found:
        """Each of the two as little as the other allows."""
        for lane, other, at in ((a, b, "n"), (b, a, "m")):
            low, high = 0, m if lane is a else n
            try:
                while high - low > 1:
                    middle = (low + high) // 2
                    both = {**lane.change(middle), **other.change(n if at == "n" else m)}
                    low, high = (low, middle) if goal(self._trial(both)) else (middle, high)
            except OutOfTrials:
                pass
            m, n = (high, n) if lane is a else (m, high)
        return _Found(edits={**a.change(m), **b.change(n)}, cost=a.cost(m) + b.cost(n))

    def _take_back(self) -> None:
        """What a later change made needless goes; a number goes back as far as the others allow."""
        now = self.trials.of(self.edits)
        good: Passes = lambda t: t.fits and t.stop_keys - self.own_stops <= now.stop_keys  # noqa: E731
        for path in [p for p in self.edits if p not in self.fixed]:
            if len(self.edits) - len(self.fixed) < 2:
                return
            without = {p: v for p, v in self.edits.items() if p != path}
            if good(self.trials.of(without)):
                self.edits = without
                continue
            self._back(path, good)

    def _back(self, path: Path, good: Passes) -> None:
        """The least that this one has to change, the others as they are."""
        whole = dict(self.edits)
        without = {p: v for p, v in whole.items() if p != path}
        spot = next((s for s in spots(self.trials.part) if s.path == path), None)
        for lane in lanes_of(spot, self.ruler) if spot is not None else ():
            at = next((n for n in range(1, lane.length + 1) if lane.change(n) == {path: whole[path]}), 0) if lane.slides else 0
            low, high = 0, at
            while high - low > 1:
                middle = (low + high) // 2
                low, high = (low, middle) if good(self.trials.of({**without, **lane.change(middle)})) else (middle, high)
            if high and high < at:
                self.edits = {**without, **lane.change(high)}

    def _stops(self) -> None:
        """A part that can be built but gained stop findings: a small change that ends them, if one does."""
        now = self.trials.of(self.edits)
        new = now.stop_keys - self.own_stops
        if not new:
            return
        self.trials.most = min(self.trials.most, len(self.trials.done) + MOST_FOR_STOPS)
        lanes = [x for s in self._spots() if len(s.path) == 1 for x in lanes_of(s, self.ruler) if x.slides]
        far = [replace(x, probes=(x.length,)) for x in (_shortened(lane, SMALL_FOR_STOPS) for lane in lanes) if x.length]
        far.sort(key=lambda x: x.spot.spec.kind != "position")
        clean: Passes = lambda t: t.fits and not t.stop_keys - self.own_stops  # noqa: E731
        found = next((f for f in (self._single([lane], (clean,)) for lane in far) if f is not None), None)
        if found is not None:
            self._change(found, tuple(f for f in now.stops if stop_key(f) in new))

    def _trial(self, edits: Edits) -> Trial:
        return self.trials.of({**self.edits, **edits})

    def _say(self, lanes: Iterable[Lane]) -> None:
        self.tried |= {lane.spot.shown: None for lane in lanes}


def _removes(path: Path, value: object) -> bool:
    return value is DROPPED and isinstance(path[-1], int)


def _nearer(trial: Trial, before: Trial) -> bool:
    """Whether faults went and none came, or all went and those that a build finds only then came in their place."""
    left, had = trial.fault_keys, before.fault_keys
    return not trial.refused and (left < had or (not left & had and all(f.field for f in trial.faults)))


def _last_below(lane: Lane, low: int, cost: float) -> int:
    """The largest change of the lane that costs less."""
    high = lane.length + 1
    while high - low > 1:
        middle = (low + high) // 2
        low, high = (middle, high) if lane.cost(middle) < cost else (low, middle)
    return low


def _shortened(lane: Lane, cost: float) -> Lane:
    most = _last_below(lane, 0, cost)
    return replace(lane, length=most, probes=tuple(n for n in lane.probes if n <= most))


def _concerned(every: Sequence[Spot], faults: Sequence[Fault]) -> list[Spot]:
    """The parameters that the faults name: by their key, in the entry that the fault's words name, or in limit and remedy."""
    out: dict[Path, Spot] = {}
    for fault in faults:
        text = f"{fault.value} {fault.limit} {fault.remedy}"
        key = re.sub(r"\[\d+\]", "", fault.field)
        top = key.split(".")[0]
        under = [s for s in every if s.key == top or s.key.startswith(f"{top}.")]
        spoken = [s for s in under if _entry_named(s, text) or (s.value == fault.value and s.key == key)]
        entries = {s.path[:2] for s in spoken if len(s.path) > 1}
        mine = [s for s in under if s.path[:2] in entries] if entries else under
        words = set(re.findall(r"[a-z_]{3,}", f"{fault.limit} {fault.remedy}"))
        mine += [s for s in every if s.keys[-1] in words and len(s.keys) == 1]
        out |= {s.path: s for s in mine}
    return [s for s in every if s.path in out]


def _as_built(spot: Spot, faults: Sequence[Fault]) -> Spot:
    """A length that the file does not give, with the value that the part took for it, where a fault tells it."""
    if spot.value is not None or spot.spec.kind != "length":
        return spot
    told = next((f.value for f in faults if f.field == spot.key and re.fullmatch(r"-?[0-9.]+ mm", f.value)), None)
    return replace(spot, value=float(told.removesuffix(" mm"))) if told is not None else spot


def _entry_named(spot: Spot, text: str) -> bool:
    """Whether the text names the entry of an array that this stands in, by the name that the entry is called by."""
    return (
        len(spot.path) == 3
        and spot.spec.kind == "name"
        and isinstance(spot.value, str)
        and re.search(rf"(?<![\w-]){re.escape(spot.value)}(?![\w-])", text) is not None
    )
