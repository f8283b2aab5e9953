"""A survey as it is told: tables and sentences, in the order in which somebody with a tape and a welder needs them."""

from __future__ import annotations

from collections.abc import Sequence
from typing import TYPE_CHECKING

from generator.show import Column, Section, Table
from generator.survey.equations import equations
from generator.survey.limits import limit_of
from generator.survey.measures import Measure
from generator.survey.snoop import CRITICAL
from generator.survey.todo import ORDER, SPRINGS
from generator.survey.words import MEANING, by_word, verdict, worst

if TYPE_CHECKING:
    from generator.survey.stage import Survey

OFF = "Off by is what was measured less what is drawn. +/- holds the true value 95 times in 100, if the readings are as good as said."
SHOWS = 0.01  #: less of an error than this shows nowhere: its correction over what it may be is noise over noise
BINDS = "A manual's limit binds the vehicles it is written for; for any other frame it is the best figure there is."


def sections_of(survey: Survey) -> tuple[Section, ...]:
    """Everything that is told, empty topics left out."""
    if survey.adjusted is None:
        return tuple(s for s in (_damage(survey), _nothing(survey)) if s is not None)
    told = (
        _damage(survey), _verdict(survey), _words(survey), _suspects(survey), _unknown(survey), _todo(survey), _carries(survey),
        _twist(survey), _places(survey), _readings(survey), _meaning(survey),
    )  # fmt: skip
    return tuple(s for s in told if s is not None)


def _nothing(survey: Survey) -> Section:
    what = f"the set '{survey.set_name}' has no readings" if survey.frame.readings else "the frame file has no readings"
    return Section(title="The frame as found", notes=(f"Nothing is known of how the frame lies: {what}.",))


def _damage(survey: Survey) -> Section | None:
    if not survey.damage:
        return None
    rows = tuple(
        (d.name, f"{d.side} rail, {d.place}", d.kind, d.left_mm, d.new_mm, d.limit, d.finding.remedy) for d in survey.damage
    )  # fmt: skip
    columns = (
        Column(name="damage"), Column(name="where"), Column(name="what"), Column(name="steel left", unit="mm", digits=1),
        Column(name="new", unit="mm", digits=1), Column(name="limit"), Column(name="what to do"),
    )  # fmt: skip
    return Section(title="Damage first", tables=(Table(name="damage", title="", columns=columns, rows=rows),))


def _verdict(survey: Survey) -> Section:
    return Section(title=f"Verdict on the frame, set '{survey.set_name}'", notes=(survey.verdict_text, *(str(g) for g in survey.growth)))


def _words(survey: Survey) -> Section:
    rows = []
    for word, own in by_word(survey.measures).items():
        decides = worst(own)
        if decides is not None:
            rows.append((word, *_numbers(decides), decides.why))
    table = Table(name="verdict", title="", columns=(Column(name="word"), *NUMBERS, Column(name="why")), rows=tuple(rows))
    return Section(title="Each word at its worst place", tables=(table,), notes=(OFF, BINDS))


NUMBERS = (
    Column(name="where"), Column(name="measured", unit="mm", digits=1), Column(name="as drawn", unit="mm", digits=1),
    Column(name="off by", unit="mm", digits=1), Column(name="+/-", unit="mm", digits=1), Column(name="limit", unit="mm", digits=1),
    Column(name="verdict"),
)  # fmt: skip


def _numbers(measure: Measure) -> tuple[str | float | None, ...]:
    return (
        measure.where, measure.value_mm, measure.drawn_mm, measure.off_mm, measure.uncertainty_mm, measure.limit_mm, measure.status,
    )  # fmt: skip


def _suspects(survey: Survey) -> Section | None:
    if not survey.suspects:
        return None
    rows = tuple(
        (", ".join(s.observations), s.error_mm, abs(s.normalised), s.unit_slip, survey.deciding(s)) for s in survey.suspects
    )  # fmt: skip
    columns = (
        Column(name="reading"), Column(name="probably off by", unit="mm", digits=1), Column(name="sigmas", digits=1),
        Column(name="looks like"), Column(name="what would decide"),
    )  # fmt: skip
    notes = (
        "Take them again before anything is pulled. Several in one row are tied: one of them is off, and nothing that was read says which. "
        "Off by: what was read less what the others make it, of several the first one, if it is that one. Every verdict here is without "
        "them, and none is given that they would change.",
    )
    return Section(title="Readings not believed", tables=(Table(name="suspects", title="", columns=columns, rows=rows),), notes=notes)


def _unknown(survey: Survey) -> Section | None:
    notes = [str(u) for u in survey.unknown]
    if survey.unchecked:
        some = ", ".join(survey.unchecked[:12]) + (f" and {len(survey.unchecked) - 12} more" if len(survey.unchecked) > 12 else "")
        notes.append(
            f"No other reading checks {some}: what hangs on one of them is as right as it is, and a slip in it shows nowhere. "
            "Take each twice."
        )
    notes += survey.better
    return Section(title="What this survey cannot know", notes=tuple(notes)) if notes else None


def _todo(survey: Survey) -> Section | None:
    if not survey.steps:
        return None
    rows = tuple((i, s.do, s.where, s.by_mm) for i, s in enumerate(survey.steps, 1))
    columns = (Column(name="step"), Column(name="do"), Column(name="where"), Column(name="by", unit="mm", digits=1, tape=True))
    table = Table(name="first-things-first", title="", columns=columns, rows=rows)
    pulls = any(m.status == "out" for m in survey.measures)
    return Section(title="What to do, first things first", tables=(table,), notes=(ORDER, SPRINGS) if pulls else ())


