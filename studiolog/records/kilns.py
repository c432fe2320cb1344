"""Kilns and their levels."""

from datetime import date
from decimal import Decimal

from sqlalchemy.orm import Mapped, mapped_column

from studiolog.craft.words import KILN_TASKS, SHELF_SHAPES, TARIFF_DAYS
from studiolog.records.base import Money, Record, must, one_of, refers_to, table


class Kiln(Record):
    """A kiln: its power, thermocouple and tariff, and the shelves ware stands on.

    ``shelf_across_mm`` is a round shelf's diameter, a many-sided one's width across flats, a
    rectangular one's width; ``shelf_deep_mm`` its depth. ``posts_mm`` lists the heights of posts
    at hand ("50 75 100"). The thermocouple reaches in at ``probe_x``, ``probe_y`` (0 to 1 across
    the shelf, door at the bottom) and wants ``probe_clear_mm`` around it. ``worth_percent`` is how
    full the potter wants it before it is fired.
    """

    __tablename__ = "kiln"
    __table_args__ = table(
        must("name_given", "length(trim(name)) > 0"),
        must("power_possible", "power_kw > 0"),
        must("volume_possible", "volume_l > 0"),
        must("tariff_possible", "tariff_per_kwh >= 0"),
        must("across_possible", "shelf_across_mm > 0"),
        must("deep_possible", "shelf_deep_mm > 0"),
        must("chamber_possible", "chamber_height_mm > 0"),
        must("thick_possible", "shelf_thick_mm >= 0"),
        must("shelves_possible", "shelves >= 0"),
        must("half_shelves_possible", "half_shelves >= 0"),
        must("probe_inside", "probe_x BETWEEN 0 AND 1 AND probe_y BETWEEN 0 AND 1"),
        must("probe_clear_possible", "probe_clear_mm >= 0"),
        must("worth_possible", "worth_percent > 0 AND worth_percent <= 100"),
        one_of("shelf_shape", SHELF_SHAPES),
    )

    name: Mapped[str] = mapped_column(unique=True)
    power_kw: Mapped[float | None] = mapped_column(default=None)
    volume_l: Mapped[float | None] = mapped_column(default=None)
    shelf_across_mm: Mapped[float | None] = mapped_column(default=None)
    thermocouple_type: Mapped[str] = mapped_column(default="")
    thermocouple_offset_c: Mapped[float] = mapped_column(default=0.0)
    calibrated_from: Mapped[date | None] = mapped_column(default=None)
    tariff_per_kwh: Mapped[Decimal | None] = mapped_column(Money(5), default=None)
    notes: Mapped[str] = mapped_column(default="")
    archived: Mapped[bool] = mapped_column(default=False)
    shelf_shape: Mapped[str] = mapped_column(default="round")
    shelf_deep_mm: Mapped[float | None] = mapped_column(default=None)
    shelf_thick_mm: Mapped[float | None] = mapped_column(default=None)
    chamber_height_mm: Mapped[float | None] = mapped_column(default=None)
    posts_mm: Mapped[str] = mapped_column(default="")
    shelves: Mapped[int | None] = mapped_column(default=None)
    half_shelves: Mapped[int | None] = mapped_column(default=None)
    probe_x: Mapped[float | None] = mapped_column(default=None)
    probe_y: Mapped[float | None] = mapped_column(default=None)
    probe_clear_mm: Mapped[float | None] = mapped_column(default=None)
    worth_percent: Mapped[float | None] = mapped_column(default=None)


class KilnLevel(Record):
    """A level of a kiln where ware stands. Position 1 is the top.

    ``from_floor_mm`` is where it begins above the floor of the chamber: a shelf belongs to the
    level in which it stands.
    """

    __tablename__ = "kiln_level"
    __table_args__ = table(
        must("name_given", "length(trim(name)) > 0"), must("floor_possible", "from_floor_mm >= 0")
    )

    kiln_id: Mapped[int] = mapped_column(refers_to("kiln.id"), index=True)
    position: Mapped[int]
    name: Mapped[str]
    from_floor_mm: Mapped[float | None] = mapped_column(default=None)


class Tariff(Record):
    """What a kWh costs from a day on, all day long or in some hours.

    The rows of one kiln that begin on the same day belong together; where several cover an hour,
    the one with the fewest hours counts. Minutes are those of the wall clock; an end at or before
    the start is on the next day. ``valid_from`` None: since ever.
    """

    __tablename__ = "tariff"
    __table_args__ = table(
        must("price_possible", "per_kwh >= 0"),
        must("start_in_day", "starts_min >= 0 AND starts_min < 1440"),
        must("end_in_day", "ends_min > 0 AND ends_min <= 1440"),
        one_of("days", TARIFF_DAYS),
    )

    kiln_id: Mapped[int] = mapped_column(refers_to("kiln.id"), index=True)
    per_kwh: Mapped[Decimal] = mapped_column(Money(5))
    valid_from: Mapped[date | None] = mapped_column(default=None)
    days: Mapped[str] = mapped_column(default="every")
    starts_min: Mapped[int] = mapped_column(default=0)
    ends_min: Mapped[int] = mapped_column(default=1440)


class KilnTask(Record):
    """Upkeep of a kiln: done on a day, or still to do, due by a day or after so many firings.

    New elements or a new thermocouple, once done, start a new calibration of the kiln.
    """

    __tablename__ = "kiln_task"
    __table_args__ = table(
        one_of("task", KILN_TASKS),
        must("firings_possible", "due_after_firings > 0"),
        must("again_days_possible", "repeat_days > 0"),
        must("again_firings_possible", "repeat_firings > 0"),
    )

    kiln_id: Mapped[int] = mapped_column(refers_to("kiln.id"), index=True)
    task: Mapped[str]
    noted_on: Mapped[date]
    note: Mapped[str] = mapped_column(default="")
    done_on: Mapped[date | None] = mapped_column(default=None)
    due_on: Mapped[date | None] = mapped_column(default=None)
    due_after_firings: Mapped[int | None] = mapped_column(default=None)
    repeat_days: Mapped[int | None] = mapped_column(default=None)
    repeat_firings: Mapped[int | None] = mapped_column(default=None)
