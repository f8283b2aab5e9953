"""What a new plug weld or bolt in a rail's web has to keep clear of besides the plate's own edges and openings."""

from __future__ import annotations

import math
from dataclasses import dataclass

from parts.features.draft import Draft
from parts.frame.features import Bracket, Condition
from parts.frame.placed import PlacedPatch
from parts.outline import Point

BAD_STEEL = ("crack", "rust-through")


@dataclass(frozen=True, kw_only=True)
class Taken:
    """A rectangle of the unrolled web, (s, z) low to high, rounded by `radius_mm` all round (a hole: no width, its own radius)."""

    name: str
    low: Point
    high: Point
    radius_mm: float = 0.0

    def room_mm(self, at: Point) -> float:
        """From a point of the web to its edge; 0 or less inside it."""
        over = [max(low - x, x - high, 0.0) for x, low, high in zip(at, self.low, self.high, strict=True)]
        return math.hypot(*over) - self.radius_mm


def holes_of_web(draft: Draft) -> list[Taken]:
    """Every hole of the web: there is no steel to weld a plug to, and none to drill."""
    setting = draft.setting
    found = setting.frame.holes_on(setting.rail.side, draft.s0_mm - 100, draft.s1_mm + 100, "web")
    return [Taken(name=h.name, low=(h.s_mm, h.z_mm), high=(h.s_mm, h.z_mm), radius_mm=h.diameter_mm / 2) for h in found]


def patches_of_web(draft: Draft) -> list[Taken]:
    """Stamped numbers, which a weld or a hole would ruin from either side; cracks and rusted-through steel."""
    setting, frame = draft.setting, draft.setting.frame
    bad = [c for c in frame.placed_conditions if isinstance(c.drawn, Condition) and c.drawn.kind in BAD_STEEL]
    return [_patch(p) for p in (*frame.placed_keep_visible, *bad) if p.side == setting.rail.side and p.face == "web"]


def beyond_web(draft: Draft) -> list[Taken]:
    """What stands on either side of the web, where a bolt's head, its nut or the spanner would be."""
    setting, frame, out = draft.setting, draft.setting.frame, []
    kept = [b for b in frame.placed_brackets if isinstance(b.drawn, Bracket) and b.drawn.fate == "kept"]
    out += [_patch(p) for p in kept if p.side == setting.rail.side and p.face == "web"]
    side = setting.rail.side
    for cm in frame.placed_crossmembers:
        (s0, s1), (_, _, z0, z1) = cm.s_range(side), cm.box
        out.append(Taken(name=cm.name, low=(s0, z0), high=(s1, z1)))
    return out


def _patch(patch: PlacedPatch) -> Taken:
    (s0, s1), (z0, z1) = patch.s_range, patch.across_range
    return Taken(name=patch.name, low=(s0, z0), high=(s1, z1))
