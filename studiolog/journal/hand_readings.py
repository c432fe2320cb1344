"""Readings taken by hand while a firing runs: kept one by one, asked for again, ended."""

from collections.abc import Sequence
from dataclasses import dataclass, replace
from datetime import datetime, timedelta
from typing import Any

from sqlalchemy import select
from sqlalchemy.orm import Session

from studiolog.craft.firing.program import Segment, find_problems
from studiolog.craft.firing.set_point import set_point_c
from studiolog.craft.limits import SHIPPED, Limits
from studiolog.craft.units import MINUS, show_temperature, show_temperature_step
from studiolog.journal.firing_log import TYPED, log_from_typed
from studiolog.journal.firings import CurveDraft, change_firing
from studiolog.journal.limits import read_limits
from studiolog.journal.reading_words import (
    HandReading,
    clean_note,
    join_notes,
    notes_of,
)
from studiolog.journal.writing import add, change, get, remove_all
from studiolog.problems import UserProblem
from studiolog.records.firings import Curve, Firing, FiringSegment
from studiolog.records.programs import Program
from studiolog.transfer.curve_blob import pack_readings, unpack_readings

_OFTENEST_MIN, _RAREST_MIN = 1, 24 * 60
_SOON_S = 60.0
_PAST_PEAK_C = 100.0  # judgement: so far below it, the peak is past


@dataclass(frozen=True)
class RunningFiring:
    """A firing that runs and is read by hand every so many minutes, and how it was read last."""

    firing_id: int
    number: int
    heading: str
    started_at: datetime
    every_min: int
    last: HandReading | None
    segments: tuple[Segment, ...]

    @property
    def last_at(self) -> datetime:
        """When it was read last; its start, if it never was."""
        if self.last is None:
            return self.started_at
        return self.started_at + timedelta(seconds=self.last.at_s)

    @property
    def due_at(self) -> datetime:
        """When the next reading is due."""
        return self.last_at + timedelta(minutes=self.every_min)


def runs_now(
    started_at: datetime,
    ended_at: datetime | None,
    channels: Sequence[str],
    last_s: float | None,
    now: datetime,
    limits: Limits = SHIPPED,
) -> bool:
    """Whether a firing runs and may be read by hand: started, not ended, and no log file kept.

    ``channels`` are those of its curves, ``last_s`` the seconds of its last reading. One that
    nobody ended counts as over some days after its last sign of life.
    """
    if ended_at is not None or started_at > now or any(name != TYPED for name in channels):
        return False
    alive = started_at + timedelta(seconds=last_s or 0.0)
    return now - alive <= timedelta(days=limits["hand_days"])


def add_reading(
    session: Session,
    firing_id: int,
    at: datetime,
    temperature_c: float,
    note: str = "",
    unit: str = "C",
) -> None:
    """Keep one more reading of a running firing, after those it has.

    ``unit`` is the one problems are told in. Raises `UserProblem` for a reading before the start
    or not after the last one, and for a firing that has ended or has a log from a file.
    """
    firing = get(session, Firing, firing_id)
    if firing.ended_at is not None:
        raise UserProblem(
            f"Firing {firing.number} ended at {say_clock(firing.ended_at, at)}: put what is "
            "missing into its readings with “All readings”."
        )
    if at < firing.started_at:
        raise UserProblem(
            f"{say_clock(at, firing.started_at)} is before firing {firing.number} started, at "
            f"{say_clock(firing.started_at, at)}."
        )
    readings = read_hand_readings(session, firing_id)
    at_s = (at - firing.started_at).total_seconds()
    if readings and at_s <= readings[-1].at_s:
        last_at = firing.started_at + timedelta(seconds=readings[-1].at_s)
        heat = show_temperature(readings[-1].temperature_c, unit)
        same = any(abs(one.at_s - at_s) < 1.0 for one in readings)
        raise UserProblem(
            (
                f"There is a reading at {say_clock(at, last_at)} already: correct it"
                if same
                else f"{say_clock(at, last_at)} is before the last reading, {heat} at "
                f"{say_clock(last_at, at)}: put it in between"
            )
            + " with “All readings”."
        )
    more = (*readings, HandReading(at_s, temperature_c, note))
    set_hand_readings(session, firing_id, more, running=True)


