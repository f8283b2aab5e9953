"""What the solid kernel may be given: every number finite and within reach, every panel joined once; and what is said without a kernel.

The kernel answers a NaN with an endless loop or a crash, and a broken tree with something that looks like a part. Needs no kernel itself.
"""

from __future__ import annotations

import math
from collections.abc import Iterator

from parts.bend_zone import SAME_EDGE_MM
from parts.errors import BadInput, Fault
from parts.flat import ordered
from parts.frame.bodies import Body
from parts.sheet import Bend, Panel, SheetPart

#: No part of a vehicle lies this far from its datum (mm).
FARTHEST_MM = 1e5
_RANGES = {
    "thickness": (0.1, 200.0, "mm"),
    "angle": (0.01, 180.0, "deg"),
    "inside_radius": (1e-3, 1e4, "mm"),
    "diameter": (1e-3, FARTHEST_MM, "mm"),
}


MISSING_LIBRARY = (
    "the solid kernel cannot be loaded ({error}): on Debian or Ubuntu type `apt-get install libgl1`; "
    "everything that needs no solid works without it"
)


class KernelMissing(ImportError):
    """The kernel's libraries are not there. Its text is one line for the user, with the remedy."""

    def __init__(self, error: ImportError) -> None:
        first = (str(error) or type(error).__name__).splitlines()[0]
        super().__init__(MISSING_LIBRARY.format(error=first))


def broken(where: str, feature: str, value: str, error: Exception) -> BadInput:
    """What is raised where the kernel itself raised `error` over `feature`."""
    first = (str(error) or "no reason given").splitlines()[0]
    limit = f"the kernel cannot build it: {type(error).__name__}: {first}"
    return BadInput(Fault(where=where, field=feature, value=value, limit=limit))


def in_pieces(where: str, count: int) -> BadInput:
    return BadInput(Fault(where=where, field="solid", value=f"{count} pieces", limit="must be one piece"))


def overlapping(where: str, volume_mm3: float, expected_mm3: float) -> BadInput:
    limit = f"must be the sum of its panels and bends, {expected_mm3:.6f} mm³"
    return BadInput(
        Fault(where=where, field="volume", value=f"{volume_mm3:.6f} mm³", limit=limit, remedy="two of them overlap when folded")
    )


def invalid(where: str) -> BadInput:
    """What is raised for a solid that the kernel's own check refuses."""
    limit = "the kernel's own check finds it invalid"
    return BadInput(Fault(where=where, field="solid", limit=limit, remedy="an opening crosses an edge or another opening"))


def refuse_unusable(part: SheetPart) -> None:
    """Raise `BadInput` with every number of `part` that is not finite or is out of the kernel's reach, and every broken reference."""
    faults = list(_number_faults(part)) + list(_tree_faults(part))
    if faults:
        raise BadInput([f.inside(f"part {part.name}") for f in faults])


def refuse_unusable_body(body: Body) -> None:
    """Raise `BadInput` unless every number of a frame's body is finite and within reach, and it has two outlines or more."""
    points = [p for ring in (*body.rings, *body.inner_rings) for p in ring] + [c.point for c in body.cuts]
    numbers = [x for p in points for x in p] + [x for c in body.cuts for x in (*c.direction, c.radius_mm, c.length_mm)]
    if len(body.rings) < 2 or not all(math.isfinite(x) and abs(x) < FARTHEST_MM for x in numbers):
        raise BadInput(Fault(where=f"frame {body.name}", field="solid", limit="must have two outlines or more, all of finite points"))


def _number_faults(part: SheetPart) -> Iterator[Fault]:
    yield from _out_of_range("thickness", part.thickness_mm, "thickness")
    for panel in part.panels:
        place = f"panel {panel.name}"
        for i, ((x, y), bulge) in enumerate(zip(panel.contour.points, panel.contour.bulges, strict=True)):
            for value in (x, y, bulge):
                yield from _too_far(f"{place}, corner {i + 1}", value)
        for hole in panel.holes:
            name = f"{place}, hole {hole.name}"
            for value in (hole.x_mm, hole.y_mm, hole.length_mm, hole.angle_deg, hole.corner_radius_mm):
                yield from _too_far(name, value)
            yield from _out_of_range(f"{name}, diameter", hole.diameter_mm, "diameter")
            if hole.kind == "slot" and hole.length_mm < hole.diameter_mm:
                limit = f"must be at least its width, {hole.diameter_mm:g} mm"
                yield Fault(where="", field=f"{name}, length", value=f"{hole.length_mm:g} mm", limit=limit)
    for bend in part.bends:
        name = f"bend to {bend.child}"
        yield from _out_of_range(f"{name}, angle", abs(bend.angle_deg), "angle")
        yield from _out_of_range(f"{name}, inside_radius", bend.inside_radius_mm, "inside_radius")
        yield from _too_far(f"{name}, offset", bend.offset_mm)


def _too_far(field: str, value: float) -> Iterator[Fault]:
    if not math.isfinite(value) or abs(value) > FARTHEST_MM:
        yield Fault(where="", field=field, value=f"{value:g}", limit=f"must be a finite number within {FARTHEST_MM:g} of 0")


def _out_of_range(field: str, value: float, kind: str) -> Iterator[Fault]:
    low, high, unit = _RANGES[kind]
    if not low <= value <= high:
        yield Fault(where="", field=field, value=f"{value:g} {unit}", limit=f"must be {low:g} to {high:g} {unit}")


def _tree_faults(part: SheetPart) -> Iterator[Fault]:
    panels = {p.name: p for p in part.panels}
    if len(panels) != len(part.panels) or not panels:
        yield Fault(where="", field="panels", limit="must be one or more, each with its own name")
        return
    try:
        bends = ordered(part)
    except BadInput as error:
        yield from error.faults
        return
    unjoined = set(panels) - {part.panels[0].name} - {b.child for b in bends}
    if unjoined or any(b.child not in panels for b in bends):
        value = ", ".join(sorted(unjoined or {b.child for b in bends} - set(panels)))
        yield Fault(where="", field="panels", value=value, limit="must each be there, and be joined to the first one by bends")
        return
    taken = {(b.child, 0) for b in bends}
    for bend in bends:
        yield from _edge_faults(bend, panels[bend.parent], panels[bend.child])
        if (bend.parent, bend.edge) in taken:
            field, value = f"bend to {bend.child}", f"edge {bend.edge} of panel {bend.parent}"
            yield Fault(where="", field=field, value=value, limit="carries another bend already")
        taken.add((bend.parent, bend.edge))


def _edge_faults(bend: Bend, parent: Panel, child: Panel) -> Iterator[Fault]:
    field = f"bend to {bend.child}"
    for panel, number in ((parent, bend.edge), (child, 0)):
        segments = panel.contour.segments
        if not 0 <= number < len(segments) or not segments[number].is_line or segments[number].length < SAME_EDGE_MM:
            yield Fault(where="", field=field, value=f"edge {number} of panel {panel.name}", limit="must be a straight edge")
    a, b = child.contour.points[:2]
    if max(abs(a[1]), abs(b[1])) > SAME_EDGE_MM or b[0] <= a[0]:
        value = f"({a[0]:g}, {a[1]:g}) to ({b[0]:g}, {b[1]:g})"
        yield Fault(where="", field=field, value=value, limit="the child's first edge must run along +u on v = 0")
