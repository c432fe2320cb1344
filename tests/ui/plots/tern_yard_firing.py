"""A made-up glaze firing to cone 6 with slow cooling, as a studio kiln would log it."""

from datetime import datetime

import numpy as np

from studiolog.ui.plots.firing_plot import (
    ConePassing,
    PlotFiring,
    PlottedCurve,
    PlottedSegment,
    QuartzCrossing,
)

HOUR = 3600.0
PROGRAM = [
    (0.0, 20.0),
    (1.0, 120.0),
    (6.33, 1080.0),
    (8.47, 1208.0),
    (8.72, 1208.0),
    (9.83, 1040.0),
    (13.33, 820.0),
]


def follow_program(late_h: float = 0.0, end_h: float = 24.0) -> tuple[list[float], list[float]]:
    """Seconds and °C of the program, the kiln left to cool exponentially at its end."""
    points = [(h + late_h * min(1.0, h / 8.0), c) for h, c in PROGRAM]
    start_h, start_c = points[-1]
    points += [
        (h, 20 + (start_c - 20) * float(np.exp(-(h - start_h) / 4.2)))
        for h in np.linspace(start_h + 0.1, end_h, 40).tolist()
    ]
    return [h * HOUR for h, _c in points], [c for _h, c in points]


def log_curve(late_h: float = 0.3, every_s: float = 15.0, seed: int = 87) -> PlottedCurve:
    """The log of such a firing: a probe good to half a degree, read every 15 seconds."""
    s, c = follow_program(late_h, 25.0)
    at_s = np.arange(0, 24 * HOUR + 1, every_s)
    noise = np.random.default_rng(seed).normal(0, 0.4, len(at_s))
    return PlottedCurve("log", at_s.tolist(), np.round(np.interp(at_s, s, c) + noise, 1).tolist())


def tern_yard_firing(with_log: bool = True, gaps: bool = False) -> PlotFiring:
    """Firing 87 of the made-up studio."""
    program_s, program_c = follow_program()
    base = PlotFiring(
        program_s=program_s,
        program_c=program_c,
        started_at=datetime(2026, 10, 2, 7, 10),
        where="probe at the middle shelf",
        number="87",
    )
    if not with_log:
        return base
    log = log_curve()
    at_s, heat = np.array(log.at_s), np.array(log.temperature_c)
    silences: tuple[tuple[float, float], ...] = ()
    if gaps:
        silences = ((3.0 * HOUR, 4.0 * HOUR),)
        keep = (at_s <= silences[0][0]) | (at_s >= silences[0][1])
        at_s, heat = at_s[keep], heat[keep]

    def passing(label: str, temperature_c: float) -> ConePassing:
        first = float(at_s[np.argmax(heat >= temperature_c)])
        return ConePassing(label, first, temperature_c)

    late = 0.3 / 8
    ends = [h * (1 + late) if h < 8 else h + 0.3 for h, _c in PROGRAM] + [24.0]
    words = [
        (100.0, 99.0, "", ""),
        (180.0, 178.0, "", ""),
        (60.0, 52.0, "", "fading to 43"),
        (None, None, "hold 15 min", "held 16"),
        (-150.0, -149.0, "", ""),
        (-60.0, -60.0, "", ""),
        (None, None, "left to cool", "100 °C after 23 h 31"),
    ]
    segments = tuple(
        PlottedSegment(n + 1, ends[n] * HOUR, ends[n + 1] * HOUR, *words[n])
        for n in range(len(words))
    )
    return PlotFiring(
        curve_s=at_s.tolist(),
        curve_c=heat.tolist(),
        program_s=program_s,
        program_c=program_c,
        started_at=base.started_at,
        segments=segments,
        cone_passings=(
            passing("04", 1082.0),
            passing("1", 1137.0),
            passing("4", 1162.0),
            passing("5", 1183.0),
            passing("6", 1206.0),
        ),
        aimed_cone="6",
        hold_band=(ends[3] * HOUR, ends[4] * HOUR),
        slow_cool_band=(ends[5] * HOUR, ends[6] * HOUR),
        gaps=silences,
        earlier=tuple(
            PlottedCurve(str(n), *follow_program(0.05 * i))
            for i, n in enumerate((84, 81, 77, 74, 70), start=1)
        ),
        quartz_crossings=(
            QuartzCrossing(3.63 * HOUR, 181.0),
            QuartzCrossing(15.36 * HOUR, -128.0),
        ),
        dropped_count=4,
        where=base.where,
        number="87",
        rate_note=("short of the program above 1030 °C", "more than in 84, 81 and 77"),
    )
