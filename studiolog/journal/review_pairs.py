"""Before and after: a picture of a piece in the raw beside one of it fired."""

from collections import defaultdict
from dataclasses import dataclass
from datetime import datetime, time, timedelta
from typing import Final

from sqlalchemy import func, select
from sqlalchemy.orm import Session

from studiolog.craft.spans import Span
from studiolog.craft.words import MOMENTS
from studiolog.journal.customer_names import CustomerNames
from studiolog.journal.photos import PictureLine, read_pictures
from studiolog.records.forms import Form
from studiolog.records.glazes import Glaze
from studiolog.records.photos import Picture
from studiolog.records.pieces import Layer, Piece, StageChange

MOST: Final = 60
_RAW: Final = ("glazed", "bisque", "bone_dry", "making")
_DONE: Final = ("fired", "later")


@dataclass(frozen=True)
class Shot:
    """One photo by its hash, and the moment it shows."""

    sha256: str
    suffix: str
    moment: str

    @property
    def words(self) -> str:
        return MOMENTS[self.moment]


@dataclass(frozen=True)
class Pair:
    """A piece before and after its firing. ``glazes`` are the names, from the clay outward."""

    key: str
    piece_id: int
    number: int | None
    name: str
    fired_at: datetime
    before: Shot
    after: Shot
    glazes: tuple[str, ...]

    @property
    def words(self) -> str:
        """``Piece 412, Ripple tumbler: Kelp, Chalk``."""
        piece = f"Piece {self.number}" if self.number is not None else "A piece"
        title = f"{piece}, {self.name}" if self.name else piece
        return f"{title}: {', '.join(self.glazes)}" if self.glazes else title


def read_pairs(session: Session, span: Span, names: CustomerNames) -> tuple[tuple[Pair, ...], int]:
    """Pairs of pieces fired in a span, in the order of their firing; and how many more there are.

    Of many the newest are given.
    """
    since = datetime.combine(span.first_on, time())
    until = datetime.combine(span.last_on + timedelta(days=1), time())
    raw = select(Picture.piece_id).where(Picture.moment.in_(_RAW), Picture.piece_id.is_not(None))
    done = select(Picture.piece_id).where(Picture.moment.in_(_DONE), Picture.piece_id.is_not(None))
    fired_at = func.max(StageChange.at).label("fired_at")
    rows = session.execute(
        select(Piece.id, Piece.number, Piece.title, Form.name, fired_at)
        .join(StageChange, (StageChange.piece_id == Piece.id) & (StageChange.stage == "fired"))
        .outerjoin(Form, Form.id == Piece.form_id)
        .where(Piece.id.in_(raw), Piece.id.in_(done))
        .group_by(Piece.id, Piece.number, Piece.title, Form.name)
        .having(fired_at >= since, fired_at < until)
        .order_by(fired_at.desc(), Piece.id.desc())
    ).all()
    more = max(0, len(rows) - MOST)
    rows = list(reversed(rows[:MOST]))
    ids = [row.id for row in rows]
    pictures = read_pictures(session, piece_ids=ids) if ids else {}
    glazes = _glazes(session, ids)
    pairs = []
    for row in rows:
        before = _best(pictures.get(row.id, []), _RAW)
        after = _best(pictures.get(row.id, []), _DONE)
        if before is None or after is None:
            continue
        pairs.append(
            Pair(
                f"pair {row.id}",
                row.id,
                row.number,
                names.masked(row.title or row.name or ""),
                row.fired_at,
                before,
                after,
                tuple(names.masked(name) for name in glazes.get(row.id, {})),
            )
        )
    return tuple(pairs), more


def _best(lines: list[PictureLine], moments: tuple[str, ...]) -> Shot | None:
    """A picture of the first of these moments that has one.

    One that was brought to scale shows the piece whole; else the first taken, before the details.
    """
    for moment in moments:
        of_it = [line for line in lines if line.moment == moment]
        if of_it:
            line = next((line for line in of_it if line.px_per_mm is not None), of_it[0])
            return Shot(line.sha256, line.suffix, moment)
    return None


def _glazes(session: Session, piece_ids: list[int]) -> dict[int, dict[str, None]]:
    found: dict[int, dict[str, None]] = defaultdict(dict)
    for piece_id, name in session.execute(
        select(Layer.piece_id, Glaze.name)
        .join(Glaze, Glaze.id == Layer.glaze_id)
        .where(Layer.piece_id.in_(piece_ids))
        .order_by(Layer.zone, Layer.position)
    ):
        found[piece_id][name] = None
    return found
