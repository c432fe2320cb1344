"""Photos: originals by their hash, and what they are pictures of."""

from datetime import datetime

from sqlalchemy.orm import Mapped, mapped_column

from studiolog.craft.words import MOMENTS
from studiolog.records.base import Record, must, one_of, refers_to, table


class Photo(Record):
    """An original picture, never altered. Width and height are as seen, after orientation."""

    __tablename__ = "photo"
    __table_args__ = table(
        must("hash_whole", "length(sha256) = 64"),
        must("size_possible", "width > 0 AND height > 0"),
    )

    sha256: Mapped[str] = mapped_column(unique=True)
    suffix: Mapped[str]
    name: Mapped[str]
    width: Mapped[int]
    height: Mapped[int]
    byte_count: Mapped[int]
    taken_at: Mapped[datetime | None] = mapped_column(default=None)


class Picture(Record):
    """A photo tied to a piece or a firing, with the moment it shows.

    ``px_per_mm``, ``foot_x`` and ``foot_y`` (in pixels of the photo) register a before and an
    after picture at true scale, where they are known.
    """

    __tablename__ = "picture"
    __table_args__ = table(
        must("of_one_thing", "(piece_id IS NULL) <> (firing_id IS NULL)"),
        must("scale_possible", "px_per_mm > 0"),
        one_of("moment", MOMENTS),
    )

    photo_id: Mapped[int] = mapped_column(refers_to("photo.id"), index=True)
    piece_id: Mapped[int | None] = mapped_column(refers_to("piece.id"), index=True, default=None)
    firing_id: Mapped[int | None] = mapped_column(refers_to("firing.id"), index=True, default=None)
    moment: Mapped[str] = mapped_column(default="making")
    caption: Mapped[str] = mapped_column(default="")
    position: Mapped[int] = mapped_column(default=0)
    px_per_mm: Mapped[float | None] = mapped_column(default=None)
    foot_x: Mapped[float | None] = mapped_column(default=None)
    foot_y: Mapped[float | None] = mapped_column(default=None)
