"""Orders: what is owed, to whom, by when, and what of it has left the studio; sets of ware."""

from datetime import date
from decimal import Decimal

from sqlalchemy.orm import Mapped, mapped_column

from studiolog.craft.words import ORDER_KINDS
from studiolog.records.base import Money, Record, must, one_of, refers_to, table


class Order(Record):
    """What is owed. ``whom`` is a label of the potter's, ``contact`` the little that is needed.

    The promise is a window: ``promised_from`` to ``promised_on``, its last day; ``promise_words``
    keep it as it was said ("six to eight weeks").
    """

    __tablename__ = "orders"
    __table_args__ = table(
        must("number_positive", "number > 0"),
        must("whom_given", "length(trim(whom)) > 0"),
        must("promise_in_order", "promised_from <= promised_on"),
        one_of("state", ("open", "delivered", "dropped")),
        one_of("kind", ORDER_KINDS),
    )

    number: Mapped[int] = mapped_column(unique=True)
    whom: Mapped[str]
    promised_on: Mapped[date | None] = mapped_column(default=None)
    state: Mapped[str] = mapped_column(default="open")
    notes: Mapped[str] = mapped_column(default="")
    kind: Mapped[str] = mapped_column(default="pre_order")
    contact: Mapped[str] = mapped_column(default="")
    ordered_on: Mapped[date | None] = mapped_column(default=None)
    promised_from: Mapped[date | None] = mapped_column(default=None)
    promise_words: Mapped[str] = mapped_column(default="")


class OrderLine(Record):
    """So many of a form in a clay and a glaze, or so many of a set."""

    __tablename__ = "order_line"
    __table_args__ = table(
        must("wanted_positive", "wanted > 0"), must("price_possible", "price >= 0")
    )

    order_id: Mapped[int] = mapped_column(refers_to("orders.id"), index=True)
    position: Mapped[int]
    wanted: Mapped[int]
    form_id: Mapped[int | None] = mapped_column(refers_to("form.id"), index=True, default=None)
    what: Mapped[str] = mapped_column(default="")
    price: Mapped[Decimal | None] = mapped_column(Money, default=None)
    clay_id: Mapped[int | None] = mapped_column(refers_to("clay.id"), index=True, default=None)
    glaze_id: Mapped[int | None] = mapped_column(refers_to("glaze.id"), index=True, default=None)
    set_id: Mapped[int | None] = mapped_column(refers_to("ware_set.id"), index=True, default=None)


class Shipment(Record):
    """Pieces of an order that left together; a piece names the shipment it went with."""

    __tablename__ = "shipment"

    order_id: Mapped[int] = mapped_column(refers_to("orders.id"), index=True)
    shipped_on: Mapped[date]
    note: Mapped[str] = mapped_column(default="")


class WareSet(Record):
    """Ware that belongs together: a table for ten, twelve lamps on one string, tiles for a wall.

    ``wanted`` is how many such sets are to be made.
    """

    __tablename__ = "ware_set"
    __table_args__ = table(
        must("name_given", "length(trim(name)) > 0"), must("wanted_positive", "wanted > 0")
    )

    name: Mapped[str] = mapped_column(unique=True)
    wanted: Mapped[int] = mapped_column(default=1)
    due_on: Mapped[date | None] = mapped_column(default=None)
    notes: Mapped[str] = mapped_column(default="")
    archived: Mapped[bool] = mapped_column(default=False)


class SetPart(Record):
    """One form of a set: ``each`` pieces of it in one set."""

    __tablename__ = "set_part"
    __table_args__ = table(must("each_positive", "each > 0"))

    set_id: Mapped[int] = mapped_column(refers_to("ware_set.id"), index=True)
    position: Mapped[int]
    each: Mapped[int]
    form_id: Mapped[int | None] = mapped_column(refers_to("form.id"), index=True, default=None)
    clay_id: Mapped[int | None] = mapped_column(refers_to("clay.id"), index=True, default=None)
    glaze_id: Mapped[int | None] = mapped_column(refers_to("glaze.id"), index=True, default=None)
    what: Mapped[str] = mapped_column(default="")
