"""What a glaze calls for: its recipe with analyses, and what was seen on pieces that carry it."""

from collections.abc import Sequence
from dataclasses import dataclass

from sqlalchemy import func, select
from sqlalchemy.orm import Session

from studiolog.craft.glaze.hazards import Hazard, Seen, find_hazards, metals_to_test
from studiolog.craft.words import ATMOSPHERES
from studiolog.journal.analyses import RecipeAnalyses, read_analyses
from studiolog.journal.fault_rates import RateGroup
from studiolog.journal.glaze_formula import read_typed_analyses
from studiolog.journal.glazes import RecipePart, title_of
from studiolog.journal.limits import read_limits
from studiolog.journal.writing import get
from studiolog.records.clays import Clay
from studiolog.records.facts import piece_fact
from studiolog.records.firings import Firing
from studiolog.records.glazes import Glaze
from studiolog.records.pieces import Layer

_MOST_PIECES = 12
"""Kinds of pieces offered for a test, the newest firings first."""


@dataclass(frozen=True)
class TestWare:
    """Pieces that carry the glaze, alike in clay and firing: what a leach test speaks of."""

    __test__ = False

    clay: str
    firing: str
    pieces: int


@dataclass(frozen=True)
class LaboratoryFacts:
    """What a request to a laboratory can be filled in with."""

    title: str
    metals: tuple[str, ...]
    ware: tuple[TestWare, ...]


def read_hazards(session: Session, glaze_id: int, rates: RateGroup) -> tuple[Hazard, ...]:
    """What a glaze as it is kept calls for; ``rates`` of the pieces that carry it."""
    return _hazards(session, glaze_id, read_analyses(session, [glaze_id])[glaze_id], rates)


def read_typed_hazards(
    session: Session, glaze_id: int, typed: Sequence[RecipePart], rates: RateGroup
) -> tuple[Hazard, ...]:
    """What a recipe that is being typed calls for."""
    given = [part for part in typed if part.parts > 0]
    return _hazards(session, glaze_id, read_typed_analyses(session, glaze_id, given), rates)


def _hazards(
    session: Session, glaze_id: int, recipe: RecipeAnalyses, rates: RateGroup
) -> tuple[Hazard, ...]:
    crazing, dry = rates.rate_of("crazing"), rates.rate_of("dry")
    reduced = session.scalar(
        select(func.count(piece_fact.c.firing_id.distinct())).where(
            piece_fact.c.atmosphere == "reduction",
            piece_fact.c.piece_id.in_(select(Layer.piece_id).where(Layer.glaze_id == glaze_id)),
        )
    )
    seen = Seen(crazing.inspected, crazing.seen, dry.inspected, dry.seen, int(reduced or 0))
    return find_hazards(recipe.parts, recipe.analyses, seen, read_limits(session))


def read_laboratory(session: Session, glaze_id: int) -> LaboratoryFacts:
    """What a request about a glaze says of it. Raises `UserProblem` if it is gone."""
    glaze = get(session, Glaze, glaze_id)
    recipe = read_analyses(session, [glaze_id])[glaze_id]
    carry = select(Layer.piece_id).where(Layer.glaze_id == glaze_id)
    rows = session.execute(
        select(Clay.name, Firing, func.count())
        .select_from(piece_fact)
        .join(Firing, Firing.id == piece_fact.c.firing_id)
        .join(Clay, Clay.id == piece_fact.c.clay_id)
        .where(piece_fact.c.piece_id.in_(carry))
        .group_by(Clay.id, Clay.name, Firing.id)
        .order_by(Firing.number.desc(), Clay.name)
        .limit(_MOST_PIECES)
    ).all()
    return LaboratoryFacts(
        title_of(glaze.name, glaze.version_number),
        metals_to_test(recipe.parts, recipe.analyses),
        tuple(TestWare(clay, _firing_words(firing), pieces) for clay, firing, pieces in rows),
    )


def _firing_words(firing: Firing) -> str:
    aim = f" to cone {firing.cone}" if firing.cone else ""
    return f"fired{aim} in {ATMOSPHERES[firing.atmosphere]} (firing {firing.number})"
