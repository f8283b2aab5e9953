"""What manuals, codes and law say about holes drilled in a rail, and what use each of them binds.

All numbers are square distances between edges in mm, as `up` is measured: from the rail's lower outside face. A rule that was not
written for this use is a note, never more. Within a level only the strictest rule on a matter is reported.

Not covered: brackets and welds on a rail; whether the rail is strong enough. Another maker's guide asks 62 mm to the flange, 50 mm
between holes and at most 15 mm: not held here, as the two sets below are.
"""

from __future__ import annotations

import math
from collections.abc import Iterable, Sequence
from dataclasses import dataclass, replace
from itertools import pairwise
from typing import Literal

from parts.errors import BadInput, Fault, Finding, Level, quoted

Answer = Literal["yes", "no", "unknown"]
Bound = Literal["commercial", "heat-treated"]
Method = Literal["drilled", "flame cut"]

SLACK = 1e-9  # a limit is met at the limit, whatever the last bit of a sum says


@dataclass(frozen=True, kw_only=True)
class Use:
    """What the frame file says of the vehicle. What is not known counts as yes: a rule that may bind is held."""

    commercial: Answer = "unknown"
    heat_treated: Answer = "unknown"


@dataclass(frozen=True, kw_only=True)
class RuleSet:
    """One source's rules for holes in rails; None where it says nothing."""

    source: str
    level: Level
    binds: tuple[Bound, ...]
    flange_gap_mm: float | None = None  #: hole edge to the inside of a flange
    hole_gap_mm: float | None = None  #: between the edges of two holes
    large_mm: float = math.inf  #: above this diameter ...
    large_gap_diameters: float = 0.0  #: ... the gap is at least this many of the larger hole's diameters
    largest_mm: float | None = None
    most_on_a_line: int | None = None  #: holes that one vertical line may cut
    beside_reinforcement_mm: float | None = None  #: edge of a hole in the rail to the edge of a reinforcement
    reinforcement_edge_thicknesses: float | None = None  #: edge of a hole in a reinforcement to its edge
    play_mm: float | None = None  #: hole over bolt
    drilled: bool = False  #: no torch-cut holes
    round_only: bool = False  #: no elongated holes

    def gap_mm(self, diameter_mm: float) -> float | None:
        """What must stay between two holes, the larger of this diameter."""
        if self.hole_gap_mm is None or diameter_mm <= self.large_mm + SLACK:
            return self.hole_gap_mm
        return max(self.hole_gap_mm, self.large_gap_diameters * diameter_mm)

    def level_for(self, use: Use) -> Level:
        return self.level if self.bound_by(use) else "note"

    def bound_by(self, use: Use) -> bool:
        answers = {"commercial": use.commercial, "heat-treated": use.heat_treated}
        return any(answers[bound] != "no" for bound in self.binds)


REPAIR_MANUAL = RuleSet(
    source="TM 9-2320-289-34 p. 9-7 (heavy-frame repair)", level="warn", binds=("commercial", "heat-treated"),
    hole_gap_mm=13.0, most_on_a_line=3, reinforcement_edge_thicknesses=2.0, drilled=True,
)  # fmt: skip
MAKERS_GUIDE = RuleSet(
    source="one maker's current guide for web holes", level="warn", binds=("commercial", "heat-treated"),
    flange_gap_mm=38.0, hole_gap_mm=25.0, large_mm=16.0, large_gap_diameters=1.5, largest_mm=19.0, most_on_a_line=3,
    beside_reinforcement_mm=13.0,
)  # fmt: skip
VEHICLE_CODE = RuleSet(
    source="VSB 6 section H (heavy vehicles)", level="stop", binds=("commercial",), play_mm=1.0, drilled=True, round_only=True
)
RULE_SETS = (REPAIR_MANUAL, MAKERS_GUIDE, VEHICLE_CODE)
FLANGE_LAW = RuleSet(source="49 CFR 393.201", level="stop", binds=("commercial",))


