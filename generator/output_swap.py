"""Put a new folder where an old one is, in one step where the system can."""

from __future__ import annotations

import contextlib
import errno
import os
import sys
from pathlib import Path

_AT_FDCWD = -100  # Linux, <fcntl.h>
_RENAME_EXCHANGE = 2  # Linux, renameat2(2)
_RENAME_SWAP = 2  # macOS, renamex_np(2)
#: A file system or kernel without the call answers one of these.
_WITHOUT = frozenset({errno.ENOSYS, errno.EINVAL, errno.ENOTSUP, errno.EOPNOTSUPP})


class NoExchange(Exception):
    """This system, or this file system, cannot exchange two folders in one step."""


def exchange(one: Path, other: Path) -> None:
    """Exchange two folders beside each other in one step: at no moment is either name missing.

    Raises:
        NoExchange: the system cannot; nothing has changed.
        OSError: it can, and refused; nothing has changed.
    """
    import ctypes  # 10 ms that `check` need not pay

    name = {"linux": "renameat2", "darwin": "renamex_np"}.get(sys.platform)
    call = getattr(ctypes.CDLL(None, use_errno=True), name, None) if name is not None else None
    if call is None:
        raise NoExchange
    a, b = os.fsencode(one), os.fsencode(other)
    if sys.platform == "darwin":
        failed = call(ctypes.c_char_p(a), ctypes.c_char_p(b), ctypes.c_uint(_RENAME_SWAP))
    else:
        at = ctypes.c_int(_AT_FDCWD)
        failed = call(at, ctypes.c_char_p(a), at, ctypes.c_char_p(b), ctypes.c_uint(_RENAME_EXCHANGE))
    if failed:
        number = ctypes.get_errno()
        if number in _WITHOUT:
            raise NoExchange
        raise OSError(number, os.strerror(number), str(other))


def exchange_or_rename(new: Path, place: Path, aside: Path) -> None:
    """Exchange `new` and `place`; by three renames over `aside` where it cannot be one step. Killed between the first and the second,
    `place` is missing and `aside` holds the old set, complete.

    Raises:
        OSError: refused; everything is where it was.
    """
    try:
        exchange(new, place)
    except NoExchange:
        os.rename(place, aside)
        try:
            os.rename(new, place)
        except BaseException:
            os.rename(aside, place)
            raise
        os.rename(aside, new)


def take_empty(new: Path, place: Path) -> None:
    """Rename `new` to `place`, which is absent or an empty folder.

    Raises:
        OSError: refused (also because it is not empty any more); everything is where it was.
    """
    if sys.platform == "win32":
        with contextlib.suppress(FileNotFoundError):
            os.rmdir(place)
    os.rename(new, place)


def settle(path: Path) -> None:
    """Put a folder's entries on the disk, where the system can. A kill does not need it, a power cut does."""
    if sys.platform == "win32":
        return
    descriptor = os.open(path, os.O_RDONLY)
    try:
        with contextlib.suppress(OSError):
            os.fsync(descriptor)
    finally:
        os.close(descriptor)
