"""The shopping list: what is low, what the next mixes need, and what it comes to."""

from datetime import date
from decimal import Decimal

import pytest
from sqlalchemy.orm import Session

from studiolog.craft.glaze.plans import PlanOptions
from studiolog.journal.analyses import find_material
from studiolog.journal.glazes import GlazeDraft, RecipePart, add_glaze
from studiolog.journal.materials import add_material, change_material
from studiolog.journal.opening import Journal
from studiolog.journal.plans import CornerDraft, PlanDraft, add_plan
from studiolog.journal.shopping import (
    PlannedMix,
    ShoppingList,
    read_mix_words,
    read_shopping,
    show_mass,
    write_shopping,
)
from studiolog.journal.stock import StockDraft, add_stock_change
from studiolog.paper.page import A4, LETTER
from studiolog.paper.shopping_list import lay_out_shopping_list
from studiolog.problems import UserProblem
from tests.paper.test_firing_sheet import misplaced

TODAY = date(2026, 11, 12)
TIDE = (
    RecipePart("Soda feldspar", 50),
    RecipePart("Silica", 30),
    RecipePart("Whiting", 20),
    RecipePart("Cobalt carbonate", 1, addition=True),
)


@pytest.fixture
def tide(journal: Journal) -> int:
    """Tide, a sack of silica that is low, whiting enough, and feldspar nobody counted."""

    def enter(session: Session) -> int:
        glaze = add_glaze(session, GlazeDraft(name="Tide", recipe=TIDE))
        for name, grams, low, paid in (
            ("Silica", 25_000.0, 4_000.0, "21.25"),
            ("Whiting", 10_000.0, 2_000.0, "7.50"),
            ("Cobalt carbonate", 500.0, 50.0, None),
        ):
            material = _known(session, name)
            change_material(session, material, low_g=low, bought_from="Harbour supplies")
            bought = StockDraft(
                kind="bought",
                grams=grams,
                on=date(2026, 1, 5),
                paid=Decimal(paid) if paid else None,
            )
            add_stock_change(session, material, bought)
        left = StockDraft(kind="counted", grams=3_900, on=date(2026, 11, 1))
        add_stock_change(session, _known(session, "Silica"), left)
        change_material(session, _known(session, "Soda feldspar"), low_g=1_000)
        return glaze

    return journal.edit("Enter", enter).value


def _known(session: Session, name: str) -> int:
    found = find_material(session, name)
    return found.id if found is not None else add_material(session, name)


def shopping(journal: Journal, *mixes: PlannedMix) -> ShoppingList:
    return journal.read(lambda session: read_shopping(session, TODAY, mixes))


def test_what_is_at_its_low_mark_is_bought_by_the_sack_of_last_time(
    journal: Journal, tide: int
) -> None:
    found = shopping(journal)
    (line,) = found.lines
    assert (line.name, line.have_g, line.buy_g, line.bags) == ("Silica", 3_900, 25_000, 1)
    assert (line.cost, found.total) == (Decimal("21.25"), Decimal("21.25"))
    assert found.uncounted == ("Soda feldspar",), "it has a low mark, and nobody knows"


def test_a_planned_mix_asks_for_what_it_lacks_and_the_sums_add_up(
    journal: Journal, tide: int
) -> None:
    # 50.5 kg dry: 25 kg feldspar, 15 kg silica, 10 kg whiting, 0.5 kg cobalt carbonate.
    found = shopping(journal, PlannedMix(tide, 50_500))
    lines = {line.name: line for line in found.lines}
    assert lines["Silica"].needed_g == pytest.approx(15_000)
    # 15 kg and twice the low mark of 4 kg, less 3.9 kg: 19.1 kg, one sack of 25.
    assert lines["Silica"].buy_g == 25_000
    # 10 kg and twice 2 kg, less 10 kg: 4 kg, one sack of 10.
    assert (lines["Whiting"].buy_g, lines["Whiting"].cost) == (10_000, Decimal("7.50"))
    assert (lines["Soda feldspar"].have_g, lines["Soda feldspar"].buy_g) == (None, 27_000)
    assert lines["Cobalt carbonate"].cost is None
    assert found.total == sum(line.cost for line in found.lines if line.cost is not None)
    assert found.total == Decimal("28.75")
    assert set(found.unpriced) == {"Soda feldspar", "Cobalt carbonate"}
    assert found.mixes == ("Tide, 50.5\u202fkg dry",)
    assert "15\u202fkg for Tide" in lines["Silica"].why


