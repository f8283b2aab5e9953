"""Whatever plate can be built on a demo frame can be judged, whatever the vehicle's use and the shop: no rule trips over it.

Blind to: whether what is found is right; the other modules hold each rule at its limits.
"""

from __future__ import annotations

from dataclasses import replace
from typing import Any

from hypothesis import HealthCheck, Phase, event, given, settings
from hypothesis import strategies as st

from generator.rules.judge import RULES, judge
from parts.errors import LEVELS, BadInput
from parts.families.rail_plate import RailPlate
from parts.flat import unfold
from parts.frame.frame import Steel, Use
from parts.shop import Sheet, Shop
from tests.families.test_rail_plate_any import ASKED, SHOPS, on
from tests.parts.frame.makers import DEMO_NAMES

CODES = {code for rule in RULES for code in rule.codes}


@settings(
    max_examples=250,
    deadline=None,
    phases=(Phase.explicit, Phase.generate, Phase.shrink),
    suppress_health_check=(HealthCheck.too_slow, HealthCheck.filter_too_much),
)
@given(
    name=st.sampled_from(DEMO_NAMES), values=ASKED, shop=SHOPS, commercial=st.booleans(),
    heat_treated=st.sampled_from(["yes", "no", "unknown"]), process=st.sampled_from(["laser", "plasma", "water jet"]),
)  # fmt: skip
def test_any_plate_is_judged(name: str, values: dict[str, Any], shop: Shop, commercial: bool, heat_treated: Any, process: Any) -> None:
    frame = replace(on(name), use=Use(road=True, commercial=commercial), steel=Steel(grade="mild steel", heat_treated=heat_treated))
    sheet = Sheet(length_mm=1500.0, width_mm=600.0, thickness_mm=values["thickness_mm"])
    shop = replace(shop, process=process, brake_length_mm=120.0, sheets=(sheet,))
    try:
        pieces = RailPlate(id="plate", **values).build(frame, shop)
        flats = [unfold(p.part, shop.bend_rule()) for p in pieces]
    except BadInput:
        event("refused")
        return
    rules = judge(pieces, flats, frame, shop)
    for found in rules.findings:
        event(found.code)
        assert found.code in CODES and found.level in LEVELS and found.source
        assert "plate" in found.where and values["side"] in found.where
        assert "nan" not in found.message and "inf" not in found.message.split()
    bound = {f.level for f in rules.findings if "written for" in f.message}
    assert bound <= {"note"}
