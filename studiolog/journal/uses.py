"""Where something is used: pieces with their numbers, runs with their counts, firings."""

from dataclasses import dataclass
from datetime import date
from typing import Any

from sqlalchemy import func, select
from sqlalchemy.orm import Session
from sqlalchemy.sql import ColumnElement

from studiolog.journal.level_heat import WHOLE_KILN
from studiolog.records.facts import level_heat
from studiolog.records.firings import Curve, Firing
from studiolog.records.forms import Form
from studiolog.records.kilns import Kiln
from studiolog.records.pieces import Piece, Run

PAGE = 40
"""Numbered pieces read at a time."""


@dataclass(frozen=True)
class UsedPiece:
    """A numbered piece."""

    piece_id: int
    number: int
    title: str
    stage: str


@dataclass(frozen=True)
class UsedRun:
    """A run, with how many of its counted pieces without a number answer."""

    run_id: int
    number: int
    title: str
    made_on: date
    pieces: int


@dataclass(frozen=True)
class UsedFiring:
    """A firing with what came of it: the cone over the whole kiln, as it is best known.

    ``got_basis`` is "read" or "computed", empty where only an aim is known; a computed cone is
    corrected by what the kiln's levels have read before.
    """

    firing_id: int
    number: int
    started_on: date
    kiln: str
    kind: str
    cone: str | None
    title: str
    peak_c: float | None
    got_cone: float | None = None
    got_low: float | None = None
    got_high: float | None = None
    got_basis: str = ""


@dataclass(frozen=True)
class PieceUses:
    """Pieces that use something. ``numbered`` is one page of them, newest first, from ``start``."""

    total: int
    total_numbered: int
    start: int
    numbered: tuple[UsedPiece, ...]
    runs: tuple[UsedRun, ...]
    total_runs: int


@dataclass(frozen=True)
class FiringUses:
    """Firings that use something: one page, newest first, from ``start``."""

    total: int
    start: int
    firings: tuple[UsedFiring, ...]


def read_piece_uses(
    session: Session, where: ColumnElement[bool], start: int = 0, limit: int = PAGE
) -> PieceUses:
    """One page of the pieces for which ``where`` (a condition on `Piece`) holds."""
    total, numbered = session.execute(
        select(func.count(), func.count(Piece.number)).select_from(Piece).where(where)
    ).one()
    rows = session.execute(
        select(Piece.id, Piece.number, Piece.title, Piece.stage, Form.name)
        .outerjoin(Form, Form.id == Piece.form_id)
        .where(where, Piece.number.is_not(None))
        .order_by(Piece.number.desc())
        .offset(start)
        .limit(limit)
    )
    pieces = tuple(
        UsedPiece(row.id, row.number, row.title or row.name or "", row.stage) for row in rows
    )
    counted = (
        select(Piece.run_id, func.count().label("pieces"))
        .where(where, Piece.number.is_(None))
        .group_by(Piece.run_id)
        .subquery()
    )
    runs = tuple(
        UsedRun(row.id, row.number, row.title or row.name or "", row.made_on, row.pieces)
        for row in session.execute(
            select(Run.id, Run.number, Run.title, Run.made_on, Form.name, counted.c.pieces)
            .join(counted, counted.c.run_id == Run.id)
            .outerjoin(Form, Form.id == Run.form_id)
            .order_by(Run.number.desc())
            .limit(limit)
        )
    )
    total_runs = int(session.scalar(select(func.count()).select_from(counted)) or 0)
    return PieceUses(total, numbered, start, pieces, runs, total_runs)


def read_firing_uses(
    session: Session, where: ColumnElement[bool], start: int = 0, limit: int = PAGE
) -> FiringUses:
    """One page of the firings for which ``where`` (a condition on `Firing`) holds."""
    total = int(session.scalar(select(func.count()).select_from(Firing).where(where)) or 0)
    found = session.execute(
        select(
            Firing.id,
            Firing.number,
            Firing.started_at,
            Kiln.name,
            Firing.kind,
            Firing.cone,
            Firing.title,
        )
        .join(Kiln, Kiln.id == Firing.kiln_id)
        .where(where)
        .order_by(Firing.started_at.desc(), Firing.id.desc())
        .offset(start)
        .limit(limit)
    ).all()
    ids = [row.id for row in found]
    peaks, heats = _peaks(session, ids), _heats(session, ids)
    firings = []
    for row in found:
        heat = heats.get(row.id)
        firings.append(
            UsedFiring(
                row.id,
                row.number,
                row.started_at.date(),
                row.name,
                row.kind,
                row.cone,
                row.title,
                peaks.get(row.id),
                *((heat.cone, heat.cone_low, heat.cone_high, heat.basis) if heat else ()),
            )
        )
    return FiringUses(total, start, tuple(firings))


def _peaks(session: Session, firing_ids: list[int]) -> dict[int, float | None]:
    rows = session.execute(
        select(Curve.firing_id, Curve.peak_c).where(
            Curve.firing_id.in_(firing_ids), Curve.main, Curve.role == "measured"
        )
    )
    return {row.firing_id: row.peak_c for row in rows}


def _heats(session: Session, firing_ids: list[int]) -> dict[int, Any]:
    rows = session.execute(
        select(level_heat).where(
            level_heat.c.firing_id.in_(firing_ids),
            level_heat.c.level_id == WHOLE_KILN,
            level_heat.c.basis != "aimed",
        )
    )
    return {row.firing_id: row for row in rows}
