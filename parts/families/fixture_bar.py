"""`fixture_bar`: a bar that ties the two seats of one part at their spacing, level and square, while they are tacked and welded.

Covers seats in one plane, and seats that lean across the vehicle, which a bend at each end follows. Does not cover seats that are
twisted against each other: a flat bar follows no twist.
"""

from __future__ import annotations

from collections.abc import Callable
from dataclasses import dataclass, replace
from typing import TYPE_CHECKING, ClassVar, Literal

from parts import spec
from parts.errors import BadInput, Fault
from parts.shop import Shop

if TYPE_CHECKING:
    from parts.families.family import WorkedCase
    from parts.frame.faces import UprightFace
    from parts.frame.frame import Frame
    from parts.piece import Piece

PLAIN = Shop()  #: a shop of which nothing is said
THICKEST_MM = 12.0  #: where the table of least inside radii ends
LEAST_HOLE_MM = 3.0


@dataclass(frozen=True, kw_only=True)
class FixtureBar:
    """The parameters of a fixture bar."""

    FAMILY: ClassVar[str] = "fixture_bar"
    SUMMARY: ClassVar[str] = "bar that ties a pair of seats at their spacing, level and square, while they are tacked; bolts out again"

    id: str = spec.name("the part's id: its files carry it")
    ties: str = spec.name("the part whose left and right seats it ties: a crossmember bracket of side pair, or another part with two seats")
    form: Literal["flat", "channel"] = spec.choice(
        "a flat bar, or a channel: two flanges bent away from the seats, so that it does not sag or twist",
        ("flat", "channel"),
        default="flat",
    )
    thickness_mm: float = spec.length("thickness of the steel", least=2, most=THICKEST_MM)
    grade: str = spec.text("steel of the bar", longest=40, default="A36")
    width_mm: float = spec.length("of the bar along the vehicle, over all", least=20, most=400)
    flange_mm: float = spec.length("channel only: height of the flanges, over all", least=10, most=150, default=40.0)
    over_mm: float = spec.length("from the outermost bolts' centres to the bar's ends", least=8, most=300, default=25.0)
    bend_off_mm: float | None = spec.length(
        "leaning seats: from the innermost bolt's centre to where the bend begins; else what hole and socket need", least=5, most=400,
        default=None,
    )  # fmt: skip
    centre_hole_mm: float = spec.length(
        "diameter of a hole on the vehicle's centreline, to hang a bob from; 0: a tick alone", least=0, most=40, default=0.0
    )
    square_to: str | None = spec.name(
        "a hole that each rail has: both diagonals from a seat to it on the other rail are told, to check that the bar stands square",
        default=None,
    )  # fmt: skip
    clearance_mm: float = spec.length("air to the rails and to what stands on them", least=0, most=30, default=3.0)

    def __post_init__(self) -> None:
        from parts.material import steel

        where = f"part {self.id}"
        faults = spec.faults_of(self, where)
        checks: list[tuple[str, Callable[[], object]]] = [("grade", lambda: steel(self.grade))]
        for field, check in checks:
            try:
                check()
            except BadInput as error:
                faults += [replace(f, where=where, field=field) for f in error.faults]
        if 0 < self.centre_hole_mm < LEAST_HOLE_MM:
            limit, value = f"must be 0 (none) or at least {LEAST_HOLE_MM:g} mm", f"{self.centre_hole_mm:g} mm"
            faults.append(Fault(where=where, field="centre_hole", value=value, limit=limit, remedy="0 for none"))
        if self.ties == self.id:
            limit, remedy = "is this part itself", "name the part whose seats it ties"
            faults.append(Fault(where=where, field="ties", value=self.ties, limit=limit, remedy=remedy))
        if faults:
            raise BadInput(faults)

    @property
    def needs(self) -> tuple[str, ...]:
        return (self.ties,)

    def faces(self, frame: Frame, shop: Shop = PLAIN) -> tuple[UprightFace, ...]:
        return ()

    def build(self, frame: Frame, shop: Shop = PLAIN) -> tuple[Piece, ...]:
        """The bar, on the two seats as they were built on this frame.

        Raises:
            BadInput: with every fault of the bar on this frame.
        """
        from parts.features.bar.build import build

        return build(self, frame, shop)

    @classmethod
    def worked(cls) -> WorkedCase:
        from parts.families.fixture_bar_worked import worked

        return worked()
