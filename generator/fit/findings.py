"""What a fabricator has to judge about how parts fit the rails as found."""

from __future__ import annotations

from collections.abc import Iterable, Sequence

from generator.fit.edges import OnOwn, Pair
from generator.fit.give import Give
from generator.fit.planes import Standing
from generator.fit.seats import SeatRow
from parts.errors import Finding, Level
from parts.features.gap_words import told
from parts.frame.frame import Frame
from parts.shop import Shop
from parts.welds import GAP_SOURCE, WIDEST_GAP_MM

LEANS_MM = 1.0  #: over 100 mm; less is within what a flat level shows. Common practice, no source


def findings(
    own: Sequence[OnOwn], pairs: Sequence[Pair], planes: Sequence[Standing], seats: Sequence[SeatRow], frame: Frame, shop: Shop,
    give: Give,
) -> tuple[Finding, ...]:
    return (*_edges(own, frame, shop), *_planes(planes, shop, give), *_seats(seats), *_holes(pairs))


def _edges(own: Iterable[OnOwn], frame: Frame, shop: Shop) -> Iterable[Finding]:
    """A root gap that is wider somewhere than the shop welds as it is: the leg grows by it, up to what no fillet bridges."""
    for one in own:
        wide = [g for g in one.fit.edges if one.root and g.is_root and g.mm > shop.weld_gap_mm + 1e-6]
        if not wide:
            continue
        worst = max(wide, key=lambda g: g.mm)
        level, remedy = _grown(worst.mm)
        yield Finding(
            code="fit-root-gap", level=level, where=one.piece.id,
            message=f"its gap to the flange is {told(worst, frame.rail(one.side))}, where it goes in at the tightest place of its length",
            value=f"{worst.mm:.1f} mm", limit=f"{shop.weld_gap_mm:g} mm", remedy=remedy, source=GAP_SOURCE,
        )  # fmt: skip


def _grown(gap_mm: float) -> tuple[Level, str]:
    if gap_mm > WIDEST_GAP_MM:
        return "stop", "no fillet bridges that: pull the flanges true, or split the plate where the opening changes"
    return "warn", f"add the gap to the leg there ({gap_mm:.1f} mm more), or split the plate where the opening changes"


def _planes(planes: Iterable[Standing], shop: Shop, give: Give) -> Iterable[Finding]:
    for one in planes:
        if one.toes or one.gap_mm <= shop.weld_gap_mm:
            continue
        off = f" (give or take {by:.1f} mm)" if (by := give.across_mm[one.side]) else ""
        level, remedy = _grown(one.gap_mm)
        if level == "stop":
            level, remedy = "warn", "pull the rail straight first: clamped to it the plate would hold it as it is"
        yield Finding(
            code="fit-face-gap", level=level, where=one.piece.id,
            message=f"laid flat it stands {one.gap_mm:.1f} mm{off} off its face at {one.where}: the rail is not straight there",
            value=f"{one.gap_mm:.1f} mm", limit=f"{shop.weld_gap_mm:g} mm", remedy=f"clamp it down from the middle outwards; else {remedy}",
            source=GAP_SOURCE,
        )  # fmt: skip


def _seats(seats: Iterable[SeatRow]) -> Iterable[Finding]:
    for seat in seats:
        if seat.leans_mm is not None and seat.leans_mm > LEANS_MM:
            yield Finding(
                code="fit-seat-leans", level="note", where=f"{seat.name} {seat.side}",
                message=f"{seat.side} rail leans under it: laid flat on the web its seat is {seat.leans_mm:.1f} mm out of level in 100 mm",
                value=f"{seat.leans_mm:.1f} mm", remedy="shim its base so that the seat is level before it is tacked",
                source="geometry of the frame as found",
            )  # fmt: skip


def _holes(pairs: Iterable[Pair]) -> Iterable[Finding]:
    """A pair that looks alike and is not: mixed up on the bench, its holes would not meet the rail's."""
    for pair in pairs:
        off = [g for g in pair.fit.holes if not g.fits]
        if pair.serves_both or not off or not all(g.fits for g in pair.fit.edges):
            continue
        worst = max(off, key=lambda g: g.over)
        yield Finding(
            code="fit-handed", level="note", where=f"{pair.left.id}, {pair.right.id}",
            message=f"alike in outline but not in holes: the other side's hole {worst.what} would be {worst.mm:.1f} mm off",
            value=f"{worst.mm:.1f} mm", limit=f"{worst.most_mm:.2g} mm", remedy="keep them apart: each has its id etched",
            source="geometry of the frame",
        )  # fmt: skip
