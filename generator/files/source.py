"""Reads an input file whole: only a regular file, only up to a size, never waiting for a pipe or a device."""

from __future__ import annotations

import hashlib
import os
import stat
from dataclasses import dataclass, replace
from pathlib import Path, PureWindowsPath

from generator.files.nearest import nearest_hint
from parts.errors import BadInput, Fault, quoted

LARGEST_BYTES = 4 * 1024 * 1024
LONGEST_LABEL = 200
DEMO_PREFIX = "demo:"
DEMO_FOLDER = Path(__file__).resolve().parent.parent / "demo"
UTF16_MARKS = (b"\xff\xfe", b"\xfe\xff")


@dataclass(frozen=True, kw_only=True)
class Wanted:
    """What a file ought to be, for the remedies of one that is not."""

    begins: str
    form: str
    size: str


TOML = Wanted(
    begins="a file begins with format = 1, name and units", form="a TOML file is wanted here",
    size="a frame or job file is a few kilobytes of TOML",
)  # fmt: skip
SHEET = Wanted(
    begins="a sheet begins with a line of column names", form="a sheet as CSV text is wanted here: spreadsheet programs save as CSV, UTF-8",
    size="a survey of a frame is a few hundred lines",
)  # fmt: skip


@dataclass(frozen=True, kw_only=True)
class Source:
    """An input file as it was read. `label` is what messages call it, `name` carries no folder, so records do not depend on one."""

    label: str
    name: str
    path: Path
    sha256: str
    text: str


def read_source(path: Path, label: str | None = None, wanted: Wanted = TOML) -> Source:
    """The file at `path`, decoded. Raises `BadInput` with one fault that names the file."""
    label = quoted(str(path), LONGEST_LABEL) if label is None else quoted(label, LONGEST_LABEL)
    data = _read_bytes(path, label, wanted)
    if not data.strip():
        raise _refusal(label, "is empty", wanted.begins)
    if data.startswith(UTF16_MARKS):
        raise _refusal(label, "is UTF-16 text", "save it as UTF-8")
    if b"\0" in data:
        raise _refusal(label, "is not a text file", wanted.form)
    try:
        text = data.decode("utf-8-sig")
    except UnicodeDecodeError as error:
        line = data.count(b"\n", 0, error.start) + 1
        raise _refusal(label, f"is not UTF-8 text (line {line}, byte {error.start + 1} of the file)", "save it as UTF-8") from None
    name = label if label.startswith(DEMO_PREFIX) else quoted(path.name, LONGEST_LABEL)  # a name need not even be text on every system
    return Source(label=label, name=name, path=path, sha256=hashlib.sha256(data).hexdigest(), text=text)


def demo_path(kind: str, reference: str) -> Path:
    """Where the demo's `kind` ("frame" or "job") file lies that `demo:NAME` means. Raises `BadInput` that offers the nearest name."""
    wanted = reference.removeprefix(DEMO_PREFIX)
    known = {p.name.removeprefix(f"{kind}-").removesuffix(".toml"): p for p in sorted(DEMO_FOLDER.glob(f"{kind}-*.toml"))}
    if wanted in known:
        return known[wanted]
    hint = nearest_hint(wanted, known) or f"the built-in ones are {', '.join(known) or 'none'}"
    raise BadInput(Fault(where="", field=kind, value=f'"{quoted(reference)}"', limit=f"no built-in {kind} has this name", remedy=hint))


def typed_source(kind: str, given: str | Path) -> Source:
    """The file that was typed on the command line: `demo:NAME`, or a path that may lie anywhere."""
    if str(given).startswith(DEMO_PREFIX):
        return read_source(demo_path(kind, str(given)), str(given))
    return read_source(Path(given))


def named_source(kind: str, given: str, folder: Path) -> Source:
    """The file that another file in `folder` names: `demo:NAME`, or a plain relative path that stays in that folder.

    Raises:
        BadInput: the path leads out (also by a symbolic link), or the file cannot be read.
    """
    if given.startswith(DEMO_PREFIX):
        return typed_source(kind, given)
    remedy = f"put the {kind} file beside the file that names it, or choose another on the command line, where it may lie anywhere"
    return _beside(kind, given, folder, TOML, remedy)


