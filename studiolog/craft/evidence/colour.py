"""How far apart two colours look."""

import math
from collections.abc import Sequence


def difference(lab1: Sequence[float], lab2: Sequence[float]) -> float:
    """ΔE00 of two CIE L*a*b* colours, all weights 1 (CIEDE2000).

    After G. Sharma, W. Wu and E. N. Dalal, Color Res. Appl. 30, 2005, p. 21, whose notes on the
    mean hue are followed. About 1 is the least a trained eye sees side by side. Raises ValueError
    if a colour is not three finite numbers.
    """
    l1, a1, b1 = _lab(lab1)
    l2, a2, b2 = _lab(lab2)
    chroma = ((math.hypot(a1, b1) + math.hypot(a2, b2)) / 2.0) ** 7
    # Neutral colours get their a* stretched, where the older formula was blind.
    stretch = 1.5 - 0.5 * math.sqrt(chroma / (chroma + 25.0**7))
    a1, a2 = a1 * stretch, a2 * stretch
    c1, c2 = math.hypot(a1, b1), math.hypot(a2, b2)
    h1, h2 = _hue(a1, b1), _hue(a2, b2)

    turn = h2 - h1
    if c1 * c2 == 0.0:
        turn = 0.0
    elif turn > 180.0:
        turn -= 360.0
    elif turn < -180.0:
        turn += 360.0
    delta_l, delta_c = l2 - l1, c2 - c1
    delta_h = 2.0 * math.sqrt(c1 * c2) * math.sin(math.radians(turn / 2.0))

    mean_l, mean_c = (l1 + l2) / 2.0, (c1 + c2) / 2.0
    if c1 * c2 == 0.0:
        mean_h = h1 + h2
    elif abs(h1 - h2) <= 180.0:
        mean_h = (h1 + h2) / 2.0
    elif h1 + h2 < 360.0:
        mean_h = (h1 + h2 + 360.0) / 2.0
    else:
        mean_h = (h1 + h2 - 360.0) / 2.0

    hue_weight = (
        1.0
        - 0.17 * _cos(mean_h - 30.0)
        + 0.24 * _cos(2.0 * mean_h)
        + 0.32 * _cos(3.0 * mean_h + 6.0)
        - 0.20 * _cos(4.0 * mean_h - 63.0)
    )
    lightness = (mean_l - 50.0) ** 2
    scale_l = 1.0 + 0.015 * lightness / math.sqrt(20.0 + lightness)
    scale_c = 1.0 + 0.045 * mean_c
    scale_h = 1.0 + 0.015 * mean_c * hue_weight
    blue = 30.0 * math.exp(-(((mean_h - 275.0) / 25.0) ** 2))
    twist = -2.0 * math.sqrt(mean_c**7 / (mean_c**7 + 25.0**7)) * math.sin(math.radians(2 * blue))

    dl, dc, dh = delta_l / scale_l, delta_c / scale_c, delta_h / scale_h
    # The squares' sum can fall a hair below zero for equal colours.
    return math.sqrt(max(0.0, dl * dl + dc * dc + dh * dh + twist * dc * dh))


def _lab(lab: Sequence[float]) -> tuple[float, float, float]:
    if len(lab) != 3 or not all(math.isfinite(value) for value in lab):
        raise ValueError("A colour is three finite numbers: L*, a*, b*.")
    return float(lab[0]), float(lab[1]), float(lab[2])


def _hue(a: float, b: float) -> float:
    return math.degrees(math.atan2(b, a)) % 360.0 if a or b else 0.0


def _cos(degrees: float) -> float:
    return math.cos(math.radians(degrees))
