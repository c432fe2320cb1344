"""What a thermocouple may be off when it is new, and the voltage it gives.

Tolerances by IEC 60584-1:2013 (published): the letters that kilns have, K, N, S and R, from 0 °C
up. Voltages by the reference functions of the ITS-90 (NIST Monograph 175, published), through the
package ``thermocouple-its90``. Tolerances are for new wire: in a kiln it drifts.
"""

import re
from collections.abc import Mapping
from dataclasses import dataclass
from typing import Final

from studiolog.craft.units import THIN, show_degrees, show_temperature
from studiolog.problems import UserProblem

METER_CARE: Final = (
    "Only at the low-voltage ends of the thermocouple, with the mains switched off and locked "
    "off: inside the control box there is mains voltage beside them. If unsure, have a qualified "
    "person do it."
)


@dataclass(frozen=True, slots=True)
class Tolerance:
    """One class of IEC 60584-1 from 0 °C up: a flat band, then growing beyond ``bends_c``.

    ±``flat_c`` up to ``bends_c``, then ±(``flat_c`` + ``slope`` × (t − ``bends_c``)), until
    ``ends_c``, where the class ends.
    """

    flat_c: float
    bends_c: float
    slope: float
    ends_c: float

    def at(self, temperature_c: float) -> float | None:
        """± °C at a temperature; None outside the class's range."""
        if not 0.0 <= temperature_c <= self.ends_c:
            return None
        return self.flat_c + self.slope * max(0.0, temperature_c - self.bends_c)


# Where a band is "the greater of a flat and a share of t", the two meet at the bend.
_BASE_1: Final = Tolerance(1.5, 375.0, 0.004, 1000.0)
_BASE_2: Final = Tolerance(2.5, 2.5 / 0.0075, 0.0075, 1200.0)
_PLATINUM_1: Final = Tolerance(1.0, 1100.0, 0.003, 1600.0)
_PLATINUM_2: Final = Tolerance(1.5, 600.0, 0.0025, 1600.0)

TOLERANCES: Final[Mapping[str, Mapping[int, Tolerance]]] = {
    "K": {1: _BASE_1, 2: _BASE_2},
    "N": {1: _BASE_1, 2: _BASE_2},
    "S": {1: _PLATINUM_1, 2: _PLATINUM_2},
    "R": {1: _PLATINUM_1, 2: _PLATINUM_2},
}
MADE_OF: Final[Mapping[str, str]] = {
    "K": "nickel-chromium and nickel-aluminium",
    "N": "nickel-chromium-silicon and nickel-silicon",
    "S": "platinum-10 % rhodium and platinum",
    "R": "platinum-13 % rhodium and platinum",
}

_LETTER: Final = re.compile(r"(?:type\s+)?([knsr])(?![a-z])", re.IGNORECASE)


def letter_of(typed: str) -> str | None:
    """The letter in what a potter wrote, "S", "type k", "K, 8 gauge"; None for any other."""
    match = _LETTER.match(typed.strip())
    return match[1].upper() if match else None


def millivolts(letter: str, hot_c: float, cold_c: float = 0.0) -> float:
    """mV of a pair with its hot end at one temperature and its cold end at another.

    Raises `UserProblem` for a temperature that the reference function does not reach.
    """
    import thermocouple_its90

    pair = thermocouple_its90.get(letter)
    try:
        return float(pair.emf(hot_c)) - float(pair.emf(cold_c))
    except thermocouple_its90.RangeError as problem:
        raise UserProblem(
            f"Type {letter} has no published voltage between {cold_c:g} and {hot_c:g} °C."
        ) from problem


def say_tolerance(letter: str, temperature_c: float, scale: str = "C") -> str:
    """What each class may be off, when new: "class 1 ±1.3 °C, class 2 ±3.0 °C at 1210 °C"."""
    told = []
    for grade, tolerance in TOLERANCES[letter].items():
        off_c = tolerance.at(temperature_c)
        if off_c is None:
            ends = show_temperature(tolerance.ends_c, scale)
            told.append(f"class {grade} ends at {ends}")
        else:
            told.append(f"class {grade} ±{show_degrees(off_c, scale, 1)}")
    at = show_temperature(temperature_c, scale)
    return f"Type {letter} at {at}, when new: {', '.join(told)} (IEC 60584-1)."


def say_voltage(letter: str, hot_c: float, cold_c: float = 25.0, scale: str = "C") -> str:
    """What a meter should show: "12.43 mV at 1210 °C with the cold end at 25 °C"."""
    return (
        f"On a meter the pair gives {millivolts(letter, hot_c, cold_c):.2f}{THIN}mV at "
        f"{show_temperature(hot_c, scale)} with the cold end at {show_temperature(cold_c, scale)}."
    )
