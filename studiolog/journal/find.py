"""Find anything by its number or name, for the one search field of the window."""

from dataclasses import dataclass

from sqlalchemy import ColumnElement, String, cast, or_, select
from sqlalchemy.orm import Session

from studiolog.craft.words import IDEA_KINDS, IDEA_STATES, STAGES
from studiolog.journal.glazes import title_of
from studiolog.journal.letters import contains, reads_as
from studiolog.records.clays import Clay
from studiolog.records.firings import Firing
from studiolog.records.forms import Form
from studiolog.records.glazes import Glaze
from studiolog.records.ideas import Idea
from studiolog.records.kilns import Kiln
from studiolog.records.materials import Material
from studiolog.records.orders import Order, WareSet
from studiolog.records.pieces import Piece, Run
from studiolog.records.plans import TestPlan
from studiolog.records.programs import Program
from studiolog.records.values import storable


@dataclass(frozen=True)
class Found:
    """One thing that answers: its noun and id, its number if it has one, and two lines of text."""

    kind: str
    row_id: int
    number: int | None
    title: str
    quiet: str


def find_anything(session: Session, text: str, limit: int = 30) -> list[Found]:
    """What answers to ``text``: exact numbers first, then names; newest first."""
    words = storable(text).strip()
    if not words:
        return []
    found = _by_number(session, words) if words.isdecimal() and len(words) <= 10 else []
    found += _pieces(session, words, limit)
    found += _firings(session, words, limit)
    named = (
        ("clay", Clay), ("form", Form), ("kiln", Kiln), ("program", Program),
        ("material", Material),
    )  # fmt: skip
    for kind, record in named:
        query = select(record.id, record.name).where(contains(record.name, words)).limit(limit)
        found += [Found(kind, row.id, None, row.name, kind) for row in session.execute(query)]
    glazes = select(Glaze).where(contains(Glaze.name, words)).limit(limit)
    found += [
        Found("glaze", row.id, None, title_of(row.name, row.version_number), row.kind)
        for row in session.scalars(glazes)
    ]
    plans = (
        select(TestPlan.id, TestPlan.code, TestPlan.name)
        .where(or_(contains(TestPlan.name, words), reads_as(TestPlan.code, words)))
        .order_by(TestPlan.id.desc())
        .limit(limit)
    )
    found += [
        Found("plan", row.id, None, row.name, f"test plan {row.code}")
        for row in session.execute(plans)
    ]
    ideas = (
        select(Idea.id, Idea.title, Idea.kind, Idea.state)
        .where(or_(contains(Idea.title, words), contains(Idea.text, words)))
        .order_by(Idea.id.desc())
        .limit(limit)
    )
    found += [
        Found("idea", row.id, None, row.title, f"{IDEA_KINDS[row.kind]}, {IDEA_STATES[row.state]}")
        for row in session.execute(ideas)
    ]
    sets = select(WareSet).where(contains(WareSet.name, words)).limit(limit)
    found += [Found("set", row.id, None, row.name, "set") for row in session.scalars(sets)]
    orders = select(Order).where(contains(Order.whom, words)).limit(limit)
    found += [
        Found("order", row.id, row.number, row.whom, "order") for row in session.scalars(orders)
    ]
    seen: set[tuple[str, int]] = set()
    unique = []
    for one in found:
        if (one.kind, one.row_id) not in seen:
            seen.add((one.kind, one.row_id))
            unique.append(one)
    return unique[:limit]


def _piece_rows(session: Session, *where: ColumnElement[bool], limit: int) -> list[Found]:
    query = (
        select(Piece, Form.name, Clay.name)
        .outerjoin(Form, Form.id == Piece.form_id)
        .outerjoin(Clay, Clay.id == Piece.clay_id)
        .where(*where)
        .order_by(Piece.number.desc(), Piece.id.desc())
        .limit(limit)
    )
    return [
        Found(
            "piece",
            piece.id,
            piece.number,
            piece.title or form or "piece",
            ", ".join(filter(None, (clay, STAGES[piece.stage]))),
        )
        for piece, form, clay in session.execute(query)
    ]


def _by_number(session: Session, digits: str) -> list[Found]:
    number = int(digits)
    if number > 2**31 - 1:
        return []
    found = _piece_rows(session, Piece.number == number, limit=1)
    firings = select(Firing, Kiln.name).join(Kiln, Kiln.id == Firing.kiln_id)
    found += [
        _firing(firing, kiln)
        for firing, kiln in session.execute(firings.where(Firing.number == number))
    ]
    runs = select(Run, Form.name).outerjoin(Form, Form.id == Run.form_id)
    found += [
        Found("run", run.id, run.number, run.title or form or "run", "run")
        for run, form in session.execute(runs.where(Run.number == number))
    ]
    orders = session.scalars(select(Order).where(Order.number == number))
    found += [Found("order", row.id, row.number, row.whom, "order") for row in orders]
    return found


def _pieces(session: Session, words: str, limit: int) -> list[Found]:
    return _piece_rows(
        session,
        Piece.number.is_not(None),
        or_(
            contains(Piece.title, words),
            contains(Form.name, words),
            cast(Piece.number, String).startswith(words[:20], autoescape=True),
        ),
        limit=limit,
    )


def _firings(session: Session, words: str, limit: int) -> list[Found]:
    query = (
        select(Firing, Kiln.name)
        .join(Kiln, Kiln.id == Firing.kiln_id)
        .where(or_(contains(Firing.title, words), contains(Firing.kind, words)))
        .order_by(Firing.number.desc())
        .limit(limit)
    )
    return [_firing(firing, kiln) for firing, kiln in session.execute(query)]


def _firing(firing: Firing, kiln: str) -> Found:
    title = (
        firing.title
        or f"{firing.kind.capitalize()}{f', cone {firing.cone}' if firing.cone else ''}"
    )
    return Found("firing", firing.id, firing.number, title, f"{kiln}, {firing.started_at:%Y-%m-%d}")
