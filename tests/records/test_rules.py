"""What must never be is refused by the database itself, whoever writes."""

from datetime import date

import pytest
from sqlalchemy import text
from sqlalchemy.exc import IntegrityError

from studiolog.journal.clays import ClayDraft, add_clay
from studiolog.journal.glazes import GlazeDraft, add_glaze
from studiolog.journal.opening import Journal
from studiolog.journal.pieces import PieceDraft, log_piece

NEVER = {
    "a layer without a zone": (
        "INSERT INTO layer (piece_id, zone, position, glaze_id, note, version)"
        " VALUES (1, ' ', 1, 1, '', 1)"
    ),
    "a layer of no glaze": (
        "INSERT INTO layer (piece_id, zone, position, glaze_id, note, version)"
        " VALUES (1, 'rim', 1, 99, '', 1)"
    ),
    "a negative weight": (
        "INSERT INTO measurement (piece_id, stage, mass_g, version) VALUES (1, 'wet', -5, 1)"
    ),
    "a stage that is a step": "UPDATE piece SET stage = 'trimmed'",
    "a piece neither numbered nor of a run": "UPDATE piece SET number = NULL",
    "a reading past 180°": (
        "INSERT INTO cone_reading (pack_id, cone, bend_low_deg, bend_high_deg, said, version)"
        " VALUES (1, '6', 170, 190, '', 1)"
    ),
    "a severity of 4": (
        "INSERT INTO fault_reading (inspection_id, fault, severity, zone, note, version)"
        " VALUES (1, 'crazing', 4, '', '', 1)"
    ),
    "a picture of nothing": (
        "INSERT INTO picture (photo_id, moment, caption, position, version)"
        " VALUES (1, 'fired', '', 0, 1)"
    ),
    "a program hotter than any kiln": (
        "INSERT INTO program_segment (program_id, position, target_c, hold_min, version)"
        " VALUES (1, 1, 2200, 0, 1)"
    ),
}


@pytest.mark.parametrize("rule", NEVER)
def test_what_must_never_be_is_refused(journal: Journal, rule: str) -> None:
    def enter(session: object) -> None:
        add_clay(session, ClayDraft(name="Buff"))
        add_glaze(session, GlazeDraft(name="Kelp"))
        log_piece(session, PieceDraft(made_on=date(2026, 9, 11)))

    journal.edit("Set up", enter)
    cause = "FOREIGN KEY" if rule == "a layer of no glaze" else "CHECK"
    with journal.engine.connect() as connection, pytest.raises(IntegrityError, match=cause):
        connection.execute(text(NEVER[rule]))
