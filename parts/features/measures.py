"""What a finished plate measures, what its bends leave to its seat, and where the rail's own depth error shows."""

from __future__ import annotations

from parts.errors import Finding
from parts.features.draft import Draft
from parts.features.lay import square_height_mm


def measures(draft: Draft) -> Draft:
    """Notes only, and for a stepped plate what the trade says of the step."""
    setting, plate = draft.setting, draft.setting.plate
    front, rear = (square_height_mm(setting, s) for s in (draft.s0_mm, draft.s1_mm))
    other = "upper" if plate.hang == "lower" else "lower"
    size = f"height {front:.1f} mm" if abs(front - rear) < 0.05 else f"height {front:.1f} mm at the front, {rear:.1f} mm at the rear"
    draft = draft.note(f"{size}, hung from the {plate.hang} flange: whatever the rail's depth is off by shows at the {other} edge")
    if bends := len(draft.panels) - 1:
        radius, source = setting.bend_radius
        draft = draft.note(
            f"{bends} bend{'s follow' if bends > 1 else ' follows'} the rail's turn with an inside radius of {radius:g} mm ({source}); "
            f"at most {draft.gap_mm:.2f} mm is left between plate and seat there"
        )
    if setting.seat.kind == "stepped":
        message = f"stepped in {plate.step_mm:g} mm from the toes; 16 mm leaves room for lines"
        draft = draft.finding(Finding(code="step-in", level="note", where=setting.place, message=message, source="trade talk"))
    return draft
