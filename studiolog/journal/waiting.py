"""Logs that came in by themselves or with a folder, and wait to be described as firings."""

from __future__ import annotations

import zlib
from collections import defaultdict
from collections.abc import Iterable, Sequence
from dataclasses import dataclass
from datetime import datetime, timedelta
from typing import TYPE_CHECKING, Any

from sqlalchemy import ColumnElement, func, or_, select
from sqlalchemy.orm import Session

from studiolog.craft.firing.cones import label_reached, label_reached_between
from studiolog.journal.firing_log import keep_log_file
from studiolog.journal.firings import FiringDraft, LogDraft, log_firing
from studiolog.journal.log_intake import IncomingLog
from studiolog.journal.waiting_guess import begins_alike
from studiolog.journal.writing import add, change, count, get, next_number, remove
from studiolog.problems import UserProblem
from studiolog.records.firings import Curve, Firing, LogFile, WaitingLog
from studiolog.transfer.curve_blob import unpack_readings

if TYPE_CHECKING:
    import numpy as np
    from numpy.typing import NDArray

_NEAR_START = timedelta(minutes=1)
_SAME_DAY = timedelta(hours=24)
_FEW = 10
"""Fewer readings than this may agree by chance: their start has to agree too."""


@dataclass(frozen=True)
class Kept:
    """What became of a log that came in.

    ``outcome`` is "waits", "asks" (it waits, and has open questions), "grown" (it takes the place
    of its earlier state), "here" (the very file is in the journal) or "same" (the same curve is,
    in another file). ``words`` say it; ``firing`` is the firing's number where there is one,
    ``waiting_id`` what waits.
    """

    outcome: str
    words: str
    firing: int | None = None
    waiting_id: int | None = None


@dataclass(frozen=True)
class WaitingLine:
    """A waiting log in its list. ``cone`` and ``interval`` are labels, empty where unknown."""

    waiting_id: int
    name: str
    came_from: str
    came_at: datetime
    starts_at: datetime | None
    written_at: datetime | None
    readings: int
    duration_s: float
    peak_c: float | None
    cone: str
    interval: str
    questions: tuple[str, ...]
    set_aside: bool


@dataclass(frozen=True, eq=False)
class WaitingPage:
    """A waiting log whole: its line, the original bytes, and its main curve in seconds and °C."""

    line: WaitingLine
    sha256: str
    content: bytes
    elapsed_s: tuple[float, ...]
    temperature_c: tuple[float, ...]


def keep_waiting(session: Session, logs: Sequence[IncomingLog], now: datetime) -> tuple[Kept, ...]:
    """Keep logs that came in, each once; returns what became of each, in their order.

    A file or a curve that the journal has is told and not kept again. A log that goes on where a
    waiting one ends, from the same start, takes its place.
    """
    known = _Known(session, logs)
    return tuple(_keep(session, known, log, now) for log in logs)


def _keep(session: Session, known: _Known, log: IncomingLog, now: datetime) -> Kept:
    here = find_file(session, log.sha256)
    if here is not None:
        return here
    same = known.find_same(log)
    if same is not None:
        return same
    earlier = known.find_earlier_state(log)
    file_id = session.scalar(select(LogFile.id).where(LogFile.sha256 == log.sha256))
    if file_id is None:
        file_id = add(session, LogFile(sha256=log.sha256, name=log.name, content=log.content))
    fields = {
        "log_file_id": file_id,
        "came_at": now,
        "came_from": log.came_from,
        "starts_at": log.starts_at,
        "written_at": log.written_at,
        "readings": log.readings,
        "duration_s": log.duration_s,
        "peak_c": log.peak_c,
        "cone": log.cone,
        "cone_low": log.cone_low,
        "cone_high": log.cone_high,
        "questions": "\n".join(log.questions),
        "packed": log.packed,
    }
    asks = f"Open: {log.questions[0]}" if log.questions else ""
    if earlier is not None:
        old = get(session, WaitingLog, earlier)
        old_file, before = old.log_file_id, old.readings
        change(session, WaitingLog, earlier, None, **fields)
        _drop_file(session, old_file)
        known.note(log, earlier)
        more = log.readings - before
        told = f"Grown by {more} reading{'s' if more != 1 else ''}; it waits to be described."
        return Kept("grown", told, waiting_id=earlier)
    waiting_id = add(session, WaitingLog(**fields))  # type: ignore[arg-type]
    known.note(log, waiting_id)
    return Kept(
        "asks" if log.questions else "waits",
        asks or "It waits to be described.",
        waiting_id=waiting_id,
    )


