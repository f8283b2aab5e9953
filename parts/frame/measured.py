"""What is measured on a frame: control points and the readings taken between them."""

from __future__ import annotations

from dataclasses import dataclass
from typing import ClassVar, Literal

from parts import spec
from parts.errors import BadInput, Fault
from parts.frame.placing import OnFace

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
        """What readings and `with_points` call the point on that side."""
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
