"""The formula of a glaze: by which analyses, while it is typed, and what is missing."""

from datetime import date

import pytest

from studiolog.journal.glaze_formula import read_formula, read_formulas, read_typed_formula
from studiolog.journal.glazes import GlazeDraft, RecipePart, add_glaze, set_recipe
from studiolog.journal.limits import set_limit
from studiolog.journal.materials import LotDraft, add_lot, add_material
from studiolog.journal.opening import Journal
from tests.journal.conftest import snapshot

BASE = (
    RecipePart("Potash feldspar", 40),
    RecipePart("Silica", 30),
    RecipePart("Whiting", 20),
    RecipePart("Kaolin (kaolinite)", 10),
)


def add(journal: Journal, name: str, *recipe: RecipePart) -> int:
    draft = GlazeDraft(name=name, recipe=recipe)
    return journal.edit(f"Add {name}", lambda session: add_glaze(session, draft)).value


def formula(journal: Journal, glaze_id: int):  # type: ignore[no-untyped-def]
    return journal.read(lambda session: read_formula(session, glaze_id))


def test_a_recipe_has_its_formula_with_the_analyses_it_came_from(journal: Journal) -> None:
    found = formula(journal, add(journal, "Base", *BASE))
    assert found.problem == ""
    assert found.formula.silica_alumina == pytest.approx(9.1, abs=0.6)
    assert 5.0 < found.expansion_ppm_k < 7.0
    assert found.expansion_error_ppm_k == 1.0
    bases = {lot.material: lot.basis for lot in found.lots}
    assert bases["Potash feldspar"] == "typical"
    assert bases["Kaolin (kaolinite)"] == "theoretical"


def test_a_material_nobody_analysed_is_named_and_the_rest_is_only_partial(journal: Journal) -> None:
    stain = RecipePart("Black stain", 8, addition=True)
    found = formula(journal, add(journal, "Black", *BASE, stain))
    assert found.formula is None
    assert found.expansion_ppm_k is None
    assert found.missing == ("Black stain",)
    assert found.problem == "No analysis of Black stain is known: add one in Materials."
    base = formula(journal, add(journal, "Base", *BASE))
    assert dict(found.partial.oxides) == pytest.approx(dict(base.formula.oxides))


def test_a_glaze_without_a_recipe_says_so(journal: Journal) -> None:
    found = formula(journal, add(journal, "Bought"))
    assert found.shown is None
    assert "no recipe yet" in found.problem


def test_a_new_lot_leaves_a_kept_recipe_as_it_was_and_counts_for_what_is_typed_anew(
    journal: Journal,
) -> None:
    def enter(session):  # type: ignore[no-untyped-def]
        material = add_material(session, "Hill feldspar")
        oxides = {"SiO2": 65.0, "Al2O3": 19.0, "K2O": 16.0}
        add_lot(session, material, LotDraft(basis="analysis", oxides=oxides, loi_percent=0.0))
        return material

    material = journal.edit("Hill feldspar", enter).value
    old = add(journal, "Old", RecipePart("Hill feldspar", 60), RecipePart("Whiting", 40))
    before = formula(journal, old)
    sodic = LotDraft(
        basis="analysis",
        dated=date(2026, 9, 1),
        oxides={"SiO2": 68.0, "Al2O3": 19.0, "Na2O": 13.0},
        loi_percent=0.0,
    )
    journal.edit("New lot", lambda session: add_lot(session, material, sodic))
    assert formula(journal, old) == before
    typed = [RecipePart("hill feldspar", 50), RecipePart("Whiting", 50)]
    kept_lot = journal.read(lambda session: read_typed_formula(session, old, typed))
    assert "K2O" in kept_lot.formula.oxides, "the line was there: it keeps its lot"
    other = add(journal, "Other")
    newest = journal.read(lambda session: read_typed_formula(session, other, typed))
    assert "Na2O" in newest.formula.oxides


def test_what_is_typed_comes_to_what_is_kept_and_writes_nothing(journal: Journal) -> None:
    glaze = add(journal, "Base", *BASE[:2])
    before = snapshot(journal)
    typed = journal.read(lambda session: read_typed_formula(session, glaze, BASE))
    assert snapshot(journal) == before
    journal.edit("Keep", lambda session: set_recipe(session, glaze, BASE))
    kept = formula(journal, glaze)
    assert dict(typed.formula.oxides) == pytest.approx(dict(kept.formula.oxides))
    assert [lot.material for lot in typed.lots] == [lot.material for lot in kept.lots]


def test_the_rules_of_the_studio_hold_for_every_glaze(journal: Journal) -> None:
    iron = RecipePart("Red iron oxide", 8, addition=True)
    glaze = add(journal, "Rust", *BASE, iron)
    assert "Fe2O3" in formula(journal, glaze).formula.oxides
    journal.edit("Rule", lambda session: set_limit(session, "iron_with_alumina", 0.0))
    every = journal.read(read_formulas)
    assert "FeO" in every[glaze].formula.flux_shares
    assert every[glaze] == formula(journal, glaze)
