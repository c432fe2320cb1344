"""A log file as it comes in by itself or with a folder: read without asking, nothing stored yet."""

from __future__ import annotations

import hashlib
import zlib
from collections.abc import Container
from dataclasses import dataclass
from datetime import datetime
from pathlib import Path
from typing import TYPE_CHECKING

from studiolog.journal.firing_log import wall_clock
from studiolog.problems import LogUnreadable, UserProblem
from studiolog.transfer.curve_blob import pack_readings
from studiolog.transfer.curve_report import estimate_cone_of
from studiolog.transfer.log_folder import find_reason_to_skip
from studiolog.transfer.log_sense import find_why_no_firing
from studiolog.transfer.temperature_log import LogReading, read_temperature_log

if TYPE_CHECKING:
    from studiolog.craft.firing.heatwork import ConeEstimate


@dataclass(frozen=True, kw_only=True)
class IncomingLog:
    """A log that was read: what is kept of it while it waits. Times are the studio's wall clock.

    ``content`` is compressed; ``packed`` its main curve; ``questions`` the sentences the reader
    still asks.
    """

    sha256: str
    name: str
    content: bytes
    came_from: str
    starts_at: datetime | None
    written_at: datetime | None
    readings: int
    duration_s: float
    peak_c: float
    packed: bytes
    cone: float | None = None
    cone_low: float | None = None
    cone_high: float | None = None
    questions: tuple[str, ...] = ()


@dataclass(frozen=True)
class IncomingFile:
    """What came of a file: the log, or the sentence why there is none.

    ``skipped`` says that nobody would take it for a log: it was not even read. ``known`` is its
    hash where the journal has the very file: it was not read again.
    """

    path: Path
    log: IncomingLog | None
    problem: str = ""
    skipped: bool = False
    known: str = ""


def read_incoming(path: Path, known: Container[str] = ()) -> IncomingFile:
    """Read a log file; whatever is wrong with it comes back as a sentence.

    ``known`` are the hashes of the files the journal has: those are not read a second time.
    Raises nothing a person could mend: it is told in ``problem``.
    """
    reason = find_reason_to_skip(path)
    if reason is not None:
        return IncomingFile(path, None, reason, skipped=True)
    try:
        content = path.read_bytes()
        written_at = datetime.fromtimestamp(path.stat().st_mtime)
    except (OSError, OverflowError, ValueError) as problem:
        why = getattr(problem, "strerror", None) or problem
        return IncomingFile(path, None, f"It cannot be opened ({why}): check its permissions.")
    sha256 = hashlib.sha256(content).hexdigest()
    if sha256 in known:
        return IncomingFile(path, None, known=sha256)
    try:
        reading = read_temperature_log(content, path.name)
        log = incoming_log(reading, content, came_from=str(path.parent), written_at=written_at)
    except UserProblem as problem:
        return IncomingFile(path, None, problem.sentence)
    return IncomingFile(path, log)


def incoming_log(
    reading: LogReading, content: bytes, *, came_from: str = "", written_at: datetime | None = None
) -> IncomingLog:
    """A reading as it is kept while it waits.

    Raises `LogUnreadable` where the numbers can be no firing: a list of pictures has columns too.
    """
    reason = find_why_no_firing(reading)
    if reason:
        raise LogUnreadable(reason)
    main = reading.primary
    estimate: ConeEstimate | None = estimate_cone_of(reading)
    return IncomingLog(
        sha256=reading.sha256,
        name=reading.name,
        content=zlib.compress(content, 9),
        came_from=came_from,
        starts_at=wall_clock(reading.start),
        written_at=written_at,
        readings=reading.rows_kept,
        duration_s=float(main.elapsed_s[-1] - main.elapsed_s[0]),
        peak_c=reading.peak_c,
        packed=pack_readings(main.elapsed_s, main.temperature_c),
        cone=estimate.number if estimate is not None else None,
        cone_low=estimate.low if estimate is not None else None,
        cone_high=estimate.high if estimate is not None else None,
        questions=tuple(question.sentence for question in reading.questions),
    )
