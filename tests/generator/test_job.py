"""A job file with its frame: all faults of both, paths that stay inside, the frame exchanged on the command line."""

from __future__ import annotations

import hashlib
import json
import re
import time
from pathlib import Path

import pytest

from generator.files import source as source_module
from generator.job import Accept, read_frame, read_job, schemas
from parts.errors import BadInput, Fault
from parts.families import FAMILIES
from parts.spec import file_key, specs_of

JOB = """\
format = 1
name = "two plates"
units = "mm"
frame = "truck.toml"
"""

FRAME = """\
format = 1
name = "test truck"
units = "in"
steel = { grade = "mild steel", heat_treated = "no" }
use = { road = false, commercial = false }
datum = { x = "front end of the rails", z = "the floor" }

[[rail]]
side = "both"
section = { flange = 2.5, web = "4 mm", flange_thickness = "4 mm", inside_radius = "4 mm", open = "inboard" }
[[rail.station]]
name = "front"
x = 0
y = "1 ft 3-3/4 in"
z = 24
depth = 6
[[rail.station]]
name = "rear"
x = 120
y = 15.75
z = 24
depth = 6

[[hole]]
name = "pin-front"
at = { at = "front", offset = 10.1 }
up = 3
diameter = 0.5
"""


@pytest.fixture
def home(tmp_path: Path) -> Path:
    folder = tmp_path / "home"
    folder.mkdir()
    (folder / "job.toml").write_text(JOB, encoding="utf-8")
    (folder / "truck.toml").write_text(FRAME, encoding="utf-8")
    return folder


def faults(path: str | Path, frame: str | Path | None = None) -> tuple[Fault, ...]:
    with pytest.raises(BadInput) as caught:
        read_job(path, frame)
    return caught.value.faults


def test_a_job_with_its_frame(home: Path) -> None:
    job, frame, sources = read_job(home / "job.toml")
    assert (job.name, job.units, job.parts, job.shop.process) == ("two plates", "mm", (), "laser")
    assert (frame.name, frame.units) == ("test truck", "in")
    assert frame.rails[0].stations[0].y_mm == 400.05  # 15-3/4 in times 25.4 mm, exactly
    assert frame.holes[0].at is not None and frame.holes[0].at.offset_mm == 256.54  # 10.1 in times 25.4 mm, exactly
    assert [(s.role, s.name) for s in sources] == [("job", "job.toml"), ("frame", "truck.toml")]
    assert sources[1].sha256 == hashlib.sha256(FRAME.encode()).hexdigest()
    assert read_frame(home / "truck.toml") == frame


def test_a_frame_in_millimetres_is_the_same_frame(home: Path) -> None:
    """One inch is 25.4 mm exactly (1959 agreement; ISO 31-1), so the twin is equal to the last bit."""
    millimetres = re.sub(r"= ([0-9.]+)(?=[,\n]| \})", lambda m: f"= {_times_25_4(m[1])}", FRAME.split("\n\n", 1)[1])
    head = FRAME.split("\n\n", 1)[0].replace('"in"', '"mm"')
    (home / "twin.toml").write_text(f"{head}\n\n{millimetres}", encoding="utf-8")
    assert "x = 3048\n" in millimetres
    inches, twin = read_frame(home / "truck.toml"), read_frame(home / "twin.toml")
    assert (twin.rails, twin.holes) == (inches.rails, inches.holes)


def _times_25_4(text: str) -> str:
    whole, _, decimals = text.partition(".")
    digits = str(int(whole + decimals) * 254)
    places = len(decimals) + 1
    return f"{digits[:-places] or '0'}.{digits[-places:]}".rstrip("0").rstrip(".")


def test_another_frame_from_the_command_line_may_lie_anywhere(home: Path) -> None:
    other = home.parent / "other.toml"
    other.write_text(FRAME.replace("test truck", "other truck"), encoding="utf-8")
    assert read_job(home / "job.toml", other).frame.name == "other truck"
    (home / "truck.toml").unlink()  # the job's own is then not looked at
    assert read_job(home / "job.toml", str(other)).frame.name == "other truck"


