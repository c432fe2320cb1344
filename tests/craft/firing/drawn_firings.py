"""Firings drawn as corners of (hours, °C), and the program that most of them were meant to be."""

from typing import Any

import numpy as np

from studiolog.craft.firing.program import Segment

PLAN = (Segment(100, 120), Segment(180, 1080), Segment(60, 1200, 30), Segment(None, 60))
AS_MEANT = ((0, 20), (1, 120), (19 / 3, 1080), (25 / 3, 1200), (53 / 6, 1200), (22, 60))


def fired(
    *corners: tuple[float, float], every_s: float = 60.0, noise_c: float = 0.0
) -> tuple[Any, Any]:
    """A curve through (hours, °C) corners, in seconds and °C."""
    hours, heats = zip(*corners, strict=True)
    t = np.arange(hours[0] * 3600, hours[-1] * 3600 + 1, every_s)
    c = np.interp(t, np.array(hours) * 3600, heats)
    return t, c + np.random.default_rng(4).normal(0, noise_c, t.size) if noise_c else c
