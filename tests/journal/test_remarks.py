"""What a potter should keep in mind reading a rate, and how the columns by cone are cut."""

from datetime import date, datetime

import pytest

from studiolog.journal.finding import read_answer
from studiolog.journal.firings import FiringDraft, log_firing
from studiolog.journal.inspections import FaultDraft, InspectionDraft
from studiolog.journal.matrix import read_matrix
from studiolog.journal.pieces import LayerDraft, PieceDraft, PlacementDraft, log_piece
from studiolog.journal.question import Question
from studiolog.journal.remarks import read_remarks
from studiolog.journal.session import Session
from tests.journal.conftest import Studio

RAN = Question(fault="running")


def fire(studio: Studio, cone: str, day: int = 1) -> int:
    draft = FiringDraft(kiln_id=studio.kiln, started_at=datetime(2026, 3, day, 8), cone=cone)
    return studio.journal.edit("Fire", lambda s: log_firing(s, draft)).value


def log_cups(studio: Studio, firing: int, *severities: int, level: int | None = None) -> None:
    """A cup with Kelp outside for each severity of running seen on it."""

    def enter(session: Session) -> None:
        for severity in severities:
            looked = InspectionDraft(
                looked_on=date(2026, 4, 1), faults=(FaultDraft("running", severity),)
            )
            log_piece(
                session,
                PieceDraft(
                    clay_id=studio.buff,
                    stage="fired",
                    layers=(
                        LayerDraft(zone="outside", glaze_id=studio.kelp, method="dip", seconds=3),
                    ),
                    placements=(PlacementDraft(firing_id=firing, level_id=level or studio.top),),
                    inspections=(looked,),
                ),
            )

    studio.journal.edit("Log cups", enter)


def remarks(studio: Studio) -> list[str]:
    def ask(session: Session) -> list[str]:
        matrix, hits = read_matrix(session, RAN), read_answer(session, RAN).hits
        return [remark.sentence for remark in read_remarks(session, RAN, matrix, hits)]

    return studio.journal.read(ask)


@pytest.mark.parametrize(
    ("firings", "said"),
    [
        (1, ["All 6 pieces come from one firing"]),
        (2, ["All 6 pieces come from two firings"]),
        (3, []),
    ],
)
def test_many_pieces_of_one_or_two_firings_are_hardly_more_trials(
    studio: Studio, firings: int, said: list[str]
) -> None:
    for day in range(firings):
        log_cups(studio, fire(studio, "6", day + 1), *[0] * (6 // firings))
    assert [line for line in remarks(studio) if "pieces come from" in line] == said


def test_a_fault_that_gathers_at_the_cool_level_is_not_laid_to_the_hot_one(
    studio: Studio,
) -> None:
    """In `conftest` the cones at the bottom read a little under the cone 6 that was aimed at."""
    log_cups(studio, studio.firing, *[0] * 10, level=studio.top)
    log_cups(studio, studio.firing, *[2] * 10, level=studio.bottom)
    assert not [line for line in remarks(studio) if "level holds most" in line]
    log_cups(studio, studio.firing, *[2] * 90, level=studio.top)
    log_cups(studio, studio.firing, *[0] * 90, level=studio.bottom)
    assert "The top level holds most of the running" in remarks(studio)


def test_a_fault_seen_more_often_in_cooler_firings_is_said_to_gather_there(
    studio: Studio,
) -> None:
    log_cups(studio, fire(studio, "5", 1), *[2] * 9, 0)
    log_cups(studio, fire(studio, "7", 2), *[0] * 9, 2)
    assert "Running gathers below cone 7" in remarks(studio)


def test_half_cones_nobody_fired_to_stand_between_those_somebody_did(studio: Studio) -> None:
    for day, cone in enumerate(("06", "5", "8"), start=1):
        log_cups(studio, fire(studio, cone, day), 0)
    matrix = studio.journal.read(lambda s: read_matrix(s, RAN, columns="cone"))
    assert [column.title for column in matrix.columns] == [
        "cone 06 to 05½",
        "cone 5 to 5½",
        "cone 5½ to 6",
        "cone 6 to 6½",
        "cone 6½ to 7",
        "cone 7 to 7½",
        "cone 7½ to 8",
        "cone 8 to 8½",
    ]
