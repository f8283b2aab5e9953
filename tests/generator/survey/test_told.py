"""What is wrong with the frame is told by `check` until the job accepts it by name, and never more than a note where nothing is wrong."""

from __future__ import annotations

from pathlib import Path

from generator.pipeline import check
from tests.parts.frame.makers import DEMO

CRACK = """
[[condition]]
name = "crack-one"
kind = "crack"
side = "left"
at = { at = "mid", offset = 900 }
up = 60
length = 30
"""
ACCEPT = """
[[accept]]
code = "frame-damaged-crack-one"
why = "welded up and looked at on the tenth of May"
"""


def told(folder: Path, frame_more: str = "", job_more: str = "") -> dict[str, str]:
    """Codes and levels of what `check` finds on the demo's frame without its readings."""
    bare = (DEMO / "frame-orchard-flatbed.toml").read_text(encoding="utf-8")
    bare = "\n".join(line for line in bare.partition("[[reading]]")[0].splitlines() if not line.startswith("readings_file"))
    job = (DEMO / "job-orchard-springs.toml").read_text(encoding="utf-8")
    (folder / "frame.toml").write_text(bare + frame_more, encoding="utf-8")
    (folder / "job.toml").write_text(job + job_more, encoding="utf-8")
    return {f.code: f.level for f in check(str(folder / "job.toml"), frame=str(folder / "frame.toml")).findings}


def test_a_crack_is_told_until_it_is_accepted_by_name(tmp_path: Path) -> None:
    assert told(tmp_path, CRACK)["frame-damaged-crack-one"] == "warn"
    assert told(tmp_path, CRACK, ACCEPT)["frame-damaged-crack-one"] == "note"


def test_accepting_one_thing_accepts_no_other(tmp_path: Path) -> None:
    other = CRACK.replace("crack-one", "crack-two").replace("900", "500")
    assert told(tmp_path, CRACK + other, ACCEPT)["frame-damaged-crack-two"] == "warn"


def test_a_frame_without_readings_is_told_in_one_note(tmp_path: Path) -> None:
    assert {c: v for c, v in told(tmp_path).items() if c.startswith("frame-") and "damaged" not in c} == {"frame-not-measured": "note"}
