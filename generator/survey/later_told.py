"""What changed between two surveys, as it is told: whether they may be compared, what moved, the verdict beside the old one, what to do."""

from __future__ import annotations

from collections.abc import Iterator
from typing import TYPE_CHECKING

from generator.show import Cell, Column, Section, Table
from generator.survey.later import EXPANSION, SHIMMED, WARMER_K
from generator.survey.moved import WAYS, Moved
from parts.sheet import Vec3

if TYPE_CHECKING:
    from generator.survey.later import Change, Later

AT_WORST = "Each word at the place that decides it now, and every other number that changed."
SIDEWAYS = (
    f"What to do: {SHIMMED}.",
    "Nor are movements seen from above told: a stand raised on one side rolls the frame, and what lies over its top moves sideways.",
)
COOL = "until a bare hand can stay on it everywhere"  # common practice, no source
AXES = (("forward", "rearward"), ("left", "right"), ("down", "up"))
HOW = (
    "+/- holds the true movement 95 times in 100, each by itself, from the errors of both surveys. Moved: so far that by those errors "
    "alone no point of all of them would show it in 19 of 20 such comparisons (each point is held to {level:.2g}, chi-square on its three "
    "coordinates together; a number of the verdict is held to as little of a chance). Perhaps: so far only 1 in 20 times for this one "
    "point, which among {n} points is to be expected."
)


def sections_of(told: Later) -> tuple[Section, ...]:
    title = f"Again, later: set '{told.new.set_name}' against '{told.old.set_name}'"
    if told.alike.reasons:
        notes = ("No movement is told: the two were not taken in like states.", *(f"Why: {reason}." for reason in told.alike.reasons))
        notes += SIDEWAYS if told.alike.shimmed else ()
        return (Section(title=title, notes=notes), _beside(told, changed=False))
    if not told.compared:
        notes = ("No movement is told: fewer than three points are wholly measured in both.",)
        return (Section(title=title, notes=notes), _beside(told, changed=False))
    found = [Section(title=title, notes=tuple(_summary(told)))]
    looks = [look for look in (told.by_datum, told.shape) if look is not None]
    found += [_moves(look, last=look is looks[-1]) for look in looks]
    return (*found, _beside(told, changed=True), Section(title="What to do now", notes=tuple(_do(told))))


def _summary(told: Later) -> Iterator[str]:
    if told.moved:
        yield f"Moved: {'; '.join(_way(told, key) for key in told.moved)}."
    else:
        yield "No point has moved by more than both surveys' errors make it look."
    if told.changed:
        but = "" if told.moved else "But "
        yield f"{but}{'c' if but else 'C'}hanged: {'; '.join(_change(c) for c in told.changed)}."
    if any(look is not None and not look.clear for look in (told.by_datum, told.shape)):
        yield "More than half of the points moved against each other: which of them did, and which stayed, nothing says."
    if told.by_datum is not None and told.shape is not None and told.by_datum.moved and not told.shape.moved:
        yield (
            "None of them moved against the others: the frame as a whole lies otherwise than it did, or the string, the level line or x = "
            "0 do. It has kept its shape."
        )
    yield from told.alike.open


def _way(told: Later, key: str) -> str:
    movement = told.movement(key)
    assert movement is not None
    return f"{key} {directed(movement.by, movement.within)}"


def _change(change: Change) -> str:
    return f"{change.now.word} at {change.now.where} by {change.by_mm:+.1f} mm (+/- {change.within_mm:.1f} mm)"


def directed(by: Vec3, within: Vec3) -> str:
    """`4.0 mm up, 2.1 mm left`: what is more than its error; else the largest."""
    parts = [(abs(v), f"{abs(v):.1f} mm {AXES[i][v > 0]}") for i, v in enumerate(by)]
    shown = [text for i, (_, text) in enumerate(parts) if abs(by[i]) > within[i]]
    return ", ".join(shown) if shown else max(parts)[1]