@dataclass(frozen=True, kw_only=True)
class RailHole:
    """A hole in a rail's web: its centre along the rail and square up from the lower outside face."""

    name: str
    along_mm: float
    up_mm: float
    diameter_mm: float
    bolt_mm: float | None = None  #: the bolt that goes through it, if one does
    method: Method = "drilled"
    elongated: bool = False

    def __post_init__(self) -> None:
        faults = [
            Fault(where=f"hole {self.name}", field=field, value=quoted(value), limit="a finite number is needed")
            for field, value in (("along", self.along_mm), ("up", self.up_mm))
            if not math.isfinite(value)
        ]
        sizes = (("diameter", self.diameter_mm), ("bolt", 1.0 if self.bolt_mm is None else self.bolt_mm))
        faults += [
            Fault(where=f"hole {self.name}", field=field, value=quoted(value), limit="must be above 0 mm")
            for field, value in sizes
            if not (math.isfinite(value) and value > 0)
        ]
        if faults:
            raise BadInput(faults)

    def gap_mm(self, other: RailHole) -> float:
        """Between the two edges; negative where they overlap."""
        between = math.hypot(self.along_mm - other.along_mm, self.up_mm - other.up_mm)
        return between - (self.diameter_mm + other.diameter_mm) / 2


@dataclass(frozen=True, kw_only=True)
class WebHoleLimits:
    """What a new pattern of web holes keeps to so that no rule set here objects, whatever the use."""

    flange_gap_mm: float
    hole_gap_mm: float
    largest_mm: float
    most_on_a_line: int
    beside_reinforcement_mm: float
    source: str


def web_hole_limits(diameter_mm: float) -> WebHoleLimits:
    """The strictest of every rule set for holes of one diameter."""
    return WebHoleLimits(
        flange_gap_mm=max(s.flange_gap_mm or 0.0 for s in RULE_SETS),
        hole_gap_mm=max(s.gap_mm(diameter_mm) or 0.0 for s in RULE_SETS),
        largest_mm=min(s.largest_mm or math.inf for s in RULE_SETS),
        most_on_a_line=min(s.most_on_a_line for s in RULE_SETS if s.most_on_a_line is not None),
        beside_reinforcement_mm=max(s.beside_reinforcement_mm or 0.0 for s in RULE_SETS),
        source="; ".join(s.source for s in (REPAIR_MANUAL, MAKERS_GUIDE)),
    )


def web_hole_findings(
    where: str,
    hole: RailHole,
    *,
    inside_low_mm: float,
    inside_high_mm: float,
    neighbours: Sequence[RailHole] = (),
    use: Use | None = None,
) -> tuple[Finding, ...]:
    """What the rules say of one new hole in a web.

    Args:
        where: the place as a reader knows it, "rail left, hole pin-front".
        hole: the new hole.
        inside_low_mm, inside_high_mm: the inside faces of the lower and upper flange, up from the lower outside face (flange
            thickness; depth less flange thickness).
        neighbours: the other holes of the web, old and new; `hole` itself among them is passed over.
        use: what the frame is used for; unknown where left out.

    Raises:
        BadInput: the flange faces are not in order.
    """
    if not inside_low_mm < inside_high_mm:
        limit = f"the upper flange's inside ({inside_high_mm:g} mm up) must lie above the lower one's ({inside_low_mm:g} mm up)"
        raise BadInput(Fault(where=where, field="flanges", limit=limit))
    use = use or Use()
    others = tuple(n for n in neighbours if n != hole)
    radius = hole.diameter_mm / 2
    flange_gaps = {"lower": hole.up_mm - radius - inside_low_mm, "upper": inside_high_mm - hole.up_mm - radius}
    found: list[_Candidate] = []
    for rules in RULE_SETS:
        found += _flange_gaps(rules, flange_gaps)
        found += _hole_gaps(rules, hole, others)
        found += _one_line(rules, hole, others)
        found += _hole_itself(rules, hole)
    return _strictest(where, found, use)