def sheet_source(key: str, given: str, folder: Path) -> Source:
    """The sheet that a file in `folder` names in its key `key`: a plain relative path that stays in that folder.

    Raises:
        BadInput: as `named_source`.
    """
    return _beside(key, given, folder, SHEET, "put the sheet beside the file that names it, and write its bare name")


def _beside(kind: str, given: str, folder: Path, wanted: Wanted, remedy: str) -> Source:
    slip = _path_slip(given)
    if slip:
        raise _path_fault(kind, given, slip, remedy)
    try:
        home = folder.resolve(strict=True)
        path = (home / given).resolve()
    except (OSError, RuntimeError, ValueError) as error:  # a loop of links is a RuntimeError in Python 3.11 and 3.12
        raise _path_fault(kind, given, f"cannot be followed: {quoted(str(error))}", remedy) from None
    if not path.is_relative_to(home):
        raise _path_fault(kind, given, "leads out of the folder by a link", remedy)
    try:
        return read_source(path, given, wanted)
    except BadInput as error:  # told at the key that names the file: that is where the slip may be
        raise BadInput(replace(f, field=kind, value=f'"{quoted(given)}"', file="") for f in error.faults) from None


def _path_slip(given: str) -> str:
    if not given.isprintable() or not given.strip():
        return "is not a file name"
    if "\\" in given or ":" in given:
        return "may hold neither \\ nor :; folders are parted by /"
    if given.startswith(("/", "~")) or PureWindowsPath(given).is_absolute():
        return "must be relative to the folder of the file that names it"
    return "may not lead out of the folder" if ".." in given.split("/") else ""


def _path_fault(kind: str, given: str, limit: str, remedy: str) -> BadInput:
    return BadInput(Fault(where="", field=kind, value=f'"{quoted(given)}"', limit=limit, remedy=remedy))


def _read_bytes(path: Path, label: str, wanted: Wanted) -> bytes:
    try:
        # Opening a device can do something and opening a pipe can wait, so the kind is looked at before and, for a race, after.
        _demand_regular(os.stat(path), label, wanted)
        handle = os.open(path, os.O_RDONLY | getattr(os, "O_NONBLOCK", 0) | getattr(os, "O_BINARY", 0) | getattr(os, "O_CLOEXEC", 0))
        with open(handle, "rb") as stream:
            _demand_regular(os.fstat(handle), label, wanted)
            data = stream.read(LARGEST_BYTES + 1)  # a file may grow, and some report no size
    except BadInput:  # is a ValueError too
        raise
    except FileNotFoundError:
        raise _refusal(label, "does not exist", "look at the spelling and at the folder") from None
    except PermissionError:
        raise _refusal(label, "may not be read", "you have no permission to read it") from None
    except (OSError, ValueError) as error:
        reason = (error.strerror if isinstance(error, OSError) else None) or str(error)
        raise _refusal(label, f"cannot be read: {quoted(reason)}", "") from None
    if len(data) > LARGEST_BYTES:
        raise _oversize(label, len(data), wanted)
    return data


def _demand_regular(status: os.stat_result, label: str, wanted: Wanted) -> None:
    mode = status.st_mode
    if stat.S_ISDIR(mode):
        raise _refusal(label, "is a folder", "name the file in it")
    if not stat.S_ISREG(mode):
        raise _refusal(label, "is a pipe, socket or device", "name a regular file")
    if status.st_size > LARGEST_BYTES:
        raise _oversize(label, status.st_size, wanted)


def _oversize(label: str, size: int, wanted: Wanted) -> BadInput:
    limit = f"is {size / 1024 / 1024:.1f} MB or more; {LARGEST_BYTES // 1024 // 1024} MB is the most that is read"
    return _refusal(label, limit, wanted.size)


def _refusal(label: str, limit: str, remedy: str) -> BadInput:
    return BadInput(Fault(where="", field="", limit=limit, remedy=remedy, file=label))
