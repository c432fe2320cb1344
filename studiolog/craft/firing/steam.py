"""Whether a program drives off the last water slowly enough.

Free water leaves by 100 °C, at a lower temperature at altitude. *Common practice*: damp or thick
ware wants no more than 60 to 100 °C an hour up to about 120 °C, or a hold below the boil first.
The limits here are that range; how dry the ware is, only the potter can tell.
"""

from collections.abc import Sequence
from typing import Final

from studiolog.craft.firing.program import ROOM_C, Segment
from studiolog.craft.units import show_rate, show_temperature

DRY_BY_C: Final = 120.0
GENTLE_C_PER_H: Final = 60.0
FAST_C_PER_H: Final = 100.0
CANDLE_FROM_C: Final = 60.0
CANDLE_BELOW_C: Final = 100.0
CANDLE_MIN: Final = 60.0  # judgement: the shortest hold that counts as candling


def steam_caution(segments: Sequence[Segment], scale: str = "C") -> str:
    """A sentence if the program heats faster than is gentle through 100 °C, else ""."""
    here = ROOM_C
    for segment in segments:
        if segment.target_c > here and here < CANDLE_BELOW_C < segment.target_c:
            return _say(segment.rate_c_per_h, scale)
        if CANDLE_FROM_C <= segment.target_c < CANDLE_BELOW_C and segment.hold_min >= CANDLE_MIN:
            return ""
        here = segment.target_c
    return ""


def _say(rate_c_per_h: float | None, scale: str) -> str:
    if rate_c_per_h is not None and rate_c_per_h <= GENTLE_C_PER_H:
        return ""
    boil, dry = show_temperature(CANDLE_BELOW_C, scale), show_temperature(DRY_BY_C, scale)
    if rate_c_per_h is None:
        how = "as fast as the kiln goes"
    else:
        how = f"at {show_rate(rate_c_per_h, scale)}"
    usual = f"{show_rate(GENTLE_C_PER_H, scale)} to {show_rate(FAST_C_PER_H, scale)}"
    return (
        f"This heats {how} through {boil}. Damp or thick ware can burst: for it {usual} up to "
        f"{dry} is usual, or a hold below {boil} first. Your kiln's maker and local rules decide."
    )
