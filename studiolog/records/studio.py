"""The studio's own name, the questions it keeps, and the limits it has set for itself."""

from sqlalchemy.orm import Mapped, mapped_column

from studiolog.records.base import Record, must, table


class Studio(Record):
    """One row: whose journal this is."""

    __tablename__ = "studio"

    name: Mapped[str] = mapped_column(default="")


class KeptQuestion(Record):
    """A question kept under a name, as the sentence the question reader understands."""

    __tablename__ = "kept_question"
    __table_args__ = table(must("name_given", "length(trim(name)) > 0"))

    name: Mapped[str] = mapped_column(unique=True)
    sentence: Mapped[str]


class Limit(Record):
    """A limit the potter changed; one that has no row is as shipped (``craft.limits``)."""

    __tablename__ = "limit_changed"

    key: Mapped[str] = mapped_column(unique=True)
    value: Mapped[float]
