"""A suggestion is kept as a new version to test: with its lots, its additions and a note."""

import pytest
from sqlalchemy import select

from studiolog.craft.glaze.fit_suggestion_words import (
    say_change,
    say_effect,
    say_found,
    say_other_fault,
    say_ratio_change,
)
from studiolog.craft.glaze.fit_suggestions import FitSuggestions, suggest_changes
from studiolog.craft.limits import SHIPPED, Limits
from studiolog.journal.fit import read_clay_fit
from studiolog.journal.fit_changes import FitTask, keep_suggestion, read_fit_task
from studiolog.journal.glaze_formula import read_formula
from studiolog.journal.materials import LotDraft, add_lot, add_material, list_materials
from studiolog.journal.opening import Journal
from studiolog.problems import UserProblem
from studiolog.records.glazes import Glaze, RecipeLine
from tests.crazed_yard import CrazedYard, enter_crazed_yard


@pytest.fixture
def yard(journal: Journal) -> CrazedYard:
    return enter_crazed_yard(journal)


def task_of(yard: CrazedYard, glaze: int | None = None, clay: int | None = None):
    return yard.journal.read(
        lambda s: read_fit_task(s, glaze or yard.chalk, clay or yard.red, "crazing")
    )


_found: list[FitSuggestions] = []


def found_for(task: FitTask) -> FitSuggestions:
    """The same yard has the same answer."""
    if not _found:
        _found.append(suggest_changes(task.recipe, task.standing, task.other))
    return _found[0]


def test_the_glaze_stands_by_its_own_pieces(yard):
    task = task_of(yard)
    assert task.clay == "Iron-red stoneware"
    assert task.recipe.base["Nepheline syenite"] == 56
    assert task.recipe.additions == {"Zirconium silicate": 6}
    # What other recipes brought to the shelf may come in.
    assert {"Dolomite", "Soda feldspar", "Potash feldspar"} <= set(task.recipe.shelf)
    red = task.standing.chance().mean
    buff = task_of(yard, clay=yard.buff).standing.chance().mean
    assert red > 0.5 > 0.45 > 0.3 < buff < red
    assert not task.other_looked_for


def test_a_suggestion_becomes_a_version_with_a_note(yard):
    task = task_of(yard)
    found = found_for(task)
    chosen = next(one for one in found.found if one.way == "silica")
    before = yard.journal.read(lambda s: s.scalars(select(Glaze.id)).all())
    done = yard.journal.edit("Keep", lambda s: keep_suggestion(s, task, chosen))
    made = done.value
    assert made not in before

    def look(session):
        glaze = session.get(Glaze, made)
        lines = session.scalars(
            select(RecipeLine).where(RecipeLine.glaze_id == made).order_by(RecipeLine.position)
        ).all()
        lots = {
            line.material: line.lot_id
            for line in session.scalars(select(RecipeLine).where(RecipeLine.glaze_id == yard.chalk))
        }
        return (
            (glaze.name, glaze.version_number, glaze.parent_id, glaze.notes),
            [(line.material, line.parts, line.addition) for line in lines],
            all(line.lot_id == lots[line.material] for line in lines if line.material in lots),
            read_formula(session, made),
        )

    (name, number, parent, notes), lines, kept_lots, formula = yard.journal.read(look)
    assert (name, number, parent) == ("Chalk", 2, yard.chalk)
    assert notes.startswith("To test against crazing on Iron-red stoneware. More silica: ")
    assert "Test it alone on this clay, with a stress test." in notes
    assert lines[-1] == ("Zirconium silicate", 6.0, True)
    assert sum(parts for _, parts, addition in lines if not addition) == pytest.approx(100)
    assert kept_lots
    assert formula.expansion_ppm_k == pytest.approx(chosen.after.expansion_ppm_k, abs=1e-6)


def test_a_recipe_keeps_the_lots_it_was_computed_with(yard):
    def new_lot(session):
        silica = next(one for one in list_materials(session) if one.name == "Silica")
        analysis = {"SiO2": 97.0, "Al2O3": 2.5}
        add_lot(session, silica.material_id, LotDraft(label="grey", oxides=analysis, loi_percent=0))

    before = task_of(yard).standing.expansion_ppm_k
    yard.journal.edit("New lot", new_lot)
    task = task_of(yard)
    assert task.standing.expansion_ppm_k == before
    assert task.recipe.analyses["Silica"]["SiO2"] > 99


def test_a_new_material_comes_with_the_lot_in_force(yard):
    yard.journal.edit("Zinc", lambda s: add_material(s, "Zinc oxide"))
    task = task_of(yard)
    found = suggest_changes(task.recipe, task.standing, task.other)
    zinc = next(one for one in found.found if one.material == "Zinc oxide")
    made = yard.journal.edit("Keep", lambda s: keep_suggestion(s, task, zinc)).value
    assert yard.journal.read(lambda s: read_formula(s, made)).missing == ()


def test_what_can_not_be_computed_is_told(yard):
    with pytest.raises(UserProblem, match="no recipe"):
        task_of(yard, glaze=yard.shop)
    with pytest.raises(UserProblem, match="Nobody has looked for shivering"):
        yard.journal.read(lambda s: read_fit_task(s, yard.chalk, yard.red, "shivering"))


def test_the_words_of_a_suggestion(yard):
    task = task_of(yard)
    found = found_for(task)
    silica = next(one for one in found.found if one.way == "silica")
    assert say_change(silica).endswith("parts of Silica on a hundred")
    effect = say_effect(silica, "crazing")
    assert effect.startswith("Chance of crazing ")
    assert "a change of \N{MINUS SIGN}" in effect
    assert "±" in effect
    swap = next(one for one in found.found if one.material == "Talc")
    assert "of the flux, in place of Na₂O and K₂O" in say_change(swap)
    assert say_ratio_change(silica).startswith("SiO₂:Al₂O₃ 6.3 → ")
    told = say_other_fault(silica, "crazing", looked_for=False)
    assert "by expectation alone: nobody has looked for shivering" in told
    assert say_other_fault(silica, "crazing", looked_for=True).endswith(").")
    said = say_found(found, "crazing", task.clay, SHIPPED)
    assert "of the recipe would bring the chance of crazing on Iron-red stoneware under 5" in said


def test_when_nothing_reaches_the_safe_side_the_nearest_is_told(yard):
    clay = yard.journal.read(lambda s: read_clay_fit(s, yard.red))
    assert clay is not None
    from studiolog.craft.glaze.fit import learn_threshold, stand

    tight = Limits({"most_added_parts": 3.0, "most_swapped_flux": 0.03})
    task = task_of(yard)
    known = learn_threshold(clay.crazing.known.results, "crazing", tight)
    point = clay.crazing.glaze(yard.chalk)
    assert point is not None
    found = suggest_changes(task.recipe, stand(known, point.expansion_ppm_k, point.result))
    said = say_found(found, "crazing", task.clay, tight)
    assert said.startswith("No change within bounds brings the chance of crazing")
    assert "The nearest gets to" in said
