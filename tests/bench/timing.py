"""Seconds of several candidates in rotation, so that a busy minute falls on all of them."""

import gc
import math
import statistics
import time
from collections.abc import Callable, Sequence


def settle() -> None:
    """Clear up, and keep the collector off what stands ready for the measurement."""
    gc.collect()
    gc.freeze()


def seconds_of(work: Callable[[], object]) -> float:
    """Seconds of one call."""
    begin = time.perf_counter()
    work()
    return time.perf_counter() - begin


def in_rotation(rounds: int, *works: Callable[[], object]) -> tuple[float, ...]:
    """The median seconds of each, called one after the other ``rounds`` times."""
    taken: list[list[float]] = [[] for _ in works]
    settle()
    for _ in range(rounds):
        for times, work in zip(taken, works, strict=True):
            times.append(seconds_of(work))
    return tuple(statistics.median(times) for times in taken)


def p95(times: Sequence[float]) -> float:
    """The time that nineteen of twenty stay under."""
    return sorted(times)[math.ceil(0.95 * len(times)) - 1]


def exponent(small: tuple[int, float], large: tuple[int, float]) -> float:
    """Growth from one (size, measure) to a larger: 1 is linear, 0 is none."""
    return math.log(large[1] / small[1]) / math.log(large[0] / small[0])
