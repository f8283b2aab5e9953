"""Which reading is not believed: planted by hand, so what has to be named is known."""

from __future__ import annotations

import math
import os
from dataclasses import replace

import numpy as np
import pytest
from scipy.stats import binom, norm

from generator.survey.adjust import adjust
from generator.survey.network import Network, Observation
from generator.survey.proposal import proposal
from generator.survey.slips import slip_of
from generator.survey.snoop import CRITICAL, least_detectable, suspects
from parts.sheet import Vec3
from tests.generator.survey.networks import every_way, network, off_by, points, reading, true_value
from tests.generator.survey.test_adjust import square

SAMPLES = 1000 if os.environ.get("LADDERFRAME_SAMPLES") == "long" else 100


def surveyed(seed: int) -> tuple[dict[str, Vec3], Network]:
    """Eight points, a tape every way, a height at each."""
    random = np.random.default_rng(seed)
    truth = points(8, random)
    return truth, network(truth, every_way(list(truth)), random, rough_mm=5.0)


@pytest.mark.parametrize("name", ["r0", "r13", "r27", "r30"])
@pytest.mark.parametrize("error", [25.0, -25.0])
def test_a_misreading_is_named_with_its_size(name: str, error: float) -> None:
    _, own = surveyed(11)
    (found,) = suspects(adjust(off_by(own, name, error)))
    assert found.observations == (name,)
    assert found.error_mm == pytest.approx(error, abs=5.0)  # a few times its own standard deviation, 0.7 mm and what the others leave
    assert found.normalised * error < 0 and abs(found.normalised) > CRITICAL
    assert found.error_sigmas == pytest.approx(found.error_mm / 0.7)


def test_without_misreading_and_noise_nothing_is_doubted() -> None:
    _, own = surveyed(12)
    truth = points(8, np.random.default_rng(12))
    exact = tuple(replace(o, value_mm=true_value(o.kind, truth[o.start], truth[o.end or o.start])) for o in own.observations)
    assert suspects(adjust(replace(own, observations=exact))) == ()


def test_two_misreadings_are_both_named() -> None:
    _, own = surveyed(13)
    found = suspects(adjust(off_by(off_by(own, "r3", 25.0), "r20", -40.0)))
    assert {s.observations for s in found} == {("r3",), ("r20",)}


@pytest.mark.parametrize(
    ("factor", "error", "told"),
    [(1 / 25.4, 0.0, "25.4: inches"), (10.0, 0.0, "10: "), (0.1, 0.0, "10: "), (1.0, 304.8, "1 ft"), (1.0, -304.8, "1 ft"),
     (25.4, 0.0, "25.4")],
)
def test_another_unit_is_suspected_as_such(factor: float, error: float, told: str) -> None:
    for name in ("r4", "r17"):
        _, own = surveyed(14)
        (found,) = suspects(adjust(off_by(own, name, error, factor)))
        assert found.observations == (name,)
        assert found.unit_slip.startswith(told)


def test_an_error_that_no_unit_makes_is_not_called_one() -> None:
    assert slip_of(1025.0, 25.0, 0.7) == ""
    assert slip_of(1002.0, 2.0, 0.7) == ""
    assert slip_of(430.0, 860.0, 0.9, "y").startswith("minus")  # the left rail's offset, -430, written 430
    assert slip_of(5.0, 4.5, 0.4, "z") == ""  # ten times 0.5 mm, at a height near 0


def test_tied_readings_are_named_together_with_what_would_part_them() -> None:
    """One condition over six lengths: all are tied. Reading one of them again parts that one from the rest, and no more can be had."""
    own = off_by(square(1000 * math.sqrt(2)), "AC", 25.0)
    (found,) = suspects(adjust(own))
    assert set(found.observations) == {"AB", "BC", "CD", "DA", "AC", "BD"}
    decided = found.decided_by
    assert decided is not None and decided.kind == "distance"
    length = 1000 * math.sqrt(2) if {decided.start, decided.end} in ({"A", "C"}, {"B", "D"}) else 1000.0
    again = reading("again", "distance", decided.start, decided.end, length)
    (then,) = suspects(adjust(replace(own, observations=(*own.observations, again))))
    assert len(then.observations) < 6


def test_the_least_error_that_shows() -> None:
    """3.2905 + 0.8416 = 4.1321 standard normal deviations (tables) over the root of the redundancy: 1/8 and 1/4."""
    found = least_detectable(adjust(square(1000 * math.sqrt(2))))
    assert found == pytest.approx([4.1321 * math.sqrt(8)] * 4 + [4.1321 * 2] * 2, abs=2e-3)


