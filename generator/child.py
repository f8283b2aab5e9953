"""Child processes with a limit: one that hangs, crashes or eats the memory becomes an exception, and a new one can do the rest.

    with start_module("generator.kernel.worker", memory_bytes=4 << 30) as child:   # returns at once; it loads while you work
        answer = child.request(message, limit_s=20.0)

What runs inside is `generator.child_side.serve(load)`; messages are pickled, so they hold plain data and classes of `parts`.
A child that raised `ChildHung` or `ChildDied` is gone and waited for: start another. One that raised `ChildRefused` lives on.
Ctrl-C while a request runs kills the child before `KeyboardInterrupt` goes on.
"""

from __future__ import annotations

import contextlib
import os
import pickle
import queue
import signal
import subprocess
import sys
import threading
import time
import weakref
from collections.abc import Mapping, Sequence
from pathlib import Path
from types import TracebackType
from typing import BinaryIO, Self

from generator.child_side import EXIT_OUT_OF_MEMORY, Hello, Reply, Request, read_frame, write_frame

LOAD_LIMIT_S = 120.0  #: for the child's imports, on a slow disk
GRACE_S = 2.0  #: how much later than the child's own clock the parent gives it up
CLOSE_PATIENCE_S = 2.0
END_PATIENCE_S = 3.0
LONGEST_STDERR = 16_384  #: bytes kept of what the child writes to its stderr and stdout: the last ones
WAKE_S = 0.5  #: how often a wait looks up, for systems where a signal does not end it


class ChildFault(Exception):
    """The child gave no answer. `stderr` holds the last of what it wrote there: for a log, not for a user."""

    def __init__(self, text: str, *, stderr: str = "") -> None:
        super().__init__(text)
        self.text = text
        self.stderr = stderr


class ChildHung(ChildFault):
    """The request took longer than its limit; the child was ended."""

    def __init__(self, limit_s: float, *, stderr: str = "") -> None:
        super().__init__(f"no answer within {limit_s:g} s", stderr=stderr)
        self.limit_s = limit_s


class ChildDied(ChildFault):
    """The child ended without an answer: by a signal (`signal_number`), by itself (`exit_code`), or it never began (both None)."""

    def __init__(self, text: str, *, exit_code: int | None = None, signal_number: int | None = None, stderr: str = "") -> None:
        super().__init__(text, stderr=stderr)
        self.exit_code = exit_code
        self.signal_number = signal_number

    @property
    def out_of_memory(self) -> bool:
        """Whether the child said that memory ran out. A native crash for the same reason may say nothing."""
        return self.exit_code == EXIT_OUT_OF_MEMORY or "bad_alloc" in self.stderr or "MemoryError" in self.stderr


class ChildRefused(ChildFault):
    """The child answers that it cannot do this request (its text says why) and is ready for the next. `detail` is its traceback."""

    def __init__(self, text: str, *, detail: str = "", stderr: str = "") -> None:
        super().__init__(text, stderr=stderr)
        self.detail = detail


class ChildNotReady(ChildRefused):
    """The child could not load what it needs (a missing library: its text says which). It is gone; another would say the same."""


def start_module(
    module: str,
    *,
    memory_bytes: int | None = None,
    load_limit_s: float = LOAD_LIMIT_S,
    environment: Mapping[str, str] | None = None,
) -> Child:
    """Start this Python on `module`, whose `__main__` part calls `serve`. Imports come from this program and its environment only,
    never from the working folder, which may hold a stranger's files.

    Args:
        module: dotted name, `generator.kernel.worker`.
        memory_bytes: limit of the child's address space (RLIMIT_AS: libraries and reserved memory count too), or None.
        load_limit_s: how long its imports may take.
        environment: variables set in addition to this process's own.

    Raises:
        ChildDied: the system cannot start a process.
    """
    root = str(Path(__file__).resolve().parent.parent)
    inherited = [entry for entry in os.environ.get("PYTHONPATH", "").split(os.pathsep) if entry and Path(entry).is_absolute()]
    variables = {"PYTHONPATH": os.pathsep.join([root, *inherited]), **(environment or {})}
    argv = [sys.executable, "-P", "-m", module]
    return start(argv, memory_bytes=memory_bytes, load_limit_s=load_limit_s, environment=variables)


