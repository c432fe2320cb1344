"""A potter's own lots: entered, corrected, refused, and what a newer one would change."""

from datetime import date
from decimal import Decimal

import pytest
from sqlalchemy import select
from sqlalchemy.orm import Session

from studiolog.journal.analyses import read_analyses
from studiolog.journal.find import find_anything
from studiolog.journal.glaze_formula import read_formula, read_typed_formula
from studiolog.journal.glazes import (
    GlazeDraft,
    RecipePart,
    add_bucket,
    add_glaze,
    list_glazes,
    set_recipe,
)
from studiolog.journal.lot_changes import read_lot_changes
from studiolog.journal.material_page import MaterialPage, read_material_page, shipped_ident
from studiolog.journal.materials import (
    LotDraft,
    add_lot,
    add_material,
    add_version_with_lot,
    change_lot,
    change_material,
    copy_newest_lot,
    delete_lot,
    delete_material,
    known_names,
    list_materials,
    put_on_shelf,
    set_analysis,
    shipped_not_on_shelf,
    without_analysis,
)
from studiolog.journal.opening import Journal
from studiolog.journal.stock import (
    StockDraft,
    add_stock_change,
    delete_stock_change,
    read_stock,
    take_from_stock,
)
from studiolog.problems import StillUsed, UserProblem
from studiolog.records.materials import Material
from tests.small_studio import SmallStudio, fill_studio

SPRING = LotDraft(
    label="spring bag",
    dated=date(2026, 4, 2),
    source="data sheet",
    oxides={"SiO2": 66.0, "Al2O3": 18.4, "K2O": 11.9, "Na2O": 2.9},
    loi_percent=0.5,
    price_per_kg=Decimal("1.24"),
)


@pytest.fixture
def studio(journal: Journal) -> SmallStudio:
    return fill_studio(journal)


def feldspar(session: Session) -> int:
    found = session.scalar(select(Material.id).where(Material.name == "Potash feldspar"))
    assert found is not None
    return found


def page_of(journal: Journal, ident: int) -> MaterialPage:
    page = journal.read(lambda session: read_material_page(session, ident))
    assert page is not None
    return page


def test_a_recipe_brought_its_materials_along_and_the_page_says_with_what(
    studio: SmallStudio,
) -> None:
    page = page_of(studio.journal, studio.journal.read(feldspar))
    (lot,) = page.lots
    assert (lot.ships, lot.analysis.basis, lot.is_fixed) == (True, "typical", True)
    assert [(use.title, use.fixed) for use in lot.uses] == [("Kelp", True)]
    assert page.solid_density == 2.57
    names = {line.name: line.recipes for line in studio.journal.read(list_materials)}
    assert names["Potash feldspar"] == 1
    assert "silica" in page.cautions[0].caution
    (found,) = studio.journal.read(lambda s: find_anything(s, "potash f"))
    assert (found.kind, found.row_id) == ("material", page.material_id)


def test_what_ships_is_not_the_potters_to_change_and_a_lot_with_pieces_stays(
    studio: SmallStudio,
) -> None:
    journal, material = studio.journal, studio.journal.read(feldspar)
    shipped = page_of(journal, material).lots[0]
    with pytest.raises(UserProblem, match="ships with the program"):
        journal.edit("x", lambda s: set_analysis(s, shipped.lot_id, {"SiO2": 70.0}, 0.5))
    with pytest.raises(UserProblem, match="ships with the program"):
        journal.edit("x", lambda s: change_lot(s, shipped.lot_id, basis="analysis"))

    lot = journal.edit("Lot", lambda s: add_lot(s, material, SPRING)).value
    journal.edit("Figures", lambda s: set_analysis(s, lot, {"SiO2": 70.0, "CaO": 1.0}, None))
    corrected = page_of(journal, material).lots[0]
    assert (dict(corrected.analysis.oxides), corrected.analysis.loi_percent) == (
        {"SiO2": 70.0, "CaO": 1.0},
        None,
    )
    journal.undo()
    assert page_of(journal, material).lots[0].analysis.percents == {**SPRING.oxides, "LOI": 0.5}
    assert page_of(journal, material).lots[1].lot_id == shipped.lot_id, "Kelp has it still"
    with pytest.raises(StillUsed, match="Kelp is computed with it"):
        journal.edit("x", lambda s: delete_lot(s, shipped.lot_id))
    with pytest.raises(StillUsed, match="Kelp has it in the recipe"):
        journal.edit("x", lambda s: delete_material(s, material))


