"""What every record has in common: an id, a version, and keys that can be checked at the end."""

import secrets
from collections.abc import Iterable
from decimal import ROUND_HALF_EVEN, Decimal
from typing import Any

from sqlalchemy import BigInteger, CheckConstraint, Dialect, ForeignKey, MetaData, TypeDecorator
from sqlalchemy.orm import DeclarativeBase, Mapped, MappedAsDataclass, declared_attr, mapped_column

NAMING = {
    "ix": "ix_%(column_0_label)s",
    "uq": "uq_%(table_name)s_%(column_0_N_name)s",
    "ck": "ck_%(table_name)s_%(constraint_name)s",
    "fk": "fk_%(table_name)s_%(column_0_name)s",
    "pk": "pk_%(table_name)s",
}


def new_version(_: int | None = None) -> int:
    """A token that names one state of a row.

    A random token rather than a count: undo puts the earlier token back, and a count that runs
    backwards could meet a stale desk's count again on different content.
    """
    return secrets.randbits(53)


class Record(MappedAsDataclass, DeclarativeBase, kw_only=True, eq=False, repr=False):
    """A row the potter's edits may change; every change of it is written to the history.

    There are no relationships: an edit adds a parent, flushes, and names it by its id, so that
    rows reach the history in the order they were written.
    """

    metadata = MetaData(naming_convention=NAMING)

    # Ids are never given twice: a history entry must not come to mean another row.
    __table_args__: Any = ({"sqlite_autoincrement": True},)

    id: Mapped[int] = mapped_column(primary_key=True, init=False)
    version: Mapped[int] = mapped_column(BigInteger, init=False)

    @declared_attr.directive
    def __mapper_args__(cls) -> dict[str, Any]:  # noqa: N805 - the class, as SQLAlchemy calls it
        return {"version_id_col": cls.version, "version_id_generator": new_version}


class Money(TypeDecorator[Decimal]):
    """An amount of money, exact to a thousandth of the currency, kept as a whole number of those.

    SQLite has no decimal numbers, and money is never a float. ``decimals`` are the places after
    the point that are kept: the price of a kWh needs five.
    """

    impl = BigInteger
    cache_ok = True

    def __init__(self, decimals: int = 3) -> None:
        super().__init__()
        self.decimals = decimals

    @property
    def python_type(self) -> type[Decimal]:
        return Decimal

    def process_bind_param(self, value: Decimal | None, dialect: Dialect) -> int | None:
        if value is None:
            return None
        return int(Decimal(value).scaleb(self.decimals).to_integral_value(ROUND_HALF_EVEN))

    def process_result_value(self, value: int | None, dialect: Dialect) -> Decimal | None:
        return None if value is None else Decimal(value).scaleb(-self.decimals)


def table(*constraints: Any) -> tuple[Any, ...]:
    """``__table_args__`` of a record with its own constraints."""
    return (*constraints, {"sqlite_autoincrement": True})


def refers_to(target: str) -> ForeignKey:
    """A foreign key that an undo may check at its end, so that rows can go back in any order."""
    return ForeignKey(target, deferrable=True, initially="IMMEDIATE")


def must(name: str, rule: str) -> CheckConstraint:
    """A check constraint: ``rule`` must hold for every row."""
    return CheckConstraint(rule, name=name)


def one_of(column: str, words: Iterable[str]) -> CheckConstraint:
    """A check that ``column`` holds one of the trade's words."""
    listed = ", ".join(f"'{word}'" for word in words)
    return CheckConstraint(f"{column} IN ({listed})", name=f"{column}_known")
