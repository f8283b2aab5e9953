"""What two pieces of a plate have at their joint: strokes etched across it to line them up by, its number, its weld, and what is said."""

from __future__ import annotations

from collections.abc import Iterator, Sequence
from dataclasses import replace

from parts.features.draft import Draft, DraftPanel
from parts.features.marks import OFF_EDGE_MM, TICK_MM, clear
from parts.features.split_line import SplitLine
from parts.features.splits import opposite_tapes, x_of
from parts.features.trims import label_beside
from parts.outline import Segment
from parts.piece import WeldJoint
from parts.sheet import Mark

SHARES = (0.2, 0.8)  #: of the joint's length, where strokes run across it
BEVEL_MM = 6.0
SAGITTA_MM = 0.02


def numbered(drafts: Sequence[Draft]) -> list[Draft]:
    """Alignment strokes, numbers and notes on both pieces of every joint of one side, the joints numbered front to rear."""
    lines = [d.split_at[1] for d in drafts if d.split_at[1] is not None]
    out: list[Draft] = []
    number = 0
    for given in drafts:
        draft, (front, rear) = given, given.split_at
        for line, index, at_rear in ((front, 0, False), (rear, len(draft.panels) - 1, True)):
            if line is None:
                continue
            number += int(at_rear)
            draft = _told(_etched(draft, index, line, number, at_rear), line, number, len(lines), at_rear)
        if front is not None or rear is not None:
            draft = draft.note(_length(draft))
        out.append(draft)
    return out


def _etched(draft: Draft, index: int, line: SplitLine, number: int, at_rear: bool) -> Draft:
    panel = draft.panels[index]
    strokes = tuple(_strokes(panel, line, at_rear))
    if strokes:
        panel = replace(panel, marks=(*panel.marks, Mark(name=f"joint {number}", strokes=strokes)))
    edge = edge_of(line, at_rear)
    edge = edge if edge.a[0] <= edge.b[0] + 1e-9 and line.across[0] >= -1e-9 else edge.reversed()  # read from left to right
    label = label_beside(panel, edge, f"joint {number}", clear_of_line_mm=TICK_MM)
    if label is not None:
        panel = replace(panel, labels=(*panel.labels, label))
    missing = [word for word, there in (("strokes", strokes), ("its number", label)) if not there]
    draft = draft.with_panel(index, panel)
    return draft.note(f"no room to etch {' and '.join(missing)} at joint {number}: mark it by hand") if missing else draft


def edge_of(line: SplitLine, at_rear: bool) -> Segment:
    """The edge of the piece in front of a joint (`at_rear`: of that piece), or behind it, from the upper end to the lower."""
    (a, b), by = line.rearward, (-1 if at_rear else 1) * line.gap_mm / 2
    (u0, z0), (u1, z1) = line.upper, line.lower
    return Segment((u0 + by * a, z0 + by * b), (u1 + by * a, z1 + by * b))


def _strokes(panel: DraftPanel, line: SplitLine, at_rear: bool) -> Iterator[tuple[tuple[float, float], tuple[float, float]]]:
    """Square to the joint: those of both pieces lie in one line where these are lined up."""
    (a, b), way = line.rearward, -1 if at_rear else 1
    for share in SHARES:
        u, z = line.segment.point_at(share)
        near, far = (way * (line.gap_mm / 2 + off) for off in (OFF_EDGE_MM, TICK_MM))
        stroke = (u + near * a, z + near * b), (u + far * a, z + far * b)
        if clear(panel, *stroke):
            yield stroke


def _told(draft: Draft, line: SplitLine, number: int, count: int, at_rear: bool) -> Draft:
    setting = draft.setting
    station, along = setting.rail.laid_off(line.tape_mm)
    gap = f"{line.gap_mm:g} mm of root gap"
    where = f"its {'rear' if at_rear else 'front'} end is joint {number} of {count}, {setting.rail.side}"
    text = f"{where}: middle at x {x_of(setting, line):.1f} mm, {station} {along:+.1f} mm on the tape, {line.angle_deg:g} deg to the rail, "
    text += f"{gap}: a butt weld" if setting.plate.attach != "bolt" else f"{gap} left open: nothing is welded to this plate"
    others = opposite_tapes(setting)
    if others:
        apart = min((line.tape_mm - other for other in others), key=abs)
        text += f"; {apart:+.1f} mm along the rail from the left rail's nearest"
    if setting.plate.thickness_mm > BEVEL_MM and setting.plate.attach != "bolt":
        text += f"; cut square: over {BEVEL_MM:g} mm both edges are ground to a bevel first (from memory)"
    return draft.note(text)


def _length(draft: Draft) -> str:
    """From its foremost to its rearmost point, each square to the upper corner: on a slope its slanted ends reach other lengths of tape
    than upright lines through them would."""
    profile = draft.setting.rail.profile
    at = [(panel.facet.s_at(u), z) for panel in draft.panels for u, z in panel.contour.polyline(SAGITTA_MM)]
    tapes = [profile.tape_and_up(s, z)[0] for s, z in at]
    return f"{max(tapes) - min(tapes):.1f} mm long over all, along the rail"


def butt_joint(draft: Draft, onto: str) -> tuple[WeldJoint, ...]:
    """Along the middle of the gap on the seen face, from lower to upper edge; told of the piece in front of the joint alone."""
    line, setting = draft.split_at[1], draft.setting
    if line is None or setting.plate.attach == "bolt":
        return ()
    t = setting.plate.thickness_mm
    points = tuple(setting.vehicle(line.facet, *p, t) for p in (line.lower, line.upper))
    return (WeldJoint(name="joint to the rear", kind="butt", points=points, thickness_mm=(t, t), onto=onto, gap_mm=line.gap_mm),)
