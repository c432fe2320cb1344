"""How far apart two colours look."""

import pytest
from hypothesis import given
from hypothesis import strategies as st

from studiolog.craft.evidence.colour import difference

labs = st.tuples(st.floats(0, 100), st.floats(-128, 128), st.floats(-128, 128))


@given(labs)
def test_a_colour_is_no_way_from_itself(lab):
    assert difference(lab, lab) == 0


@given(labs, labs)
def test_it_is_the_same_both_ways_and_never_negative(first, second):
    there = difference(first, second)
    assert there >= 0
    assert difference(second, first) == pytest.approx(there, abs=1e-9)


def test_black_and_white_are_a_hundred_apart():
    assert difference((0, 0, 0), (100, 0, 0)) == pytest.approx(100)


@pytest.mark.parametrize("bad", [(1, 2), (1, 2, float("nan")), (1, 2, 3, 4)])
def test_a_colour_is_three_numbers(bad):
    with pytest.raises(ValueError, match="three finite"):
        difference(bad, (0, 0, 0))
