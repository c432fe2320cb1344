"""Raw materials: their analyses in dated lots, and what came, was used and is left."""

from datetime import date
from decimal import Decimal

from sqlalchemy import UniqueConstraint
from sqlalchemy.orm import Mapped, mapped_column

from studiolog.craft.words import ANALYSIS_BASES, STOCK_CHANGES
from studiolog.records.base import Money, Record, must, one_of, refers_to, table


class Material(Record):
    """A material on the studio's shelf.

    ``shipped`` is its name in the table that comes with the program, empty if it is the potter's
    own. ``low_g``: at this stock or under it, it goes on the shopping list.
    """

    __tablename__ = "material"
    __table_args__ = table(
        must("name_given", "length(trim(name)) > 0"),
        must("density_possible", "solid_density > 0.1 AND solid_density < 20"),
        must("low_possible", "low_g >= 0"),
    )

    name: Mapped[str] = mapped_column(unique=True)
    shipped: Mapped[str] = mapped_column(default="")
    solid_density: Mapped[float | None] = mapped_column(default=None)
    low_g: Mapped[float | None] = mapped_column(default=None)
    hazards: Mapped[str] = mapped_column(default="")
    bought_from: Mapped[str] = mapped_column(default="")
    notes: Mapped[str] = mapped_column(default="")
    archived: Mapped[bool] = mapped_column(default=False)


class MaterialLot(Record):
    """One analysis of a material, dated. A recipe keeps the lot it was computed with.

    ``loi_percent`` None: the analysis gives none. It may be negative (magnetite gains weight).
    """

    __tablename__ = "material_lot"
    __table_args__ = table(
        one_of("basis", ANALYSIS_BASES),
        must("loss_possible", "loi_percent > -100 AND loi_percent <= 100"),
        must("price_possible", "price_per_kg >= 0"),
    )

    material_id: Mapped[int] = mapped_column(refers_to("material.id"), index=True)
    basis: Mapped[str]
    label: Mapped[str] = mapped_column(default="")
    dated: Mapped[date | None] = mapped_column(default=None)
    source: Mapped[str] = mapped_column(default="")
    loi_percent: Mapped[float | None] = mapped_column(default=None)
    price_per_kg: Mapped[Decimal | None] = mapped_column(Money, default=None)
    notes: Mapped[str] = mapped_column(default="")


class LotOxide(Record):
    """So many per cent by weight of an oxide, of the material as bought."""

    __tablename__ = "lot_oxide"
    __table_args__ = table(
        UniqueConstraint("lot_id", "oxide"),
        must("oxide_given", "length(trim(oxide)) > 0"),
        must("percent_possible", "percent >= 0 AND percent <= 200"),
    )

    lot_id: Mapped[int] = mapped_column(refers_to("material_lot.id"), index=True)
    oxide: Mapped[str]
    percent: Mapped[float]


class StockChange(Record):
    """Material came or went. A ``counted`` row says what there was; the others add to it.

    ``grams`` is what came (more than 0) or went (less than 0); for ``counted``, what stood there.
    """

    __tablename__ = "stock_change"
    __table_args__ = table(
        one_of("kind", STOCK_CHANGES),
        must("counted_possible", "kind <> 'counted' OR grams >= 0"),
        must("paid_possible", "paid >= 0"),
    )

    material_id: Mapped[int] = mapped_column(refers_to("material.id"), index=True)
    changed_on: Mapped[date]
    kind: Mapped[str]
    grams: Mapped[float]
    paid: Mapped[Decimal | None] = mapped_column(Money, default=None)
    bucket_id: Mapped[int | None] = mapped_column(refers_to("bucket.id"), index=True, default=None)
    bucket_change_id: Mapped[int | None] = mapped_column(
        refers_to("bucket_change.id"), index=True, default=None
    )
    plan_id: Mapped[int | None] = mapped_column(refers_to("test_plan.id"), index=True, default=None)
    note: Mapped[str] = mapped_column(default="")
