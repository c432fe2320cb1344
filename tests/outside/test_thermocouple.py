"""Thermocouples against what is published: IEC 60584-1, and the ITS-90 functions of NIST."""

import math

import pytest

from studiolog.craft.firing.thermocouple import (
    TOLERANCES,
    letter_of,
    millivolts,
    say_tolerance,
    say_voltage,
)
from studiolog.craft.units import THIN
from studiolog.problems import UserProblem

# IEC 60584-1:2013, table of tolerances. K class 2 at 1200 °C and the end of class 1 are as the
# reference sheet of this project has them; the others follow the standard's formulae by hand.
IEC_60584 = (
    ("K", 2, 1200, 9.0), ("K", 2, 300, 2.5), ("K", 2, 333, 2.5), ("K", 2, 1210, None),
    ("K", 1, 1000, 4.0), ("K", 1, 375, 1.5), ("K", 1, 1001, None),
    ("N", 2, 800, 6.0), ("N", 1, 500, 2.0),
    ("S", 2, 1210, 3.025), ("S", 2, 600, 1.5), ("S", 2, 1600, 4.0), ("S", 2, 1601, None),
    ("R", 1, 1100, 1.0), ("R", 1, 1300, 1.6), ("S", 1, 20, 1.0),
)  # fmt: skip

# NIST Monograph 175, ITS-90 reference functions: mV at 1000 °C with the cold end at 0 °C.
AT_1000 = {"K": 41.2756, "S": 9.5871, "R": 10.5060, "N": 36.2555}

# The same source, type K from 0 °C up, from memory: c0…c9, then the exponential about 126.97 °C.
K_COEFFICIENTS = (
    -0.176004136860e-01, 0.389212049750e-01, 0.185587700320e-04, -0.994575928740e-07,
    0.318409457190e-09, -0.560728448890e-12, 0.560750590590e-15, -0.320207200030e-18,
    0.971511471520e-22, -0.121047212750e-25,
)  # fmt: skip
K_HUMP = (0.118597600000, -0.118343200000e-03, 126.9686)


@pytest.mark.parametrize(("letter", "grade", "at_c", "off_c"), IEC_60584)
def test_tolerances_are_those_of_the_standard(
    letter: str, grade: int, at_c: float, off_c: float | None
) -> None:
    told = TOLERANCES[letter][grade].at(at_c)
    assert told == (None if off_c is None else pytest.approx(off_c, abs=0.005))


@pytest.mark.parametrize(("letter", "mv"), AT_1000.items())
def test_voltages_at_1000_degrees_are_those_of_nist(letter: str, mv: float) -> None:
    assert millivolts(letter, 1000.0) == pytest.approx(mv, abs=0.00006)


def test_type_k_follows_its_published_polynomial_over_the_whole_range() -> None:
    a0, a1, a2 = K_HUMP
    for at_c in range(0, 1373, 7):
        mv = sum(c * at_c**power for power, c in enumerate(K_COEFFICIENTS))
        mv += a0 * math.exp(a1 * (at_c - a2) ** 2)
        assert millivolts("K", at_c) == pytest.approx(mv, abs=0.0001)


def test_a_cold_end_in_a_warm_room_takes_its_own_voltage_off() -> None:
    for letter in AT_1000:
        assert millivolts(letter, 1210, 25) == pytest.approx(
            millivolts(letter, 1210) - millivolts(letter, 25)
        )
        assert millivolts(letter, 25, 25) == 0.0


def test_what_a_potter_reads() -> None:
    def plain(words: str) -> str:
        return words.replace(THIN, " ")

    told = plain(say_tolerance("S", 1210))
    assert told.endswith("class 1 ±1.3 °C, class 2 ±3.0 °C (IEC 60584-1).")
    assert "class 1 ends at 1000 °C, class 2 ends at 1200 °C" in plain(say_tolerance("K", 1210))
    assert "±5.4 °F" in plain(say_tolerance("S", 1210, "F"))
    assert plain(say_voltage("K", 1000, 0.0)) == (
        "On a meter the pair gives 41.28 mV at 1000 °C with the cold end at 0 °C."
    )
    with pytest.raises(UserProblem, match="Type K has no published voltage"):
        millivolts("K", 1500)


@pytest.mark.parametrize(
    ("typed", "letter"),
    [("S", "S"), (" type k ", "K"), ("K, 8 gauge", "K"), ("Pt", None), ("", None), ("none", None)],
)
def test_the_letter_is_found_in_what_was_written(typed: str, letter: str | None) -> None:
    assert letter_of(typed) == letter
