"""Rules for what a piece lies on: a stamped number that has to stay in sight, a crack, rust, a thin place, a loose rivet, an old weld."""

from __future__ import annotations

from dataclasses import dataclass

from generator.rules.lie import FacePatch, Lying, Stands
from generator.rules.rule import Rule, Source, Subject
from parts.errors import Finding, Level
from parts.features.covered import number_finding
from parts.frame.features import Condition
from parts.frame.frame import Frame
from parts.frame.placed import PlacedPatch
from parts.frame.rail import Rail
from parts.sheet import Vec3

NUMBER = Source(text="18 U.S.C. 511; covering a number: local law", level="stop")
FOUND = "the frame file; that damage is mended first: common practice, no source"
CLOSED_IN_MM = 5.0  #: past a channel's toes: as far as a plate on them may stand off (AWS D1.1: no wider gap is welded)
NEAR_FACE_MM = 5.0
TOUCH_MM = 1e-6


@dataclass(frozen=True, kw_only=True)
class Damage:
    """What is said of a part that lands on one kind of damage."""

    code: str
    level: Level
    what: str
    remedy: str

    @property
    def source(self) -> Source:
        return Source(text=FOUND, level=self.level)


DAMAGE: dict[str, Damage] = {
    "crack": Damage(code="lands-on-crack", level="stop", what="a crack",
                    remedy="have it mended by who may, and looked at again; then the part"),
    "rust-through": Damage(code="lands-on-rust", level="stop", what="steel that is rusted through", remedy="new steel there first"),
    "thin": Damage(code="lands-on-thin", level="warn", what="thin steel",
                   remedy="no limit was found: a licensed engineer or certified welder decides whether it is replaced first"),
    "loose rivet": Damage(code="lands-on-loose-rivet", level="warn", what="a loose rivet",
                          remedy="replace it by a bolt of the next size while it can be reached"),
    "old weld": Damage(code="lands-on-old-weld", level="note", what="an old weld",
                       remedy="look for cracks, dress it flush where the part lies"),
    "dent": Damage(code="lands-on-dent", level="note", what="a dent", remedy="straighten it first: the part will not lie flat"),
}  # fmt: skip


def damage(subject: Subject) -> list[Finding] | None:
    """Every part that lies on damaged steel, is fastened to it or closes it in."""
    frame, found, looked = subject.frame, [], False
    for lying in subject.lyings:
        for patch in frame.placed_conditions:
            own = patch.drawn
            if patch.side != lying.rail.side or not isinstance(own, Condition) or not _in_reach(lying, patch):
                continue
            looked = True
            how = _lands(subject, lying, patch, _extent(frame, lying.rail, patch, own))
            if how:
                found.append(_told(subject, lying.rail, DAMAGE[own.kind], patch, own, how))
    return found if looked else None


def _in_reach(lying: Lying, patch: PlacedPatch) -> bool:
    (a0, a1), (b0, b1) = lying.s_range, patch.s_range
    return b0 <= a1 + NEAR_FACE_MM and b1 >= a0 - NEAR_FACE_MM


def _told(subject: Subject, rail: Rail, kind: Damage, patch: PlacedPatch, own: Condition, how: str) -> Finding:
    message, value, limit = f"it {how} {patch.name} on the {patch.face} of {rail.name}: {kind.what}", "", ""
    if own.least_thickness_mm is not None:
        whole = _wall_mm(rail, patch)
        value, limit = f"{own.least_thickness_mm:g} mm", f"{whole:g} mm when new"
        message += f", {own.least_thickness_mm:g} mm of {whole:g} mm left"
    return subject.finding(kind.code, kind.source, message, value=value, limit=limit, remedy=kind.remedy)


def _wall_mm(rail: Rail, patch: PlacedPatch) -> float:
    return rail.section.web_mm if patch.face == "web" else rail.section.flange_thickness_mm


def _extent(frame: Frame, rail: Rail, patch: PlacedPatch, own: Condition | None = None) -> tuple[tuple[float, float], tuple[float, float]]:
    """((s0, s1), (low, high) z or in). A loose rivet that is placed at a hole of the web by name is as large as that hole."""
    if own is not None and own.kind == "loose rivet" and own.at is not None and own.at.at is not None and own.up_mm is None:
        holes = [h for h in frame.holes_on(rail.side, *_widened(patch.s_range, 50.0), "web") if h.name == own.at.at]
        for hole in holes:
            r = hole.diameter_mm / 2
            return (hole.s_mm - r, hole.s_mm + r), (hole.z_mm - r, hole.z_mm + r)
    return patch.s_range, patch.across_range