def test_a_lot_that_cannot_be_leaves_nothing_behind(studio: SmallStudio) -> None:
    journal, material = studio.journal, studio.journal.read(feldspar)
    for oxides, loss, told in (
        ({"SiO2": -3.0}, 1.0, "SiO₂"),
        ({"SiO2": 130.0}, 1.0, "can't be more than 100"),
        ({"Xy2O3": 5.0}, 1.0, "Known are"),
        ({"SiO2": 50.0}, 130.0, "loss on ignition"),
    ):
        draft = LotDraft(dated=date(2026, 5, 1), oxides=oxides, loi_percent=loss)
        with pytest.raises(UserProblem, match=told):
            journal.edit("Lot", lambda s, d=draft: add_lot(s, material, d))
    assert len(page_of(journal, material).lots) == 1


def test_a_new_lot_starts_from_the_last_and_says_so_until_it_has_its_own_figures(
    studio: SmallStudio,
) -> None:
    journal, material = studio.journal, studio.journal.read(feldspar)
    lot = journal.edit("Lot", lambda s: copy_newest_lot(s, material, date(2026, 6, 1))).value
    newest = page_of(journal, material).lots[0]
    assert (newest.lot_id, newest.in_force, newest.analysis.basis) == (lot, True, "analysis")
    assert newest.like_before == "what ships with the program"
    journal.edit("Figures", lambda s: set_analysis(s, lot, SPRING.oxides, 0.5))
    newest = page_of(journal, material).lots[0]
    assert newest.like_before == ""
    assert "99.7" in newest.told[0]
    own = journal.edit("Add", lambda s: add_material(s, "Ash from the stove")).value
    journal.edit("Lot", lambda s: copy_newest_lot(s, own, date(2026, 6, 1)))
    assert page_of(journal, own).lots[0].analysis.is_given is False


def test_a_new_version_takes_the_newest_lot_of_one_material_and_the_old_one_stays(
    studio: SmallStudio,
) -> None:
    journal, material = studio.journal, studio.journal.read(feldspar)
    lot = journal.edit("Lot", lambda s: add_lot(s, material, SPRING)).value
    before = journal.read(lambda s: read_analyses(s, [studio.kelp]))[studio.kelp]
    change = journal.read(lambda s: read_lot_changes(s, material, lot, [studio.kelp]))
    assert "K₂O 0.17 → 0.19" in change[studio.kelp].words

    second = journal.edit("Version", lambda s: add_version_with_lot(s, studio.kelp, lot)).value
    after = journal.read(lambda s: read_analyses(s, [studio.kelp, second]))
    assert after[studio.kelp] == before
    assert after[second].parts == before.parts
    assert after[second].lot_ids["Potash feldspar"] == lot
    for name in ("Silica", "Whiting", "Kaolin"):
        assert after[second].lot_ids[name] == before.lot_ids[name]
    formula = change[studio.kelp].after.formula
    assert formula is not None
    # By hand: (40 x 11.9 % + 18 x 1.2 %) / 94.2 = 0.0528 mol of 0.275 mol of flux.
    assert formula.oxides["K2O"] == pytest.approx(0.192, abs=0.002)
    with pytest.raises(UserProblem, match="no Potash feldspar"):
        journal.edit("Version", lambda s: add_version_with_lot(s, studio.chalk, lot))


def test_a_recipe_with_two_lots_of_a_material_keeps_both_when_it_is_typed_anew(
    studio: SmallStudio,
) -> None:
    journal, material = studio.journal, studio.journal.read(feldspar)
    shipped = page_of(journal, material).lots[0].lot_id
    lot = journal.edit("Lot", lambda s: add_lot(s, material, SPRING)).value
    # As a blend of an old and a new glaze has it.
    both = [
        RecipePart("Potash feldspar", 20, lot_id=shipped),
        RecipePart("Whiting", 20),
        RecipePart("Potash feldspar", 60, lot_id=lot),
    ]
    mixed = journal.edit(
        "Glaze", lambda s: add_glaze(s, GlazeDraft(name="Both bags", recipe=tuple(both)))
    ).value
    typed = [RecipePart(one.material, one.parts) for one in both]
    typed[1] = RecipePart("Whiting", 25)
    seen = journal.read(lambda s: read_typed_formula(s, mixed, typed)).formula
    journal.edit("Recipe", lambda s: set_recipe(s, mixed, typed))
    kept = journal.read(lambda s: read_analyses(s, [mixed]))[mixed]
    assert [kept.lot_ids[name] for _, name in kept.lines if "feldspar" in name] == [shipped, lot]
    assert seen == journal.read(lambda s: read_formula(s, mixed)).formula


