"""Limits as a studio sets them: kept, undone, and put back as shipped."""

from datetime import datetime

import pytest

from studiolog.craft.firing.cones import temperature_of
from studiolog.journal.firing_log import log_from_reading
from studiolog.journal.firing_page import read_firing_page
from studiolog.journal.firings import FiringDraft, log_firing
from studiolog.journal.limits import read_limits, set_limit
from studiolog.journal.opening import Journal
from studiolog.problems import UserProblem
from studiolog.transfer.temperature_log import read_temperature_log
from tests.journal.conftest import Studio


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


def test_the_interval_of_a_sensor_is_told_by_the_sigma_that_holds_now(studio: Studio) -> None:
    """Whether a limit is set before a log comes in or after it."""

    def log(peak_c: float) -> int:
        rows = [f"{at * 60},{20 + (peak_c - 20) * at / 600:.2f}" for at in range(601)]
        content = "\n".join(["seconds,temperature °C", *rows]).encode()
        reading = read_temperature_log(content, f"{peak_c}.csv")
        came = log_from_reading(reading, content, limits=studio.journal.read(read_limits))
        draft = FiringDraft(kiln_id=studio.kiln, started_at=datetime(2026, 8, 1), log=came)
        return studio.journal.edit("Fire", lambda s: log_firing(s, draft)).value

    def width_c(firing: int) -> float:
        page = studio.journal.read(lambda s: read_firing_page(s, firing))
        heat = page.levels[0].heat
        assert heat is not None
        assert page.facts is not None
        assert page.facts.estimate is not None
        low, high = (temperature_of(ordinal, 60.0) for ordinal in (heat.low, heat.high))
        assert page.facts.estimate.low == pytest.approx(heat.low, abs=0.05)
        return high - low

    before = log(1222.0)
    assert width_c(before) == pytest.approx(24, abs=2)
    studio.journal.edit("Set", lambda s: set_limit(s, "sigma_bare_c", 24.0))
    assert width_c(before) == pytest.approx(48, abs=3)
    assert width_c(log(1223.0)) == pytest.approx(48, abs=3)
