"""A recipe found is kept with the lots it was computed with, in one step that can be undone."""

from datetime import date
from decimal import Decimal

import pytest

from studiolog.craft.glaze.target import recipe_for_formula
from studiolog.journal.analyses import find_material, read_analyses
from studiolog.journal.glaze_hazards import read_hazards, read_laboratory, read_typed_hazards
from studiolog.journal.glaze_page import read_glaze_page
from studiolog.journal.glazes import GlazeDraft, RecipePart, add_glaze, list_glazes, set_recipe
from studiolog.journal.materials import LotDraft, add_lot, add_material, change_material
from studiolog.journal.opening import Journal
from studiolog.journal.recipe_choice import brings_alkali, first_shelf, shelf_without
from studiolog.journal.recipe_search import (
    USUAL_SHELF,
    cost_words,
    found_recipe,
    keep_as_glaze,
    keep_as_version,
    read_shelf,
    read_start,
)
from studiolog.problems import UserProblem

RECIPE = (
    RecipePart("Potash feldspar", 40),
    RecipePart("Silica", 30),
    RecipePart("Whiting", 20),
    RecipePart("Kaolin", 10),
    RecipePart("Cobalt carbonate", 1, addition=True),
)


@pytest.fixture
def glaze(journal: Journal) -> int:
    draft = GlazeDraft(name="Deep Tide", recipe=RECIPE)
    return journal.edit("Add", lambda session: add_glaze(session, draft)).value


def test_a_search_starts_from_the_base_and_leaves_what_is_on_top(
    journal: Journal, glaze: int
) -> None:
    start = journal.read(lambda session: read_start(session, glaze))
    assert start.title == "Deep Tide"
    assert sum(start.base.values()) == pytest.approx(100.0)
    assert [(one.material, one.parts) for one in start.additions] == [("Cobalt carbonate", 1)]
    assert start.formula is not None
    assert "CoO" not in start.formula.oxides
    shelf = journal.read(read_shelf)
    found = recipe_for_formula(
        start.formula.oxides,
        {name: shelf.find(name).analysis.percents for name in start.base},  # type: ignore[union-attr]
    )
    assert dict(found.parts) == pytest.approx(dict(start.base), abs=1e-5)


def test_the_shelf_has_newest_lots_first_and_what_ships_after(journal: Journal, glaze: int) -> None:
    def add_bag(session):
        ident = add_material(session, "Spar from the valley")
        old = LotDraft(dated=date(2026, 1, 1), oxides={"SiO2": 70, "K2O": 12}, loi_percent=1)
        new = LotDraft(
            dated=date(2026, 5, 1), oxides={"SiO2": 66, "Al2O3": 18, "K2O": 11}, loi_percent=0.5,
            price_per_kg=Decimal("1.20"),
        )  # fmt: skip
        add_lot(session, ident, old)
        return add_lot(session, ident, new)

    newest = journal.edit("Buy", add_bag).value
    shelf = journal.read(read_shelf)
    mine = shelf.find("spar FROM the valley")
    assert mine is not None
    assert (mine.mine, mine.lot_id, mine.analysis.oxides["Al2O3"]) == (True, newest, 18)
    talc = shelf.find("Talc")
    assert talc is not None
    assert (talc.mine, talc.lot_id) == (False, None)
    assert shelf.find("dust of the moon") is None
    order = [one.mine for one in shelf.materials]
    assert order == sorted(order, reverse=True)
    cost, told = cost_words(shelf.cost({"Spar from the valley": 50.0, "Talc": 50.0}))
    assert cost is not None
    assert "no price of Talc" in told

    def put_away(session):
        ident = find_material(session, "Spar from the valley").id
        change_material(session, ident, archived=True)

    # Put away, it is offered no more; a recipe that has it is still computed with its lot.
    journal.edit("Archive", put_away)
    shelf = journal.read(read_shelf)
    assert "Spar from the valley" not in {one.name for one in shelf.materials}
    (line,) = found_recipe({"Spar from the valley": 100.0}, shelf)
    assert line.lot_id == newest


