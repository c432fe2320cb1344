"""When the studio works: the usual week, and days nobody is there."""

from datetime import date

import pytest

from studiolog.craft.limits import SHIPPED
from studiolog.journal.opening import Journal
from studiolog.journal.studio import set_terms
from studiolog.journal.studio_days import (
    StudioTimes,
    add_away,
    change_away,
    delete_away,
    read_studio_times,
)
from studiolog.problems import UserProblem

TODAY = date(2026, 11, 12)  # a Thursday


def times(journal: Journal) -> StudioTimes:
    return journal.read(lambda session: read_studio_times(session, TODAY))


def test_what_the_studio_has_not_said_is_stated(journal: Journal) -> None:
    usual = times(journal)
    assert (usual.work_days, usual.says_days, usual.says_hours) == ("12345", False, False)
    assert usual.hours_a_day == SHIPPED["promise_hours_a_day"]
    assert usual.is_worked(TODAY)
    assert not usual.is_worked(date(2026, 11, 14))
    journal.edit("Set", lambda s: set_terms(s, work_days="26", hours_a_day=3.0))
    own = times(journal)
    assert (own.work_days, own.hours_a_day, own.says_days) == ("26", 3.0, True)
    assert own.is_worked(date(2026, 11, 14))


def test_days_away_are_noted_moved_and_taken_out_again(journal: Journal) -> None:
    week = (date(2026, 11, 16), date(2026, 11, 22))
    away = journal.edit("Note", lambda s: add_away(s, *week, "by the sea")).value
    journal.edit("Note", lambda s: add_away(s, date(2026, 11, 2), date(2026, 11, 11), "over"))
    (line,) = times(journal).away
    assert (line.first_on, line.last_on, line.why, line.days) == (*week, "by the sea", 7)
    # Thursday to Thursday in two weeks: eleven working days, five of them away.
    assert times(journal).worked_between(TODAY, date(2026, 11, 26)) == 6
    journal.edit("Move", lambda s: change_away(s, away, line.version, last_on=date(2026, 11, 17)))
    assert times(journal).worked_between(TODAY, date(2026, 11, 26)) == 9
    journal.edit("Take out", lambda s: delete_away(s, away))
    assert times(journal).away == ()
    journal.undo()
    assert len(times(journal).away) == 1


def test_days_that_cannot_be_away_are_refused_and_nothing_is_kept(journal: Journal) -> None:
    with pytest.raises(UserProblem, match="before the first"):
        journal.edit("Note", lambda s: add_away(s, date(2026, 11, 22), date(2026, 11, 16)))
    with pytest.raises(UserProblem, match="two years"):
        journal.edit("Note", lambda s: add_away(s, date(2026, 11, 22), date(2036, 11, 16)))
    assert times(journal).away == ()


def test_one_day_away_needs_no_last_day(journal: Journal) -> None:
    journal.edit("Note", lambda s: add_away(s, date(2026, 11, 20)))
    (line,) = times(journal).away
    assert line.days == 1
    # A promise made in October ends on its own day though the clocks went back in between.
    assert not times(journal).is_worked(date(2026, 11, 20))
