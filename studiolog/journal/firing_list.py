"""The list of firings, a page at a time, and what the sheet for a new one proposes."""

from __future__ import annotations

from collections import defaultdict
from dataclasses import dataclass
from datetime import datetime

from sqlalchemy import ColumnElement, func, or_, select
from sqlalchemy.orm import Session

from studiolog.craft.firing.cones import label_reached, label_reached_between
from studiolog.journal.firing_energy import FiringEnergy, read_energy_of
from studiolog.journal.letters import contains
from studiolog.journal.level_heat import WHOLE_KILN, CurveCone
from studiolog.journal.limits import read_limits
from studiolog.journal.writing import next_number
from studiolog.records.facts import level_heat
from studiolog.records.firings import Curve, Firing
from studiolog.records.kilns import Kiln, KilnLevel
from studiolog.records.pieces import Placement
from studiolog.records.programs import Program


@dataclass(frozen=True)
class LevelLabel:
    """The cone of one level: "6 +0.2", its interval, and how it is known."""

    name: str
    label: str
    interval: str
    basis: str


@dataclass(frozen=True)
class FiringRow:
    """A firing in the list. ``computed`` is the heat-work of the curve with its interval.

    Where no cones were read it is that of the kiln as a whole, corrected by what its levels have
    read before.
    """

    firing_id: int
    number: int
    title: str
    kind: str
    kiln: str
    started_at: datetime
    cone: str | None
    peak_c: float | None
    computed: str
    computed_interval: str
    levels: tuple[LevelLabel, ...]
    pieces: int
    energy: FiringEnergy


@dataclass(frozen=True)
class FiringList:
    """One page of the list, newest first, and how many firings there are in all."""

    total: int
    rows: tuple[FiringRow, ...]


@dataclass(frozen=True)
class NewFiring:
    """What the sheet for a new firing proposes: the next number, and the last firing's choices."""

    number: int
    kiln_id: int | None
    program_id: int | None
    kind: str
    cone: str | None
    atmosphere: str


def list_firings(
    session: Session, *, offset: int = 0, limit: int = 60, words: str = ""
) -> FiringList:
    """A page of firings, newest first; ``words`` narrows to numbers, titles, kilns, programs."""
    query = (
        select(Firing, Kiln.name.label("kiln"), Program.name.label("program"))
        .join(Kiln, Kiln.id == Firing.kiln_id)
        .outerjoin(Program, Program.id == Firing.program_id)
    )
    for word in words.split():
        choices: list[ColumnElement[bool]] = [
            contains(Firing.title, word),
            contains(Kiln.name, word),
            contains(Program.name, word),
            contains(Firing.kind, word),
        ]
        if word.isdigit():
            choices += [Firing.number == int(word), Firing.cone == word]
        query = query.where(or_(*choices))
    total = int(session.scalar(select(func.count()).select_from(query.subquery())) or 0)
    found = session.execute(
        query.order_by(Firing.started_at.desc(), Firing.id.desc()).offset(offset).limit(limit)
    ).all()
    ids = [firing.id for firing, _kiln, _program in found]
    curves = {
        row.firing_id: row
        for row in session.execute(
            select(
                Curve.firing_id,
                Curve.peak_c,
                Curve.cone,
                Curve.cone_low,
                Curve.cone_high,
                Curve.flags,
            ).where(Curve.firing_id.in_(ids), Curve.main)
        )
    }
    placed = session.execute(
        select(Placement.firing_id, func.count())
        .where(Placement.firing_id.in_(ids))
        .group_by(Placement.firing_id)
    )
    counts: dict[int, int] = {row[0]: row[1] for row in placed}
    levels: dict[int, list[LevelLabel]] = defaultdict(list)
    whole = {
        row.firing_id: row
        for row in session.execute(
            select(level_heat).where(
                level_heat.c.firing_id.in_(ids),
                level_heat.c.level_id == WHOLE_KILN,
                level_heat.c.basis == "computed",
            )
        )
    }
    for row in session.execute(
        select(level_heat, KilnLevel.name)
        .join(KilnLevel, KilnLevel.id == level_heat.c.level_id)
        .where(level_heat.c.firing_id.in_(ids), level_heat.c.level_id != WHOLE_KILN)
        .order_by(KilnLevel.position)
    ):
        levels[row.firing_id].append(
            LevelLabel(
                row.name,
                label_reached(row.cone),
                label_reached_between(row.cone_low, row.cone_high),
                row.basis,
            )
        )
    energies, limits = read_energy_of(session, ids), read_limits(session)
    rows: list[FiringRow] = []
    for firing, kiln, program in found:
        curve = curves.get(firing.id)
        computed = interval = ""
        corrected = whole.get(firing.id)
        if corrected is not None:
            computed = label_reached(corrected.cone)
            interval = label_reached_between(corrected.cone_low, corrected.cone_high)
        elif curve is not None and curve.cone is not None:
            alone = CurveCone.of(curve).at_sensor(limits)
            computed, interval = (
                label_reached(alone.cone),
                label_reached_between(alone.low, alone.high),
            )
        rows.append(
            FiringRow(
                firing.id,
                firing.number,
                firing.title or program or f"{firing.kind.capitalize()} firing",
                firing.kind,
                kiln,
                firing.started_at,
                firing.cone,
                curve.peak_c if curve is not None else None,
                computed,
                interval,
                tuple(levels.get(firing.id, ())),
                counts.get(firing.id, 0),
                energies[firing.id],
            )
        )
    return FiringList(total, tuple(rows))


def propose_firing(session: Session) -> NewFiring:
    """The next number with the kiln, program and cone of the last firing logged."""
    number = next_number(session, Firing.number)
    last = session.scalars(
        select(Firing).order_by(Firing.started_at.desc(), Firing.id.desc()).limit(1)
    ).first()
    if last is None:
        kiln = session.scalar(
            select(Kiln.id).where(Kiln.archived.is_(False)).order_by(Kiln.id).limit(1)
        )
        return NewFiring(number, kiln, None, "glaze", None, "oxidation")
    return NewFiring(number, last.kiln_id, last.program_id, last.kind, last.cone, last.atmosphere)
