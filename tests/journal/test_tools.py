"""A potter cuts stamps and keeps what they were used on."""

from collections.abc import Callable
from datetime import date, datetime
from functools import partial
from typing import TypeVar

import pytest
from sqlalchemy import select
from sqlalchemy.orm import Session

from studiolog.journal.allocation import ForLine, allocate_pieces
from studiolog.journal.bench import read_bench
from studiolog.journal.opening import Journal
from studiolog.journal.order_page import OrderLinePage, read_order_page
from studiolog.journal.orders import OrderDraft, OrderLineDraft, add_order, change_order
from studiolog.journal.pieces import (
    PieceDraft,
    RunDraft,
    SizeDraft,
    delete_piece,
    log_piece,
    log_run,
)
from studiolog.journal.tools import (
    ToolDraft,
    add_size_of,
    add_tool,
    break_tool,
    drop_use,
    find_tool_again,
    list_tools,
    rename_tool,
    set_kind,
    tools_of_piece,
    tools_of_run,
    use_tool,
    use_tool_on,
)
from studiolog.problems import StillUsed, UserProblem
from studiolog.records.pieces import Piece

DAY = date(2026, 11, 3)
T = TypeVar("T")
Do = Callable[[Callable[[Session], T]], T]


@pytest.fixture
def do(journal: Journal) -> Do[int]:
    return lambda edit: journal.edit("Work", edit).value


@pytest.fixture
def stamp(do: Do[int]) -> int:
    """A wave stamp of 46 mm wet, 40 fired."""
    sizes = (SizeDraft(stage="wet", across_mm=46), SizeDraft(stage="fired", across_mm=40))
    draft = ToolDraft(title="Wave stamp", made_on=DAY, stage="fired", sizes=sizes)
    return do(partial(add_tool, draft=draft))


def test_a_stamp_in_two_sizes_is_two_pieces_of_one_name(
    journal: Journal, do: Do[int], stamp: int
) -> None:
    small = do(partial(add_size_of, tool_id=stamp, made_on=DAY))
    tools = journal.read(list_tools)
    assert [(line.title, line.size_stage, line.across_mm) for line in tools] == [
        ("Wave stamp", "", None),
        ("Wave stamp", "fired", 40),
    ]
    assert {line.tool_id for line in tools} == {stamp, small}
    do(partial(rename_tool, tool_id=small, title="Small wave"))
    assert [line.title for line in journal.read(list_tools)] == ["Small wave", "Wave stamp"]


def test_what_a_stamp_was_used_on_is_told_by_the_run_and_its_pieces(
    journal: Journal, do: Do[int], stamp: int
) -> None:
    run = do(partial(log_run, draft=RunDraft(made_on=DAY, how_many=2, number=62)))
    mug = do(partial(log_piece, draft=PieceDraft(number=412, run_id=run)))
    other = do(partial(log_piece, draft=PieceDraft(number=413)))
    do(partial(use_tool_on, tool_id=stamp, said="Run 62"))
    use = do(partial(use_tool_on, tool_id=stamp, said="413", note="only the foot"))
    for read, ident in ((tools_of_run, run), (tools_of_piece, mug), (tools_of_piece, other)):
        marks = journal.read(partial(read, **{read.__name__[9:] + "_id": ident}))
        assert [(mark.tool_id, mark.title) for mark in marks] == [(stamp, "Wave stamp")]
    do(partial(drop_use, use_id=use))
    assert journal.read(partial(tools_of_piece, piece_id=other)) == ()
    assert journal.read(list_tools)[0].uses == 1


@pytest.mark.parametrize(
    ("said", "sentence"),
    [
        ("run 7", "There is no run 7"),
        ("62", r"There is no piece 62\. If you mean the run, write “run 62”"),
        ("piece 62", r"There is no piece 62\.$"),
        ("the mugs", "“the mugs” is no run or piece"),
        ("1", "not used on itself"),
    ],
)
def test_a_use_that_cannot_be_is_refused(do: Do[int], stamp: int, said: str, sentence: str) -> None:
    with pytest.raises(UserProblem, match=sentence):
        do(partial(use_tool_on, tool_id=stamp, said=said))


