"""A potter keeps kilns: levels that keep their readings, and what each reads over the sensor."""

from datetime import date

import pytest

from studiolog.craft.firing.calibration import offset_of_reading
from studiolog.journal.kiln_page import KilnPage, read_kiln_page
from studiolog.journal.kilns import (
    KilnDraft,
    add_kiln,
    change_kiln,
    delete_kiln,
    rename_level,
    set_levels,
)
from studiolog.journal.opening import Journal
from studiolog.problems import StillUsed, UserProblem
from tests.small_studio import SmallStudio, fill_studio


@pytest.fixture
def studio(journal: Journal) -> SmallStudio:
    return fill_studio(journal)


def page_of(journal: Journal, kiln_id: int) -> KilnPage:
    page = journal.read(lambda session: read_kiln_page(session, kiln_id))
    assert page is not None
    return page


def levels_of(studio: SmallStudio) -> list[tuple[int, str, int]]:
    page = page_of(studio.journal, studio.kiln)
    return [(level.level_id, level.name, level.pieces) for level in page.levels]


def test_each_level_tells_what_its_cones_read_over_the_sensor(studio: SmallStudio) -> None:
    top, middle, bottom = page_of(studio.journal, studio.kiln).levels
    assert [level.readings for level in (top, middle, bottom)] == [4, 4, 4]
    assert all(level.calibrated for level in (top, middle, bottom))
    assert top.offset_c is not None
    assert middle.offset_c is not None
    assert bottom.offset_c is not None
    assert top.offset_c > middle.offset_c > bottom.offset_c, "the top cones bent furthest"
    # The sensor's curves came to 6.2, every top pack to within a degree of cone 6 down.
    assert top.offset_c == pytest.approx(offset_of_reading(6.0, 6.2), abs=2)


def test_readings_before_new_elements_no_longer_count(studio: SmallStudio) -> None:
    studio.journal.edit(
        "New elements",
        lambda session: change_kiln(session, studio.kiln, calibrated_from=date(2026, 9, 20)),
    )
    top = page_of(studio.journal, studio.kiln).levels[0]
    assert top.readings == 1, "only the firing of 24 September is left"
    assert not top.calibrated


def test_a_renamed_level_keeps_what_stood_there(studio: SmallStudio) -> None:
    before = levels_of(studio)
    studio.journal.edit("Rename", lambda session: rename_level(session, studio.levels[1], "waist"))
    assert levels_of(studio)[1] == (before[1][0], "waist", before[1][2])
    with pytest.raises(UserProblem, match="level named TOP in this kiln already"):
        studio.journal.edit(
            "Rename", lambda session: rename_level(session, studio.levels[1], " TOP ")
        )


def test_naming_all_levels_anew_renames_and_reorders_without_losing_readings(
    studio: SmallStudio,
) -> None:
    top, middle, bottom = studio.levels
    studio.journal.edit(
        "Levels", lambda session: set_levels(session, studio.kiln, ["top", "waist", "bottom"])
    )
    assert [line[:2] for line in levels_of(studio)] == [
        (top, "top"),
        (middle, "waist"),
        (bottom, "bottom"),
    ]
    studio.journal.edit(
        "Levels", lambda session: set_levels(session, studio.kiln, ["bottom", "top", "waist"])
    )
    assert [line[0] for line in levels_of(studio)] == [bottom, top, middle]
    studio.journal.undo()
    assert [line[0] for line in levels_of(studio)] == [top, middle, bottom]


def test_a_level_where_ware_stood_is_not_dropped(studio: SmallStudio) -> None:
    with pytest.raises(StillUsed, match=r"8 pieces stood there and 4 cone packs were read there"):
        studio.journal.edit(
            "Levels", lambda session: set_levels(session, studio.kiln, ["top", "middle"])
        )
    studio.journal.edit(
        "Levels",
        lambda session: set_levels(session, studio.kiln, ["top", "middle", "bottom", "floor"]),
    )
    studio.journal.edit(
        "Levels", lambda session: set_levels(session, studio.kiln, ["top", "middle", "bottom"])
    )
    assert len(levels_of(studio)) == 3, "an unused level goes"
    for names in ([], ["top", "Top"]):
        with pytest.raises(UserProblem):
            studio.journal.edit(
                "Levels", lambda session, n=names: set_levels(session, studio.kiln, n)
            )


def test_the_page_lists_firings_newest_first_with_their_energy(studio: SmallStudio) -> None:
    page = page_of(studio.journal, studio.kiln)
    assert [firing.number for firing in page.uses.firings] == [4, 3, 2, 1]
    newest = page.uses.firings[0]
    assert (newest.peak_c, newest.got_basis, newest.cone) == (1208, "read", "6")
    assert newest.got_cone is not None
    assert 5.6 < newest.got_cone < 6.1, "what the cones of its three levels say, not the sensor"
    (glaze,) = page.energy.kinds
    assert (glaze.kwh, dict(glaze.by_basis)) == (63.0, {"meter": 4})
    assert page.energy.kwh == 61.5 + 62.5 + 63.5 + 64.5


def test_faults_are_told_level_by_level(studio: SmallStudio) -> None:
    page = page_of(studio.journal, studio.kiln)
    by_level = {level.name: level.group.rate_of("crazing") for level in page.levels}
    # Cups 3, 9, 15 and 21 crazed; counted from 0 and dealt round, all stood at the top.
    assert {name: (rate.seen, rate.inspected) for name, rate in by_level.items()} == {
        "top": (4, 8),
        "middle": (0, 7),
        "bottom": (0, 7),
    }


def test_a_fired_kiln_is_not_deleted_a_new_one_is(studio: SmallStudio) -> None:
    with pytest.raises(StillUsed, match="it was fired 4 times"):
        studio.journal.edit("Delete", lambda session: delete_kiln(session, studio.kiln))
    small = studio.journal.edit(
        "Add", lambda session: add_kiln(session, KilnDraft(name="Test kiln", levels=("shelf",)))
    ).value
    page = page_of(studio.journal, small)
    assert page.levels[0].offset_c is None, "never read: no offset, not nought"
    studio.journal.edit("Delete", lambda session: delete_kiln(session, small))
    assert studio.journal.read(lambda session: read_kiln_page(session, small)) is None
