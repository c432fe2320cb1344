"""Clay bodies."""

from datetime import date
from decimal import Decimal

from sqlalchemy.orm import Mapped, mapped_column

from studiolog.records.base import Money, Record, must, one_of, refers_to, table


class Clay(Record):
    """A clay body, with what is known of its shrinkage, absorption and expansion."""

    __tablename__ = "clay"
    __table_args__ = table(
        must("name_given", "length(trim(name)) > 0"),
        must("shrinkage_possible", "shrinkage_percent >= 0 AND shrinkage_percent < 60"),
        must("absorption_possible", "absorption_percent >= 0 AND absorption_percent < 100"),
        must("price_possible", "price_per_kg >= 0"),
        one_of("specks", ("none", "fine", "coarse")),
    )

    name: Mapped[str] = mapped_column(unique=True)
    colour: Mapped[str] = mapped_column(default="#C6A67C")
    specks: Mapped[str] = mapped_column(default="none")
    shrinkage_percent: Mapped[float | None] = mapped_column(default=None)
    absorption_percent: Mapped[float | None] = mapped_column(default=None)
    expansion_ppm_k: Mapped[float | None] = mapped_column(default=None)
    cone_range: Mapped[str] = mapped_column(default="")
    notes: Mapped[str] = mapped_column(default="")
    archived: Mapped[bool] = mapped_column(default=False)
    price_per_kg: Mapped[Decimal | None] = mapped_column(Money, default=None)


class AbsorptionTest(Record):
    """An unglazed fired specimen, weighed dry, then saturated by boiling (ASTM C373).

    ``suspended_g`` is its weight hung in water while saturated; without it only the absorption can
    be told. ``cone`` is as said, where the piece is not in the journal.
    """

    __tablename__ = "absorption_test"
    __table_args__ = table(
        must("dry_possible", "dry_g > 0"),
        must("saturated_possible", "saturated_g >= dry_g"),
        must("suspended_possible", "suspended_g >= 0 AND suspended_g < saturated_g"),
    )

    clay_id: Mapped[int] = mapped_column(refers_to("clay.id"), index=True)
    tested_on: Mapped[date]
    dry_g: Mapped[float]
    saturated_g: Mapped[float]
    suspended_g: Mapped[float | None] = mapped_column(default=None)
    piece_id: Mapped[int | None] = mapped_column(refers_to("piece.id"), index=True, default=None)
    cone: Mapped[str] = mapped_column(default="")
    note: Mapped[str] = mapped_column(default="")
