"""The stage: every piece held against every rule, what was found, and the list of the rules themselves."""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass

from generator.rules import bends, cuts, landing, rail_work, reinforcement
from generator.rules.rule import Rule, Subject
from generator.rules.scene import Scene
from generator.show import Column, Section, Table
from parts.errors import LEVELS, Finding
from parts.flat import Flat
from parts.frame.frame import Frame
from parts.piece import Piece
from parts.shop import Shop

RULES: tuple[Rule, ...] = (*bends.RULES, *cuts.RULES, *rail_work.RULES, *reinforcement.RULES, *landing.RULES)
NOTE = (
    "These rules and no others were held, besides those that a part's own findings tell. A rule binds only the use that it is written "
    "for: for another it is a note at most. What has no number here stays the builder's choice. Local codes, and a licensed engineer or "
    "a certified welder, decide."
)


@dataclass(frozen=True, kw_only=True)
class Rules:
    """What the rules say of a kit."""

    findings: tuple[Finding, ...]
    sections: tuple[Section, ...]


def judge(pieces: Sequence[Piece], flats: Sequence[Flat], frame: Frame, shop: Shop) -> Rules:
    """Hold every piece against every rule.

    Args:
        pieces, flats: the kit, each piece with its flat pattern; findings that a piece carries already are not told again.
        frame: what the pieces go onto, and what its file says of use, steel and damage.
        shop: process, sheets and brake; what it does not say is not judged.
    """
    scene = Scene(frame=frame, shop=shop, pieces=tuple(pieces))
    subjects = [Subject(piece=p, flat=f, scene=scene) for p, f in zip(pieces, flats, strict=True)]
    found: list[Finding] = []
    rows = []
    for rule in RULES:
        answers = [a for a in (rule.check(subject) for subject in subjects) if a is not None]
        told = list(dict.fromkeys(f for a in answers for f in a))
        found += told
        sources = "; ".join(s.text for s in rule.sources)
        rows.append((rule.asks, _levels(rule, frame), sources, ", ".join(rule.codes), len(answers), len(told)))
    columns = (
        Column(name="rule"), Column(name="level here"), Column(name="source"), Column(name="codes"), Column(name="parts judged"),
        Column(name="findings"),
    )  # fmt: skip
    table = Table(name="rules", title="Rules held", columns=columns, rows=tuple(rows))
    return Rules(findings=tuple(found), sections=(Section(title="Shop rules", tables=(table,), notes=(NOTE,)),))


def _levels(rule: Rule, frame: Frame) -> str:
    """The levels that the rule has for this vehicle, the strictest first."""
    levels = {s.level_for(frame) for s in rule.sources}
    return ", ".join(level for level in LEVELS if level in levels)
