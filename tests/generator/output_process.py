"""Programs that `test_output.py` runs as processes of their own, to be killed, starved and locked out: `NAME ARGUMENTS`."""

from __future__ import annotations

import hashlib
import json
import os
import signal
import subprocess
import sys
import time
from collections.abc import Callable
from pathlib import Path

from generator import output_swap
from generator.output import CannotWrite, preflight, staged

PARTS = 2
KILLED_AT = frozenset({"open", "os.rename", "os.remove", "os.rmdir", "os.mkdir", "os.chmod", "os.truncate", "os.listdir", "os.scandir"})


def write_set(out_dir: Path, number: int) -> None:
    """One set whose every file carries `number`; even and odd sets differ in their names too."""
    with staged(out_dir) as staging:
        for i in range(PARTS):
            staging.write_text(f"dxf/part-{i}-{number % 2}.dxf", f"set {number} part {i}\n" * 40)
        staging.path("step/part.step").write_text(f"set {number}\n")
        staging.commit({"number": number})


def no_exchange(one: Path, other: Path) -> None:
    raise output_swap.NoExchange


def write_for_ever(out_dir: str) -> None:
    """Say after the first set how many seconds it took, and go on."""
    since_s = time.monotonic()
    write_set(Path(out_dir), 1)
    print(time.monotonic() - since_s, flush=True)
    number = 1
    while True:
        number += 1
        write_set(Path(out_dir), number)


def hold(out_dir: str) -> None:
    """Stay inside a run until told to go on, or ended."""
    with staged(Path(out_dir)) as staging:
        staging.write_text("a.txt", "a")
        print("holding", flush=True)
        sys.stdin.readline()


def kill_at_each_step(out_dir: str, way: str) -> None:
    """Write set 2 over set 1, killed at its first step on the file system, then at its second, and so on until it gets through."""
    if way == "renames":
        output_swap.exchange = no_exchange
    place = Path(out_dir)
    for step in range(1, 1000):
        if not place.exists():
            write_set(place, 1)
        process = os.fork()
        if process == 0:
            _kill_self_at(step)
            write_set(place, 2)
            os._exit(0)
        _, status = os.waitpid(process, 0)
        through = os.WIFEXITED(status) and os.WEXITSTATUS(status) == 0
        there = place.exists()
        note = preflight(place)  # a later command: puts back, clears away
        beside = sorted(entry for entry in os.listdir(place.parent) if entry != place.name)
        print(json.dumps({"step": step, "through": through, "there": there, "note": note, "beside": beside, "set": read_set(place)}))
        if through:
            return
        write_set(place, 1)


def _kill_self_at(step: int) -> None:
    passed = 0

    def count(event: str, arguments: object) -> None:
        nonlocal passed
        if event in KILLED_AT or event.startswith("ctypes.call"):
            passed += 1
            if passed == step:
                os.kill(os.getpid(), signal.SIGKILL)

    sys.addaudithook(count)


def read_set(folder: Path) -> list[str]:
    """Which sets' words stand in the folder: one entry where it is of one piece, and "damaged" where a file is not as listed."""
    manifest = json.loads((folder / "manifest.json").read_text())
    files = {path.relative_to(folder).as_posix(): path for path in sorted(folder.rglob("*")) if path.is_file()}
    del files["manifest.json"]
    found = {f"set {manifest['number']}", *(path.read_text().split(" part")[0].strip() for path in files.values())}
    if {entry["path"]: entry["sha256"] for entry in manifest["files"]} != {
        name: hashlib.sha256(path.read_bytes()).hexdigest() for name, path in files.items()
    }:
        found.add("damaged")
    return sorted(found)


def refusal(action: Callable[[], object]) -> str:
    try:
        action()
    except CannotWrite as error:
        return str(error)
    return "no refusal"


def refusals_of_mounts(scratch: str) -> None:
    """In a mount namespace of our own: a full disk, a read-only one, mount points at and in the output folder."""
    base = Path(scratch)
    answers = {}

    small = base / "small"
    small.mkdir()
    _run("mount", "-t", "tmpfs", "-o", "size=256k", "none", str(small))
    write_set(small / "out", 1)
    answers["full"] = refusal(lambda: _write_much(small / "out"))
    answers["full, after"] = json.dumps(read_set(small / "out"))
    answers["full, beside"] = json.dumps(os.listdir(small))

    answers["mount point"] = refusal(lambda: preflight(small))

    read_only = base / "read-only"
    read_only.mkdir()
    _run("mount", "-t", "tmpfs", "-o", "ro,size=256k", "none", str(read_only))
    answers["read-only"] = refusal(lambda: preflight(read_only / "out"))

    out = base / "out"
    write_set(out, 1)
    source = base / "a b"  # a blank is escaped in the system's list of mounts
    source.mkdir()
    _run("mount", "--bind", str(source), str(source))
    answers["bound"] = refusal(lambda: preflight(source))
    _run("mount", "--bind", str(source), str(out / "dxf"))
    answers["bound inside"] = refusal(lambda: preflight(out))
    print(json.dumps(answers))


def _run(*argv: str) -> None:
    subprocess.run(argv, check=True)


def _write_much(out_dir: Path) -> None:
    with staged(out_dir) as staging:
        for i in range(100):
            staging.write_bytes(f"{i}.bin", bytes(16_384))
        staging.commit({"number": 2})


def refuse_large_files(out_dir: str) -> None:
    """With the system's limit on a file's size: what a full disk looks like where nothing can be mounted."""
    import resource

    write_set(Path(out_dir), 1)
    resource.setrlimit(resource.RLIMIT_FSIZE, (8192, resource.RLIM_INFINITY))
    print(refusal(lambda: _write_much(Path(out_dir))))


def refuse_without_rights(folder: str) -> None:
    """As a user who may not write in `folder`, nor in the output folder `theirs/out` that is his to look at."""
    if os.geteuid() == 0:
        os.setgroups([])
        os.setgid(65534)
        os.setuid(65534)
    base = Path(folder)
    print(json.dumps([refusal(lambda: preflight(base / "closed" / "out")), refusal(lambda: preflight(base / "open" / "out"))]))


def interrupted_while_working(out_dir: str, number: str) -> None:
    """Ends as the signal `number`, sent by this process to itself in the middle of a run, has it."""
    try:
        with staged(Path(out_dir)) as staging:
            staging.write_text("a.txt", "a")
            signal.raise_signal(int(number))
            time.sleep(5)
            staging.commit({"number": 9})
    except KeyboardInterrupt as error:
        print(type(error).__name__, getattr(error, "signal_number", None))


def interrupted_while_swapping(out_dir: str) -> None:
    """Ctrl-C arrives inside the swap."""
    swap = output_swap.exchange_or_rename

    def swap_and_interrupt(new: Path, place: Path, aside: Path) -> None:
        signal.raise_signal(signal.SIGINT)
        swap(new, place, aside)

    output_swap.exchange_or_rename = swap_and_interrupt
    write_set(Path(out_dir), 2)
    print("done")


if __name__ == "__main__":
    globals()[sys.argv[1]](*sys.argv[2:])
