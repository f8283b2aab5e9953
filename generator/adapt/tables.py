"""What is said of a job on another frame: part by part, what shifts, what was changed and what does not fit."""

from __future__ import annotations

from collections.abc import Sequence

from generator.adapt.compare import Shift, Sized
from generator.adapt.fields import shown
from generator.adapt.search import SMALL_FOR_STOPS
from generator.adapt.stage import Adapted, Carried, Change
from generator.show import Cell, Column, Section, Table


def sections(adapted: Adapted) -> tuple[Section, ...]:
    """The sections of the result, in the order in which they are read."""
    carried = adapted.carried
    out = [Section(title="Part by part", tables=(_parts(carried),))]
    if any(c.changes for c in carried):
        out.append(Section(title="What the job has to say on the other frame", tables=(_changes(carried),), notes=_whys(carried)))
    if any(not s.same for c in carried for s in c.shifts):
        out.append(Section(title="What shifts", tables=(_shifts(carried),)))
    if lost := [c for c in carried if not c.fits]:
        out.append(Section(title="What does not fit", notes=tuple(note for c in lost for note in _lost(c))))
    if new := [c for c in carried if c.fits and c.new_stops]:
        out.append(Section(title="Stops that are new there", notes=tuple(_stopped(c) for c in new)))
    return tuple(out)


def _stopped(carried: Carried) -> str:
    codes = ", ".join(dict.fromkeys(f.code for f in carried.new_stops))
    sought = f"no change of one parameter by up to {SMALL_FOR_STOPS:.0%} that was tried ends it"
    why = sought if carried.builds > 1 else "it comes of the vehicle's steel or use, which no other shape changes"
    return f"{carried.part.id}: {codes}: {why}; what to do about it is told below"


def _parts(carried: Sequence[Carried]) -> Table:
    columns = (
        Column(name="part"), Column(name="on the other frame"), Column(name="pieces"), Column(name="changed in the job"),
        Column(name="new stops"),
    )  # fmt: skip
    rows = tuple(
        (
            c.part.id, verdict(c), len(c.after.pieces), ", ".join(x.spot.shown for x in c.changes),
            ", ".join(dict.fromkeys(f.code for f in c.new_stops)),
        )
        for c in carried
    )  # fmt: skip
    return Table(name="adapt_parts", title="", columns=columns, rows=rows, empty="no parts")


def verdict(carried: Carried) -> str:
    """One part in a few words."""
    if not carried.fits:
        return "does not fit"
    if carried.new_stops:
        return "can be built, but is stopped there"
    if carried.before.faults:
        return "fits, but could not be built on its own frame"
    if carried.changes:
        return "fits with changes"
    return "carries over unchanged" if carried.same else "carries over, other sizes" if carried.shifts else "carries over"


def _changes(carried: Sequence[Carried]) -> Table:
    columns = (Column(name="part"), Column(name="parameter"), Column(name="before"), Column(name="now"))
    rows = tuple((c.part.id, x.spot.shown, value_shown(x, x.spot.value), value_shown(x, x.value)) for c in carried for x in c.changes)
    return Table(name="adapt_changes", title="", columns=columns, rows=rows)


def value_shown(change: Change, value: object) -> str:
    """A value with its unit."""
    unit = {"length": " mm", "angle": " deg"}.get(change.spot.spec.kind, "")
    if isinstance(value, int | float) and not isinstance(value, bool):
        return f"{shown(value)}{unit}"
    if hasattr(value, "__dataclass_fields__") and change.spot.spec.kind != "position":
        return "as in the job"
    return shown(value)


def _whys(carried: Sequence[Carried]) -> tuple[str, ...]:
    said: dict[str, list[str]] = {}
    for c in carried:
        for x in c.changes:
            said.setdefault(x.why, []).append(f"{c.part.id} {x.spot.shown}")
    return tuple(f"{', '.join(places)}: {why}" for why, places in said.items() if why)


def _shifts(carried: Sequence[Carried]) -> Table:
    columns = (
        Column(name="piece"),
        Column(name="length before", unit="mm", digits=1, tape=True),
        Column(name="now", unit="mm", digits=1, tape=True),
        Column(name="width before", unit="mm", digits=1, tape=True),
        Column(name="now", unit="mm", digits=1, tape=True),
        Column(name="holes before"),
        Column(name="now"),
        Column(name="a hole moves up to", unit="mm", digits=1),
        Column(name="mass before", unit="kg", digits=2),
        Column(name="now", unit="kg", digits=2),
        Column(name="front before, tape from"),
        Column(name="rearward", unit="mm", digits=1, tape=True),
        Column(name="front now, tape from"),
        Column(name="rearward", unit="mm", digits=1, tape=True),
    )
    rows = tuple(_shift_row(s) for c in carried for s in c.shifts if not s.same)
    return Table(name="adapt_shifts", title="Flat patterns that are other than before", columns=columns, rows=rows)


def _shift_row(shift: Shift) -> tuple[Cell, ...]:
    a, b = shift.before, shift.after

    def of(one: Sized | None, name: str) -> Cell:
        return getattr(one, name) if one is not None else None

    pairs: list[Cell] = [of(one, name) for name in ("length_mm", "width_mm") for one in (a, b)]
    return (
        shift.piece, *pairs, of(a, "holes"), of(b, "holes"), shift.moved_mm, of(a, "mass_kg"), of(b, "mass_kg"),
        of(a, "place"), of(a, "front_mm"), of(b, "place"), of(b, "front_mm"),
    )  # fmt: skip


def _lost(carried: Carried) -> tuple[str, ...]:
    remedies = tuple(dict.fromkeys(f.remedy for f in carried.after.faults if f.remedy))
    lines = [f"{carried.part.id}: {reason}" for reason in carried.reasons]
    if remedies:
        lines.append(f"{carried.part.id}: remedies: {'; '.join(remedies)}")
    tried = f"moved one and two at a time: {', '.join(carried.tried)}" if carried.tried else "nothing could be moved"
    lines.append(f"{carried.part.id}: no change was found that makes it fit within {carried.builds} builds; {tried}")
    return tuple(lines)
