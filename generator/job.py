"""The job file: which frame, what the shop can do, which parts, and what the builder accepts with a reason. Reads it with its frame."""

from __future__ import annotations

import re
from dataclasses import dataclass, replace
from pathlib import Path
from typing import Any, ClassVar, Literal, NamedTuple

from generator.files.model import model_of
from generator.files.schema import Schema, file_schema
from generator.files.source import DEMO_PREFIX, Source, named_source, sheet_source, typed_source
from generator.files.toml_text import parse
from generator.inches import faults_told_in
from generator.readings_file import Sheet, read_sheet
from parts import spec
from parts.errors import BadInput, Fault, quoted
from parts.families import FAMILIES
from parts.frame.frame import Frame
from parts.shop import Shop
from parts.units import Units

LONGEST_PATH = 200
Role = Literal["job", "frame", "readings"]
UNITS: tuple[Units, ...] = ("mm", "in")
#: The line that names the frame, in a job file that does not parse.
_FRAME_LINE = re.compile(r"""^[ \t]*frame[ \t]*=[ \t]*(?:"([^"\\\n]{1,200})"|'([^'\n]{1,200})')[ \t]*(?:#.*)?$""", re.MULTILINE)
_INCHES_LINE = re.compile(r"""^[ \t]*units[ \t]*=[ \t]*["']in["']""", re.MULTILINE)  #: in a job file that may not parse


@dataclass(frozen=True, kw_only=True)
class Accept:
    """A finding that the builder accepts, with the reason; both are recorded in the manifest."""

    UNIQUE: ClassVar[tuple[str, ...]] = ("code",)

    code: str = spec.text("the finding's code, as it is printed; one of the frame's ends in the name of what is damaged", longest=100)
    why: str = spec.text("the reason, in words that still say something in ten years", longest=500)

    def __post_init__(self) -> None:
        if not self.why.strip():
            raise BadInput(Fault(where="", field="why", value='""', limit="must not be empty", remedy="write the reason"))


@dataclass(frozen=True, kw_only=True)
class Job:
    """One job file. `parts` holds one object of a family for each `[[part]]`, in the order of the file."""

    format: int = spec.integer("the form of the file", least=1, most=1)
    name: str = spec.text("what the job is, in a few words", longest=100)
    units: Units = spec.choice("what a bare length counts", ("mm", "in"))
    frame: str = spec.text('the frame file beside the job file, or "demo:NAME" for a built-in one', longest=LONGEST_PATH)
    shop: Shop = spec.table(Shop, "what the shop can do", default=Shop())
    parts: tuple[Any, ...] = spec.variants("family", FAMILIES, "the parts to make", key="part")
    accept: tuple[Accept, ...] = spec.tables(Accept, "findings that are accepted, each with its reason")


@dataclass(frozen=True, kw_only=True)
class InputFile:
    """A file that went into a run, for the manifest. `name` holds no folder."""

    role: Role
    name: str
    sha256: str


class JobRead(NamedTuple):
    """A job, the frame it is for, and the files both came from."""

    job: Job
    frame: Frame
    sources: tuple[InputFile, ...]


class FrameRead(NamedTuple):
    """A frame, and the files it came from: its own, and its sheet of readings where it names one."""

    frame: Frame
    sources: tuple[InputFile, ...]


def read_job(path: str | Path, frame_override: str | Path | None = None) -> JobRead:
    """The job at `path` (a path, or `demo:NAME`) with its frame, or with the frame `frame_override` in place of its own.

    The frame that a job names must lie in the job's folder; what is typed, `path` and `frame_override`, may lie anywhere.

    Raises:
        BadInput: every fault of both files. A file that cannot be read or parsed is one fault, and the other's are still listed.
    """
    faults: list[Fault] = []
    job_source, frame_source = None, None
    job: Job | None = None
    reference: str | None = None
    try:
        job_source = typed_source("job", path)
    except BadInput as error:
        faults += error.faults
    else:
        job, reference = _job_of(job_source, faults)
    try:
        if frame_override is not None:
            frame_source = typed_source("frame", frame_override)
        elif job_source is not None and reference is not None:
            frame_source = named_source("frame", reference, job_source.path.parent)
    except BadInput as error:
        faults += [f.in_file(job_source.label) if job_source is not None and frame_override is None else f for f in error.faults]
    read = _frame_of(frame_source, faults) if frame_source is not None else None
    if faults or job is None or read is None or job_source is None:
        with faults_told_in("in" if job_source is not None and _INCHES_LINE.search(job_source.text) else "mm"):
            raise BadInput(faults)
    return JobRead(job, read.frame, (_input("job", job_source), *read.sources))


