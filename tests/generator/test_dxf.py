"""What stands in a DXF file: units, layers, entities, notes; the same bytes every time; what is refused before it is drawn."""

from __future__ import annotations

import math
from dataclasses import replace
from typing import Any

import pytest

from generator.draw.strokes import text_strokes
from generator.dxf import flat_dxf
from generator.dxf_tags import LAYERS, Entity, check_dxf, extents, read_dxf
from parts.errors import BadInput
from parts.flat import Flat, FlatBend
from parts.holes import Hole
from parts.outline import Contour, Point, rectangle
from parts.sheet import Label, Mark

PLATE = Flat(
    name="plate",
    thickness_mm=4.0,
    contour=rectangle(0.0, 0.0, 400.0, 150.0).rounded([0.0, 20.0, 20.0, 0.0]),
    holes=(
        Hole(name="bolt", x_mm=40.0, y_mm=40.0, diameter_mm=13.0),
        Hole(name="slot", kind="slot", x_mm=100.0, y_mm=75.0, diameter_mm=11.0, length_mm=40.0, angle_deg=30.0),
        Hole(name="window", kind="rectangle", x_mm=200.0, y_mm=75.0, diameter_mm=50.0, length_mm=60.0, corner_radius_mm=8.0),
        Hole(name="pilot", x_mm=300.0, y_mm=120.0, diameter_mm=3.0),
        Hole(name="thin slot", kind="slot", x_mm=370.0, y_mm=75.0, diameter_mm=3.5, length_mm=20.0, angle_deg=90.0),
    ),
    bends=(
        FlatBend(
            name="web/flange", line=((250.0, 150.0), (250.0, 0.0)), angle_deg=-90.0, inside_radius_mm=5.0, k_factor=0.42,
            length_mm=150.0, width_mm=10.5,
        ),
    ),
    marks=(Mark(name="trim", strokes=(((10.0, 100.0), (10.0, 110.0)), ((10.0, 110.0), (10.0, 100.0)), ((10.0, 100.0), (20.0, 100.0)))),),
    labels=(Label(text="plate-left", x_mm=30.0, y_mm=100.0), Label(text="inside", x_mm=30.0, y_mm=20.0, face="bottom")),
)  # fmt: skip
BOTH_VERSIONS = pytest.mark.parametrize("version", ["R2010", "R12"])
BOTH_UNITS = pytest.mark.parametrize("units", ["mm", "in"])


def _entities(flat: Flat, layer: str, **asked: Any) -> list[Entity]:
    return [e for e in read_dxf(flat_dxf(flat, "plate-left", **asked)).entities if e.layer == layer]


def _texts(flat: Flat, **asked: Any) -> list[str]:
    return [e.text for e in _entities(flat, "NOTE", **asked)]


@BOTH_VERSIONS
@BOTH_UNITS
def test_reads_back_as_it_was_meant(version: str, units: str) -> None:
    data = flat_dxf(PLATE, "plate-left", units=units, version=version, least_hole_mm=4.0)
    assert check_dxf(data, PLATE, units=units, version=version, least_hole_mm=4.0) == []


@BOTH_VERSIONS
@BOTH_UNITS
def test_same_arguments_same_bytes(version: str, units: str) -> None:
    one = flat_dxf(PLATE, "plate-left", units=units, version=version)
    assert flat_dxf(PLATE, "plate-left", units=units, version=version) == one
    assert b"\r" not in one and one.endswith(b"EOF\n")


def test_one_closed_polyline_a_contour_and_one_circle_a_round_hole() -> None:
    cuts = _entities(PLATE, "CUT")
    assert [e.kind for e in cuts] == ["CIRCLE", "LWPOLYLINE", "LWPOLYLINE", "CIRCLE", "LWPOLYLINE", "LWPOLYLINE"]
    assert all(e.closed for e in cuts)
    assert cuts[-1].contour.box == pytest.approx((0.0, 0.0, 400.0, 150.0)), "the outline comes last, after what it holds"
    assert [e.kind for e in _entities(PLATE, "CUT", version="R12")] == ["CIRCLE", "POLYLINE", "POLYLINE", "CIRCLE", "POLYLINE", "POLYLINE"]


