"""The form as it is printed, and as the two files to fill in: readings as CSV, sections and supports as lines for the frame file."""

from __future__ import annotations

import csv
import io
from collections.abc import Iterator, Sequence
from typing import TYPE_CHECKING, Any

from generator.show import Column, Section, Table
from generator.survey.form import Form
from generator.survey.measures import Measure
from generator.survey.unknown import no_pairs
from generator.survey.walk import Line
from generator.survey.words import by_word
from parts.frame.placing import SIDES
from parts.units import shop_inches

if TYPE_CHECKING:
    from parts.frame.measured import ControlPoint
    from parts.frame.section import RailSide

BLANK = "________"
HEADER = ("name", "kind", "from", "to", "value", "unit", "accuracy", "set", "note")
SET_UP = (
    "Stands on firm ground under both rails near both axles, never jacks; wheels off or on, but as it will be each time it is measured.",
    "Level the frame on its stands within 3 mm, side to side and end to end: shim under a stand, never on top of it.",
    "Write down what carries it: each stand's place and the height of its top, and what is bolted on. Only surveys in like states can be "
    "compared.",
    "A level line z = 0 under the whole frame; a taut string down the middle, x = 0 marked on it; clear floor under it for the bob.",
    "To hole centres, or to the upper corner where no hole is. A hole: from edge to like edge.",
    "Read off and say it, the other one writes it down and says it back. The length it should be is there to find slips.",
)
LAST = (
    "Blank lines are left out when the form is read. Any line may be taken again under another name: repeats are kept.",
    "A finer or rougher instrument: write its class or its accuracy in the form's own column; else it counts as printed.",
)


def form_sections(form: Form, units: str) -> tuple[Section, ...]:
    """The whole form, in the order of the walk."""
    if not form.legs:
        return (Section(title="The form", notes=(no_pairs(form.pairs).sentence, *_places(form), PROPOSED)),)
    legs = [
        Section(title=f"{i}. {leg.title}", tables=(_leg(f"form-{i}", leg.how, leg.lines, units),))
        for i, leg in enumerate(form.legs, 1)
    ]
    return (
        Section(title=f"The form, set '{form.set_name}': {len(form.lines)} readings", notes=SET_UP),
        *legs,
        Section(title=f"{len(legs) + 1}. The rails' sections", tables=tuple(_sizes(form, units)), notes=(SQUARE_ON,)),
        Section(title="What these readings will tell", tables=(_tells(form),), notes=(*_places(form), *LAST)),
    )


def readings_csv(form: Form) -> str:
    """The readings to fill in, as the frame file reads them once values stand in them."""
    out = io.StringIO()
    writer = csv.writer(out, lineterminator="\n")
    writer.writerow(HEADER)
    unit = form.frame.units
    for line in form.lines:
        note = f"as drawn {_told(line.drawn_mm, unit)}"
        writer.writerow((line.name, line.kind, line.start, line.end or "", "", unit, line.instrument, form.set_name, note))
    return out.getvalue()


def additions_toml(form: Form) -> str:
    """What belongs to the readings and stands in the frame file itself, commented out line by line."""
    lines = [
        "# To go into the frame file once measured: take the # off the lines that hold something, leave out the rest.",
        *(NAMED if form.legs else ()),
        *_proposed(form),
        "",
        "# What carries the frame while it is read.",
        "# [[set]]",
        f'# name = "{form.set_name}"',
        '# stage = "found"              # found, straightened, tacked, welded',
        '# date = ""',
        '# carries = []                 # what is bolted on: ["body", "engine"]',
    ]
    for pair in dict.fromkeys((form.pairs[0], form.pairs[-1])) if form.pairs else ():
        for side in SIDES:
            lines += ["#", "# [[set.support]]", f'# side = "{side}"', f'# at = "{pair.name}"', *SUPPORT]
    if form.pairs:
        lines += ["", "# The rails' sections: to be left out where only straightness is asked."]
    for point, side in _stations(form):
        sizes = _drawn_sizes(form, point, side)
        lines += ["", "# [[section_reading]]", f'# name = "section-{point.name}"', f'# side = "{side}"', f'# at = "{point.name}"',
                  f'# set = "{form.set_name}"']  # fmt: skip
        lines += [f"# {key} = {'':<8}# as drawn {_size(mm, form.frame.units)} {form.frame.units}" for key, mm in sizes.items()]
    return "\n".join([*lines, ""])


def _proposed(form: Form) -> Iterator[str]:
    """Control points where there are none: at each crossmember without a pair; without two pairs also near ends without a crossmember."""
    frame = form.frame
    places = [(name.removeprefix("cm-"), f'at = "{name}"') for name in form.bare]
    if len(form.pairs) < 2:
        ends = [[frame.rail(side).plan.point(s)[0] for side in SIDES for s in (0.0, frame.rail(side).length_s_mm)][i::2] for i in (0, 1)]
        at = (("front-end", max(ends[0]) + FROM_END_MM), ("rear-end", min(ends[1]) - FROM_END_MM))
        near = [c.x_mm for c in frame.placed_crossmembers]
        places += [
            (name, f'x = "{_size(x, frame.units)} {frame.units}"') for name, x in at if all(abs(x - other) > NEAR_END_MM for other in near)
        ]
    if not places:
        return
    yield from ("", "# Control points, the places that are measured between, on both rails: proposed; a hole nearby is better still.")
    taken = {feature.name for feature in frame.features}
    for base, where in places:
        name = next(n for i in range(len(taken) + 1) if (n := f"cp-{base}" + (f"-{i + 1}" if i else "")) not in taken)
        taken.add(name)
        yield from ("# [[control_point]]", f'# name = "{name}"', f"# {where}", "#")