def read_frame(path: str | Path) -> Frame:
    """The frame at `path`, a path or `demo:NAME`, with its sheet of readings. Raises `BadInput` with every fault of both files."""
    return read_frame_files(path).frame


def read_frame_files(path: str | Path) -> FrameRead:
    """The same, with the files that it came from."""
    faults: list[Fault] = []
    read = _frame_of(typed_source("frame", path), faults)
    if read is None:
        raise BadInput(faults)
    return read


def schemas() -> dict[str, Schema]:
    """JSON Schemas of the two kinds of file."""
    return {"job": file_schema(Job, "ladderframe job file"), "frame": file_schema(Frame, "ladderframe frame file")}


def _job_of(source: Source, faults: list[Fault]) -> tuple[Job | None, str | None]:
    """The job, and the frame it names as far as that can be told from a faulty file."""
    try:
        raw = parse(source)
    except BadInput as error:
        faults += error.faults
        line = _FRAME_LINE.search(source.text)
        return None, (line[1] or line[2]) if line else None
    if "rail" in raw and "part" not in raw:
        limit, remedy = "is a frame file, not a job file", "name the job file; a frame goes into its key frame, or behind --frame"
        faults.append(Fault(where="", field="job", value=quoted(source.label), limit=limit, remedy=remedy))
        return None, None
    job = model_of(Job, raw, source.label)
    named = raw.get("frame")
    reference = named if isinstance(named, str) and len(named) <= LONGEST_PATH else None
    if isinstance(job, Job):
        return job, reference
    faults += job
    return None, reference


def _frame_of(source: Source, faults: list[Fault]) -> FrameRead | None:
    """The frame with the readings of its sheet, or None and every fault of both files in `faults`."""
    try:
        raw = parse(source)
    except BadInput as error:
        faults += error.faults
        return None
    found: list[Fault] = []
    frame = model_of(Frame, raw, source.label)
    sources = [_input("frame", source)]
    sheet: Sheet | None = None
    named = raw.get("readings_file")
    if isinstance(named, str) and len(named) <= LONGEST_PATH:
        try:
            sheet_file = sheet_source("readings_file", named, source.path.parent)
        except BadInput as error:
            found += [f.in_file(source.label) for f in error.faults]
        else:
            sources.append(_input("readings", sheet_file))
            sheet_file = replace(sheet_file, label=_label_beside(source, named))
            sheet = read_sheet(sheet_file, next((u for u in UNITS if u == raw.get("units")), None))
    if sheet is not None:
        bound: tuple[Fault, ...] = ()
        if isinstance(frame, Frame):
            try:
                frame = replace(frame, readings=(*frame.readings, *sheet.readings))
            except BadInput as error:
                bound = error.faults
        found += sheet.told(bound)
    if isinstance(frame, Frame) and not found:
        return FrameRead(frame, tuple(sources))
    faults += [*(() if isinstance(frame, Frame) else frame), *found]
    return None


def _label_beside(frame: Source, named: str) -> str:
    """What messages call a file that lies beside the frame file: by the same path, as two frames may have sheets of one name."""
    if frame.label.startswith(DEMO_PREFIX):
        return quoted(named, LONGEST_PATH)
    return quoted(str(Path(frame.label).parent / named), LONGEST_PATH)


def _input(role: Role, source: Source) -> InputFile:
    return InputFile(role=role, name=source.name, sha256=source.sha256)
