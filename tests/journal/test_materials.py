"""A potter keeps materials: analyses in dated lots that recipes keep, and what is on the shelf."""

from collections.abc import Mapping
from datetime import date
from decimal import Decimal

import pytest
from sqlalchemy import select
from sqlalchemy.orm import Session

from studiolog.journal.analyses import RecipeAnalyses, read_analyses
from studiolog.journal.glazes import (
    GlazeDraft,
    RecipePart,
    add_glaze,
    copy_as_version,
    set_recipe,
)
from studiolog.journal.materials import add_version_with_lot
from studiolog.journal.opening import Journal
from studiolog.journal.stock import (
    StockDraft,
    StockLine,
    add_stock_change,
    read_stock,
    take_from_stock,
)
from studiolog.journal.writing import add
from studiolog.problems import UserProblem
from studiolog.records.glazes import RecipeLine
from studiolog.records.materials import LotOxide, Material, MaterialLot

FELDSPAR = {"SiO2": 66.0, "Al2O3": 18.4, "K2O": 11.6, "Na2O": 2.9, "CaO": 0.4}


def analyses_of(journal: Journal, glaze_id: int) -> RecipeAnalyses:
    return journal.read(lambda session: read_analyses(session, [glaze_id]))[glaze_id]


def enter_lot(
    session: Session, material: str, oxides: Mapping[str, float], dated: date | None = None
) -> int:
    found = session.scalar(select(Material).where(Material.name == material))
    material_id = found.id if found is not None else add(session, Material(name=material))
    lot_id = add(
        session,
        MaterialLot(
            material_id=material_id, basis="analysis", label="bag", dated=dated, loi_percent=0.5
        ),
    )
    for oxide, percent in oxides.items():
        add(session, LotOxide(lot_id=lot_id, oxide=oxide, percent=percent))
    return lot_id


def test_an_old_recipe_keeps_the_lot_it_was_computed_with(journal: Journal) -> None:
    draft = GlazeDraft(
        name="Tide", recipe=(RecipePart("Potash feldspar", 60), RecipePart("Silica", 40))
    )
    tide = journal.edit("Glaze", lambda session: add_glaze(session, draft)).value
    before = analyses_of(journal, tide)
    assert before.lots["Potash feldspar"].basis == "typical", "the shipped analysis was copied"
    assert before.analyses["Potash feldspar"]["K2O"] == 10.5

    lot = journal.edit(
        "Lot", lambda session: enter_lot(session, "Potash feldspar", FELDSPAR, date(2026, 4, 2))
    ).value
    assert analyses_of(journal, tide) == before

    def double_silica(session: Session) -> None:
        set_recipe(session, tide, (RecipePart("potash feldspar", 60), RecipePart("Silica", 80)))

    journal.edit("Recipe", double_silica)
    assert analyses_of(journal, tide).analyses["potash feldspar"]["K2O"] == 10.5

    same = journal.edit("Version", lambda session: copy_as_version(session, tide)).value
    newest = journal.edit("Version", lambda session: add_version_with_lot(session, tide, lot)).value
    assert analyses_of(journal, same).analyses["potash feldspar"]["K2O"] == 10.5
    with_bag = analyses_of(journal, newest)
    assert with_bag.lot_ids["potash feldspar"] == lot
    assert with_bag.analyses["potash feldspar"] == {**FELDSPAR, "LOI": 0.5}
    assert with_bag.lots["potash feldspar"].lot == "bag, 2026-04-02"

    new = GlazeDraft(name="Ebb", recipe=(RecipePart("Potash feldspar", 100),))
    ebb = journal.edit("Glaze", lambda session: add_glaze(session, new)).value
    assert analyses_of(journal, ebb).lot_ids == {"Potash feldspar": lot}, "a new recipe takes it"


def test_a_recipe_from_before_lots_were_kept_is_computed_as_it_always_was(
    journal: Journal,
) -> None:
    def enter(session: Session) -> int:
        glaze = add_glaze(session, GlazeDraft(name="Old"))
        for place, (material, parts) in enumerate(
            (("CHINA CLAY", 30.0), ("Shore sand", 20.0), ("Mystery frit", 50.0)), start=1
        ):
            add(
                session,
                RecipeLine(glaze_id=glaze, position=place, material=material, parts=parts),
            )
        enter_lot(session, "China clay", {"SiO2": 46.0, "Al2O3": 38.0}, date(2026, 1, 1))
        enter_lot(session, "Shore sand", {"SiO2": 91.0}, date(2026, 5, 1))
        enter_lot(session, "Shore sand", {"SiO2": 95.0}, date(2025, 5, 1))
        return glaze

    old = journal.edit("Old glaze", enter).value
    found = analyses_of(journal, old)
    assert found.analyses["CHINA CLAY"]["SiO2"] == 47.5, "as shipped, whatever came since"
    assert found.analyses["Shore sand"]["SiO2"] == 95.0, "the oldest lot"
    assert found.missing == ("Mystery frit",)
    assert found.parts == {"CHINA CLAY": 30.0, "Shore sand": 20.0, "Mystery frit": 50.0}