def flange_hole_findings(where: str, *, use: Use | None = None, makers_word: bool = False) -> tuple[Finding, ...]:
    """What the rules say of a new hole in a rail's flange. `makers_word`: the vehicle maker allows it in writing, on record."""
    use = use or Use()
    message = "a new hole in a flange, where bending pulls hardest"
    remedy = "through the web instead"
    law = _Candidate(rules=FLANGE_LAW, code="flange-hole", message=message, remedy=f"{remedy}, or record the vehicle maker's written word")
    manual = _Candidate(rules=REPAIR_MANUAL, code="flange-hole", message=message, remedy=remedy)
    return _strictest(where, [manual] if makers_word else [law, manual], use)


def reinforcement_hole_findings(where: str, *, edge_mm: float, thickness_mm: float, use: Use | None = None) -> tuple[Finding, ...]:
    """A hole in a reinforcement: `edge_mm` from the hole's edge to the plate's own edge, at least 2 thicknesses."""
    found = []
    for rules in RULE_SETS:
        if rules.reinforcement_edge_thicknesses is not None:
            least_mm = rules.reinforcement_edge_thicknesses * thickness_mm
            what = "from the hole's edge to the edge of the reinforcement"
            found += _short(rules, "reinforcement-hole-edge", edge_mm, least_mm, what, "move the hole in, or make the plate wider")
    return _strictest(where, found, use or Use())


def beside_reinforcement_findings(where: str, *, gap_mm: float, use: Use | None = None) -> tuple[Finding, ...]:
    """A hole in the rail beside a reinforcement: `gap_mm` from the hole's edge to the reinforcement's edge."""
    found = []
    for rules in RULE_SETS:
        if rules.beside_reinforcement_mm is not None:
            what = "from the hole's edge to the edge of a reinforcement beside it"
            remedy = "move the hole, or end the reinforcement elsewhere"
            found += _short(rules, "hole-beside-reinforcement", gap_mm, rules.beside_reinforcement_mm, what, remedy)
    return _strictest(where, found, use or Use())


@dataclass(frozen=True, kw_only=True)
class _Candidate:
    """A rule that is broken; `strictness` grows with what the rule asks."""

    rules: RuleSet
    code: str
    message: str
    value: str = ""
    limit: str = ""
    remedy: str = ""
    strictness: float = 0.0


def _short(rules: RuleSet, code: str, is_mm: float, least_mm: float, what: str, remedy: str) -> list[_Candidate]:
    if is_mm >= least_mm - SLACK:
        return []
    message = f"{_mm(is_mm)} {what}, at least {_mm(least_mm)} asked"
    limit = f"at least {_mm(least_mm)}"
    return [_Candidate(rules=rules, code=code, message=message, value=_mm(is_mm), limit=limit, remedy=remedy, strictness=least_mm)]


def _flange_gaps(rules: RuleSet, gaps_mm: dict[str, float]) -> list[_Candidate]:
    if rules.flange_gap_mm is None:
        return []
    found = []
    for flange, gap in gaps_mm.items():
        what = f"from the hole's edge to the inside of the {flange} flange"
        found += _short(rules, f"hole-near-{flange}-flange", gap, rules.flange_gap_mm, what, "nearer mid-web, or a smaller hole")
    return found


def _hole_gaps(rules: RuleSet, hole: RailHole, others: Sequence[RailHole]) -> list[_Candidate]:
    found = []
    for other in others:
        least = rules.gap_mm(max(hole.diameter_mm, other.diameter_mm))
        if least is not None:
            what = f"between the edges of hole {hole.name} and hole {other.name}"
            remedy = "further apart, or use the hole that is there"
            found += _short(rules, f"holes-close:{other.name}", hole.gap_mm(other), least, what, remedy)
    return found


def _one_line(rules: RuleSet, hole: RailHole, others: Sequence[RailHole]) -> list[_Candidate]:
    most = rules.most_on_a_line
    cut = _on_one_line(hole, others)
    if most is None or cut <= most:
        return []
    return [
        _Candidate(
            rules=rules, code="holes-on-one-line", message=f"one vertical line cuts {cut} holes, at most {most} allowed",
            value=f"{cut} holes", limit=f"at most {most}", remedy="stagger the holes along the rail", strictness=-most,
        )
    ]  # fmt: skip


