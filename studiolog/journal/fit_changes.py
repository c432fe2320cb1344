"""A glaze that does not fit a clay: what its recipe may be changed from, and the version kept."""

from dataclasses import dataclass

from sqlalchemy import select
from sqlalchemy.orm import Session

from studiolog.craft.glaze.fit import Fault, GlazeStanding, Threshold, learn_threshold, stand
from studiolog.craft.glaze.fit_suggestion_words import say_version_note
from studiolog.craft.glaze.fit_suggestions import FitRecipe, Suggestion
from studiolog.journal.analyses import read_analyses
from studiolog.journal.fit import EVERY_CONE, ConeSpan, read_clay_fit
from studiolog.journal.glaze_formula import read_formula
from studiolog.journal.glazes import RecipePart, add_version, change_glaze
from studiolog.journal.recipe_search import USUAL_SHELF, read_shelf
from studiolog.problems import UserProblem
from studiolog.records.glazes import RecipeLine


@dataclass(frozen=True, eq=False)
class FitTask:
    """All that a search for changes needs, read once: the search itself is a pure sum.

    ``other`` is the threshold of the other fault of fit on the same clay; ``other_looked_for``
    says whether it rests on anything but expectation. ``lots`` are the analyses that each
    material of the recipe or the shelf is computed with, ``materials`` what those of the recipe
    are called there: one of two lots stands under two names.
    """

    glaze_id: int
    clay_id: int
    clay: str
    fault: Fault
    recipe: FitRecipe
    standing: GlazeStanding
    other: Threshold
    other_looked_for: bool
    lots: dict[str, int]
    materials: dict[str, str]


def read_fit_task(
    session: Session, glaze_id: int, clay_id: int, fault: Fault, span: ConeSpan = EVERY_CONE
) -> FitTask:
    """What a search for changes starts from. Raises UserProblem where nothing can be computed."""
    formula = read_formula(session, glaze_id)
    if formula.expansion_ppm_k is None:
        raise UserProblem(formula.problem or "The expansion of this glaze can't be calculated.")
    found = read_clay_fit(session, clay_id, span)
    if found is None:
        raise UserProblem("This clay is gone.")
    fit = found.of(fault)
    if fit is None:
        raise UserProblem(f"Nobody has looked for {fault} on {found.name} yet.")
    recipe = read_analyses(session, [glaze_id])[glaze_id]
    shelf = read_shelf(session)
    mine = [one for one in shelf.materials if one.mine and one.analysis.is_given]
    if not mine:
        usual = (shelf.find(name) for name in USUAL_SHELF)
        mine = [one for one in usual if one is not None]
    own = {name.casefold() for name in recipe.parts}
    beside = [one for one in mine if one.name.casefold() not in own]
    other = found.of("shivering" if fault == "crazing" else "crazing")
    if other is not None:
        threshold = other.known
    else:
        threshold = learn_threshold((), "shivering", fit.known.limits)
    point = fit.glaze(glaze_id)
    base = dict(recipe.base_parts)
    return FitTask(
        glaze_id,
        clay_id,
        found.name,
        fault,
        FitRecipe(
            base,
            {
                name: parts - base.get(name, 0.0)
                for name, parts in recipe.parts.items()
                if parts - base.get(name, 0.0) > 1e-9
            },
            {**{one.name: one.analysis.percents for one in beside}, **recipe.analyses},
            tuple(one.name for one in beside),
        ),
        stand(fit.known, formula.expansion_ppm_k, point.result if point is not None else None),
        threshold,
        other is not None and other.known.glazes > 0,
        {
            **{one.name: one.lot_id for one in beside if one.lot_id is not None},
            **recipe.lot_ids,
        },
        {key: material for material, key in recipe.lines},
    )


def keep_suggestion(session: Session, task: FitTask, chosen: Suggestion) -> int:
    """A suggestion as a new version to test, with a note of what it is for; returns its id.

    What is added on top stays as it is, and every material keeps the lot it was computed with.
    """
    recipe = [
        RecipePart(task.materials.get(name, name), parts, False, task.lots.get(name))
        for name, parts in chosen.parts.items()
    ]
    recipe += [
        RecipePart(line.material, line.parts, True, line.lot_id)
        for line in session.scalars(
            select(RecipeLine)
            .where(RecipeLine.glaze_id == task.glaze_id, RecipeLine.addition.is_(True))
            .order_by(RecipeLine.position)
        )
    ]
    version_id = add_version(session, task.glaze_id, recipe)
    note = say_version_note(chosen, task.fault, task.clay)
    change_glaze(session, version_id, notes=note)
    return version_id
