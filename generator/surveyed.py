"""What happens when a frame is surveyed, in order: read it, adjust and judge one set, hold it against another, draw, write."""

from __future__ import annotations

from collections.abc import Iterator, Mapping
from dataclasses import asdict, dataclass, replace
from pathlib import Path
from typing import Any

from generator.cautions import measuring
from generator.files.csv_text import sheet_of
from generator.files.report import Report
from generator.files.source import DEMO_PREFIX, sheet_source, typed_source
from generator.inches import faults_told_in
from generator.job import FrameRead, InputFile, read_frame_files
from generator.manifest import versions
from generator.readings_file import COLUMNS, REQUIRED
from generator.show import Section, csv_bytes, json_value, text_lines
from generator.survey.form import Form
from generator.survey.form import form as form_of
from generator.survey.form_told import additions_toml, form_json, form_sections, readings_csv
from generator.survey.later import Later, later
from generator.survey.readings import chosen_set, set_names
from generator.survey.stage import Survey
from generator.survey.stage import survey as survey_of
from parts.errors import BadInput, Fault, Finding, quoted
from parts.frame.frame import Frame
from parts.units import Units

FORMAT = 1
PLAN, SIDE = "survey-above.svg", "survey-side.svg"
LIBRARIES = ("numpy",)  #: whose version can change a file's bytes


@dataclass(frozen=True, kw_only=True, eq=False)
class Surveyed:
    """What is known of a frame, or the form by which more would be."""

    frame: Frame
    set_name: str
    inputs: tuple[InputFile, ...]
    survey: Survey | None  #: None where the form was asked for
    later: Later | None
    form: Form | None
    findings: tuple[Finding, ...]
    sections: tuple[Section, ...]
    out: Path | None = None
    files: tuple[str, ...] = ()
    notes: tuple[str, ...] = ()

    @property
    def units(self) -> Units:
        return self.frame.units


def survey(
    frame: str, *, set_name: str | None = None, against: str | None = None, form: bool = False, out: Path | None = None
) -> Surveyed:
    """Survey `frame`, or make the form for it, and write what comes of it into `out`.

    Args:
        frame: a path, or `demo:NAME`.
        set_name: the readings to judge; else the last ones of the frame as found or straightened, and of all of them where they are
            held against others.
        against: an earlier set of the same file, or another file of the same frame.
        form: the form to fill in, in place of a survey.
        out: a folder; None: nothing is written.

    Raises:
        BadInput: with every fault of the files.
        CannotWrite: `out` cannot be written.
    """
    if form and against is not None:
        limit, remedy = "is a form to fill in: there is nothing yet to hold against others", "leave one of the two out"
        raise BadInput(Fault(where="", field="--form", limit=limit, remedy=remedy))
    read = read_frame_files(frame)
    with faults_told_in(read.frame.units):
        done = _form(read, set_name) if form else _survey(read, frame, set_name, against)
    return done if out is None else _written(done, out)


def _form(read: FrameRead, set_name: str | None) -> Surveyed:
    name = set_name if set_name is not None else chosen_set(read.frame)
    made = form_of(read.frame, name)
    sections = (*form_sections(made, read.frame.units), measuring(pulled=False))
    return Surveyed(
        frame=read.frame, set_name=name, inputs=read.sources, survey=None, later=None, form=made, findings=(), sections=sections
    )  # fmt: skip


def _survey(read: FrameRead, frame: str, set_name: str | None, against: str | None) -> Surveyed:
    inputs = read.sources
    held: Later | None = None
    if against is None:
        own = survey_of(read.frame, set_name)
    else:
        other, old_set = _other(read, frame, against)
        own = survey_of(read.frame, set_name if set_name is not None else _last(read.frame, old_set, against))
        if other is read and own.set_name == old_set:
            limit, remedy = "is held against itself", "--set NAME says which readings are the later ones"
            raise BadInput(Fault(where="", field="--against", value=quoted(against), limit=limit, remedy=remedy))
        names = set_names(read.frame)
        if other is read and names.index(own.set_name) < names.index(old_set):
            limit = f"was read after '{own.set_name}': the order of the sets in the file is their order in time"
            remedy = f"--set {old_set} --against {own.set_name}"
            raise BadInput(Fault(where="", field="--against", value=quoted(against), limit=limit, remedy=remedy))
        held = later(own, survey_of(other.frame, old_set))
        inputs = tuple(dict.fromkeys((*inputs, *other.sources)))
    out = any(m.status == "out" for m in own.measures)
    sections = (*(held.sections if held is not None else ()), *own.sections, *_blank(read, frame), measuring(pulled=out))
    findings = (*own.findings, *(held.findings if held is not None else ()))
    return Surveyed(
        frame=read.frame, set_name=own.set_name, inputs=inputs, survey=own, later=held, form=None, findings=findings, sections=sections
    )  # fmt: skip


def _blank(read: FrameRead, frame: str) -> Iterator[Section]:
    """How many lines of the sheet of readings have no value yet: a form that is filled in by half."""
    name = read.frame.readings_file
    if name is None:
        return
    report = Report()
    sheet = sheet_of(sheet_source("readings_file", name, typed_source("frame", frame).path.parent).text, COLUMNS, REQUIRED, report)
    count = sum("value" not in row.cells for row in sheet.rows(report)) if sheet is not None else 0
    if count:
        lines = "1 line has" if count == 1 else f"{count} lines have"
        yield Section(title="Not taken yet", notes=(f"{lines} no value in {quoted(name)}, and count for nothing.",))