def _moves(look: Moved, *, last: bool) -> Section:
    rows = []
    for key, m in look.points.items():
        said = "moved" if m.moved else "perhaps" if m.perhaps else "not seen to"
        rows.append((key, m.by[0], m.within[0], m.by[1], m.within[1], m.by[2], m.within[2], said))
    columns = (
        Column(name="point"), *(c for axis in ("rearward", "right", "up") for c in (Column(name=axis, unit="mm", digits=1),
                                                                                   Column(name="+/-", unit="mm", digits=1))),
        Column(name="moved"),
    )  # fmt: skip
    name = "moved-shape" if look.whole else "moved"
    title = "How each point moved, laid best on those that stayed" if look.whole else "How each point moved, by the datum both share"
    return Section(title=title, tables=(Table(name=name, title=_datum(look), columns=columns, rows=tuple(rows)),),
                   notes=(HOW.format(level=look.level, n=len(look.points)),) if last else ())  # fmt: skip


def _datum(look: Moved) -> str:
    shared = [way for way in WAYS if way not in look.fitted]
    if not look.fitted:
        return "Both are tied to the same x = 0, string and level line: nothing was fitted."
    left = [key for key in look.points if key not in look.on]
    on = "all points" if not left else f"all but {', '.join(left)}"
    if not shared:
        return f"The old one is shifted and turned onto the new one, best on {on}."
    return f"Shared: {', '.join(shared)}. Fitted, best on {on}: {', '.join(look.fitted)}."


def _beside(told: Later, *, changed: bool) -> Section:
    rows: list[tuple[Cell, ...]] = []
    for change in told.shown:
        was, now = change.was, change.now
        row: tuple[Cell, ...] = (now.word, now.where, was.off_mm, was.status, now.off_mm, now.status, now.limit_mm)
        seen = "" if change.by_mm is None else "yes" if change.is_seen else "not seen to"
        rows.append((*row, change.by_mm, change.within_mm, seen) if changed else row)
    columns = [
        Column(name="word"), Column(name="where"), Column(name="was off by", unit="mm", digits=1), Column(name="it was"),
        Column(name="is off by", unit="mm", digits=1), Column(name="it is"), Column(name="limit", unit="mm", digits=1),
    ]  # fmt: skip
    if changed:
        columns += [Column(name="change", unit="mm", digits=1), Column(name="+/-", unit="mm", digits=1), Column(name="changed")]
    table = Table(name="verdict-beside", title=AT_WORST, columns=tuple(columns), rows=tuple(rows))
    notes = (f"Before: {told.old.verdict_text}", f"Now: {told.new.verdict_text}")
    return Section(title="The verdict beside the old one", tables=(table,), notes=notes)


def _do(told: Later) -> Iterator[str]:
    stage = told.new.set.stage if told.new.set is not None else "found"
    names = ", ".join(dict.fromkeys((*told.moved, *(key for c in told.changed for key in c.now.points))))
    out = ", ".join(c.now.word for c in told.worse)
    if not names and not out:
        yield {
            "tacked": "Weld on in short runs on opposite sides, let it cool in between, and measure again after the first of them.",
            "welded": "Go on as before, opposite side next, and measure again at the next stop.",
        }.get(stage, "Nothing asks for anything: the frame lies as it did.")
        return
    if stage in ("tacked", "welded"):
        yield f"Stop. Let it cool {COOL}, then read {names or out} again: {_warm(told)}"
        if not any(c.now.status == "out" for c in told.numbers):
            yield f"If it has still moved: nothing is out by it yet. Clamp or brace {names} before the next run, or bring it back first:"
    if stage == "tacked":
        yield (
            f"If it has still moved and is to come back: grind off the tacks next to {names or 'what is out'}, clamp it where it was, tack "
            "again from the opposite side first, and measure."
        )
    elif stage == "welded":
        yield (
            "If it has still moved: the next runs go on the opposite side and start from the other end, short, cold in between. A weld "
            "pulls towards itself as it shrinks."
        )
        yield "Clamps and braces stay on until all of it is cold."
    elif stage == "straightened":
        yield "See whether it moved the way it was pulled; steel springs back: let it stand, and read it again before anything is tacked."
    else:
        yield f"Nothing was done to it in between, so a stand gave way or a reading is off: look at the stands, read {names or out} again."
    if out:
        yield f"Out now and not before: {out}. Straighten that before another run."


def _warm(told: Later) -> str:
    xs = [p.x_mm for p in told.new.pairs]
    length = max(xs) - min(xs) if xs else 1000.0
    by = EXPANSION * length * WARMER_K
    return f"{length:.0f} mm of steel {WARMER_K:.0f} K warmer reads {by:.1f} mm longer (12e-6 a kelvin, EN 1993-1-1, 3.2.6)."
