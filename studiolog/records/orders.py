"""Orders: what is owed, to whom, by when."""

from datetime import date

from sqlalchemy.orm import Mapped, mapped_column

from studiolog.records.base import Record, must, one_of, refers_to, table


class Order(Record):
    """What is owed. ``whom`` is a label of the potter's; ``promised_on`` is the promise."""

    __tablename__ = "orders"
    __table_args__ = table(
        must("number_positive", "number > 0"),
        must("whom_given", "length(trim(whom)) > 0"),
        one_of("state", ("open", "delivered", "dropped")),
    )

    number: Mapped[int] = mapped_column(unique=True)
    whom: Mapped[str]
    promised_on: Mapped[date | None] = mapped_column(default=None)
    state: Mapped[str] = mapped_column(default="open")
    notes: Mapped[str] = mapped_column(default="")


class OrderLine(Record):
    """So many of a form."""

    __tablename__ = "order_line"
    __table_args__ = table(
        must("wanted_positive", "wanted > 0"), must("price_possible", "price >= 0")
    )

    order_id: Mapped[int] = mapped_column(refers_to("orders.id"), index=True)
    position: Mapped[int]
    wanted: Mapped[int]
    form_id: Mapped[int | None] = mapped_column(refers_to("form.id"), index=True, default=None)
    what: Mapped[str] = mapped_column(default="")
    price: Mapped[float | None] = mapped_column(default=None)
