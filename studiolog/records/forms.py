"""Forms: designs that can be made again."""

from sqlalchemy.orm import Mapped, mapped_column

from studiolog.craft.words import FORM_SHAPES
from studiolog.records.base import Record, must, one_of, refers_to, table


class Form(Record):
    """A design: fired size, clay weight, price, and the profile its drawings are made from.

    ``profile`` is JSON: ``{"outside": [[radius_mm, height_mm], …], "inside": [...]}``, fired size.
    """

    __tablename__ = "form"
    __table_args__ = table(
        must("name_given", "length(trim(name)) > 0"),
        must("weight_possible", "clay_g > 0"),
        must("height_possible", "fired_height_mm > 0"),
        must("across_possible", "fired_across_mm > 0"),
        must("price_possible", "price >= 0"),
        one_of("shape", FORM_SHAPES),
    )

    name: Mapped[str] = mapped_column(unique=True)
    shape: Mapped[str] = mapped_column(default="thrown")
    clay_g: Mapped[float | None] = mapped_column(default=None)
    fired_height_mm: Mapped[float | None] = mapped_column(default=None)
    fired_across_mm: Mapped[float | None] = mapped_column(default=None)
    profile: Mapped[str | None] = mapped_column(default=None)
    price: Mapped[float | None] = mapped_column(default=None)
    notes: Mapped[str] = mapped_column(default="")
    archived: Mapped[bool] = mapped_column(default=False)


class FormStep(Record):
    """One step of making a form, with the minutes it takes for one piece."""

    __tablename__ = "form_step"
    __table_args__ = table(
        must("name_given", "length(trim(name)) > 0"),
        must("minutes_possible", "minutes >= 0"),
    )

    form_id: Mapped[int] = mapped_column(refers_to("form.id"), index=True)
    position: Mapped[int]
    name: Mapped[str]
    minutes: Mapped[float | None] = mapped_column(default=None)
