"""Bad input: exit 2, one line a fault with part, field, value, limit and remedy, every fault at once, nothing written, no traceback."""

from __future__ import annotations

import json
import os
import resource
from collections.abc import Callable, Iterator
from pathlib import Path

import pytest

from generator.cli import main
from generator.starter import write_starter
from tests.cli.helpers import ladderframe, names_below

LIMIT_S = 2.0
Edit = tuple[str, str, str]

THICKNESS = "thickness = 3\n"
DEPTH = 'name = "rear"\nx = 3200\ny = 400\nz = 500\ndepth = 140\n'
START = 'start = { at = "front", offset = 500 }'
PART = '\n[[part]]\nid = "{}"\nfamily = "rail_plate"\nthickness = 3\nseat = "toes"\nstart = "front"\nend = "rear"\n'


@pytest.fixture
def folder(tmp_path: Path, monkeypatch: pytest.MonkeyPatch) -> Iterator[Path]:
    """The starter files, in the current folder."""
    write_starter(tmp_path / "truck")
    monkeypatch.chdir(tmp_path / "truck")
    yield tmp_path / "truck"


def edit(folder: Path, name: str, old: str, new: str) -> None:
    path = folder / name
    text = path.read_text(encoding="utf-8")
    assert text.count(old) == 1, f"{old!r} stands {text.count(old)} times in {name}"
    path.write_text(text.replace(old, new), encoding="utf-8")


def add(folder: Path, name: str, text: str) -> None:
    path = folder / name
    path.write_text(path.read_text(encoding="utf-8") + text, encoding="utf-8")


# name of the case -> (file, what stands there, what is written instead), what the line that names the fault must hold
VALUES: dict[str, tuple[Edit, tuple[str, ...]]] = {
    "letter O": (("job.toml", THICKNESS, 'thickness = "3O mm"\n'), ("part boxing", "thickness", "3O mm", "letter O", "accepted")),
    "decimal comma": (("job.toml", THICKNESS, 'thickness = "4,5in"\n'), ("part boxing", "thickness", "4,5in", "comma", "accepted")),
    "nautical miles": (("job.toml", THICKNESS, 'thickness = "6 nm"\n'), ("part boxing", "thickness", "6 nm", "accepted", '"4 mm"')),
    "inches as mm": (("job.toml", THICKNESS, "thickness = 152\n"), ("part boxing", "thickness", "152 mm", "0.5 to 25 mm", "the unit")),
    "depth in metres": (("frame.toml", DEPTH, DEPTH.replace("140", "0.18")), ("rear", "depth", "0.18 mm", "40 to 400 mm", "the unit")),
    "negative": (("job.toml", THICKNESS, "thickness = -3\n"), ("part boxing", "thickness", "-3 mm", "0.5 to 25 mm")),
    "zero": (("job.toml", THICKNESS, "thickness = 0\n"), ("part boxing", "thickness", "0 mm", "0.5 to 25 mm")),
    "nan": (("job.toml", THICKNESS, "thickness = nan\n"), ("part boxing", "thickness", "nan", "finite")),
    "inf": (("job.toml", THICKNESS, "thickness = -inf\n"), ("part boxing", "thickness", "-inf", "finite")),
    "1e400": (("job.toml", THICKNESS, "thickness = 1e400\n"), ("part boxing", "thickness", "1e400", "far out of the range")),
    "1e12": (("job.toml", THICKNESS, "thickness = 1e12\n"), ("part boxing", "thickness", "too large")),
    "a flag for a length": (("job.toml", THICKNESS, "thickness = true\n"), ("part boxing", "thickness", "true", "accepted")),
    "a table for a length": (("job.toml", THICKNESS, "thickness = { a = 1 }\n"), ("part boxing", "thickness", "accepted")),
    "way out in an id": (("job.toml", 'id = "boxing"', 'id = "../x"'), ("id", "../x", "letters")),
    "blank id": (("job.toml", 'id = "boxing"', 'id = ""'), ("id",)),
    "unknown key": (("job.toml", THICKNESS, "thicknes = 3\nthickness = 3\n"), ("part boxing", "thicknes", "thickness")),
    "unknown family": (("job.toml", '"rail_plate"', '"rail_plat"'), ("part boxing", "family", "rail_plat", "rail_plate")),
    "unknown section": (("job.toml", "[shop.bend]", "[shop.bends]"), ("shop", "bends", "bend")),
    "unknown choice": (("job.toml", 'seat = "toes"', 'seat = "toe"'), ("part boxing", "seat", "toe", "toes")),
    "unknown grade": (("job.toml", 'grade = "A36"', 'grade = "A63"'), ("part boxing", "grade", "A63", "A36")),
    "no such place": (("job.toml", START, 'start = { at = "frond", offset = 500 }'), ("part boxing", "start", "frond", "front")),
    "ends in the wrong order": (("job.toml", START, 'start = { at = "rear", offset = -100 }'), ("part boxing", "end", "swap")),
    "off the rail": (("job.toml", START, 'start = { at = "front", offset = -100 }'), ("part boxing", "start")),
    "future format": (("job.toml", "format = 1", "format = 2"), ("format", "2", "1")),
    "no units": (("job.toml", 'units = "mm"\nframe', "frame"), ("units",)),
    "unknown units": (("frame.toml", 'units = "mm"\n\n[steel]', 'units = "feet"\n\n[steel]'), ("units", "feet", '"mm", "in"')),
    "left rail on the right": (("frame.toml", 'side = "both"\n\n[rail.section]', 'side = "left"\n\n[rail.section]'), ("rail", "side")),
    "frame leads out": (("job.toml", '"frame.toml"', '"../frame.toml"'), ("frame", "../frame.toml", "may not lead out")),
    "frame by an absolute path": (("job.toml", '"frame.toml"', '"/etc/passwd"'), ("frame", "/etc/passwd", "relative")),
    "no such built-in frame": (("job.toml", '"frame.toml"', '"demo:orchard-flatbad"'), ("frame", "orchard-flatbad", "orchard-flatbed")),
    "missing frame": (("job.toml", '"frame.toml"', '"fram.toml"'), ("fram.toml", "does not exist")),
}