def set_hand_readings(
    session: Session,
    firing_id: int,
    readings: Sequence[HandReading],
    *,
    replace_log: bool = False,
    running: bool = False,
) -> None:
    """Write the readings of a firing that were taken by hand; none takes its curve away.

    While it is ``running`` and still climbs no cone is told from them: the heat to come is missing.

    Raises `UserProblem` for two at the same time, and for a firing with a log from a file, unless
    it is to be replaced.
    """
    firing = get(session, Firing, firing_id)
    ordered = sorted(readings, key=lambda one: one.at_s)
    curves = list(session.scalars(select(Curve).where(Curve.firing_id == firing_id)))
    others = [curve for curve in curves if curve.channel != TYPED]
    if others and not replace_log:
        raise UserProblem(
            f"Firing {firing.number} has a log from a file. Take the log off before typing "
            "readings by hand."
        )
    if others:
        remove_all(session, Curve, Curve.firing_id == firing_id, Curve.channel != TYPED)
    if not ordered:
        remove_all(session, Curve, Curve.firing_id == firing_id)
        return
    draft = _curve_of(ordered, reduction=firing.atmosphere == "reduction")
    peak_c = max(one.temperature_c for one in ordered)
    if running and ordered[-1].temperature_c > peak_c - _PAST_PEAK_C:
        draft = replace(draft, cone=None, cone_low=None, cone_high=None, flags="")
    fields: dict[str, Any] = {
        "packed": draft.packed,
        "readings": draft.readings,
        "duration_s": draft.duration_s,
        "peak_c": draft.peak_c,
        "cone": draft.cone,
        "cone_low": draft.cone_low,
        "cone_high": draft.cone_high,
        "flags": draft.flags,
        "reading_notes": notes_of(ordered),
        # What was typed is the original: there is no file behind it.
        "log_file_id": None,
    }
    stored = next((curve for curve in curves if curve.channel == TYPED), None)
    if stored is None:
        add(session, Curve(firing_id=firing_id, channel=TYPED, **fields))
    else:
        change(session, Curve, stored.id, main=True, **fields)


def _curve_of(ordered: Sequence[HandReading], *, reduction: bool) -> CurveDraft:
    pairs = [(one.at_s, one.temperature_c) for one in ordered]
    for one in ordered:
        clean_note(one.note)
    if len(pairs) > 1:
        return log_from_typed(pairs, reduction=reduction).curves[0]
    # One reading is no curve yet, and still must not be lost.
    (at_s, heat_c), *_ = pairs
    return CurveDraft(
        channel=TYPED,
        packed=pack_readings([at_s], [heat_c]),
        readings=1,
        duration_s=0.0,
        peak_c=heat_c,
    )


def read_hand_readings(session: Session, firing_id: int) -> tuple[HandReading, ...]:
    """The readings of a firing that were taken by hand, in order of time."""
    row = session.execute(
        select(Curve.packed, Curve.reading_notes).where(
            Curve.firing_id == firing_id, Curve.channel == TYPED
        )
    ).first()
    return _unpack(row.packed, row.reading_notes) if row is not None else ()


def _unpack(packed: bytes, notes: str) -> tuple[HandReading, ...]:
    at_s, at_c = unpack_readings(packed)
    return join_notes(zip(at_s.tolist(), at_c.tolist(), strict=True), notes.splitlines())


def set_reminder(session: Session, firing_id: int, every_min: float | None) -> None:
    """Ask to be reminded to read every so many minutes; None asks for nothing.

    Raises `UserProblem` for a time no one could keep.
    """
    if every_min is not None and not _OFTENEST_MIN <= every_min <= _RAREST_MIN:
        sentence = f"Ask for a reading every {_OFTENEST_MIN} to {_RAREST_MIN} minutes."
        raise UserProblem(sentence, {"read_every_min": sentence})
    whole = None if every_min is None else round(every_min)
    change_firing(session, firing_id, read_every_min=whole)