def test_a_test_plan_that_is_not_weighed_is_bought_for_too(journal: Journal, tide: int) -> None:
    def plan(session: Session) -> None:
        other = add_glaze(session, GlazeDraft(name="Ebb", recipe=(RecipePart("Stove ash", 100),)))
        draft = PlanDraft(
            name="Tide to Ebb",
            kind="line",
            corners=(CornerDraft(glaze_id=tide), CornerDraft(glaze_id=other)),
            made_on=TODAY,
            options=PlanOptions(blend_by="weight"),
        )
        add_plan(session, draft)

    journal.edit("Plan", plan)
    found = shopping(journal)
    lines = {line.name: line for line in found.lines}
    assert lines["Stove ash"].needed_for == ("test plan A",)
    assert lines["Stove ash"].needed_g > 0
    assert found.mixes == ("test plan A, Tide to Ebb",)


def test_the_mixes_are_read_as_they_are_typed(journal: Journal, tide: int) -> None:
    def read(text: str) -> tuple[PlannedMix, ...]:
        return journal.read(lambda session: read_mix_words(session, text))

    assert read("") == ()
    assert read("tide 5 kg") == (PlannedMix(tide, 5_000),)
    assert read("Tide 2,5kg, and Tide: 800 g") == (PlannedMix(tide, 2_500), PlannedMix(tide, 800))
    for text, told in (("Tide", "can't be read"), ("Ebb 5 kg", "no glaze named Ebb")):
        with pytest.raises(UserProblem, match=told):
            read(text)
    with pytest.raises(UserProblem, match="more than 0"):
        shopping(journal, PlannedMix(tide, 0))


def test_the_list_is_sent_as_text_and_printed_on_a_page(journal: Journal, tide: int) -> None:
    found = shopping(journal, PlannedMix(tide, 50_500))
    text = write_shopping(found)
    assert "Harbour supplies:" in text
    assert "  Silica: 1 × 25\u202fkg, about 21.25" in text
    assert "No shop noted:\n  Soda feldspar: 27\u202fkg" in text
    assert text.endswith("Without a price: Soda feldspar, Cobalt carbonate.")
    for size in (A4, LETTER):
        page = lay_out_shopping_list(found, size, "Tern Yard")
        assert misplaced(page) == []
        words = " ".join(page.words)
        for told in ("Silica", "27\u202fkg", "In all about 28.75", "Tern Yard"):
            assert told in words
    assert "Nothing to buy." in lay_out_shopping_list(ShoppingList(TODAY), A4).words
    assert write_shopping(ShoppingList(TODAY)).endswith("nothing.")
    assert ShoppingList(TODAY).told_total == "", "no sum of nothing"


def test_a_long_list_stays_on_its_page_and_counts_what_has_no_room(journal: Journal) -> None:
    def enter(session: Session) -> None:
        for number in range(90):
            material = add_material(session, f"Oxide of the {number}th drawer, ground twice")
            change_material(session, material, low_g=100, bought_from=f"Shop {number % 4}")
            empty = StockDraft(kind="counted", grams=0, on=TODAY)
            add_stock_change(session, material, empty)

    journal.edit("Enter", enter)
    page = lay_out_shopping_list(shopping(journal), A4)
    assert misplaced(page) == []
    assert any("more materials with no room here" in words for words in page.words)


@pytest.mark.parametrize(
    ("grams", "words"),
    [(25_000, "25 kg"), (6993.2, "6.99 kg"), (1500, "1.5 kg"), (846.8, "847 g"), (41.1, "41.1 g")],
)
def test_a_mass_is_said_as_near_as_a_shelf_is_known(grams: float, words: str) -> None:
    assert show_mass(grams).replace("\u202f", " ") == words
