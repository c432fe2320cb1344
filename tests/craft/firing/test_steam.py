"""Damp ware heated fast through the boil bursts: a program that does so says so.

*Common practice*: 60 to 100 °C an hour at most up to about 120 °C, or a hold below the boil first.
"""

import pytest

from studiolog.craft.firing.program import Segment
from studiolog.craft.firing.steam import steam_caution


@pytest.mark.parametrize("rate", [61.0, 150.0, None])
def test_a_fast_start_is_cautioned(rate: float | None) -> None:
    sentence = steam_caution([Segment(rate, 600)])
    assert "Damp or thick ware can burst" in sentence
    assert "local rules" in sentence


def test_a_gentle_start_is_not() -> None:
    assert steam_caution([Segment(60, 120), Segment(200, 1060)]) == ""


def test_candling_below_the_boil_first_is_enough() -> None:
    candled = [Segment(100, 90, 120), Segment(150, 600)]
    assert steam_caution(candled) == ""
    short = [Segment(100, 90, 10), Segment(150, 600)]
    assert "150" in steam_caution(short)


def test_a_program_that_never_reaches_the_boil_has_nothing_to_say() -> None:
    assert steam_caution([]) == ""
    assert steam_caution([Segment(200, 80)]) == ""


def test_it_is_told_in_the_unit_the_potter_reads() -> None:
    sentence = steam_caution([Segment(150, 600)], "F")
    assert "270\u202f°F/h" in sentence
    assert "212\u202f°F" in sentence