def end_firing(session: Session, firing_id: int, at: datetime) -> None:
    """Say that a firing has ended. Raises `UserProblem` for an end before its last reading."""
    firing = get(session, Firing, firing_id)
    readings = read_hand_readings(session, firing_id)
    if readings:
        last_at = firing.started_at + timedelta(seconds=readings[-1].at_s)
        if at < last_at:
            raise UserProblem(
                f"The last reading is from {say_clock(last_at, at)}, after "
                f"{say_clock(at, last_at)}."
            )
    change_watched_firing(session, firing_id, ended_at=at)


def change_watched_firing(
    session: Session, firing_id: int, version: int | None = None, **fields: Any
) -> None:
    """Change fields of a firing; with its end, what was read by hand tells its cone.

    Raises `UserProblem` as `change_firing` does.
    """
    ended_at = get(session, Firing, firing_id).ended_at
    change_firing(session, firing_id, version, **fields)
    ends_now = fields.get("ended_at") is not None and ended_at is None
    if ends_now and (readings := read_hand_readings(session, firing_id)):
        set_hand_readings(session, firing_id, readings)


def list_watched(session: Session, now: datetime) -> tuple[RunningFiring, ...]:
    """The firings that run now and are to be read every so often, in order of number."""
    limits = read_limits(session)
    rows = session.execute(
        select(Firing, Program.name)
        .outerjoin(Program, Program.id == Firing.program_id)
        .where(Firing.ended_at.is_(None), Firing.read_every_min.is_not(None))
        .order_by(Firing.number)
    ).all()
    found: list[RunningFiring] = []
    for firing, program in rows:
        curves = session.execute(
            select(Curve.channel, Curve.packed, Curve.reading_notes).where(
                Curve.firing_id == firing.id
            )
        ).all()
        typed = next((row for row in curves if row.channel == TYPED), None)
        readings = _unpack(typed.packed, typed.reading_notes) if typed is not None else ()
        last = readings[-1] if readings else None
        channels = [row.channel for row in curves]
        last_s = last.at_s if last is not None else None
        if not runs_now(firing.started_at, None, channels, last_s, now, limits):
            continue
        segments = session.scalars(
            select(FiringSegment)
            .where(FiringSegment.firing_id == firing.id)
            .order_by(FiringSegment.position)
        )
        found.append(
            RunningFiring(
                firing.id,
                firing.number,
                firing.title or program or "",
                firing.started_at,
                int(firing.read_every_min or 0),
                last,
                tuple(Segment(s.rate_c_per_h, s.target_c, s.hold_min) for s in segments),
            )
        )
    return tuple(found)


@dataclass(frozen=True, slots=True)
class Asked:
    """What a program asks at a moment, and whether it lets the kiln cool then."""

    temperature_c: float
    falls: bool


def ask_program(segments: Sequence[Segment], started_at: datetime, at: datetime) -> Asked | None:
    """What the program asks at a moment; None without one, before its start and after its end."""
    if not segments or find_problems(segments):
        return None
    elapsed_s = (at - started_at).total_seconds()
    asks_c = set_point_c(segments, elapsed_s)
    if asks_c is None:
        return None
    soon_c = set_point_c(segments, elapsed_s + _SOON_S)
    return Asked(asks_c, soon_c is not None and soon_c < asks_c)


def say_against(heat_c: float, asked: Asked | None, unit: str) -> str:
    """A reading against what the program asks: "12 °C behind the program"; "" without one."""
    if asked is None:
        return ""
    step = show_temperature_step(heat_c - asked.temperature_c, unit)
    more, less = ("above", "below") if asked.falls else ("ahead of", "behind")
    if step[0] == "+":
        return f"{step[1:]} {more} the program"
    return f"{step[1:]} {less} the program" if step[0] == MINUS else "with the program"


def say_clock(at: datetime, beside: datetime) -> str:
    """ "14:20"; with the day where it is another than that beside it."""
    return f"{at:%H:%M}" if at.date() == beside.date() else f"{at.day} {at:%b} {at:%H:%M}"
