"""Programs: planned firings."""

from sqlalchemy.orm import Mapped, mapped_column

from studiolog.craft.words import FIRING_KINDS
from studiolog.records.base import Record, must, one_of, refers_to, table


class Program(Record):
    """A planned firing that can be used again. ``cone`` is the label aimed at, as "04" or "6"."""

    __tablename__ = "program"
    __table_args__ = table(
        must("name_given", "length(trim(name)) > 0"), one_of("kind", FIRING_KINDS)
    )

    name: Mapped[str] = mapped_column(unique=True)
    kind: Mapped[str] = mapped_column(default="glaze")
    cone: Mapped[str | None] = mapped_column(default=None)
    notes: Mapped[str] = mapped_column(default="")
    archived: Mapped[bool] = mapped_column(default=False)


class ProgramSegment(Record):
    """Rate, target and hold. No rate means as fast as the kiln goes, or left to cool."""

    __tablename__ = "program_segment"
    __table_args__ = table(
        must("rate_positive", "rate_c_per_h > 0"),
        must("target_possible", "target_c BETWEEN 0 AND 1450"),
        must("hold_possible", "hold_min >= 0"),
    )

    program_id: Mapped[int] = mapped_column(refers_to("program.id"), index=True)
    position: Mapped[int]
    target_c: Mapped[float]
    rate_c_per_h: Mapped[float | None] = mapped_column(default=None)
    hold_min: Mapped[float] = mapped_column(default=0.0)
