"""Stamps, rollers and templates the studio made for itself: pieces of kind tool, and their uses."""

import re
from collections.abc import Sequence
from dataclasses import dataclass, replace
from datetime import date, datetime

from sqlalchemy import func, select
from sqlalchemy.orm import Session
from sqlalchemy.sql import ColumnElement

from studiolog.craft.words import STAGES
from studiolog.journal.allocation import refuse_if_taken
from studiolog.journal.pieces import (
    PieceDraft,
    SizeDraft,
    log_piece,
    move_to_stage,
    set_size,
)
from studiolog.journal.stage_history import find_piece_again
from studiolog.journal.writing import add, change, clean_name, count, get, remove, remove_all
from studiolog.problems import UserProblem
from studiolog.records.pieces import Measurement, Piece, Run, ToolUse

_USED_ON = re.compile(r"(?:(run|piece)\s+)?(\d{1,9})", re.IGNORECASE)


@dataclass(frozen=True, kw_only=True)
class ToolDraft:
    """A tool as it is entered. Tools of several sizes share a title, each a piece of its own."""

    title: str
    made_on: date
    number: int | None = None
    clay_id: int | None = None
    stage: str = "wet"
    sizes: tuple[SizeDraft, ...] = ()
    kept_where: str = ""
    notes: str = ""


@dataclass(frozen=True)
class ToolMark:
    """A tool as it is named beside what was made with it: "stamp 12"."""

    tool_id: int
    number: int
    title: str


@dataclass(frozen=True)
class ToolLine:
    """A tool in the list. Its size is the last one measured, at ``size_stage``."""

    tool_id: int
    number: int
    title: str
    stage: str
    kept_where: str
    size_stage: str
    across_mm: float | None
    height_mm: float | None
    uses: int


def add_tool(session: Session, draft: ToolDraft) -> int:
    """Enter a tool, a piece with a number of its own; returns the piece's id."""
    piece_id = log_piece(
        session,
        PieceDraft(
            number=draft.number,
            title=clean_name(draft.title, "title", "name of the tool"),
            made_on=draft.made_on,
            clay_id=draft.clay_id,
            stage=draft.stage,
            sizes=draft.sizes,
            kept_where=draft.kept_where,
            notes=draft.notes,
        ),
    )
    change(session, Piece, piece_id, kind="tool")
    return piece_id


def add_size_of(session: Session, tool_id: int, made_on: date) -> int:
    """Begin another size of a tool: a piece of its own under the same title; returns its id."""
    tool = _tool(session, tool_id)
    return add_tool(
        session,
        ToolDraft(
            title=tool.title, made_on=made_on, clay_id=tool.clay_id, kept_where=tool.kept_where
        ),
    )


def set_kind(session: Session, piece_id: int, kind: str) -> None:
    """Say that a piece is a tool, or ware after all.

    Raises `UserProblem` for a counted piece, for ware that is set aside or was sold, and for a
    tool something was made with.
    """
    piece = get(session, Piece, piece_id)
    if kind == "tool":
        if piece.number is None:
            raise UserProblem("A tool has a number of its own: single the piece out first.")
        refuse_if_taken(session, piece)
        piece.order_line_id = None  # of an order that is closed and kept it
    if kind != "tool":
        uses = count(session, ToolUse, ToolUse.tool_id == piece_id)
        if uses:
            raise UserProblem(
                f"Piece {piece.number} stays a tool: it was used on {_things(uses)}. "
                "Take those uses away first."
            )
    change(session, Piece, piece_id, kind=kind)


