"""What a quick-log sheet offers to choose from, read in a handful of queries."""

from collections.abc import Iterable
from dataclasses import dataclass
from datetime import date, datetime, timedelta

from sqlalchemy import and_, func, or_, select
from sqlalchemy.orm import Session

from studiolog.journal.form_choices import STANDING_NOTES, no_go_last
from studiolog.journal.glazes import title_of
from studiolog.journal.level_heat import KilnHeat
from studiolog.journal.profiles import Profile, profile_from_text
from studiolog.records.clays import Clay
from studiolog.records.firings import ConePack, Curve, Firing
from studiolog.records.forms import Form
from studiolog.records.glazes import Glaze
from studiolog.records.kilns import Kiln, KilnLevel
from studiolog.records.pieces import Piece, Run

RECENT_FIRINGS = 12
RECENT_RUNS = 20
_SURELY_OVER = timedelta(hours=24)


@dataclass(frozen=True)
class ClayChoice:
    """A clay body and how it looks."""

    clay_id: int
    name: str
    colour: str
    specks: str


@dataclass(frozen=True)
class FormChoice:
    """A form and the profile its wall is drawn from; ``note`` says how it stands."""

    form_id: int
    name: str
    shape: str
    profile: Profile | None
    note: str = ""


@dataclass(frozen=True)
class GlazeChoice:
    """A glaze and how it looks."""

    glaze_id: int
    title: str
    colour: str
    pattern: int


@dataclass(frozen=True)
class LevelChoice:
    """A level of a firing's kiln, with the cone there (ordinal scale) and how it is known."""

    level_id: int
    name: str
    cone: float | None
    basis: str


@dataclass(frozen=True)
class FiringChoice:
    """A firing a piece may have gone through. ``over_at`` is None while it may still burn."""

    firing_id: int
    number: int
    kiln_name: str
    kind: str
    cone: str | None
    started_at: datetime
    over_at: datetime | None
    levels: tuple[LevelChoice, ...]


@dataclass(frozen=True)
class RunChoice:
    """A run of ware; ``unnumbered`` of its ``pieces`` can still be singled out."""

    run_id: int
    number: int
    title: str
    made_on: date
    form_id: int | None
    clay_id: int | None
    pieces: int
    unnumbered: int


def read_clays(session: Session, used: Iterable[int]) -> tuple[ClayChoice, ...]:
    """Clays in use, and those ``used`` names even if archived."""
    rows = session.scalars(
        select(Clay).where(or_(Clay.archived.is_(False), Clay.id.in_(list(used)))).order_by(Clay.id)
    )
    return tuple(ClayChoice(row.id, row.name, row.colour, row.specks) for row in rows)


def read_forms(session: Session, used: Iterable[int]) -> tuple[FormChoice, ...]:
    """Forms by name, no-go ones last, and those ``used`` names even if archived."""
    rows = session.scalars(
        select(Form)
        .where(or_(Form.archived.is_(False), Form.id.in_(list(used))))
        .order_by(no_go_last(), Form.name)
    )
    return tuple(
        FormChoice(
            row.id, row.name, row.shape, profile_from_text(row.profile),
            STANDING_NOTES[row.standing],
        )
        for row in rows
    )  # fmt: skip


def read_glazes(session: Session, used: Iterable[int]) -> tuple[GlazeChoice, ...]:
    """Glazes in use but those of single test tiles, and those ``used`` names whatever they are."""
    offered = and_(Glaze.archived.is_(False), Glaze.trial.is_(False))
    rows = session.scalars(
        select(Glaze).where(or_(offered, Glaze.id.in_(list(used)))).order_by(Glaze.id)
    )
    return tuple(
        GlazeChoice(row.id, title_of(row.name, row.version_number), row.colour, row.pattern)
        for row in rows
    )


def read_runs(session: Session, used: Iterable[int]) -> tuple[RunChoice, ...]:
    """The newest runs, and those ``used`` names."""
    newest = select(Run.id).order_by(Run.made_on.desc(), Run.id.desc()).limit(RECENT_RUNS)
    rows = session.scalars(
        select(Run)
        .where(or_(Run.id.in_(newest.scalar_subquery()), Run.id.in_(list(used))))
        .order_by(Run.number.desc())
    ).all()
    counts = {
        run_id: (int(all_of_it), int(all_of_it) - int(numbered))
        for run_id, all_of_it, numbered in session.execute(
            select(Piece.run_id, func.count(), func.count(Piece.number))
            .where(Piece.run_id.in_([row.id for row in rows]), Piece.stage != "lost")
            .group_by(Piece.run_id)
        )
    }
    return tuple(
        RunChoice(
            row.id,
            row.number,
            row.title,
            row.made_on,
            row.form_id,
            row.clay_id,
            *counts.get(row.id, (0, 0)),
        )
        for row in rows
    )


def read_firings(session: Session, used: Iterable[int], now: datetime) -> tuple[FiringChoice, ...]:
    """The newest firings, and those ``used`` names, newest first, with the cone at each level."""
    newest = select(Firing.id).order_by(Firing.started_at.desc()).limit(RECENT_FIRINGS)
    rows = session.scalars(
        select(Firing)
        .where(or_(Firing.id.in_(newest.scalar_subquery()), Firing.id.in_(list(used))))
        .order_by(Firing.started_at.desc(), Firing.id.desc())
    ).all()
    ids = [row.id for row in rows]
    burnt = select(Kiln).where(Kiln.id.in_({row.kiln_id for row in rows}))
    kilns = {kiln.id: kiln.name for kiln in session.scalars(burnt)}
    levels: dict[int, list[KilnLevel]] = {}
    for level in session.scalars(
        select(KilnLevel).where(KilnLevel.kiln_id.in_(kilns)).order_by(KilnLevel.position)
    ):
        levels.setdefault(level.kiln_id, []).append(level)
    evidence = set(session.scalars(select(ConePack.firing_id).where(ConePack.firing_id.in_(ids))))
    evidence |= set(session.scalars(select(Curve.firing_id).where(Curve.firing_id.in_(ids))))
    heat = KilnHeat.read(session.connection(), ids)
    found = []
    for row in rows:
        shown = []
        for level in levels.get(row.kiln_id, ()):
            cone = heat.at(row.id, level.id)
            shown.append(
                LevelChoice(
                    level.id,
                    level.name,
                    cone.cone if cone else None,
                    cone.basis if cone else "",
                )
            )
        found.append(
            FiringChoice(
                row.id,
                row.number,
                kilns[row.kiln_id],
                row.kind,
                row.cone,
                row.started_at,
                _over_at(row, row.id in evidence, now),
                tuple(shown),
            )
        )
    return tuple(found)


def _over_at(firing: Firing, evidence: bool, now: datetime) -> datetime | None:
    """When a firing was over: as logged; else its start, once cones, a curve or a day say so."""
    if firing.ended_at is not None:
        return firing.ended_at if firing.ended_at <= now else None
    if evidence or firing.started_at + _SURELY_OVER <= now:
        return firing.started_at if firing.started_at <= now else None
    return None
