"""The only code that writes into the output folder: a whole set of files, or nothing.

    note = preflight(out_dir)                      # before any work: raises CannotWrite
    with staged(out_dir) as staging:
        staging.write_text("dxf/plate.dxf", text)
        child_writes_to(staging.path("step/plate.step"))
        staging.commit({"parts": [...]})           # checks every file, then swaps

A kill at any moment leaves the old set or the new one, complete. Without `commit`, and on any exception, Ctrl-C or SIGTERM,
the staging folder is removed and the old set stays. The folder is replaced as a whole, so it may hold nothing else.
"""

from __future__ import annotations

import contextlib
import hashlib
import json
import os
import stat
from collections.abc import Iterator, Mapping
from pathlib import Path, PurePosixPath, PureWindowsPath

from generator import output_swap
from generator.output_folder import MARKER, PROGRAM, CannotWrite, Place, cannot_write, held, is_ours, remove
from generator.output_lock import Terminated, endings_raise, endings_wait, locked, process_lives
from parts.errors import quoted

__all__ = ["CannotWrite", "Staging", "Terminated", "preflight", "recover", "staged"]

MANIFEST = "manifest.json"
LONGEST_NAME = 200  #: bytes in one step of a path; most file systems allow 255


def preflight(out_dir: Path, *, manifest_name: str = MANIFEST) -> str | None:
    """Find out early whether `out_dir` can be written, by trying beside it; leaves nothing behind.

    Returns:
        What `recover` returns.

    Raises:
        CannotWrite: it cannot be written, or another run is writing it.
    """
    place = Place.of(out_dir, manifest_name)
    with _held(place) as note:
        remove(_new_folder(place), manifest_name)
    return note


def recover(out_dir: Path, *, manifest_name: str = MANIFEST) -> str | None:
    """Put the old set back where a run was killed in the moment between two renames (only on systems that cannot exchange folders).

    Returns:
        A sentence for the user if it did so; None where there was nothing to do.

    Raises:
        CannotWrite: it is there and cannot be put back.
    """
    place = Place.of(out_dir, manifest_name)
    if not place.real.name or not _waits_aside(place):
        return None
    with _held(place) as note:
        return note


@contextlib.contextmanager
def staged(out_dir: Path, *, manifest_name: str = MANIFEST) -> Iterator[Staging]:
    """A folder to write a new set into, beside the real path of `out_dir`.

    Args:
        out_dir: absent (its parent is there), empty, or holding only what an earlier manifest lists.
        manifest_name: the file at its top that lists the set.

    Raises:
        CannotWrite: as `preflight`.
    """
    place = Place.of(out_dir, manifest_name)
    with endings_raise(), _held(place) as note:
        staging = Staging(place, _new_folder(place), () if note is None else (note,))
        try:
            yield staging
        finally:
            with endings_wait():
                staging.discard()


