"""The reader that looks over our own files: each fault planted in a good file is told, and a file that is none is told as such."""

from __future__ import annotations

import math
import re
from collections.abc import Callable
from dataclasses import replace

import pytest

from generator.dxf import flat_dxf
from generator.dxf_tags import Entity, check_dxf, extents, read_dxf, shape_key
from parts.flat import Flat, FlatBend
from parts.holes import Hole
from parts.outline import Point, Transform, rectangle
from parts.sheet import Label

PLATE = Flat(
    name="plate",
    thickness_mm=4.0,
    contour=rectangle(0.0, 0.0, 200.0, 100.0).rounded([0.0, 20.0, 0.0, 0.0]),
    holes=(
        Hole(name="bolt", x_mm=40.0, y_mm=40.0, diameter_mm=13.0),
        Hole(name="slot", kind="slot", x_mm=100.0, y_mm=75.0, diameter_mm=11.0, length_mm=40.0, angle_deg=30.0),
    ),
    bends=(
        FlatBend(
            name="a/b", line=((150.0, 0.0), (150.0, 100.0)), angle_deg=90.0, inside_radius_mm=5.0, k_factor=0.42,
            length_mm=100.0, width_mm=10.5,
        ),
    ),
    marks=(),
    labels=(Label(text="p", x_mm=10.0, y_mm=80.0),),
)  # fmt: skip
GOOD = flat_dxf(PLATE, "plate")
CIRCLE_CENTRE = "AcDbCircle\n 10\n"


def _problems(data: bytes, flat: Flat = PLATE) -> str:
    return "; ".join(check_dxf(data, flat, units="mm", version="R2010"))


def _swap(old: str, new: str) -> Callable[[str], str]:
    def spoil(text: str) -> str:
        assert old in text, old
        return text.replace(old, new, 1)

    return spoil


def _in_entities(pattern: str, new: str) -> Callable[[str], str]:
    def spoil(text: str) -> str:
        at = text.index("\nENTITIES\n")
        tail, count = re.subn(pattern, new, text[at:], count=1)
        assert count == 1, pattern
        return text[:at] + tail

    return spoil


def _entity_again(kind: str) -> Callable[[str], str]:
    def spoil(text: str) -> str:
        at = text.index(f"  0\n{kind}\n", text.index("\nENTITIES\n"))
        end = text.index("  0\n", at + 4)
        return text[:end] + text[at:end] + text[end:]

    return spoil


def _slot_reversed_again(text: str) -> str:
    """The slot's outline a second time, walked the other way from another corner."""
    slot = PLATE.holes[1].contour().reversed().started_at(2)
    rows = "".join(f" 10\n{x}\n 20\n{y}\n 42\n{b}\n" for (x, y), b in zip(slot.points, slot.bulges, strict=True))
    extra = f"  0\nLWPOLYLINE\n  8\nCUT\n 90\n4\n 70\n1\n{rows}"
    at = text.index("  0\nENDSEC", text.index("\nENTITIES\n"))
    return text[:at] + extra + text[at:]


def _added(entity: str) -> Callable[[str], str]:
    def spoil(text: str) -> str:
        at = text.index("  0\nENDSEC", text.index("\nENTITIES\n"))
        return text[:at] + entity + text[at:]

    return spoil


