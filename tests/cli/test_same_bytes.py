"""Same input, same bytes: in another folder, with another hash seed, on another day; solids, colours and assembly included."""

from __future__ import annotations

import hashlib
from pathlib import Path

from tests.cli.helpers import ladderframe

SEEDS = ("0", "1", "2", "3", "random")


def digests(folder: Path) -> dict[str, str]:
    return {p.relative_to(folder).as_posix(): hashlib.sha256(p.read_bytes()).hexdigest() for p in folder.rglob("*") if p.is_file()}


def test_five_hash_seeds_and_folders_give_the_same_bytes(tmp_path: Path) -> None:
    found = []
    for number, seed in enumerate(SEEDS):
        place = tmp_path / ("folder " * number + "x")
        place.mkdir()
        done = ladderframe("demo", "--out", f"kit{number}", folder=place, changes={"PYTHONHASHSEED": seed, "TZ": f"UTC{number - 2:+d}"})
        assert done.returncode == 0, done.stdout + done.stderr
        found.append(digests(place / f"kit{number}"))
    assert any(name.startswith("step/") for name in found[0]) and any(name.startswith("dxf/") for name in found[0])
    for other in found[1:]:
        assert {n: d for n, d in other.items() if found[0].get(n) != d} == {}
        assert other.keys() == found[0].keys()


def test_no_time_and_no_folder_stands_in_a_file(tmp_path: Path) -> None:
    """The dates that a run could leave behind: this year's, and the folder's name."""
    place = tmp_path / "a-folder-with-a-name"
    place.mkdir()
    done = ladderframe("demo", "--out", "kit", folder=place)
    assert done.returncode == 0, done.stdout + done.stderr
    from datetime import UTC, datetime

    year = str(datetime.now(UTC).year)
    for path in (place / "kit").rglob("*"):
        if path.is_file():
            text = path.read_bytes()
            assert b"a-folder-with-a-name" not in text, path
            assert f"{year}-".encode() not in text and f"/{year}".encode() not in text, path