def faults_of(capsys: pytest.CaptureFixture[str], *arguments: str) -> list[str]:
    """The fault lines of a run that must end with exit code 2."""
    code = main(arguments)
    out, err = capsys.readouterr()
    assert code == 2, out + err
    assert out == ""
    head, *lines = err.splitlines()
    assert head.startswith(f"{len(lines)} fault") and "nothing was written" in head
    return lines


def test_the_starter_is_good_input(folder: Path, capsys: pytest.CaptureFixture[str]) -> None:
    """Otherwise every case below could pass for another reason."""
    assert main(["check", "job.toml"]) == 0
    assert "boxing-left" in capsys.readouterr().out


@pytest.mark.parametrize("case", VALUES)
def test_one_wrong_value(case: str, folder: Path, capsys: pytest.CaptureFixture[str]) -> None:
    (name, old, new), words = VALUES[case]
    edit(folder, name, old, new)
    lines = faults_of(capsys, "check", "job.toml")
    assert any(all(word in line for word in words) for line in lines), lines
    assert all(".toml" in line for line in lines), "each names its file"
    assert all(len(line) < 1000 for line in lines)


def test_every_fault_of_both_files_at_once(folder: Path, capsys: pytest.CaptureFixture[str]) -> None:
    edit(folder, "job.toml", THICKNESS, 'thickness = "6 nm"\ncolour = "red"\n')
    add(folder, "job.toml", PART.format("boxing"))
    edit(folder, "frame.toml", DEPTH, DEPTH.replace("140", "0.18"))
    text = "\n".join(faults_of(capsys, "check", "job.toml"))
    for word in ("6 nm", "colour", "0.18 mm"):
        assert word in text
    assert text.count("job.toml:") >= 2 and text.count("frame.toml:") >= 1


def test_two_parts_of_one_id(folder: Path, capsys: pytest.CaptureFixture[str]) -> None:
    add(folder, "job.toml", PART.format("boxing"))
    (line,) = faults_of(capsys, "check", "job.toml")
    assert "id" in line and "boxing" in line


def test_two_parts_whose_files_would_be_one(folder: Path, capsys: pytest.CaptureFixture[str]) -> None:
    """A file system that does not tell capitals apart would hold one of them."""
    add(folder, "job.toml", PART.format("Boxing"))
    assert "boxing" in "\n".join(faults_of(capsys, "check", "job.toml")).casefold()


def test_a_name_of_a_megabyte_is_cut_short(folder: Path, capsys: pytest.CaptureFixture[str]) -> None:
    edit(folder, "job.toml", 'name = "my kit"', f'name = "{"x" * 1_000_000}"')
    edit(folder, "job.toml", 'id = "boxing"', f'id = "{"y" * 1_000_000}"')
    lines = faults_of(capsys, "check", "job.toml")
    assert len(lines) >= 2
    assert max(map(len, lines)) < 1000


@pytest.mark.parametrize(
    ("content", "words"),
    [
        (b"", ("is empty",)),
        (b"   \n\n", ("is empty",)),
        (b"\x7fELF\x02\x01\x01\x00\x00", ("not a text file",)),
        (b"\xff\xfef\x00o\x00", ("UTF-16", "UTF-8")),
        (b'name = "caf\xe9"\n', ("not UTF-8", "line 1")),
        (b'format = 1\nname = "x\nunits = "mm"\n', ("line 2", "column")),
        (b"format = 1\nname = [[[[\n", ("line",)),
        (b"[" * 200_000, ("job.toml",)),
        (b"x" * (4 * 1024 * 1024 + 1), ("4 MB",)),
    ],
    ids=["empty", "blank", "binary", "utf-16", "latin-1", "open string", "open lists", "deep", "oversize"],
)
def test_a_file_that_cannot_be_read(content: bytes, words: tuple[str, ...], folder: Path, capsys: pytest.CaptureFixture[str]) -> None:
    (folder / "job.toml").write_bytes(content)
    lines = faults_of(capsys, "check", "job.toml")
    assert any(all(word in line for word in words) for line in lines), lines


