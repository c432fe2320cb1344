"""How the softening of a cone follows temperature: one Arrhenius rate per cone.

The charts give a cone's end point at two or three heating rates. One rate law
``dα/dt = A·exp(−E/RT)`` for each cone goes through them to about the charts' own ±2 °C. ``E`` is
an apparent value that makes the charts agree; nothing should be read into it. Here it is carried
as a temperature, E/R in kelvin.
"""

import math
from collections.abc import Mapping
from typing import Any, Final

KELVIN: Final = 273.15

_NARROWEST_C: Final = 4.0
_WIDEST_C: Final = 120.0


def ramp_share(x: Any) -> Any:
    """∫₀ᵀ exp(−E/R·(1/T' − 1/T)) dT' as a share of T, where x = E/(R·T).

    The fourth-degree rational approximation of Senum and Yang (J. Thermal Anal. 11, 1977,
    p. 445): its error is under one part in a hundred thousand from x = 10 upwards.
    A number gives a number, an array an array, being plain arithmetic.
    """
    above = ((x + 18.0) * x + 86.0) * x + 96.0
    below = (((x + 20.0) * x + 120.0) * x + 240.0) * x + 120.0
    return above / below


def softening_width_c(activation_k: float, temperature_c: float) -> float:
    """RT²/E in °C: how far the end point moves when the heating rate grows by e (2.718) times."""
    kelvin = temperature_c + KELVIN
    return kelvin * kelvin / activation_k


def activation_for_width(width_c: float, temperature_c: float) -> float:
    """E/R in kelvin of a cone whose end point moves by ``width_c`` near ``temperature_c``."""
    kelvin = temperature_c + KELVIN
    return kelvin * kelvin / width_c


def fit_activation(end_points: Mapping[float, float]) -> float:
    """E/R in kelvin that best joins the end points {rate °C/h: °C} of one cone.

    Least squares in °C, which is how a chart is read. Raises ValueError with fewer than two rates.
    """
    if len(end_points) < 2:
        raise ValueError("A softening rate needs end points at two heating rates or more.")
    rates = sorted(end_points)
    kelvins = [end_points[rate] + KELVIN for rate in rates]
    middle = sum(kelvins) / len(kelvins)

    def misses(width: float) -> float:
        activation = middle * middle / width
        widths = [t * t / activation for t in kelvins]
        # ln of the work done at each end point, for a rate of 1; a steady ramp does 1/rate of it.
        works = [
            math.log(t * ramp_share(activation / t)) - activation * (1.0 / t - 1.0 / middle)
            for t in kelvins
        ]
        offsets = [work - math.log(rate) for work, rate in zip(works, rates, strict=True)]
        weights = [w * w for w in widths]
        constant = sum(o * w for o, w in zip(offsets, weights, strict=True)) / sum(weights)
        return sum(((o - constant) * w) ** 2 for o, w in zip(offsets, widths, strict=True))

    # Golden section over the width, which is what varies evenly from cone to cone.
    low, high = _NARROWEST_C, _WIDEST_C
    golden = (math.sqrt(5.0) - 1.0) / 2.0
    left, right = high - golden * (high - low), low + golden * (high - low)
    at_left, at_right = misses(left), misses(right)
    while high - low > 1e-7:
        if at_left < at_right:
            high, right, at_right = right, left, at_left
            left = high - golden * (high - low)
            at_left = misses(left)
        else:
            low, left, at_left = left, right, at_right
            right = low + golden * (high - low)
            at_right = misses(right)
    return middle * middle / ((low + high) / 2.0)
