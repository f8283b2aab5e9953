"""What `test_child.py` runs in child processes: `handler`, and the programs that fail before they can have one. `NAME ARGUMENTS`."""

from __future__ import annotations

import ctypes
import os
import signal
import sys
import threading
import time
from typing import NoReturn

from generator.child import start
from generator.child_side import Handler, Refused, serve


def handler(message: object) -> object:
    """Do to this process what `message` says, or answer it."""
    match message:
        case "hold the lock for ever":  # as the kernel does: no Python thread runs, and no Python signal handler
            while True:
                ctypes.PyDLL(None).sleep(1000)
        case "sleep":
            time.sleep(1000)
        case "crash":
            ctypes.string_at(8)
        case "abort":
            os.abort()
        case "leave":
            os._exit(3)
        case "use memory":
            blocks = []
            while True:
                blocks.append(bytearray(1 << 26))
        case "chatter":
            os.write(1, b"from the descriptor\n")
            ctypes.CDLL(None).puts(b"from C")
            ctypes.CDLL(None).fflush(None)
            print("from Python", flush=True)
        case "flood":
            for _ in range(64):
                os.write(2, b"x" * 65_536)
            os.write(2, b"the end\n")
        case "read the input":
            return sys.stdin.read(), os.read(0, 10)
        case "refuse":
            raise Refused("plate-1: no such thing")
        case "raise":
            raise KeyError(message)
        case "what cannot be sent":
            return threading.Lock()
        case "stop":
            os.kill(os.getpid(), signal.SIGSTOP)
        case ("wait", float(seconds)):
            time.sleep(seconds)
        case "limits":
            import resource

            return resource.getrlimit(resource.RLIMIT_AS)[0]
    return message


def load() -> Handler:
    print("chatter while loading", flush=True)
    return handler


def load_without_library() -> Handler:
    raise ImportError("libGL.so.1: cannot open shared object file")


def load_for_ever() -> Handler:
    time.sleep(1000)
    return handler


def load_and_die() -> Handler:
    os._exit(9)


def talk_nonsense() -> NoReturn:
    os.write(1, b"\0\0\0\0\0\0\0\5hello")
    time.sleep(1000)
    os._exit(0)


def parent(message: str) -> None:
    """A parent whose child is busy with `message`, for as long as it takes."""
    with start([sys.executable, __file__, "load"]) as child:
        child.request("ready?", limit_s=10.0)
        print(child.pid, flush=True)
        child.request(message, limit_s=60.0)


def idle_parent() -> None:
    """A parent that forgets its child."""
    child = start([sys.executable, __file__, "load"])
    child.request("ready?", limit_s=10.0)
    print(child.pid, flush=True)
    time.sleep(60)


if __name__ == "__main__":
    action = globals()[sys.argv[1]]
    if sys.argv[1].startswith("load"):
        serve(action)
    action(*sys.argv[2:])
