"""Limits as a studio sets them: kept, undone, and put back as shipped."""

import pytest

from studiolog.journal.limits import read_limits, set_limit
from studiolog.journal.opening import Journal
from studiolog.problems import UserProblem


def test_a_limit_is_set_refused_undone_and_put_back(journal: Journal) -> None:
    journal.edit("Set a limit", lambda session: set_limit(session, "lag_c", 20.0))
    assert journal.read(read_limits)["lag_c"] == 20.0
    with pytest.raises(UserProblem, match="between 2 and 50"):
        journal.edit("Set a limit", lambda session: set_limit(session, "lag_c", 500.0))
    journal.undo()
    assert not journal.read(read_limits).is_changed("lag_c")
    journal.redo()
    journal.edit("Set a limit", lambda session: set_limit(session, "lag_c", 10.0))
    assert not journal.read(read_limits).is_changed("lag_c")
