"""All that is told of one logged curve of 800 samples: cleaned, summed up, heat-work, segments."""

import math
from itertools import pairwise

import numpy as np
from numpy.typing import NDArray

from studiolog.craft.firing.cones import activation_k, whole_cones
from studiolog.craft.firing.curve import clean_curve, summarize
from studiolog.craft.firing.heat_along import HALVES
from studiolog.craft.firing.heatwork import stretch_work_s
from studiolog.craft.firing.segments import find_segments, merge_lines, rate_of, take_blocks
from studiolog.journal.curve_facts import facts_of_curve
from tests.bench import plain_firings as plain
from tests.bench.kiln_studio import STEP_S
from tests.bench.result import Result
from tests.bench.synthetic_studio import READINGS
from tests.bench.timing import in_rotation

CURVES = 6
SPIKES = 5
_LEVELS_C = (100.0, 573.0, 1000.0, 1166.0)
_REFERENCE_K = 1490.0
_WORTH = 400.0
_MOST_BLOCKS = 60

Curve = tuple[NDArray[np.float64], NDArray[np.float64]]


def make_curves() -> list[Curve]:
    """Cone 6 firings with a sensor's noise and a few spikes, no two alike."""
    chance = np.random.default_rng(11)
    at_s = STEP_S * np.arange(READINGS)
    found = []
    for _ in range(CURVES):
        hours = np.cumsum([0, 1, 4.9, 1.5 * chance.uniform(0.9, 1.4), 1.2, 0.3, 2, 8])
        curve_c = np.interp(at_s, hours * 3600, [20, 120, 1000, 1150, 1216, 1216, 1000, 120])
        curve_c += chance.normal(0, 0.5, READINGS)
        curve_c[chance.choice(np.arange(20, READINGS, 40), SPIKES, replace=False)] += 180
        curve_c[[60, 400]] = 2400.0
        found.append((at_s, np.round(curve_c, 1)))
    return found


def analyse(curve: Curve) -> None:
    """What the page of a firing computes of its curve."""
    facts_of_curve(*curve)
    cleaned = clean_curve(*curve)
    find_segments(cleaned.elapsed_s, cleaned.temperature_c)


def analyse_plainly(curve: tuple[list[float], list[float]]) -> None:
    """The same figures by the obvious loops."""
    at_s, at_c = plain.clean(*curve)
    for level in _LEVELS_C:
        plain.time_above(at_s, at_c, level)
    for cone in (*whole_cones(), *HALVES):
        plain.work_along(at_s, at_c, activation_k(cone), _REFERENCE_K)
    blocks_s, blocks_c = plain.two_minute_medians(at_s, at_c)
    bounds = plain.merge(blocks_s, blocks_c, _WORTH)
    for first, last in pairwise(bounds):
        if last - first > 2:
            stride = -(-(last - first) // _MOST_BLOCKS)
            plain.median_slope(blocks_s[first:last:stride], blocks_c[first:last:stride])


def count_wrong(curve: Curve) -> int:
    """How many figures of a curve differ from those of the plain loops."""
    cleaned = clean_curve(*curve)
    t, c = cleaned.elapsed_s, cleaned.temperature_c
    at_s, at_c = plain.clean(curve[0].tolist(), curve[1].tolist())
    wrong = int(t.tolist() != at_s or c.tolist() != at_c)
    told = summarize(cleaned)
    for level, ours in zip(_LEVELS_C, (told.above_100_s, told.above_573_s, told.above_1000_s), strict=False):  # fmt: skip  # noqa: E501
        wrong += not math.isclose(ours, plain.time_above(at_s, at_c, level), rel_tol=1e-9)
    activation = activation_k("6")
    ours = float(stretch_work_s(t, c, activation, _REFERENCE_K).sum())
    along = plain.work_along(at_s, at_c, activation, _REFERENCE_K)
    wrong += not math.isclose(ours, along[-1], rel_tol=1e-9)
    blocks = take_blocks(t, c)
    blocks_s, blocks_c = plain.two_minute_medians(at_s, at_c)
    wrong += not np.allclose(blocks.at_s, blocks_s) or not np.allclose(
        blocks.temperature_c, blocks_c
    )
    for first, last in pairwise(merge_lines(blocks.at_s, blocks.temperature_c)):
        rate = rate_of(blocks.at_s[first:last], blocks.temperature_c[first:last], blocks.step_s)
        if rate is not None and last - first <= _MOST_BLOCKS:
            slope = plain.median_slope(blocks_s[first:last], blocks_c[first:last]) * 3600
            wrong += not math.isclose(rate.c_per_h, slope, rel_tol=1e-6, abs_tol=1e-6)
    return wrong


def measure_curve(rounds: int) -> tuple[list[Result], int]:
    """The analysis of a curve against the plain loops, and how many figures disagree."""
    curves = make_curves()
    few = [(s.tolist(), c.tolist()) for s, c in curves]
    ours_s, plain_s = in_rotation(
        rounds,
        lambda: [analyse(one) for one in curves],
        lambda: [analyse_plainly(one) for one in few],
    )
    result = Result(
        f"all that is told of a curve of {READINGS} readings",
        ours_s / plain_s,
        "≤ 0.5",
        "the same sums in plain Python",
        rounds,
        f"{ours_s / CURVES * 1000:.1f} ms a curve",
    )
    return [result], sum(count_wrong(one) for one in curves)
