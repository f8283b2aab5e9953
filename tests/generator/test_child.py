"""A child that hangs, crashes or eats the memory ends as an exception, and never outlives its parent. Real processes, real signals."""

from __future__ import annotations

import contextlib
import gc
import os
import signal
import subprocess
import sys
import threading
import time
from collections.abc import Callable, Iterator
from pathlib import Path

import pytest

from generator.child import LONGEST_STDERR, Child, ChildDied, ChildHung, ChildNotReady, ChildRefused, start, start_module

ROOT = Path(__file__).resolve().parents[2]
PROGRAM = Path(__file__).with_name("child_process.py")
ENVIRONMENT = {"PYTHONPATH": str(ROOT)}
LONG_S = 20.0  #: a limit that no request here comes near
END_S = 5.0  #: how soon a child is gone after its parent


def started(name: str = "load", **limits: float) -> Child:
    memory = limits.pop("memory_bytes", None)
    argv = [sys.executable, str(PROGRAM), name]
    return start(argv, environment=ENVIRONMENT, memory_bytes=None if memory is None else int(memory), **limits)


@pytest.fixture(scope="module")
def shared() -> Iterator[Child]:
    """One child for every request that it should live through."""
    with started() as child:
        yield child
    assert_gone(child.pid)


def assert_gone(pid: int) -> None:
    """No process and no zombie of ours has this number."""
    with pytest.raises(ChildProcessError):
        os.waitpid(pid, os.WNOHANG)
    assert ended(pid)


def ended(pid: int) -> bool:
    """Whether the process has ended; whoever its new parent is may not have collected it yet."""
    try:
        return Path(f"/proc/{pid}/stat").read_text().rpartition(")")[2].split()[0] in "ZX"
    except FileNotFoundError:
        pass
    try:
        os.kill(pid, 0)
    except ProcessLookupError:
        return True
    return False


def ends_soon(pid: int) -> bool:
    until_s = time.monotonic() + END_S
    while time.monotonic() < until_s:
        if ended(pid):
            return True
        time.sleep(0.02)
    return False


def test_messages_come_back_as_they_were(shared: Child) -> None:
    large = bytes(range(256)) * 40_000  # many times what a pipe holds
    for message in ({"a": [1, 2.5, None, "ä"]}, large, Path("x"), ()):
        assert shared.request(message, limit_s=LONG_S) == message
    assert shared.alive


def test_a_refusal_and_an_exception_leave_the_child_alive(shared: Child) -> None:
    with pytest.raises(ChildRefused) as refused:
        shared.request("refuse", limit_s=LONG_S)
    assert str(refused.value) == "plate-1: no such thing"
    with pytest.raises(ChildRefused) as raised:
        shared.request("raise", limit_s=LONG_S)
    assert raised.value.text == "KeyError: 'raise'"
    assert "child_process.py" in raised.value.detail
    with pytest.raises(ChildRefused, match="cannot pickle"):
        shared.request("what cannot be sent", limit_s=LONG_S)
    assert shared.request("still there", limit_s=LONG_S) == "still there"


def test_what_cannot_be_sent_is_the_callers_fault_and_the_child_lives(shared: Child) -> None:
    with pytest.raises(TypeError):
        shared.request(threading.Lock(), limit_s=LONG_S)
    assert shared.request("still there", limit_s=LONG_S) == "still there"


def test_chatter_of_any_kind_stays_out_of_the_answers(shared: Child) -> None:
    assert shared.request("chatter", limit_s=LONG_S) == "chatter"
    assert shared.request("flush", limit_s=LONG_S) == "flush"
    wait_for(lambda: "from Python" in shared.stderr)
    for text in ("chatter while loading", "from the descriptor", "from C", "from Python"):
        assert text in shared.stderr
    assert shared.request("read the input", limit_s=LONG_S) == ("", b"")


