"""What happens when a job is put onto another frame, in order: read both, carry every part over, check what comes out, write it."""

from __future__ import annotations

from collections.abc import Mapping, Sequence
from dataclasses import asdict, dataclass
from pathlib import Path
from typing import Any

from generator.adapt.fields import shown
from generator.adapt.stage import Adapted
from generator.adapt.stage import adapt as carry
from generator.adapt.tables import sections, verdict
from generator.files.source import DEMO_PREFIX, typed_source
from generator.fit.frame_found import built_on
from generator.fit.stage import fit
from generator.inches import faults_told_in
from generator.job import LONGEST_PATH, InputFile, read_job
from generator.kit import build, judged
from generator.output_file import free, write_file
from generator.rules.judge import judge
from generator.show import Section, json_value
from generator.survey.stage import survey
from parts.errors import Finding
from parts.flat import Flat
from parts.frame.frame import Frame
from parts.piece import Piece
from parts.sheet import Vec3
from parts.units import Units


@dataclass(frozen=True, kw_only=True, eq=False)
class Ported:
    """A job on another frame, and what is said of it."""

    job: str
    own: str  #: the frames' names
    other: str
    units: Units
    inputs: tuple[InputFile, ...]
    adapted: Adapted
    findings: tuple[Finding, ...]  #: of the adapted job on the other frame
    sections: tuple[Section, ...]
    notes: tuple[str, ...]
    out: Path | None


def adapt(job: str, *, frame: str, out: Path | None = None) -> Ported:
    """Put `job` onto `frame`, and write the adapted job to `out`.

    Args:
        job: a path, or `demo:NAME`.
        frame: the other frame, likewise.
        out: a file that is not there yet; None: nothing is written.

    Raises:
        BadInput: with every fault of the three files.
        CannotWrite: something is at `out`, or it cannot be written.
    """
    if out is not None:
        free(out)
    read = read_job(job)
    onto = read_job(job, frame)
    shop = read.job.shop

    def ruled(pieces: Sequence[Piece], flats: Sequence[Flat], where: Frame) -> tuple[Finding, ...]:
        return judge(pieces, flats, where, shop).findings

    own, other = _as_found(read.frame), _as_found(onto.frame)
    reference, notes = _reference(frame, out)
    if notes and (beside := getattr(onto.frame, "readings_file", None)):
        notes = (*notes, f"with it goes {beside}, which it reads")
    with faults_told_in(read.job.units):
        adapted = carry(read.job, typed_source("job", job).text, own.frame, other.frame, reference, ruled)
        kit = build(adapted.job.parts, other.frame, shop, file=read.sources[0].name)
    fits = fit(adapted.job.parts, kit.pieces, other.frame, shop, other.sigmas)
    rules = ruled(kit.pieces, kit.flats, other.frame)
    findings = judged((*other.findings, *kit.findings, *rules, *fits.findings), adapted.job.accept)
    if lost := ", ".join(adapted.no_more_accepted):
        notes = (*notes, f"accepted of {read.frame.name} and not of {onto.frame.name}, so left out: {lost}")
    if out is not None:
        write_file(out, adapted.text.encode())
    return Ported(
        job=read.job.name, own=read.frame.name, other=onto.frame.name, units=read.job.units, inputs=(*read.sources, *onto.sources[1:]),
        adapted=adapted, findings=findings, sections=sections(adapted), notes=notes, out=out,
    )  # fmt: skip


@dataclass(frozen=True, kw_only=True, eq=False)
class _Found:
    """A frame as it was found, which is what parts are built on."""

    frame: Frame
    sigmas: Mapping[str, Vec3]
    findings: tuple[Finding, ...]


def _as_found(frame: Frame) -> _Found:
    found = survey(frame)
    on = built_on(frame, found.points, found.section_readings, found.sigmas, found.off_drawing, read=found.adjusted is not None)
    return _Found(frame=on.frame, sigmas=found.sigmas, findings=(*found.findings, *on.findings))


def _reference(frame: str, out: Path | None) -> tuple[str, tuple[str, ...]]:
    """(what the adapted job calls its frame, what there is to say of that): a job names a frame in its own folder, or a built-in one."""
    if frame.startswith(DEMO_PREFIX):
        return frame, ()
    path = Path(frame).resolve()
    if out is not None:
        home = out.resolve().parent
        name = path.relative_to(home).as_posix() if path.is_relative_to(home) else ""
        if name and len(name) <= LONGEST_PATH and not set(name) & set("\\:"):
            return name, ()
        there = "; a file of that name lies there: see whether it is the same" if (home / path.name).exists() else ""
        return path.name, (f"copy {frame} to {home}: the adapted job names its frame as a file in its own folder{there}",)
    return path.name, ()


def value_of(ported: Ported) -> dict[str, Any]:
    """The result for a program."""
    return {
        "job": ported.job,
        "frame": ported.own,
        "other_frame": ported.other,
        "inputs": [asdict(s) for s in ported.inputs],
        "fits": ported.adapted.fits,
        "parts": [
            {
                "id": c.part.id,
                "verdict": verdict(c),
                "changes": [
                    {"parameter": x.spot.shown, "before": shown(x.spot.value), "now": shown(x.value), "why": x.why} for x in c.changes
                ],
                "reasons": list(c.reasons),
                "remedies": [f.remedy for f in c.after.faults if f.remedy],
                "tried": list(c.tried),
                "builds": c.builds,
                "new_stops": [asdict(f) for f in c.new_stops],
            }
            for c in ported.adapted.carried
        ],
        "sections": json_value(ported.sections),
        "findings": [asdict(f) for f in ported.findings],
        "notes": list(ported.notes),
        "out": None if ported.out is None else str(ported.out),
        "text": ported.adapted.text,
    }
