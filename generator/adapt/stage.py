"""The stage: a job's parts put onto another frame, each with the nearest change that makes it fit, and the job file that says so."""

from __future__ import annotations

from collections.abc import Mapping, Sequence
from dataclasses import dataclass, replace
from pathlib import Path as FilePath
from typing import Any

from generator.adapt.bench import SIDES, Bench, Judge, Trial, Trials, stop_key
from generator.adapt.compare import Shift, shifts
from generator.adapt.fields import DROPPED, Edits, Path, Spot, default_of, spots
from generator.adapt.lanes import Ruler
from generator.adapt.names import Missing, Names, mixes
from generator.adapt.rewrite import Rewritten, frame_change, rewritten
from generator.adapt.search import Nearest, Search
from generator.files.model import model_of
from generator.files.source import Source
from generator.files.toml_text import parse
from generator.inches import told
from generator.job import Job
from parts.errors import Fault, Finding
from parts.families.family import Family
from parts.frame.frame import Frame
from parts.spec import FieldSpec

MOST_BUILDS = 400  #: of one part on the other frame
ENTRY = FieldSpec(kind="tables", help="")  #: of a whole part
OF_ONE_FRAME = ("frame-", "survey-")  #: how codes of findings begin that are said of one frame's damage, shape or readings
SHORTEST_MM = 100.0  #: a part's size where its own frame does not tell one


@dataclass(frozen=True, kw_only=True)
class Change:
    """One parameter that is another on the new frame."""

    spot: Spot  #: as it was
    value: Any  #: what it is now; `DROPPED`: left out
    why: str


@dataclass(frozen=True, kw_only=True, eq=False)
class Carried:
    """One part of the job, on its own frame and on the other."""

    part: Family
    before: Trial
    after: Trial  #: with the changes, if it fits
    changes: tuple[Change, ...]
    shifts: tuple[Shift, ...]
    reasons: tuple[str, ...]  #: why it does not fit; empty where it does
    tried: tuple[str, ...]  #: parameters that were moved in search of a fit
    builds: int
    new_stops: tuple[Finding, ...]  #: stop findings that it has there and not on its own frame

    @property
    def fits(self) -> bool:
        return not self.reasons

    @property
    def same(self) -> bool:
        """Nothing to change in the job, and every flat pattern as it was."""
        return self.fits and not self.changes and all(s.same for s in self.shifts)


@dataclass(frozen=True, kw_only=True, eq=False)
class Adapted:
    """A job on another frame."""

    carried: tuple[Carried, ...]  #: in the job's order
    reference: str  #: what the adapted job calls its frame
    text: str  #: the adapted job file
    job: Job  #: what it reads back to
    no_more_accepted: tuple[str, ...] = ()  #: codes of findings that were accepted of the own frame alone

    @property
    def fits(self) -> bool:
        return all(c.fits for c in self.carried)


def adapt(job: Job, text: str, own: Frame, other: Frame, reference: str, judge: Judge) -> Adapted:
    """Put `job` onto `other`.

    Args:
        job: read from `text`, for `own`.
        text: the job file.
        reference: what the adapted job is to call the other frame.
        judge: the shop's rules.
    """
    carried = _Carrier(job, own, other, judge).run()
    changes = [frame_change(reference, f"now on {other.name!r}, no more on {own.name!r}")]
    kept: list[Family] = []
    for i, c in enumerate(carried):
        if c.fits:
            changes += [
                Rewritten(keys=("part", i, *x.spot.keys), spec=x.spot.spec, value=x.value, why=told(x.why, job.units)) for x in c.changes
            ]  # fmt: skip
            kept.append(c.after.part)
        else:
            why = f"{c.part.id} does not fit {other.name!r}; no change was found that makes it fit: {'; '.join(c.reasons)}"
            changes.append(Rewritten(keys=("part", i), spec=ENTRY, value=DROPPED, why=told(why, job.units)))
    lost = tuple(one.code for one in job.accept if own.name != other.name and one.code.startswith(OF_ONE_FRAME))
    for i, one in enumerate(job.accept):
        if one.code in lost:
            why = f"{one.code} was accepted of {own.name!r}, which says nothing of {other.name!r}"
            changes.append(Rewritten(keys=("accept", i), spec=ENTRY, value=DROPPED, why=told(why, job.units)))
    new = rewritten(text, changes, job.units)
    wanted = replace(job, frame=reference, parts=tuple(kept), accept=tuple(one for one in job.accept if one.code not in lost))
    return Adapted(carried=tuple(carried), reference=reference, text=new, job=_read_back(new, wanted), no_more_accepted=lost)


