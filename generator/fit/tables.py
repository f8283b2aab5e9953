"""The fit in tables: own edges, both sides with one shape, faces, seats."""

from __future__ import annotations

from collections.abc import Sequence

from generator.fit.edges import OnOwn, Pair
from generator.fit.give import Give
from generator.fit.planes import Standing
from generator.fit.seats import SeatRow
from generator.show import Cell, Column, Section, Table
from parts.features.gap_words import moved, told, verdict
from parts.frame.frame import Frame
from parts.one_shape import OneShape
from parts.shape_gaps import Gap
from parts.shop import Shop

OWN = (
    "Gaps between a plate's long edges and the flanges, the plate shifted so that the worst is least. A plate between the flanges is as "
    "high as the least opening over its length less two root gaps."
)
PAIRS = (
    "One shape serves both sides where, shifted to balance it, it leaves no gap over what is welded as it is ({gap:g} mm, AWS D1.1: "
    "beyond that the leg grows by the gap, never over 5 mm), reaches over no edge by more, and its holes still meet. Shifts are from where "
    "its front end and lowest corner lie like the other's."
)
GIVE = "Heights and sections of both rails together may be off by {give:.1f} mm (95 %): what is decided by less is not told."
PLANES = (
    "A plate laid flat on a face that is bowed, leans unevenly or has bent toes. Only turns of the drawing are bent: this gap is what is "
    "left. Webs are taken to lean as the pair of rails rolls, unless two points over each other were measured."
)
SEATS = "A pair of seats has one height, whatever the rails do; what differs is how far under its rail's upper corner each lies."


def sections(
    own: Sequence[OnOwn], pairs: Sequence[Pair], planes: Sequence[Standing], seats: Sequence[SeatRow], frame: Frame, shop: Shop, give: Give
) -> tuple[Section, ...]:
    tables: list[Table] = []
    notes: list[str] = []
    rooted = [one for one in own if one.root]
    if rooted:
        tables.append(_own(rooted, frame))
        notes.append(OWN)
    if pairs:
        tables.append(_pairs(pairs, frame, give))
        notes.append(PAIRS.format(gap=shop.weld_gap_mm))
        notes += [GIVE.format(give=give.pair_mm)] if give.pair_mm else []
    if planes:
        tables.append(_planes(planes, give))
        notes.append(PLANES)
    if seats:
        tables.append(_seats(seats))
        notes.append(SEATS)
    title = "Fit on the rails as found" if frame.found is not None else "Fit on the rails as drawn, whose sides differ"
    return (Section(title=title, tables=tuple(tables), notes=tuple(notes)),) if tables else ()


def _mm(gap: Gap | None) -> Cell:
    return None if gap is None else gap.mm


def _edge(fit: OneShape, word: str) -> Cell:
    return _mm(next((g for g in fit.edges if g.what == word), None))


def _own(own: Sequence[OnOwn], frame: Frame) -> Table:
    columns = (
        Column(name="piece"), Column(name="lower gap", unit="mm", digits=2), Column(name="upper gap", unit="mm", digits=2),
        Column(name="worst"), Column(name="shifted"),
    )  # fmt: skip
    rows: list[tuple[Cell, ...]] = []
    for one in own:
        roots = {g.what: g for g in one.fit.edges if g.is_root}
        worst = max(roots.values(), key=lambda g: g.over, default=None)
        text = told(worst, frame.rail(one.side)) if worst is not None else ""
        rows.append((one.piece.id, _mm(roots.get("lower")), _mm(roots.get("upper")), text, moved(one.fit.shift) or "no"))
    return Table(name="fit_own", title="Between the flanges", columns=columns, rows=tuple(rows))


def _pairs(pairs: Sequence[Pair], frame: Frame, give: Give) -> Table:
    columns = (
        Column(name="pieces"), Column(name="shape of"), Column(name="verdict"), *(
            Column(name=f"{word} edge", unit="mm", digits=2) for word in ("lower", "upper", "front", "rear")
        ), Column(name="worst hole", unit="mm", digits=2),
    )  # fmt: skip
    rows: list[tuple[Cell, ...]] = []
    for pair in pairs:
        fit = pair.fit
        hole = max(fit.holes, key=lambda g: g.over, default=None)
        edges = [_edge(fit, word) for word in ("lower", "upper", "front", "rear")]
        said = verdict(pair.fit, frame.rail(pair.on), give.pair_mm)
        rows.append((f"{pair.left.id}, {pair.right.id}", pair.shape, said, *edges, _mm(hole)))
    return Table(name="fit_pairs", title="One shape for both sides", columns=columns, rows=tuple(rows))


def _planes(planes: Sequence[Standing], give: Give) -> Table:
    columns = (
        Column(name="piece"), Column(name="gap", unit="mm", digits=2), Column(name="give or take", unit="mm", digits=2),
        Column(name="where"), Column(name="what"),
    )  # fmt: skip
    words = {True: "deeper in from the toes than elsewhere", False: "off its face, laid flat"}
    rows = tuple((p.piece.id, p.gap_mm, give.across_mm[p.side] or None, p.where, words[p.toes]) for p in planes)
    return Table(name="fit_faces", title="Flat on its face", columns=columns, rows=rows)


def _seats(seats: Sequence[SeatRow]) -> Table:
    columns = (
        Column(name="seat"), Column(name="side"), Column(name="height", unit="mm", digits=1),
        Column(name="under the upper corner", unit="mm", digits=1, tape=True), Column(name="slope", unit="deg", digits=2),
        Column(name="web leans, in 100 mm", unit="mm", digits=2),
    )  # fmt: skip
    rows = tuple((r.name, r.side, r.z_mm, r.under_mm, r.slope_deg, r.leans_mm) for r in seats)
    return Table(name="fit_seats", title="Seats", columns=columns, rows=rows)
