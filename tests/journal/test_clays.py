"""A potter keeps clays: what was made of each, and what went wrong on it at which cone."""

import pytest

from studiolog.journal.clay_page import ClayPage, read_clay_page
from studiolog.journal.clays import ClayDraft, add_clay, change_clay, delete_clay, list_clays
from studiolog.journal.opening import Journal
from studiolog.problems import EditConflict, StillUsed, UserProblem
from tests.small_studio import SmallStudio, fill_studio


@pytest.fixture
def studio(journal: Journal) -> SmallStudio:
    return fill_studio(journal)


def page_of(journal: Journal, clay_id: int) -> ClayPage:
    page = journal.read(lambda session: read_clay_page(session, clay_id))
    assert page is not None
    return page


def test_the_page_tells_numbered_pieces_and_counted_ones_apart(studio: SmallStudio) -> None:
    uses = page_of(studio.journal, studio.buff).uses
    assert (uses.total, uses.total_numbered) == (24, 12)
    assert [piece.number for piece in uses.numbered][:3] == [23, 21, 19]
    assert uses.numbered[0].title == "Ripple tumbler"
    (run,) = uses.runs
    assert (run.pieces, run.title) == (12, "Soup bowl")


def test_faults_are_told_by_the_cone_the_piece_really_got(studio: SmallStudio) -> None:
    page = page_of(studio.journal, studio.red)
    # The witness cones stood either side of cone 6: two bands of half a cone.
    assert [band.band for band in page.bands] == [11, 12]
    crazing = [band.group.rate_of("crazing") for band in page.bands]
    assert sum(rate.seen for rate in crazing) == 4
    assert sum(rate.inspected for rate in crazing) == 11
    raw = page_of(studio.journal, studio.buff).bands[-1]
    assert raw.band is None
    assert (raw.group.pieces, raw.group.inspected) == (12, 0), "bowls that were never fired"


def test_a_clay_in_use_is_not_deleted_but_one_without_pieces_is(studio: SmallStudio) -> None:
    journal = studio.journal
    with pytest.raises(StillUsed, match=r"24 pieces and 1 runs were made of it"):
        journal.edit("Delete", lambda session: delete_clay(session, studio.buff))
    raku = journal.edit("Add", lambda session: add_clay(session, ClayDraft(name="Raku"))).value
    journal.edit("Delete", lambda session: delete_clay(session, raku))
    assert journal.read(lambda session: read_clay_page(session, raku)) is None
    journal.undo()
    assert page_of(journal, raku).name == "Raku"


def test_names_are_given_once_and_never_empty(studio: SmallStudio) -> None:
    journal = studio.journal
    for name in ("buff  stoneware", "   "):
        with pytest.raises(UserProblem) as caught:
            journal.edit("Add", lambda session, n=name: add_clay(session, ClayDraft(name=n)))
        assert "name" in caught.value.fields


def test_two_desks_cannot_overwrite_each_other_unseen(studio: SmallStudio) -> None:
    journal = studio.journal
    seen = page_of(journal, studio.buff).version
    journal.edit("A", lambda session: change_clay(session, studio.buff, seen, notes="new batch"))
    with pytest.raises(EditConflict):
        journal.edit("B", lambda session: change_clay(session, studio.buff, seen, notes="old"))
    assert page_of(journal, studio.buff).notes == "new batch"


def test_archived_clays_leave_the_list(studio: SmallStudio) -> None:
    journal = studio.journal
    journal.edit("Archive", lambda session: change_clay(session, studio.red, archived=True))
    assert [line.name for line in journal.read(list_clays)] == ["Buff stoneware"]
