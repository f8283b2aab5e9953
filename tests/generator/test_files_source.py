"""Reading input files: only regular ones, only up to a size, without waiting, and never out of the folder that names them."""

from __future__ import annotations

import hashlib
import os
import signal
import socket
import time
from pathlib import Path

import pytest

from generator.files import source as source_module
from generator.files.source import LARGEST_BYTES, demo_path, named_source, read_source, typed_source
from generator.files.toml_text import parse
from parts.errors import BadInput, Fault
from parts.units import Written

HEAD = 'format = 1\nname = "x"\nunits = "mm"\n'


def refusal(path: Path, label: str | None = None) -> Fault:
    with pytest.raises(BadInput) as caught:
        read_source(path, label)
    (fault,) = caught.value.faults
    return fault


def syntax(tmp_path: Path, text: str) -> Fault:
    file = tmp_path / "broken.toml"
    file.write_text(text, encoding="utf-8")
    with pytest.raises(BadInput) as caught:
        parse(read_source(file, "broken.toml"))
    (fault,) = caught.value.faults
    assert fault.file == "broken.toml"
    return fault


def test_a_file_with_a_byte_order_mark_and_windows_lines_is_read(tmp_path: Path) -> None:
    data = b"\xef\xbb\xbf" + HEAD.replace("\n", "\r\n").encode()
    (tmp_path / "a.toml").write_bytes(data)
    read = read_source(tmp_path / "a.toml")
    assert parse(read) == {"format": 1, "name": "x", "units": "mm"}
    assert (read.name, read.sha256) == ("a.toml", hashlib.sha256(data).hexdigest())


def test_numbers_keep_their_text(tmp_path: Path) -> None:
    (tmp_path / "a.toml").write_text("a = 0.10\nb = 4\nc = nan\nd = 1_0.0e2\n", encoding="utf-8")
    assert parse(read_source(tmp_path / "a.toml")) == {"a": Written("0.10"), "b": 4, "c": Written("nan"), "d": Written("1_0.0e2")}


@pytest.mark.parametrize(
    ("data", "says"),
    [
        (b"", "is empty"),
        (b" \n\t\n", "is empty"),
        (b"\x7fELF\0\1", "is not a text file"),
        (b"a = 1\nb = '\xe4'\n", "is not UTF-8 text (line 2"),
        ("a = 1".encode("utf-16"), "is UTF-16 text"),
        (b"a" * (LARGEST_BYTES + 1), "4 MB is the most"),
    ],
)
def test_files_that_are_no_toml(tmp_path: Path, data: bytes, says: str) -> None:
    (tmp_path / "a.toml").write_bytes(data)
    fault = refusal(tmp_path / "a.toml", "a.toml")
    assert says in fault.limit
    assert fault.file == "a.toml"