@BOTH_UNITS
def test_r2010_says_its_units_and_r12_in_a_comment(units: str) -> None:
    drawing = read_dxf(flat_dxf(PLATE, "plate-left", units=units))
    # DXF Reference 2010, HEADER: $INSUNITS 1 inches, 4 millimetres; $MEASUREMENT 0 imperial, 1 metric
    assert drawing.header["$INSUNITS"] == ({"in": "1", "mm": "4"}[units],)
    assert drawing.header["$MEASUREMENT"] == ({"in": "0", "mm": "1"}[units],)
    word = {"in": "inches", "mm": "mm"}[units]
    assert flat_dxf(PLATE, "plate-left", units=units, version="R12").startswith(f"999\nunits: {word}\n".encode())
    assert any(f"drawn in {word}" in t for t in _texts(PLATE, units=units, version="R12"))


def test_inch_coordinates_are_inches() -> None:
    (circle,) = [e for e in _entities(PLATE, "CUT", units="in") if e.kind == "CIRCLE" and e.radius > 0.1]
    assert (*circle.points[0], circle.radius) == pytest.approx((40 / 25.4, 40 / 25.4, 6.5 / 25.4), abs=1e-9)


@BOTH_VERSIONS
def test_layers_are_one_colour_and_differ_by_defined_line_types(version: str) -> None:
    drawing = read_dxf(flat_dxf(PLATE, "plate-left", version=version))
    ours = {name: (linetype.upper(), colour) for name, (linetype, colour) in drawing.layers.items() if name in LAYERS}
    assert ours == {name: (linetype, "7") for name, linetype in LAYERS.items()}
    assert len(set(LAYERS.values())) == len(LAYERS)
    assert set(LAYERS.values()) <= {name.upper() for name in drawing.linetypes}
    assert {e.layer for e in drawing.entities} == set(LAYERS)


@BOTH_VERSIONS
def test_extents_hold_everything_and_no_more_than_the_notes_need(version: str) -> None:
    drawing = read_dxf(flat_dxf(PLATE, "plate-left", version=version))
    low, high = ([float(v) for v in drawing.header[n]] for n in ("$EXTMIN", "$EXTMAX"))
    assert (low[0], high[0], high[1]) == (0.0, 400.0, 150.0)
    box = extents(drawing.entities)
    assert low[1] == pytest.approx(box[1])
    assert -100.0 < low[1] < 0.0


def test_holes_too_small_for_the_process_become_crosses_to_drill() -> None:
    cut_all, cut_some = _entities(PLATE, "CUT"), _entities(PLATE, "CUT", least_hole_mm=4.0)
    assert len(cut_all) - len(cut_some) == 2
    assert min(e.radius for e in cut_some if e.kind == "CIRCLE") == 6.5
    centres = {e.points[0] for e in _entities(PLATE, "CENTRE", least_hole_mm=4.0)}
    # the thin slot, 20 long and 3.5 wide, stands upright: its drill starts (20 - 3.5)/2 = 8.25 either way of its middle
    assert centres == {(40.0, 40.0), (100.0, 75.0), (200.0, 75.0), (300.0, 120.0), (370.0, 66.75), (370.0, 83.25)}
    arms = _entities(replace(PLATE, marks=(), labels=()), "MARK", least_hole_mm=4.0)
    assert [math.dist(*e.points) for e in arms] == [6.0] * 6
    assert any("dia 3 mm, slot 3.5 mm x 20 mm" in t for t in _texts(PLATE, least_hole_mm=4.0))
    assert not any("drill" in t for t in _texts(PLATE))


def test_a_hole_of_the_least_size_is_cut() -> None:
    assert len(_entities(PLATE, "CUT", least_hole_mm=3.0)) == len(_entities(PLATE, "CUT"))


def test_bend_notes_say_angle_direction_radius_and_k() -> None:
    assert "90 deg DOWN, inside radius 5 mm, K 0.42" in _texts(PLATE)
    assert "90 deg DOWN, inside radius 0.197 in, K 0.42" in _texts(PLATE, units="in")
    up = replace(PLATE, bends=(replace(PLATE.bends[0], angle_deg=22.5),))
    assert "22.5 deg UP, inside radius 5 mm, K 0.42" in _texts(up)
    assert any("UP towards you" in t for t in _texts(PLATE))
    (line,) = _entities(PLATE, "BEND")
    assert set(line.points) == {(250.0, 150.0), (250.0, 0.0)}