def _read_back(text: str, wanted: Job) -> Job:
    """The job that the new text says, which must be the one that was meant."""
    read = model_of(Job, parse(Source(label="the adapted job", name="", path=FilePath(), sha256="", text=text)), "the adapted job")
    if not isinstance(read, Job):
        raise AssertionError(f"the adapted job does not read back: {read[0]}")
    if read != wanted:
        raise AssertionError("the adapted job does not read back to what was found to fit")
    return read


class _Carrier:
    """Carries part after part, each onto what those before it left."""

    def __init__(self, job: Job, own: Frame, other: Frame, judge: Judge) -> None:
        self.job = job
        self.own = Bench(frame=own, shop=job.shop, judge=judge)
        self.other = Bench(frame=other, shop=job.shop, judge=judge)
        self.frames = (own, other)
        self.names = Names(own, other, job.units)

    def run(self) -> list[Carried]:
        done = {part.id: self._carry(part) for part in _in_order(self.job.parts)}
        return [done[part.id] for part in self.job.parts]

    def _carry(self, part: Family) -> Carried:
        before = self._first(self.own, part)
        self.own.keep(before)
        after, changes, reasons, tried, builds = self._onto(part, before)
        self.other.keep(after)
        old_stops = before.stop_keys
        return Carried(
            part=part, before=before, after=after, changes=changes, reasons=reasons, tried=tried, builds=builds,
            shifts=shifts(before, self.frames[0], after, self.frames[1]) if not reasons else (),
            new_stops=tuple(f for f in after.stops if stop_key(f) not in old_stops),
        )  # fmt: skip

    @staticmethod
    def _first(bench: Bench, part: Family) -> Trial:
        if lost := bench.failed & set(part.needs):
            return Trial(part=part, faults=(_stands_on(part, sorted(lost)),))
        return bench.build(part)

    def _onto(self, part: Family, before: Trial) -> tuple[Trial, tuple[Change, ...], tuple[str, ...], tuple[str, ...], int]:
        given: dict[Path, Any] = {}
        whys: dict[Path, str] = {}
        if lost := sorted(self.other.failed & set(part.needs)):
            base = default_of(part, "on") if hasattr(part, "on") else None
            if base != "web" or lost != [getattr(part, "on", "")]:
                fault = _stands_on(part, lost)
                return Trial(part=part, faults=(fault,)), (), (f"{fault.limit}; {fault.remedy}",), (), 0
            given[("on",)], whys[("on",)] = "web", f"{lost[0]}, which it stood on, does not fit"
        missing = self.names.missing(part)
        if hopeless := [m for m in missing if not m.steads]:
            faults = tuple(_lacks(part, m) for m in hopeless)
            return Trial(part=part, faults=faults), (), tuple(_reasons(faults)), (), 0
        trials = Trials(bench=self.other, part=part, most=MOST_BUILDS)
        fixed, why = self._named(trials, missing, given)
        whys |= why
        nearest = Search(trials, self._ruler(before), fixed, before.stop_keys | self._of_the_vehicle(part)).run()
        reasons = tuple(_reasons(nearest.trial.faults))
        changes = _changes(part, nearest, whys) if not reasons else ()
        return nearest.trial, changes, reasons, nearest.tried, nearest.builds

    @staticmethod
    def _named(trials: Trials, missing: Sequence[Missing], given: Edits) -> tuple[Edits, Mapping[Path, str]]:
        """What stands in for missing names: the first mix that can be built, else the one with the fewest faults."""
        best: tuple[int, Edits, Mapping[Path, str]] | None = None
        for edits, why in mixes(missing):
            whole = {**given, **edits}
            trial = trials.of(whole)
            if best is None or len(trial.faults) < best[0]:
                best = (len(trial.faults), whole, why)
            if trial.fits:
                break
        assert best is not None, "with no name missing there is one mix, of nothing"
        return best[1], best[2]

    def _of_the_vehicle(self, part: Family) -> frozenset[tuple[str, str]]:
        """Stops that the part would have on its own frame too, were that of the other's steel and use: no other shape ends these."""
        own, other = self.frames
        if (own.steel, own.use) == (other.steel, other.use) or self.own.failed & set(part.needs):
            return frozenset()
        bench = Bench(frame=replace(self.own.frame, steel=other.steel, use=other.use), shop=self.job.shop, judge=self.own.judge)
        bench.pieces, bench.flats = self.own.pieces, self.own.flats
        return bench.build(part).stop_keys

    def _ruler(self, before: Trial) -> Ruler:
        boxes = [f.contour.box for f in before.flats]
        size = max([SHORTEST_MM, *(max(x1 - x0, y1 - y0) for x0, y0, x1, y1 in boxes)])
        return Ruler(units=self.job.units, shop=self.job.shop, size_mm=size)


