"""What the siege starves in a process of its own: `python -m tests.cli.siege_process NAME FOLDER` prints one JSON line a case.

Each case is a fork of one process that has everything loaded: what a fork gives up stays given up, and only there.
"""

from __future__ import annotations

import ctypes
import json
import os
import resource
import shutil
import stat
import subprocess
import sys
from collections.abc import Callable, Iterator
from functools import partial
from pathlib import Path
from typing import Any

from generator.output import staged
from tests.cli.siege import run

KB = 1024
#: What one file may have before the system says no, as a full disk does (setrlimit(2)). The lock alone has some bytes, a flat pattern of
#: the starter some kilobytes, its picture more.
ROOMS = (0, 4 * KB, 12 * KB)
DISKS_KB = (24, 32, 48, 64, 96, 128, 192, 400)
#: What the permissions of these say no to: below the folder that holds them all.
SHUT = {"the folder it is in": ".", "the folder itself": "kit", "a folder of the set": "kit/dxf"}
#: Linux, <linux/capability.h>: the version of the call, and what lets root write where the permissions say no.
CAPABILITY_VERSION_3, CAP_DAC_OVERRIDE = 0x20080522, 1

Tree = dict[str, bytes | str | None]


def snapshot(folder: Path) -> Tree:
    """Every path below `folder`: a file's bytes, where a link leads, None for a folder."""
    found: Tree = {}
    for path in sorted(folder.rglob("*")):
        name = path.relative_to(folder).as_posix()
        found[name] = os.readlink(path) if path.is_symlink() else path.read_bytes() if path.is_file() else None
    return found


def write_old(out: Path) -> None:
    """A set of other bytes than any run makes."""
    with staged(out) as staging:
        staging.write_text("dxf/old.dxf", "old")
        staging.write_text("tables/old.csv", "old")
        staging.commit({"number": 1})


def rooms(work: Path) -> Iterator[dict[str, Any]]:
    for room in ROOMS:
        yield starved(work, str(room), partial(resource.setrlimit, resource.RLIMIT_FSIZE, (room, room)))


def rights(work: Path) -> Iterator[dict[str, Any]]:
    for name, shut in SHUT.items():
        folder = work / shut
        mode = stat.S_IMODE(folder.stat().st_mode)
        folder.chmod(0o555)
        try:
            yield starved(work, name, give_up_root)
        finally:
            folder.chmod(mode)
    yield starved(work, "all open", give_up_root)


def disks(work: Path) -> Iterator[dict[str, Any]]:
    """Real ones, of every size from next to nothing on. Needs a mount namespace of its own."""
    for kilobytes in DISKS_KB:
        disk = work / "disk"
        disk.mkdir()
        subprocess.run(["mount", "-t", "tmpfs", "-o", f"size={kilobytes}k", "none", str(disk)], check=True)
        write_old(disk / "kit")
        yield {**starved(disk, str(kilobytes), lambda: None, job=work / "truck" / "job.toml"), "beside": sorted(os.listdir(disk))}
        subprocess.run(["umount", str(disk)], check=True)
        disk.rmdir()


def starved(work: Path, name: str, starve: Callable[[], object], job: Path | None = None) -> dict[str, Any]:
    """`make` over `work/kit` in a fork, after `starve`: its code and words, and whether all below `work` is as it was."""
    before = snapshot(work)
    reading, writing = os.pipe()
    process = os.fork()
    if process == 0:
        starve()
        answer = run("make", job or work / "truck" / "job.toml", "--no-solids", "--out", work / "kit")
        os.write(writing, json.dumps([answer.code, answer.out[:1000], answer.err[:1000]]).encode())
        os._exit(0)
    os.close(writing)
    with open(reading, encoding="utf-8") as pipe:
        told = pipe.read()
    os.waitpid(process, 0)
    code, out, err = json.loads(told)
    return {"name": name, "code": code, "out": out, "err": err, "as before": snapshot(work) == before}


def give_up_root() -> None:
    """From here on the permissions bind this process, whoever it is."""
    if os.geteuid() != 0:
        return
    call = ctypes.CDLL(None, use_errno=True)
    head = (ctypes.c_uint32 * 2)(CAPABILITY_VERSION_3, 0)
    sets = (ctypes.c_uint32 * 6)()  # effective, permitted, inheritable; then the same for the higher numbers
    assert call.capget(head, sets) == 0
    for k in range(3):
        sets[k] &= ~(1 << CAP_DAC_OVERRIDE)
    assert call.capset(head, sets) == 0


def main(name: str, work: Path) -> None:
    assert run("make", work / "truck" / "job.toml", "--no-solids", "--out", work / "loaded").code == 0
    shutil.rmtree(work / "loaded")
    for row in {"rooms": rooms, "rights": rights, "disks": disks}[name](work):
        print(json.dumps(row), flush=True)


if __name__ == "__main__":
    main(sys.argv[1], Path(sys.argv[2]))