def test_a_byte_order_mark_is_no_fault(folder: Path, capsys: pytest.CaptureFixture[str]) -> None:
    path = folder / "job.toml"
    path.write_bytes(b"\xef\xbb\xbf" + path.read_bytes())
    assert main(["check", "job.toml"]) == 0


Break = Callable[[Path], None]


def _link_out(path: Path) -> None:
    path.unlink()
    path.symlink_to("/etc/hostname")


def _folder(path: Path) -> None:
    path.unlink()
    path.mkdir()


def _loop(path: Path) -> None:
    path.unlink()
    path.symlink_to(path.name)


def _pipe(path: Path) -> None:
    path.unlink()
    os.mkfifo(path)


@pytest.mark.parametrize(
    ("broken", "word"),
    [(_link_out, "leads out"), (_folder, "is a folder"), (_loop, "frame.toml"), (_pipe, "pipe")],
    ids=["link out of the folder", "folder", "link to itself", "pipe"],
)
def test_a_frame_file_that_is_none(broken: Break, word: str, folder: Path, capsys: pytest.CaptureFixture[str]) -> None:
    broken(folder / "frame.toml")
    lines = faults_of(capsys, "check", "job.toml")
    assert any(word in line for line in lines), lines


@pytest.mark.parametrize("given", ["/dev/zero", "nowhere.toml", ".", "demo:", "demo:../job", "", "a\tb"])
def test_a_frame_typed_that_is_none(given: str, folder: Path, capsys: pytest.CaptureFixture[str]) -> None:
    assert len(faults_of(capsys, "check", "job.toml", "--frame", given)) == 1


@pytest.mark.parametrize(
    ("added", "words"),
    [
        ('seat = "flush"\nheight = 132.1\n', ("part boxing", "height", "132")),
        ('seat = "toes"\nheight = 200\n', ("part boxing", "height", "200")),
    ],
    ids=["deeper than the opening", "deeper than the rail"],
)
def test_a_plate_too_deep_for_its_seat(added: str, words: tuple[str, ...], folder: Path, capsys: pytest.CaptureFixture[str]) -> None:
    """The opening between flanges: 140 - 2 x 4 = 132 mm, worked by hand."""
    edit(folder, "job.toml", 'seat = "toes"               # on the flange edges\n', added)
    lines = faults_of(capsys, "check", "job.toml")
    assert any(all(word in line for word in words) for line in lines), lines


@pytest.mark.parametrize("offset", [200, 699], ids=["off the plate", "half on its edge"])
def test_a_hole_that_the_plate_does_not_reach(offset: int, folder: Path, capsys: pytest.CaptureFixture[str]) -> None:
    edit(folder, "frame.toml", 'at = { at = "front", offset = 700 }', f'at = {{ at = "front", offset = {offset} }}')
    edit(folder, "job.toml", START, 'start = { at = "front", offset = 700 }\nfront_end = "square"\npick_up = [{ hole = "web-front" }]')
    lines = faults_of(capsys, "check", "job.toml")
    assert any("web-front" in line and "part boxing" in line for line in lines), lines


def test_nothing_is_written_and_no_traceback_is_shown(folder: Path) -> None:
    """As typed, in a process of its own, with the kernel starting meanwhile: within two seconds of the processor's time."""
    edit(folder, "job.toml", THICKNESS, 'thickness = "6 nm"\n')
    before = names_below(folder.parent)
    used = resource.getrusage(resource.RUSAGE_CHILDREN)
    done = ladderframe("make", "job.toml", "--out", "kit", folder=folder)
    now = resource.getrusage(resource.RUSAGE_CHILDREN)
    assert done.returncode == 2 and done.stdout == ""
    assert "6 nm" in done.stderr and "Traceback" not in done.stderr
    assert names_below(folder.parent) == before
    assert now.ru_utime + now.ru_stime - used.ru_utime - used.ru_stime < LIMIT_S


def test_faults_as_json(folder: Path, capsys: pytest.CaptureFixture[str]) -> None:
    edit(folder, "job.toml", THICKNESS, "thickness = -3\n")
    assert main(["check", "job.toml", "--json"]) == 2
    out, err = capsys.readouterr()
    assert err == ""
    value = json.loads(out)
    assert value["exit_code"] == 2
    (fault,) = value["faults"]
    assert fault["file"].endswith("job.toml") and (fault["where"], fault["field"], fault["value"]) == ("part boxing", "thickness", "-3 mm")
    assert fault["limit"] and "remedy" in fault
