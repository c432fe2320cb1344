"""Test plans: corners, and the tiles laid out between them."""

from datetime import date

from sqlalchemy import UniqueConstraint
from sqlalchemy.orm import Mapped, mapped_column

from studiolog.craft.words import METHODS, PLAN_KINDS
from studiolog.records.base import Record, must, one_of, refers_to, table


class TestPlan(Record):
    """A set of tests that belong together, as it was planned.

    ``code`` stands before each tile's own number ("B" gives B1, B2 …). ``options`` is JSON: what
    its kind needs besides (``craft.glaze.plans`` reads and writes it).
    """

    __test__ = False  # a record, not a test of pytest's
    __tablename__ = "test_plan"
    __table_args__ = table(
        one_of("kind", PLAN_KINDS),
        must("name_given", "length(trim(name)) > 0"),
        must("code_given", "length(trim(code)) > 0"),
        must("size_possible", "tile_dry_g > 0"),
        must("columns_possible", "tile_columns >= 1"),
    )

    name: Mapped[str]
    code: Mapped[str] = mapped_column(unique=True)
    kind: Mapped[str]
    made_on: Mapped[date]
    clay_id: Mapped[int | None] = mapped_column(refers_to("clay.id"), index=True, default=None)
    form_id: Mapped[int | None] = mapped_column(refers_to("form.id"), index=True, default=None)
    run_id: Mapped[int | None] = mapped_column(refers_to("run.id"), index=True, default=None)
    program_id: Mapped[int | None] = mapped_column(
        refers_to("program.id"), index=True, default=None
    )
    cone: Mapped[str] = mapped_column(default="")
    tile_dry_g: Mapped[float | None] = mapped_column(default=None)
    tile_columns: Mapped[int] = mapped_column(default=1)
    options: Mapped[str] = mapped_column(default="")
    question: Mapped[str] = mapped_column(default="")
    lesson: Mapped[str] = mapped_column(default="")
    next_time: Mapped[str] = mapped_column(default="")
    archived: Mapped[bool] = mapped_column(default=False)


class PlanCorner(Record):
    """A glaze the plan starts from; a computed corner is a glaze made for the plan."""

    __tablename__ = "plan_corner"
    __table_args__ = table(
        UniqueConstraint("plan_id", "position"),
        must("gravity_possible", "specific_gravity > 1 AND specific_gravity < 3"),
    )

    plan_id: Mapped[int] = mapped_column(refers_to("test_plan.id"), index=True)
    position: Mapped[int]
    glaze_id: Mapped[int] = mapped_column(refers_to("glaze.id"), index=True)
    label: Mapped[str] = mapped_column(default="")
    specific_gravity: Mapped[float | None] = mapped_column(default=None)


class PlanTile(Record):
    """One tile of a plan: its place in the layout, its share of each corner, and its piece.

    ``shares`` is JSON, a share by dry weight for each corner in order; empty where the tile is no
    blend. ``piece_id`` is None until the pieces are made.
    """

    __tablename__ = "plan_tile"
    __table_args__ = table(
        UniqueConstraint("plan_id", "position"), must("position_counted", "position >= 1")
    )

    plan_id: Mapped[int] = mapped_column(refers_to("test_plan.id"), index=True)
    position: Mapped[int]
    at_row: Mapped[int]
    at_column: Mapped[int]
    shares: Mapped[str] = mapped_column(default="")
    words: Mapped[str] = mapped_column(default="")
    piece_id: Mapped[int | None] = mapped_column(
        refers_to("piece.id"), index=True, unique=True, default=None
    )


class PlanLayer(Record):
    """A layer a tile is to get, counted from the clay outward; it becomes a layer of its piece."""

    __tablename__ = "plan_layer"
    __table_args__ = table(
        UniqueConstraint("tile_id", "position"),
        must("position_counted", "position >= 1"),
        must("coats_possible", "coats >= 1"),
        must("seconds_possible", "seconds > 0"),
        must("thickness_possible", "thickness_mm > 0"),
        one_of("method", METHODS),
    )

    tile_id: Mapped[int] = mapped_column(refers_to("plan_tile.id"), index=True)
    position: Mapped[int]
    glaze_id: Mapped[int] = mapped_column(refers_to("glaze.id"), index=True)
    method: Mapped[str | None] = mapped_column(default=None)
    coats: Mapped[int | None] = mapped_column(default=None)
    seconds: Mapped[float | None] = mapped_column(default=None)
    thickness_mm: Mapped[float | None] = mapped_column(default=None)