def read_known_files(session: Session) -> frozenset[str]:
    """The hashes of every file that is a firing's log or waits."""
    used = select(Curve.log_file_id).where(Curve.log_file_id.is_not(None))
    waiting = select(WaitingLog.log_file_id)
    return frozenset(
        session.scalars(select(LogFile.sha256).where(LogFile.id.in_(used.union_all(waiting))))
    )


def find_file(session: Session, sha256: str) -> Kept | None:
    """Where the journal has this very file, if it is of use to anything there."""
    file_id = session.scalar(select(LogFile.id).where(LogFile.sha256 == sha256))
    if file_id is None:
        return None
    number = session.scalar(
        select(Firing.number)
        .join(Curve, Curve.firing_id == Firing.id)
        .where(Curve.log_file_id == file_id)
        .limit(1)
    )
    if number is not None:
        return Kept("here", f"This very file is the log of firing {number}.", firing=number)
    waiting = session.scalars(select(WaitingLog).where(WaitingLog.log_file_id == file_id)).first()
    if waiting is None:
        return None  # the log of a firing it was taken off again
    told = (
        "This very file was set aside."
        if waiting.set_aside
        else "This very file waits to be described already."
    )
    return Kept("here", told, waiting_id=waiting.id)


@dataclass(frozen=True)
class _KnownCurve:
    """A curve of the journal as far as it tells whether another may be the same."""

    curve_id: int | None
    waiting_id: int | None
    firing: int | None
    name: str
    starts_at: datetime | None
    readings: int
    set_aside: bool = False


class _Known:
    """The curves of the journal that may be those of some logs: two queries for all of them."""

    def __init__(self, session: Session, logs: Sequence[IncomingLog]) -> None:
        self._session = session
        self._by_readings: dict[int, list[_KnownCurve]] = defaultdict(list)
        self._waiting: dict[int, _KnownCurve] = {}
        self._by_minute: dict[int | None, list[_KnownCurve]] = defaultdict(list)
        readings = {log.readings for log in logs}
        for curve in session.execute(
            select(Curve.id, Curve.readings, Firing.number, Firing.started_at)
            .join(Firing, Firing.id == Curve.firing_id)
            .where(Curve.main, or_(Curve.readings.in_(readings), *_near(Firing.started_at, logs)))
        ):
            known = _KnownCurve(curve.id, None, curve.number, "", curve.started_at, curve.readings)
            self._by_readings[curve.readings].append(known)
            self._by_minute[_minute(curve.started_at)].append(known)
        for row in session.execute(
            select(
                WaitingLog.id,
                WaitingLog.readings,
                WaitingLog.starts_at,
                WaitingLog.set_aside,
                LogFile.name,
            )
            .join(LogFile, LogFile.id == WaitingLog.log_file_id)
            .where(
                or_(
                    WaitingLog.readings.in_(readings),
                    WaitingLog.starts_at.is_(None),
                    *_near(WaitingLog.starts_at, logs),
                )
            )
        ):
            self._note(
                _KnownCurve(
                    None, row.id, None, row.name, row.starts_at, row.readings, row.set_aside
                )
            )

    def note(self, log: IncomingLog, waiting_id: int) -> None:
        """A log that waits from now on, or the state it has grown to."""
        self._note(_KnownCurve(None, waiting_id, None, log.name, log.starts_at, log.readings))

    def _note(self, known: _KnownCurve) -> None:
        assert known.waiting_id is not None
        before = self._waiting.get(known.waiting_id)
        if before is not None:
            self._by_readings[before.readings].remove(before)
            self._by_minute[_minute(before.starts_at)].remove(before)
        self._waiting[known.waiting_id] = known
        self._by_readings[known.readings].append(known)
        self._by_minute[_minute(known.starts_at)].append(known)

    def _started_with(self, starts_at: datetime | None) -> list[_KnownCurve]:
        """The curves that start within a minute of a moment."""
        at = _minute(starts_at)
        near = (None,) if at is None else (at - 1, at, at + 1)
        return [
            known
            for minute in near
            for known in self._by_minute.get(minute, ())
            if _same_start(known.starts_at, starts_at)
        ]

    def find_same(self, log: IncomingLog) -> Kept | None:
        """A curve of the same readings, or one that holds them and goes on."""
        for known in self._by_readings.get(log.readings, ()):
            if self._starts_apart(known, log) or not self._begins_alike(known, log, log.readings):
                continue
            if known.firing is not None:
                told = f"Another file, but the same curve as firing {known.firing}."
                return Kept("same", told, firing=known.firing)
            told = f"Another file, but the same curve as {known.name}, which "
            told += "was set aside." if known.set_aside else "waits already."
            return Kept("same", told, waiting_id=known.waiting_id)
        if log.starts_at is None:
            return None
        for known in self._started_with(log.starts_at):
            if known.readings > log.readings and self._begins_alike(known, log, log.readings):
                where = f"firing {known.firing}" if known.firing is not None else known.name
                told = f"An earlier state of the curve of {where}."
                return Kept("same", told, known.firing, known.waiting_id)
        return None

    def find_earlier_state(self, log: IncomingLog) -> int | None:
        """The waiting log that this one goes on from, of the same start."""
        for known in self._started_with(log.starts_at):
            if (
                known.waiting_id is not None
                and 1 < known.readings < log.readings
                and (known.starts_at is not None or known.name == log.name)
                and self._begins_alike(known, log, known.readings)
            ):
                return known.waiting_id
        return None

    def _starts_apart(self, known: _KnownCurve, log: IncomingLog) -> bool:
        """Whether the starts say that two curves of the same readings are two firings.

        The start of a firing may have been set somewhat otherwise than the log has it; a short
        curve may be another's by chance.
        """
        if log.readings < _FEW:
            return not _same_start(known.starts_at, log.starts_at)
        if known.starts_at is None or log.starts_at is None:
            return False
        return abs(known.starts_at - log.starts_at) > _SAME_DAY

    def _begins_alike(self, known: _KnownCurve, log: IncomingLog, readings: int) -> bool:
        if known.curve_id is not None:
            packed = self._session.scalar(select(Curve.packed).where(Curve.id == known.curve_id))
        else:
            packed = self._session.scalar(
                select(WaitingLog.packed).where(WaitingLog.id == known.waiting_id)
            )
        if not packed:
            return False
        # The last reading of a file that is still written may have been cut through.
        same = readings - 1 if readings > _FEW and known.readings != log.readings else readings
        return begins_alike(unpack_readings(packed), unpack_readings(log.packed), same)


