"""What was learned in a span: lessons, next times, tests and what they told, questions."""

from collections.abc import Iterator
from dataclasses import dataclass, replace
from datetime import date, datetime, time, timedelta
from typing import Any

from sqlalchemy import func, select
from sqlalchemy.orm import Session

from studiolog.craft.spans import Span
from studiolog.craft.words import FIRING_KINDS
from studiolog.journal.customer_names import CustomerNames
from studiolog.journal.questions import read_kept_questions
from studiolog.records.firings import Firing
from studiolog.records.forms import Form
from studiolog.records.ideas import Idea
from studiolog.records.inspections import Inspection
from studiolog.records.pieces import Piece, Run, StageChange
from studiolog.records.plans import PlanTile, TestPlan


@dataclass(frozen=True)
class Note:
    """A lesson or a next time: of what, on which day. ``key`` is its own.

    Said of several in the same words it is one note: of the first, and of so many ``others``.
    """

    key: str
    kind: str  # "lesson", "next time"
    noun: str  # "piece", "run", "firing", "plan"
    noun_id: int
    where: str
    text: str
    on: date
    others: int = 0

    @property
    def of_what(self) -> str:
        """``Piece 50, Test tile, and 3 others``."""
        if not self.others:
            return self.where
        return f"{self.where}, and {self.others} other{'' if self.others == 1 else 's'}"


@dataclass(frozen=True)
class AskedQuestion:
    """A question that is open, or was settled in the span; then ``answer`` says how."""

    key: str
    title: str
    text: str
    asked_on: date | None
    open: bool
    answer: str = ""


@dataclass(frozen=True)
class TestedPlan:
    """A test plan of the span, how many of its tiles were looked at, and what it told."""

    __test__ = False  # a plan of tests, not a test of pytest's

    key: str
    plan_id: int
    code: str
    name: str
    question: str
    tiles: int
    looked_at: int
    lesson: str


def read_lessons(session: Session, span: Span, names: CustomerNames) -> tuple[Note, ...]:
    """Lessons and next times in order of their day: a piece's on that of its firing."""
    notes = [*_of_pieces(session, span), *_of_runs(session, span), *_of_firings(session, span),
             *_of_plans(session, span)]  # fmt: skip
    notes.sort(key=lambda note: (note.on, note.noun, note.noun_id, note.kind))
    alike: dict[tuple[str, str], list[Note]] = {}
    for note in notes:
        alike.setdefault((note.kind, note.text.casefold()), []).append(note)
    kept = []
    for first, *others in alike.values():
        text = names.without(first.text)
        if text:
            where = names.masked(first.where)
            kept.append(replace(first, text=text, where=where, others=len(others)))
    return tuple(kept)


def _said(row: Any, noun: str, where: str, on: date) -> Iterator[Note]:
    for kind, text in (("lesson", row.lesson), ("next time", row.next_time)):
        if text.strip():
            yield Note(f"{noun} {row.id} {kind}", kind, noun, row.id, where, text.strip(), on)


def _of_pieces(session: Session, span: Span) -> Iterator[Note]:
    fired = (
        select(StageChange.piece_id, func.max(StageChange.at).label("at"))
        .where(StageChange.stage == "fired")
        .group_by(StageChange.piece_id)
        .subquery()
    )
    rows = session.execute(
        select(Piece.id, Piece.number, Piece.title, Piece.lesson, Piece.next_time, Form.name,
               fired.c.at, func.coalesce(Piece.made_on, Run.made_on).label("made_on"))
        .outerjoin(Form, Form.id == Piece.form_id)
        .outerjoin(Run, Run.id == Piece.run_id)
        .outerjoin(fired, fired.c.piece_id == Piece.id)
        .where((func.length(Piece.lesson) > 0) | (func.length(Piece.next_time) > 0))
    )  # fmt: skip
    for row in rows:
        on = row.at.date() if row.at is not None else row.made_on
        if on is not None and span.first_on <= on <= span.last_on:
            name = row.title or row.name or ""
            number = f"Piece {row.number}" if row.number is not None else "A counted piece"
            yield from _said(row, "piece", f"{number}, {name}" if name else number, on)


