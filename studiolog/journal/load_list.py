"""The list of planned loads, and what waits for which firing."""

from __future__ import annotations

from dataclasses import dataclass
from datetime import date

from sqlalchemy import func, select
from sqlalchemy.orm import Session

from studiolog.journal.load_ware import waiting_ids
from studiolog.journal.loads import title_of
from studiolog.records.firings import Firing
from studiolog.records.kilns import Kiln
from studiolog.records.loads import KilnLoad, LoadPlace


@dataclass(frozen=True)
class LoadLine:
    """A load in the list: planned, or lit of late."""

    load_id: int
    title: str
    kind: str
    planned_on: date | None
    firing: int | None
    pieces: int
    placed: int


@dataclass(frozen=True)
class LoadList:
    """Every planned load, the lit ones of late, and how many pieces wait for which firing."""

    loads: tuple[LoadLine, ...]
    bisque: int
    glaze: int
    kilns: tuple[tuple[int, str], ...]


def read_load_list(session: Session, lit: int = 5) -> LoadList:
    """The list of loads and what waits; ``lit`` so many of those that were lit."""
    loads = (
        select(KilnLoad, Kiln.name, Firing.number)
        .join(Kiln, Kiln.id == KilnLoad.kiln_id)
        .outerjoin(Firing, Firing.id == KilnLoad.firing_id)
        .order_by(KilnLoad.id.desc())
    )
    planned = list(session.execute(loads.where(KilnLoad.firing_id.is_(None))).all())
    done = session.execute(loads.where(KilnLoad.firing_id.is_not(None)).limit(lit)).all()
    planned.sort(key=lambda row: (row[0].planned_on or date.max, row[0].id))
    # Of those shown alone: years of loads that were lit lie behind them.
    shown = [row[0].id for row in (*planned, *done)]
    counts = {
        load_id: (inside, placed)
        for load_id, inside, placed in session.execute(
            select(LoadPlace.load_id, func.count(), func.count(LoadPlace.shelf_id))
            .where(LoadPlace.load_id.in_(shown))
            .group_by(LoadPlace.load_id)
        )
    }
    kilns = session.execute(
        select(Kiln.id, Kiln.name).where(Kiln.archived.is_(False)).order_by(Kiln.id)
    ).all()
    return LoadList(
        tuple(
            LoadLine(
                load.id,
                title_of(load.kind, load.cone, kiln),
                load.kind,
                load.planned_on,
                number,
                *counts.get(load.id, (0, 0)),
            )
            for load, kiln, number in (*planned, *done)
        ),
        len(waiting_ids(session, "bisque")),
        len(waiting_ids(session, "glaze")),
        tuple((ident, name) for ident, name in kilns),
    )