def test_a_use_is_noted_once_and_only_of_a_tool(do: Do[int], stamp: int) -> None:
    run = do(partial(log_run, draft=RunDraft(made_on=DAY, number=62)))
    cup = do(partial(log_piece, draft=PieceDraft(number=412)))
    do(partial(use_tool, tool_id=stamp, run_id=run))
    with pytest.raises(UserProblem, match="noted already that piece 1 was used on run 62"):
        do(partial(use_tool, tool_id=stamp, run_id=run))
    with pytest.raises(UserProblem, match="Piece 412 is ware"):
        do(partial(use_tool, tool_id=cup, run_id=run))
    with pytest.raises(UserProblem, match="stays a tool: it was used on one run or piece"):
        do(partial(set_kind, piece_id=stamp, kind="ware"))
    do(partial(set_kind, piece_id=cup, kind="tool"))
    do(partial(use_tool, tool_id=cup, run_id=run))
    with pytest.raises(UserProblem, match="Give the name of the tool"):
        do(partial(add_tool, draft=ToolDraft(title="  ", made_on=DAY)))


def test_a_tool_that_broke_can_turn_up_again_where_it_stood(
    journal: Journal, do: Do[int], stamp: int
) -> None:
    def stood() -> tuple[str, str | None]:
        row = journal.read(
            lambda session: session.execute(select(Piece.stage, Piece.lost_at)).one()
        )
        return row.stage, row.lost_at

    do(partial(break_tool, tool_id=stamp, at=datetime(2026, 11, 4, 9)))
    assert stood() == ("lost", "fired")
    do(partial(find_tool_again, tool_id=stamp))
    assert stood() == ("fired", None)


def test_a_used_tool_is_not_deleted_and_a_piece_takes_its_uses_along(
    journal: Journal, do: Do[int], stamp: int
) -> None:
    cup = do(partial(log_piece, draft=PieceDraft(number=412)))
    do(partial(use_tool, tool_id=stamp, piece_id=cup))
    with pytest.raises(StillUsed, match="Tool 1 can't be deleted: it was used on one run or piece"):
        journal.edit("Delete", partial(delete_piece, piece_id=stamp))
    journal.edit("Delete", partial(delete_piece, piece_id=cup))
    assert journal.read(list_tools)[0].uses == 0
    journal.edit("Delete", partial(delete_piece, piece_id=stamp))
    assert journal.read(list_tools) == []


def test_a_fired_stamp_is_not_ware_that_nobody_has_looked_at(
    journal: Journal, do: Do[int], stamp: int
) -> None:
    cup = do(partial(log_piece, draft=PieceDraft(number=412, stage="fired")))
    page = journal.read(read_bench)
    assert ([one.piece_id for one in page.unlooked], page.unlooked_total) == ([cup], 1)


def test_a_piece_made_a_tool_counts_for_no_order_and_what_is_set_aside_stays_ware(
    journal: Journal, do: Do[int]
) -> None:
    lines = (OrderLineDraft(what="cups", wanted=2),)
    order = do(partial(add_order, draft=OrderDraft(whom="Quay café", number=31, lines=lines)))

    def owed() -> OrderLinePage:
        page = journal.read(partial(read_order_page, order_id=order))
        assert page is not None
        return page.lines[0]

    line = owed().line_id
    run = do(partial(log_run, draft=RunDraft(made_on=DAY, how_many=1, order_line_id=line)))
    cup = do(partial(log_piece, draft=PieceDraft(number=412, run_id=run)))
    other = do(partial(log_piece, draft=PieceDraft(number=413)))
    assert (owed().made, owed().short) == (2, 0)
    journal.edit("Tool", partial(set_kind, piece_id=cup, kind="tool"))
    assert (owed().made, owed().short) == (1, 1)
    journal.edit("Aside", partial(allocate_pieces, holder=ForLine(line), piece_ids=[other]))
    with pytest.raises(UserProblem, match="Piece 413 is set aside for order 31"):
        journal.edit("Tool", partial(set_kind, piece_id=other, kind="tool"))
    do(partial(change_order, order_id=order, state="dropped"))
    journal.edit("Tool", partial(set_kind, piece_id=other, kind="tool"))
    assert owed().made == 1
