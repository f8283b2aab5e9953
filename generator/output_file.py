"""Writes one file for the user to keep: whole or not at all, and never over anything that is there."""

from __future__ import annotations

import contextlib
import errno
import os
from pathlib import Path

from generator.output_folder import CannotWrite, cannot_write
from parts.errors import quoted

NO_LINKS = (errno.EPERM, errno.EOPNOTSUPP, errno.ENOSYS, errno.EMLINK)  #: a file system that has no second names for files


def write_file(path: Path, data: bytes) -> None:
    """Write `data` to `path`, where nothing may be: no file, folder or link, also none that comes while this runs.

    Raises:
        CannotWrite: something is there, or the place cannot be written.
    """
    free(path)
    staging = path.with_name(f".{path.stem[:40]}.new-{os.urandom(8).hex()}")
    try:
        try:
            with staging.open("xb") as file:
                file.write(data)
                file.flush()
                os.fsync(file.fileno())
            _named(staging, path, data)
        finally:
            staging.unlink(missing_ok=True)
    except FileExistsError:
        raise _taken(path) from None
    except OSError as error:
        raise cannot_write(error, quoted(str(path), 300)) from error


def free(path: Path) -> None:
    """See early whether a file can be written there.

    Raises:
        CannotWrite: something is there already, or its folder is not.
    """
    try:
        if os.path.lexists(path):
            raise _taken(path)
        if not path.name:
            raise CannotWrite("it is no name of a file", place=quoted(str(path), 300))
        if not path.parent.is_dir():
            raise CannotWrite(f"the folder {quoted(str(path.parent), 300)} does not exist; make it first", place=quoted(str(path), 300))
    except (OSError, ValueError) as error:
        failed = error if isinstance(error, OSError) else OSError(errno.EINVAL, str(error))
        raise cannot_write(failed, quoted(str(path), 300)) from error


def _named(staging: Path, path: Path, data: bytes) -> None:
    """Give the finished file its name. A second name is made only where none is: that no other run comes between is the system's doing."""
    try:
        os.link(staging, path)
    except OSError as error:
        if error.errno not in NO_LINKS:
            raise
        with path.open("xb") as file:
            try:
                file.write(data)
                file.flush()
                os.fsync(file.fileno())
            except OSError:
                with contextlib.suppress(OSError):
                    path.unlink()
                raise


def _taken(path: Path) -> CannotWrite:
    return CannotWrite("it is there already, and nothing is written over; give another name", place=quoted(str(path), 300))
