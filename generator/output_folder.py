"""Where a set of files goes: the folder, the names beside it, and what lies there already."""

from __future__ import annotations

import errno
import hashlib
import json
import os
import stat
from collections.abc import Iterable, Iterator, Mapping
from dataclasses import dataclass
from pathlib import Path, PurePosixPath
from typing import Any

from parts.errors import quoted

PROGRAM = "ladderframe"
MARKER = ".ladderframe-staging"  #: in a staging folder until its manifest is in it
LONGEST_MANIFEST = 64 << 20  #: bytes
MOST_FILES_NAMED = 10
TO_FILL_IN = "to_fill_in"  #: a manifest's key: true where the set is a form that people write into
#: What file managers leave in every folder that is looked at. Nobody's work, so it does not stop a run.
LITTER = frozenset({".DS_Store", "Thumbs.db", "desktop.ini", ".directory"})

_REASONS = {
    errno.ENOSPC: "no space is left on its disk",
    errno.EDQUOT: "the disk quota is used up",
    errno.EFBIG: "a file would be larger than is allowed here",
    errno.EROFS: "its file system is read-only",
    errno.EACCES: "it may not be written by this user",
    errno.EPERM: "it may not be written by this user",
    errno.EBUSY: "it is in use (a mount point, or open in another program)",
    errno.EXDEV: "its file system does not let the folder be renamed; give another folder",
    errno.ENAMETOOLONG: "the name is too long",
    errno.ENOENT: "the folder it is in does not exist; make that first",
    errno.ENOTDIR: "the folder it is in is not a folder",
    errno.ELOOP: "its links lead round in a circle",
    errno.ENOTEMPTY: "files appeared in it during the run",
    errno.EIO: "the disk reports an error",
}


class CannotWrite(Exception):
    """The output cannot be written, and what was there is as it was. The command ends with code 3.

    Attributes:
        reason: a phrase without the path.
        place: what it is about, as shown.
        files: names of the files in the way, all of them, sorted; `str()` shows the first few.
    """

    exit_code = 3

    def __init__(self, reason: str, *, place: Path | str, files: Iterable[str] = ()) -> None:
        self.reason = reason
        self.place = str(place)
        self.files = tuple(sorted(files))
        super().__init__(reason)

    def __str__(self) -> str:
        named = ", ".join(quoted(name) for name in self.files[:MOST_FILES_NAMED])
        more = len(self.files) - MOST_FILES_NAMED
        tail = f": {named}" + (f" and {more} more" if more > 0 else "") if named else ""
        return f"cannot write {quoted(self.place, 300)}: {self.reason}{tail}"


def cannot_write(error: OSError, place: Path | str) -> CannotWrite:
    """The system's refusal in our words."""
    reason = _REASONS.get(error.errno or 0) or (error.strerror or type(error).__name__).lower()
    return CannotWrite(reason, place=place)


@dataclass(frozen=True, kw_only=True)
class Holding:
    """What a folder holds."""

    entries: int  #: files and folders, litter included
    foreign: tuple[str, ...]  #: relative paths that no manifest of ours lists; a folder ends in "/"
    manifest: bool  #: whether a manifest of ours is there
    filled_in: tuple[str, ...] = ()  #: files of a form that are no longer as they were written


