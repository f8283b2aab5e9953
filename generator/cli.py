"""The command line: reads what was typed, calls the pipeline, prints the result, sets the exit code. Nothing is computed here.

Exit codes: 0 done; 1 a finding of level stop, or something asked for that was left out; 2 bad input or usage; 3 could not write;
130 interrupted.
"""

from __future__ import annotations

import contextlib
import io
import json
import os
import sys
from collections.abc import Sequence
from dataclasses import asdict
from pathlib import Path
from typing import Any, TextIO

import click

from generator.told import MOST_SHOWN, finding_lines, head, made_lines, ported_lines, result_json, shell_word, surveyed_lines
from parts.errors import BadInput, Finding

DONE, STOPPED, BAD_INPUT, NOT_WRITTEN, INTERRUPTED = 0, 1, 2, 3, 130
TRACEBACK_VARIABLE = "LADDERFRAME_TRACEBACK"
OUT_STEM = "ladderframe"
LONGEST_STEM = 100  #: bytes of a default folder's name that come from the job's; file systems count bytes


json_option = click.option("--json", "as_json", is_flag=True, help="Print one JSON document instead of text.")
frame_option = click.option("--frame", metavar="FRAME", help="Put the job on another frame: a file, or demo:NAME.")
only_option = click.option("--only", metavar="ID", multiple=True, help="Only this part of the job; may be given again.")
out_option = click.option(
    "--out", metavar="DIR", type=click.Path(path_type=Path), help=f"Where to write. Default: {OUT_STEM}-JOB in the current folder."
)
solids_option = click.option("--no-solids", is_flag=True, help="Leave out the STEP models; everything else is made.")


@click.group(context_settings={"help_option_names": ["-h", "--help"], "max_content_width": 110})
@click.version_option(package_name="ladderframe", message="ladderframe %(version)s")
def cli() -> None:
    """From the dimensions of a vehicle's frame to steel that fits it: DXF flat patterns for the cutting shop, STEP models to
    look at, and the lists for cutting, bending, drilling and buying.

    Start with `ladderframe demo`, then `ladderframe new DIR`.
    """


@cli.command(short_help="Make the kit of the built-in example.")
@frame_option
@out_option
@only_option
@solids_option
@json_option
def demo(frame: str | None, out: Path | None, only: tuple[str, ...], no_solids: bool, as_json: bool) -> int:
    """Make the kit of the built-in example: an invented orchard flatbed.

    The same job goes onto the other built-in frames:

    \b
    --frame demo:river-wagon   in inches; kicked, swept and tapered
    --frame demo:mill-pickup   its sides differ
    --frame demo:orchard-flatbed-unknown-steel   what is refused when nobody knows the steel
    """
    from generator.pipeline import DEMO_JOB

    return _make(DEMO_JOB, frame, out, only, no_solids, as_json)


@cli.command(short_help="Write a starter job and frame file into DIR.")
@click.argument("folder", metavar="DIR", type=click.Path(path_type=Path))
@json_option
def new(folder: Path, as_json: bool) -> int:
    """Write a commented starter job and frame file into DIR, ready to be made and then changed to your own."""
    from generator.starter import write_starter

    written = write_starter(folder)
    job = folder / written[0]
    _say(as_json, {"written": [str(folder / n) for n in written]}, [
        *(f"wrote {folder / n}" for n in written),
        f"next: ladderframe make {shell_word(job)}",
    ])  # fmt: skip
    return DONE


@cli.command(short_help="Read, validate and judge JOB; writes nothing.")
@click.argument("job", metavar="JOB")
@frame_option
@only_option
@json_option
def check(job: str, frame: str | None, only: tuple[str, ...], as_json: bool) -> int:
    """Read and validate JOB and its frame and list what a fabricator must judge. Writes nothing."""
    from generator.pipeline import check as run
    from generator.show import text_lines

    checked = run(job, frame=frame, only=only)
    code = _exit_code(checked.findings)
    value = {**result_json(checked, checked.findings, checked.sections), "exit_code": code}
    units = checked.read.job.units
    lines = [head(checked), "", *text_lines((*checked.sections[:1], *checked.fits), units), "", *finding_lines(checked.findings, units)]
    _say(as_json, value, lines)
    return code


@cli.command(short_help="Put JOB onto another frame, with what has to change.")
@click.argument("job", metavar="JOB")
@click.option("--frame", metavar="OTHER", required=True, help="The frame that it goes onto: a file, or demo:NAME.")
@click.option("--out", metavar="FILE", type=click.Path(path_type=Path), help="Where to write the adapted job. Default: nowhere.")
@json_option
def adapt(job: str, frame: str, out: Path | None, as_json: bool) -> int:
    """Build every part of JOB on its own frame and on OTHER and tell what carries over, what shifts, what no longer fits, and
    the nearest change that makes it fit.

    With --out the adapted job is written: JOB's own text with what changed replaced, each change marked, and parts that do
    not fit commented out. It is never written over a file that is there.
    """
    from generator.adapted import adapt as run
    from generator.adapted import value_of

    ported = run(job, frame=frame, out=out)
    code = _exit_code(ported.findings, refused=not ported.adapted.fits)
    _say(as_json, {**value_of(ported), "exit_code": code}, ported_lines(ported))
    return code


