"""Pictures of pieces and firings: photos that were taken in, tied to what they show."""

from collections.abc import Sequence
from dataclasses import dataclass
from datetime import datetime
from typing import Any

from sqlalchemy import func, select
from sqlalchemy.orm import Session

from studiolog.craft.words import MOMENTS
from studiolog.journal.writing import add, change, get, remove
from studiolog.photos import PhotoFacts
from studiolog.problems import UserProblem
from studiolog.records.photos import Photo, Picture


@dataclass(frozen=True, kw_only=True)
class PictureDraft:
    """A photo already in the store, and what it shows. ``moment`` is one of `MOMENTS`."""

    sha256: str
    suffix: str
    name: str
    width: int
    height: int
    byte_count: int
    taken_at: datetime | None
    moment: str
    caption: str = ""
    px_per_mm: float | None = None
    foot_x: float | None = None
    foot_y: float | None = None


def draft_picture(facts: PhotoFacts, moment: str) -> PictureDraft:
    """A photo that was just taken in, with the moment it shows."""
    return PictureDraft(
        sha256=facts.sha256,
        suffix=facts.suffix,
        name=facts.name,
        width=facts.width,
        height=facts.height,
        byte_count=facts.byte_count,
        taken_at=facts.taken_at,
        moment=moment,
    )


@dataclass(frozen=True)
class PictureLine:
    """A picture of a piece or a firing as a page shows it."""

    picture_id: int
    version: int
    sha256: str
    suffix: str
    name: str
    width: int
    height: int
    taken_at: datetime | None
    moment: str
    caption: str
    px_per_mm: float | None
    foot_x: float | None
    foot_y: float | None


def keep_photo(session: Session, draft: PictureDraft) -> int:
    """The id of a photo's row, written if it is new: the same photo is one row."""
    photo_id = session.scalar(select(Photo.id).where(Photo.sha256 == draft.sha256))
    if photo_id is not None:
        return photo_id
    return add(
        session,
        Photo(
            sha256=draft.sha256,
            suffix=draft.suffix,
            name=draft.name,
            width=draft.width,
            height=draft.height,
            byte_count=draft.byte_count,
            taken_at=draft.taken_at,
        ),
    )


def add_picture(
    session: Session,
    draft: PictureDraft,
    *,
    piece_id: int | None = None,
    firing_id: int | None = None,
) -> int:
    """Tie a photo to a piece or a firing; the same photo is one row however often it is used.

    Raises `UserProblem` for a moment that is none.
    """
    if draft.moment not in MOMENTS:
        raise UserProblem(f"“{draft.moment}” is not a moment: {', '.join(MOMENTS.values())}.")
    photo_id = keep_photo(session, draft)
    of_it = Picture.piece_id == piece_id if piece_id else Picture.firing_id == firing_id
    already = session.scalar(select(Picture.id).where(Picture.photo_id == photo_id, of_it))
    if already is not None:
        return already
    last = session.scalar(select(func.max(Picture.position)).where(of_it))
    return add(
        session,
        Picture(
            photo_id=photo_id,
            piece_id=piece_id,
            firing_id=firing_id,
            moment=draft.moment,
            caption=draft.caption,
            position=int(last or 0) + 1,
            px_per_mm=draft.px_per_mm,
            foot_x=draft.foot_x,
            foot_y=draft.foot_y,
        ),
    )


def change_picture(
    session: Session, picture_id: int, version: int | None = None, **fields: Any
) -> None:
    """Change the moment, caption, order or scale of a picture; the photo itself never changes."""
    change(session, Picture, picture_id, version, **fields)


def remove_picture(session: Session, picture_id: int) -> None:
    """Take a picture off its piece or firing. The original stays in the journal's folder."""
    remove(session, get(session, Picture, picture_id))


def read_pictures(
    session: Session,
    *,
    piece_ids: Sequence[int] = (),
    firing_ids: Sequence[int] = (),
) -> dict[int, list[PictureLine]]:
    """Pictures by piece (or by firing), in order: by moment, then time taken, then as added."""
    owner = Picture.piece_id if piece_ids else Picture.firing_id
    order = {moment: index for index, moment in enumerate(MOMENTS)}
    found: dict[int, list[PictureLine]] = {}
    # Columns, not records: lists ask for hundreds while they are scrolled.
    for owner_id, *line in session.execute(
        select(
            owner,
            Picture.id,
            Picture.version,
            Photo.sha256,
            Photo.suffix,
            Photo.name,
            Photo.width,
            Photo.height,
            Photo.taken_at,
            Picture.moment,
            Picture.caption,
            Picture.px_per_mm,
            Picture.foot_x,
            Picture.foot_y,
        )
        .join(Photo, Photo.id == Picture.photo_id)
        .where(owner.in_(piece_ids or firing_ids))
        .order_by(Picture.position)
    ):
        assert owner_id is not None  # the row was found by it
        found.setdefault(owner_id, []).append(PictureLine(*line))
    for lines in found.values():
        lines.sort(key=lambda line: (order[line.moment], line.taken_at or datetime.min))
    return found