def test_marks_are_open_strokes_drawn_once_on_the_seen_face() -> None:
    strokes = _entities(PLATE, "MARK")
    letters = text_strokes("plate-left", 30.0, 100.0, 6.0)
    assert len(strokes) == 2 + len(letters)  # the trim line that is there twice, once each way, is drawn once
    assert not any(e.closed for e in strokes)
    drawn = [e.points for e in strokes[2:]]
    for stroke, points in zip(letters, drawn, strict=True):
        assert points == pytest.approx([pytest.approx(p, abs=1e-8) for p in stroke])
    assert any(t.endswith("on the other face: inside") for t in _texts(PLATE))


def test_a_ring_to_be_etched_is_drawn_in_two_strokes() -> None:
    ring: tuple[Point, ...] = ((10.0, 10.0), (20.0, 10.0), (20.0, 20.0), (10.0, 10.0))
    flat = replace(PLATE, labels=(), marks=(Mark(name="ring", strokes=(ring,)),))
    assert [e.points for e in _entities(flat, "MARK")] == [ring[:2], ring[1:]]


def test_notes_are_wrapped_and_hold_no_control_codes() -> None:
    texts = _texts(PLATE, notes=("two\nlines %%d ^J", "word " * 60))
    assert "two lines % %d 'J" in texts
    assert max(map(len, texts)) <= 90
    assert sum(t.count("word") for t in texts) == 60


def test_letters_that_r12_cannot_hold_do_not_stop_it() -> None:
    data = flat_dxf(PLATE, "plate-left", version="R12", notes=("steel \N{SNOWMAN} grade",))
    assert check_dxf(data, PLATE, units="mm", version="R12") == []


def _hole(**changes: Any) -> Flat:
    return replace(PLATE, holes=(replace(PLATE.holes[1], **changes),))


REFUSED = {
    "nan hole": (_hole(x_mm=math.nan), "hole slot"),
    "infinite hole": (_hole(y_mm=math.inf), "hole slot"),
    "negative diameter": (_hole(kind="round", diameter_mm=-13.0), "hole slot"),
    "no diameter": (_hole(kind="round", diameter_mm=0.0), "hole slot"),
    "nan angle": (_hole(angle_deg=math.nan), "hole slot"),
    "slot as long as wide": (_hole(length_mm=11.0), "shortest that is written"),
    "far away": (_hole(x_mm=1e12), "hole slot"),
    "nan corner": (replace(PLATE, contour=Contour(((0.0, 0.0), (9.0, math.nan), (9.0, 9.0)), (0.0,) * 3)), "outline"),
    "infinite bulge": (replace(PLATE, contour=Contour(((0.0, 0.0), (9.0, 0.0)), (math.inf, 1.0))), "outline"),
    "short edge": (replace(PLATE, contour=rectangle(0.0, 0.0, 50.0, 0.1)), "0.100 mm"),
    "no thickness": (replace(PLATE, thickness_mm=0.0), "thickness"),
    "nan bend": (replace(PLATE, bends=(replace(PLATE.bends[0], line=((0.0, 0.0), (math.nan, 1.0))),)), "bend web/flange"),
    "negative radius": (replace(PLATE, bends=(replace(PLATE.bends[0], inside_radius_mm=-1.0),)), "bend web/flange"),
    "nan mark": (replace(PLATE, marks=(Mark(name="tick", strokes=(((0.0, math.nan), (1.0, 1.0)),)),)), "mark tick"),
    "letters without height": (replace(PLATE, labels=(Label(text="x", x_mm=0.0, y_mm=0.0, height_mm=0.0),)), "label x"),
    "same hole twice": (replace(PLATE, holes=(PLATE.holes[0], replace(PLATE.holes[0], name="again"))), "hole again"),
}


@pytest.mark.parametrize("case", REFUSED)
def test_refused_before_it_is_drawn(case: str) -> None:
    flat, word = REFUSED[case]
    with pytest.raises(BadInput) as caught:
        flat_dxf(flat, "plate-left")
    assert word in str(caught.value) and "part plate-left" in str(caught.value)


def test_every_fault_is_told_at_once() -> None:
    bad = replace(PLATE, thickness_mm=-1.0, holes=(replace(PLATE.holes[0], x_mm=math.nan),))
    with pytest.raises(BadInput) as caught:
        flat_dxf(bad, "plate-left", units="feet", version="R13", least_hole_mm=math.nan)
    assert [f.field for f in caught.value.faults] == ["dxf_units", "dxf_version", "smallest hole", "thickness", "hole bolt"]
