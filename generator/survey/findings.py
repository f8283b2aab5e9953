"""What every later stage is told of the frame until the job accepts it by name."""

from __future__ import annotations

from collections.abc import Iterable, Sequence

from generator.survey.damage import Damage
from generator.survey.limits import KEYS, Word
from generator.survey.measures import Measure
from generator.survey.words import by_word, most_twisted, worst
from parts.errors import Finding

FRAME = "frame"
NOT_MEASURED = Finding(
    code="frame-not-measured", level="note", where=FRAME,
    message="no reading says how this frame lies: parts are made for the frame as drawn",
    remedy="ladderframe survey FRAME --form lists the readings to take",
)  # fmt: skip


def code_of(word: Word) -> str:
    """`frame-out-bow`."""
    key = "width" if word == "width" else KEYS[word].replace("_", "-")
    return f"frame-out-{key}"


def findings(damage: Sequence[Damage], suspects: Iterable[Finding], measures: Sequence[Measure]) -> tuple[Finding, ...]:
    """Damage first, then readings not believed, then what is out, then what nobody can tell."""
    found = [d.finding for d in damage]
    found += suspects
    words = by_word(m for m in measures if m.judged and m.word != "thickness left")  # that is told as damage
    found += [_out(word, decides) for word, own in words.items() if (decides := worst(own)) is not None and decides.status == "out"]
    found += _twisted(words.get("twist", []))
    found += _untold(words)
    return tuple(found)


def _out(word: Word, measure: Measure) -> Finding:
    off, by, limit = measure.off_mm or 0.0, measure.uncertainty_mm or 0.0, measure.limit_mm or 0.0
    message = f"{word} is out, {measure.where}: {off:+.1f} mm (+/- {by:.1f} mm), more than {limit:g} mm"
    return Finding(
        code=code_of(word), level=measure.level, where=FRAME, message=message, value=f"{off:.1f} mm", limit=f"{limit:g} mm",
        remedy="see `ladderframe survey` for what to shim or pull first; straighten before anything is welded", source=measure.source,
    )  # fmt: skip


def _twisted(own: Sequence[Measure]) -> list[Finding]:
    """A twist that the readings see and for which nobody gives a limit."""
    seen = [m for m in own if m.limit_mm is None and m.is_seen]
    if not seen:
        return []
    most = most_twisted(seen)
    off, by = most.off_mm or 0.0, most.uncertainty_mm or 0.0
    message = f"twisted {off:+.1f} mm (+/- {by:.1f} mm) at {most.where}: welded like this it stays so"
    return [
        Finding(code="frame-twisted", level="warn", where=FRAME, message=message, value=f"{off:.1f} mm",
                remedy="level the stands and read the heights again; set [limits] twist to what you will have", source=most.source)
    ]  # fmt: skip


def _untold(words: dict[Word, list[Measure]]) -> list[Finding]:
    """What has a limit and cannot be told, in one note."""
    untold = [w for w, own in words.items() if (decides := worst(own)) is not None and decides.status == "cannot tell" and decides.limit_mm]
    if not untold:
        return []
    message = f"cannot tell whether the frame is in: {', '.join(untold)}"
    remedy = "`ladderframe survey` says which reading would"
    return [Finding(code="frame-not-told", level="note", where=FRAME, message=message, remedy=remedy)]