class Staging:
    """A set of files in the making. Paths are relative, with "/", and unlike each other also where case does not count."""

    def __init__(self, place: Place, folder: Path, notes: tuple[str, ...]) -> None:
        self.folder = folder  #: real path; gone after `commit`
        self.notes = notes  #: sentences for the user
        self._place = place
        self._expected: dict[str, bytes | None] = {}  # SHA-256 of what was written; None for what a child writes
        self._folded: dict[str, str] = {}
        self._open = True

    def write_text(self, relpath: str, text: str) -> Path:
        """Write `text` as UTF-8 with "\\n" line ends, whatever it came with.

        Raises:
            CannotWrite: no space and the like; the path leaves the folder, cannot be a name everywhere, or is taken.
        """
        return self.write_bytes(relpath, text.replace("\r\n", "\n").encode())

    def write_bytes(self, relpath: str, data: bytes) -> Path:
        """Write `data`. Errors as `write_text`."""
        if relpath in self._expected:
            raise CannotWrite("two files of this set would have the same name", place=relpath)
        path = self.path(relpath)
        try:
            with path.open("xb") as file:
                file.write(data)
        except OSError as error:
            raise cannot_write(error, self._place.shown) from error
        self._expected[relpath] = hashlib.sha256(data).digest()
        return path

    def path(self, relpath: str) -> Path:
        """Where another process may write a file of this set; its folder is made. What is promised here and then missing or empty at
        `commit` is a fault: call `drop` where the writer failed. Errors as `write_text`."""
        if not self._open:
            raise CannotWrite("this set is already complete", place=relpath)
        steps = _steps(relpath)
        if steps[-1] == relpath == self._place.manifest_name:
            raise CannotWrite("the manifest has this name", place=relpath)
        if self._folded.setdefault(relpath.casefold(), relpath) != relpath:
            raise CannotWrite("two files of this set would have names that differ only in case", place=relpath)
        path = self.folder.joinpath(*steps)
        try:
            path.parent.mkdir(parents=True, exist_ok=True)
        except OSError as error:
            raise cannot_write(error, self._place.shown) from error
        self._expected.setdefault(relpath, None)
        return path

    def drop(self, relpath: str) -> None:
        """Take a promised or written file out of the set again."""
        self._expected.pop(relpath, None)
        self._folded.pop(relpath.casefold(), None)
        with contextlib.suppress(FileNotFoundError):
            self.folder.joinpath(*_steps(relpath)).unlink()

    def refusal(self, reason: str) -> CannotWrite:
        """What to raise where another process could not write a file of this set: `reason`, told of the output folder."""
        return self._place.refuse(reason)

    def commit(self, manifest: Mapping[str, object]) -> None:
        """Write the manifest, read every file of the set again, and put the set in the output folder's place.

        What lies in the staging folder and belongs to no promise (what a killed child left half written) is not taken along.

        Args:
            manifest: plain JSON data without NaN; keys are sorted. Its `files`, if any, says path -> what the file is; what is written
                lists every file: `path`, `size_bytes`, `sha256`, and `what` where given. `program` is set to this program's name.

        Raises:
            CannotWrite: the old set is as it was.
        """
        if not self._open:
            raise CannotWrite("this set is already complete", place=self._place.shown)
        try:
            self._complete(manifest)
            with endings_wait(forget=True):  # after it there is nothing left to interrupt
                self._swap()
        except OSError as error:
            raise cannot_write(error, self._place.shown) from error

    def discard(self) -> None:
        """Remove the staging folder if it is there; what cannot be removed is left for the next run to try."""
        self._open = False
        with contextlib.suppress(OSError):
            remove(self.folder, self._place.manifest_name)

    def _complete(self, manifest: Mapping[str, object]) -> None:
        self._sweep()
        told = manifest.get("files", {})
        assert isinstance(told, Mapping) and told.keys() <= self._expected.keys(), "the manifest tells of files that are not in the set"
        files = [self._checked(relpath, digest) for relpath, digest in sorted(self._expected.items())]
        for entry in files:
            if entry["path"] in told:
                entry["what"] = told[entry["path"]]
        content = {**manifest, "program": PROGRAM, "files": files}
        data = json.dumps(content, allow_nan=False, ensure_ascii=False, indent=1, sort_keys=True).encode() + b"\n"
        (self.folder / self._place.manifest_name).write_bytes(data)
        self._checked(self._place.manifest_name, hashlib.sha256(data).digest())
        (self.folder / MARKER).unlink()
        for root, _, _ in os.walk(self.folder):
            output_swap.settle(Path(root))

    def _sweep(self) -> None:
        keep = {MARKER, *self._expected}
        for root, folders, files in os.walk(self.folder, topdown=False):
            for name in files:
                path = Path(root, name)
                if path.relative_to(self.folder).as_posix() not in keep:
                    path.unlink()
            for name in folders:
                with contextlib.suppress(OSError):  # not empty
                    Path(root, name).rmdir()

    def _checked(self, relpath: str, digest: bytes | None) -> dict[str, object]:
        """The manifest's entry for one file, from the file as it reads back."""
        path = self.folder / relpath
        try:
            if not stat.S_ISREG(os.lstat(path).st_mode):
                raise CannotWrite("what was written is not a file", place=relpath)
            with path.open("r+b") as file:
                data = file.read()
                os.fsync(file.fileno())
        except FileNotFoundError as error:
            raise CannotWrite("a file of this set was not written (is the disk full?)", place=relpath) from error
        found = hashlib.sha256(data).digest()
        if digest is None and not data:
            raise CannotWrite("a file of this set was written empty (is the disk full?)", place=relpath)
        if digest is not None and found != digest:
            raise CannotWrite("a file of this set reads back otherwise than it was written", place=relpath)
        return {"path": relpath, "size_bytes": len(data), "sha256": found.hex()}

    def _swap(self) -> None:
        place = self._place
        holding = place.check()  # again: the work took a while
        if os.path.lexists(place.real):
            os.chmod(self.folder, stat.S_IMODE(os.lstat(place.real).st_mode))
        if not holding.entries:
            output_swap.take_empty(self.folder, place.real)
        else:
            output_swap.exchange_or_rename(self.folder, place.real, place.old)
            after = held(self.folder, place.manifest_name)
            if late := after.foreign or after.filled_in:  # came between the check and the exchange
                output_swap.exchange_or_rename(self.folder, place.real, place.old)
                what = "files that its manifest does not list appeared in it" if after.foreign else "what is in it was changed"
                raise place.refuse(f"{what} during the run", late)
        self._open = False
        output_swap.settle(place.real.parent)
        if holding.entries:
            try:
                remove(self.folder, place.manifest_name)
            except OSError as error:
                self.notes += (f"the output is complete; the set before it could not be removed: {self.folder}: {error.strerror}",)