@dataclass(frozen=True, kw_only=True)
class Place:
    """The output folder by its real path, and the names beside it that belong to it."""

    shown: str  #: as the user wrote it
    real: Path  #: links resolved
    manifest_name: str

    @staticmethod
    def of(out_dir: Path, manifest_name: str) -> Place:
        try:
            real = Path(os.path.realpath(out_dir))
        except (OSError, ValueError) as error:  # ValueError: a NUL in the name
            raise CannotWrite("this cannot be the name of a folder", place=out_dir) from error
        return Place(shown=str(out_dir), real=real, manifest_name=manifest_name)

    @property
    def lock(self) -> Path:
        return self.real.with_name(f".{self.real.name}.lock")

    @property
    def old(self) -> Path:
        """Where the old set waits for a moment on a system that cannot exchange two folders."""
        return self.real.with_name(f".{self.real.name}.old")

    def staging(self, pid: int) -> Path:
        return self.real.with_name(f"{self._staging_stem}{pid}")

    def leftovers(self) -> Iterator[tuple[Path, int]]:
        """Every staging folder beside, with the id of the process that made it."""
        for entry in sorted(os.listdir(self.real.parent)):
            digits = entry.removeprefix(self._staging_stem)
            if digits != entry and digits.isascii() and digits.isdigit():
                path = self.real.with_name(entry)
                if path.is_dir() and not path.is_symlink():
                    yield path, int(digits)

    @property
    def _staging_stem(self) -> str:
        return f".{self.real.name}.new-"

    def refuse(self, reason: str, files: Iterable[str] = ()) -> CannotWrite:
        return CannotWrite(reason, place=self.shown, files=files)

    def check(self) -> Holding:
        """What is there, if a new set may take its place.

        Raises:
            CannotWrite: it may not.
        """
        try:
            self._check_name()
            self._check_kind()
            holding = held(self.real, self.manifest_name)
        except OSError as error:
            raise cannot_write(error, self.shown) from error
        if holding.foreign:
            listed = "that its manifest does not list" if holding.manifest else "and no manifest of this program"
            reason = f"it holds files {listed}"
            raise self.refuse(f"{reason}; move them, or give another folder", holding.foreign)
        if holding.filled_in:
            reason = "what is in it has been filled in or changed since it was written, and nothing is written over; give another folder"
            raise self.refuse(reason, holding.filled_in)
        return holding

    def _check_name(self) -> None:
        if not self.real.name:
            raise self.refuse("it is the root of the file system")
        for inner, what in ((_working_folder(), "the folder you are in"), (_home(), "your home folder")):
            if inner == self.real:
                raise self.refuse(f"it is {what}, and the output replaces a folder as a whole; give a folder in it")
            if inner is not None and inner.is_relative_to(self.real):
                raise self.refuse(f"{what} is in it, and the output replaces a folder as a whole; give another folder")

    def _check_kind(self) -> None:
        parent = self.real.parent
        if not parent.exists():
            raise self.refuse(f"the folder {quoted(str(parent), 300)} does not exist; make it first")
        if not parent.is_dir():
            raise self.refuse(f"{quoted(str(parent), 300)} is not a folder")
        if not os.access(parent, os.W_OK | os.X_OK):
            raise self.refuse(f"the folder it is in, {quoted(str(parent), 300)}, may not be written by this user")
        if not os.path.lexists(self.real):
            return
        if not stat.S_ISDIR(os.lstat(self.real).st_mode):
            raise self.refuse("it is not a folder")
        mounts = [path for path in mount_points() if path.is_relative_to(self.real)]
        if os.path.ismount(self.real) or self.real in mounts:
            raise self.refuse("it is a mount point, which cannot be replaced as a whole; give a folder in it")
        if mounts:
            raise self.refuse("a mount point is in it", [str(path) for path in mounts])


def held(folder: Path, manifest_name: str) -> Holding:
    """What `folder` holds; nothing if it does not exist.

    Raises:
        OSError: it cannot be read, or something in it cannot be removed later.
    """
    manifest = _manifest(folder / manifest_name)
    known = {*(entry["path"] for entry in manifest["files"]), manifest_name} if manifest is not None else set()
    folders = {str(parent) for name in known for parent in PurePosixPath(name).parents}
    entries = 0
    foreign = []
    for name, entry in _walk(folder):
        entries += 1
        if entry.is_dir(follow_symlinks=False):
            if name not in folders:
                foreign.append(f"{name}/")
        elif not entry.is_file(follow_symlinks=False) or not (name in known or entry.name in LITTER):
            foreign.append(name)
    filled_in = tuple(_filled_in(folder, manifest)) if manifest is not None and manifest.get(TO_FILL_IN) is True else ()
    return Holding(entries=entries, foreign=tuple(foreign), manifest=manifest is not None, filled_in=filled_in)