@cli.command(short_help="Make JOB: DXF, STEP, tables, manifest.")
@click.argument("job", metavar="JOB")
@frame_option
@out_option
@only_option
@solids_option
@json_option
def make(job: str, frame: str | None, out: Path | None, only: tuple[str, ...], no_solids: bool, as_json: bool) -> int:
    """Make JOB: DXF flat patterns, STEP models, the assembly on its frame, tables and a manifest.

    The folder is replaced as a whole, and only when everything has been made and read back. A folder that holds anything which
    its manifest does not list is left alone.
    """
    return _make(job, frame, out, only, no_solids, as_json)


@cli.command(short_help="Is FRAME straight, and what moved since; the form to measure it.")
@click.argument("frame", metavar="FRAME")
@click.option("--set", "set_name", metavar="NAME", help="The readings to judge. Default: the last ones as found or straightened.")
@click.option("--against", metavar="OLD", help="What moved since OLD: an earlier set of FRAME, or another file of the same frame.")
@click.option("--form", is_flag=True, help="The form to fill in: which readings to take, in which order, and what each should be.")
@click.option("--out", metavar="DIR", type=click.Path(path_type=Path), help="Where pictures and tables go, or the form. Default: nowhere.")
@json_option
def survey(frame: str, set_name: str | None, against: str | None, form: bool, out: Path | None, as_json: bool) -> int:
    """Judge the readings of FRAME, a file or demo:NAME: damage first, then whether it is straight, which reading is not to be
    believed, what these readings cannot tell and which one would, what to shim or pull first.

    Nothing is written without --out. With --form and --out, readings.csv is the form: fill in its values, put it beside the
    frame file and name it there.
    """
    from generator.surveyed import survey as run
    from generator.surveyed import value_of

    done = run(frame, set_name=set_name, against=against, form=form, out=out)
    code = _exit_code(done.findings)
    _say(as_json, {**value_of(done), "exit_code": code}, surveyed_lines(done))
    return code


@cli.command(short_help="List the part families and their parameters.")
@click.argument("family", required=False)
@json_option
def kinds(family: str | None, as_json: bool) -> int:
    """List every part family, or one, with its parameters, units and ranges."""
    from generator.kinds import kinds as run
    from generator.show import json_value, text_lines

    sections = run(family)
    _say(as_json, {"sections": json_value(sections)}, text_lines(sections))
    return DONE


@cli.command(short_help="Print the JSON Schema of job or frame files.")
@click.argument("file", type=click.Choice(["job", "frame"]), default="job")
@json_option
def schema(file: str, as_json: bool) -> int:
    """Print the JSON Schema of job or frame files, for editors that complete and check as you type."""
    from generator.job import schemas

    del as_json  # a schema is JSON either way
    _echo(json.dumps(schemas()[file], indent=1))
    return DONE


def _make(job: str, frame: str | None, out: Path | None, only: tuple[str, ...], no_solids: bool, as_json: bool) -> int:
    import logging

    from generator.pipeline import make as run

    logging.lastResort = logging.NullHandler()  # what a library warns programmers of (ezdxf: no home for its cache) is not for this user
    progress = _Progress()
    target = out if out is not None else _default_out(job, frame, only)
    try:
        made = run(job, frame=frame, out=target, only=only, solids=not no_solids, progress=progress)
    finally:
        progress.clear()
    code = _exit_code(made.findings, made.refused)
    files = sorted(p.relative_to(target).as_posix() for p in target.rglob("*") if p.is_file())
    value = {
        **result_json(made.checked, made.findings, made.sections),
        "out": str(target),
        "files": files,
        "left_out": list(made.left_out),
        "notes": list(made.notes),
        "exit_code": code,
    }
    _say(as_json, value, made_lines(made, files))
    return code


def _default_out(job: str, frame: str | None, only: Sequence[str]) -> Path:
    """A folder of its own for each job, frame and selection, so that no run replaces another's files unasked."""
    name = _stem(job)
    if name == "job":  # every `new` writes one: its folder tells them apart
        name = _stem(Path(job).resolve().parent.name) or name
    name += f"-on-{_stem(frame)}" if frame is not None else ""
    name += "-only-" + "-".join(only) if only else ""
    return Path(f"{OUT_STEM}-{name.encode()[:LONGEST_STEM].decode(errors='ignore')}")


def _stem(name: str) -> str:
    stem = Path(name.removeprefix("demo:")).name.removesuffix(".toml").removeprefix("job-").removeprefix("frame-")
    kept = "".join(c if c.isalnum() or c in "-_." else "-" for c in stem).strip("-.")
    return kept or "job"


def _exit_code(findings: Sequence[Finding], refused: bool = False) -> int:
    return STOPPED if refused or any(f.level == "stop" for f in findings) else DONE