PROPOSED = "With --out, frame-additions.toml proposes them, for the frame file; then ask for the form again, into another folder."
NAMED = ("", "# Under `units`, above the first line of the file that begins with [ :", '# readings_file = "readings.csv"')
FROM_END_MM = 50.0  #: of a rail, for a control point that is proposed there; our choice
NEAR_END_MM = 300.0  #: a crossmember so near to it serves as the end; our choice
SUPPORT = (
    '# kind = "stand"                # stand, wheel, jig',
    "# height =                      # of its top over z = 0",
    "# load_kg =                     # kg, where weighed",
)
SQUARE_ON = (
    "To be left out where only straightness is asked; wanted where plates are to fit the rail, or rust has been. Depth with callipers "
    "square to the rail; the opening at the toe and at the web tells how far the flanges have opened. Thickness where rust has been, "
    "cleaned to bare steel, with a calliper or an ultrasonic gauge."
)
SIZES = ("depth", "opening_toe", "opening_web", "upper_flange", "lower_flange", "web_thickness", "upper_thickness", "lower_thickness")
AS_DRAWN = "As drawn, and a blank for what is read."


def _stations(form: Form) -> Iterator[tuple[ControlPoint, RailSide]]:
    """(control point, rail): down the left rail, back up the right one, pairs only."""
    named = {p.name: p for p in form.frame.control_points}
    for side, pairs in (("left", form.pairs), ("right", tuple(reversed(form.pairs)))):
        for pair in pairs:
            if pair.name in named:
                yield named[pair.name], side  # type: ignore[misc]


def _drawn_sizes(form: Form, point: ControlPoint, side: RailSide) -> dict[str, float]:
    """Sizes of the section as drawn, square to the rail, by the key of a section reading."""
    rail = form.frame.rail(side)
    section = rail.section
    depth = rail.depth_at(form.frame.control_place(point, side).s_mm)
    opening = depth - 2 * section.flange_thickness_mm
    web, flange = section.web_mm, section.flange_thickness_mm
    if section.kind == "closed":
        return {"depth": depth, "upper_flange": section.flange_mm, "lower_flange": section.flange_mm, "web_thickness": web}
    values = (depth, opening, opening, section.flange_mm, section.flange_mm, web, flange, flange)
    return dict(zip(SIZES, values, strict=True))


def _sizes(form: Form, units: str) -> Iterator[Table]:
    """One row a place and rail: each size as drawn, and a blank; thicknesses in a table of their own, or it would not fit on paper."""
    for name, title, keys in (("form-sections", AS_DRAWN, SIZES[:5]), ("form-thickness", "Thickness alike.", SIZES[5:])):
        rows = []
        for point, side in _stations(form):
            sizes = _drawn_sizes(form, point, side)
            rows.append((f"{point.name}, {side}", *(f"{_size(sizes[key], units)} {BLANK}" if key in sizes else "" for key in keys)))
        columns = (Column(name=f"place ({units})"), *(Column(name=key.replace("_", " ")) for key in keys))
        yield Table(name=name, title=title, columns=columns, rows=tuple(rows))


def _leg(name: str, how: str, lines: Sequence[Line], units: str) -> Table:
    one = all(line.end is None for line in lines)
    columns = (
        Column(name="reading"), Column(name="at" if one else "from"), *(() if one else (Column(name="to"),)), Column(name="with"),
        Column(name="as drawn"), Column(name="as read"),
    )  # fmt: skip
    rows = tuple(
        (line.name, line.start, *(() if one else (line.end or "",)), line.instrument, _told(line.drawn_mm, units), BLANK) for line in lines
    )  # fmt: skip
    return Table(name=name, title=how, columns=columns, rows=rows)


def _told(mm: float, units: str) -> str:
    """A length to look for on a tape: whole sixteenths, or mm to the half."""
    if units == "in":
        return shop_inches(mm).partition(" (")[0]
    return f"{round(2 * mm) / 2:g} mm"


def _size(mm: float, units: str) -> str:
    """A size of a section, without its unit: in 1/32 in, or mm to a tenth."""
    return shop_inches(mm, 32).partition(" in")[0] if units == "in" else f"{round(mm, 1):g}"


def _tells(form: Form) -> Table:
    """Each word at the place where it will be known worst."""
    rows = []
    for word, own in by_word(form.measures).items():
        worst = max(own, key=lambda m: float("inf") if m.uncertainty_mm is None else m.uncertainty_mm)
        rows.append((word, worst.where, worst.uncertainty_mm, worst.limit_mm, _reach(worst)))
    columns = (
        Column(name="word"), Column(name="worst at"), Column(name="known to within", unit="mm", digits=1),
        Column(name="limit", unit="mm", digits=1), Column(name="so"),
    )  # fmt: skip
    return Table(name="form-tells", title="", columns=columns, rows=tuple(rows))


def _reach(measure: Measure) -> str:
    by, limit = measure.uncertainty_mm, measure.limit_mm
    if by is None:
        return "cannot be told"
    if limit is None:
        return measure.why
    if by >= limit:
        return "cannot be told: take it with something finer"
    return "can be told"


def _places(form: Form) -> tuple[str, ...]:
    if not form.bare:
        return ()
    at = ", ".join(form.bare)
    return (f"No pair of control points stands at {at}: add one at each, or a twist that grows there cannot be placed.",)


def form_json(form: Form) -> list[dict[str, Any]]:
    """Every line for a program, in the order of the walk."""
    return [
        {"leg": leg.title, "name": line.name, "kind": line.kind, "from": line.start, "to": line.end, "drawn_mm": line.drawn_mm,
         "with": line.instrument, "set": form.set_name, "redundancy": form.redundancy[line.name]}
        for leg in form.legs for line in leg.lines
    ]  # fmt: skip