def _other(read: FrameRead, frame: str, against: str) -> tuple[FrameRead, str]:
    """What `against` means: a set of this file, or another file and the set of it that counts.

    Raises:
        BadInput: it is both, or neither; or the file's faults.
    """
    names = set_names(read.frame)
    is_file = against.startswith(DEMO_PREFIX) or Path(against).is_file()
    if against in names and is_file:
        limit, remedy = "is a set of readings in the frame file, and a file", f"write ./{against} for the file, or rename one of them"
        raise BadInput(Fault(where="", field="--against", value=quoted(against), limit=limit, remedy=remedy))
    if against in names:
        return read, against
    if not is_file and not against.endswith(".toml"):
        known = f"the sets of {quoted(frame)}: {', '.join(names)}" if names else f"{quoted(frame)} has no readings yet"
        limit = "is neither a set of readings in the frame file nor a file"
        raise BadInput(Fault(where="", field="--against", value=quoted(against), limit=limit, remedy=known))
    other = read_frame_files(against)
    return other, chosen_set(other.frame)


def _last(frame: Frame, old: str, given: str) -> str:
    """The last set, in the order of time, that has readings; where `old` is a set of this file too, one after it.

    Raises:
        BadInput: there is none.
    """
    used = {reading.set for reading in frame.readings}
    names = set_names(frame)
    after = [name for name in names[names.index(old) + 1 :] if name in used] if given == old and old in names else []
    if given == old and old in names and not after:
        limit = "is the last set that has readings: there is none after it to hold against it"
        earlier = [name for name in names if name in used and name != old]
        remedy = f"earlier ones: {', '.join(earlier)}" if earlier else "give the later readings a set of their own"
        raise BadInput(Fault(where="", field="--against", value=quoted(given), limit=limit, remedy=remedy))
    return (after or [name for name in names if name in used] or [chosen_set(frame)])[-1]


def _written(done: Surveyed, out: Path) -> Surveyed:
    from generator.output import staged
    from generator.output_folder import TO_FILL_IN

    with staged(out) as staging:
        told = {}
        for name, what, data in _files(done):
            staging.write_bytes(name, data)
            told[name] = what
        content: dict[str, Any] = {
            "format": FORMAT, "frame": done.frame.name, "set": done.set_name, "units": {"frame": done.units, "manifest": "mm, deg"},
            "versions": versions(LIBRARIES), "inputs": [asdict(s) for s in done.inputs], "findings": [asdict(f) for f in done.findings],
            **numbers(done), "files": told,
        }  # fmt: skip
        if done.form is not None:
            content[TO_FILL_IN] = True
        staging.commit(content)
        return replace(done, out=out, files=tuple(told), notes=staging.notes)


def _files(done: Surveyed) -> Iterator[tuple[str, str, bytes]]:
    """(file, what it is, its bytes)."""
    text = "\n".join([*text_lines(done.sections, done.units, narrow=True), ""]).encode()
    if done.form is not None:
        yield "form.txt", "the form, to print", text
        if done.form.legs:
            yield "readings.csv", "the readings to fill in", readings_csv(done.form).encode()
        yield "frame-additions.toml", "what goes with them into the frame file", additions_toml(done.form).encode()
        return
    yield "survey.txt", "the survey, to print", text
    for section in done.sections:
        for table in section.tables:
            yield f"tables/{table.name}.csv", table.title or section.title, csv_bytes(table, done.units)
    if done.survey is not None and done.survey.adjusted is not None:
        from generator.survey.picture_plan import plan_svg
        from generator.survey.picture_side import side_svg

        yield PLAN, "the frame seen from above, what is off enlarged", plan_svg(done.survey, done.later).encode()
        yield SIDE, "both rails seen from the side, what is off enlarged", side_svg(done.survey, done.later).encode()


def numbers(done: Surveyed) -> dict[str, Any]:
    """What a program may want of it: lengths in mm."""
    if done.form is not None:
        return {"form": form_json(done.form)}
    own = done.survey
    assert own is not None
    found: dict[str, Any] = {
        "verdict": own.verdict_text,
        "points": {
            key: {"at_mm": list(own.points[key]), "sigma_mm": list(own.sigmas[key])} for key in own.points
        },
        "measures": [
            {"word": m.word, "where": m.where, "value_mm": m.value_mm, "drawn_mm": m.drawn_mm, "uncertainty_mm": m.uncertainty_mm,
             "limit_mm": m.limit_mm, "status": m.status, "source": m.source, "why": m.why}
            for m in own.measures if m.judged
        ],
        "suspects": [list(s.observations) for s in own.suspects],
    }  # fmt: skip
    if done.later is not None:
        found["against"] = {
            "set": done.later.old.set_name,
            "alike": list(done.later.alike.reasons),
            "moved": list(done.later.moved),
            "points": _movements(done.later),
        }
    return found


def _movements(held: Later) -> Mapping[str, Any]:
    look = held.by_datum
    if look is None:
        return {}
    return {
        key: {"by_mm": list(m.by), "uncertainty_mm": list(m.within), "moved": key in held.moved} for key, m in look.points.items()
    }  # fmt: skip


def value_of(done: Surveyed) -> dict[str, Any]:
    """What `--json` prints, but the exit code."""
    return {
        "frame": done.frame.name, "set": done.set_name, "inputs": [asdict(s) for s in done.inputs],
        "findings": [asdict(f) for f in done.findings], **numbers(done), "sections": json_value(done.sections),
        "out": str(done.out) if done.out is not None else None, "files": list(done.files), "notes": list(done.notes),
    }  # fmt: skip