def _near(starts: Any, logs: Sequence[IncomingLog]) -> list[ColumnElement[bool]]:
    """The condition that a start lies among those of some logs; none if no log has one."""
    moments = [log.starts_at for log in logs if log.starts_at is not None]
    if not moments:
        return []
    return [starts.between(min(moments) - _NEAR_START, max(moments) + _NEAR_START)]


def _minute(moment: datetime | None) -> int | None:
    return None if moment is None else int((moment - datetime(1970, 1, 1)).total_seconds() // 60)


def _same_start(one: datetime | None, other: datetime | None) -> bool:
    if one is None or other is None:
        return one is other
    return abs(one - other) <= _NEAR_START


# What waits


def list_waiting(
    session: Session, *, set_aside: bool = False, ids: Iterable[int] | None = None
) -> tuple[WaitingLine, ...]:
    """The logs that wait, in order of their start; those without one come last."""
    query = (
        select(
            WaitingLog.id,
            LogFile.name,
            WaitingLog.came_from,
            WaitingLog.came_at,
            WaitingLog.starts_at,
            WaitingLog.written_at,
            WaitingLog.readings,
            WaitingLog.duration_s,
            WaitingLog.peak_c,
            WaitingLog.cone,
            WaitingLog.cone_low,
            WaitingLog.cone_high,
            WaitingLog.questions,
            WaitingLog.set_aside,
        )
        .join(LogFile, LogFile.id == WaitingLog.log_file_id)
        .order_by(WaitingLog.starts_at.is_(None), WaitingLog.starts_at, WaitingLog.id)
    )
    if ids is None:
        query = query.where(WaitingLog.set_aside.is_(set_aside))
    else:
        query = query.where(WaitingLog.id.in_(list(ids)))
    return tuple(
        WaitingLine(
            row.id,
            row.name,
            row.came_from,
            row.came_at,
            row.starts_at,
            row.written_at,
            row.readings,
            row.duration_s,
            row.peak_c,
            label_reached(row.cone) if row.cone is not None else "",
            label_reached_between(row.cone_low, row.cone_high) if row.cone is not None else "",
            tuple(row.questions.splitlines()),
            row.set_aside,
        )
        for row in session.execute(query)
    )


def count_waiting(session: Session) -> tuple[int, int]:
    """How many logs wait, and how many were set aside."""
    aside = func.count().filter(WaitingLog.set_aside.is_(True))
    row = session.execute(select(func.count(), aside).select_from(WaitingLog)).one()
    return int(row[0]) - int(row[1]), int(row[1])


def read_waiting(session: Session, waiting_id: int) -> WaitingPage:
    """A waiting log whole. Raises `UserProblem` if it waits no longer."""
    row = get(session, WaitingLog, waiting_id)
    file = get(session, LogFile, row.log_file_id)
    (line,) = list_waiting(session, ids=[waiting_id])
    elapsed_s, temperature_c = unpack_readings(row.packed)
    return WaitingPage(
        line,
        file.sha256,
        zlib.decompress(file.content),
        tuple(elapsed_s.tolist()),
        tuple(temperature_c.tolist()),
    )


def read_waiting_curve(
    session: Session, waiting_id: int
) -> tuple[NDArray[np.float64], NDArray[np.float64]]:
    """The main curve of a waiting log, seconds and °C; empty if it waits no longer."""
    import numpy as np

    packed = session.scalar(select(WaitingLog.packed).where(WaitingLog.id == waiting_id))
    return unpack_readings(packed) if packed else (np.empty(0), np.empty(0))


# What is done with it


def describe_waiting(session: Session, waiting_id: int, draft: FiringDraft) -> int:
    """Make the firing of a waiting log; it waits no longer. Returns the firing's id.

    ``draft`` brings the log as it was read with the answers given. Raises `UserProblem` if that
    is the log of another file.
    """
    waiting = _waiting_of(session, waiting_id, draft.log)
    firing_id = log_firing(session, draft)
    remove(session, waiting)
    return firing_id


def describe_together(
    session: Session, drafts: Sequence[tuple[int, FiringDraft]]
) -> tuple[int, ...]:
    """Make the firings of many waiting logs, numbered in the order of their starts.

    Returns the firings' ids in that order. Raises `UserProblem`, with nothing described, if one
    of them can't be.
    """
    ordered = sorted(drafts, key=lambda pair: pair[1].started_at)
    return tuple(describe_waiting(session, waiting_id, draft) for waiting_id, draft in ordered)


def give_to_firing(
    session: Session, waiting_id: int, firing_id: int, log: LogDraft, *, set_start: bool = False
) -> int:
    """Put a waiting log to a firing that is in the journal; it waits no longer.

    Returns the firing's id.
    """
    waiting = _waiting_of(session, waiting_id, log)
    keep_log_file(session, firing_id, log, set_start=set_start)
    remove(session, waiting)
    return firing_id


def set_aside_waiting(session: Session, waiting_ids: Sequence[int]) -> None:
    """These are no firings: they are kept and known again, and ask no more."""
    for waiting_id in waiting_ids:
        change(session, WaitingLog, waiting_id, set_aside=True)


def bring_back_waiting(session: Session, waiting_ids: Sequence[int]) -> None:
    """Let logs that were set aside wait again."""
    for waiting_id in waiting_ids:
        change(session, WaitingLog, waiting_id, set_aside=False)


def delete_waiting(session: Session, waiting_ids: Sequence[int]) -> None:
    """Take waiting logs out of the journal with their files; undo brings them back."""
    for waiting_id in waiting_ids:
        waiting = get(session, WaitingLog, waiting_id)
        file_id = waiting.log_file_id
        remove(session, waiting)
        _drop_file(session, file_id)


def firing_of_number(session: Session, number: int) -> int | None:
    """The id of a firing by its number; None if there is none any more."""
    return session.scalar(select(Firing.id).where(Firing.number == number))


def next_firing_number(session: Session) -> int:
    """The number the next firing gets."""
    return next_number(session, Firing.number)


def _waiting_of(session: Session, waiting_id: int, log: LogDraft | None) -> WaitingLog:
    waiting = get(session, WaitingLog, waiting_id)
    file = get(session, LogFile, waiting.log_file_id)
    if log is None or log.sha256 != file.sha256:
        raise UserProblem(
            f"{file.name} has changed since it was looked at: close this and look at it again."
        )
    return waiting


def _drop_file(session: Session, file_id: int) -> None:
    """Let a file go that nothing in the journal needs."""
    if not count(session, Curve, Curve.log_file_id == file_id) and not count(
        session, WaitingLog, WaitingLog.log_file_id == file_id
    ):
        remove(session, get(session, LogFile, file_id))
