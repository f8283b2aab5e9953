"""How far the frame may be off for the user's own purpose."""

from __future__ import annotations

from dataclasses import dataclass
from typing import Any

from parts import spec


def _limit(help: str, most: float = 200.0) -> Any:
    return spec.length(help, least=0.1, most=most, default=None)


@dataclass(frozen=True, kw_only=True)
class Limits:
    """The user's own limits: what is out by one stops the job. Those left out are a manual's, where one gives any."""

    square_mm: float | None = _limit("difference of a bay's two diagonals")
    diamond_mm: float | None = _limit("how far one rail lies further back than the other, out of a bay's diagonals")
    twist_mm: float | None = _limit("rise of one rail over the other from the first pair to any other; no manual gives one")
    sag_mm: float | None = _limit("a rail's point off the line through its ends, up or down")
    sway_mm: float | None = _limit("a pair's middle off the centreline")
    bow_mm: float | None = _limit("a rail's point off the line through its ends, to a side")
    ahead_mm: float | None = _limit("how far one end of one rail lies ahead of the other's")
    level_mm: float | None = _limit("difference in height of the first or the last pair")
    length_mm: float | None = _limit("a rail's length and the widths, off the drawing")
    kick_mm: float | None = _limit("the height of a kick-up, off the drawing")
    thickness_left_mm: float | None = _limit("the least steel that may be left; no manual gives one", most=25.0)

    def __post_init__(self) -> None:
        spec.checked(self)