def _changes(part: Family, nearest: Nearest, whys: Mapping[Path, str]) -> tuple[Change, ...]:
    """The edits in the part's order, each with its reason: the name that is missing, then what was wrong without it."""
    known = {s.path: s for s in spots(part)}
    order = list(known)
    out = []
    for path, value in nearest.edits.items():
        spot = known.get(path) or _entry(path, known)
        if spot.value != value:
            told = [whys[path]] if path in whys else []
            why = "; ".join([*told, *_reasons(nearest.cured.get(path, ()))])
            out.append(Change(spot=spot, value=value, why=why))
    return tuple(sorted(out, key=lambda c: order.index(c.spot.path if c.spot.path in known else c.spot.path[:-1])))


def _reasons(found: Sequence[Fault | Finding]) -> list[str]:
    """What was wrong, each once, whatever the side."""
    texts: dict[str, str] = {}
    for f in found:
        text = _told(f) if isinstance(f, Fault) else f.message
        texts.setdefault(SIDES.sub("*", text), text)
    return list(texts.values())


def _entry(path: Path, known: Mapping[Path, Spot]) -> Spot:
    """An entry of a list as a spot of its own."""
    array = known[path[:-1]]
    number = path[-1]
    assert isinstance(number, int)
    return replace(array, path=path, keys=(*array.keys, number), value=array.value[number])


def _told(fault: Fault) -> str:
    value = f" ({fault.value})" if fault.value else ""
    return f"{fault.field}{value}: {fault.limit}"


def _stands_on(part: Family, lost: Sequence[str]) -> Fault:
    names = ", ".join(lost)
    field = next((k for k, v in vars(part).items() if v == lost[0]), "on")
    return Fault(where=f"part {part.id}", field=field, value=names, limit=f"it stands on {names}, which does not fit", remedy="see there")


def _lacks(part: Family, missing: Missing) -> Fault:
    limit = f"no {missing.what} of that name is there, and nothing that could stand in for it"
    remedy = "name one of the other frame's, or add it to its file"
    return Fault(where=f"part {part.id}", field=missing.spot.shown, value=missing.name, limit=limit, remedy=remedy)


def _in_order(parts: Sequence[Family]) -> list[Family]:
    """Each part after those that it needs, as far as they do not stand on each other in a circle; else the job's order."""
    waiting = {p.id: p for p in parts}
    out: list[Family] = []
    while waiting:
        ready = [p for p in waiting.values() if not waiting.keys() & set(p.needs)] or [next(iter(waiting.values()))]
        out += ready
        for part in ready:
            del waiting[part.id]
    return out
