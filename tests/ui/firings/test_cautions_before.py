"""A firing that is not lit yet says what to look at in its program; one that is logged does not."""

from functools import partial
from typing import Any

from studiolog.journal.firings import set_firing_segments
from studiolog.journal.programs import SegmentDraft


def test_a_firing_not_lit_yet_tells_the_warnings_of_its_program(yard: Any) -> None:
    section = yard.screen.view.program
    slip = (SegmentDraft(100, 600), SegmentDraft(100, 500), SegmentDraft(60, 1213, 10))
    for firing_id in (yard.planned, yard.logged):
        yard.desk.edits.run(
            "Slip", partial(set_firing_segments, firing_id=firing_id, segments=slip)
        )
    yard.screen.show_thing(yard.planned)
    told = {row.caution.key for row in section.cautions.rows()}
    assert told == {"dip"}, "notes that hold for every firing are not repeated here"
    yard.screen.show_thing(yard.logged)
    assert section.cautions.rows() == ()
