"""What a temperature log gives once read, and what a potter may correct before it is saved."""

from dataclasses import dataclass, field
from datetime import datetime
from enum import IntEnum
from typing import Literal

import numpy as np
from numpy.typing import NDArray

Floats = NDArray[np.float64]
Reasons = NDArray[np.int8]

ColumnRole = Literal["measured", "setpoint", "duty", "ignored"]
ChannelRole = Literal["measured", "setpoint", "duty", "other"]
Unit = Literal["C", "F", "K"]
DateOrder = Literal["day first", "month first", "year first"]
TimeKind = Literal[
    "elapsed ms",
    "elapsed s",
    "elapsed min",
    "elapsed h",
    "elapsed days",
    "elapsed h:mm",
    "elapsed m:ss",
    "clock",
    "timestamp",
    "epoch s",
    "epoch ms",
    "epoch us",
    "epoch ns",
    "serial days",
    "row count",
]


@dataclass(frozen=True)
class Choices:
    """The potter's corrections; None leaves a matter to the reader.

    ``columns`` maps a column's name to its role. ``header_row`` counts lines of the file from 1;
    0 says there is no header. ``restart_gap_s`` is how long the logger was off at each restart,
    in seconds; ``sampling_s`` the time between rows of a file that holds no time at all.
    ``clock_change`` True takes a one-hour step as a change to or from summer time.
    """

    encoding: str | None = None
    separator: str | None = None
    decimal_mark: Literal[".", ","] | None = None
    header_row: int | None = None
    time_column: str | None = None
    date_order: DateOrder | None = None
    time_kind: TimeKind | None = None
    unit: Unit | None = None
    columns: dict[str, ColumnRole] = field(default_factory=dict)
    restart_gap_s: float | None = None
    start: datetime | None = None
    primary_channel: str | None = None
    sampling_s: float | None = None
    clock_change: bool | None = None


class Reason(IntEnum):
    """Why a raw reading is not among the kept ones; 0 says that it is."""

    KEPT = 0
    MISSING = 1
    OUT_OF_RANGE = 2
    OPEN_CIRCUIT = 3
    SPIKE = 4
    DUPLICATE = 5
    SAME_STAMP = 6


@dataclass(frozen=True)
class Note:
    """Something done or found while reading. ``line`` counts lines of the file from 1."""

    kind: str
    sentence: str
    line: int | None = None


@dataclass(frozen=True)
class Question:
    """What the reader will not decide silently; ``proposed`` is one of ``options``.

    ``key`` names the field of `Choices` that answers it: unit, date_order, restart_gap_s, start,
    primary_channel, time_kind, sampling_s, clock_change.
    """

    key: str
    sentence: str
    options: tuple[str, ...]
    proposed: str


@dataclass(frozen=True)
class Understood:
    """One line of the preview: what was taken how, and on what evidence."""

    what: str
    how: str
    evidence: str


@dataclass(frozen=True)
class ColumnTaken:
    """What a column of the file was taken to be."""

    name: str
    taken_as: Literal["time", "date", "channel", "measured", "setpoint", "duty", "other", "ignored"]
    unit: str
    evidence: str


@dataclass(frozen=True, eq=False)
class LogChannel:
    """One curve of the file.

    ``elapsed_s`` and ``temperature_c`` hold the kept readings in order of time, seconds since the
    reading's start and °C; for duty and other channels ``temperature_c`` holds the plain values
    (per cent, say). The ``raw_`` arrays hold every reading, NaN where the cell was missing, with
    the `Reason` for which it was left out.
    """

    name: str
    role: ChannelRole
    unit: str
    elapsed_s: Floats
    temperature_c: Floats
    raw_elapsed_s: Floats
    raw_temperature_c: Floats
    raw_reason: Reasons

    @property
    def peak_c(self) -> float | None:
        return float(self.temperature_c.max()) if self.temperature_c.size else None


@dataclass(frozen=True, eq=False)
class LogReading:
    """A log as read: nothing is stored yet, and nothing of the file is lost.

    ``start`` has a zone when the file names one, is naive local time when it does not, and None
    when the file has no date. ``unit`` is the unit the temperatures were taken in (C, F or K);
    an open question ``unit`` means that nobody has said so yet. ``rows_kept`` counts readings of
    the primary channel, those repaired among them; ``rows_dropped`` those left out, each with a
    reason. ``gaps`` are stretches over ten minutes without a reading, in seconds.
    """

    name: str
    sha256: str
    channels: tuple[LogChannel, ...]
    primary: LogChannel
    start: datetime | None
    duration_h: float
    sampling_s: float
    unit: Unit
    rows_kept: int
    rows_repaired: int
    rows_dropped: int
    notes: tuple[Note, ...]
    questions: tuple[Question, ...]
    understood: tuple[Understood, ...]
    gaps: tuple[tuple[float, float], ...]
    columns: tuple[ColumnTaken, ...]
    preview_rows: tuple[tuple[str, ...], ...]
    encoding: str
    separator: str
    decimal_mark: str
    time_kind: TimeKind

    @property
    def peak_c(self) -> float:
        """Highest kept temperature of the primary channel, °C."""
        return float(self.primary.temperature_c.max())

    def question(self, key: str) -> Question | None:
        """The open question of that key, or None when it is settled."""
        return next((asked for asked in self.questions if asked.key == key), None)
