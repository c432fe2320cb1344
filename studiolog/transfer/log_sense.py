"""Whether a table that was read can be the log of a firing at all."""

from studiolog.craft.units import show_temperature
from studiolog.transfer.temperature_log import LogReading

_WARM_C = 60.0
_WAYS, _LEAP = 4.0, 0.08
"""What goes up and down so many times its own height, by such a share of it from one reading to the
next, is no kiln's curve; judgement."""


def find_why_no_firing(reading: LogReading) -> str:
    """Why a table of numbers can be no firing; empty if it can."""
    import numpy as np

    values = reading.primary.temperature_c
    if values.size < 2:
        return f"{reading.name} holds one reading only: a curve needs at least two."
    peak = float(values.max())
    if peak < _WARM_C:
        return (
            f"{reading.name} is no firing: “{reading.primary.name}” never passes "
            f"{show_temperature(peak, 'C')}."
        )
    steps, height = np.abs(np.diff(values)), max(1.0, peak - float(values.min()))
    if values.size > 4 and steps.sum() > _WAYS * height and np.median(steps) > _LEAP * height:
        return (
            f"{reading.name} is no firing: the numbers in “{reading.primary.name}” jump up and "
            "down as no kiln does."
        )
    return ""
