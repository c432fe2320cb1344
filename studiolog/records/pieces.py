"""Pieces and runs: what was made, how it was glazed, where it stood."""

from datetime import date, datetime

from sqlalchemy import UniqueConstraint
from sqlalchemy.orm import Mapped, mapped_column

from studiolog.craft.words import METHODS, PURPOSES, STAGES
from studiolog.records.base import Record, must, one_of, refers_to, table


class Run(Record):
    """Pieces of one form made together."""

    __tablename__ = "run"
    __table_args__ = table(must("number_positive", "number > 0"), one_of("purpose", PURPOSES))

    number: Mapped[int] = mapped_column(unique=True)
    made_on: Mapped[date]
    form_id: Mapped[int | None] = mapped_column(refers_to("form.id"), index=True, default=None)
    clay_id: Mapped[int | None] = mapped_column(refers_to("clay.id"), index=True, default=None)
    order_line_id: Mapped[int | None] = mapped_column(
        refers_to("order_line.id"), index=True, default=None
    )
    title: Mapped[str] = mapped_column(default="")
    purpose: Mapped[str] = mapped_column(default="stock")
    notes: Mapped[str] = mapped_column(default="")
    next_time: Mapped[str] = mapped_column(default="")


class Piece(Record):
    """One pot, tile or tool. Numbered if singled out; otherwise one of its run's count."""

    __tablename__ = "piece"
    __table_args__ = table(
        must("number_positive", "number > 0"),
        must("numbered_or_of_a_run", "number IS NOT NULL OR run_id IS NOT NULL"),
        one_of("stage", STAGES),
    )

    number: Mapped[int | None] = mapped_column(unique=True, default=None)
    run_id: Mapped[int | None] = mapped_column(refers_to("run.id"), index=True, default=None)
    form_id: Mapped[int | None] = mapped_column(refers_to("form.id"), index=True, default=None)
    clay_id: Mapped[int | None] = mapped_column(refers_to("clay.id"), index=True, default=None)
    came_from_id: Mapped[int | None] = mapped_column(
        refers_to("piece.id"), index=True, default=None
    )
    title: Mapped[str] = mapped_column(default="")
    made_on: Mapped[date | None] = mapped_column(default=None)
    stage: Mapped[str] = mapped_column(default="wet")
    lost_why: Mapped[str] = mapped_column(default="")
    kept_where: Mapped[str] = mapped_column(default="")
    notes: Mapped[str] = mapped_column(default="")
    lesson: Mapped[str] = mapped_column(default="")
    next_time: Mapped[str] = mapped_column(default="")


class RunSource(Record):
    """A run that carries on what a piece taught."""

    __tablename__ = "run_source"
    __table_args__ = table(UniqueConstraint("run_id", "piece_id"))

    run_id: Mapped[int] = mapped_column(refers_to("run.id"), index=True)
    piece_id: Mapped[int] = mapped_column(refers_to("piece.id"), index=True)


class StageChange(Record):
    """A piece reached a stage. ``at`` is the studio's wall clock."""

    __tablename__ = "stage_change"
    __table_args__ = table(one_of("stage", STAGES))

    piece_id: Mapped[int] = mapped_column(refers_to("piece.id"), index=True)
    stage: Mapped[str]
    at: Mapped[datetime]
    note: Mapped[str] = mapped_column(default="")


class Step(Record):
    """Work done to a piece, whatever its state: thrown, trimmed, waxed, ground."""

    __tablename__ = "step"
    __table_args__ = table(must("name_given", "length(trim(name)) > 0"))

    piece_id: Mapped[int] = mapped_column(refers_to("piece.id"), index=True)
    name: Mapped[str]
    done_on: Mapped[date]
    minutes: Mapped[float | None] = mapped_column(default=None)
    note: Mapped[str] = mapped_column(default="")


class Measurement(Record):
    """Size and weight of a piece at one stage."""

    __tablename__ = "measurement"
    __table_args__ = table(
        UniqueConstraint("piece_id", "stage"),
        must("height_possible", "height_mm > 0"),
        must("across_possible", "across_mm > 0"),
        must("wall_possible", "wall_mm > 0"),
        must("mass_possible", "mass_g > 0"),
        one_of("stage", STAGES),
    )

    piece_id: Mapped[int] = mapped_column(refers_to("piece.id"), index=True)
    stage: Mapped[str]
    height_mm: Mapped[float | None] = mapped_column(default=None)
    across_mm: Mapped[float | None] = mapped_column(default=None)
    wall_mm: Mapped[float | None] = mapped_column(default=None)
    mass_g: Mapped[float | None] = mapped_column(default=None)


class Layer(Record):
    """One glaze on one zone, at one place in the order, counted from the clay outward."""

    __tablename__ = "layer"
    __table_args__ = table(
        must("zone_given", "length(trim(zone)) > 0"),
        must("position_counted", "position >= 1"),
        must("coats_possible", "coats >= 1"),
        must("seconds_possible", "seconds > 0"),
        must("thickness_possible", "thickness_mm > 0"),
        one_of("method", METHODS),
    )

    piece_id: Mapped[int] = mapped_column(refers_to("piece.id"), index=True)
    zone: Mapped[str]
    position: Mapped[int]
    glaze_id: Mapped[int] = mapped_column(refers_to("glaze.id"), index=True)
    method: Mapped[str | None] = mapped_column(default=None)
    coats: Mapped[int | None] = mapped_column(default=None)
    seconds: Mapped[float | None] = mapped_column(default=None)
    bucket_id: Mapped[int | None] = mapped_column(refers_to("bucket.id"), index=True, default=None)
    thickness_mm: Mapped[float | None] = mapped_column(default=None)
    note: Mapped[str] = mapped_column(default="")


class Placement(Record):
    """A piece in a firing: its level, and where on the shelf.

    ``shelf_x`` and ``shelf_y`` run from 0 to 1 across the shelf, seen from above, door at the
    bottom edge.
    """

    __tablename__ = "placement"
    __table_args__ = table(
        UniqueConstraint("piece_id", "firing_id"),
        must("on_the_shelf", "shelf_x BETWEEN 0 AND 1 AND shelf_y BETWEEN 0 AND 1"),
    )

    piece_id: Mapped[int] = mapped_column(refers_to("piece.id"), index=True)
    firing_id: Mapped[int] = mapped_column(refers_to("firing.id"), index=True)
    level_id: Mapped[int | None] = mapped_column(
        refers_to("kiln_level.id"), index=True, default=None
    )
    position: Mapped[str] = mapped_column(default="")
    shelf_x: Mapped[float | None] = mapped_column(default=None)
    shelf_y: Mapped[float | None] = mapped_column(default=None)
