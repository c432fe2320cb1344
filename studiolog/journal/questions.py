"""Questions kept under a name, as the sentences they are."""

from dataclasses import dataclass

from sqlalchemy import func, select
from sqlalchemy.orm import Session

from studiolog.journal.finding import read_names
from studiolog.journal.letters import reads_as
from studiolog.journal.question import Question, sentence
from studiolog.journal.writing import add, change, clean_name, get, remove
from studiolog.problems import UserProblem
from studiolog.records.studio import KeptQuestion


@dataclass(frozen=True)
class KeptLine:
    """A kept question in a menu."""

    question_id: int
    version: int
    name: str
    sentence: str


def keep_question(session: Session, name: str, question: Question) -> int:
    """Keep a question under a name; a question of that name is replaced. Returns its id."""
    called = clean_name(name, noun="name of the question")
    said = sentence(question, read_names(session))
    taken = _id_of(session, called)
    if taken is not None:
        change(session, KeptQuestion, taken, sentence=said)
        return taken
    return add(session, KeptQuestion(name=called, sentence=said))


def rename_question(
    session: Session, question_id: int, name: str, version: int | None = None
) -> None:
    """Give a kept question another name; one that another has is refused."""
    called = clean_name(name, noun="name of the question")
    if _id_of(session, called) not in (None, question_id):
        told = f"There is a question “{called}” already."
        raise UserProblem(told, {"name": told})
    change(session, KeptQuestion, question_id, version, name=called)


def delete_question(session: Session, question_id: int) -> None:
    """Forget a kept question."""
    remove(session, get(session, KeptQuestion, question_id))


def read_kept_questions(session: Session) -> tuple[KeptLine, ...]:
    """All kept questions by name."""
    rows = session.scalars(select(KeptQuestion).order_by(func.lower(KeptQuestion.name)))
    return tuple(KeptLine(row.id, row.version, row.name, row.sentence) for row in rows)


def _id_of(session: Session, name: str) -> int | None:
    return session.scalar(select(KeptQuestion.id).where(reads_as(KeptQuestion.name, name)))
