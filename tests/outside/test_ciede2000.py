"""Colour difference against the published test pairs.

Source: G. Sharma, W. Wu and E. N. Dalal, "The CIEDE2000 color-difference formula", Color Research
and Application 30, 2005, p. 21, table 1: 34 pairs to four decimals.
"""

import csv
from pathlib import Path

import pytest

from studiolog.craft.evidence.colour import difference


def pairs():
    path = Path(__file__).parent / "data" / "ciede2000_34.csv"
    with path.open(encoding="utf-8", newline="") as file:
        return [tuple(float(value) for value in row.values()) for row in csv.DictReader(file)]


def test_all_thirty_four_pairs_are_there():
    assert len(pairs()) == 34


@pytest.mark.parametrize("pair", pairs())
def test_published_pairs_to_four_decimals(pair):
    first, second, expected = pair[:3], pair[3:6], pair[6]
    assert round(difference(first, second), 4) == expected
    assert round(difference(second, first), 4) == expected
