"""The shelf of the demo: every recipe can be computed, and what is low is on the shopping list."""

from sample_data.work_year import TODAY
from studiolog.craft.glaze.materials import find_mistakes
from studiolog.journal.glaze_formula import read_formulas
from studiolog.journal.glazes import list_glazes
from studiolog.journal.material_page import read_material_page
from studiolog.journal.materials import list_materials
from studiolog.journal.opening import Journal
from studiolog.journal.shopping import read_shopping


def test_every_recipe_of_the_demo_can_be_computed(demo_journal: Journal) -> None:
    formulas = demo_journal.read(read_formulas)
    lacking = {one.glaze_id: one.problem for one in formulas.values() if one.formula is None}
    assert lacking == {}
    assert len(formulas) >= len(demo_journal.read(list_glazes))


def test_a_newer_lot_waits_and_no_recipe_has_taken_it_unasked(demo_journal: Journal) -> None:
    lines = {line.name: line for line in demo_journal.read(list_materials)}
    feldspar = lines["Potash feldspar"].material_id
    page = demo_journal.read(lambda session: read_material_page(session, feldspar))
    assert page is not None
    newest, shipped = page.lots
    assert (newest.label, newest.uses, shipped.ships) == ("spring 2026", (), True)
    assert {use.title for use in shipped.uses} >= {"Oat", "Rust Shore"}
    for line in lines.values():
        page = demo_journal.read(lambda session, m=line.material_id: read_material_page(session, m))
        assert page is not None
        assert [one for lot in page.lots for one in find_mistakes(lot.analysis)] == []


def test_what_is_low_in_the_demo_is_to_be_bought(demo_journal: Journal) -> None:
    low = {line.name for line in demo_journal.read(list_materials) if line.stock.is_low}
    assert low == {"Frit, calcium borate", "Kaolin"}
    shopping = demo_journal.read(lambda session: read_shopping(session, TODAY.date()))
    assert {line.name for line in shopping.lines} >= low
    assert all(line.cost is not None for line in shopping.lines)
    stock = [line.stock.grams for line in demo_journal.read(list_materials)]
    assert all(grams is None or grams > 0 for grams in stock), "nothing was used that never came"