def _say(as_json: bool, value: dict[str, Any], lines: Sequence[str]) -> None:
    _echo(_json(value) if as_json else "\n".join(lines))


class _CannotPrint(Exception):
    """What was to be said could not be printed: its place is full, say. What was to be done is done, or the fault stands."""


def _echo(text: str, *, err: bool = False) -> None:
    try:
        click.echo(text, err=err)
    except BrokenPipeError:
        raise
    except OSError as error:
        raise _CannotPrint(error.strerror or str(error)) from error


def _json(value: Any) -> str:
    """Escaped where what reads it may not read all of Unicode."""
    return json.dumps(value, indent=1, ensure_ascii="utf" not in (getattr(sys.stdout, "encoding", None) or "").lower())


class _Progress:
    """One line on the terminal that is rewritten as the work goes on; nothing where stderr is not a terminal."""

    def __init__(self) -> None:
        self.shown = False
        self.terminal: bool = getattr(sys.stderr, "isatty", bool)()  # there is no stderr where it was closed before the start

    def __call__(self, text: str) -> None:
        if self.terminal:
            sys.stderr.write(f"\r\x1b[K{text}")
            sys.stderr.flush()
            self.shown = True

    def clear(self) -> None:
        if self.shown:
            sys.stderr.write("\r\x1b[K")
            sys.stderr.flush()


def _bad_input(error: BadInput, as_json: bool) -> int:
    if as_json:
        _echo(_json({"exit_code": BAD_INPUT, "faults": [asdict(f) for f in error.faults]}))
        return BAD_INPUT
    try:
        _print_faults(error)
    except BrokenPipeError:  # the reader, `head` say, has seen enough: the exit code stays
        os.dup2(os.open(os.devnull, os.O_WRONLY), sys.stderr.fileno())
    return BAD_INPUT


def _print_faults(error: BadInput) -> None:
    from generator.inches import told

    count = len(error.faults)
    _echo(f"{count} fault{'s' if count > 1 else ''}, nothing was written:", err=True)
    for fault in error.faults[:MOST_SHOWN]:
        _echo(f"  {told(str(fault), error.units)}", err=True)
    if count > MOST_SHOWN:
        _echo(f"  and {count - MOST_SHOWN} more: --json lists all", err=True)


def _failed(code: int, text: str, as_json: bool) -> int:
    if as_json:
        _echo(_json({"exit_code": code, "error": text}))
    else:
        _echo(text, err=True)
    return code


def main(argv: Sequence[str] | None = None) -> int:
    """Run one command and return its exit code. Whatever goes wrong ends in words, never in a traceback."""
    arguments = list(sys.argv[1:] if argv is None else argv)
    as_json = "--json" in arguments
    for stream in (sys.stdout, sys.stderr):  # a sign that the terminal cannot show must not end a run that has done its work
        if isinstance(stream, io.TextIOWrapper):
            stream.reconfigure(errors="backslashreplace")
    try:
        return _told(arguments, as_json)
    except BrokenPipeError:  # the reader, `head` say, has seen enough
        _hush(sys.stdout)
        return DONE
    except _CannotPrint as error:
        for stream in (sys.stdout, sys.stderr):
            _hush(stream, unless_it_prints=f"cannot print: {error}\n" if stream is sys.stderr else "")
        return NOT_WRITTEN


def _hush(stream: TextIO, unless_it_prints: str = "") -> None:
    """Let what is still to be printed there go nowhere, or the interpreter would try again as it ends."""
    try:
        stream.write(unless_it_prints)
        stream.flush()
    except (OSError, ValueError, AttributeError):  # no attributes: there is no stream where it was closed before the start
        with contextlib.suppress(OSError, ValueError, AttributeError):
            os.dup2(os.open(os.devnull, os.O_WRONLY), stream.fileno())


def _told(arguments: list[str], as_json: bool) -> int:
    try:
        return _run(arguments, as_json)
    except (BrokenPipeError, _CannotPrint):
        raise
    except Exception as error:
        if os.environ.get(TRACEBACK_VARIABLE):
            raise
        kind = type(error).__name__
        text = f"ladderframe itself is at fault ({kind}: {error}); nothing was written. With {TRACEBACK_VARIABLE}=1 set it shows where."
        return _failed(STOPPED, text, as_json)


def _run(arguments: list[str], as_json: bool) -> int:
    from generator.output_folder import CannotWrite

    try:
        code = cli.main(arguments, prog_name="ladderframe", standalone_mode=False)
    except BadInput as error:
        return _bad_input(error, as_json)
    except CannotWrite as error:
        return _failed(NOT_WRITTEN, str(error), as_json)
    except click.exceptions.Abort:
        return _failed(INTERRUPTED, "interrupted: no half-made set is left", as_json)
    except click.ClickException as error:
        if as_json:
            return _failed(BAD_INPUT, error.format_message(), as_json)
        error.show()
        return BAD_INPUT
    return code if isinstance(code, int) else DONE