def test_a_found_recipe_is_a_new_version_with_its_lots_and_goes_by_one_undo(
    journal: Journal, glaze: int
) -> None:
    shelf = journal.read(read_shelf)
    start = journal.read(lambda session: read_start(session, glaze))
    recipe = found_recipe({"Soda feldspar": 45.0, "Whiting": 55.0}, shelf, start.additions)
    before = journal.read(lambda session: len(list_glazes(session)))
    made = journal.edit("Keep", lambda session: keep_as_version(session, glaze, recipe)).value
    page = journal.read(lambda session: read_glaze_page(session, made))
    assert page is not None
    assert page.title == "Deep Tide, version 2"
    assert [part.material for part in page.recipe] == [
        "Soda feldspar",
        "Whiting",
        "Cobalt carbonate",
    ]
    kept = journal.read(lambda session: read_analyses(session, [made]))[made]
    assert set(kept.lot_ids) == {"Soda feldspar", "Whiting", "Cobalt carbonate"}
    journal.undo()
    assert journal.read(lambda session: len(list_glazes(session))) == before
    assert journal.read(lambda session: read_glaze_page(session, made)) is None


def test_a_glaze_without_a_recipe_gets_its_first_and_a_new_one_its_name(journal: Journal) -> None:
    bare = journal.edit("Add", lambda s: add_glaze(s, GlazeDraft(name="Trial"))).value
    start = journal.read(lambda session: read_start(session, bare))
    assert start.formula is None
    assert "no recipe yet" in start.problem
    shelf = journal.read(read_shelf)
    recipe = found_recipe({"Kaolin": 50.0, "Whiting": 50.0}, shelf)
    assert journal.edit("Keep", lambda s: keep_as_version(s, bare, recipe)).value == bare
    with pytest.raises(UserProblem, match="glaze named Trial already"):
        journal.edit("Keep", lambda s: keep_as_glaze(s, "Trial", recipe, ""))
    with pytest.raises(UserProblem, match="Give the name"):
        journal.edit("Keep", lambda s: keep_as_glaze(s, "  ", recipe, ""))
    with pytest.raises(UserProblem, match="nothing can be kept"):
        found_recipe({}, shelf)
    with pytest.raises(UserProblem, match="more than 0"):
        found_recipe({"Kaolin": float("nan")}, shelf)
    assert [line.name for line in journal.read(list_glazes)] == ["Trial"]


def test_why_there_is_no_formula_to_start_from_is_said(journal: Journal) -> None:
    lost = GlazeDraft(
        name="Ash", recipe=(RecipePart("Ash of the orchard", 60), RecipePart("Kaolin", 40))
    )
    ident = journal.edit("Add", lambda session: add_glaze(session, lost)).value
    start = journal.read(lambda session: read_start(session, ident))
    assert start.problem.startswith("No analysis of Ash of the orchard is known")
    slip = (RecipePart("Silica", 60), RecipePart("Kaolin (kaolinite)", 40))
    journal.edit("Change", lambda session: set_recipe(session, ident, slip))
    start = journal.read(lambda session: read_start(session, ident))
    assert "no flux" in start.problem


def test_what_is_like_the_material_that_is_gone_is_ticked_first(
    journal: Journal, glaze: int
) -> None:
    shelf = journal.read(read_shelf)
    start = journal.read(lambda session: read_start(session, glaze))
    names, ticked = shelf_without(shelf, start, "Potash feldspar")
    assert ticked[:3] == ["Silica", "Whiting", "Kaolin"]
    assert ticked[3:], "something stands for the feldspar"
    assert all("feldspar" in name or "stone" in name or "syenite" in name for name in ticked[3:])
    assert "Potash feldspar" not in names
    assert brings_alkali(start.analyses["Potash feldspar"])
    _, for_whiting = shelf_without(shelf, start, "Whiting")
    assert not set(for_whiting) & {"Whiting", "Talc"}
    shown, used = first_shelf(shelf, start)
    assert used == list(start.base)
    assert set(used) < set(shown)
    assert set(USUAL_SHELF) <= set(first_shelf(shelf, None)[0])


def test_hazards_follow_the_recipe_as_it_is_typed(journal: Journal, glaze: int) -> None:
    page = journal.read(lambda session: read_glaze_page(session, glaze))
    assert page is not None
    kept = journal.read(lambda session: read_hazards(session, glaze, page.rates))
    assert any(one.when == "food" and "CoO" in one.subject for one in kept)
    typed = (RecipePart("Manganese dioxide", 12), RecipePart("Silica", 0.0), RecipePart("Talc", 5))
    told = journal.read(lambda s: read_typed_hazards(s, glaze, typed, page.rates))
    assert any(one.when == "kiln" and "nerves" in one.caution for one in told)
    assert not any("Silica" in one.subject for one in told)
    facts = journal.read(lambda session: read_laboratory(session, glaze))
    assert facts.title == "Deep Tide"
    assert facts.metals == ("lead", "cadmium", "cobalt")
    assert facts.ware == ()