def test_a_material_nobody_knows_may_stand_in_a_recipe(journal: Journal) -> None:
    draft = GlazeDraft(
        name="Ash",
        recipe=(RecipePart("Ash from the stove", 100), RecipePart("Kaolin", 10, addition=True)),
    )
    ash = journal.edit("Glaze", lambda session: add_glaze(session, draft)).value
    found = analyses_of(journal, ash)
    assert found.missing == ("Ash from the stove",)
    assert (found.base_parts, found.parts["Kaolin"]) == ({"Ash from the stove": 100}, 10)
    journal.undo()
    assert journal.read(lambda session: session.scalars(select(Material)).all()) == []


def stock_of(journal: Journal, name: str) -> StockLine:
    return journal.read(read_stock)[name]


def test_stock_falls_with_each_mix_and_undo_gives_it_back(journal: Journal) -> None:
    def buy(session: Session) -> int:
        material = add(session, Material(name="Silica", low_g=2000))
        bag = StockDraft(kind="bought", grams=25_000, on=date(2026, 3, 1), paid=Decimal("21.25"))
        add_stock_change(session, material, bag)
        return material

    silica = journal.edit("Buy", buy).value
    assert (stock_of(journal, "Silica").grams, stock_of(journal, "Silica").is_low) == (
        25_000,
        False,
    )
    assert stock_of(journal, "Silica").price_per_kg == Decimal("0.85")
    assert stock_of(journal, "Silica").cost(2_500) == Decimal("2.125")

    weighed = {"silica": 23_500.0, "Borax": 120.0}
    journal.edit("Mix", lambda session: take_from_stock(session, weighed, date(2026, 4, 1)))
    assert (stock_of(journal, "Silica").grams, stock_of(journal, "Silica").is_low) == (1_500, True)
    assert stock_of(journal, "Borax").grams is None, "used from a bag nobody wrote down"
    journal.undo()
    assert stock_of(journal, "Silica").grams == 25_000
    assert "Borax" not in journal.read(read_stock)

    journal.edit("Mix", lambda session: take_from_stock(session, weighed, date(2026, 4, 1)))
    counted = StockDraft(kind="counted", grams=1_900, on=date(2026, 4, 1))
    journal.edit("Count", lambda session: add_stock_change(session, silica, counted))
    tests = {"Silica": 40.0}
    journal.edit(
        "Tests", lambda session: take_from_stock(session, tests, date(2026, 4, 2), kind="tests")
    )
    assert stock_of(journal, "Silica").grams == 1_860, "a count begins anew"
    earlier = StockDraft(kind="lost", grams=500, on=date(2026, 3, 20))
    journal.edit("Spilt", lambda session: add_stock_change(session, silica, earlier))
    assert stock_of(journal, "Silica").grams == 1_860, "what went before the count is in it"


def test_stock_that_cannot_be_is_told_and_nothing_is_kept(journal: Journal) -> None:
    silica = journal.edit("Add", lambda session: add(session, Material(name="Silica"))).value
    refused = (
        StockDraft(kind="bought", grams=0, on=date(2026, 3, 1)),
        StockDraft(kind="counted", grams=-1, on=date(2026, 3, 1)),
        StockDraft(kind="lost", grams=10, on=date(2026, 3, 1), paid=Decimal(3)),
    )
    for draft in refused:
        with pytest.raises(UserProblem):
            journal.edit("Stock", lambda session, d=draft: add_stock_change(session, silica, d))
    with pytest.raises(UserProblem, match="Whiting: grams"):
        journal.edit(
            "Mix",
            lambda session: take_from_stock(
                session, {"Silica": 10.0, "Whiting": -1.0}, date(2026, 3, 1)
            ),
        )
    assert stock_of(journal, "Silica").grams is None
    assert list(journal.read(read_stock)) == ["Silica"]
