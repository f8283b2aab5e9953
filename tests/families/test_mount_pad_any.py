"""Any mount pad on any demo frame: an accepted one is sound, folds to its point and tilt, lays flat, is judged; a refused one says why."""

from __future__ import annotations

import math
from typing import Any

import numpy as np
from hypothesis import HealthCheck, Phase, event, given, settings
from hypothesis import strategies as st

from generator.rules.judge import judge
from parts.errors import BadInput
from parts.families import MountPad
from parts.flat import unfold
from parts.formed import formed
from parts.frame import Frame
from parts.shop import Shop
from parts.soundness import faults
from parts.spec import Position
from tests.families.mount_pads import slopes, upward
from tests.parts.frame.makers import DEMO_NAMES, demo_frame

FRAMES: dict[str, Frame] = {name: demo_frame(name) for name in DEMO_NAMES}
SHOP = Shop()


def lengths(low: float, high: float) -> st.SearchStrategy[float]:
    return st.floats(low, high, allow_nan=False).map(lambda x: round(x, 2))


PLACES = st.builds(
    lambda at, offset: Position(at=at, offset_mm=offset), st.sampled_from(["front-axle", "mid", "rear-axle", "cm-gearbox"]),
    lengths(-350, 350),
)  # fmt: skip
ASKED = st.fixed_dictionaries({
    "side": st.sampled_from(["left", "right", "pair"]), "on": st.sampled_from(["web", "web-outboard", "upper-flange", "lower-flange"]),
    "at": PLACES, "tilt_along_deg": st.one_of(st.just(0.0), lengths(-20, 20)), "tilt_across_deg": st.one_of(st.just(0.0), lengths(-40, 40)),
    "across_rises": st.sampled_from(["inboard", "right"]), "thickness_mm": st.sampled_from([3.0, 4.0, 6.0, 8.0]),
    "width_mm": lengths(60, 160), "top_reach_mm": lengths(25, 70), "attach": st.sampled_from(["weld", "bolt"]),
    "bolt": st.sampled_from(["M8", "M12", "1/2 in"]), "bolts": st.integers(1, 5), "flange_holes": st.booleans(),
    "fold": st.sampled_from(["auto", "auto", "arm", "straight"]), "top_width_mm": st.one_of(st.none(), lengths(50, 150)),
    "leaves": st.just("auto"), "pattern": st.sampled_from(["one", "two"]),
})  # fmt: skip
OUT = {"web": (60, 220), "web-outboard": (-200, -50), "upper-flange": (-120, 200), "lower-flange": (-120, 200)}
RISE = {"web": (-130, 60), "web-outboard": (-130, 60), "upper-flange": (25, 120), "lower-flange": (-280, -175)}


@settings(
    max_examples=120, deadline=None, derandomize=True, phases=(Phase.explicit, Phase.generate),
    suppress_health_check=(HealthCheck.too_slow, HealthCheck.filter_too_much, HealthCheck.data_too_large),
)  # fmt: skip
@given(name=st.sampled_from(DEMO_NAMES), values=ASKED, out=st.floats(0, 1), rise=st.floats(0, 1))
def test_any_pad(name: str, values: dict[str, Any], out: float, rise: float) -> None:
    on = values["on"]
    values["out_mm"] = round(OUT[on][0] + out * (OUT[on][1] - OUT[on][0]), 2)
    values["rise_mm"] = round(RISE[on][0] + rise * (RISE[on][1] - RISE[on][0]), 2)
    if values["pattern"] == "two":
        values["pitch_along_mm"] = 40.0
    try:
        pieces = MountPad(id="pad", **values).build(FRAMES[name], SHOP)
    except BadInput as error:
        assert all(f.where == "part pad" and f.field and f.limit and f.remedy for f in error.faults), error
        assert "nan" not in str(error) and "inf " not in str(error)
        event("refused")
        return
    event(f"{on} by {len(pieces[0].part.bends)} bends")
    for piece in pieces:
        assert faults(piece.part) == []
        inboard = values["across_rises"] == "inboard" and piece.side == "right"
        normal = slopes(values["tilt_along_deg"], -values["tilt_across_deg"] if inboard else values["tilt_across_deg"])
        assert np.abs(upward(piece) - normal).max() < 1e-9
        points = np.array(piece.seats[0].points)
        axes = [a for a in formed(piece.part).hole_axes if a.panel == "top"]
        for axis in axes:  # every hole of the top goes through one of the points that the seat offers
            start = np.array(piece.placements[0].point(*axis.point))
            off = points - start
            assert np.min(np.linalg.norm(off - np.outer(off @ normal, normal), axis=1)) < 1e-6
        assert len(axes) == len(points)
        along = {round(abs(float((p - points.mean(axis=0)) @ normal)), 9) for p in points}
        assert along == {0.0}
        for bolt in piece.bolts:
            assert math.dist(bolt.head, bolt.nut) - bolt.grip_mm < 1e-9
        assert all(d.diameter_mm <= {"M8": 9.0, "M12": 13.0, "1/2 in": 13.7}[values["bolt"]] for d in piece.drilling)
    flats = [unfold(p.part, SHOP.bend_rule()) for p in pieces]
    for found in judge(pieces, flats, FRAMES[name], SHOP).findings:
        assert "nan" not in found.message and found.source
