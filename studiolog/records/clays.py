"""Clay bodies."""

from sqlalchemy.orm import Mapped, mapped_column

from studiolog.records.base import Record, must, one_of, table


class Clay(Record):
    """A clay body, with what is known of its shrinkage, absorption and expansion."""

    __tablename__ = "clay"
    __table_args__ = table(
        must("name_given", "length(trim(name)) > 0"),
        must("shrinkage_possible", "shrinkage_percent >= 0 AND shrinkage_percent < 60"),
        must("absorption_possible", "absorption_percent >= 0 AND absorption_percent < 100"),
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