def _carries(survey: Survey) -> Section | None:
    return Section(title="Twist: what shims out, and what stays", notes=survey.split.notes) if survey.split is not None else None


def _twist(survey: Survey) -> Section | None:
    twists = [m for m in survey.measures if m.word == "twist"]
    if not any(m.value_mm is not None for m in twists):
        return None
    steps = {m.bay.rear.name: m for m in survey.steps_of_twist if m.bay is not None}
    rows = []
    for measure, pair in zip(twists, survey.pairs[1:], strict=True):
        step = steps.get(pair.name)
        own = (None, None) if step is None else (step.off_mm, step.uncertainty_mm)
        rows.append((pair.name, measure.off_mm, measure.uncertainty_mm, measure.degrees, *own))
    columns = (
        Column(name="pair"), Column(name="twist", unit="mm", digits=1), Column(name="+/-", unit="mm", digits=1),
        Column(name="angle", unit="deg", digits=2), Column(name="grown since the pair before it with heights", unit="mm", digits=1),
        Column(name="+/- of that", unit="mm", digits=1),
    )  # fmt: skip
    title = f"Twist along the frame, against {survey.pairs[0].name}"
    return Section(title=title, tables=(Table(name="twist", title="", columns=columns, rows=tuple(rows)),))


def _places(survey: Survey) -> Section:
    rows = tuple((m.word, *_numbers(m)) for own in by_word(survey.measures).values() for m in own)
    table = Table(name="places", title="", columns=(Column(name="word"), *NUMBERS), rows=rows)
    return Section(title="Word by word, place by place", tables=(table,))


def _readings(survey: Survey) -> Section | None:
    """Every reading against what the believed ones make of it: a blunder left in would bend all its neighbours' corrections."""
    if survey.adjusted is None:
        return None
    kinds = {r.name: r.kind for r in survey.frame.readings}
    doubted = {name: abs(s.normalised) for s in survey.suspects for name in s.observations}
    believed = {o.name: i for i, o in enumerate(survey.adjusted.network.observations)}
    left = equations(survey.network).values(survey.adjusted.flat)
    rows = []
    for o, would_read in zip(survey.network.observations, left, strict=True):
        checked, sigmas = None, doubted.get(o.name)
        if (i := believed.get(o.name)) is not None:
            checked = float(survey.adjusted.redundancy[i])
            sigmas = None if checked < SHOWS else abs(float(survey.adjusted.normalised[i]))
        off = float(would_read) - o.value_mm
        ends = (o.start, o.end or "")
        rows.append((o.name, kinds.get(o.name, o.kind), *ends, o.value_mm, 2 * o.sigma_mm, off, checked, sigmas, o.name in doubted))
    columns = (
        Column(name="reading"), Column(name="kind"), Column(name="from"), Column(name="to"), Column(name="read", unit="mm", digits=1),
        Column(name="may be off", unit="mm", digits=1), Column(name="correction", unit="mm", digits=1), Column(name="checked", digits=2),
        Column(name="sigmas", digits=1), Column(name="not believed"),
    )  # fmt: skip
    notes = [
        "Correction: what is added to make the believed readings agree, by least squares; of one that is not believed, what they make of "
        "it less what was read. Checked: the share of an error in this reading that would show, 0 nothing, 1 all. Sigmas: correction by "
        f"what it may be; {CRITICAL:.2f} and more is not believed.",
        *_fit(survey),
    ]
    return Section(title="The readings", tables=(Table(name="readings", title="", columns=columns, rows=tuple(rows)),), notes=tuple(notes))


def _fit(survey: Survey) -> Sequence[str]:
    adjusted = survey.adjusted
    if adjusted is None or adjusted.sigma0 is None or adjusted.chi2_low is None or adjusted.chi2_high is None:
        return ("No reading is more than is needed: nothing checks them, and their error is taken as said.",)
    left = f"{len(survey.suspects)} not believed left out; " if survey.suspects else ""
    says = "as well as is said of them" if adjusted.consistent else "not as well as is said of them"
    if adjusted.sum_squares < adjusted.chi2_low:
        says = "better than is said of them"
    return (
        f"{left}{adjusted.dof} more readings than needed; they agree {says}: sum of squares {adjusted.sum_squares:.1f}, expected "
        f"{adjusted.chi2_low:.1f} to {adjusted.chi2_high:.1f} (95 %). Every +/- here is {adjusted.scale:.2f} times what is said of them.",
    )


def _meaning(survey: Survey) -> Section:
    notes = ["What is judged is the number as measured less the same number as drawn."]
    for word in by_word(survey.measures):
        formula, above = MEANING[word]
        limit = limit_of(word, survey.frame.limits, on_wheels=survey.on_wheels)
        within = "No limit" if limit.mm is None else f"Limit {limit.mm:g} mm"
        notes.append(f"{word}: {formula}. Above 0: {above}. {within}: {limit.source}.")
    return Section(title="What the words mean", notes=tuple(notes))


def headline(measures: Sequence[Measure]) -> str:
    """`The frame is square, twisted 14 mm; ...`, as one sentence."""
    text = verdict(measures)
    return f"Verdict: {text}." if text else "Verdict: nothing can be told."
