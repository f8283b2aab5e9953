"""Building a kit: order, faults of every part at once, selection, ids that become file names, accepted findings."""

from __future__ import annotations

from dataclasses import dataclass, replace
from typing import Any, cast

import pytest

from generator.job import Accept, read_job
from generator.kit import Kit, build, judged
from parts.errors import BadInput, Fault, Finding
from parts.frame.frame import Frame
from parts.outline import rectangle
from parts.piece import Piece
from parts.sheet import HOME, Panel, SheetPart
from parts.shop import Shop
from parts.spec import Position


class Steel:
    """Stands in for a frame: records in which order faces are put on it."""

    crossmembers: tuple[str, ...] = ()
    sides: tuple[str, ...] = ()

    def __init__(self, faces: tuple[str, ...] = ()) -> None:
        self.faces = faces

    def with_faces(self, faces: tuple[str, ...]) -> Steel:
        return Steel((*self.faces, *faces))

    def with_built(self, part: str, pieces: tuple[Piece, ...]) -> Steel:
        return self


@dataclass(frozen=True, kw_only=True)
class Plate:
    """A part of one or more equal pieces that sees the faces put on the frame before it."""

    id: str
    needs: tuple[str, ...] = ()
    pieces: tuple[str, ...] = ()
    bad: bool = False

    def build(self, frame: Steel, shop: Shop) -> tuple[Piece, ...]:
        assert set(self.needs) <= set(frame.faces), "built before what it needs"
        if self.bad:
            raise BadInput(Fault(where="", field="seat", limit=f"{self.id} cannot be"))
        part = SheetPart(name=self.id, thickness_mm=3.0, panels=(Panel(name="p", contour=rectangle(0.0, 0.0, 80.0, 50.0)),))
        return tuple(
            Piece(id=name, family="made up", side="left", part=part, grade="A36", placements=(HOME,)) for name in self.pieces or (self.id,)
        )

    def faces(self, frame: Steel, shop: Shop) -> tuple[str, ...]:
        return (self.id,)


def made(*parts: Plate, only: tuple[str, ...] = ()) -> Kit:
    return build(cast(Any, parts), cast(Frame, Steel()), Shop(), only=only, file="job.toml")


def faults(*parts: Plate, only: tuple[str, ...] = ()) -> list[str]:
    with pytest.raises(BadInput) as caught:
        made(*parts, only=only)
    return [str(f) for f in caught.value.faults]


def test_a_part_is_built_after_what_it_needs_and_listed_where_the_job_has_it() -> None:
    kit = made(Plate(id="bracket", needs=("plate",)), Plate(id="gusset", needs=("bracket", "plate")), Plate(id="plate"))
    assert [p.id for p in kit.pieces] == ["bracket", "gusset", "plate"]
    assert [f.area_mm2 for f in kit.flats] == [4000.0] * 3


def test_the_faults_of_every_part_come_at_once_without_echoes() -> None:
    lines = faults(Plate(id="one", bad=True), Plate(id="on-one", needs=("one",), bad=True), Plate(id="two", bad=True), Plate(id="good"))
    assert lines == ["job.toml: part one: seat: one cannot be", "job.toml: part two: seat: two cannot be"]


def test_parts_that_sit_on_each_other_are_named() -> None:
    (line,) = faults(Plate(id="a", needs=("b",)), Plate(id="b", needs=("a",)), Plate(id="c"))
    assert "a, b" in line and "circle" in line


def test_only_takes_a_part_or_one_of_its_pieces() -> None:
    parts = (Plate(id="boxing", pieces=("boxing-left", "boxing-right")), Plate(id="seat", needs=("boxing",)))
    assert [p.id for p in made(*parts, only=("boxing",)).pieces] == ["boxing-left", "boxing-right"]
    assert [p.id for p in made(*parts, only=("boxing-right", "seat")).pieces] == ["boxing-right", "seat"]
    (line,) = faults(*parts, only=("boxing-lefd",))
    assert "boxing-lefd" in line and "boxing-left" in line


@pytest.mark.parametrize("name", ["Boxing", "assembly", "ASSEMBLY", "con", "nul.x"])
def test_an_id_that_cannot_be_a_file_of_its_own(name: str) -> None:
    (line,) = faults(Plate(id="boxing"), Plate(id=name))
    assert name in line and "id" in line


STOP = Finding(code="on-the-number", level="stop", where="plate", message="covers the stamped number")
WARN = Finding(code="near-edge", level="warn", where="plate", message="is near the edge")
NOTE = Finding(code="depth", level="note", where="plate", message="hangs from the lower flange")


def test_findings_come_stops_first_and_once() -> None:
    assert judged((NOTE, WARN, STOP, NOTE), ()) == (STOP, WARN, NOTE)


def test_an_accepted_finding_is_a_note_that_keeps_its_level_and_the_reason() -> None:
    (found,) = judged((STOP,), (Accept(code="on-the-number", why="a second plate carries it"),))
    assert found.level == "note"
    assert "stop" in found.message and "a second plate carries it" in found.message


def test_an_acceptance_that_meets_nothing_is_said() -> None:
    (found,) = judged((), (Accept(code="gone", why="was there once"),))
    assert found.level == "note" and "gone" in found.message


def on_the_flatbed(**changes: dict[str, Any]) -> list[Fault]:
    """The faults of the demo job after changes to parts of it, by id."""
    read = read_job("demo:orchard-flatbed")
    parts = [replace(p, **changes.get(p.id.replace("-", "_"), {})) for p in read.job.parts]
    with pytest.raises(BadInput) as caught:
        build(parts, read.frame, read.job.shop)
    return list(caught.value.faults)


def test_a_part_that_stands_on_nothing_is_told_so_beside_the_faults_of_another() -> None:
    found = on_the_flatbed(gearbox_seat={"on": "boxng"}, boxing={"start": Position(at="midd")})
    assert {(f.where, f.value) for f in found} == {("part gearbox-seat", "boxng"), ("part boxing", "midd")}
    seat = next(f for f in found if f.value == "boxng")
    assert (seat.field, seat.remedy) == ("on", 'did you mean "boxing"?')


def test_unknown_places_are_told_of_parts_whose_base_has_failed_and_once_for_both_rails() -> None:
    found = on_the_flatbed(gearbox_seat={"at": Position(at="tail")}, boxing={"start": Position(at="midd"), "end": Position(at="reer")})
    assert sorted((f.where, f.value) for f in found) == [("part boxing", "midd"), ("part boxing", "reer"), ("part gearbox-seat", "tail")]
