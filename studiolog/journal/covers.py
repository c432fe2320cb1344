"""How ware stands while it dries: wrapped, unwrapped, and in what weather."""

from collections import defaultdict
from collections.abc import Mapping, Sequence
from dataclasses import dataclass
from datetime import datetime

from sqlalchemy import select
from sqlalchemy.orm import Session

from studiolog.craft.clay.drying import UNSAID, Stood
from studiolog.craft.days import write_day
from studiolog.craft.words import COVERS, DRYING_WEATHERS
from studiolog.journal.writing import add, change, get, remove, remove_all
from studiolog.problems import UserProblem
from studiolog.records.pieces import CoverChange, Run


@dataclass(frozen=True, slots=True)
class CoverLine:
    """From ``at`` on a run stood under ``cover``, in ``weather``."""

    change_id: int
    version: int
    run_id: int
    at: datetime
    cover: str
    weather: str
    note: str


def cover_run(
    session: Session,
    run_id: int,
    cover: str,
    at: datetime,
    weather: str = "usual",
    note: str = "",
) -> int:
    """Say how a run stands from then on; returns the id of the change.

    Said twice for one moment, the later word holds. Raises `UserProblem` for a cover or weather
    that is none, and for a moment before the run was begun.
    """
    run = get(session, Run, run_id)
    _check(cover, weather)
    _refuse_before(run, at)
    same = select(CoverChange.id).where(CoverChange.run_id == run_id, CoverChange.at == at)
    known = session.scalar(same)
    if known is not None:
        change(session, CoverChange, known, cover=cover, weather=weather, note=note.strip())
        return known
    return add(
        session, CoverChange(run_id=run_id, at=at, cover=cover, weather=weather, note=note.strip())
    )


def change_cover(
    session: Session,
    change_id: int,
    version: int | None = None,
    *,
    cover: str,
    weather: str,
    at: datetime,
    note: str = "",
) -> None:
    """Mend a change that was noted wrongly. Raises as `cover_run` does."""
    _check(cover, weather)
    line = get(session, CoverChange, change_id, version)
    run = get(session, Run, line.run_id)
    _refuse_before(run, at)
    change(session, CoverChange, change_id, cover=cover, weather=weather, at=at, note=note.strip())


def delete_cover_change(session: Session, change_id: int) -> None:
    """Take out a change that never was."""
    remove(session, get(session, CoverChange, change_id))


def remove_covers(session: Session, run_id: int) -> None:
    """Take out all of a run, which is being deleted."""
    remove_all(session, CoverChange, CoverChange.run_id == run_id)


def _refuse_before(run: Run, at: datetime) -> None:
    if at.date() < run.made_on:
        told = f"Run {run.number} was begun on {write_day(run.made_on)}: it stood nowhere before."
        raise UserProblem(told, {"at": told})


def _check(cover: str, weather: str) -> None:
    if cover not in COVERS:
        told = f"“{cover}” is not a cover: {', '.join(COVERS.values())}."
        raise UserProblem(told, {"cover": told})
    if weather not in DRYING_WEATHERS:
        told = f"“{weather}” is not a weather: {', '.join(DRYING_WEATHERS.values())}."
        raise UserProblem(told, {"weather": told})


def read_covers(session: Session, run_ids: Sequence[int]) -> Mapping[int, Sequence[CoverLine]]:
    """The changes of runs, each in order of time."""
    found: dict[int, list[CoverLine]] = defaultdict(list)
    for row in session.execute(
        select(
            CoverChange.id,
            CoverChange.version,
            CoverChange.run_id,
            CoverChange.at,
            CoverChange.cover,
            CoverChange.weather,
            CoverChange.note,
        )
        .where(CoverChange.run_id.in_(run_ids))
        .order_by(CoverChange.at, CoverChange.id)
    ):
        line = CoverLine(*row)
        found[line.run_id].append(line)
    return found


def stood_between(
    covers: Sequence[CoverLine], since: datetime, until: datetime
) -> tuple[Stood, ...]:
    """Under what a run stood from one moment to another; unsaid before the first word."""
    edges = [(since, UNSAID, "usual")]
    for line in covers:
        if line.at <= since:
            edges[0] = (since, line.cover, line.weather)
        elif line.at < until:
            edges.append((line.at, line.cover, line.weather))
    parts = []
    for place, (at, cover, weather) in enumerate(edges):
        ends = edges[place + 1][0] if place + 1 < len(edges) else until
        hours = (ends - at).total_seconds() / 3600.0
        if hours > 0:
            parts.append(Stood(hours, cover, weather))
    return tuple(parts)


def cover_at(covers: Sequence[CoverLine], moment: datetime) -> tuple[str, str]:
    """The cover and weather a run stands in at a moment; `UNSAID` where nobody said."""
    held = (UNSAID, "usual")
    for line in covers:
        if line.at <= moment:
            held = (line.cover, line.weather)
    return held
