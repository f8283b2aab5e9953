"""The parent's side of the solid kernel: start it early, ask it for solids, get a solid or a finding. Imports no kernel.

    with Kernel.start() as kernel:          # returns at once; the kernel loads while the job is read
        made = kernel.build(part, staging.path("step/plate.step"), name="plate", colour=STEEL)
        kernel.assembly(staging.path("step/assembly.step"), name="kit", items=items, bodies=bodies)

Whatever a part does to the kernel ends as a finding that names the part, and the next request finds a new process at work. A part that
could not be built stays out of the assembly.
"""

from __future__ import annotations

from collections.abc import Iterable
from dataclasses import replace
from pathlib import Path
from types import TracebackType
from typing import Self, TypeVar

from generator.child import Child, ChildDied, ChildFault, ChildHung, ChildNotReady, ChildRefused, start_module
from generator.kernel.messages import (
    AssemblyBody,
    AssemblyItem,
    AssemblyRequest,
    BuildRequest,
    BuiltAssembly,
    BuiltSolid,
    Colour,
    CommonVolumeRequest,
    DistanceRequest,
    Faulty,
    Placed,
    Unwritten,
    VersionRequest,
)
from parts.errors import Finding
from parts.sheet import SheetPart

MODULE = "generator.kernel.worker"
LIMIT_S = 30.0  #: for one request; the largest part of a kit takes well under one second
MEMORY_BYTES = 8 << 30  #: of address space, most of it libraries and room put aside: a kit uses under 1.5 GiB
SOURCE = "the solid kernel's answer"
UNWRITTEN = "solid-unwritten"  #: the finding's code where the disk refused the file: nothing is wrong with the part
CHECK_SIZES = "check its sizes; if they are right this is a fault of the program. Its flat pattern is made all the same"

Answer = TypeVar("Answer")