def test_a_flood_of_messages_neither_stops_the_child_nor_is_kept(shared: Child) -> None:
    assert shared.request("flood", limit_s=LONG_S) == "flood"
    wait_for(lambda: shared.stderr.endswith("the end\n"))
    assert len(shared.stderr) == LONGEST_STDERR


def wait_for(condition: Callable[[], bool]) -> None:
    until_s = time.monotonic() + END_S
    while not condition():
        assert time.monotonic() < until_s
        time.sleep(0.01)


def test_the_clock_is_armed_for_each_request_anew(shared: Child) -> None:
    for _ in range(3):
        shared.request(("wait", 0.4), limit_s=1.0)
    time.sleep(1.1)  # idle longer than the limit: no clock runs
    assert shared.request("still there", limit_s=LONG_S) == "still there"


@pytest.mark.parametrize("message", ["hold the lock for ever", "sleep"])
def test_a_hang_ends_at_its_limit(message: str) -> None:
    with started() as child:
        assert child.request("ready?", limit_s=LONG_S) == "ready?"
        since_s = time.monotonic()
        with pytest.raises(ChildHung, match=r"no answer within 0\.3 s") as hung:
            child.request(message, limit_s=0.3)
        assert time.monotonic() - since_s >= 0.3
        assert "Timeout (0:00:00.3" in hung.value.stderr  # the child's own clock did it, not the parent's
        assert "child_process.py" in hung.value.stderr  # where it hung
        assert_gone(child.pid)
        with pytest.raises(ChildDied, match="ended before"):
            child.request("again", limit_s=LONG_S)


def test_a_stopped_child_is_given_up_by_the_parents_clock() -> None:
    with started() as child, pytest.raises(ChildHung):
        child.request("stop", limit_s=0.1)
    assert_gone(child.pid)


def test_a_crash_is_named_by_its_signal_or_code() -> None:
    for message, signal_number, exit_code, text in (
        ("crash", signal.SIGSEGV, None, "ended by SIGSEGV"),
        ("abort", signal.SIGABRT, None, "ended by SIGABRT"),
        ("leave", None, 3, "ended with code 3"),
    ):
        with started() as child, pytest.raises(ChildDied, match=text) as died:
            child.request(message, limit_s=LONG_S)
        assert (died.value.signal_number, died.value.exit_code) == (signal_number, exit_code)
        assert not died.value.out_of_memory
        assert_gone(child.pid)


def test_a_killed_child_is_seen_at_the_next_request() -> None:
    with started() as child:
        child.request("ready?", limit_s=LONG_S)
        os.kill(child.pid, signal.SIGKILL)
        with pytest.raises(ChildDied, match="SIGKILL"):
            child.request(b"x" * 1_000_000, limit_s=LONG_S)
    assert_gone(child.pid)


def test_memory_runs_out_in_the_child_only() -> None:
    with started(memory_bytes=1 << 29) as child:
        assert child.request("limits", limit_s=LONG_S) == 1 << 29
        with pytest.raises(ChildDied, match="memory ran out") as died:
            child.request("use memory", limit_s=LONG_S)
    assert died.value.out_of_memory
    assert_gone(child.pid)


def test_a_child_that_cannot_load_says_why_each_time() -> None:
    with started("load_without_library") as child:
        for _ in range(2):
            with pytest.raises(ChildNotReady, match=r"libGL\.so\.1: cannot open"):
                child.request("x", limit_s=LONG_S)
        assert_gone(child.pid)


def test_a_child_that_never_gets_ready() -> None:
    with started("load_for_ever", load_limit_s=0.3) as child, pytest.raises(ChildHung):
        child.request("x", limit_s=LONG_S)
    assert_gone(child.pid)
    with started("load_and_die") as child, pytest.raises(ChildDied, match="code 9"):
        child.request("x", limit_s=LONG_S)
    assert_gone(child.pid)
    with started("talk_nonsense") as child, pytest.raises(ChildDied, match="cannot be read"):
        child.request("x", limit_s=LONG_S)
    assert_gone(child.pid)


