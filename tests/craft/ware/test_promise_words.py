"""A promise as it is said, over the day it was given: what it names, and what can't be read."""

from datetime import date

import pytest
from hypothesis import given
from hypothesis import strategies as st

from studiolog.craft.ware.promise_words import read_promise, say_window
from studiolog.problems import UserProblem

GIVEN = date(2026, 11, 12)  # a Thursday


@pytest.mark.parametrize(
    ("words", "window"),
    [
        ("six to eight weeks", "24 Dec 2026 to 7 Jan 2027"),
        ("6-8 weeks", "24 Dec 2026 to 7 Jan 2027"),
        (" 6 – 8 Weeks. ", "24 Dec 2026 to 7 Jan 2027"),
        ("between six weeks and two months", "24 Dec 2026 to 12 Jan 2027"),
        ("about 6 to 8 weeks", "24 Dec 2026 to 7 Jan 2027"),
        ("six to eight weeks from 1 Dec", "12 to 26 Jan 2027"),
        ("in eight weeks", "by 7 Jan 2027"),
        ("a fortnight", "by 26 Nov 2026"),
        ("twenty-one days", "by 3 Dec 2026"),
        ("fifty-three to fifty-four weeks", "18 to 25 Nov 2027"),
        ("twenty-thirty days", "2 to 12 Dec 2026"),
        ("in six weeks’ time", "by 24 Dec 2026"),
        ("three months at most", "by 12 Feb 2027"),
        ("by 12 Dec", "by 12 Dec 2026"),
        ("before 12 December", "by 11 Dec 2026"),
        ("12 to 19 Dec", "12 to 19 Dec 2026"),
        ("28 Dec to 9 Jan", "28 Dec 2026 to 9 Jan 2027"),
        ("2026-12-03 to 2026-12-10", "3 to 10 Dec 2026"),
        ("early December", "1 to 10 Dec 2026"),
        ("mid-January", "11 to 20 Jan 2027"),
        ("late February 2028", "21 to 29 Feb 2028"),
        ("by the end of January", "by 31 Jan 2027"),
        ("next week", "16 to 22 Nov 2026"),
        ("by Christmas", "by 24 Dec 2026"),
    ],
)
def test_a_promise_names_its_days(words: str, window: str) -> None:
    read = read_promise(words, GIVEN)
    assert read is not None
    assert say_window(read.first, read.last) == window


@pytest.mark.parametrize(
    ("words", "told"),
    [
        ("zero weeks", "no time at all"),
        ("0-2 weeks", "no time at all"),
        ("eight to six weeks", "runs backwards"),
        ("12 Dec to 3 Dec", "runs backwards"),
        ("December 0000", "can't be read as a promise"),
        ("a few weeks", "“few” in “a few weeks”"),
        ("about eight weeks", "from when to when"),
        ("by December", "its first day or its last"),
        ("12 Dec 2025", "before 12 Nov 2026, the day it is given"),
        ("31 Feb", "can't be read as a promise"),
        ("when it is done", "can't be read as a promise"),
        ("99999 weeks", "more than 10 years ahead"),
    ],
)
def test_what_is_no_sure_promise_is_told(words: str, told: str) -> None:
    with pytest.raises(UserProblem, match=told) as refused:
        read_promise(words, GIVEN)
    assert list(refused.value.fields) == ["promise_words"]


def test_no_words_are_no_promise() -> None:
    assert read_promise("  ", GIVEN) is None


def test_a_month_from_the_last_of_january_ends_with_february() -> None:
    for given_on, last in (
        (date(2027, 1, 31), date(2027, 2, 28)),
        (date(2028, 1, 31), date(2028, 2, 29)),
        (date(2028, 2, 29), date(2028, 3, 29)),
    ):
        read = read_promise("one month", given_on)
        assert read is not None
        assert read.last == last


def test_a_week_over_the_change_of_clocks_and_a_leap_day_is_seven_days() -> None:
    # 25 October 2026 has 25 hours and 29 March 23 in central Europe; 2028 has a 29 February.
    for given_on in (date(2026, 10, 22), date(2026, 3, 26), date(2028, 2, 25)):
        read = read_promise("one to two weeks", given_on)
        assert read is not None
        assert [(day - given_on).days for day in (read.first or given_on, read.last)] == [7, 14]


@given(
    st.dates(date(2020, 1, 1), date(2040, 1, 1)), st.integers(1, 60), st.integers(0, 20),
    st.sampled_from(["day", "week", "month"]),
)  # fmt: skip
def test_a_window_opens_after_the_day_it_is_given_and_then_closes(
    given_on: date, soonest: int, more: int, unit: str
) -> None:
    read = read_promise(f"{soonest} to {soonest + more} {unit}s", given_on)
    assert read is not None
    assert read.first is not None
    assert given_on < read.first <= read.last
    assert read.counted_from == given_on
