"""What is printed of a result: its lines for a terminal, its JSON for a program. Prints nothing itself."""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import asdict
from pathlib import Path
from typing import TYPE_CHECKING, Any

from parts.errors import Finding, quoted

if TYPE_CHECKING:
    from generator.adapted import Ported
    from generator.pipeline import Checked, Made
    from generator.show import Section
    from generator.surveyed import Surveyed
    from parts.units import Units

MOST_SHOWN = 40  #: findings or faults on a terminal; --json and the manifest hold all

#: What a folder of the output holds, for the closing lines; {} is how many files.
CONTENTS = (
    ("dxf/", "flat patterns for the cutting shop: {}"),
    ("step/", "models: each formed part, and assembly.step, the kit on its frame: {}"),
    ("drawings/", "pictures of the formed parts, with their sizes: {}"),
    ("tables/", "lists for cutting, bending, drilling, taking off and buying: {}"),
    ("manifest.json", "all of it, for a program"),
)


def shell_word(path: Path) -> str:
    text = str(path)
    return text if all(c.isalnum() or c in "/\\._-:" for c in text) else f'"{text}"'


def head(checked: Checked) -> str:
    kit, read = checked.kit, checked.read
    count = sum(p.quantity for p in kit.pieces)
    parts = f"{len(kit.pieces)} part{'s' if len(kit.pieces) != 1 else ''}, {count} piece{'s' if count != 1 else ''}"
    return f"{quoted(read.job.name)} on {quoted(read.frame.name)}: {parts}"


def result_json(checked: Checked, findings: Sequence[Finding], sections: Sequence[Section]) -> dict[str, Any]:
    from generator.show import json_value

    return {
        "job": checked.read.job.name,
        "frame": checked.read.frame.name,
        "inputs": [asdict(s) for s in checked.read.sources],
        "findings": [asdict(f) for f in findings],
        "sections": json_value(sections),
    }


def made_lines(made: Made, files: Sequence[str]) -> list[str]:
    from generator.show import text_lines

    units = made.checked.read.job.units
    lines = [head(made.checked), "", f"in {shell_word(made.out)}"]
    for folder, what in CONTENTS:
        count = sum(name.startswith(folder) for name in files)
        if count:
            lines.append(f"  {folder:<15} {what.format(count)}")
    lines += [f"left out: {text}" for text in made.left_out]
    lines += [*made.notes, "", *finding_lines(made.findings, units), "", *text_lines((*made.checked.fits, *made.sections[-1:]), units)]
    return lines


def finding_lines(findings: Sequence[Finding], units: Units) -> list[str]:
    from generator.inches import told
    from generator.kit import together
    from generator.show import wrapped

    if not findings:
        return ["no rule listed here forbids it"]
    findings = together(findings)
    counts = [(sum(f.level == level for f in findings), word) for level, word in (("stop", "stop"), ("warn", "warning"), ("note", "note"))]
    count = ", ".join(f"{n} {word}{'s' if n > 1 else ''}" for n, word in counts if n)
    lines = [f"{count}:", *(line for f in findings[:MOST_SHOWN] for line in wrapped(f"{told(str(f), units)} ({f.code})"))]
    if len(findings) > MOST_SHOWN:
        lines.append(f"  and {len(findings) - MOST_SHOWN} more: --json lists all")
    return lines


def ported_lines(ported: Ported) -> list[str]:
    from generator.show import text_lines

    carried = ported.adapted.carried
    stopped = sum(bool(c.fits and c.new_stops) for c in carried)
    count = f"{sum(c.fits for c in carried)} of {len(carried)} part{'s' if len(carried) != 1 else ''} can be built there"
    count += f", {stopped} of them stopped" if stopped else ""
    lines = [f"{quoted(ported.job)} from {quoted(ported.own)} onto {quoted(ported.other)}: {count}", ""]
    lines += [*text_lines(ported.sections, ported.units), "", "The adapted job on that frame"]
    lines += [*finding_lines(ported.findings, ported.units), ""]
    lines += [*ported.notes, f"wrote {ported.out}" if ported.out is not None else "nothing was written: --out FILE writes the adapted job"]
    if ported.out is not None:
        lines.append(f"next: ladderframe check {shell_word(ported.out)}")
    return lines


def surveyed_lines(done: Surveyed) -> list[str]:
    from generator.show import text_lines

    what = "form" if done.form is not None else "survey"
    lines = [f"{quoted(done.frame.name)}, set {quoted(done.set_name)}: {what}", "", *text_lines(done.sections, done.units, narrow=True)]
    if done.survey is not None:
        lines += ["", *(finding_lines(done.findings, done.units) if done.findings else ["nothing of it asks for a decision"])]
    if done.out is not None:
        lines += ["", f"in {shell_word(done.out)}: {', '.join(done.files)}", *done.notes]
    return lines
