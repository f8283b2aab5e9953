"""From a draft to the sheet part: panels turned so that the seen face is the top, joined by bends, and placed in the vehicle."""

from __future__ import annotations

import math
from dataclasses import replace

from parts.features.draft import Draft, DraftPanel, Setting
from parts.features.marks import label, turned_round
from parts.flat import as_child
from parts.frame.faces import Facet
from parts.holes import Hole
from parts.outline import Contour, Transform
from parts.sheet import Bend, Label, Panel, Placement, SheetPart


def fold(draft: Draft, part_id: str) -> tuple[SheetPart, Placement]:
    """The part, its root panel's lower left corner at (0, 0) as seen when fitted, and where that lies on the vehicle."""
    setting = draft.setting
    flip = setting.face.normal_sign > 0  # u rearward x v up looks to -Y; a face that looks to +Y is seen with the front to the right
    panels = [_seen(p, i, flip) for i, p in enumerate(draft.panels)]
    biggest = max(range(len(panels)), key=lambda i: panels[i].contour.area)
    panels[biggest] = label(panels[biggest], (part_id,), 1.0 if flip else -1.0)
    bends: list[Bend] = []
    out: list[Panel] = [panels[0]]
    sense = -1.0 if flip else 1.0
    for i in range(len(panels) - 1):
        one, two = draft.panels[i], draft.panels[i + 1]
        edge = _upright_edge(panels[i].contour, sense * one.u1)
        level = panels[i].contour.segments[edge].b[1]
        start = _upright_edge(panels[i + 1].contour, sense * two.u0)
        child = as_child(panels[i + 1], start, (sense * two.u0, level))
        if i > 0:  # that panel was itself laid with its front bend edge first
            edge = (edge - _upright_edge(panels[i].contour, sense * one.u0)) % len(panels[i].contour.points)
        bends.append(
            Bend(
                parent=panels[i].name,
                child=child.name,
                edge=edge,
                angle_deg=math.degrees(one.facet.turn_rad) * setting.face.normal_sign,
                inside_radius_mm=setting.inside_radius_mm,
            )
        )
        out.append(child)
    x0, y0, _, _ = out[0].contour.box
    root = out[0].shifted(-x0, -y0)
    part = SheetPart(name=part_id, thickness_mm=setting.plate.thickness_mm, panels=(root, *out[1:]), bends=tuple(bends))
    return part, _placed(setting, draft.panels[0].facet, flip, x0, y0)


def loose(
    setting: Setting, facet: Facet, contour: Contour, part_id: str, short: str, *, holes: tuple[Hole, ...] = (),
    labels: tuple[Label, ...] = (), thickness_mm: float | None = None, out_mm: float = 0.0,
) -> tuple[SheetPart, Placement]:  # fmt: skip
    """A flat piece that lies in the plane of one facet, or `out_mm` in front of it; `short` is etched where its id has no room.

    As thick as the plate unless `thickness_mm` says otherwise; contour, holes and `labels` (in place of its id) in the facet's (u, z).
    """
    flip, t = setting.face.normal_sign > 0, Transform.mirror_x()
    panel = Panel(name="plate", contour=contour.moved(t) if flip else contour, holes=tuple(h.moved(t) if flip else h for h in holes))
    if labels:
        panel = replace(panel, labels=tuple(turned_round(one) for one in labels) if flip else labels)
    else:
        panel = label(panel, (part_id, short), 1.0 if flip else -1.0)
    x0, y0, _, _ = panel.contour.box
    thickness = setting.plate.thickness_mm if thickness_mm is None else thickness_mm
    part = SheetPart(name=part_id, thickness_mm=thickness, panels=(panel.shifted(-x0, -y0),))
    return part, _placed(setting, facet, flip, x0, y0, out_mm)


def _seen(panel: DraftPanel, index: int, flip: bool) -> Panel:
    t = Transform.mirror_x() if flip else Transform()
    return Panel(
        name=f"panel-{index + 1}",
        contour=panel.contour.moved(t) if flip else panel.contour,
        holes=tuple(h.moved(t) for h in panel.holes),
        marks=tuple(m.moved(t) for m in panel.marks),
        labels=tuple(turned_round(one) for one in panel.labels) if flip else panel.labels,
    )


def _upright_edge(contour: Contour, u: float) -> int:
    for i, s in enumerate(contour.segments):
        if s.is_line and abs(s.a[0] - u) < 1e-6 and abs(s.b[0] - u) < 1e-6 and s.chord > 1.0:
            return i
    raise AssertionError(f"no upright edge at {u}")


def _placed(setting: Setting, facet: Facet, flip: bool, x0: float, y0: float, out_mm: float = 0.0) -> Placement:
    c, d, _ = facet.direction
    u = -x0 if flip else x0
    return Placement(origin=setting.vehicle(facet, u, y0, out_mm), u=(0.0 - c, 0.0 - d, 0.0) if flip else (c, d, 0.0), v=(0.0, 0.0, 1.0))