def test_demo_names_work_in_both_places(home: Path, monkeypatch: pytest.MonkeyPatch) -> None:
    (home / "frame-plum.toml").write_text(FRAME, encoding="utf-8")
    (home / "job-plum.toml").write_text(JOB.replace("truck.toml", "demo:plum"), encoding="utf-8")
    monkeypatch.setattr(source_module, "DEMO_FOLDER", home)
    _, _, sources = read_job("demo:plum")
    assert [s.name for s in sources] == ["demo:plum", "demo:plum"]
    assert read_job(home / "job.toml", "demo:plum").sources[1].name == "demo:plum"
    (fault,) = faults(home / "job.toml", "demo:plumm")
    assert 'did you mean "plum"?' in fault.remedy


def test_the_faults_of_both_files_in_one_go(home: Path) -> None:
    more = 'colour = "red"\n[shop]\nproces = "laser"\n[shop.bend]\nk = 3\n[[accept]]\ncode = "x"\nwhy = " "\n'
    (home / "job.toml").write_text(JOB.replace('"mm"', '"mmm"') + more, encoding="utf-8")
    (home / "truck.toml").write_text(FRAME.replace("depth = 6", "depth = 0.18").replace("up = 3", "upp = 3"), encoding="utf-8")
    found = [(f.file, f.where, f.field) for f in faults(home / "job.toml")]
    job, frame = str(home / "job.toml"), "truck.toml"
    assert found == [
        (job, "", "units"),
        (job, "", "colour"),
        (job, "", "shop.proces"),
        (job, "", "shop.bend.k"),
        (job, "accept x", "why"),
        (frame, "rail both station front", "depth"),
        (frame, "rail both station rear", "depth"),
        (frame, "hole pin-front", "upp"),
    ]


def test_a_rail_depth_in_metres_is_named_as_a_slip(home: Path) -> None:
    (home / "truck.toml").write_text(FRAME.replace("depth = 6", "depth = 0.18"), encoding="utf-8")
    first = faults(home / "job.toml")[0]
    assert first.value == "0.18 in = 4.572 mm"
    assert '"0.18 m" would be 180 mm' in first.remedy


def test_a_job_that_does_not_parse_is_one_fault_and_its_frame_is_still_judged(home: Path) -> None:
    (home / "job.toml").write_text(JOB + "thickness = 4O\nfoo = \n", encoding="utf-8")
    (home / "truck.toml").write_text(FRAME.replace("diameter = 0.5", ""), encoding="utf-8")
    job, frame = faults(home / "job.toml")
    assert "line 5, column 14" in job.limit
    assert "letter O" in job.remedy
    assert (frame.file, frame.where, frame.field) == ("truck.toml", "hole pin-front", "diameter")


def test_a_frame_that_does_not_parse_is_one_fault_and_its_job_is_still_judged(home: Path) -> None:
    (home / "job.toml").write_text(JOB + "foo = 1\n", encoding="utf-8")
    (home / "truck.toml").write_text("a = \n", encoding="utf-8")
    job, frame = faults(home / "job.toml")
    assert job.field == "foo"
    assert (frame.file, "line 1" in frame.limit) == ("truck.toml", True)


@pytest.mark.parametrize("broken", ["", "\n[\n"])
@pytest.mark.parametrize("given", ["../secret.toml", "/etc/passwd", "link.toml", "C:\\\\truck.toml"])
def test_no_path_in_a_job_leads_out_of_its_folder(home: Path, given: str, broken: str) -> None:
    (home.parent / "secret.toml").write_text("secret = 'plum'\n", encoding="utf-8")
    (home / "link.toml").symlink_to(home.parent / "secret.toml")
    (home / "job.toml").write_text(JOB.replace("truck.toml", given) + broken, encoding="utf-8")
    found = faults(home / "job.toml")
    # The text of a broken job is not unescaped, so a path with a backslash is left alone there.
    assert len(found) == (2 if broken and "\\" not in given else 1)
    assert found[-1].file == str(home / "job.toml")
    assert not any("plum" in str(f) for f in found)


def test_missing_files(home: Path) -> None:
    (fault,) = faults(home / "none.toml")
    assert "does not exist" in fault.limit
    assert len(faults(home / "none.toml", home / "also-none.toml")) == 2
    (home / "truck.toml").unlink()
    (fault,) = faults(home / "job.toml")
    assert (fault.file, fault.field, fault.value) == (str(home / "job.toml"), "frame", '"truck.toml"')
    assert fault.limit == "does not exist"