def test_a_new_name_goes_into_the_recipes_and_changes_no_formula(studio: SmallStudio) -> None:
    journal, material = studio.journal, studio.journal.read(feldspar)
    before = journal.read(lambda s: read_analyses(s, [studio.kelp]))[studio.kelp]
    journal.edit("Name", lambda s: change_material(s, material, name="Feldspar, blue sacks"))
    after = journal.read(lambda s: read_analyses(s, [studio.kelp]))[studio.kelp]
    assert after.analyses["Feldspar, blue sacks"] == before.analyses["Potash feldspar"]
    with pytest.raises(UserProblem, match="named silica on the shelf"):
        journal.edit("Name", lambda s: change_material(s, material, name="silica"))


def test_what_ships_is_put_on_the_shelf_under_its_short_name_once(journal: Journal) -> None:
    places = journal.read(shipped_not_on_shelf)
    talc = next(
        place
        for place in places
        if page_of(journal, shipped_ident(place)).name == "Whiting (calcite)"
    )
    known = page_of(journal, shipped_ident(talc))
    assert (known.on_shelf, known.lots[0].ships, known.stock.grams) == (False, True, None)
    made = journal.edit("Shelf", lambda s: put_on_shelf(s, talc)).value
    page = page_of(journal, made)
    assert (page.name, page.lots[0].analysis.percents) == (
        "Whiting",
        known.lots[0].analysis.percents,
    )
    assert talc not in journal.read(shipped_not_on_shelf)
    assert journal.read(lambda s: read_material_page(s, shipped_ident(talc))) is None
    with pytest.raises(UserProblem, match="on the shelf already"):
        journal.edit("Add", lambda s: add_material(s, " whiting "))
    journal.edit("Delete", lambda s: delete_material(s, made))
    assert talc in journal.read(shipped_not_on_shelf)
    assert "Whiting" in journal.read(known_names)
    assert journal.read(lambda s: without_analysis(s, ["whiting", "Cryolite", "Ash"])) == [
        "Cryolite",
        "Ash",
    ]


def test_what_a_bucket_took_stays_in_the_ledger_and_a_count_puts_it_right(
    studio: SmallStudio,
) -> None:
    journal, material = studio.journal, studio.journal.read(feldspar)
    bought = StockDraft(kind="bought", grams=10_000, on=date(2026, 2, 1), paid=Decimal("12.40"))
    journal.edit("Buy", lambda s: add_stock_change(s, material, bought))
    (kelp,) = [line for line in journal.read(list_glazes) if line.name == "Kelp"]

    def mix(session: Session) -> None:
        bucket = add_bucket(session, kelp.glaze_id, date(2026, 3, 1), dry_g=5000)
        take_from_stock(session, {"potash feldspar": 1886.8}, date(2026, 3, 1), bucket_id=bucket)

    journal.edit("Mix", mix)
    page = page_of(journal, material)
    assert [(line.kind, line.left_g, line.for_what) for line in page.ledger] == [
        ("mixed", 8113.2, "Kelp"),
        ("bought", 10_000.0, ""),
    ]
    with pytest.raises(UserProblem, match="mixing of a bucket"):
        journal.edit("x", lambda s: delete_stock_change(s, page.ledger[0].change_id))
    with pytest.raises(StillUsed, match="Kelp has it"):
        journal.edit("x", lambda s: delete_material(s, material))
    counted = StockDraft(kind="counted", grams=8000, on=date(2026, 3, 2))
    journal.edit("Count", lambda s: add_stock_change(s, material, counted))
    assert journal.read(read_stock)["Potash feldspar"].grams == 8000


def test_a_glaze_of_unknown_things_is_computed_once_they_are_known(journal: Journal) -> None:
    draft = GlazeDraft(name="Ash", recipe=(RecipePart("Stove ash", 60), RecipePart("Silica", 40)))
    ash = journal.edit("Glaze", lambda s: add_glaze(s, draft)).value
    assert journal.read(lambda s: read_analyses(s, [ash]))[ash].missing == ("Stove ash",)
    material = journal.edit("Add", lambda s: add_material(s, "Stove ash")).value
    first = LotDraft(dated=date(2026, 1, 5), oxides={"CaO": 40.0}, loi_percent=30.0)
    second = LotDraft(dated=date(2026, 8, 5), oxides={"CaO": 44.0}, loi_percent=26.0)
    for lot in (first, second):
        journal.edit("Lot", lambda s, d=lot: add_lot(s, material, d))
    found = journal.read(lambda s: read_analyses(s, [ash]))[ash]
    assert found.missing == ()
    assert found.analyses["Stove ash"]["CaO"] == 40.0, "the first there was, not the newest"
    assert [use.title for use in page_of(journal, material).loose] == ["Ash"]
