"""How far a few pieces can be trusted."""

import pytest
from hypothesis import given
from hypothesis import strategies as st

from studiolog.craft.evidence import rates


def test_nothing_tried_leaves_everything_possible():
    assert rates.wilson(0, 0) == (0.0, 1.0)
    assert rates.rate_of(0, 0).rate is None


@given(st.integers(0, 400), st.integers(1, 400), st.floats(0.5, 0.999))
def test_the_share_lies_inside_and_the_ends_are_shares(events, trials, confidence):
    events = min(events, trials)
    low, high = rates.wilson(events, trials, confidence)
    assert 0.0 <= low <= events / trials <= high <= 1.0
    mirrored = rates.wilson(trials - events, trials, confidence)
    assert mirrored == (pytest.approx(1 - high, abs=1e-12), pytest.approx(1 - low, abs=1e-12))


@given(st.integers(1, 30))
def test_more_pieces_narrow_it(events):
    first, second = rates.wilson(events, 40), rates.wilson(events * 3, 120)
    assert second[1] - second[0] < first[1] - first[0]


@pytest.mark.parametrize(
    ("events", "trials", "confidence"),
    [
        (-1, 5, 0.95),
        (6, 5, 0.95),
        (1, -5, 0.95),
        (1.5, 5, 0.95),
        (1, 5, 0),
        (1, 5, 1),
        (True, 5, 0.9),
    ],
)
def test_counts_that_cannot_be_are_refused(events, trials, confidence):
    with pytest.raises(ValueError, match=r".+"):
        rates.wilson(events, trials, confidence)


def test_under_five_pieces_say_too_little():
    assert rates.MIN_PIECES == 5
    assert not rates.rate_of(1, 4).says_enough
    assert rates.rate_of(1, 5).says_enough


def test_how_many_more_tests_clear_a_glaze():
    more = rates.smallest_next_test(0, 10, limit=0.10)
    assert more is not None
    assert rates.wilson(0, 10 + more)[1] < 0.10 <= rates.wilson(0, 10 + more - 1)[1]
    assert rates.smallest_next_test(0, 100, limit=0.10) == 0
    # Half of forty crazed: no number of good ones is asked for, the glaze has to change.
    assert rates.smallest_next_test(20, 40, limit=0.10) is None
    with pytest.raises(ValueError, match="limit"):
        rates.smallest_next_test(0, 5, limit=0)


def test_how_many_more_tell_two_glazes_apart():
    assert rates.pieces_to_tell_apart(19, 20, 1, 20) == 0
    more = rates.pieces_to_tell_apart(6, 10, 2, 10)
    assert more is not None
    assert 5 < more < 60
    assert rates.pieces_to_tell_apart(2, 10, 2, 10) is None
    assert rates.pieces_to_tell_apart(0, 0, 2, 10) is None
    assert rates.differ(rates.rate_of(1, 40), rates.rate_of(30, 40))
