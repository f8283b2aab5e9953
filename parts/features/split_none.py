"""What is said of a piece that no sheet holds where no place for a joint is as free as is looked for: how it can be parted all the same."""

from __future__ import annotations

import math
from collections.abc import Iterator, Sequence
from dataclasses import replace

from parts.errors import Finding
from parts.features.split_line import SplitLine
from parts.features.split_room import BENDS, CUT, FRAME, WEB, Grounds, Near
from parts.features.split_up import CLEAR_MM, Search
from parts.shop import Sheet

CLOSER_MM = 12.0  #: half of what is looked for
CLOSEST_MM = 5.0  #: to an end, a bend, a cut or another joint, where nothing else will do. Builder's choice, both
CHOICE = "builder's choice: no number found"


def size_text(search: Search) -> str:
    """`2000 x 140 mm`, rounded up: a sheet that large holds it. Raises ValueError: the lines leave no piece."""
    a, b = search.size
    return f"{math.ceil(a - 1e-6)} x {math.ceil(b - 1e-6)} mm"


def _largest(sheets: Sequence[Sheet]) -> str:
    sheet = max(sheets, key=lambda s: s.length_mm * s.width_mm)
    return f"{sheet.length_mm:g} x {sheet.width_mm:g} mm"


def held_text(sheets: Sequence[Sheet]) -> str:
    return f"the largest sheet for it is {_largest(sheets)}"


def limit_text(sheets: Sequence[Sheet]) -> str:
    return f"within {_largest(sheets)}"


def no_place(search: Search) -> Finding:
    """Raises ValueError: the lines leave no piece."""
    setting = search.draft.setting
    plate, profile = setting.plate, setting.rail.profile
    size = size_text(search)
    low = search.front.tape_mm if search.front is not None else profile.tape(search.draft.s0_mm)
    high = search.rear.tape_mm if search.rear is not None else profile.tape(search.draft.s1_mm)
    larger = f"list a sheet of at least {size}, {plate.thickness_mm:g} mm {plate.grade}"
    return Finding(
        code="split-no-place", level="warn", where=setting.place,
        message=f"a piece of {size}, {_at(search, low)} to {_at(search, high)} on {setting.rail.name}, is larger than every sheet, "
        f"{held_text(search.sheets)}, and no places for joints keep {CLEAR_MM:g} mm off crossmembers, bends, openings, ends, brackets and "
        f"other joints and leave pieces that fit: it is left whole ({len(search.places)} places were free)",
        value=size, limit=limit_text(search.sheets), remedy=_remedy(search, larger), source=CHOICE,
    )  # fmt: skip


def _remedy(search: Search, larger: str) -> str:
    for free, apart in ((_closer, CLOSER_MM), (_closest, CLOSEST_MM)):
        lines = replace(search, free=free, clear_mm=apart, as_given=True).joints((), None)
        if lines is not None:
            setting = search.draft.setting
            alone = f', in a part for this side alone (side = "{setting.rail.side}")' if setting.plate.side == "both" else ""
            return f"give the joints their places{alone}: {_as_splits(search, lines)}; {_told(search, lines)}; or {larger}"
    lines = replace(search, free=_anywhere).joints((), None)
    if lines is None:
        return f"{larger}: wherever a joint lies, it leaves a piece that fits none"
    where = ", ".join(_at(search, line.tape_mm) for line in lines)
    return f"{larger}; joints at {where} would do, but {_told(search, lines)}"


def _closer(grounds: Grounds, line: SplitLine) -> bool:
    return all(near.mm >= max(CLOSER_MM, grounds.least_mm(near)) for near in grounds.near(line))


def _closest(grounds: Grounds, line: SplitLine) -> bool:
    """As a given joint may lie, less the last millimetres."""
    return not list(_refused(grounds, line))


def _refused(grounds: Grounds, line: SplitLine) -> Iterator[Near]:
    """What it may not be so near to, wherever it is asked for."""
    for near in grounds.near(line):
        if near.mm < max(CLOSEST_MM if near.kind in (BENDS, CUT) else -1e9, grounds.least_mm(near)):
            yield near


def _anywhere(grounds: Grounds, line: SplitLine) -> bool:
    return True


def _at(search: Search, tape_mm: float) -> str:
    station, along = search.draft.setting.rail.laid_off(tape_mm)
    return f"{station} {along:+.0f} mm"


def _as_splits(search: Search, lines: Sequence[SplitLine]) -> str:
    """As the job file has it. The unit stands right behind the number: inches are not to be written into it."""
    at = [search.draft.setting.rail.laid_off(line.tape_mm) for line in lines]
    return "split = [" + ", ".join(f'{{ at = {{ at = "{station}", offset = "{along:.0f}mm" }} }}' for station, along in at) + "]"


def _told(search: Search, lines: Sequence[SplitLine]) -> str:
    """What each is too near to: first what it may not be."""
    out: list[str] = []
    for line in lines:
        refused = list(_refused(search.grounds, line))
        near = min(refused or search.grounds.near(line), key=lambda n: n.mm)
        if near.mm < CLEAR_MM:
            inside = "lies over" if near.kind in (FRAME, WEB) else "runs into"
            how = f"comes within {near.mm:.0f} mm of" if near.mm > 0 else inside
            out.append(f"that at {_at(search, line.tape_mm)} {how} {near.name}")
    return ", ".join(out) if out else "they are nearer to each other or to an end than is looked for"
