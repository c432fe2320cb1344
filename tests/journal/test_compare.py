"""Which firings a potter finds beside each other: by program, by kiln and cone, the last ones."""

from datetime import date, datetime, timedelta

import pytest

from studiolog.journal.compare import Comparing, compare_choices, read_comparison
from studiolog.journal.firing_log import log_from_typed
from studiolog.journal.firings import FiringDraft, PackDraft, delete_firing, log_firing
from studiolog.journal.kilns import KilnDraft, add_kiln
from studiolog.journal.level_heat import WHOLE_KILN
from studiolog.journal.opening import Journal
from studiolog.journal.programs import ProgramDraft, add_program
from studiolog.journal.session import Session
from studiolog.problems import UserProblem
from studiolog.transfer.curve_blob import unpack_readings
from tests.journal.conftest import Studio
from tests.journal.test_facts import fire, flat, heat_of, logged_firing

READINGS = [(0.0, 20.0), (8 * 3600.0, 1220.0), (20 * 3600.0, 90.0)]


@pytest.fixture
def ids(journal: Journal) -> dict[str, int]:
    """Three firings of a program (the last not logged yet), one of another kiln, one bisque."""

    def enter(session: Session) -> dict[str, int]:
        big, small = (add_kiln(session, KilnDraft(name=name)) for name in ("Big", "Small"))
        program = add_program(session, ProgramDraft(name="Slow 6", cone="6"))
        day = datetime(2026, 3, 2, 7)

        def fire(kiln: int, week: int, logged: bool = True, **more: object) -> int:
            given: dict[str, object] = {"program_id": program, "cone": "6", **more}
            log = log_from_typed([(0.0, 20.0 + week), *READINGS[1:]]) if logged else None
            started = day + timedelta(days=7 * week)
            draft = FiringDraft(kiln_id=kiln, started_at=started, log=log, **given)  # type: ignore[arg-type]
            return log_firing(session, draft)

        return {
            "big": big,
            "program": program,
            "first": fire(big, 0),
            "second": fire(big, 1),
            "small": fire(small, 2),
            "bisque": fire(big, 3, kind="bisque", cone="04", program_id=None),
            "planned": fire(big, 4, logged=False),
        }

    return journal.edit("Fire", enter).value


def compared(journal: Journal, asked: Comparing) -> list[int]:
    return [one.firing_id for one in journal.read(lambda s: read_comparison(s, asked)).firings]


def test_a_firing_is_found_beside_those_like_it(journal: Journal, ids: dict[str, int]) -> None:
    of_program = [ids[name] for name in ("planned", "small", "second", "first")]
    asked = dict(compare_choices(ids["first"], ids["program"], "6"))
    assert compared(journal, asked["All of the same program"]) == of_program
    assert compared(journal, asked["The same kiln and cone"]) == [
        ids[name] for name in ("planned", "second", "first")
    ]
    assert compared(journal, Comparing("last", ids["second"])) == [ids["second"], ids["first"]]
    assert compared(journal, Comparing("program", ids["program"])) == of_program
    assert ids["bisque"] in compared(journal, Comparing("kiln", ids["big"]))
    assert list(dict(compare_choices(9, None, None))) == [
        "The same kiln and kind",
        "The last 10 of its kiln",
    ]


def test_curves_come_as_they_are_kept_and_the_newest_stands_out(
    journal: Journal, ids: dict[str, int]
) -> None:
    asked = Comparing("firings", ids=(ids["first"], ids["planned"], ids["second"]))
    page = journal.read(lambda s: read_comparison(s, asked))
    planned, second, first = page.firings
    assert planned.packed is None
    assert first.packed is not None
    assert first.typed
    assert unpack_readings(first.packed)[1].tolist() == [20.0, 1220.0, 90.0]
    assert page.chosen == second.firing_id
    assert second.cone is not None
    other = Comparing("firings", ids=asked.ids, chosen=ids["first"])
    assert journal.read(lambda s: read_comparison(s, other)).chosen == ids["first"]


def test_comparing_with_a_firing_that_is_gone_is_told(
    journal: Journal, ids: dict[str, int]
) -> None:
    journal.edit("Delete", lambda s: delete_firing(s, firing_id=ids["planned"]))
    with pytest.raises(UserProblem):
        journal.read(lambda s: read_comparison(s, Comparing("same program", ids["planned"])))


def test_firings_are_compared_by_the_cone_their_ware_got(studio: Studio) -> None:
    """The top reads a cone over the sensor: a later firing is told corrected, as in the lists."""
    levels = (studio.top, studio.middle, studio.bottom)
    read = tuple(PackDraft(level_id=level, cones=flat("7")) for level in levels)
    for day in (2, 3, 4):
        fire(studio, date(2026, 3, day), logged_firing(studio, 6.0 + day / 100, read))
    later = fire(studio, date(2026, 3, 9), logged_firing(studio, 6.1))
    asked = Comparing("kiln", studio.kiln)
    compared = studio.journal.read(lambda s: read_comparison(s, asked)).firings
    by_id = {one.firing_id: one.cone for one in compared}
    told = by_id[later]
    assert told is not None
    assert told == pytest.approx(heat_of(studio.journal, later)[WHOLE_KILN][0], abs=0.05)
    assert told > 6.7