def set_sizes(session: Session, tool_id: int, sizes: Sequence[SizeDraft]) -> None:
    """Write width and height of a tool by stage; a stage left out has none any more.

    What else was measured at a stage stays. Raises `UserProblem` for a stage named twice.
    """
    _tool(session, tool_id)
    stages = [size.stage for size in sizes]
    for stage in stages:
        if stages.count(stage) > 1:
            raise UserProblem(f"There are two sizes for {STAGES.get(stage, stage)}: keep one.")
    stored = session.scalars(select(Measurement).where(Measurement.piece_id == tool_id)).all()
    for row in stored:
        if row.stage not in stages and (row.across_mm or row.height_mm):
            kept = {"wall_mm": row.wall_mm, "mass_g": row.mass_g, "mark_mm": row.mark_mm}
            set_size(session, tool_id, SizeDraft(stage=row.stage, **kept))
    by_stage = {row.stage: row for row in stored}
    for size in sizes:
        row_of = by_stage.get(size.stage)
        if row_of is not None:
            size = replace(
                size, wall_mm=row_of.wall_mm, mass_g=row_of.mass_g, mark_mm=row_of.mark_mm
            )
        set_size(session, tool_id, size)


def rename_tool(session: Session, tool_id: int, title: str) -> None:
    """Name a tool anew; its other sizes keep their name."""
    _tool(session, tool_id)
    change(session, Piece, tool_id, title=clean_name(title, "title", "name of the tool"))


def break_tool(session: Session, tool_id: int, at: datetime, why: str = "broken or lost") -> None:
    """A tool is gone. What was made with it still says so."""
    if _tool(session, tool_id).stage != "lost":
        move_to_stage(session, tool_id, "lost", at, why)


def find_tool_again(session: Session, tool_id: int) -> None:
    """A tool turned up: it stands where it stood before it was lost."""
    _tool(session, tool_id)
    find_piece_again(session, tool_id)


def use_tool(
    session: Session,
    tool_id: int,
    *,
    run_id: int | None = None,
    piece_id: int | None = None,
    note: str = "",
) -> int:
    """A tool was used on a run or on one piece; returns the use's id.

    Raises `UserProblem` for a tool used on itself or on the run it was made in, and for a use that
    is noted already.
    """
    tool = _tool(session, tool_id)
    if (run_id is None) == (piece_id is None):
        raise UserProblem("Say what the tool was used on: a run or a piece.")
    if piece_id == tool_id:
        raise UserProblem(f"Piece {tool.number} is the tool itself: it is not used on itself.")
    if run_id is not None:
        what = f"run {get(session, Run, run_id).number}"
        if tool.run_id == run_id:
            raise UserProblem(f"Piece {tool.number} is of {what} itself: it was made in it.")
    else:
        assert piece_id is not None
        what = f"piece {get(session, Piece, piece_id).number}"
    if count(
        session,
        ToolUse,
        ToolUse.tool_id == tool_id,
        ToolUse.run_id == run_id,
        ToolUse.piece_id == piece_id,
    ):
        raise UserProblem(f"It is noted already that piece {tool.number} was used on {what}.")
    return add(
        session, ToolUse(tool_id=tool_id, run_id=run_id, piece_id=piece_id, note=note.strip())
    )


def use_tool_on(session: Session, tool_id: int, said: str, note: str = "") -> int:
    """A tool was used on what was typed: "run 62" or "412"; returns the use's id.

    Raises `UserProblem` for what can't be read and for a number nothing has.
    """
    found = _USED_ON.fullmatch(" ".join(said.split()))
    if found is None:
        raise UserProblem(f"“{said}” is no run or piece: write “run 62”, or “412” for a piece.")
    noun, number = (found[1] or "piece").lower(), int(found[2])
    if noun == "run":
        run_id = session.scalar(select(Run.id).where(Run.number == number))
        if run_id is None:
            raise UserProblem(f"There is no run {number}.")
        return use_tool(session, tool_id, run_id=run_id, note=note)
    piece_id = session.scalar(select(Piece.id).where(Piece.number == number))
    if piece_id is None:
        more = "" if found[1] else f" If you mean the run, write “run {number}”."
        raise UserProblem(f"There is no piece {number}.{more}")
    return use_tool(session, tool_id, piece_id=piece_id, note=note)