def test_what_nobody_checks_has_no_least_error() -> None:
    own = square(1000 * math.sqrt(2))
    assert np.isinf(least_detectable(adjust(replace(own, observations=own.observations[:-1])))).all()


def test_the_reading_that_settles_a_height_is_proposed() -> None:
    """Tapes tell nothing of a height; the height itself does, to its own accuracy, and no tape is proposed in its place."""
    own = square(1000 * math.sqrt(2))
    flat = adjust(replace(own, held={k: (None, None, 0.0) for k in "ABC"}))
    height = np.zeros(12)
    height[11] = 1.0  # of D
    assert flat.sigma(height) is None
    tape, level = reading("", "distance", "A", "D", 0.0), reading("", "z", "D", None, 0.0, 0.5)
    found = proposal(flat, height, [tape, level])
    assert found is not None
    assert (found.kind, found.start, found.closes) == ("z", "D", 1)
    assert found.sigma_mm == pytest.approx(0.5, rel=1e-6)
    assert proposal(flat, height, [tape]) is None


def test_what_a_proposal_promises_comes_true() -> None:
    """The standard deviation told beforehand is that of the network with the reading in it."""
    _, own = surveyed(15)
    few = adjust(replace(own, observations=own.observations[:20] + own.observations[28:]))
    gradient = np.zeros(24)
    gradient[[18, 21]] = -1.0, 1.0  # along x, p6 to p7
    candidates = [replace(o, value_mm=0.0) for o in own.observations[20:28]]
    found = proposal(few, gradient - few.free @ (few.free.T @ gradient), candidates)
    assert found is not None
    whole = own.observations[:20] + own.observations[28:] + (next(o for o in own.observations if o.name == found.observation.name),)
    then = adjust(replace(own, observations=whole))
    seen = gradient - few.free @ (few.free.T @ gradient)
    assert math.sqrt(seen @ then.covariance @ seen) == pytest.approx((found.sigma_mm or 0.0) / few.scale, rel=0.01)


# ------------------------------------------------------------------ simulated


def test_the_truth_lies_within_95_percent_intervals() -> None:
    """Of the distance between two points, a priori standard deviations. 0.1 % binomial bounds; for 1000 within 93 and 97 %."""
    held = 0
    for seed in range(SAMPLES):
        truth, own = surveyed(1000 + seed)
        found = adjust(own)
        i, j = np.random.default_rng(seed).choice(8, 2, replace=False)
        a, b = (np.array(found.coordinates[f"p{k}"]) for k in (i, j))
        gradient = np.zeros(24)
        gradient[3 * i : 3 * i + 3], gradient[3 * j : 3 * j + 3] = (a - b) / np.linalg.norm(a - b), (b - a) / np.linalg.norm(a - b)
        sigma = found.sigma(gradient)
        assert sigma is not None
        off = float(np.linalg.norm(a - b)) - true_value("distance", truth[f"p{i}"], truth[f"p{j}"])
        held += abs(off) <= 1.96 * sigma / found.scale
    low, high = (930, 970) if SAMPLES == 1000 else (binom.ppf(0.0005, SAMPLES, 0.95), binom.ppf(0.9995, SAMPLES, 0.95))
    assert low <= held <= high


@pytest.mark.parametrize("shift", [4.1321, 6.0])
def test_misreadings_are_named_as_often_as_redundancy_predicts(shift: float) -> None:
    """A blunder of shift x sigma / sqrt(redundancy) is seen with P(|N(shift, 1)| > 3.29): 80 % and 99.7 %. 99 % binomial bounds."""
    power = float(norm.sf(CRITICAL - shift) + norm.cdf(-CRITICAL - shift))
    named = tried = 0
    for seed in range(SAMPLES):
        _, own = surveyed(5000 + seed)
        redundancy = adjust(own).redundancy
        well: list[Observation] = [o for o, r in zip(own.observations, redundancy, strict=True) if r > 0.3]
        chosen = well[int(np.random.default_rng(seed).integers(len(well)))]
        error = shift * chosen.sigma_mm / math.sqrt(redundancy[own.observations.index(chosen)])
        found = suspects(adjust(off_by(own, chosen.name, error)))
        tried += 1
        named += any(chosen.name in s.observations for s in found)
    assert binom.ppf(0.005, tried, power) <= named <= binom.ppf(0.995, tried, power)
