"""The point that a pad is folded up to, and the normal of its top, on each side."""

from __future__ import annotations

import math
from dataclasses import dataclass, replace
from typing import TYPE_CHECKING

from parts.errors import BadInput, Fault
from parts.features.bracket.site import faulted
from parts.features.pad.planes import unit
from parts.frame.frame import Frame
from parts.frame.names import unknown_place
from parts.frame.placed import PlacedMount
from parts.frame.section import RailSide
from parts.sheet import Vec3

if TYPE_CHECKING:
    from parts.families.mount_pad import MountPad

APART_MM = 0.05  #: what two rails may differ by before it is worth a word


@dataclass(frozen=True, kw_only=True)
class Target:
    """`normal` points up out of the top's upper face, which `point` lies on."""

    side: RailSide
    point: Vec3
    normal: Vec3
    mount: PlacedMount | None = None  #: the body mount that is carried through

    @property
    def along(self) -> Vec3:
        """Unit vector in the top's plane straight along the vehicle as seen from above, rearward."""
        x, _, z = self.normal
        return unit((1.0, 0.0, -x / z))

    @property
    def across(self) -> Vec3:
        """Square to `along` in the top's plane, to the vehicle's right."""
        (a, b, c), (d, e, f) = self.normal, self.along
        return b * f - c * e, c * d - a * f, a * e - b * d


def targets(pad: MountPad, frame: Frame) -> tuple[tuple[Target, ...], str]:
    """One a side, and what there is to say of them.

    Raises:
        BadInput: no such place or body mount.
    """
    return _carried(pad, frame) if pad.carries is not None else _given(pad, frame)


def _carried(pad: MountPad, frame: Frame) -> tuple[tuple[Target, ...], str]:
    known = {(m.name, m.side): m for m in frame.placed_mounts}
    faults: list[Fault] = []
    out: list[Target] = []
    for side in pad.sides:
        mount = known.get((str(pad.carries), side))
        if mount is None:
            there = [name for name, s in known if s == side]
            unknown = BadInput(unknown_place(str(pad.carries), there, f"rail {side} has no body mount"))
            faults += faulted(unknown, f"part {pad.id}", "carries")
            continue
        out.append(Target(side=side, point=mount.point, normal=(0.0, 0.0, 1.0), mount=mount))
    if faults:
        raise BadInput([replace(f, field="carries") for f in faults])
    said = ", ".join(f"x {t.point[0]:.1f}, y {t.point[1]:.1f}, z {t.point[2]:.1f} mm on the {t.side}" for t in out)
    return tuple(out), f"body mount {pad.carries} carried through: the hole's centre on the top is where it was, {said}"


def _given(pad: MountPad, frame: Frame) -> tuple[tuple[Target, ...], str]:
    where = f"part {pad.id}"
    assert pad.at is not None
    rails = [frame.rail(side) for side in pad.sides]
    faults: list[Fault] = []
    xs: list[float] = []
    for rail in rails:
        try:
            xs.append(rail.plan.point(rail.s_at(pad.at))[0])
        except BadInput as error:
            faults += faulted(error, where, "at")
    if faults:
        raise BadInput(list(dict.fromkeys(faults)))
    x = sum(xs) / len(xs)
    stops = [rail.plan.s_at_x(x) for rail in rails]
    tops = [rail.profile.upper_z(s) for rail, s in zip(rails, stops, strict=True)]
    webs = [_off_centre(rail.side, rail.plan.point(s)[1]) for rail, s in zip(rails, stops, strict=True)]
    said: list[str] = []
    z, off = pad.z_mm, pad.y_mm
    if pad.rise_mm is not None:
        z = sum(tops) / len(tops) + pad.rise_mm
        if max(tops) - min(tops) > APART_MM:
            said.append(f"the rails' upper corners are {max(tops) - min(tops):.1f} mm apart in height there, and the pads are not")
    if pad.out_mm is not None:
        off = sum(webs) / len(webs) - pad.out_mm
        if max(webs) - min(webs) > APART_MM:
            said.append(f"the webs stand {webs[0]:.1f} and {webs[-1]:.1f} mm off the centreline there: out is measured from midway")
    assert z is not None and off is not None
    if max(xs) - min(xs) > APART_MM:
        said.append(f"{pad.at} lies at x {xs[0]:.1f} mm on the left and {xs[1]:.1f} mm on the right rail: both stand midway")
    out = tuple(Target(side=side, point=(x, off if side == "right" else -off, z), normal=_normal(pad, side)) for side in pad.sides)
    each = "each" if len(out) > 1 else f"on the {out[0].side}"
    place = f"the point on the top at x {x:.1f}, z {z:.1f} mm, {off:.1f} mm off the centreline {each}"
    return out, "; ".join([f"{place}; {_tilts(pad)}", *said])


def _off_centre(side: RailSide, y: float) -> float:
    return y if side == "right" else -y


def _normal(pad: MountPad, side: RailSide) -> Vec3:
    across = math.tan(math.radians(pad.tilt_across_deg))
    to_right = across if pad.across_rises == "right" or side == "left" else -across  # inboard is to the right on the left side
    return unit((-math.tan(math.radians(pad.tilt_along_deg)), -to_right, 1.0))


def _tilts(pad: MountPad) -> str:
    said = []
    if pad.tilt_along_deg:
        said.append(f"{abs(pad.tilt_along_deg):g} deg along, its {'rear' if pad.tilt_along_deg > 0 else 'front'} high")
    if pad.tilt_across_deg:
        inboard = "inboard" if pad.tilt_across_deg > 0 else "outboard"
        right = "right" if pad.tilt_across_deg > 0 else "left"
        high = f"{inboard} edge" if pad.across_rises == "inboard" else f"{right} edge"
        said.append(f"{abs(pad.tilt_across_deg):g} deg across, its {high} high")
    return f"a level on the top reads {' and '.join(said)}" if said else "the top is level both ways"