def test_a_job_as_its_own_frame_is_faults_and_no_crash(home: Path) -> None:
    (home / "job.toml").write_text(JOB.replace("truck.toml", "job.toml"), encoding="utf-8")
    assert {"steel", "use", "datum", "rail"} <= {f.field for f in faults(home / "job.toml")}


def test_an_unknown_family_offers_the_nearest(home: Path) -> None:
    for family in FAMILIES:
        (home / "job.toml").write_text(JOB + f'[[part]]\nfamily = "{family}s"\nid = "a"\n[[part]]\nid = "../x"\n', encoding="utf-8")
        nearest, missing = faults(home / "job.toml")
        assert (nearest.where, nearest.field) == ("part a", "family")
        assert f'did you mean "{family}"?' in nearest.remedy
        assert missing.field == "family"


@pytest.mark.parametrize("family", FAMILIES)
def test_the_faults_of_a_part_are_told_at_the_part(home: Path, family: str) -> None:
    text = JOB + f'[[part]]\nfamily = "{family}"\nid = "../x"\nwobble = 1\n[[part]]\nfamily = "{family}"\nid = "a"\nside = "up"\n'
    (home / "job.toml").write_text(text, encoding="utf-8")
    found = {(f.where, f.field) for f in faults(home / "job.toml")}
    assert {("part ../x", "id"), ("part ../x", "wobble"), ("part a", "side")} <= found
    required = [file_key(n, s) for n, s in specs_of(FAMILIES[family]).items() if s.required and n not in ("id", "side")]
    assert {("part a", key) for key in required} <= found


def test_ids_are_unique_whatever_the_family(home: Path) -> None:
    text = JOB + "".join(f'[[part]]\nfamily = "{family}"\nid = "a"\n' for family in [*FAMILIES, next(iter(FAMILIES))])
    (home / "job.toml").write_text(text, encoding="utf-8")
    twice = [f for f in faults(home / "job.toml") if f.field == "id"]
    assert [f.limit for f in twice] == [f"stands twice: number 1 and number {n}" for n in range(2, len(FAMILIES) + 2)]


def test_an_acceptance_needs_its_reason_and_stands_once(home: Path) -> None:
    with pytest.raises(BadInput, match="why"):
        Accept(code="hole-near-bend", why="")
    (home / "job.toml").write_text(JOB + "[[accept]]\ncode = 'a'\nwhy = 'b'\n" * 2, encoding="utf-8")
    (fault,) = faults(home / "job.toml")
    assert (fault.where, fault.field) == ("accept a", "code")


def test_bad_input_takes_no_time(home: Path) -> None:
    """Bad input is told within 2 s; here are two files of thousands of faults, so 4 s."""
    entry = '[[part]]\nfamily = "x"\nid = "' + "y" * 400 + '"\n'
    (home / "job.toml").write_text(JOB + entry * 9_000, encoding="utf-8")
    (home / "truck.toml").write_text("[[hole]]\nup = 0\n" * 10_000, encoding="utf-8")
    begin = time.process_time()
    faults(home / "job.toml")
    assert time.process_time() - begin < 4


def test_schemas_name_every_family_and_every_key() -> None:
    both = schemas()
    assert list(both) == ["job", "frame"]
    entries = both["job"]["properties"]["part"]["items"]["oneOf"]
    assert [e["properties"]["family"]["const"] for e in entries] == list(FAMILIES)
    for entry, cls in zip(entries, FAMILIES.values(), strict=True):
        assert set(entry["properties"]) == {"family", *(file_key(n, s) for n, s in specs_of(cls).items())}
    assert "station" in both["frame"]["properties"]["rail"]["items"]["properties"]
    assert json.loads(json.dumps(both)) == both


@pytest.mark.parametrize("name", [p.stem.removeprefix("frame-") for p in sorted(source_module.DEMO_FOLDER.glob("frame-*.toml"))])
def test_each_demo_frame_is_read(name: str) -> None:
    assert read_frame(f"demo:{name}").rails


def test_the_demo_job_is_read_and_takes_each_demo_frame() -> None:
    names = [p.stem.removeprefix("frame-") for p in source_module.DEMO_FOLDER.glob("frame-*.toml")]
    assert len(names) >= 3  # the straight one, one in inches with kick-up and sweep, one whose sides differ
    assert read_job("demo:orchard-flatbed").frame == read_frame("demo:orchard-flatbed")
    for name in names:
        assert read_job("demo:orchard-flatbed", f"demo:{name}").frame == read_frame(f"demo:{name}")
