"""The table of contents of the program: what happens in a run, in order, as plain typed calls."""

from __future__ import annotations

import contextlib
from collections.abc import Callable, Sequence
from dataclasses import dataclass, replace
from pathlib import Path
from typing import TYPE_CHECKING

from generator.cautions import cautions
from generator.fit.frame_found import built_on
from generator.fit.stage import fit
from generator.inches import faults_told_in
from generator.job import JobRead, read_job
from generator.kit import Kit, build, judged
from generator.rules.judge import judge
from generator.show import Section
from generator.survey.stage import survey
from generator.tables import parts_section
from parts.errors import Finding

if TYPE_CHECKING:
    from generator.kernel.service import Kernel
    from parts.frame.frame import Frame

DEMO_JOB = "demo:orchard-flatbed"
LIBRARIES = ("cadquery", "cadquery-ocp", "ezdxf", "numpy")  #: whose version can change a file's bytes

Progress = Callable[[str], None]


@dataclass(frozen=True, kw_only=True)
class Checked:
    """What a job comes to on its frame, before anything is made."""

    read: JobRead
    frame: Frame  #: what the parts are built on
    kit: Kit
    findings: tuple[Finding, ...]
    sections: tuple[Section, ...]
    fits: tuple[Section, ...] = ()  #: those of them that say how parts fit the rails as found


@dataclass(frozen=True, kw_only=True)
class Made:
    """What a run wrote, and what it says about it."""

    checked: Checked
    out: Path
    findings: tuple[Finding, ...]
    sections: tuple[Section, ...]
    left_out: tuple[str, ...]
    refused: bool  #: something that was asked for is among what was left out
    notes: tuple[str, ...]  #: what the output engine has to say


def check(job: str, *, frame: str | None = None, only: Sequence[str] = ()) -> Checked:
    """Read, validate, build the parts once, judge. Writes nothing.

    Args:
        job: a path, or `demo:NAME`.
        frame: another frame than the job's own, likewise.
        only: ids of parts or pieces; the others are built, as parts may sit on them, and left out.

    Raises:
        BadInput: with every fault of the files and of the parts.
    """
    read = read_job(job, frame)
    found = survey(read.frame)
    on = built_on(
        read.frame, found.points, found.section_readings, found.sigmas, found.off_drawing, read=found.adjusted is not None
    )  # fmt: skip
    lies = on.frame
    with faults_told_in(read.job.units):
        kit = build(read.job.parts, lies, read.job.shop, only=only, file=read.sources[0].name)
    rules = judge(kit.pieces, kit.flats, lies, read.job.shop)
    fits = fit(read.job.parts, kit.pieces, lies, read.job.shop, found.sigmas)
    kit = replace(kit, findings=(*found.findings, *on.findings, *kit.findings, *rules.findings, *fits.findings))
    sections = (parts_section(kit.pieces, kit.flats), *found.told, *fits.sections, *rules.sections, cautions(kit.pieces))
    return Checked(read=read, frame=lies, kit=kit, findings=judged(kit.findings, read.job.accept), sections=sections, fits=fits.sections)


def make(
    job: str,
    *,
    out: Path,
    frame: str | None = None,
    only: Sequence[str] = (),
    solids: bool = True,
    progress: Progress = lambda text: None,
) -> Made:
    """Make the whole set in `out`, or leave `out` as it is. Arguments as `check`.

    Raises:
        BadInput: as `check`.
        CannotWrite: `out` cannot be written.
    """
    from generator.kernel.service import Kernel

    with Kernel.start() if solids else contextlib.nullcontext() as kernel:  # loads while the job is read
        progress("reading")
        checked = check(job, frame=frame, only=only)
        return _made(checked, kernel, out, progress)


def _made(checked: Checked, kernel: Kernel | None, out: Path, progress: Progress) -> Made:
    from generator.cutting import cut_files
    from generator.draw.picture import picture_svg
    from generator.manifest import manifest
    from generator.output import staged
    from generator.record import records_of
    from generator.show import csv_bytes
    from generator.solids import make_solids
    from generator.tables import sections as table_sections

    read, kit = checked.read, checked.kit
    with staged(out) as staging:
        progress("flat patterns")
        cuts = cut_files(kit.pieces, kit.flats, read.job.shop)
        for cut in cuts:
            staging.write_bytes(cut.name, cut.data)
        drawings = {f"drawings/{p.id}.svg": picture_svg(p.part, p.id, units=read.job.units) for p in kit.pieces}
        for name, text in drawings.items():
            staging.write_text(name, text)
        made = make_solids(kernel, staging, kit.pieces, kit.flats, checked.frame, progress)
        records = records_of(
            kit.pieces, kit.flats, [*drawings], [(c.name, c.least_hole_mm) for c in cuts], made.files, made.volumes_mm3
        )  # fmt: skip
        tables = table_sections(records, checked.frame)
        lists = {f"tables/{table.name}.csv": table for section in (*tables, *checked.fits) for table in section.tables}
        for name, table in lists.items():
            staging.write_bytes(name, csv_bytes(table, read.job.units))
        found = (*kit.findings, *(f for c in cuts for f in c.findings), *made.findings)
        findings = judged(found, read.job.accept)
        progress("reading back")
        staging.commit(
            manifest(
                job=read.job.name, frame=read.frame.name, units=read.job.units, dxf_units=read.job.shop.dxf_units, sources=read.sources,
                libraries=LIBRARIES, findings=findings, accepted=read.job.accept, left_out=made.left_out, records=records,
                tables={name: table.title for name, table in lists.items()}, assembly=made.assembly,
            )
        )  # fmt: skip
        return Made(
            checked=checked, out=out, findings=findings, sections=(*tables, *checked.sections[1:]), left_out=made.left_out,
            refused=made.refused,
            notes=staging.notes,
        )  # fmt: skip