@contextlib.contextmanager
def _held(place: Place) -> Iterator[str | None]:
    """The lock, with everything found in order and what dead runs left cleared away."""
    place.check()
    with contextlib.ExitStack() as stack:
        try:
            stack.enter_context(locked(place))
            note = _put_back(place)
            place.check()
            _clear(place)
        except OSError as error:
            raise cannot_write(error, place.shown) from error
        yield note


def _waits_aside(place: Place) -> bool:
    return place.old.is_dir() and not place.old.is_symlink() and not os.path.lexists(place.real)


def _put_back(place: Place) -> str | None:
    if not _waits_aside(place) or not held(place.old, place.manifest_name).manifest:
        return None
    os.rename(place.old, place.real)
    return f"{place.shown}: a run before was cut off while it replaced this folder; the set from before that run has been put back"


def _clear(place: Place) -> None:
    for folder, pid in place.leftovers():
        if pid == os.getpid() or not process_lives(pid):  # our own id comes back in a container, where ids start again
            _remove_if_ours(place, folder)
    if os.path.lexists(place.old):
        _remove_if_ours(place, place.old)


def _remove_if_ours(place: Place, folder: Path) -> None:
    with contextlib.suppress(OSError):
        if is_ours(folder, place.manifest_name):
            remove(folder, place.manifest_name)


def _new_folder(place: Place) -> Path:
    folder = place.staging(os.getpid())
    try:
        folder.mkdir()
        (folder / MARKER).write_bytes(f"{PROGRAM} {os.getpid()}\n".encode())
    except FileExistsError as error:
        raise place.refuse("a folder that is not this program's has the name of its staging folder", [str(folder)]) from error
    except OSError as error:
        with contextlib.suppress(OSError):
            remove(folder, place.manifest_name)
        raise cannot_write(error, place.shown) from error
    return folder


def _steps(relpath: str) -> tuple[str, ...]:
    """The steps of a relative path that means the same file on every system, below the folder.

    Raises:
        CannotWrite: it does not.
    """
    steps = PurePosixPath(relpath).parts
    sound = "/".join(steps) == relpath and bool(steps) and not PureWindowsPath(relpath).is_reserved()
    for step in steps:
        sound = sound and step.isprintable() and not set(step) & set('<>:"|?*\\') and step[0] != "." and step[-1] not in ". "
        sound = sound and len(step.encode("utf-8", "replace")) <= LONGEST_NAME and step != "/"
    if not sound:
        raise CannotWrite("this cannot be the name of a file in the output folder", place=quoted(relpath))
    return steps
