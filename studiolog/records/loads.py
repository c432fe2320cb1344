"""The next kiln: what is planned to stand where, shelf by shelf, before it is fired."""

from datetime import date

from sqlalchemy import UniqueConstraint
from sqlalchemy.orm import Mapped, mapped_column

from studiolog.craft.words import ATMOSPHERES, FIRING_KINDS, SHELF_PARTS
from studiolog.records.base import Record, must, one_of, refers_to, table


class KilnLoad(Record):
    """A load as it is planned. Once fired it names the firing, and is history."""

    __tablename__ = "kiln_load"
    __table_args__ = table(one_of("kind", FIRING_KINDS), one_of("atmosphere", ATMOSPHERES))

    kiln_id: Mapped[int] = mapped_column(refers_to("kiln.id"), index=True)
    begun_on: Mapped[date]
    kind: Mapped[str] = mapped_column(default="glaze")
    cone: Mapped[str] = mapped_column(default="")
    atmosphere: Mapped[str] = mapped_column(default="oxidation")
    program_id: Mapped[int | None] = mapped_column(
        refers_to("program.id"), index=True, default=None
    )
    planned_on: Mapped[date | None] = mapped_column(default=None)
    firing_id: Mapped[int | None] = mapped_column(refers_to("firing.id"), index=True, default=None)
    notes: Mapped[str] = mapped_column(default="")


class LoadShelf(Record):
    """A shelf of a planned load, counted from the floor up; ``clear_mm`` is the height above it.

    ``pack_x`` and ``pack_y`` are where its cone pack stands, in mm as in `LoadPlace`. ``part`` says
    which half it is; places on a half are counted from the middle of the whole shelf as well.
    """

    __tablename__ = "load_shelf"
    __table_args__ = table(
        UniqueConstraint("load_id", "position"),
        must("position_counted", "position >= 1"),
        must("clear_possible", "clear_mm > 0"),
        one_of("part", SHELF_PARTS),
    )

    load_id: Mapped[int] = mapped_column(refers_to("kiln_load.id"), index=True)
    position: Mapped[int]
    clear_mm: Mapped[float]
    level_id: Mapped[int | None] = mapped_column(
        refers_to("kiln_level.id"), index=True, default=None
    )
    part: Mapped[str] = mapped_column(default="full")
    pack_x: Mapped[float | None] = mapped_column(default=None)
    pack_y: Mapped[float | None] = mapped_column(default=None)


class LoadPlace(Record):
    """A piece of a planned load: on a shelf, or still without a place.

    ``x_mm`` and ``y_mm`` are its middle, from the middle of the shelf, seen from above, door at
    the bottom. ``on_place_id`` is the place of the piece it stands on or lies in.
    """

    __tablename__ = "load_place"
    __table_args__ = table(
        UniqueConstraint("load_id", "piece_id"),
        must(
            "placed_whole",
            "(shelf_id IS NULL) = (x_mm IS NULL) AND (shelf_id IS NULL) = (y_mm IS NULL)",
        ),
    )

    load_id: Mapped[int] = mapped_column(refers_to("kiln_load.id"), index=True)
    piece_id: Mapped[int] = mapped_column(refers_to("piece.id"), index=True)
    shelf_id: Mapped[int | None] = mapped_column(
        refers_to("load_shelf.id"), index=True, default=None
    )
    x_mm: Mapped[float | None] = mapped_column(default=None)
    y_mm: Mapped[float | None] = mapped_column(default=None)
    turned_deg: Mapped[float] = mapped_column(default=0.0)
    on_place_id: Mapped[int | None] = mapped_column(
        refers_to("load_place.id"), index=True, default=None
    )
    on_tile: Mapped[bool] = mapped_column(default=False)
    by_hand: Mapped[bool] = mapped_column(default=False)