FAULTS: dict[str, tuple[Callable[[str], str], str]] = {
    "circle moved by 0.001 mm": (_swap(f"{CIRCLE_CENTRE}40.0", f"{CIRCLE_CENTRE}40.001"), "no round hole is drawn at (40.000"),
    "circle too wide": (_in_entities(r"(AcDbCircle\n 10\n.*\n 20\n.*\n 30\n.*\n 40\n)6\.5", r"\g<1>6.6"), "no round hole"),
    "radius zero": (_in_entities(r"(AcDbCircle\n 10\n.*\n 20\n.*\n 30\n.*\n 40\n)6\.5", r"\g<1>0.0"), "has radius 0"),
    "not a number": (_swap(f"{CIRCLE_CENTRE}40.0", f"{CIRCLE_CENTRE}nan"), "CIRCLE holds nan"),
    "hole missing": (_in_entities(r"  0\nCIRCLE\n(?:.*\n)*?(?=  0\n)", ""), "no round hole"),
    "slot open": (_in_entities(r"(AcDbPolyline\n 90\n\d+\n 70\n)1", r"\g<1>0"), "on layer CUT at (115.307, 77.487) is not closed"),
    "arc straightened": (_in_entities(r"\n 42\n.*", ""), "no contour"),
    "circle twice": (_entity_again("CIRCLE"), "2 times the same CIRCLE"),
    "slot twice, the other way round": (_slot_reversed_again, "2 times the same polyline"),
    "bend line twice": (_entity_again("LINE"), "a bend line is drawn"),
    "bend line on the cut layer": (_in_entities(r"(  0\nLINE\n(?:.*\n)*?  8\n)BEND", r"\g<1>CUT"), "LINE on layer CUT"),
    "centre lost": (_in_entities(r"  0\nPOINT\n(?:.*\n)*?(?=  0\n)", ""), "no centre"),
    "letter closed": (_in_entities(r"(  8\nMARK\n(?:.*\n)*? 70\n)0", r"\g<1>1"), "closes on itself"),
    "spline": (_added("  0\nSPLINE\n  8\nCUT\n 10\n0\n 20\n0\n"), "SPLINE on layer CUT"),
    "ellipse": (_added("  0\nELLIPSE\n  8\nCUT\n 10\n0\n 20\n0\n 11\n5\n 21\n0\n 40\n0.5\n"), "ELLIPSE on layer CUT"),
    "layer of nobody": (_added("  0\nPOINT\n  8\nOTHER\n 10\n0\n 20\n0\n"), "POINT on layer OTHER"),
    "paper space": (_added("  0\nTEXT\n 67\n1\n  8\nNOTE\n 10\n0\n 20\n0\n 40\n5\n  1\nhello\n"), "paper space"),
    "short edge": (
        _added("  0\nLWPOLYLINE\n  8\nCUT\n 90\n3\n 70\n1\n 10\n1\n 20\n1\n 10\n1.1\n 20\n1\n 10\n1\n 20\n9\n"), "segment of 0.1000 mm"
    ),
    "inches in the header": (_swap("$INSUNITS\n 70\n4", "$INSUNITS\n 70\n1"), "$INSUNITS is 1, not 4"),
    "imperial": (_swap("$MEASUREMENT\n 70\n1", "$MEASUREMENT\n 70\n0"), "$MEASUREMENT is 0, not 1"),
    "another version": (_swap("AC1024", "AC1032"), "$ACADVER is AC1032"),
    "extents never set": (_swap("$EXTMIN\n 10\n0.0", "$EXTMIN\n 10\n1e+20"), "$EXTMIN"),
    "extents endless": (_swap("$EXTMAX\n 10\n", "$EXTMAX\n 10\n1e+20\n 11\n"), "$EXTMIN"),
    "colour": (_swap("  2\nCUT\n 70\n0\n 62\n7", "  2\nCUT\n 70\n0\n 62\n1"), "layer CUT has line type Continuous and colour 1"),
    "line type": (_swap("  6\nDASHED", "  6\nCHAIN"), "layer BEND has line type CHAIN"),
    "line type not defined": (_swap("  2\nDASHED\n 70", "  2\nOTHER\n 70"), "line type DASHED is not defined"),
    "layer not defined": (_swap("  2\nNOTE\n 70", "  2\nREMARK\n 70"), "layer NOTE is not defined"),
    "in a block": (_swap("  0\nENDBLK", "  0\nPOINT\n  8\nCUT\n 10\n0\n 20\n0\n  0\nENDBLK"), "1 entities stand in blocks"),
    "cut short": (lambda text: text[: len(text) // 2].rsplit("\n", 2)[0], "cut short"),
    "cut inside a group": (lambda text: text + "  0\n", "ends inside a group"),
    "no entities": (_swap("\nENTITIES\n", "\nOTHERS\n"), "no ENTITIES section"),
}


def test_the_good_file_has_no_problem() -> None:
    assert _problems(GOOD) == ""


@pytest.mark.parametrize("fault", FAULTS)
def test_planted_fault_is_told(fault: str) -> None:
    spoil, told = FAULTS[fault]
    text = GOOD.decode()
    bad = spoil(text)
    assert bad != text
    assert told in _problems(bad.encode())


@pytest.mark.parametrize("data", [b"", b"PK\x03\x04\x00\xff", b"\xff\xfe\x00", b"<svg>\n</svg>\n", b"  0\nSECTION\n"])
def test_what_is_no_dxf_file_is_told(data: bytes) -> None:
    assert len(check_dxf(data, PLATE, units="mm", version="R2010")) == 1
    with pytest.raises(ValueError):
        read_dxf(data)


@pytest.mark.parametrize(
    "other",
    [
        replace(PLATE, holes=(*PLATE.holes, Hole(name="more", x_mm=10.0, y_mm=10.0, diameter_mm=9.0))),
        replace(PLATE, holes=PLATE.holes[:1]),
        replace(PLATE, bends=()),
        replace(PLATE, contour=rectangle(0.0, 0.0, 200.0, 100.0)),
        replace(PLATE, contour=PLATE.contour.moved(Transform.mirror_x()).moved(Transform.shift(200.0, 0.0))),
        replace(PLATE, holes=(PLATE.holes[0], replace(PLATE.holes[1], angle_deg=-30.0))),
    ],
    ids=["one hole more", "one hole fewer", "no bend", "square corner", "mirrored outline", "slot the other way"],
)
def test_the_file_of_another_part_is_told(other: Flat) -> None:
    assert _problems(GOOD, other) != ""


def test_a_drilled_hole_that_is_cut_is_told() -> None:
    assert check_dxf(GOOD, PLATE, units="mm", version="R2010", least_hole_mm=12.0) != []


def test_the_other_unit_and_version_are_told() -> None:
    problems = check_dxf(GOOD, PLATE, units="in", version="R12")
    assert any("$ACADVER" in p for p in problems) and any("contour" in p for p in problems)


@pytest.mark.parametrize("ending", [b"\n", b"\r\n"])
def test_either_line_ending_is_read(ending: bytes) -> None:
    assert _problems(GOOD.replace(b"\n", ending)) == ""


def test_r12_polyline_and_comment_are_read() -> None:
    data = flat_dxf(PLATE, "plate", version="R12")
    (outline,) = [e for e in read_dxf(data).entities if e.layer == "CUT" and len(e.points) == 5]
    assert outline.closed
    assert outline.contour.area == pytest.approx(200 * 100 - 400 * (1 - math.pi / 4), abs=1e-6)
    assert check_dxf(data, PLATE, units="mm", version="R12") == []


def _closed(points: tuple[Point, ...], bulges: tuple[float, ...]) -> Entity:
    return Entity(kind="LWPOLYLINE", layer="CUT", points=points, bulges=bulges, closed=True)


def test_the_same_shape_from_another_start_has_the_same_key() -> None:
    one = _closed(((0.0, 0.0), (10.0, 0.0), (10.0, 5.0)), (0.5, 0.0, 0.0))
    turned = _closed(((10.0, 5.0), (0.0, 0.0), (10.0, 0.0)), (0.0, 0.5, 0.0))
    back = _closed(((10.0, 0.0), (0.0, 0.0), (10.0, 5.0)), (-0.5, 0.0, 0.0))
    other = _closed(((0.0, 0.0), (10.0, 0.0), (10.0, 5.0)), (-0.5, 0.0, 0.0))
    assert shape_key(one, 1e-4) == shape_key(turned, 1e-4) == shape_key(back, 1e-4)
    assert shape_key(one, 1e-4) != shape_key(other, 1e-4)


def test_extents_reach_round_arcs() -> None:
    # a half circle of radius 5 over (0, 0) to (10, 0), walked clockwise, rises to y = 5
    assert extents([_closed(((0.0, 0.0), (10.0, 0.0)), (-1.0, 0.0))]) == pytest.approx((0.0, 0.0, 10.0, 5.0))
    circle = Entity(kind="CIRCLE", layer="CUT", points=((3.0, 4.0),), bulges=(0.0,), closed=True, radius=2.0)
    assert extents([circle]) == (1.0, 2.0, 5.0, 6.0)
