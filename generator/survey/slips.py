"""What a wrong number looks like: inches for millimetres, a decimal point, a foot or a whole metre on the tape."""

from __future__ import annotations

from generator.survey.network import ObservationKind

INCH, FOOT = 25.4, 304.8
#: reading over truth -> what was done
FACTORS: tuple[tuple[float, str], ...] = (
    (1 / INCH, "25.4: inches written as mm?"),
    (INCH, "25.4: mm taken for inches?"),
    (10.0, "10: decimal point, or mm written as cm?"),
    (0.1, "10: decimal point, or cm written as mm?"),
    (1 / FOOT, "1 ft = 304.8: feet written as mm?"),
    (FOOT, "1 ft = 304.8: mm taken for feet?"),
    (1000 / FOOT, "3.281: feet written as m?"),
    (FOOT / 1000, "3.281: m written as feet?"),
    (12.0, "12: inches and feet mixed?"),
    (1 / 12, "12: inches and feet mixed?"),
    (1000.0, "1000: mm written as m?"),
    (0.001, "1000: m written as mm?"),
    (-1.0, "minus: left out, or written where there is none?"),
)
#: reading less truth, mm -> what was done
SHIFTS: tuple[tuple[float, str], ...] = (
    (FOOT, "1 ft = 304.8 mm: a foot miscounted?"),
    (1000.0, "1 m: a metre miscounted?"),
    (100.0, "100 mm: tape held at its 100 mm mark, or a mark miscounted?"),
)
NEAR = 3.29  #: standard deviations of the error within which it fits
APART = 10.0  #: standard deviations that it has to be off by at least: less than that may be anything


def slip_of(read_mm: float, error_mm: float, sigma_mm: float, kind: ObservationKind = "distance") -> str:
    """The slip that explains an error best, or "".

    Args:
        error_mm: reading less truth, `sigma_mm` its standard deviation.
        kind: of x, y, z and rise, which may lie near 0, a factor is told only where the truth is well off 0.
    """
    true = read_mm - error_mm
    if abs(error_mm) < APART * sigma_mm or sigma_mm <= 0:
        return ""
    misses: list[tuple[float, str]] = []
    if abs(true) > APART * sigma_mm or kind in ("distance", "plan"):
        misses += [(abs(read_mm / factor - true), text) for factor, text in FACTORS]
    misses += [(abs(abs(error_mm) - shift), text) for shift, text in SHIFTS]
    miss, text = min(misses)
    return text if miss <= NEAR * sigma_mm else ""
