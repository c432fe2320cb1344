"""Temperature logs as a firing keeps them: from a file that was read, or typed by hand."""

from __future__ import annotations

import hashlib
from collections.abc import Sequence
from datetime import datetime, timedelta
from typing import Any

from sqlalchemy import select
from sqlalchemy.orm import Session

from studiolog.craft.firing.cleaning import clean_curve, trust_curve
from studiolog.craft.firing.heatwork import estimate_cone
from studiolog.craft.limits import SHIPPED, Limits
from studiolog.journal.firings import CurveDraft, LogDraft, change_firing, keep_log
from studiolog.problems import UserProblem
from studiolog.records.firings import Curve, Firing, LogFile
from studiolog.transfer.curve_blob import pack_readings
from studiolog.transfer.left_out import LeftOut, left_out_of, pack_left_out
from studiolog.transfer.temperature_log import LogReading

TYPED = "typed"
"""The channel of readings that were typed by hand."""


def wall_clock(start: datetime | None) -> datetime | None:
    """The studio's wall clock of a log's start: a stamp in UTC is turned, a local one taken."""
    if start is None or start.tzinfo is None:
        return start
    if start.utcoffset() == timedelta(0):
        start = start.astimezone()
    return start.replace(tzinfo=None)


def log_from_reading(
    reading: LogReading,
    content: bytes,
    *,
    reduction: bool = False,
    started_at: datetime | None = None,
    limits: Limits = SHIPPED,
) -> LogDraft:
    """A log that was read from a file, ready to be kept: every channel packed, heat-work beside.

    What the reader set aside of each channel is packed beside what it kept, with the reasons; the
    original file is kept too. ``limits`` are the studio's, for gaps and flags of the heat-work.
    """
    curves: list[CurveDraft] = []
    for name, channel in zip(_names(reading), reading.channels, strict=True):
        main = channel is reading.primary
        curves.append(
            _curve_draft(
                name,
                channel.elapsed_s,
                channel.temperature_c,
                role=channel.role,
                main=main,
                left_out=left_out_of(channel),
                notes="\n".join(note.sentence for note in reading.notes) if main else "",
                reduction=reduction,
                limits=limits,
            )
        )
    return LogDraft(
        sha256=reading.sha256,
        name=reading.name,
        content=content,
        curves=tuple(curves),
        started_at=started_at or wall_clock(reading.start),
    )


def log_from_typed(readings: Sequence[tuple[float, float]], *, reduction: bool = False) -> LogDraft:
    """Readings typed by hand, as (seconds since the start, °C), ready to be kept.

    Raises UserProblem for fewer than two, or two at the same time.
    """
    ordered = sorted(readings)
    times = [at_s for at_s, _ in ordered]
    if len(ordered) < 2:
        raise UserProblem("A curve needs at least two readings: type a time and a temperature.")
    if len(set(times)) < len(times):
        raise UserProblem("Two readings have the same time: change one of them.")
    lines = ["elapsed_s,temperature_c", *(f"{at_s:g},{value:g}" for at_s, value in ordered), ""]
    content = "\n".join(lines).encode()
    curve = _curve_draft(
        TYPED,
        times,
        [value for _, value in ordered],
        role="measured",
        main=True,
        notes="Typed by hand.",
        reduction=reduction,
    )
    digest = hashlib.sha256(content).hexdigest()
    return LogDraft(sha256=digest, name="typed readings", content=content, curves=(curve,))


def keep_log_file(
    session: Session, firing_id: int, log: LogDraft, *, set_start: bool = False
) -> None:
    """Keep a log with a firing; with ``set_start`` the firing starts when the log does."""
    keep_log(session, firing_id, log)
    if set_start and log.started_at is not None:
        firing = session.get(Firing, firing_id)
        ended = firing.ended_at if firing is not None else None
        if ended is not None and ended < log.started_at:
            ended = None
        change_firing(session, firing_id, started_at=log.started_at, ended_at=ended)


def find_log(session: Session, sha256: str) -> int | None:
    """The number of the firing that already has this very file as its log, or None."""
    return session.scalar(
        select(Firing.number)
        .join(Curve, Curve.firing_id == Firing.id)
        .join(LogFile, LogFile.id == Curve.log_file_id)
        .where(LogFile.sha256 == sha256)
        .limit(1)
    )


def _names(reading: LogReading) -> list[str]:
    """The channels' names, each once: a firing keeps them apart by name."""
    names: list[str] = []
    for channel in reading.channels:
        name, again = channel.name or "temperature", 2
        while name in names:
            name, again = f"{channel.name} {again}", again + 1
        names.append(name)
    return names


def _curve_draft(
    channel: str,
    elapsed_s: Any,
    temperature_c: Any,
    *,
    role: str,
    main: bool,
    notes: str,
    reduction: bool,
    left_out: LeftOut | None = None,
    limits: Limits = SHIPPED,
) -> CurveDraft:
    count = len(elapsed_s)
    aside = left_out.elapsed_s.size if left_out is not None else 0
    heat = role in ("measured", "setpoint")
    cone = low = high = None
    flags = ""
    clean = trust_curve if channel == TYPED else clean_curve
    if main and count >= 2 and (curve := clean(elapsed_s, temperature_c)).elapsed_s.size >= 2:
        # The interval is kept by the shipped sigma; see `level_heat.CurveCone`.
        sigma_c = SHIPPED["sigma_bare_c"]
        estimate = estimate_cone(curve, reduction=reduction, sigma_c=sigma_c, limits=limits)
        cone, low, high = estimate.number, estimate.low, estimate.high
        flags = ",".join(estimate.flags)
    return CurveDraft(
        channel=channel,
        packed=pack_readings(elapsed_s, temperature_c),
        readings=count,
        duration_s=float(elapsed_s[-1] - elapsed_s[0]) if count else 0.0,
        role=role,
        main=main,
        readings_dropped=aside,
        peak_c=float(max(temperature_c)) if heat and count else None,
        cone=cone,
        cone_low=low,
        cone_high=high,
        flags=flags,
        reading_notes=notes,
        left_out=pack_left_out(left_out.elapsed_s, left_out.values, left_out.reasons)
        if left_out is not None and aside
        else None,
    )
