"""Forms: designs that can be made again, the ways of making them, and what was decided of them."""

from datetime import date
from decimal import Decimal

from sqlalchemy import UniqueConstraint
from sqlalchemy.orm import Mapped, mapped_column

from studiolog.craft.words import FORM_SHAPES, FORM_STANDINGS, STAGES, WAY_STANDINGS
from studiolog.records.base import Money, Record, must, one_of, refers_to, table


class Form(Record):
    """A design: fired size, clay weight, price, and the profile its drawings are made from.

    ``profile`` is JSON: ``{"outside": [[radius_mm, height_mm], …], "inside": [...]}``, fired size.
    A changed design is a form of its own whose ``parent_id`` is the one it came from.
    ``fired_deep_mm`` is the other way across of what is not round. ``stack_mm`` is what each
    further piece adds in height where they are nested or stacked for the bisque; None: they are
    not. ``workable_h`` overrides how long the clay stays workable once leather-hard.
    """

    __tablename__ = "form"
    __table_args__ = table(
        must("name_given", "length(trim(name)) > 0"),
        must("weight_possible", "clay_g > 0"),
        must("height_possible", "fired_height_mm > 0"),
        must("across_possible", "fired_across_mm > 0"),
        must("deep_possible", "fired_deep_mm > 0"),
        must("stack_possible", "stack_mm > 0"),
        must("workable_possible", "workable_h > 0"),
        must("price_possible", "price >= 0"),
        one_of("shape", FORM_SHAPES),
        one_of("standing", FORM_STANDINGS),
    )

    name: Mapped[str] = mapped_column(unique=True)
    shape: Mapped[str] = mapped_column(default="thrown")
    clay_g: Mapped[float | None] = mapped_column(default=None)
    fired_height_mm: Mapped[float | None] = mapped_column(default=None)
    fired_across_mm: Mapped[float | None] = mapped_column(default=None)
    profile: Mapped[str | None] = mapped_column(default=None)
    price: Mapped[Decimal | None] = mapped_column(Money, default=None)
    notes: Mapped[str] = mapped_column(default="")
    archived: Mapped[bool] = mapped_column(default=False)
    parent_id: Mapped[int | None] = mapped_column(refers_to("form.id"), index=True, default=None)
    standing: Mapped[str] = mapped_column(default="go")
    fired_deep_mm: Mapped[float | None] = mapped_column(default=None)
    stack_mm: Mapped[float | None] = mapped_column(default=None)
    workable_h: Mapped[float | None] = mapped_column(default=None)


class FormStep(Record):
    """One step of making a form: minutes of work for one piece, and how many persons it takes.

    ``stage`` is the state of the clay in which it is done; None where nobody said.
    """

    __tablename__ = "form_step"
    __table_args__ = table(
        must("name_given", "length(trim(name)) > 0"),
        must("minutes_possible", "minutes >= 0"),
        must("persons_possible", "persons >= 1"),
        one_of("stage", STAGES),
    )

    form_id: Mapped[int] = mapped_column(refers_to("form.id"), index=True)
    position: Mapped[int]
    name: Mapped[str]
    minutes: Mapped[float | None] = mapped_column(default=None)
    stage: Mapped[str | None] = mapped_column(default=None)
    persons: Mapped[int] = mapped_column(default=1)


class FormZone(Record):
    """A part of a form that is glazed by itself: body, handle, panel. None: the whole at once."""

    __tablename__ = "form_zone"
    __table_args__ = table(
        UniqueConstraint("form_id", "name"), must("name_given", "length(trim(name)) > 0")
    )

    form_id: Mapped[int] = mapped_column(refers_to("form.id"), index=True)
    position: Mapped[int]
    name: Mapped[str]


class FormDecision(Record):
    """What was decided of a form on a day, and why: on trial, to be made in number, or not."""

    __tablename__ = "form_decision"
    __table_args__ = table(one_of("standing", FORM_STANDINGS))

    form_id: Mapped[int] = mapped_column(refers_to("form.id"), index=True)
    decided_on: Mapped[date]
    standing: Mapped[str]
    reasons: Mapped[str] = mapped_column(default="")


class Way(Record):
    """A way of making a form, tried beside others: "pattern pressed before trimming"."""

    __tablename__ = "way"
    __table_args__ = table(
        UniqueConstraint("form_id", "name"),
        must("name_given", "length(trim(name)) > 0"),
        one_of("standing", WAY_STANDINGS),
    )

    form_id: Mapped[int] = mapped_column(refers_to("form.id"), index=True)
    name: Mapped[str]
    standing: Mapped[str] = mapped_column(default="trying")
    notes: Mapped[str] = mapped_column(default="")
