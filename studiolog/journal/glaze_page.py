"""The page of a glaze: recipe, versions, what carries it and what went wrong with it."""

from collections import defaultdict
from dataclasses import dataclass

from sqlalchemy import func, or_, select
from sqlalchemy.orm import Session

from studiolog.journal.fault_rates import RateGroup, group_rates
from studiolog.journal.glazes import RecipePart, plans_with, title_of
from studiolog.journal.letters import reads_as
from studiolog.journal.uses import PAGE, PieceUses, read_piece_uses
from studiolog.records.facts import pair_fact, path_fact
from studiolog.records.glazes import Glaze, RecipeLine
from studiolog.records.pieces import Layer, Piece


@dataclass(frozen=True)
class GlazeVersion:
    """One version in a glaze's chain; ``depth`` counts its ancestors, 0 for the first."""

    glaze_id: int
    title: str
    version_number: int
    depth: int
    pieces: int
    archived: bool


@dataclass(frozen=True)
class GlazeName:
    """What a glaze is called and looks like, for a combination."""

    glaze_id: int
    title: str
    colour: str
    pattern: int


@dataclass(frozen=True)
class Combination:
    """The glaze alone (neither given), over another, or under another, in a zone of a piece."""

    over: GlazeName | None
    under: GlazeName | None
    group: RateGroup


@dataclass(frozen=True)
class GlazePage:
    """Everything of one glaze version."""

    glaze_id: int
    version: int
    name: str
    title: str
    version_number: int
    parent_id: int | None
    kind: str
    bought: bool
    colour: str
    pattern: int
    cone_range: str
    specific_gravity: float | None
    notes: str
    archived: bool
    recipe: tuple[RecipePart, ...]
    versions: tuple[GlazeVersion, ...]
    uses: PieceUses
    rates: RateGroup
    combinations: tuple[Combination, ...]
    plans: tuple[str, ...] = ()
    """The names of the test plans that are made with it."""

    @property
    def recipe_is_fixed(self) -> bool:
        """Whether pieces carry this recipe or plans go by it: a change of it is a new version."""
        return bool(self.recipe) and (self.uses.total > 0 or bool(self.plans))


def read_glaze_page(
    session: Session, glaze_id: int, start: int = 0, limit: int = PAGE
) -> GlazePage | None:
    """The page of a glaze with one page of the pieces that carry it; None if it is gone."""
    glaze = session.get(Glaze, glaze_id)
    if glaze is None:
        return None
    recipe = tuple(
        RecipePart(line.material, line.parts, line.addition, line.lot_id)
        for line in session.scalars(
            select(RecipeLine)
            .where(RecipeLine.glaze_id == glaze_id)
            .order_by(RecipeLine.addition, RecipeLine.position)
        )
    )
    carries = Piece.id.in_(select(Layer.piece_id).where(Layer.glaze_id == glaze_id))
    looks = session.execute(
        select(path_fact.c.piece_id, path_fact.c.looked_mask, path_fact.c.seen_mask).where(
            path_fact.c.path.like(f"%|{glaze_id}|%")
        )
    )
    return GlazePage(
        glaze.id,
        glaze.version,
        glaze.name,
        title_of(glaze.name, glaze.version_number),
        glaze.version_number,
        glaze.parent_id,
        glaze.kind,
        glaze.bought,
        glaze.colour,
        glaze.pattern,
        glaze.cone_range,
        glaze.specific_gravity,
        glaze.notes,
        glaze.archived,
        recipe,
        _versions(session, glaze.name),
        read_piece_uses(session, carries, start, limit),
        group_rates((row.piece_id, row.looked_mask, row.seen_mask) for row in looks),
        _combinations(session, glaze_id),
        plans_with(session, glaze_id),
    )


def _versions(session: Session, name: str) -> tuple[GlazeVersion, ...]:
    used = (
        select(Layer.glaze_id, func.count(Layer.piece_id.distinct()).label("pieces"))
        .group_by(Layer.glaze_id)
        .subquery()
    )
    rows = session.execute(
        select(Glaze, func.coalesce(used.c.pieces, 0))
        .outerjoin(used, used.c.glaze_id == Glaze.id)
        .where(reads_as(Glaze.name, name))
        .order_by(Glaze.version_number)
    ).all()
    # A parent always came before its child, so one pass in order of number finds every depth.
    depths: dict[int, int] = {}
    versions = []
    for glaze, pieces in rows:
        above = depths.get(glaze.parent_id, -1) if glaze.parent_id is not None else -1
        depths[glaze.id] = above + 1
        versions.append(
            GlazeVersion(
                glaze.id,
                title_of(glaze.name, glaze.version_number),
                glaze.version_number,
                above + 1,
                pieces,
                glaze.archived,
            )
        )
    return tuple(versions)


def _combinations(session: Session, glaze_id: int) -> tuple[Combination, ...]:
    """Alone first, then over and under others, the commonest first."""
    looks: dict[tuple[int, int], list[tuple[int, int, int]]] = defaultdict(list)
    for row in session.execute(
        select(pair_fact).where(
            or_(pair_fact.c.over_id == glaze_id, pair_fact.c.under_id == glaze_id)
        )
    ):
        if row.over_id == glaze_id and row.under_id == 0 and not row.alone:
            continue  # it lies on the clay with others on it: those pairs tell of it
        looks[row.over_id, row.under_id].append((row.piece_id, row.looked_mask, row.seen_mask))
    names = {
        glaze.id: GlazeName(
            glaze.id, title_of(glaze.name, glaze.version_number), glaze.colour, glaze.pattern
        )
        for glaze in session.scalars(
            select(Glaze).where(Glaze.id.in_({one for pair in looks for one in pair} - {0}))
        )
    }
    found = [
        Combination(
            names[over] if over != glaze_id else None,
            names.get(under) if over == glaze_id else None,
            group_rates(some),
        )
        for (over, under), some in looks.items()
    ]
    return tuple(
        sorted(
            found,
            key=lambda one: (one.over is not None or one.under is not None, -one.group.pieces),
        )
    )
