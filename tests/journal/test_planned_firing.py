"""What is known of a firing before the kiln is lit: the program, the kiln, and what it used."""

from datetime import datetime

import pytest

from studiolog.journal.firings import FiringDraft, change_firing, log_firing
from studiolog.journal.kilns import KilnDraft, add_kiln
from studiolog.journal.opening import Journal
from studiolog.journal.planned_firing import (
    read_planned_firing,
    read_planned_program,
)
from studiolog.journal.program_kilns import list_kilns_of_program
from studiolog.journal.session import Session
from studiolog.journal.studio import name_studio
from studiolog.problems import UserProblem
from tests.small_studio import SmallStudio, fill_studio


@pytest.fixture
def studio(journal: Journal) -> SmallStudio:
    filled = fill_studio(journal)
    journal.edit("Name", lambda session: name_studio(session, "Tern Yard"))
    return filled


def test_a_program_is_planned_for_the_kiln_it_was_fired_in(
    journal: Journal, studio: SmallStudio
) -> None:
    test_kiln = journal.edit(
        "Add", lambda session: add_kiln(session, KilnDraft(name="Test kiln"))
    ).value
    kilns = journal.read(lambda session: list_kilns_of_program(session, studio.glaze_six))
    assert kilns == ((studio.kiln, "Big kiln"), (test_kiln, "Test kiln"))
    planned = journal.read(
        lambda session: read_planned_program(session, studio.glaze_six, studio.kiln)
    )
    assert (planned.studio, planned.kiln, planned.heading) == (
        "Tern Yard", "Big kiln", "Cone 6 slow cool",
    )  # fmt: skip
    assert planned.levels == ("top", "middle", "bottom")
    assert len(planned.segments) == 6
    assert planned.number is None
    # Four firings by the meter: 61.5, 62.5, 63.5 and 64.5 kWh.
    assert planned.expected is not None
    assert (planned.expected.firings, planned.expected.energy.kwh) == (4, 63.0)
    # No firing there and no power known: nothing tells it.
    elsewhere = journal.read(
        lambda session: read_planned_program(session, studio.glaze_six, test_kiln)
    )
    assert elsewhere.expected is None
    nowhere = journal.read(lambda session: read_planned_program(session, studio.glaze_six))
    assert (nowhere.kiln, nowhere.levels, nowhere.expected) == ("", (), None)


def test_a_firing_is_planned_as_it_was_set_and_told_what_the_last_one_said(
    journal: Journal, studio: SmallStudio
) -> None:
    def enter(session: Session) -> int:
        change_firing(session, studio.firings[-1], next_time="Hold five minutes longer.")
        draft = FiringDraft(
            kiln_id=studio.kiln,
            program_id=studio.glaze_six,
            started_at=datetime(2026, 11, 20, 7),
            title="Bowls for the quay",
        )
        firing = log_firing(session, draft)
        # What this one teaches is for the next.
        change_firing(session, firing, next_time="Not yet.", meter_before_kwh=12345.6)
        return firing

    firing = journal.edit("Enter", enter).value
    planned = journal.read(lambda session: read_planned_firing(session, firing))
    assert (planned.number, planned.heading) == (5, "Bowls for the quay")
    assert planned.next_time == "Hold five minutes longer."
    assert planned.next_time_from == 4
    assert planned.meter_before_kwh == 12345.6
    assert planned.expected is not None
    assert planned.expected.firings == 4


def test_what_was_never_metered_is_estimated(journal: Journal, studio: SmallStudio) -> None:
    planned = journal.read(
        lambda session: read_planned_program(session, studio.bisque, studio.kiln)
    )
    assert planned.expected is not None
    # 8 kW x 9.1 h x 0.5, the usual share of a bisque (common practice): 1 h 40 min to 120 °C at
    # 60, 4 h 22 min to 600 °C at 110, 3 h 4 min to 1060 °C at 150 °C/h.
    hours = 100 / 60 + 480 / 110 + 460 / 150
    assert planned.expected.energy.kwh == pytest.approx(8 * hours * 0.5)
    assert planned.expected.energy.basis == "estimate"


def test_a_program_that_is_gone_is_told(journal: Journal, studio: SmallStudio) -> None:
    with pytest.raises(UserProblem, match="no longer in the journal"):
        journal.read(lambda session: read_planned_program(session, 999))
    with pytest.raises(UserProblem, match="no longer in the journal"):
        journal.read(lambda session: read_planned_firing(session, 999))
