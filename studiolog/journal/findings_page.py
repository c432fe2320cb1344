"""What the findings page shows, read at once: the answer, the matrix, one cell's evidence."""

from dataclasses import dataclass

from sqlalchemy import func, select
from sqlalchemy.orm import Session

from studiolog.craft.words import FAULTS
from studiolog.journal.finding import (
    Answer,
    Blocker,
    Hit,
    find_blocker,
    read_answer,
    read_names,
)
from studiolog.journal.finding_scope import severity_in_facts
from studiolog.journal.matrix import (
    Columns,
    Matrix,
    MatrixColumn,
    MatrixRow,
    cell_pieces,
    read_matrix,
)
from studiolog.journal.question import Names, Question
from studiolog.journal.questions import KeptLine, read_kept_questions
from studiolog.journal.remarks import NextTest, Remark, plan_next_test, read_remarks
from studiolog.journal.tables import table
from studiolog.records.facts import piece_fact


@dataclass(frozen=True)
class FindingsPage:
    """A question with its answer. ``blocker`` names the token to drop if nothing can meet it."""

    question: Question
    names: Names
    answer: Answer
    matrix: Matrix
    kept: tuple[KeptLine, ...]
    blocker: Blocker | None
    pieces_in_journal: int

    @property
    def met_by_none(self) -> bool:
        """There are pieces, but none that the question could be about."""
        return bool(self.pieces_in_journal) and not (self.answer.hits or self.answer.left_out)


@dataclass(frozen=True)
class CellPage:
    """The evidence of one cell. ``hits`` are inspected; ``not_looked`` those nobody inspected."""

    row: MatrixRow
    column: MatrixColumn
    hits: tuple[Hit, ...]
    not_looked: tuple[Hit, ...]
    test: NextTest
    remarks: tuple[Remark, ...]

    @property
    def all_hits(self) -> tuple[Hit, ...]:
        return (*self.hits, *self.not_looked)


def usual_question(session: Session) -> Question:
    """What a potter most likely wants to know: the fault seen on most pieces."""
    counts = [
        func.count().filter(severity_in_facts(piece_fact, fault) > 0).label(fault)
        for fault in FAULTS
    ]
    row = session.execute(select(*counts).select_from(piece_fact)).one()
    most = max(range(len(FAULTS)), key=lambda place: row[place])
    return Question(fault=list(FAULTS)[most])


def read_findings_page(
    session: Session, question: Question, columns: Columns = "clay"
) -> FindingsPage:
    """Everything of the page but the evidence of the chosen cell."""
    names = read_names(session)
    answer = read_answer(session, question)
    asked = answer.asked  # with the glazes a formula comes to, so that they are found once
    nothing = not (answer.hits or answer.left_out)
    pieces = session.scalar(select(func.count()).select_from(table("piece"))) or 0
    return FindingsPage(
        question,
        names,
        answer,
        read_matrix(session, asked, columns=columns),
        read_kept_questions(session),
        find_blocker(session, asked, names) if nothing and pieces else None,
        pieces,
    )


def read_cell_page(
    session: Session, question: Question, matrix: Matrix, row: int, column: int
) -> CellPage:
    """The evidence of one cell of a matrix, with what to read with care and what to test next."""
    head, cut = matrix.rows[row], matrix.columns[column]
    found = cell_pieces(session, question, head.key, matrix.by, cut.key)
    hits = tuple(hit for hit in found if hit.left_out is None)
    return CellPage(
        head,
        cut,
        hits,
        tuple(hit for hit in found if hit.left_out is not None),
        plan_next_test(matrix.cell(row, column).rate),
        read_remarks(session, question, matrix, hits, head),
    )