def use_numbered_tool(session: Session, run_id: int, said: str) -> int:
    """A run was made with the tool of a number, as typed: "456"; returns the use's id.

    Raises `UserProblem` for what is no number, and for a number no tool has.
    """
    typed = "".join(said.split())
    if not typed.isdecimal() or len(typed) > 9:
        raise UserProblem(f"“{said}” is no number: write the number cut into the tool.")
    tool_id = session.scalar(
        select(Piece.id).where(Piece.number == int(typed), Piece.kind == "tool")
    )
    if tool_id is None:
        raise UserProblem(f"There is no tool {int(typed)}.")
    return use_tool(session, tool_id, run_id=run_id)


def drop_run_use(session: Session, run_id: int, tool_id: int) -> None:
    """A run was not made with this tool after all."""
    remove_all(session, ToolUse, ToolUse.run_id == run_id, ToolUse.tool_id == tool_id)


def drop_use(session: Session, use_id: int) -> None:
    """A tool was not used there after all."""
    remove(session, get(session, ToolUse, use_id))


def tools_of_run(session: Session, run_id: int) -> tuple[ToolMark, ...]:
    """The tools used on a run, by number."""
    return _marks(session, ToolUse.run_id == run_id)


def tools_of_piece(session: Session, piece_id: int) -> tuple[ToolMark, ...]:
    """The tools used on a piece or on the whole of its run, by number."""
    of_run = select(Piece.run_id).where(Piece.id == piece_id, Piece.run_id.is_not(None))
    return _marks(session, (ToolUse.piece_id == piece_id) | ToolUse.run_id.in_(of_run))


def _marks(session: Session, where: ColumnElement[bool]) -> tuple[ToolMark, ...]:
    rows = session.execute(
        select(Piece.id, Piece.number, Piece.title)
        .join(ToolUse, ToolUse.tool_id == Piece.id)
        .where(where)
        .distinct()
        .order_by(Piece.number)
    )
    return tuple(ToolMark(row.id, row.number, row.title) for row in rows)


def list_tools(session: Session) -> list[ToolLine]:
    """The tools by name, then by size; lost ones too, told by their stage."""
    uses = select(ToolUse.tool_id, func.count().label("uses")).group_by(ToolUse.tool_id).subquery()
    rows = session.execute(
        select(
            Piece.id,
            Piece.number,
            Piece.title,
            Piece.stage,
            Piece.kept_where,
            func.coalesce(uses.c.uses, 0),
        )
        .outerjoin(uses, uses.c.tool_id == Piece.id)
        .where(Piece.kind == "tool")
    ).all()
    sizes = last_sizes(session, [row.id for row in rows])
    lines = [
        ToolLine(
            row.id,
            row.number,
            row.title,
            row.stage,
            row.kept_where,
            *sizes.get(row.id, ("", None, None)),
            row[5],
        )
        for row in rows
    ]
    lines.sort(
        key=lambda line: (line.title.casefold(), line.across_mm or line.height_mm or 0, line.number)
    )
    return lines


def last_sizes(
    session: Session, piece_ids: list[int]
) -> dict[int, tuple[str, float | None, float | None]]:
    """The last stage at which each piece was measured, with its width and height, mm."""
    order = tuple(STAGES)
    found: dict[int, tuple[str, float | None, float | None]] = {}
    for row in session.execute(
        select(
            Measurement.piece_id, Measurement.stage, Measurement.across_mm, Measurement.height_mm
        ).where(Measurement.piece_id.in_(piece_ids))
    ):
        if row.across_mm is None and row.height_mm is None:
            continue
        known = found.get(row.piece_id)
        if known is None or order.index(row.stage) > order.index(known[0]):
            found[row.piece_id] = (row.stage, row.across_mm, row.height_mm)
    return found


def _tool(session: Session, tool_id: int) -> Piece:
    tool = get(session, Piece, tool_id)
    if tool.kind != "tool":
        raise UserProblem(f"Piece {tool.number} is ware, not a tool.")
    return tool


def _things(uses: int) -> str:
    return "one run or piece" if uses == 1 else f"{uses} runs or pieces"