def _filled_in(folder: Path, manifest: Mapping[str, Any]) -> Iterator[str]:
    """The files that differ from what their own manifest says of them; one that is gone holds nobody's work."""
    for entry in manifest["files"]:
        path = folder / entry["path"]
        if path.is_file():
            with path.open("rb") as file:
                if hashlib.file_digest(file, "sha256").hexdigest() != entry.get("sha256"):
                    yield entry["path"]


def _walk(folder: Path, prefix: str = "") -> Iterator[tuple[str, os.DirEntry[str]]]:
    """Every entry below, folders before what they hold; links are not followed."""
    try:
        with os.scandir(folder) as entries:
            found = sorted(entries, key=lambda entry: entry.name)
    except FileNotFoundError:
        return
    if not os.access(folder, os.W_OK | os.X_OK):
        raise PermissionError(errno.EACCES, os.strerror(errno.EACCES), str(folder))
    for entry in found:
        yield prefix + entry.name, entry
        if entry.is_dir(follow_symlinks=False):
            yield from _walk(folder / entry.name, f"{prefix}{entry.name}/")


def _manifest(path: Path) -> Mapping[str, Any] | None:
    """What a manifest of ours says, or None where there is none that lists its files."""
    try:
        if not stat.S_ISREG(os.lstat(path).st_mode) or path.stat().st_size > LONGEST_MANIFEST:
            return None
        content = json.loads(path.read_bytes())
    except (OSError, ValueError, RecursionError):
        return None
    if not isinstance(content, dict) or content.get("program") != PROGRAM or not isinstance(content.get("files"), list):
        return None
    whole = all(isinstance(entry, dict) and isinstance(entry.get("path"), str) for entry in content["files"])
    return content if whole else None


def is_ours(folder: Path, manifest_name: str) -> bool:
    """Whether a folder with one of our names was made by this program, and so may be removed with all it holds."""
    if (folder / MARKER).is_file():
        return True
    holding = held(folder, manifest_name)
    return not holding.entries or (holding.manifest and not holding.foreign and not holding.filled_in)


def remove(folder: Path, manifest_name: str) -> None:
    """Remove a set or a staging folder with all it holds. What tells that it is ours goes last, in case this is cut short."""
    last = [folder / manifest_name, folder / MARKER]
    for root, folders, files in os.walk(folder, topdown=False):
        for name in files:
            path = Path(root, name)
            if path not in last:
                path.unlink()
        for name in folders:
            path = Path(root, name)
            if path.is_symlink():
                path.unlink()
            else:
                path.rmdir()
    for path in last:
        path.unlink(missing_ok=True)
    folder.rmdir()


def mount_points() -> list[Path]:
    """Every mount point, also one that binds a folder of the same disk, which `os.path.ismount` does not see. Linux only."""
    try:
        lines = Path("/proc/self/mountinfo").read_bytes().splitlines()
    except OSError:
        return []
    fields = [line.split(b" ") for line in lines]  # proc_pid_mountinfo(5): the fifth field, blanks and the like as octal escapes
    return [Path(os.fsdecode(_unescaped(field[4]))) for field in fields if len(field) > 4]


def _unescaped(text: bytes) -> bytes:
    first, *rest = text.split(b"\\")
    return first + b"".join(bytes([int(piece[:3], 8)]) + piece[3:] for piece in rest)


def _working_folder() -> Path | None:
    try:
        return Path(os.path.realpath(os.getcwd()))
    except OSError:
        return None


def _home() -> Path | None:
    try:
        return Path(os.path.realpath(Path.home()))
    except (OSError, RuntimeError):
        return None
