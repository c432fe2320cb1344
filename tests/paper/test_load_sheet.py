"""The loading sheet: nothing of it overlaps or leaves the page, and every piece is on it once."""

from dataclasses import replace

import pytest

from studiolog.journal.load_page import LoadPage
from studiolog.journal.opening import Journal
from studiolog.journal.session import Session
from studiolog.paper.load_sheet import lay_out_load_sheet, number_pieces
from studiolog.paper.page import A4, LETTER, PageSize
from studiolog.paper.page import Path as Line
from tests.paper.test_firing_sheet import misplaced
from tests.planned_loads import fill_loads, pack_now, page_of


@pytest.fixture
def page(journal: Journal) -> LoadPage:
    loads = fill_loads(journal)[1]

    def pack(session: Session) -> None:
        pack_now(session, loads.bisque)

    journal.edit("Pack", pack)
    return journal.read(lambda session: page_of(session, loads.glaze))


@pytest.mark.parametrize("size", [A4, LETTER], ids=lambda size: size.name)
def test_nothing_overlaps_or_leaves_the_page(page: LoadPage, size: PageSize) -> None:
    pages = lay_out_load_sheet(page, size, "Tern Yard")
    for one in pages:
        assert misplaced(one) == []


def test_every_piece_is_listed_once_and_drawn_where_it_stands(page: LoadPage) -> None:
    pages = lay_out_load_sheet(page, A4)
    assert len(pages) == 1 + len([shelf for shelf in page.plan.shelves if shelf.places])
    first = " ".join(pages[0].words).replace("\u202f", " ")
    assert "Glaze 6, Big kiln" in first
    assert "8 pieces" in first
    assert "Look at first" in first
    for shelf, made in zip(page.plan.shelves, pages[1:], strict=True):
        stands = number_pieces(page, shelf)
        assert [one.number for one in stands] == list(range(1, len(shelf.places) + 1))
        assert {one.place.key for one in stands} == {place.key for place in shelf.places}
        for one in stands:
            assert str(one.number) in made.words
        rings = [mark for mark in made.marks if isinstance(mark, Line) and len(mark.points) == 37]
        drawn = sum(place.on_key is None for place in shelf.places)
        assert len(rings) == drawn
    assert pages[0].description.startswith("Load, Glaze 6, Big kiln: 8 pieces on")


def test_a_load_that_was_never_packed_prints_what_is_left_out(page: LoadPage) -> None:
    bare = replace(
        page,
        plan=replace(page.plan, shelves=()),
        shelves=(),
        pieces={key: replace(piece, shelf_id=None) for key, piece in page.pieces.items()},
    )
    (only,) = lay_out_load_sheet(bare, A4)
    assert misplaced(only) == []
    assert "Left out: 8" in only.words
    assert " × " in str(only.words)