def _on_one_line(hole: RailHole, others: Sequence[RailHole]) -> int:
    """How many holes the worst vertical line through `hole` cuts. Two holes that only touch the same line do not count."""
    low, high = hole.along_mm - hole.diameter_mm / 2, hole.along_mm + hole.diameter_mm / 2
    spans = [(h.along_mm - h.diameter_mm / 2, h.along_mm + h.diameter_mm / 2) for h in (hole, *others)]
    edges = sorted({min(max(edge, low), high) for span in spans for edge in span})
    lines = [(a + b) / 2 for a, b in pairwise(edges) if b - a > SLACK]
    return max(sum(a < line < b for a, b in spans) for line in lines)


def _hole_itself(rules: RuleSet, hole: RailHole) -> list[_Candidate]:
    found = []
    if rules.largest_mm is not None and hole.diameter_mm > rules.largest_mm + SLACK:
        found.append(_over(rules, "hole-large", hole.diameter_mm, rules.largest_mm, "across", "a smaller bolt, or more of them"))
    if rules.play_mm is not None and hole.bolt_mm is not None and hole.diameter_mm > hole.bolt_mm + rules.play_mm + SLACK:
        what = f"across for a bolt of {_mm(hole.bolt_mm)}"
        remedy = "a fine (ISO 273) or close (ASME B18.2.8) hole"
        found.append(_over(rules, "hole-loose", hole.diameter_mm, hole.bolt_mm + rules.play_mm, what, remedy))
    if rules.drilled and hole.method == "flame cut":
        found.append(_Candidate(rules=rules, code="hole-flame-cut", message="a torch-cut hole in a rail", remedy="drill it"))
    if rules.round_only and hole.elongated:
        found.append(_Candidate(rules=rules, code="hole-elongated", message="an elongated hole in a rail", remedy="a round, drilled hole"))
    return found


def _over(rules: RuleSet, code: str, is_mm: float, most_mm: float, what: str, remedy: str) -> _Candidate:
    message = f"{_mm(is_mm)} {what}, at most {_mm(most_mm)} allowed"
    limit = f"at most {_mm(most_mm)}"
    return _Candidate(rules=rules, code=code, message=message, value=_mm(is_mm), limit=limit, remedy=remedy, strictness=-most_mm)


def _strictest(where: str, found: Iterable[_Candidate], use: Use) -> tuple[Finding, ...]:
    """One finding for each matter and level: the strictest, naming every source that asks as much."""
    kept: dict[tuple[str, Level], list[_Candidate]] = {}
    for one in found:
        same = kept.setdefault((one.code, one.rules.level_for(use)), [])
        if not same or one.strictness > same[0].strictness:
            same[:] = [one]
        elif one.strictness == same[0].strictness:
            same.append(one)
    return tuple(_finding(where, level, same, use) for (_, level), same in kept.items())


def _finding(where: str, level: Level, same: Sequence[_Candidate], use: Use) -> Finding:
    one = same[0]
    finding = Finding(
        code=one.code.partition(":")[0], level=level, where=where, message=one.message, value=one.value, limit=one.limit,
        remedy=one.remedy, source="; ".join(dict.fromkeys(s.rules.source for s in same)),
    )  # fmt: skip
    return replace(finding, message=f"{finding.message} ({_binding(one.rules, use)})")


def _binding(rules: RuleSet, use: Use) -> str:
    kinds = " or ".join(rules.binds)
    if not rules.bound_by(use):
        return f"written for {kinds} rails, which this one is not"
    answers = {"commercial": use.commercial, "heat-treated": use.heat_treated}
    known = [bound for bound in rules.binds if answers[bound] == "yes"]
    return f"binds {' and '.join(known)} rails" if known else f"binds {kinds} rails; not known of this one, so held"


def _mm(value: float) -> str:
    return f"{round(value, 3):g} mm"
