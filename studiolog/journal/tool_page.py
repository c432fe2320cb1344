"""The page of a tool: its sizes as the clay shrank, its sisters of other sizes, what it made."""

from dataclasses import dataclass
from datetime import date

from sqlalchemy import func, select
from sqlalchemy.orm import Session

from studiolog.craft.words import STAGES
from studiolog.journal.photos import PictureLine, read_pictures
from studiolog.journal.tools import ToolMark
from studiolog.records.clays import Clay
from studiolog.records.forms import Form
from studiolog.records.pieces import Measurement, Piece, Run, ToolUse

_ORDER = tuple(STAGES)


@dataclass(frozen=True)
class ToolSize:
    """Its width and height at one stage, mm, as far as they were measured."""

    stage: str
    across_mm: float | None
    height_mm: float | None


@dataclass(frozen=True)
class ToolUsed:
    """A run or a piece the tool was used on. ``kind`` is "run" or "piece", ``ident`` its id."""

    use_id: int
    kind: str
    ident: int
    number: int | None
    title: str
    made_on: date | None
    pieces: int
    note: str


@dataclass(frozen=True)
class ToolPage:
    """Everything of one tool. ``sisters`` are its other sizes, under the same name."""

    tool_id: int
    version: int
    number: int
    title: str
    stage: str
    lost_why: str
    made_on: date | None
    clay_id: int | None
    clay: str
    kept_where: str
    notes: str
    sizes: tuple[ToolSize, ...]
    uses: tuple[ToolUsed, ...]
    sisters: tuple[ToolMark, ...]
    pictures: tuple[PictureLine, ...]

    @property
    def name(self) -> str:
        """What its page is headed with."""
        return self.title

    @property
    def archived(self) -> bool:
        """Whether it is gone: broken or lost."""
        return self.stage == "lost"

    @property
    def shrunk(self) -> float | None:
        """The share its width (else its height) lost from the first stage measured to the last.

        None unless it was measured at two stages.
        """
        for name in ("across_mm", "height_mm"):
            known = [getattr(size, name) for size in self.sizes if getattr(size, name)]
            if len(known) > 1:
                return 1 - float(known[-1]) / float(known[0])
        return None


def read_tool_page(session: Session, tool_id: int) -> ToolPage | None:
    """The page of a tool; None if it is gone, or is ware."""
    row = session.execute(
        select(Piece, Clay.name)
        .outerjoin(Clay, Clay.id == Piece.clay_id)
        .where(Piece.id == tool_id, Piece.kind == "tool")
    ).one_or_none()
    if row is None:
        return None
    piece, clay = row
    number = piece.number
    if number is None:
        return None
    sizes = [
        ToolSize(*size)
        for size in session.execute(
            select(Measurement.stage, Measurement.across_mm, Measurement.height_mm).where(
                Measurement.piece_id == tool_id
            )
        )
        if size.across_mm is not None or size.height_mm is not None
    ]
    sizes.sort(key=lambda size: _ORDER.index(size.stage))
    sisters = session.execute(
        select(Piece.id, Piece.number, Piece.title)
        .where(Piece.kind == "tool", Piece.title == piece.title, Piece.id != tool_id)
        .order_by(Piece.number)
    )
    return ToolPage(
        piece.id,
        piece.version,
        number,
        piece.title,
        piece.stage,
        piece.lost_why,
        piece.made_on,
        piece.clay_id,
        clay or "",
        piece.kept_where,
        piece.notes,
        tuple(sizes),
        _read_uses(session, tool_id),
        tuple(ToolMark(row.id, row.number, row.title) for row in sisters if row.number is not None),
        tuple(read_pictures(session, piece_ids=[tool_id]).get(tool_id, ())),
    )


def _read_uses(session: Session, tool_id: int) -> tuple[ToolUsed, ...]:
    """Newest first; a run with how many pieces were begun in it."""
    made = (
        select(Piece.run_id, func.count().label("pieces"))
        .where(Piece.run_id.is_not(None))
        .group_by(Piece.run_id)
        .subquery()
    )
    runs = session.execute(
        select(
            ToolUse.id,
            Run.id,
            Run.number,
            Run.title,
            Form.name,
            Run.made_on,
            func.coalesce(made.c.pieces, 0),
            ToolUse.note,
        )
        .join(Run, Run.id == ToolUse.run_id)
        .outerjoin(Form, Form.id == Run.form_id)
        .outerjoin(made, made.c.run_id == Run.id)
        .where(ToolUse.tool_id == tool_id)
    )
    pieces = session.execute(
        select(
            ToolUse.id,
            Piece.id,
            Piece.number,
            Piece.title,
            Form.name,
            Piece.made_on,
            ToolUse.note,
        )
        .join(Piece, Piece.id == ToolUse.piece_id)
        .outerjoin(Form, Form.id == Piece.form_id)
        .where(ToolUse.tool_id == tool_id)
    )
    found = [
        ToolUsed(use, "run", ident, number, title or form or "", on, several, note)
        for use, ident, number, title, form, on, several, note in runs
    ]
    found += [
        ToolUsed(use, "piece", ident, number, title or form or "", on, 1, note)
        for use, ident, number, title, form, on, note in pieces
    ]
    found.sort(key=lambda one: (one.made_on or date.min, one.use_id), reverse=True)
    return tuple(found)
