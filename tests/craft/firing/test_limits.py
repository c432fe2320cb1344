"""The limits a firing is judged by: one table, its standings, and what a potter may set."""

import pytest

from studiolog.craft.limits import GROUPS, SHIPPED, Limits, check_limit, shipped_limits
from studiolog.problems import UserProblem


def test_every_limit_says_what_it_is_and_how_well_it_is_known() -> None:
    for row in shipped_limits().values():
        assert row.group in GROUPS
        assert row.standing in ("published", "common practice", "judgement", "from memory")
        assert row.least <= row.value <= row.most
        assert len(row.words) > 15


def test_no_rate_can_be_asked_of_less_than_a_quarter_of_an_hour() -> None:
    with pytest.raises(UserProblem, match="between 15 and 60"):
        check_limit("rate_window_min", 10)


def test_a_changed_limit_counts_and_one_no_longer_known_does_not() -> None:
    mine = Limits({"lag_c": 20.0, "from_another_version": 1.0})
    assert mine["lag_c"] == 20.0
    assert mine.is_changed("lag_c")
    assert not mine.is_changed("lag_min")
    assert mine != SHIPPED
    assert Limits() == SHIPPED