def _widened(span: tuple[float, float], by: float) -> tuple[float, float]:
    return span[0] - by, span[1] + by


def _face_patch(rail: Rail, patch: PlacedPatch, s: tuple[float, float], across: tuple[float, float]) -> FacePatch:
    """A rectangle of the face; where it is the patch itself, its own corners, which lean with the rail."""
    ring = patch.corners if (s, across) == (patch.s_range, patch.across_range) else (
        (s[0], across[0]), (s[1], across[0]), (s[1], across[1]), (s[0], across[1]))  # fmt: skip
    corners: list[Vec3] = []
    for along, other in ring:
        corners.append(rail.point(along, other) if patch.face == "web" else rail.flange_point(patch.face, along, other))
    open_web = patch.face == "web" and rail.section.kind != "closed"
    room = rail.section.flange_mm + CLOSED_IN_MM if open_web else 0.0
    return FacePatch(corners=tuple(corners), outward=patch.place.outward, wall_mm=_wall_mm(rail, patch), room_mm=room)


def _lands(subject: Subject, lying: Lying, patch: PlacedPatch, extent: tuple[tuple[float, float], tuple[float, float]]) -> str:
    """How the piece meets the patch; "" where it does not."""
    s, across = extent
    where = _stands(lying, _face_patch(lying.rail, patch, s, across))
    if where in ("on", "behind"):
        return "lies on"
    if _fastened(subject, lying, patch, s, across):
        return "is fastened to"
    return "closes in" if where == "further in" else ""


def _stands(lying: Lying, place: FacePatch) -> Stands | None:
    found = {panel.stands(place) for panel in lying.panels}
    order: tuple[Stands, ...] = ("on", "behind", "further in")
    return next((o for o in order if o in found), None)


def _fastened(subject: Subject, lying: Lying, patch: PlacedPatch, s: tuple[float, float], across: tuple[float, float]) -> bool:
    """A weld that runs over the patch (a weld on a flange's edge is on that flange), or a bolt drilled through it."""
    web = (-NEAR_FACE_MM, lying.rail.section.web_mm + NEAR_FACE_MM)
    for step in lying.weld_steps:
        if not _meet(step.spans(0), s):
            continue
        if patch.face in step.onto if patch.face != "web" else _meet(step.spans(1), across) and _meet(step.spans(2), web):
            return True
    return _drilled(subject, lying, patch, s, across)


def _meet(one: tuple[float, float], two: tuple[float, float]) -> bool:
    return one[0] <= two[1] + TOUCH_MM and two[0] <= one[1] + TOUCH_MM


def _drilled(subject: Subject, lying: Lying, patch: PlacedPatch, s: tuple[float, float], across: tuple[float, float]) -> bool:
    for drilling in subject.piece.drilling:
        if drilling.rail != lying.rail.name or drilling.face != patch.face:
            continue
        along, z, offset = lying.rail.szo(drilling.point)
        reach, other = drilling.diameter_mm / 2, z if patch.face == "web" else offset
        if s[0] - reach < along < s[1] + reach and across[0] - reach < other < across[1] + reach:
            return True
    return False


def in_sight(subject: Subject) -> list[Finding] | None:
    """No steel over a number, no weld over it or on its back, no hole through it."""
    found, looked = [], False
    for lying in subject.lyings:
        for patch in subject.frame.placed_keep_visible:
            if patch.side != lying.rail.side or not _in_reach(lying, patch):
                continue
            looked = True
            if subject.said("covers-keep-visible", patch.name):
                continue
            s, across = patch.s_range, patch.across_range
            what = ""
            if _stands(lying, _face_patch(lying.rail, patch, s, across)) == "on":
                what = f"it would cover {patch.name}"
            elif _drilled(subject, lying, patch, s, across):
                what = f"a hole would go through {patch.name}"
            elif patch.face == "web" and _fastened(subject, lying, patch, s, across):
                what = f"a weld would run over {patch.name} or over its back"
            if what:
                remedy = "end it before the number, or move it along the rail"
                found.append(number_finding(subject.place, what, patch, lying.rail.name, remedy))
    return found if looked else None


RULES = (
    Rule(asks="a stamped number is not covered, welded or drilled", codes=("covers-keep-visible",), sources=(NUMBER,), check=in_sight),
    Rule(
        asks="no part on damaged steel: cracks and rust-through; a warning for thin places and loose rivets; old welds and dents are told",
        codes=tuple(d.code for d in DAMAGE.values()), sources=tuple(dict.fromkeys(d.source for d in DAMAGE.values())), check=damage,
    ),
)  # fmt: skip
