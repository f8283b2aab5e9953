"""Every family over its own declared ranges, on every demo frame: what is accepted builds, unfolds, folds and re-reads; what is refused
names a field.

Each example is a part of a demo job with up to four of its parameters drawn anew from what the family itself declares. The volume law is
Pappus' theorem on both sides of a bend, as in `test_suite.py`. Blind to: whether a refusal was needed.
"""

from __future__ import annotations

import os
import tempfile
from collections.abc import Iterator
from dataclasses import replace
from functools import cache
from pathlib import Path
from typing import Any

import pytest
from hypothesis import HealthCheck, Phase, event, given, settings
from hypothesis import strategies as st

from generator.job import read_job
from generator.kernel.messages import BuiltSolid
from generator.kernel.service import Kernel
from generator.rules.judge import judge
from parts.errors import LEVELS, BadInput
from parts.families import FAMILIES
from parts.families.family import Family
from parts.flat import unfold
from parts.formed import formed
from parts.frame import Frame
from parts.landing import flat_faces
from parts.pockets import pocketed
from parts.soundness import faults
from tests.families.any_parameters import Named, changed, names_of
from tests.families.cases import FRAMES, JOBS, made
from tests.families.test_suite import STEEL

EXAMPLES = {"short": 20, "long": 1500}[os.environ.get("LADDERFRAME_SAMPLES", "short")]
IN_KERNEL = 5  #: accepted examples of a family and frame that the kernel builds too, in a short run


@pytest.fixture(scope="module")
def kernel() -> Iterator[Kernel]:
    with Kernel.start() as started:
        yield started


@cache
def before(job: str, frame: str, part: str) -> tuple[Family, Frame]:
    """A part of a demo job, and the demo frame with everything on it that the part needs."""
    read = read_job(f"demo:{job}", f"demo:{frame}")
    known = {p.id: p for p in read.job.parts}
    wanted = _needed(known, known[part])
    on = read.frame
    for other in wanted:
        pieces = other.build(on, read.job.shop)
        on = on.with_faces(other.faces(on, read.job.shop)).with_built(other.id, pieces)
    return known[part], on


def _needed(known: dict[str, Family], part: Family) -> list[Family]:
    out: list[Family] = []
    for name in (n for n in part.needs if n in known):  # a hanger may stand on what the frame has
        if name not in known:
            continue  # a name of the frame, where a family takes either
        for one in (*_needed(known, known[name]), known[name]):
            if one not in out:
                out.append(one)
    return out


def bases(family: str) -> list[tuple[str, str]]:
    """(job, part id) of every part of that family in the demo jobs."""
    parts = [(job, part) for job in JOBS for part in made(job, FRAMES[0])[0].job.parts]
    return [(job, part.id) for job, part in parts if isinstance(part, FAMILIES[family])]


def test_every_family_is_in_a_demo_job() -> None:
    assert [family for family in FAMILIES if not bases(family)] == []


@pytest.mark.parametrize("frame", FRAMES)
@pytest.mark.parametrize("family", FAMILIES)
def test_accepted_builds_and_refused_names_a_field(family: str, frame: str, kernel: Kernel) -> None:
    cls, count = FAMILIES[family], [0]
    cases = [before(job, frame, part) for job, part in bases(family)]
    assert cases

    @settings(
        max_examples=EXAMPLES,
        deadline=None,
        derandomize=True,
        phases=(Phase.explicit, Phase.generate),
        suppress_health_check=[HealthCheck.too_slow, HealthCheck.filter_too_much],
    )
    @given(data=st.data())
    def any_one(data: st.DataObject) -> None:
        base, on = data.draw(st.sampled_from(cases))
        values = data.draw(changed(cls, base, _named(on), most=4))
        count[0] += try_one(base, values, on, kernel if count[0] < IN_KERNEL or EXAMPLES > 100 else None)

    any_one()
    assert count[0] > EXAMPLES / 10, "hardly anything is accepted: the drawn parameters test nothing"


def _named(on: Frame) -> Named:
    return names_of(on, tuple(dict.fromkeys(name for name, _ in on.built)))


def try_one(base: Family, values: dict[str, Any], on: Frame, kernel: Kernel | None) -> bool:
    """Whether the part was accepted."""
    shop = made(JOBS[0], FRAMES[0])[0].job.shop
    try:
        part = replace(base, **values)  # type: ignore[type-var]  # every family is a dataclass
        pieces = part.build(on, shop)
        part.faces(on, shop)
        host = [piece for _, piece in on.built]
        pocketed([*host, *pieces])
        flats = [unfold(piece.part, shop.bend_rule()) for piece in pieces]
    except BadInput as error:
        for fault in error.faults:
            assert fault.field and fault.limit, f"{values}: {fault!r}"
            assert "nan" not in str(fault).split() and "inf" not in str(fault).split(), str(fault)
        event("refused")
        return False
    assert pieces, "accepted, and nothing is made"
    assert len({p.id for p in pieces}) == len(pieces)
    for found in judge(pieces, flats, on, shop).findings:
        assert found.code and found.level in LEVELS and found.where and found.message, found
    for piece, flat in zip(pieces, flats, strict=True):
        assert piece.placements and not faults(piece.part), f"{values}: {piece.id}"
        assert flat.area_mm2 > 0 and formed(piece.part).points() and flat_faces(piece)
        for found in piece.findings:
            assert found.code and found.level in LEVELS and found.where and found.message, found
        if kernel is not None:
            with tempfile.TemporaryDirectory() as folder:
                solid = kernel.build(piece.part, Path(folder) / "any.step", name=piece.id, colour=STEEL)
            assert isinstance(solid, BuiltSolid), f"{values}: {piece.id}: {solid}"
            assert abs(solid.volume_mm3 / flat.volume_mm3 - 1) < 1e-9, f"{values}: {piece.id}"
    return True
