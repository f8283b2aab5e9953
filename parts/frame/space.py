"""Room that other things on the vehicle need: keep-outs, in vehicle axes."""

from __future__ import annotations

import math
from dataclasses import dataclass
from typing import Literal

from parts import spec
from parts.errors import BadInput, Fault
from parts.sheet import Vec3

Shape = Literal["box", "cylinder", "path", "step"]
SHAPES: tuple[Shape, ...] = ("box", "cylinder", "path", "step")


@dataclass(frozen=True, kw_only=True)
class SpacePoint:
    """A point in vehicle axes."""

    x_mm: float = spec.length("rearward", least=-6000, most=14000)
    y_mm: float = spec.length("to the vehicle's right", least=-3000, most=3000)
    z_mm: float = spec.length("up", least=-3000, most=4000)

    def __post_init__(self) -> None:
        spec.checked(self)

    @property
    def xyz(self) -> Vec3:
        return self.x_mm, self.y_mm, self.z_mm


@dataclass(frozen=True, kw_only=True)
class KeepOut:
    """Room that no part may enter."""

    name: str = spec.name("its name, its own in the file")
    shape: Shape = spec.choice(
        "box: two opposite corners; cylinder: the two ends of its axis; path: a pipe through two or more points; step: a STEP file", SHAPES
    )
    what: str = spec.text("what is there: sump, brake pipe, steering shaft", longest=120, default="")
    points: tuple[SpacePoint, ...] = spec.tables(SpacePoint, "points that the shape needs, in vehicle axes", key="point")
    diameter_mm: float | None = spec.length("of a cylinder or path", least=1, most=2000, default=None)
    file: str | None = spec.name("step only: name of a file beside this one", default=None)
    clearance_mm: float = spec.length("free room asked for around it", least=0, most=500, default=0.0)

    def __post_init__(self) -> None:
        faults = spec.faults_of(self)
        faults += [] if faults else self._shape_faults()
        if faults:
            raise BadInput(faults)

    def _shape_faults(self) -> list[Fault]:
        faults: list[Fault] = []
        least, most = {"box": (2, 2), "cylinder": (2, 2), "path": (2, 10_000), "step": (0, 1)}[self.shape]
        count = len(self.points)
        if not least <= count <= most:
            wanted = f"{least} points" if least == most else (f"at least {least} points" if least else "at most one point")
            faults.append(Fault(where="", field="point", value=f"{count} given", limit=f"a {self.shape} needs {wanted}"))
        round_one = self.shape in ("cylinder", "path")
        if round_one and self.diameter_mm is None:
            faults.append(Fault(where="", field="diameter", limit=f"a {self.shape} needs a diameter"))
        if not round_one and self.diameter_mm is not None:
            faults.append(Fault(where="", field="diameter", value=f"{self.diameter_mm:g} mm", limit=f"a {self.shape} has no diameter"))
        if self.shape == "step" and not self.file:
            faults.append(Fault(where="", field="file", limit="is needed for shape step", remedy='file = "NAME.step", beside this file'))
        if self.shape != "step" and self.file:
            faults.append(Fault(where="", field="file", value=self.file, limit=f"a {self.shape} reads no file", remedy='shape = "step"'))
        if not faults and self.shape == "box":
            a, b = self.points
            flat = [axis for axis, p, q in zip("xyz", a.xyz, b.xyz, strict=True) if p == q]
            if flat:
                limit = f"both corners have the same {' and '.join(flat)}: a box has room inside"
                faults.append(Fault(where="", field="point", limit=limit, remedy="give two opposite corners"))
        if not faults and round_one and any(math.dist(p.xyz, q.xyz) == 0 for p, q in zip(self.points, self.points[1:], strict=False)):
            faults.append(Fault(where="", field="point", limit="two points after each other are the same", remedy="leave one of them out"))
        return faults
