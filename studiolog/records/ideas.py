"""Ideas and open questions: notes with a sketch or a photo, before there is clay."""

from datetime import date

from sqlalchemy import UniqueConstraint
from sqlalchemy.orm import Mapped, mapped_column

from studiolog.craft.words import IDEA_KINDS, IDEA_STATES
from studiolog.records.base import Record, must, one_of, refers_to, table


class Idea(Record):
    """A note that can become a form, or a question that waits for its answer.

    ``outcome`` is the answer, or why it was dropped; ``form_id`` the form it became.
    """

    __tablename__ = "idea"
    __table_args__ = table(
        must("title_given", "length(trim(title)) > 0"),
        one_of("kind", IDEA_KINDS),
        one_of("state", IDEA_STATES),
    )

    title: Mapped[str]
    noted_on: Mapped[date]
    kind: Mapped[str] = mapped_column(default="idea")
    state: Mapped[str] = mapped_column(default="open")
    text: Mapped[str] = mapped_column(default="")
    outcome: Mapped[str] = mapped_column(default="")
    settled_on: Mapped[date | None] = mapped_column(default=None)
    form_id: Mapped[int | None] = mapped_column(refers_to("form.id"), index=True, default=None)


class IdeaPicture(Record):
    """A sketch or a photo of an idea."""

    __tablename__ = "idea_picture"
    __table_args__ = table(UniqueConstraint("idea_id", "photo_id"))

    idea_id: Mapped[int] = mapped_column(refers_to("idea.id"), index=True)
    photo_id: Mapped[int] = mapped_column(refers_to("photo.id"), index=True)
    position: Mapped[int] = mapped_column(default=0)
    caption: Mapped[str] = mapped_column(default="")
