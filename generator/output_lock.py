"""One run at a time for one output folder, and what signals may do meanwhile."""

from __future__ import annotations

import contextlib
import errno
import os
import re
import signal
import sys
import threading
from collections.abc import Callable, Iterator
from pathlib import Path
from types import FrameType

from generator.output_folder import PROGRAM, Place

if sys.platform == "win32":
    import msvcrt
else:
    import fcntl

_CONTENT = re.compile(rf"{PROGRAM} (\d{{1,20}})\n", re.ASCII)
_FAR = 1 << 30  # where Windows locks a byte: a locked one cannot be read by the run that asks who holds it
_BUSY = frozenset({errno.EACCES, errno.EAGAIN, errno.EDEADLK})
_ENDINGS = tuple(getattr(signal, name) for name in ("SIGINT", "SIGTERM", "SIGHUP") if hasattr(signal, name))


class Terminated(KeyboardInterrupt):
    """The process was asked to end by a signal other than Ctrl-C."""

    def __init__(self, signal_number: int) -> None:
        super().__init__(f"signal {signal_number}")
        self.signal_number = signal_number


@contextlib.contextmanager
def locked(place: Place) -> Iterator[None]:
    """Hold the folder's lock.

    Raises:
        CannotWrite: another run holds it, or the name of the lock is taken by a file that is not ours.
        OSError: the lock's file cannot be made.
    """
    descriptor = _locked_file(place)
    try:
        os.ftruncate(descriptor, 0)
        os.lseek(descriptor, 0, os.SEEK_SET)
        os.write(descriptor, f"{PROGRAM} {os.getpid()}\n".encode())
        yield
    finally:
        if sys.platform != "win32":
            place.lock.unlink(missing_ok=True)  # while it is held: whoever waits on this file sees that its name is gone
        os.close(descriptor)
        if sys.platform == "win32":
            with contextlib.suppress(OSError):
                place.lock.unlink()


def _locked_file(place: Place) -> int:
    flags = os.O_RDWR | os.O_CREAT | getattr(os, "O_NOFOLLOW", 0) | getattr(os, "O_CLOEXEC", 0) | getattr(os, "O_NONBLOCK", 0)
    while True:
        descriptor = os.open(place.lock, flags, 0o666)
        try:
            content = os.read(descriptor, 64).decode("ascii", "replace")
            owner = _CONTENT.fullmatch(content)
            if content and owner is None:
                raise place.refuse("a file that is not this program's has the name of its lock", [str(place.lock)])
            if not _try_lock(descriptor):
                who = f" (process {owner[1]})" if owner else ""
                raise place.refuse(f"another run{who} is writing it; wait for that, or give another folder")
            if _still_named(descriptor, place.lock):
                return descriptor
        except BaseException:
            os.close(descriptor)
            raise
        os.close(descriptor)  # its holder removed the file between our two steps


def _try_lock(descriptor: int) -> bool:
    try:
        if sys.platform == "win32":
            os.lseek(descriptor, _FAR, os.SEEK_SET)
            msvcrt.locking(descriptor, msvcrt.LK_NBLCK, 1)
        else:
            fcntl.flock(descriptor, fcntl.LOCK_EX | fcntl.LOCK_NB)
    except OSError as error:
        if error.errno in _BUSY:
            return False
        raise
    return True


def _still_named(descriptor: int, path: Path) -> bool:
    try:
        return sys.platform == "win32" or os.path.samestat(os.fstat(descriptor), os.lstat(path))
    except FileNotFoundError:
        return False


def process_lives(pid: int) -> bool:
    """Whether a process with this id runs now."""
    if sys.platform == "win32":  # os.kill would end it; the lock, which the asker holds, says already that no other run is here
        return False
    try:
        os.kill(pid, 0)
    except ProcessLookupError:
        return False
    except (OSError, OverflowError):
        return True
    return True


@contextlib.contextmanager
def endings_raise() -> Iterator[None]:
    """Turn SIGTERM and SIGHUP into `Terminated`, so that what is half done is cleared away; only where nobody else handles them."""
    if threading.current_thread() is not threading.main_thread():
        yield
        return

    def end(number: int, frame: FrameType | None) -> None:
        raise Terminated(number)

    ours = [number for number in _ENDINGS if signal.getsignal(number) is signal.SIG_DFL]
    try:
        for number in ours:
            signal.signal(number, end)
        yield
    finally:
        for number in ours:
            signal.signal(number, signal.SIG_DFL)


@contextlib.contextmanager
def endings_wait(*, forget: bool = False) -> Iterator[None]:
    """Let Ctrl-C and the like wait until a step that must not be cut in two is done, then have their way unless `forget`."""
    if threading.current_thread() is not threading.main_thread():
        yield
        return
    came: list[int] = []
    before: dict[int, Callable[[int, FrameType | None], object] | int | None] = {}
    for number in _ENDINGS:
        if callable(signal.getsignal(number)) or signal.getsignal(number) is signal.SIG_DFL:
            before[number] = signal.signal(number, lambda caught, frame: came.append(caught))
    try:
        yield
    finally:
        for number, handler in before.items():
            signal.signal(number, handler)
    for number in () if forget else came[:1]:
        signal.raise_signal(number)
