"""A potter keeps programs: segments that firings copy, and the peaks they reached."""

import pytest

from studiolog.journal.opening import Journal
from studiolog.journal.program_page import ProgramPage, read_program_page
from studiolog.journal.programs import (
    SegmentDraft,
    change_program,
    delete_program,
    set_program_segments,
)
from studiolog.problems import StillUsed, UserProblem
from tests.small_studio import SmallStudio, fill_studio


@pytest.fixture
def studio(journal: Journal) -> SmallStudio:
    return fill_studio(journal)


def page_of(journal: Journal, program_id: int) -> ProgramPage:
    page = journal.read(lambda session: read_program_page(session, program_id))
    assert page is not None
    return page


def test_a_program_tells_its_firings_and_the_peaks_they_reached(studio: SmallStudio) -> None:
    page = page_of(studio.journal, studio.glaze_six)
    assert page.uses.total == 4
    assert page.peaks is not None
    assert (page.peaks.logged, page.peaks.lowest_c, page.peaks.highest_c) == (4, 1205, 1208)
    assert page.peaks.mean_c == pytest.approx(1206.5)
    unfired = page_of(studio.journal, studio.bisque)
    assert (unfired.uses.total, unfired.peaks, unfired.rates.pieces) == (0, None, 0)


def test_segments_keep_their_order_and_an_empty_rate(studio: SmallStudio) -> None:
    legs = (SegmentDraft(100, 600), SegmentDraft(None, 1240, 10), SegmentDraft(None, 200))
    studio.journal.edit(
        "Segments", lambda session: set_program_segments(session, studio.glaze_six, legs)
    )
    assert page_of(studio.journal, studio.glaze_six).segments == legs


def test_an_impossible_segment_is_named_and_nothing_is_changed(studio: SmallStudio) -> None:
    before = page_of(studio.journal, studio.glaze_six).segments
    for bad in (SegmentDraft(0, 600), SegmentDraft(100, 2200), SegmentDraft(100, 600, -5)):
        with pytest.raises(UserProblem, match="Segment 2"):
            studio.journal.edit(
                "Segments",
                lambda session, leg=bad: set_program_segments(
                    session, studio.glaze_six, (SegmentDraft(100, 300), leg)
                ),
            )
    assert page_of(studio.journal, studio.glaze_six).segments == before


def test_the_cone_is_kept_as_the_trade_writes_it(studio: SmallStudio) -> None:
    studio.journal.edit("Cone", lambda session: change_program(session, studio.bisque, cone="5½"))
    assert page_of(studio.journal, studio.bisque).cone == "5.5"
    with pytest.raises(UserProblem):
        studio.journal.edit(
            "Cone", lambda session: change_program(session, studio.bisque, cone="0")
        )


def test_a_program_that_was_fired_is_not_deleted(studio: SmallStudio) -> None:
    with pytest.raises(StillUsed, match="4 firings used it"):
        studio.journal.edit("Delete", lambda session: delete_program(session, studio.glaze_six))
    studio.journal.edit("Delete", lambda session: delete_program(session, studio.bisque))
    assert studio.journal.read(lambda session: read_program_page(session, studio.bisque)) is None
