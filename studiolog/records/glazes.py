"""Glazes, their recipes and versions, and the buckets mixed from them."""

from datetime import date

from sqlalchemy import UniqueConstraint
from sqlalchemy.orm import Mapped, mapped_column

from studiolog.craft.words import BUCKET_CHANGES, GLAZE_KINDS
from studiolog.records.base import Record, must, one_of, refers_to, table


class Glaze(Record):
    """A glaze, slip, underglaze or wash. A changed recipe is a new version with a parent.

    A ``trial`` was made for one tile of a test plan; lists and pickers leave it out until it is
    kept. ``dry_g_per_piece`` is what a piece takes up, where the potter says so.
    """

    __tablename__ = "glaze"
    __table_args__ = table(
        UniqueConstraint("name", "version_number"),
        must("name_given", "length(trim(name)) > 0"),
        must("version_counted", "version_number >= 1"),
        must("pattern_known", "pattern BETWEEN 0 AND 7"),
        must("gravity_possible", "specific_gravity > 1 AND specific_gravity < 3"),
        must("use_possible", "dry_g_per_piece > 0"),
        one_of("kind", GLAZE_KINDS),
    )

    name: Mapped[str]
    version_number: Mapped[int] = mapped_column(default=1)
    parent_id: Mapped[int | None] = mapped_column(refers_to("glaze.id"), index=True, default=None)
    kind: Mapped[str] = mapped_column(default="glaze")
    bought: Mapped[bool] = mapped_column(default=False)
    colour: Mapped[str] = mapped_column(default="#8A8A80")
    pattern: Mapped[int] = mapped_column(default=0)
    cone_range: Mapped[str] = mapped_column(default="")
    specific_gravity: Mapped[float | None] = mapped_column(default=None)
    notes: Mapped[str] = mapped_column(default="")
    archived: Mapped[bool] = mapped_column(default=False)
    trial: Mapped[bool] = mapped_column(default=False)
    dry_g_per_piece: Mapped[float | None] = mapped_column(default=None)


class RecipeLine(Record):
    """So many parts of a material; an addition stands on top of the hundred.

    ``lot_id`` is the analysis it was computed with, kept when a newer lot comes.
    """

    __tablename__ = "recipe_line"
    __table_args__ = table(
        must("material_given", "length(trim(material)) > 0"),
        must("parts_positive", "parts > 0"),
    )

    glaze_id: Mapped[int] = mapped_column(refers_to("glaze.id"), index=True)
    position: Mapped[int]
    material: Mapped[str]
    parts: Mapped[float]
    addition: Mapped[bool] = mapped_column(default=False)
    lot_id: Mapped[int | None] = mapped_column(
        refers_to("material_lot.id"), index=True, default=None
    )


class Bucket(Record):
    """A glaze mixed on a day."""

    __tablename__ = "bucket"
    __table_args__ = table(
        must("dry_possible", "dry_g > 0"),
        must("water_possible", "water_g >= 0"),
        must("gravity_possible", "specific_gravity > 1 AND specific_gravity < 3"),
    )

    glaze_id: Mapped[int] = mapped_column(refers_to("glaze.id"), index=True)
    mixed_on: Mapped[date]
    dry_g: Mapped[float | None] = mapped_column(default=None)
    water_g: Mapped[float | None] = mapped_column(default=None)
    specific_gravity: Mapped[float | None] = mapped_column(default=None)
    adjustments: Mapped[str] = mapped_column(default="")
    used_up: Mapped[bool] = mapped_column(default=False)


class BucketLine(Record):
    """What was weighed into a bucket: so many grams of a material, of one lot.

    ``wanted_g`` is what the recipe asked for, before rounding to the scale's step.
    """

    __tablename__ = "bucket_line"
    __table_args__ = table(
        must("material_given", "length(trim(material)) > 0"),
        must("weighed_possible", "weighed_g >= 0"),
        must("wanted_possible", "wanted_g >= 0"),
    )

    bucket_id: Mapped[int] = mapped_column(refers_to("bucket.id"), index=True)
    position: Mapped[int]
    material: Mapped[str]
    wanted_g: Mapped[float]
    lot_id: Mapped[int | None] = mapped_column(
        refers_to("material_lot.id"), index=True, default=None
    )
    weighed_g: Mapped[float | None] = mapped_column(default=None)


class BucketChange(Record):
    """What was done to a bucket, or measured of it, on a day.

    Which fields are filled depends on ``kind``: a measured ``specific_gravity`` and ``volume_ml``,
    grams of water, dry glaze, flocculant or deflocculant added, the mesh of a sieve.
    """

    __tablename__ = "bucket_change"
    __table_args__ = table(
        one_of("kind", BUCKET_CHANGES),
        must("gravity_possible", "specific_gravity > 1 AND specific_gravity < 3"),
        must("volume_possible", "volume_ml >= 0"),
        must("grams_possible", "grams >= 0"),
        must("mesh_possible", "mesh > 0"),
    )

    bucket_id: Mapped[int] = mapped_column(refers_to("bucket.id"), index=True)
    changed_on: Mapped[date]
    kind: Mapped[str]
    specific_gravity: Mapped[float | None] = mapped_column(default=None)
    volume_ml: Mapped[float | None] = mapped_column(default=None)
    grams: Mapped[float | None] = mapped_column(default=None)
    mesh: Mapped[int | None] = mapped_column(default=None)
    material: Mapped[str] = mapped_column(default="")
    note: Mapped[str] = mapped_column(default="")
