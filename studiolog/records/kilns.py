"""Kilns and their levels."""

from datetime import date

from sqlalchemy.orm import Mapped, mapped_column

from studiolog.records.base import Record, must, refers_to, table


class Kiln(Record):
    """A kiln: its power, thermocouple and tariff."""

    __tablename__ = "kiln"
    __table_args__ = table(
        must("name_given", "length(trim(name)) > 0"),
        must("power_possible", "power_kw > 0"),
        must("volume_possible", "volume_l > 0"),
        must("tariff_possible", "tariff_per_kwh >= 0"),
        must("across_possible", "shelf_across_mm > 0"),
    )

    name: Mapped[str] = mapped_column(unique=True)
    power_kw: Mapped[float | None] = mapped_column(default=None)
    volume_l: Mapped[float | None] = mapped_column(default=None)
    shelf_across_mm: Mapped[float | None] = mapped_column(default=None)
    thermocouple_type: Mapped[str] = mapped_column(default="")
    thermocouple_offset_c: Mapped[float] = mapped_column(default=0.0)
    calibrated_from: Mapped[date | None] = mapped_column(default=None)
    tariff_per_kwh: Mapped[float | None] = mapped_column(default=None)
    notes: Mapped[str] = mapped_column(default="")
    archived: Mapped[bool] = mapped_column(default=False)


class KilnLevel(Record):
    """A level of a kiln where ware stands. Position 1 is the top."""

    __tablename__ = "kiln_level"
    __table_args__ = table(must("name_given", "length(trim(name)) > 0"))

    kiln_id: Mapped[int] = mapped_column(refers_to("kiln.id"), index=True)
    position: Mapped[int]
    name: Mapped[str]
