"""Firings: what was planned, what was logged, what the cones read."""

from datetime import datetime

from sqlalchemy import LargeBinary, UniqueConstraint
from sqlalchemy.orm import Mapped, mapped_column

from studiolog.craft.words import ATMOSPHERES, FIRING_KINDS
from studiolog.records.base import Record, must, one_of, refers_to, table


class Firing(Record):
    """One firing of one kiln. Times are the studio's wall clock.

    ``kwh`` is what a meter said the firing used; else the stand of the meter before and after may
    be known. ``read_every_min`` asks to be reminded while readings are typed by hand.
    """

    __tablename__ = "firing"
    __table_args__ = table(
        must("number_positive", "number > 0"),
        must("energy_possible", "kwh >= 0"),
        must("meter_forward", "meter_after_kwh >= meter_before_kwh"),
        must("reminder_possible", "read_every_min > 0"),
        must("times_in_order", "ended_at >= started_at"),
        one_of("kind", FIRING_KINDS),
        one_of("atmosphere", ATMOSPHERES),
    )

    number: Mapped[int] = mapped_column(unique=True)
    kiln_id: Mapped[int] = mapped_column(refers_to("kiln.id"), index=True)
    started_at: Mapped[datetime] = mapped_column(index=True)
    program_id: Mapped[int | None] = mapped_column(
        refers_to("program.id"), index=True, default=None
    )
    title: Mapped[str] = mapped_column(default="")
    kind: Mapped[str] = mapped_column(default="glaze")
    cone: Mapped[str | None] = mapped_column(default=None)
    atmosphere: Mapped[str] = mapped_column(default="oxidation")
    ended_at: Mapped[datetime | None] = mapped_column(default=None)
    kwh: Mapped[float | None] = mapped_column(default=None)
    meter_before_kwh: Mapped[float | None] = mapped_column(default=None)
    meter_after_kwh: Mapped[float | None] = mapped_column(default=None)
    read_every_min: Mapped[int | None] = mapped_column(default=None)
    notes: Mapped[str] = mapped_column(default="")
    lesson: Mapped[str] = mapped_column(default="")
    next_time: Mapped[str] = mapped_column(default="")


class FiringSegment(Record):
    """A segment as it was programmed for this firing; later changes of the program leave it."""

    __tablename__ = "firing_segment"
    __table_args__ = table(
        must("rate_positive", "rate_c_per_h > 0"),
        must("target_possible", "target_c BETWEEN 0 AND 1450"),
        must("hold_possible", "hold_min >= 0"),
    )

    firing_id: Mapped[int] = mapped_column(refers_to("firing.id"), index=True)
    position: Mapped[int]
    target_c: Mapped[float]
    rate_c_per_h: Mapped[float | None] = mapped_column(default=None)
    hold_min: Mapped[float] = mapped_column(default=0.0)


class LogFile(Record):
    """The bytes of a temperature log as they came, compressed; the same file is kept once."""

    __tablename__ = "log_file"

    sha256: Mapped[str] = mapped_column(unique=True)
    name: Mapped[str]
    content: Mapped[bytes] = mapped_column(LargeBinary)


class Curve(Record):
    """One channel of a logged temperature curve, packed (see ``transfer.curve_blob``).

    ``left_out`` packs the readings that the log reader set aside, each with its reason, so that
    nothing of a log is hidden (``transfer.left_out``); None if there were none.

    The heat-work of the curve is kept beside it so that a list needs no unpacking: the cone on
    the ordinal scale with its interval, and its flags as comma-separated keys.
    """

    __tablename__ = "curve"
    __table_args__ = table(
        UniqueConstraint("firing_id", "channel"),
        must("readings_counted", "readings >= 0"),
        one_of("role", ("measured", "setpoint", "duty", "other")),
    )

    firing_id: Mapped[int] = mapped_column(refers_to("firing.id"), index=True)
    channel: Mapped[str]
    packed: Mapped[bytes] = mapped_column(LargeBinary)
    readings: Mapped[int]
    duration_s: Mapped[float]
    log_file_id: Mapped[int | None] = mapped_column(
        refers_to("log_file.id"), index=True, default=None
    )
    role: Mapped[str] = mapped_column(default="measured")
    main: Mapped[bool] = mapped_column(default=True)
    readings_dropped: Mapped[int] = mapped_column(default=0)
    peak_c: Mapped[float | None] = mapped_column(default=None)
    cone: Mapped[float | None] = mapped_column(default=None)
    cone_low: Mapped[float | None] = mapped_column(default=None)
    cone_high: Mapped[float | None] = mapped_column(default=None)
    flags: Mapped[str] = mapped_column(default="")
    reading_notes: Mapped[str] = mapped_column(default="")
    left_out: Mapped[bytes | None] = mapped_column(LargeBinary, default=None)


class WaitingLog(Record):
    """A log that came in by itself or with a folder: a firing that waits to be described.

    What the log reader understood stands beside it, so that the list needs no reading;
    ``questions`` are the sentences it still asks, a line each. ``packed`` is its main curve (see
    ``transfer.curve_blob``), ``written_at`` when the file was last written to. One that was set
    aside is no firing, and is known again when it comes a second time.
    """

    __tablename__ = "waiting_log"
    __table_args__ = table(must("readings_counted", "readings >= 0"))

    log_file_id: Mapped[int] = mapped_column(refers_to("log_file.id"), unique=True)
    came_at: Mapped[datetime]
    came_from: Mapped[str] = mapped_column(default="")
    starts_at: Mapped[datetime | None] = mapped_column(default=None)
    readings: Mapped[int] = mapped_column(default=0)
    duration_s: Mapped[float] = mapped_column(default=0.0)
    peak_c: Mapped[float | None] = mapped_column(default=None)
    cone: Mapped[float | None] = mapped_column(default=None)
    cone_low: Mapped[float | None] = mapped_column(default=None)
    cone_high: Mapped[float | None] = mapped_column(default=None)
    questions: Mapped[str] = mapped_column(default="")
    written_at: Mapped[datetime | None] = mapped_column(default=None)
    packed: Mapped[bytes] = mapped_column(LargeBinary, default=b"")
    set_aside: Mapped[bool] = mapped_column(default=False)


class ConePack(Record):
    """Witness cones set together at one level."""

    __tablename__ = "cone_pack"

    firing_id: Mapped[int] = mapped_column(refers_to("firing.id"), index=True)
    level_id: Mapped[int] = mapped_column(refers_to("kiln_level.id"), index=True)
    place: Mapped[str] = mapped_column(default="")
    note: Mapped[str] = mapped_column(default="")


class ConeReading(Record):
    """The bend read from one witness cone, as an interval in degrees; 90° is the end point.

    ``said`` keeps the reading as it was given: "66°", "4 o'clock", "tip touching".
    """

    __tablename__ = "cone_reading"
    __table_args__ = table(
        UniqueConstraint("pack_id", "cone"),
        must("bend_possible", "bend_low_deg >= 0 AND bend_high_deg <= 180"),
        must("bend_in_order", "bend_low_deg <= bend_high_deg"),
        must("cone_given", "length(trim(cone)) > 0"),
    )

    pack_id: Mapped[int] = mapped_column(refers_to("cone_pack.id"), index=True)
    cone: Mapped[str]
    bend_low_deg: Mapped[float]
    bend_high_deg: Mapped[float]
    said: Mapped[str] = mapped_column(default="")
