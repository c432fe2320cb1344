"""New elements or a new thermocouple start a new calibration; firings keep that of their time."""

from datetime import date, datetime, timedelta

import pytest
from sqlalchemy import select

from studiolog.journal.firings import FiringDraft, PackDraft, change_firing, set_pack
from studiolog.journal.inspections import FaultDraft, InspectionDraft
from studiolog.journal.kilns import change_kiln
from studiolog.journal.limits import set_limit
from studiolog.journal.piece_firings import read_piece_firings
from studiolog.journal.pieces import PieceDraft, PlacementDraft, log_piece
from studiolog.journal.rates_report import read_rates
from studiolog.journal.session import Session
from studiolog.journal.writing import add, change, get, remove
from studiolog.records.facts import level_heat
from studiolog.records.kilns import KilnTask
from tests.journal.conftest import Studio
from tests.journal.test_facts import (
    assert_facts_stand,
    cone_of,
    fire,
    flat,
    heat_of,
    logged_firing,
)


def renew(studio: Studio, on: date | None, task: str = "elements") -> int:
    row = KilnTask(kiln_id=studio.kiln, task=task, noted_on=date(2026, 1, 1), done_on=on)
    return studio.journal.edit("Renew", lambda s: add(s, row)).value


def cup_in(studio: Studio, firing: int) -> int:
    draft = PieceDraft(
        clay_id=studio.buff,
        placements=(PlacementDraft(firing_id=firing, level_id=studio.top),),
        inspections=(
            InspectionDraft(
                looked_on=date(2026, 9, 1), faults=(FaultDraft(fault="crazing", severity=1),)
            ),
        ),
    )
    return studio.journal.edit("Cup", lambda s: log_piece(s, draft)).value


@pytest.fixture
def year(studio: Studio) -> dict[str, int]:
    """The top reads a cone over the sensor in winter; from April on nobody sets cones.

    Cups of March and of June stand at the top.
    """
    read = (PackDraft(level_id=studio.top, cones=flat("7")),)
    for month, cone in ((1, 6.0), (2, 6.01), (2, 6.02)):
        fire(
            studio, date(2026, month, 3 + round(cone * 100) % 10), logged_firing(studio, cone, read)
        )
    march = fire(studio, date(2026, 3, 9), logged_firing(studio, 6.1))
    june = fire(studio, date(2026, 6, 9), logged_firing(studio, 6.2))
    return {
        "march": march,
        "june": june,
        "march cup": cup_in(studio, march),
        "june cup": cup_in(studio, june),
    }


def bands(studio: Studio) -> set[float | None]:
    """The cones under which the findings count the cups."""
    return {row.cone_low for row in studio.journal.read(read_rates)}


def test_new_elements_leave_earlier_firings_corrected_and_start_later_ones_afresh(
    studio: Studio, year: dict[str, int]
) -> None:
    warm = cone_of(studio.journal, year["march cup"])
    assert warm[:2] == (7.2, "computed"), "6.1 by the sensor, 17 °C more at the top"
    assert cone_of(studio.journal, year["june cup"])[0] == 7.4
    assert bands(studio) == {7.0}
    renew(studio, date(2026, 4, 20))
    assert cone_of(studio.journal, year["march cup"]) == warm, "it keeps the correction of its time"
    assert cone_of(studio.journal, year["june cup"])[0] == 6.2, "no cone was read since"
    assert bands(studio) == {7.0, 6.0}
    page = studio.journal.read(lambda s: read_piece_firings(s, year["june cup"]))[0]
    assert page.computed is not None
    assert page.computed.cone == pytest.approx(6.2)
    assert page.level_usually_c is None or page.level_usually_c == 0
    assert_facts_stand(studio.journal)


@pytest.mark.parametrize("task", ["thermocouple", "elements"])
def test_a_change_that_was_dated_wrong_is_put_right(
    studio: Studio, year: dict[str, int], task: str
) -> None:
    change_id = renew(studio, date(2026, 4, 20), task)
    studio.journal.edit(
        "The day", lambda s: change(s, KilnTask, change_id, done_on=date(2026, 3, 9))
    )
    assert cone_of(studio.journal, year["march cup"])[0] == 6.1, "on the day itself it is new"
    studio.journal.edit(
        "The day", lambda s: change(s, KilnTask, change_id, done_on=date(2026, 7, 1))
    )
    assert cone_of(studio.journal, year["june cup"])[0] == 7.4
    assert_facts_stand(studio.journal)
    studio.journal.undo()
    assert cone_of(studio.journal, year["march cup"])[0] == 6.1
    studio.journal.edit("No", lambda s: remove(s, get(s, KilnTask, change_id)))
    assert cone_of(studio.journal, year["march cup"])[0] == 7.2
    assert_facts_stand(studio.journal)


