"""The studio's own name, the questions it keeps, and the limits it has set for itself."""

from datetime import date
from decimal import Decimal

from sqlalchemy.orm import Mapped, mapped_column

from studiolog.records.base import Money, Record, must, table


class Studio(Record):
    """One row: whose journal this is, in which currency it counts, and when it works.

    ``work_days`` are the days of a usual week, Monday as 1: "12345"; "" where nobody said.
    """

    __tablename__ = "studio"
    __table_args__ = table(
        must("hours_possible", "hours_a_day > 0 AND hours_a_day <= 24"),
        must("rate_possible", "hour_rate >= 0"),
    )

    name: Mapped[str] = mapped_column(default="")
    currency: Mapped[str] = mapped_column(default="")
    work_days: Mapped[str] = mapped_column(default="")
    hours_a_day: Mapped[float | None] = mapped_column(default=None)
    hour_rate: Mapped[Decimal | None] = mapped_column(Money, default=None)


class Away(Record):
    """Days nobody works in the studio, the first and the last of them included."""

    __tablename__ = "away"
    __table_args__ = table(must("days_in_order", "first_on <= last_on"))

    first_on: Mapped[date]
    last_on: Mapped[date]
    why: Mapped[str] = mapped_column(default="")


class KeptQuestion(Record):
    """A question kept under a name, as the sentence the question reader understands."""

    __tablename__ = "kept_question"
    __table_args__ = table(must("name_given", "length(trim(name)) > 0"))

    name: Mapped[str] = mapped_column(unique=True)
    sentence: Mapped[str]


class Limit(Record):
    """A limit the potter changed; one that has no row is as shipped (``craft.limits``)."""

    __tablename__ = "limit_changed"

    key: Mapped[str] = mapped_column(unique=True)
    value: Mapped[float]