def test_a_program_that_is_not_there() -> None:
    with pytest.raises(ChildDied, match="could not be started") as died:
        start(["/nowhere/python"])
    assert (died.value.exit_code, died.value.signal_number) == (None, None)


def test_modules_of_the_working_folder_are_not_run(tmp_path: Path, monkeypatch: pytest.MonkeyPatch) -> None:
    """A job's folder may hold anything: nothing in it is executed."""
    for name in ("generator", "parts"):
        (tmp_path / name).mkdir()
        (tmp_path / name / "__init__.py").write_text("raise SystemExit(77)")
    (tmp_path / "pickle.py").write_text("raise SystemExit(78)")
    monkeypatch.chdir(tmp_path)
    monkeypatch.setenv("PYTHONPATH", "")
    with start_module("generator.child_side") as child, pytest.raises(ChildDied, match="code 0"):  # it has nothing to serve
        child.request("x", limit_s=LONG_S)


def test_close_lets_the_child_leave_and_may_be_repeated() -> None:
    child = started()
    child.request("ready?", limit_s=LONG_S)
    assert (child.alive, child.exit_code) == (True, None)
    child.close()
    child.close()
    assert (child.alive, child.exit_code) == (False, 0)  # it left by itself when its pipe was closed
    assert_gone(child.pid)


def test_a_forgotten_child_is_collected() -> None:
    child = started()
    child.request("ready?", limit_s=LONG_S)
    pid = child.pid
    del child
    gc.collect()
    assert_gone(pid)


def test_a_child_outlives_the_thread_that_started_it() -> None:
    children: list[Child] = []

    def start_one() -> None:
        children.append(started())
        children[0].request("ready?", limit_s=LONG_S)

    thread = threading.Thread(target=start_one)
    thread.start()
    thread.join()
    with children[0] as child:
        time.sleep(0.2)
        assert child.request("still there", limit_s=LONG_S) == "still there"


@contextlib.contextmanager
def parent_process(*arguments: str) -> Iterator[tuple[subprocess.Popen[str], int]]:
    environment = {**os.environ, **ENVIRONMENT}
    with subprocess.Popen(
        [sys.executable, str(PROGRAM), *arguments], env=environment, stdout=subprocess.PIPE, stderr=subprocess.PIPE, text=True
    ) as process:
        try:
            assert process.stdout is not None
            yield process, int(process.stdout.readline())
        finally:
            process.kill()


@pytest.mark.parametrize("arguments", [("parent", "hold the lock for ever"), ("idle_parent",)])
def test_a_child_ends_with_its_killed_parent(arguments: tuple[str, ...]) -> None:
    with parent_process(*arguments) as (process, pid):
        time.sleep(0.1)
        assert not ended(pid)
        process.kill()
        process.wait()
        assert ends_soon(pid)


def test_an_interrupt_ends_both_soon() -> None:
    with parent_process("parent", "hold the lock for ever") as (process, pid):
        time.sleep(0.1)
        since_s = time.monotonic()
        process.send_signal(signal.SIGINT)
        _, errors = process.communicate(timeout=END_S)
        assert time.monotonic() - since_s < END_S
        assert errors.rstrip().endswith("KeyboardInterrupt")
        assert ended(pid)


def test_an_interrupt_during_a_request_ends_the_child_before_it_goes_on() -> None:
    child = started()
    child.request("ready?", limit_s=LONG_S)
    timer = threading.Timer(0.2, os.kill, (os.getpid(), signal.SIGINT))
    timer.start()
    with pytest.raises(KeyboardInterrupt):
        child.request("hold the lock for ever", limit_s=LONG_S)
    timer.join()
    assert_gone(child.pid)


def test_an_interrupt_of_the_whole_group_does_not_end_the_child_by_itself() -> None:
    """Ctrl-C on a terminal goes to every process of the group."""
    with started() as child:
        child.request("ready?", limit_s=LONG_S)
        os.kill(child.pid, signal.SIGINT)
        assert child.request("still there", limit_s=LONG_S) == "still there"
