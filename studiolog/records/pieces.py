"""Pieces and runs: what was made, how it was glazed, where it stood."""

from datetime import date, datetime

from sqlalchemy import Index, UniqueConstraint, text
from sqlalchemy.orm import Mapped, mapped_column

from studiolog.craft.words import COVERS, DRYING_WEATHERS, METHODS, PIECE_KINDS, PURPOSES, STAGES
from studiolog.records.base import Record, must, one_of, refers_to, table


def _where_given(column: str) -> Index:
    """An index of the few pieces that name one: the others cost it nothing."""
    given = text(f"{column} IS NOT NULL")
    return Index(f"ix_piece_{column}", column, sqlite_where=given, postgresql_where=given)


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
    way_id: Mapped[int | None] = mapped_column(refers_to("way.id"), index=True, default=None)


class Piece(Record):
    """One pot, tile or tool. Numbered if singled out; otherwise one of its run's count.

    ``order_line_id`` is the line it is set aside for, ``shipment_id`` what it left with, and
    ``set_part_id`` its place in a set. ``lost_at`` is the stage it had when it was lost.
    """

    __tablename__ = "piece"
    __table_args__ = table(
        must("number_positive", "number > 0"),
        must("numbered_or_of_a_run", "number IS NOT NULL OR run_id IS NOT NULL"),
        one_of("stage", STAGES),
        one_of("kind", PIECE_KINDS),
        one_of("lost_at", STAGES),
        _where_given("order_line_id"),
        _where_given("shipment_id"),
        _where_given("set_part_id"),
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
    kind: Mapped[str] = mapped_column(default="ware")
    lost_at: Mapped[str | None] = mapped_column(default=None)
    order_line_id: Mapped[int | None] = mapped_column(refers_to("order_line.id"), default=None)
    shipment_id: Mapped[int | None] = mapped_column(refers_to("shipment.id"), default=None)
    set_part_id: Mapped[int | None] = mapped_column(refers_to("set_part.id"), default=None)


class CoverChange(Record):
    """A run was wrapped or unwrapped: how it stands from then on, and in what weather it dries."""

    __tablename__ = "cover_change"
    __table_args__ = table(one_of("cover", COVERS), one_of("weather", DRYING_WEATHERS))

    run_id: Mapped[int] = mapped_column(refers_to("run.id"), index=True)
    at: Mapped[datetime]
    cover: Mapped[str]
    weather: Mapped[str] = mapped_column(default="usual")
    note: Mapped[str] = mapped_column(default="")


class ToolUse(Record):
    """A tool was used on a run, or on one piece."""

    __tablename__ = "tool_use"
    __table_args__ = table(
        UniqueConstraint("tool_id", "run_id", "piece_id"),
        must("on_one_thing", "(run_id IS NULL) <> (piece_id IS NULL)"),
    )

    tool_id: Mapped[int] = mapped_column(refers_to("piece.id"), index=True)
    run_id: Mapped[int | None] = mapped_column(refers_to("run.id"), index=True, default=None)
    piece_id: Mapped[int | None] = mapped_column(refers_to("piece.id"), index=True, default=None)
    note: Mapped[str] = mapped_column(default="")


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
    """Work done to a piece, whatever its state: thrown, trimmed, waxed, ground.

    ``zone`` is the part it was done to ("handle" was glazed), "" the whole piece. ``rework`` is
    work done over again, or to mend.
    """

    __tablename__ = "step"
    __table_args__ = table(must("name_given", "length(trim(name)) > 0"))

    piece_id: Mapped[int] = mapped_column(refers_to("piece.id"), index=True)
    name: Mapped[str]
    done_on: Mapped[date]
    minutes: Mapped[float | None] = mapped_column(default=None)
    note: Mapped[str] = mapped_column(default="")
    zone: Mapped[str] = mapped_column(default="")
    rework: Mapped[bool] = mapped_column(default=False)


class Measurement(Record):
    """Size and weight of a piece at one stage.

    ``mark_mm`` is the distance between two marks pressed into the wet clay, as on a shrinkage bar.
    """

    __tablename__ = "measurement"
    __table_args__ = table(
        UniqueConstraint("piece_id", "stage"),
        must("height_possible", "height_mm > 0"),
        must("across_possible", "across_mm > 0"),
        must("wall_possible", "wall_mm > 0"),
        must("mass_possible", "mass_g > 0"),
        must("mark_possible", "mark_mm > 0"),
        one_of("stage", STAGES),
    )

    piece_id: Mapped[int] = mapped_column(refers_to("piece.id"), index=True)
    stage: Mapped[str]
    height_mm: Mapped[float | None] = mapped_column(default=None)
    across_mm: Mapped[float | None] = mapped_column(default=None)
    wall_mm: Mapped[float | None] = mapped_column(default=None)
    mass_g: Mapped[float | None] = mapped_column(default=None)
    mark_mm: Mapped[float | None] = mapped_column(default=None)


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
