"""The loose pieces that close what a notch leaves open past its crossmember, and what each is welded to."""

from __future__ import annotations

from parts.features.around import Filler
from parts.features.draft import Draft
from parts.features.fold import loose
from parts.features.joints import is_seated, seam_leg, seat_joint, seated
from parts.features.stubs import without_stubs
from parts.piece import Piece, WeldJoint
from parts.sheet import Vec3
from parts.welds import fillet_leg_mm, fillet_over_gap


def filler_piece(draft: Draft, filler: Filler, piece_id: str, *, onto: str) -> Piece:
    """`onto`: id of the plate whose notch it closes."""
    setting = draft.setting
    part, placement = loose(setting, filler.facet, without_stubs(filler.contour), piece_id, f"{filler.name} {setting.rail.side[0].upper()}")
    gap = setting.shop.root_gap_mm
    note = f"closes the notch of {onto} past {filler.name}: {gap:g} mm of root gap to the plate and to the crossmember"
    return Piece(
        id=piece_id, family=setting.plate.FAMILY, side=setting.rail.side, part=part, grade=setting.plate.grade, placements=(placement,),
        welds=_joints(draft, filler, onto), notes=(note,),
    )  # fmt: skip


def _joints(draft: Draft, filler: Filler, plate_id: str) -> tuple[WeldJoint, ...]:
    """Its long edge to the rail, its sides to the plate, and its inner edge to a crossmember that stays."""
    setting, plate = draft.setting, draft.setting.plate
    gap, t = setting.shop.root_gap_mm, plate.thickness_mm
    out: list[WeldJoint] = []
    if is_seated(setting, filler.edge):
        leg, _ = seam_leg(draft)
        for stretch in seated(setting, filler.facet, filler.contour, filler.edge):
            out.append(seat_joint(draft, f"{filler.edge} edge", filler.edge, tuple(stretch), leg))

    def at(u: float, z: float) -> Vec3:
        return setting.vehicle(filler.facet, u, z, t)

    u0, z0, u1, z1 = filler.contour.box
    inner = z1 if filler.edge == "lower" else z0
    line = setting.lower() if filler.edge == "lower" else setting.upper()
    outer = {u: line.y_at(filler.facet.s_at(u)) for u in (u0, u1)}
    for name, u in (("front side", u0), ("rear side", u1)):
        out.append(
            WeldJoint(name=name, kind="butt", points=(at(u, outer[u]), at(u, inner)), thickness_mm=(t, t), onto=plate_id, gap_mm=gap)
        )
    cm = filler.crossmember
    if not cm.removable and cm.joint != "bolted":
        thickness = (t, cm.drawn.section.thickness_mm)
        points = (at(u0, inner), at(u1, inner))
        leg, _ = fillet_over_gap(setting.place, fillet_leg_mm(*thickness, False, along_edge=False).leg_mm, gap)
        out.append(WeldJoint(name="inner edge", kind="fillet", points=points, thickness_mm=thickness, onto=cm.name, leg_mm=leg, gap_mm=gap))
    return tuple(out)
