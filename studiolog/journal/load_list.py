"""The list of planned loads, and what waits for which firing."""

from __future__ import annotations

from dataclasses import dataclass
from datetime import date

from sqlalchemy import select
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
    counts: dict[int, tuple[int, int]] = {}
    for load_id, shelf_id in session.execute(select(LoadPlace.load_id, LoadPlace.shelf_id)):
        inside, placed = counts.get(load_id, (0, 0))
        counts[load_id] = (inside + 1, placed + (shelf_id is not None))
    rows = session.execute(
        select(KilnLoad, Kiln.name, Firing.number)
        .join(Kiln, Kiln.id == KilnLoad.kiln_id)
        .outerjoin(Firing, Firing.id == KilnLoad.firing_id)
        .order_by(KilnLoad.id.desc())
    ).all()
    planned = [row for row in rows if row[0].firing_id is None]
    done = [row for row in rows if row[0].firing_id is not None][:lit]
    planned.sort(key=lambda row: (row[0].planned_on or date.max, row[0].id))
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
