"""Ways of making a form, tried side by side: which runs went which way, and which one stays."""

from dataclasses import dataclass
from typing import Any

from sqlalchemy import func, select
from sqlalchemy.orm import Session

from studiolog.craft.words import WAY_STANDINGS
from studiolog.journal.letters import reads_as
from studiolog.journal.writing import add, change, clean_name, count, get, remove
from studiolog.problems import StillUsed, UserProblem
from studiolog.records.forms import Form, Way
from studiolog.records.pieces import Piece, Run


@dataclass(frozen=True)
class WayLine:
    """A way of making a form, in a list or a picker. ``standing`` is one of `WAY_STANDINGS`."""

    way_id: int
    version: int
    name: str
    standing: str
    notes: str
    runs: int
    pieces: int


def add_way(session: Session, form_id: int, name: str, notes: str = "") -> int:
    """Enter a way of making a form; returns its id. Raises `UserProblem` for a name it has."""
    form = get(session, Form, form_id)
    clean = clean_name(name, noun="name of the way")
    _refuse_taken_name(session, form, clean)
    return add(session, Way(form_id=form_id, name=clean, notes=notes))


def change_way(session: Session, way_id: int, version: int | None = None, **fields: Any) -> None:
    """Change the name or the notes of a way."""
    way = get(session, Way, way_id, version)
    if "name" in fields:
        fields["name"] = clean_name(fields["name"], noun="name of the way")
        _refuse_taken_name(session, get(session, Form, way.form_id), fields["name"], but=way_id)
    change(session, Way, way_id, version, **fields)


def judge_way(session: Session, way_id: int, standing: str, note: str | None = None) -> None:
    """Keep a way, drop it, or go on trying it. ``note`` takes the place of its notes.

    Raises `UserProblem` if it is kept or dropped and nobody said why.
    """
    if standing not in WAY_STANDINGS:
        raise UserProblem(f"A way is one of these: {', '.join(WAY_STANDINGS.values())}.")
    way = get(session, Way, way_id)
    notes = way.notes if note is None else note.strip()
    if standing != "trying" and not notes.strip():
        raise UserProblem(f"Say why before you {standing} “{way.name}”: a year on, it is asked.")
    change(session, Way, way_id, standing=standing, notes=notes)


def delete_way(session: Session, way_id: int) -> None:
    """Delete a way no run went. Raises `StillUsed` naming how many did."""
    way = get(session, Way, way_id)
    runs = count(session, Run, Run.way_id == way_id)
    if runs:
        noun = "run was" if runs == 1 else "runs were"
        raise StillUsed(
            f"“{way.name}” can't be deleted: {runs} {noun} made this way. Drop it instead."
        )
    remove(session, way)


def set_way(session: Session, run_id: int, way_id: int | None) -> None:
    """Say which way a run was made; None takes it back.

    Raises `UserProblem` for a way of another form.
    """
    run = get(session, Run, run_id)
    if way_id is not None:
        way = get(session, Way, way_id)
        if way.form_id != run.form_id:
            form = get(session, Form, way.form_id)
            raise UserProblem(
                f"“{way.name}” is a way of making {form.name}; run {run.number} is of another form."
            )
    change(session, Run, run_id, way_id=way_id)


def list_ways(session: Session, form_id: int) -> tuple[WayLine, ...]:
    """The ways of making a form: those being tried and kept first, dropped ones last."""
    runs = select(Run.way_id, func.count().label("runs")).group_by(Run.way_id).subquery()
    made = (
        select(Run.way_id, func.count().label("pieces"))
        .join(Piece, Piece.run_id == Run.id)
        .group_by(Run.way_id)
        .subquery()
    )
    rows = session.execute(
        select(
            Way.id,
            Way.version,
            Way.name,
            Way.standing,
            Way.notes,
            func.coalesce(runs.c.runs, 0),
            func.coalesce(made.c.pieces, 0),
        )
        .outerjoin(runs, runs.c.way_id == Way.id)
        .outerjoin(made, made.c.way_id == Way.id)
        .where(Way.form_id == form_id)
        .order_by(Way.standing == "drop", Way.id)
    )
    return tuple(WayLine(*row) for row in rows)


def _refuse_taken_name(session: Session, form: Form, name: str, but: int = 0) -> None:
    taken = session.scalar(
        select(Way.id).where(Way.form_id == form.id, reads_as(Way.name, name), Way.id != but)
    )
    if taken is not None:
        sentence = f"{form.name} has a way named “{name}” already."
        raise UserProblem(sentence, {"name": sentence})
