"""Inspections of fired pieces, and what was looked for."""

from datetime import date

from sqlalchemy import UniqueConstraint
from sqlalchemy.orm import Mapped, mapped_column

from studiolog.craft.words import FAULTS, SURFACES
from studiolog.records.base import Record, must, one_of, refers_to, table


class Inspection(Record):
    """Somebody looked at a fired piece on a day."""

    __tablename__ = "inspection"

    piece_id: Mapped[int] = mapped_column(refers_to("piece.id"), index=True)
    looked_on: Mapped[date]
    stress_tested: Mapped[bool] = mapped_column(default=False)
    note: Mapped[str] = mapped_column(default="")


class FaultReading(Record):
    """A fault looked for: 0 none seen, 1 slight, 2 marked, 3 severe.

    An empty ``zone`` speaks of the whole piece.
    """

    __tablename__ = "fault_reading"
    __table_args__ = table(
        must("severity_known", "severity BETWEEN 0 AND 3"), one_of("fault", FAULTS)
    )

    inspection_id: Mapped[int] = mapped_column(refers_to("inspection.id"), index=True)
    fault: Mapped[str]
    severity: Mapped[int]
    zone: Mapped[str] = mapped_column(default="")
    note: Mapped[str] = mapped_column(default="")


class SurfaceReading(Record):
    """A word for the fired surface. An empty ``zone`` speaks of the whole piece."""

    __tablename__ = "surface_reading"
    __table_args__ = table(
        UniqueConstraint("inspection_id", "word", "zone"), one_of("word", SURFACES)
    )

    inspection_id: Mapped[int] = mapped_column(refers_to("inspection.id"), index=True)
    word: Mapped[str] = mapped_column(index=True)
    zone: Mapped[str] = mapped_column(default="")