def test_the_largest_file_is_read_and_an_oversize_one_is_not(tmp_path: Path, monkeypatch: pytest.MonkeyPatch) -> None:
    line = b"# " + b"filler " * 140 + b"\n"
    (tmp_path / "full.toml").write_bytes(line * (LARGEST_BYTES // len(line)))
    assert parse(read_source(tmp_path / "full.toml")) == {}
    with open(tmp_path / "huge.toml", "wb") as stream:
        stream.truncate(50 * 1024**3)  # a sparse file: reading it would take long

    def no_open(*_: object) -> int:
        raise AssertionError("an oversize file was opened")

    monkeypatch.setattr(os, "open", no_open)
    assert "51200.0 MB" in refusal(tmp_path / "huge.toml").limit


def test_what_is_no_regular_file_is_refused_without_waiting(tmp_path: Path) -> None:
    begin = time.perf_counter()
    os.mkfifo(tmp_path / "pipe.toml")
    with socket.socket(socket.AF_UNIX) as server:
        server.bind(str(tmp_path / "s"))
        assert "pipe, socket or device" in refusal(tmp_path / "s").limit
    assert "pipe, socket or device" in refusal(tmp_path / "pipe.toml").limit
    assert "pipe, socket or device" in refusal(Path("/dev/zero")).limit
    assert "is a folder" in refusal(tmp_path).limit
    assert time.perf_counter() - begin < 2


def test_a_pipe_that_takes_the_place_of_a_file_just_looked_at(tmp_path: Path, monkeypatch: pytest.MonkeyPatch) -> None:
    (tmp_path / "a.toml").write_text(HEAD, encoding="utf-8")
    regular = os.stat(tmp_path / "a.toml")
    os.mkfifo(tmp_path / "pipe.toml")

    def waited(*_: object) -> None:
        raise AssertionError("opening the pipe waits for its other end")

    before = signal.signal(signal.SIGALRM, waited)
    signal.setitimer(signal.ITIMER_REAL, 5)
    try:
        with monkeypatch.context() as patch:
            patch.setattr(os, "stat", lambda *_: regular)
            fault = refusal(tmp_path / "pipe.toml", "pipe.toml")
    finally:
        signal.setitimer(signal.ITIMER_REAL, 0)
        signal.signal(signal.SIGALRM, before)
    assert "pipe, socket or device" in fault.limit


def test_missing_and_impossible_names(tmp_path: Path) -> None:
    assert "does not exist" in refusal(tmp_path / "none.toml").limit
    assert "cannot be read" in refusal(tmp_path / ("x" * 5000)).limit
    assert "cannot be read" in refusal(Path("a\0b")).limit
    assert "cannot be read" in refusal(Path("/dev/null/x")).limit
    (tmp_path / "loop").symlink_to(tmp_path / "loop")
    assert "cannot be read" in refusal(tmp_path / "loop").limit


def test_a_file_that_may_not_be_read(tmp_path: Path, monkeypatch: pytest.MonkeyPatch) -> None:
    (tmp_path / "a.toml").write_text(HEAD, encoding="utf-8")

    def denied(*_: object) -> int:  # root may read everything, so the refusal of the system is played
        raise PermissionError(13, "Permission denied")

    monkeypatch.setattr(os, "open", denied)
    assert "may not be read" in refusal(tmp_path / "a.toml").limit


@pytest.mark.parametrize(
    ("line", "place", "remedy"),
    [
        ("thickness = 4O", "line 4, column 14", "letter O where a zero belongs"),
        ("thickness = O.5", "line 4, column 13", "letter O where a zero belongs"),
        ("thickness = 4,5", "line 4, column 14", "use a point, not a comma"),
        ("thickness = 4,5in", "line 4, column 14", "use a point, not a comma"),
        ("thickness = 5-1/2 in", "line 4, column 14", "goes in quotes"),
        ("thickness = 3/16", "line 4, column 14", "goes in quotes"),
        ("thickness = 6 mm", "line 4, column 15", "goes in quotes"),
        ("""thickness = '3/16''""", "line 4, column 19", "single quotes"),
        ('thickness = "3/16""', "line 4, column 19", "single quotes"),
        ("thickness = .5", "line 4, column 13", "starts with a digit"),
        ("thickness = 5.", "line 4, column 14", "ends with a digit"),
        ("spare = yes", "line 4, column 9", "small letters"),
        ("spare = True", "line 4, column 9", "small letters"),
        ("frame = truck.toml", "line 4, column 9", "quotes"),
        ("thickness =", "line 4, column 12", "a value is missing"),
        ("units = 'in'", "line 4, column 13", ""),
    ],
)
def test_broken_toml_has_line_and_column_and_names_the_slip(tmp_path: Path, line: str, place: str, remedy: str) -> None:
    fault = syntax(tmp_path, HEAD + line + "\n")
    assert place in fault.limit
    assert line in fault.limit
    assert remedy in fault.remedy
    assert bool(remedy) == bool(fault.remedy)


def test_toml_that_breaks_off_is_placed_at_its_end(tmp_path: Path) -> None:
    assert "line 4, column 7" in syntax(tmp_path, HEAD + "a = [1").limit
    assert "line 4, column 10" in syntax(tmp_path, HEAD + 'a = """xy').limit


@pytest.mark.parametrize(
    "text",
    [
        "a = " + "[" * 100_000,
        "a = " + "{a = " * 100_000,
        "a" + ".a" * 1_000_000 + " = 1",
        "[a" + '."b"' * 500_000 + "]",
        "[a" + " . 'b'" * 300_000 + "]",
        "a = {b" + ".b" * 1_000_000 + " = 1}",
        "a = " + "9" * 1_000_000,
        "a = 0x" + "f" * 1_000_000 + "\nb = [",
        'a = "' + "x" * 3_000_000,
        "a = " + "-" * 3_000_000,
        "=" * 3_000_000,
        "." * 3_000_000,
        " " * 3_000_000 + "=",
        ". " * 1_500_000,
        '."' * 1_500_000,
        "a = '" + "'" * 1_000_000,
        "a = [" + "1," * 2_000_000 + "]",
        "a = [" + "{}," * 1_300_000 + "]",
        "[[a]]\n" * 650_000,
        "#\n" * 2_000_000,
        "".join(f"a{i}=1\n" for i in range(300_000)),
    ],
    ids=range(21),
)
def test_hostile_toml_is_one_fault_in_bounded_time(tmp_path: Path, text: str) -> None:
    begin = time.process_time()
    fault = syntax(tmp_path, text)
    assert len(str(fault)) < 600
    assert time.process_time() - begin < 4  # unbounded, these take minutes or all memory


def test_a_dotted_text_is_no_deep_key(tmp_path: Path) -> None:
    (tmp_path / "a.toml").write_text('note = "wait ' + "." * 200 + ' 1.2.3.4"\n[a.b.c.d]\n', encoding="utf-8")
    assert set(parse(read_source(tmp_path / "a.toml"))) == {"note", "a"}


@pytest.mark.parametrize(
    "given",
    [
        "../truck.toml", "a/../../truck.toml", "sub/..", "/etc/passwd", "~/truck.toml", "C:\\truck.toml", "C:truck.toml",
        "\\\\server\\truck.toml", "..\\truck.toml", "file:///etc/passwd", "", " ", "a\nb", "a\0b",
        "out.toml", "out/truck.toml", "loop.toml",
    ],
)  # fmt: skip
def test_no_path_in_a_file_leads_out_of_its_folder(tmp_path: Path, given: str) -> None:
    home = tmp_path / "home"
    (home / "sub").mkdir(parents=True)
    for folder in (tmp_path, home / "sub"):
        (folder / "truck.toml").write_text(HEAD, encoding="utf-8")
    (home / "out.toml").symlink_to(tmp_path / "truck.toml")
    (home / "out").symlink_to(tmp_path)
    (home / "loop.toml").symlink_to(home / "loop.toml")
    with pytest.raises(BadInput) as caught:
        named_source("frame", given, home)
    assert len(caught.value.faults) == 1
    assert "format" not in str(caught.value)


def test_plain_paths_and_links_that_stay_inside_are_followed(tmp_path: Path) -> None:
    (tmp_path / "sub").mkdir()
    (tmp_path / "sub" / "truck.toml").write_text(HEAD, encoding="utf-8")
    (tmp_path / "link.toml").symlink_to(tmp_path / "sub" / "truck.toml")
    (tmp_path / "also").symlink_to(tmp_path)
    for given in ("sub/truck.toml", "./sub/truck.toml", "link.toml"):
        read = named_source("frame", given, tmp_path / "also")
        assert (read.text, read.label) == (HEAD, given)


def test_a_named_pipe_or_folder_is_refused_too(tmp_path: Path) -> None:
    os.mkfifo(tmp_path / "pipe.toml")
    (tmp_path / "folder.toml").mkdir()
    for given in ("pipe.toml", "folder.toml", "none.toml"):
        with pytest.raises(BadInput) as caught:
            named_source("frame", given, tmp_path)
        (fault,) = caught.value.faults
        assert (fault.field, fault.value, fault.file) == ("frame", f'"{given}"', "")  # told at the key; who reads the job adds its name


def test_what_is_typed_may_lie_anywhere(tmp_path: Path) -> None:
    (tmp_path / "truck.toml").write_text(HEAD, encoding="utf-8")
    (tmp_path / "sub").mkdir()
    assert typed_source("frame", tmp_path / "sub" / ".." / "truck.toml").text == HEAD


def test_demo_names(tmp_path: Path, monkeypatch: pytest.MonkeyPatch) -> None:
    (tmp_path / "frame-plum-cart.toml").write_text(HEAD, encoding="utf-8")
    monkeypatch.setattr(source_module, "DEMO_FOLDER", tmp_path)
    assert demo_path("frame", "demo:plum-cart") == tmp_path / "frame-plum-cart.toml"
    read = named_source("frame", "demo:plum-cart", Path("/nowhere"))
    assert (read.name, read.label) == ("demo:plum-cart", "demo:plum-cart")
    for reference in ("demo:plumcart", "demo:../frame-plum-cart", "demo:", "demo:*", "demo:" + "x" * 1_000_000):
        with pytest.raises(BadInput, match="plum-cart"):
            demo_path("frame", reference)
    with pytest.raises(BadInput, match="none"):
        demo_path("job", "demo:plum-cart")