def _of_runs(session: Session, span: Span) -> Iterator[Note]:
    rows = session.execute(
        select(Run.id, Run.number, Run.title, Run.next_time, Run.made_on, Form.name)
        .outerjoin(Form, Form.id == Run.form_id)
        .where(Run.made_on >= span.first_on, Run.made_on <= span.last_on)
    )
    for row in rows:
        if row.next_time.strip():
            name = row.title or row.name or ""
            where = f"Run {row.number}, {name}" if name else f"Run {row.number}"
            yield Note(
                f"run {row.id} next time", "next time", "run", row.id, where,
                row.next_time.strip(), row.made_on,
            )  # fmt: skip


def _of_firings(session: Session, span: Span) -> Iterator[Note]:
    since = datetime.combine(span.first_on, time())
    until = datetime.combine(span.last_on + timedelta(days=1), time())
    rows = session.execute(
        select(Firing.id, Firing.number, Firing.kind, Firing.cone, Firing.started_at,
               Firing.lesson, Firing.next_time)
        .where(Firing.started_at >= since, Firing.started_at < until)
    )  # fmt: skip
    for row in rows:
        kind = FIRING_KINDS.get(row.kind, row.kind)
        where = f"Firing {row.number}, {kind}" + (f" cone {row.cone}" if row.cone else "")
        yield from _said(row, "firing", where, row.started_at.date())


def _of_plans(session: Session, span: Span) -> Iterator[Note]:
    rows = session.execute(
        select(TestPlan.id, TestPlan.code, TestPlan.name, TestPlan.next_time, TestPlan.made_on)
        .where(TestPlan.made_on >= span.first_on, TestPlan.made_on <= span.last_on)
    )  # fmt: skip
    for row in rows:
        # Its lesson stands with the tests, as what they told.
        if row.next_time.strip():
            yield Note(
                f"plan {row.id} next time", "next time", "plan", row.id,
                f"Test plan {row.code}, {row.name}", row.next_time.strip(), row.made_on,
            )  # fmt: skip


def read_open_questions(
    session: Session, span: Span, names: CustomerNames
) -> tuple[AskedQuestion, ...]:
    """Questions open at the end of the span, or settled in it; then those kept for the findings."""
    rows = session.scalars(
        select(Idea)
        .where(Idea.kind == "question", Idea.noted_on <= span.last_on)
        .order_by(Idea.noted_on, Idea.id)
    )
    found = []
    for idea in rows:
        settled = idea.settled_on if idea.state != "open" else None
        if settled is not None and settled < span.first_on:
            continue
        is_open = idea.state == "open" or (settled is not None and settled > span.last_on)
        title = names.without(idea.title)
        if not title:
            continue
        answer = "" if is_open else names.without(idea.outcome)
        found.append(
            AskedQuestion(
                f"question {idea.id}",
                title,
                names.without(idea.text),
                idea.noted_on,
                is_open,
                answer,
            )
        )
    for kept in read_kept_questions(session):
        title = names.without(kept.name)
        if title:
            text = names.without(kept.sentence)
            found.append(AskedQuestion(f"kept {kept.question_id}", title, text, None, True))
    return tuple(found)


def read_tests(session: Session, span: Span, names: CustomerNames) -> tuple[TestedPlan, ...]:
    """Test plans begun in the span, with what they told."""
    looked = select(Inspection.piece_id).distinct()
    rows = session.execute(
        select(
            TestPlan.id,
            TestPlan.code,
            TestPlan.name,
            TestPlan.question,
            TestPlan.lesson,
            func.count(PlanTile.id).label("tiles"),
            func.count(PlanTile.id).filter(PlanTile.piece_id.in_(looked)).label("looked_at"),
        )
        .outerjoin(PlanTile, PlanTile.plan_id == TestPlan.id)
        .where(TestPlan.made_on >= span.first_on, TestPlan.made_on <= span.last_on)
        .group_by(TestPlan.id, TestPlan.code, TestPlan.name, TestPlan.question, TestPlan.lesson)
        .order_by(TestPlan.id)
    ).all()
    return tuple(
        TestedPlan(
            f"plan {row.id}",
            row.id,
            row.code,
            names.masked(row.name),
            names.without(row.question),
            row.tiles,
            row.looked_at,
            names.without(row.lesson),
        )
        for row in rows
    )
