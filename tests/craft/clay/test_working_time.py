"""How many can be begun at once: sums done by hand, and what can't be asked."""

import math

import pytest

from studiolog.craft.clay.working_time import BatchSize, WorkStep, how_many_at_once
from studiolog.craft.limits import Limits
from studiolog.craft.ware.usual_time import UsualTime, stated_time
from studiolog.problems import UserProblem

TUMBLER = (
    WorkStep("thrown", 6, "wet"),
    WorkStep("trimmed", 4, "leather_hard"),
    WorkStep("glazed", 5, "bisque"),
)
PANELLED = (
    WorkStep("thrown", 10, "wet"),
    WorkStep("trimmed", 5, "leather_hard"),
    WorkStep("panels cut", 55, "leather_hard"),
)


def just(hours: float) -> UsualTime:
    """Clay that stays workable for exactly so long."""
    return UsualTime(math.log(hours), 1e-9, 1e6)


def begin(steps: tuple[WorkStep, ...], hours: UsualTime, **asked: int | float) -> BatchSize:
    return how_many_at_once(steps, hours, hands=int(asked.get("hands", 1)),
                            hours_a_day=float(asked.get("hours_a_day", 6)))  # fmt: skip


def test_plain_tumblers_come_to_dozens_and_the_day_ends_them() -> None:
    # Trimmed faster than thrown, so none waits: 6 h / 6 min = 60 are begun in a day.
    size = begin(TUMBLER, just(5))
    assert (size.pieces, size.bound_by, size.binding_step) == (60, "day", "thrown")
    assert size.chance == 0


def test_a_slow_decorated_form_comes_to_a_handful() -> None:
    # One hour of work each, thrown 10 min apart. The n-th waits n h less (n - 1) × 10 min:
    # of 5 h workable, n = 5 needs 5 - 0:40 = 4:20, and n = 6 needs 6 - 0:50 = 5:10.
    size = begin(PANELLED, just(5))
    assert (size.pieces, size.bound_by, size.binding_step) == (5, "workable", "panels cut")
    needs = {one.pieces: one.hours for one in size.by_count}
    assert needs[5] == pytest.approx(4 + 20 / 60)
    assert needs[6] == pytest.approx(5 + 10 / 60)


def test_clay_stiffens_over_night_while_nobody_works() -> None:
    # Six hours a day: the seventh is done 25 h after work began, and 1 h later than the first
    # was it thrown; 24.1 h workable hold it, 23.9 h do not.
    assert begin(PANELLED, just(23.9)).pieces == 6
    assert begin(PANELLED, just(24.1)).pieces == 7
    assert begin(PANELLED, just(24.1), hours_a_day=3).pieces == 3


def test_two_at_the_bench_work_side_by_side() -> None:
    # In pairs: 2 and 2 and 2 hours; thrown in pairs too, the fifth and sixth 20 min after.
    assert begin(PANELLED, just(2.5)).pieces == 2
    assert begin(PANELLED, just(2.5), hands=2).pieces == 4
    alone = (*PANELLED, WorkStep("carried", 1, "leather_hard", persons=2))
    with pytest.raises(UserProblem, match="“carried” takes 2 at once, and there is 1"):
        begin(alone, just(5))


def test_the_stated_safety_decides_and_not_the_middle() -> None:
    # Log-normal with median 8 h of which one in ten is shorter than 8 / 1.6 = 5 h.
    usual = stated_time(8, 1.6, 1e6)
    size = begin(PANELLED, usual)
    assert size.sure_h == pytest.approx(5, rel=1e-3)
    assert size.pieces == 5
    assert size.chance <= 0.1 < next(n.chance for n in size.by_count if n.pieces == 6)
    bold = how_many_at_once(PANELLED, usual, limits=Limits({"dries_first_risk": 0.5}))
    assert bold.pieces == 6  # all that one day has; the seventh waits until the morning


def test_the_sum_is_shown_term_by_term() -> None:
    size = how_many_at_once(PANELLED, just(5), of="in the open", basis="from 3 runs open")
    told = {term.words: term.value for term in size.terms}
    assert told["thrown 10\u202fmin: each is leather-hard so long after the one before"] == (
        "10\u202fmin"
    )
    assert told["Stays workable in the open (from 3 runs open)"].startswith("5\u202fh")
    last = [value for value in told.values() if "too late" in value or "in time" in value]
    assert last == ["4.3\u202fh, in time", "5.2\u202fh, too late"]


def test_what_waits_longer_than_it_may_in_the_open_is_wrapped_until_then() -> None:
    size = how_many_at_once(PANELLED, just(30), open_hours=just(3))
    assert size.wrap_before == ("trimmed", "panels cut")
    few = how_many_at_once(TUMBLER, just(30), open_hours=just(3))
    assert few.wrap_before == ()


def test_one_piece_that_takes_longer_than_the_clay_is_said() -> None:
    size = begin(PANELLED, just(0.5))
    assert size.pieces == 0
    assert size.binding.startswith("Even one is at risk")


@pytest.mark.parametrize(
    ("steps", "asked", "told"),
    [
        ((), {}, "No steps are given"),
        (PANELLED, {"hours_a_day": 0}, "more than 0"),
        (PANELLED, {"hands": 0}, "1 or more"),
        ((WorkStep("thrown", None, "wet"),), {}, "has minutes"),
    ],
)
def test_what_can_not_be_told_says_what_is_missing(
    steps: tuple[WorkStep, ...], asked: dict[str, int], told: str
) -> None:
    with pytest.raises(UserProblem, match=told):
        begin(steps, just(5), **asked)