def test_a_washed_shelf_and_work_to_be_done_change_no_cone(
    studio: Studio, year: dict[str, int]
) -> None:
    before = cone_of(studio.journal, year["june cup"])
    renew(studio, date(2026, 4, 20), "shelf_wash")
    renew(studio, None)
    assert cone_of(studio.journal, year["june cup"]) == before


def test_readings_of_the_new_elements_correct_only_what_is_fired_with_them(
    studio: Studio, year: dict[str, int]
) -> None:
    renew(studio, date(2026, 4, 20))
    fire(
        studio,
        date(2026, 5, 2),
        logged_firing(studio, 6.03, (PackDraft(level_id=studio.top, cones=flat("5")),)),
    )
    assert heat_of(studio.journal, year["june"])[studio.top][0] == pytest.approx(5.2, abs=0.11)
    assert heat_of(studio.journal, year["march"])[studio.top][0] == 7.2
    assert_facts_stand(studio.journal)
    # A day given by hand starts one too.
    studio.journal.edit(
        "By hand", lambda s: change_kiln(s, studio.kiln, calibrated_from=date(2026, 5, 10))
    )
    assert heat_of(studio.journal, year["june"])[studio.top][0] == 6.2
    assert_facts_stand(studio.journal)


def test_a_firing_moved_across_the_change_takes_its_reading_along(
    studio: Studio, year: dict[str, int]
) -> None:
    renew(studio, date(2026, 4, 20))
    first = studio.journal.read(
        lambda s: (
            s.execute(
                select(level_heat.c.firing_id)
                .where(level_heat.c.basis == "read", level_heat.c.level_id == studio.top)
                .order_by(level_heat.c.firing_id)
            )
            .scalars()
            .first()
        )
    )
    assert first is not None
    studio.journal.edit(
        "It was in May", lambda s: change_firing(s, first, started_at=datetime(2026, 5, 1, 8))
    )
    assert heat_of(studio.journal, year["june"])[studio.top][0] > 7.0
    assert_facts_stand(studio.journal)


def test_a_changed_limit_is_counted_with_at_once(studio: Studio, year: dict[str, int]) -> None:
    """Three readings calibrate a level; to one who asks for five they do not yet."""

    def width(session: Session) -> float:
        row = session.execute(
            select(level_heat).where(
                level_heat.c.firing_id == year["june"], level_heat.c.level_id == studio.top
            )
        ).one()
        return float(row.cone_high - row.cone_low)

    narrow = studio.journal.read(width)
    studio.journal.edit("Ask more", lambda s: set_limit(s, "enough_readings", 5))
    assert studio.journal.read(width) > narrow + 0.2
    assert_facts_stand(studio.journal)


def test_a_note_on_a_firing_costs_no_derivation(studio: Studio, year: dict[str, int]) -> None:
    fire(
        studio, date(2026, 8, 1), FiringDraft(kiln_id=studio.kiln, started_at=datetime(2026, 8, 1))
    )
    with studio.journal.engine.begin() as connection:
        connection.execute(level_heat.delete())  # it would be derived anew if it were touched
    studio.journal.edit("Note", lambda s: change_firing(s, year["june"], notes="Even."))
    assert heat_of(studio.journal, year["june"]) == {}
    studio.journal.edit("Aim", lambda s: change_firing(s, year["june"], cone="7"))
    assert heat_of(studio.journal, year["june"]) != {}
    assert heat_of(studio.journal, year["march"]) == {}, "nothing before it can differ"


def test_an_old_reading_put_right_reaches_no_further_than_it_counts(studio: Studio) -> None:
    """Thirteen readings after it an old one has no say; nothing beyond is derived anew."""
    firings = []
    for week in range(20):
        packs = (PackDraft(level_id=studio.top, cones=flat("7" if week % 3 else "6")),)
        if week % 5 == 4:
            packs = ()
        on = date(2026, 1, 5) + timedelta(days=7 * week)
        firings.append(fire(studio, on, logged_firing(studio, 6 + week / 100, packs)))
    assert_facts_stand(studio.journal)
    wrong = PackDraft(level_id=studio.top, cones=flat("4"))
    studio.journal.edit("Put right", lambda s: set_pack(s, firings[0], wrong))
    assert_facts_stand(studio.journal)
    lost = firings[19]
    with studio.journal.engine.begin() as connection:
        connection.execute(level_heat.delete().where(level_heat.c.firing_id == lost))
    studio.journal.edit("And back", lambda s: set_pack(s, firings[1], wrong))
    assert heat_of(studio.journal, lost) == {}, "it was not derived anew"
    assert heat_of(studio.journal, firings[4])[studio.top][1] == "computed"
    studio.journal.edit("Renew", lambda s: change_firing(s, lost, cone="8"))
    assert_facts_stand(studio.journal)
    renew(studio, date(2026, 2, 1))
    assert_facts_stand(studio.journal)
    studio.journal.edit("Put right", lambda s: set_pack(s, firings[2], wrong))
    assert_facts_stand(studio.journal)
