"""What is measured on a frame: control points and the readings taken between them."""

from __future__ import annotations

from dataclasses import dataclass
from typing import ClassVar, Literal

from parts import spec
from parts.errors import BadInput, Fault
from parts.frame.placing import OnFace, OnRail

ReadingKind = Literal["distance", "x", "y", "height"]
READING_KINDS: tuple[ReadingKind, ...] = ("distance", "x", "y", "height")


@dataclass(frozen=True, kw_only=True)
class ControlPoint(OnFace):
    """A point of a rail that is measured: a hole's centre, or a point of a face; with neither up nor in, the upper corner.

    Where `at` is a hole's name, with no offset, no up and no in, it is that hole's centre. A point of side both is two points, called
    NAME-left and NAME-right where points are asked for one by one.
    """

    WORD: ClassVar[str] = "control_point"
    PLACE_OPTIONAL: ClassVar[bool] = True

    def key(self, side: str) -> str:
        """What readings and `as_found` call the point on that side."""
        return f"{self.name}-{side}" if self.side == "both" else self.name


@dataclass(frozen=True, kw_only=True)
class Reading:
    """One measurement, as read off."""

    name: str = spec.name("its name, its own in the file")
    kind: ReadingKind = spec.choice(
        "distance: tape between two points; height: level reading up from a level line; x, y: plumbed to the floor, from the datum",
        READING_KINDS,
        default="distance",
    )
    points: tuple[str, ...] = spec.names("the control points: two for a distance, one for the rest (NAME-left, NAME-right)")
    value_mm: float = spec.length("as read", least=-14000, most=14000)
    error_mm: float | None = spec.length("how far off it may be; else by the tape or level used", least=0.01, most=50, default=None)
    note: str = spec.text("who, when, with what", longest=200, default="")

    def __post_init__(self) -> None:
        faults = spec.faults_of(self)
        wanted = 2 if self.kind == "distance" else 1
        if len(self.points) != wanted:
            limit = f"a {self.kind} reading is taken at {wanted} point{'s' if wanted > 1 else ''}"
            faults.append(Fault(where="", field="points", value=", ".join(self.points), limit=limit))
        elif wanted == 2 and self.points[0] == self.points[1]:
            faults.append(
                Fault(where="", field="points", value=", ".join(self.points), limit="a distance lies between two different points")
            )
        if self.kind == "distance" and self.value_mm <= 0:
            faults.append(Fault(where="", field="value", value=f"{self.value_mm:g} mm", limit="a distance is more than 0"))
        if faults:
            raise BadInput(faults)


@dataclass(frozen=True, kw_only=True)
class SectionReading(OnRail):
    """A rail's section as measured at one place: each size optional, one at least."""

    WORD: ClassVar[str] = "section_reading"

    set: str = spec.name("the set of readings that it belongs to", default="found")
    depth_mm: float | None = spec.length("over the outside faces, square to the rail", least=30, most=420, default=None)
    opening_toe_mm: float | None = spec.length("clear between the flanges at their toes", least=10, most=420, default=None)
    opening_web_mm: float | None = spec.length("clear between the flanges at the web, past its corners", least=10, most=420, default=None)
    upper_flange_mm: float | None = spec.length("width of the upper flange over all", least=10, most=220, default=None)
    lower_flange_mm: float | None = spec.length("width of the lower flange over all", least=10, most=220, default=None)
    upper_square_mm: float | None = spec.length(
        "upper toe off square to the web; above 0: away from the section's inside", least=-40, most=40, default=None
    )
    lower_square_mm: float | None = spec.length(
        "lower toe off square to the web; above 0: away from the section's inside", least=-40, most=40, default=None
    )
    web_thickness_mm: float | None = spec.length("steel left of the web", least=0, most=25, default=None)
    upper_thickness_mm: float | None = spec.length("steel left of the upper flange", least=0, most=25, default=None)
    lower_thickness_mm: float | None = spec.length("steel left of the lower flange", least=0, most=25, default=None)
    accuracy_mm: float = spec.length("how far off each may be", least=0.01, most=20, default=0.5)

    def own_faults(self) -> list[Fault]:
        faults = super().own_faults()
        sizes = [value for field, value in vars(self).items() if field.endswith("_mm") and field not in ("x_mm", "accuracy_mm")]
        if all(value is None for value in sizes):
            faults.append(Fault(where="", field="depth", limit="a section reading holds one size at least", remedy='depth = "150 mm"'))
        return faults
