"""The inside of a child process: read a request, arm the clock, work, answer. `generator.child` is the other end.

A kernel call that never returns holds the interpreter's lock, so no Python thread could watch it. The clock here is `faulthandler`'s,
which runs without that lock and ends the whole process.
"""

from __future__ import annotations

import contextlib
import faulthandler
import os
import pickle
import signal
import struct
import sys
import traceback
from collections.abc import Callable
from dataclasses import dataclass
from typing import BinaryIO, Literal, NoReturn

EXIT_OUT_OF_MEMORY = 70  #: the child's exit code when Python itself reports that memory has run out
LONGEST_FRAME = 1 << 30  #: bytes; a longer frame is damage, not a message

Handler = Callable[[object], object]


class Refused(Exception):
    """Raised by a handler for a request it cannot do; the parent sees `ChildRefused` with the same text, and the child lives on."""


@dataclass(frozen=True, kw_only=True)
class Hello:
    """The parent's first message: under which limits the child is to live."""

    parent_pid: int
    end_with_parent: bool  #: by a signal of the kernel's; off where the thread that started the child may end before the process
    memory_bytes: int | None
    load_limit_s: float


@dataclass(frozen=True, kw_only=True)
class Request:
    """One request to the child."""

    limit_s: float
    message: object


@dataclass(frozen=True, kw_only=True)
class Reply:
    """`ready` answers `Hello` once, `done` and `refused` answer a request, `not ready` answers `Hello` when loading failed."""

    kind: Literal["ready", "not ready", "done", "refused"]
    message: object = None  #: what the handler returned; for the other kinds a text
    detail: str = ""  #: the child's traceback, for a log; never shown to a user


def write_frame(pipe: BinaryIO, payload: bytes) -> None:
    """Write eight bytes of length, then `payload`."""
    pipe.write(struct.pack(">Q", len(payload)))
    pipe.write(payload)
    pipe.flush()


def read_frame(pipe: BinaryIO) -> bytes | None:
    """The next payload, or None at the end of the pipe (also in the middle of a frame: the writer died).

    Raises:
        ValueError: the length cannot be a length.
    """
    head = pipe.read(8)
    if len(head) < 8:
        return None
    length: int = struct.unpack(">Q", head)[0]
    if length > LONGEST_FRAME:
        raise ValueError(f"a frame of {length} bytes")
    payload = pipe.read(length)
    return payload if len(payload) == length else None


def serve(load: Callable[[], Handler]) -> NoReturn:
    """Be the child: load, then answer requests until the parent closes the pipe. Never returns.

    Args:
        load: does the heavy imports and returns the handler. It runs after the pipes are put aside, so whatever it prints cannot
            reach the parent's answers. A failure in it (a missing system library) reaches the parent as `ChildNotReady`.
            The handler takes one message and returns one; both are pickled, so they hold plain data and classes of `parts`,
            never the kernel's objects. It raises `Refused(text)` for what it cannot do; any other exception also becomes a refusal,
            with the exception's name in front. `MemoryError` ends the child.
    """
    with contextlib.suppress(ValueError):
        signal.signal(signal.SIGINT, signal.SIG_IGN)  # Ctrl-C reaches the whole group; the parent decides what becomes of the child
    requests, replies = _pipes()
    hello = _next(requests)
    if not isinstance(hello, Hello):
        os._exit(2)
    _live_under(hello)
    handler = _loaded(load, hello, replies)
    while True:
        request = _next(requests)
        if not isinstance(request, Request):
            _leave(0)
        faulthandler.dump_traceback_later(request.limit_s, exit=True)
        payload = _answer(handler, request.message)
        faulthandler.cancel_dump_traceback_later()
        _send(replies, payload)


def _pipes() -> tuple[BinaryIO, BinaryIO]:
    """Requests and answers on descriptors of their own: from here on 0 is empty and 1 goes where 2 goes, also for C code."""
    requests = os.fdopen(os.dup(0), "rb")
    replies = os.fdopen(os.dup(1), "wb")
    nothing = os.open(os.devnull, os.O_RDONLY)
    os.dup2(nothing, 0)
    os.close(nothing)
    os.dup2(2, 1)
    return requests, replies


def _next(requests: BinaryIO) -> object:
    """The next message, or None when there is no parent any more."""
    payload = read_frame(requests)
    return None if payload is None else pickle.loads(payload)


def _live_under(hello: Hello) -> None:
    if hello.end_with_parent:
        _end_with_parent(hello.parent_pid)
    if hello.memory_bytes is not None:
        _limit_memory(hello.memory_bytes)


def _end_with_parent(parent_pid: int) -> None:
    """Ask Linux to kill this process when its parent ends. Elsewhere the closed pipe and the clock do it, a little later."""
    if not sys.platform.startswith("linux"):
        return
    import ctypes  # 10 ms, and only Linux has the call

    PR_SET_PDEATHSIG = 1
    ctypes.CDLL(None, use_errno=True).prctl(PR_SET_PDEATHSIG, int(signal.SIGKILL), 0, 0, 0)
    if os.getppid() != parent_pid:  # it died before the call
        os._exit(0)


def _limit_memory(memory_bytes: int) -> None:
    """Let an allocation fail here rather than the machine start to swap. No effect where the system has no such limit."""
    if sys.platform == "win32":
        return
    import resource  # not on Windows

    _, hard = resource.getrlimit(resource.RLIMIT_AS)
    limit = memory_bytes if hard == resource.RLIM_INFINITY else min(memory_bytes, hard)
    with contextlib.suppress(ValueError, OSError):
        resource.setrlimit(resource.RLIMIT_AS, (limit, hard))


def _loaded(load: Callable[[], Handler], hello: Hello, replies: BinaryIO) -> Handler:
    faulthandler.dump_traceback_later(hello.load_limit_s, exit=True)
    try:
        handler = load()
    except MemoryError:
        _out_of_memory()
    except Exception as error:
        reply = Reply(kind="not ready", message=str(error) or type(error).__name__, detail=traceback.format_exc())
        _send(replies, pickle.dumps(reply))
        _leave(1)
    faulthandler.cancel_dump_traceback_later()
    _send(replies, pickle.dumps(Reply(kind="ready")))
    return handler


def _answer(handler: Handler, message: object) -> bytes:
    """Work and pickle under the clock: an answer that cannot be pickled is a refusal like any other."""
    try:
        return pickle.dumps(Reply(kind="done", message=handler(message)))
    except Refused as error:
        reply = Reply(kind="refused", message=str(error))
    except MemoryError:
        _out_of_memory()
    except Exception as error:
        text = str(error)
        name = type(error).__name__
        reply = Reply(kind="refused", message=f"{name}: {text}" if text else name, detail=traceback.format_exc())
    return pickle.dumps(reply)


def _send(replies: BinaryIO, payload: bytes) -> None:
    try:
        write_frame(replies, payload)
    except OSError:  # nobody listens any more
        os._exit(0)


def _out_of_memory() -> NoReturn:
    os.write(2, b"out of memory\n")
    os._exit(EXIT_OUT_OF_MEMORY)


def _leave(code: int) -> NoReturn:
    """End without tearing the kernel down, which takes a third of a second and can crash."""
    for stream in (sys.stdout, sys.stderr):
        with contextlib.suppress(OSError, ValueError):
            stream.flush()
    os._exit(code)
