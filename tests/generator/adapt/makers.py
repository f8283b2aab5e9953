"""Frames made to break the demo jobs on, each the orchard flatbed's with one thing changed in its text, and jobs as text."""

from __future__ import annotations

import re
from functools import cache
from pathlib import Path

from generator.adapt.stage import Adapted, adapt
from generator.files.model import model_of
from generator.files.source import Source
from generator.files.toml_text import parse
from generator.job import Job
from generator.rules.judge import judge
from parts.frame.frame import Frame

DEMO = Path(__file__).parents[3] / "generator" / "demo"


def demo_text(kind: str, name: str) -> str:
    return (DEMO / f"{kind}-{name}.toml").read_text(encoding="utf-8")


@cache
def bare_flatbed() -> str:
    """The orchard flatbed's frame without what was measured on it."""
    text = re.sub(r"^readings_file.*\n", "", demo_text("frame", "orchard-flatbed"), flags=re.MULTILINE)
    return text[: re.search(r"^# -+ measuring", text, re.MULTILINE).start()]  # type: ignore[union-attr]


def without(text: str, table: str, name: str) -> str:
    """The text less one `[[table]]` of that name."""
    found = re.search(rf'\[\[{table}\]\]\nname = "{name}".*?(?=\n\[\[|\n# -|\Z)', text, re.DOTALL)
    assert found is not None
    return text.replace(found[0], "")


def shallow(depth: int) -> str:
    """Rails of another depth; what lies on their webs and between them goes with it."""
    text = bare_flatbed().replace("depth = 150", f"depth = {depth}")
    text = re.sub(r"^up = (\d+)", lambda m: f"up = {int(m[1]) * depth // 150}", text, flags=re.MULTILINE)
    text = re.sub(r"depth = (\d+), (width|thickness)", lambda m: f"depth = {int(m[1]) * depth // 150}, {m[2]}", text)
    return text.replace("drop = 15", "drop = 8")


def model(cls: type[Frame] | type[Job], text: str) -> Frame | Job:
    read = model_of(cls, parse(Source(label="test", name="test", path=Path(), sha256="", text=text)), "test")
    assert not isinstance(read, tuple), "\n".join(map(str, read))
    return read


@cache
def frame_of(text: str) -> Frame:
    read = model(Frame, text)
    assert isinstance(read, Frame)
    return read


@cache
def demo_frame(name: str) -> Frame:
    from generator.job import read_frame

    return read_frame(f"demo:{name}")


def job_of(text: str) -> Job:
    read = model(Job, text)
    assert isinstance(read, Job)
    return read


def carried(job: str, other: Frame, own: Frame | None = None, reference: str = "other.toml") -> Adapted:
    """The job text put onto another frame than the orchard flatbed."""
    read = job_of(job)
    return adapt(read, job, own or frame_of(bare_flatbed()), other, reference, lambda p, f, where: judge(p, f, where, read.shop).findings)


HEAD = 'format = 1\nname = "test job"\nunits = "mm"\nframe = "own.toml"\n\n[shop]\nprocess = "laser"\nbend = { rule = "din6935" }\n\n'

__all__ = ["DEMO", "HEAD", "bare_flatbed", "carried", "demo_frame", "demo_text", "frame_of", "job_of", "shallow", "without"]