class Kernel:
    """One child process at a time that holds the kernel. Not for two threads at once."""

    def __init__(self, child: Child | Finding, *, limit_s: float, memory_bytes: int | None) -> None:
        """Use `Kernel.start`."""
        self._child: Child | None = child if isinstance(child, Child) else None
        self._lost: Finding | None = child if isinstance(child, Finding) else None
        self._limit_s = limit_s
        self._memory_bytes = memory_bytes
        self._answers = False  # whether the child at hand has answered
        self._failed: set[SheetPart] = set()

    @staticmethod
    def start(*, limit_s: float = LIMIT_S, memory_bytes: int | None = MEMORY_BYTES) -> Kernel:
        """Start the child and return at once.

        Args:
            limit_s: seconds that one request may take; loading does not count.
            memory_bytes: limit of the child's address space, or None.
        """
        return Kernel(_started(memory_bytes), limit_s=limit_s, memory_bytes=memory_bytes)

    def version(self) -> str | Finding:
        """The kernel's version, once it has loaded."""
        return self._ask(VersionRequest(), str, "solid kernel")

    def build(self, part: SheetPart, path: Path, *, name: str, colour: Colour) -> BuiltSolid | Finding:
        """Build `part`, write it to `path` as STEP (mm, named, coloured) and return what was read back from the file.

        `path` lies in the staging folder, which exists. On a finding nothing was written.
        """
        made = self._ask(BuildRequest(name=name, part=part, path=path, colour=colour), BuiltSolid, f"part {name}")
        if isinstance(made, Finding):
            self._failed.add(part)
        return made

    def assembly(
        self, path: Path, *, name: str, items: Iterable[AssemblyItem], bodies: Iterable[AssemblyBody] = ()
    ) -> BuiltAssembly | Finding:
        """Write one STEP file with every item at every of its placements, and the bodies. Flat: one level under `name`.

        Parts that `build` could not make are left out. On a finding nothing was written.
        """
        sound = tuple(i for i in items if i.part not in self._failed)
        request = AssemblyRequest(name=name, path=path, items=sound, bodies=tuple(bodies))
        return self._ask(request, BuiltAssembly, f"assembly {name}", limit_s=self._limit_s * (1 + len(sound) + len(request.bodies)))

    def distance(self, one: Placed, two: Placed) -> float | Finding:
        """The least distance in mm between two placed things; 0 where they touch or share room."""
        return self._ask(DistanceRequest(one=one, two=two), float, _pair(one, two))

    def common_volume(self, one: Placed, two: Placed) -> float | Finding:
        """The volume in mm³ that both fill; 0 where they only touch."""
        return self._ask(CommonVolumeRequest(one=one, two=two), float, _pair(one, two))

    def close(self) -> None:
        """End the child. May be called again; a later request finds no kernel."""
        if self._child is not None:
            self._child.close()
            self._child = None
        self._lost = self._lost or _finding("kernel-closed", "solid kernel", "the solid kernel was closed before this was asked")

    def __enter__(self) -> Self:
        return self

    def __exit__(self, kind: type[BaseException] | None, error: BaseException | None, trace: TracebackType | None) -> None:
        if kind is not None and self._child is not None:
            self._child.kill()  # an interrupted run does not wait for the kernel
        self.close()

    def _ask(self, message: object, kind: type[Answer], where: str, *, limit_s: float | None = None) -> Answer | Finding:
        child = self._ready()
        if isinstance(child, Finding):
            return child
        try:
            answer = child.request(message, limit_s=limit_s or self._limit_s)
        except ChildRefused as error:
            return _finding("solid-refused", where, f"no solid: {error.text}")
        except ChildFault as error:
            self._restart()
            return _fate(error, where)
        if isinstance(answer, Faulty):
            text = "; ".join(str(replace(f, where="") if f.where == where else f) for f in answer.faults)
            return _finding("solid-refused", where, f"no solid: {text}")
        if isinstance(answer, Unwritten):
            return _finding(UNWRITTEN, where, answer.reason)
        if not isinstance(answer, kind):
            return _finding("solid-refused", where, f"no solid: the kernel's process answered with {type(answer).__name__}")
        return answer

    def _ready(self) -> Child | Finding:
        """The child, once it has answered something harmless: after that, whatever ends it is the request's doing."""
        if self._lost is None and self._child is not None and not self._answers:
            try:
                self._child.request(VersionRequest(), limit_s=self._limit_s)
                self._answers = True
            except ChildFault as error:
                self._child.kill()
                self._child, self._lost = None, _no_kernel(error)
        if self._child is None:
            return self._lost or _finding("kernel-missing", "solid kernel", "no solid kernel")
        return self._child

    def _restart(self) -> None:
        if self._child is not None:
            self._child.kill()
        self._answers = False
        started = _started(self._memory_bytes)
        self._child, self._lost = (started, None) if isinstance(started, Child) else (None, started)


def _started(memory_bytes: int | None) -> Child | Finding:
    try:
        return start_module(MODULE, memory_bytes=memory_bytes)
    except ChildDied as error:
        return _no_kernel(error)


def _no_kernel(error: ChildFault) -> Finding:
    text = error.text if isinstance(error, ChildNotReady) else f"the solid kernel does not start: {error.text}"
    return Finding(
        code="kernel-missing",
        level="warn",
        where="STEP models",
        message=f"left out: {text}",
        remedy="mend this and run again, or leave them out with --no-solids",
        source="this computer",
    )


def _fate(error: ChildFault, where: str) -> Finding:
    """What became of the request, in a sentence."""
    if isinstance(error, ChildHung):
        limit = f"{error.limit_s:g} s"
        message = f"no solid: the kernel gave no answer within {limit} and was ended"
        return _finding("solid-hung", where, message, limit=limit, remedy=CHECK_SIZES)
    if isinstance(error, ChildDied) and error.out_of_memory:
        return _finding("solid-memory", where, "no solid: the kernel ran out of memory over it", remedy=CHECK_SIZES)
    return _finding("solid-crashed", where, f"no solid: the kernel broke down over it ({error.text})", remedy=CHECK_SIZES)


def _finding(code: str, where: str, message: str, *, limit: str = "", remedy: str = "") -> Finding:
    return Finding(code=code, level="stop", where=where, message=message, limit=limit, remedy=remedy, source=SOURCE)


def _pair(one: Placed, two: Placed) -> str:
    return " and ".join(p.thing.name for p in (one, two))


__all__ = ["UNWRITTEN", "AssemblyBody", "AssemblyItem", "BuiltAssembly", "BuiltSolid", "Colour", "Kernel", "Placed"]
