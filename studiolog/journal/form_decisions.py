"""Trial, go or no-go: what was decided of a form, on which day and why, and the way it came."""

from dataclasses import dataclass
from datetime import date

from sqlalchemy import select
from sqlalchemy.orm import Session

from studiolog.craft.words import FORM_STANDINGS
from studiolog.journal.writing import add, change, get, remove
from studiolog.problems import UserProblem
from studiolog.records.facts import piece_fact
from studiolog.records.forms import Form, FormDecision
from studiolog.records.ideas import Idea
from studiolog.records.pieces import Piece, Run


@dataclass(frozen=True)
class StoryLine:
    """One line of how a form came about, oldest first.

    ``kind`` is "idea" (``ident`` the idea, ``words`` its title), "made" or "decision" (``ident``
    the decision, ``standing`` and ``words`` its reasons). Of "made", ``made`` pieces were begun
    between ``on`` and ``until``, of which ``lost`` were lost, ``looked`` inspected, ``faulty`` of
    those with a fault; ``runs`` are their numbers.
    """

    kind: str
    on: date
    words: str = ""
    ident: int = 0
    standing: str = ""
    until: date | None = None
    made: int = 0
    lost: int = 0
    looked: int = 0
    faulty: int = 0
    runs: tuple[int, ...] = ()


def decide_form(
    session: Session, form_id: int, standing: str, decided_on: date, reasons: str
) -> int:
    """Decide that a form is on trial, made in number, or not; returns the decision's id.

    The form stands as its latest decision says. Raises `UserProblem` without reasons.
    """
    if standing not in FORM_STANDINGS:
        raise UserProblem(f"A form is one of these: {', '.join(FORM_STANDINGS.values())}.")
    get(session, Form, form_id)
    said = reasons.strip()
    if not said:
        sentence = "Say why: the reasons are what this is kept for."
        raise UserProblem(sentence, {"reasons": sentence})
    decision_id = add(
        session,
        FormDecision(form_id=form_id, decided_on=decided_on, standing=standing, reasons=said),
    )
    _settle(session, form_id)
    return decision_id


def change_decision(
    session: Session, decision_id: int, version: int | None = None, *, reasons: str
) -> None:
    """Word the reasons of a decision anew. Raises `UserProblem` without any."""
    if not reasons.strip():
        raise UserProblem("Say why: the reasons are what this is kept for.")
    change(session, FormDecision, decision_id, version, reasons=reasons.strip())


def delete_decision(session: Session, decision_id: int) -> None:
    """Take back a decision; the form stands as the one before it said, else as it stood."""
    decision = get(session, FormDecision, decision_id)
    form_id = decision.form_id
    remove(session, decision)
    _settle(session, form_id)


def _settle(session: Session, form_id: int) -> None:
    latest = session.scalars(
        select(FormDecision.standing)
        .where(FormDecision.form_id == form_id)
        .order_by(FormDecision.decided_on.desc(), FormDecision.id.desc())
        .limit(1)
    ).first()
    if latest is not None:
        change(session, Form, form_id, standing=latest)


def read_story(session: Session, form_id: int) -> tuple[StoryLine, ...]:
    """How a form came about: its ideas, what was decided, and what was made between the two.

    Empty as long as nothing was noted or decided: a form that was simply made has no story.
    """
    lines = [
        StoryLine("idea", row.noted_on, row.title, row.id)
        for row in session.execute(
            select(Idea.id, Idea.title, Idea.noted_on).where(Idea.form_id == form_id)
        )
    ]
    decisions = session.execute(
        select(
            FormDecision.id, FormDecision.decided_on, FormDecision.standing, FormDecision.reasons
        )
        .where(FormDecision.form_id == form_id)
        .order_by(FormDecision.decided_on, FormDecision.id)
    ).all()
    if not lines and not decisions:
        return ()
    lines.sort(key=lambda line: line.on)
    made = _read_made(session, form_id)
    before = (date.min, False)
    for row in decisions:
        # What was made on the day of a go or a no-go is what it rests on; a trial begins with it.
        until = (row.decided_on, row.standing != "trial")
        lines += _tell_made(made, before, until)
        lines.append(
            StoryLine("decision", row.decided_on, row.reasons, row.id, standing=row.standing)
        )
        before = max(before, until)
    lines += _tell_made(made, before, (date.max, True))
    return tuple(lines)


@dataclass(frozen=True)
class _Made:
    on: date
    run: int | None
    lost: bool
    looked: bool
    faulty: bool


def _read_made(session: Session, form_id: int) -> list[_Made]:
    rows = session.execute(
        select(
            Piece.made_on,
            Run.made_on.label("run_on"),
            Run.number,
            Piece.stage,
            piece_fact.c.looked_mask,
            piece_fact.c.seen_mask,
        )
        .outerjoin(Run, Run.id == Piece.run_id)
        .outerjoin(piece_fact, piece_fact.c.piece_id == Piece.id)
        .where(Piece.form_id == form_id, Piece.kind == "ware")
    )
    return [
        _Made(
            row.made_on or row.run_on,
            row.number,
            row.stage == "lost",
            bool(row.looked_mask),
            bool(row.seen_mask),
        )
        for row in rows
        if row.made_on or row.run_on
    ]


def _tell_made(
    made: list[_Made], after: tuple[date, bool], until: tuple[date, bool]
) -> list[StoryLine]:
    """What was made between two days, as one line; nothing made is no line.

    Each day comes with whether what was made on it lies before it.
    """
    here = [one for one in made if after <= (one.on, False) < until]
    if not here:
        return []
    runs = sorted({one.run for one in here if one.run is not None})
    return [
        StoryLine(
            "made",
            min(one.on for one in here),
            until=max(one.on for one in here),
            made=len(here),
            lost=sum(one.lost for one in here),
            looked=sum(one.looked for one in here),
            faulty=sum(one.faulty for one in here),
            runs=tuple(runs),
        )
    ]
