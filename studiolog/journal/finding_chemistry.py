"""Which glazes meet the conditions a question sets on their formula, and which have none."""

from collections.abc import Sequence
from dataclasses import dataclass, replace

from sqlalchemy import exists, select
from sqlalchemy.orm import Session

from studiolog.craft.glaze.oxides import LOI
from studiolog.journal.glaze_formula import GlazeFormula, read_formulas
from studiolog.journal.question import Question
from studiolog.journal.question_chemistry import (
    ALKALIS,
    EXPANSION,
    OXYGEN_RATIO,
    RATIO,
    ChemistryRange,
    alkali_moles,
)
from studiolog.journal.tables import table
from studiolog.records.facts import pair_fact


@dataclass(frozen=True)
class GlazesMeeting:
    """Glazes that lie on some piece: those that meet every condition, and those nobody can tell.

    ``unknown`` have no recipe, a material without analysis, or (where moles per mole of flux are
    asked for) no flux.
    """

    glazes: frozenset[int]
    unknown: frozenset[int]


def figure_of(formula: GlazeFormula, measure: str) -> float | None:
    """One figure of a glaze's formula, None where it is not known.

    An oxide that is not in the glaze is 0. ``measure`` is a key of `MEASURES`.
    """
    unity = formula.formula
    if unity is None:
        return None
    if measure == RATIO:
        return unity.silica_alumina
    if measure == EXPANSION:
        return formula.expansion_ppm_k
    if measure == OXYGEN_RATIO:
        return unity.oxygen_ratio
    if measure == LOI:
        return unity.loi_percent
    if not unity.is_defined:
        return None
    if measure == ALKALIS:
        return alkali_moles(unity.oxides)
    return unity.oxides.get(measure, 0.0)


def find_glazes_meeting(session: Session, asked: Sequence[ChemistryRange]) -> GlazesMeeting:
    """The glazes on pieces whose formula, as it is now, meets all of ``asked``."""
    glaze = table("glaze")
    used = session.scalars(
        select(glaze.c.id).where(exists().where(pair_fact.c.over_id == glaze.c.id))
    ).all()
    meeting, unknown = set(), set()
    for glaze_id, formula in read_formulas(session, used).items():
        figures = [figure_of(formula, one.measure) for one in asked]
        known = [value for value in figures if value is not None]
        if len(known) < len(figures):
            unknown.add(glaze_id)
        elif all(one.holds(value) for one, value in zip(asked, known, strict=True)):
            meeting.add(glaze_id)
    return GlazesMeeting(frozenset(meeting), frozenset(unknown))


def put_to(session: Session, question: Question) -> Question:
    """The question with the glazes its conditions on a formula come to in this journal."""
    if not question.chemistry or question.made_of is not None:
        return question
    return replace(question, made_of=find_glazes_meeting(session, question.chemistry).glazes)
