"""Where a gusset is welded: both sides of the plate along both legs, less the snipes and what is left free before each toe."""

from __future__ import annotations

from collections.abc import Iterator

from parts.features.corner.corner import BOTH
from parts.features.corner.outline import Outline
from parts.features.corner.site import Site, face_name
from parts.piece import WeldJoint
from parts.sheet import Placement
from parts.vectors import along

WELD_END_MM = 6.0  #: weld end off the part's edge: TM 5-4210-230-14&P-1
TOE_SOURCE = "TM 5-4210-230-14&P-1"


def seams(site: Site, outline: Outline, at: Placement) -> tuple[WeldJoint, ...]:
    return (*_fillets(site, outline, at), *_plugs(site, outline, at))


def _fillets(site: Site, outline: Outline, at: Placement) -> Iterator[WeldJoint]:
    t = site.gusset.thickness_mm
    for leg in BOTH:
        face, e = site.faces[leg], site.corner.legs[leg]
        onto = face_name(face)
        for z, sign in ((t, 1.0), (0.0, -1.0)):
            start = at.point(0.0, 0.0, z)
            ends = (outline.snipe_mm, site.leg_lengths_mm[leg] - WELD_END_MM)
            line = along(start, (e, ends[0])), along(start, (e, ends[1]))
            yield WeldJoint(
                name=f"leg on {onto}, {site.sided(sign)} side", kind="fillet", points=line, thickness_mm=(t, face.thickness_mm),
                onto=onto, leg_mm=site.weld_mm(leg),
            )  # fmt: skip


def _plugs(site: Site, outline: Outline, at: Placement) -> Iterator[WeldJoint]:
    """Over the ends of tabs that stop below the far face."""
    if site.gusset.tab_recess_mm <= 0:
        return
    t = site.gusset.thickness_mm
    for leg in BOTH:
        face, (a, b) = site.faces[leg], outline.edges[leg]
        length = ((b[0] - a[0]) ** 2 + (b[1] - a[1]) ** 2) ** 0.5
        for k, (low, high) in enumerate(outline.tabs[leg], start=1):
            part = (low + high) / 2 / length
            root = at.point(a[0] + part * (b[0] - a[0]), a[1] + part * (b[1] - a[1]), t / 2)
            far = along(root, (face.placement.normal, -face.thickness_mm))
            onto = face_name(face)
            name = f"tab {k} in {onto}, far side"
            yield WeldJoint(name=name, kind="plug", points=(far,), thickness_mm=(t, face.thickness_mm), onto=onto)