def start(
    argv: Sequence[str],
    *,
    memory_bytes: int | None = None,
    load_limit_s: float = LOAD_LIMIT_S,
    environment: Mapping[str, str] | None = None,
) -> Child:
    """Start `argv`, a program that calls `generator.child_side.serve`. Returns at once. Arguments and errors as `start_module`."""
    try:
        process = subprocess.Popen(
            list(argv),
            stdin=subprocess.PIPE,
            stdout=subprocess.PIPE,
            stderr=subprocess.PIPE,
            env={**os.environ, **(environment or {})},
        )
    except OSError as error:
        raise ChildDied(f"the process could not be started: {error.strerror or error}") from error
    hello = Hello(
        parent_pid=os.getpid(),
        # Linux sends the signal when the starting *thread* ends, so only the main thread may ask for it.
        end_with_parent=threading.current_thread() is threading.main_thread(),
        memory_bytes=memory_bytes,
        load_limit_s=load_limit_s,
    )
    return Child(process, hello)


class Child:
    """One running child. Not for two threads at once. Use as a context manager, or call `close`."""

    def __init__(self, process: subprocess.Popen[bytes], hello: Hello) -> None:
        assert process.stdin is not None and process.stdout is not None and process.stderr is not None
        self._process = process
        self._stdin: BinaryIO = process.stdin  # type: ignore[assignment]
        self._replies: queue.SimpleQueue[bytes | None] = queue.SimpleQueue()
        self._stderr = bytearray()
        self._ready = False
        self._not_ready: ChildNotReady | None = None
        self._load_limit_s = hello.load_limit_s
        self._born_s = time.monotonic()
        self._readers = (
            threading.Thread(target=_read_replies, args=(process.stdout, self._replies), daemon=True),
            threading.Thread(target=_read_stderr, args=(process.stderr, self._stderr), daemon=True),
        )
        for reader in self._readers:
            reader.start()
        self._finalizer = weakref.finalize(self, _end, process)
        self._send(pickle.dumps(hello))

    def request(self, message: object, *, limit_s: float) -> object:
        """Send `message`, wait for the answer, and return it.

        Args:
            message: anything that pickles, without the kernel's objects.
            limit_s: how long the work may take, from when the child has it; loading does not count.

        Raises:
            ChildHung, ChildDied: no answer; the child is gone.
            ChildNotReady: it could not load; it is gone.
            ChildRefused: it answers that it cannot; it is ready for the next request.
        """
        payload = pickle.dumps(Request(limit_s=limit_s, message=message))
        try:
            self._wait_until_ready()
            reply = self._exchange(payload, limit_s)
        except ChildRefused:
            raise
        except BaseException:
            self.kill()
            raise
        if reply.kind != "done":
            raise ChildRefused(str(reply.message), detail=reply.detail, stderr=self.stderr)
        return reply.message

    @property
    def pid(self) -> int:
        return self._process.pid

    @property
    def exit_code(self) -> int | None:
        """How it ended: its code, or minus the signal's number; None while it runs."""
        return self._process.poll()

    @property
    def alive(self) -> bool:
        return self.exit_code is None

    @property
    def stderr(self) -> str:
        """The last of what the child wrote to its stderr and stdout, at most `LONGEST_STDERR` bytes."""
        return bytes(self._stderr).decode("utf-8", "replace")

    def close(self) -> None:
        """Let the child end, or end it, and wait for it. May be called again."""
        with contextlib.suppress(OSError):
            self._stdin.close()
        with contextlib.suppress(subprocess.TimeoutExpired):
            self._process.wait(CLOSE_PATIENCE_S)
        self.kill()

    def kill(self) -> None:
        """End the child now and wait for it. May be called again."""
        self._finalizer()
        for reader in self._readers:
            reader.join(WAKE_S)

    def __enter__(self) -> Self:
        return self

    def __exit__(self, kind: type[BaseException] | None, error: BaseException | None, trace: TracebackType | None) -> None:
        if kind is None:
            self.close()
        else:
            self.kill()

    def _wait_until_ready(self) -> None:
        if self._not_ready is not None:
            raise self._not_ready
        if not self._finalizer.alive:
            raise ChildDied("the process was ended before this request", stderr=self.stderr)
        if self._ready:
            return
        reply = self._receive(self._born_s, self._load_limit_s)
        if reply.kind == "not ready":
            self.kill()
            self._not_ready = ChildNotReady(str(reply.message), detail=reply.detail, stderr=self.stderr)
            raise self._not_ready
        self._ready = True

    def _exchange(self, payload: bytes, limit_s: float) -> Reply:
        sent_s = time.monotonic()
        # A stopped child does not read, and a full pipe would hold this thread for ever.
        threading.Thread(target=self._send, args=(payload,), daemon=True).start()
        return self._receive(sent_s, limit_s)

    def _send(self, payload: bytes) -> None:
        with contextlib.suppress(OSError, ValueError):  # a dead child shows as the end of its answers
            write_frame(self._stdin, payload)

    def _receive(self, since_s: float, limit_s: float) -> Reply:
        payload = self._next_payload(since_s + limit_s + GRACE_S)
        if payload is _LATE:
            self.kill()
            raise ChildHung(limit_s, stderr=self.stderr)
        reply = None
        if isinstance(payload, bytes):
            with contextlib.suppress(Exception):  # whatever damaged bytes make of pickle
                reply = pickle.loads(payload)
        if isinstance(reply, Reply):
            return reply
        raise self._post_mortem(since_s, limit_s, damaged=payload is not None)

    def _next_payload(self, until_s: float) -> object:
        while True:
            left_s = until_s - time.monotonic()
            if left_s <= 0.0:
                return _LATE
            with contextlib.suppress(queue.Empty):
                return self._replies.get(timeout=min(left_s, WAKE_S))

    def _post_mortem(self, since_s: float, limit_s: float, *, damaged: bool) -> ChildFault:
        if not damaged:
            with contextlib.suppress(subprocess.TimeoutExpired):
                self._process.wait(CLOSE_PATIENCE_S)
        waited_s = time.monotonic() - since_s
        code = self._process.poll()
        self.kill()
        if code == 1 and waited_s >= limit_s and "Timeout (" in self.stderr:  # what the child's own clock writes as it ends it
            return ChildHung(limit_s, stderr=self.stderr)
        if code is None:
            text = "the process sent an answer that cannot be read" if damaged else "the process closed its answers and did not end"
            return ChildDied(text, stderr=self.stderr)
        if code < 0:
            return ChildDied(f"the process was ended by {_signal_name(-code)}", signal_number=-code, stderr=self.stderr)
        text = "memory ran out" if code == EXIT_OUT_OF_MEMORY else f"the process ended with code {code}"
        return ChildDied(text, exit_code=code, stderr=self.stderr)


_LATE = object()


def _read_replies(pipe: BinaryIO, replies: queue.SimpleQueue[bytes | None]) -> None:
    with pipe, contextlib.suppress(OSError, ValueError, MemoryError):
        while (payload := read_frame(pipe)) is not None:
            replies.put(payload)
    replies.put(None)


def _read_stderr(pipe: BinaryIO, kept: bytearray) -> None:
    """Read on to the end, or the child would stop at a full pipe; keep the last bytes."""
    with pipe, contextlib.suppress(OSError, ValueError):
        while piece := os.read(pipe.fileno(), 65_536):
            kept.extend(piece)
            del kept[:-LONGEST_STDERR]


def _end(process: subprocess.Popen[bytes]) -> None:
    with contextlib.suppress(OSError):
        process.kill()
    with contextlib.suppress(subprocess.TimeoutExpired):  # only a process held in the system itself outlives this
        process.wait(END_PATIENCE_S)
    with contextlib.suppress(OSError, ValueError):
        if process.stdin is not None:
            process.stdin.close()


def _signal_name(number: int) -> str:
    try:
        return signal.Signals(number).name
    except ValueError:
        return f"signal {number}"
