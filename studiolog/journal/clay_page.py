"""The page of a clay: what is known of it, what was made of it, and what went wrong on it."""

from collections import defaultdict
from dataclasses import dataclass
from decimal import Decimal

from sqlalchemy import select
from sqlalchemy.orm import Session

from studiolog.craft.firing.cones import band_of
from studiolog.journal.fault_rates import RateGroup, group_rates
from studiolog.journal.uses import PAGE, PieceUses, read_piece_uses
from studiolog.records.clays import Clay
from studiolog.records.facts import piece_fact
from studiolog.records.pieces import Piece


@dataclass(frozen=True)
class ConeBand:
    """Fault rates of the pieces that got the cones of a half-cone band (see `cones.band_of`).

    ``band`` is None for pieces of which no cone is known.
    """

    band: int | None
    group: RateGroup


@dataclass(frozen=True)
class ClayPage:
    """Everything of one clay."""

    clay_id: int
    version: int
    name: str
    colour: str
    specks: str
    shrinkage_percent: float | None
    absorption_percent: float | None
    expansion_ppm_k: float | None
    cone_range: str
    notes: str
    archived: bool
    uses: PieceUses
    rates: RateGroup
    bands: tuple[ConeBand, ...]
    price_per_kg: Decimal | None = None


def read_clay_page(
    session: Session, clay_id: int, start: int = 0, limit: int = PAGE
) -> ClayPage | None:
    """The page of a clay with one page of its pieces; None if it is gone."""
    clay = session.get(Clay, clay_id)
    if clay is None:
        return None
    looks: dict[int | None, list[tuple[int, int, int]]] = defaultdict(list)
    for piece_id, cone10, looked, seen in session.execute(
        select(
            piece_fact.c.piece_id,
            piece_fact.c.cone10,
            piece_fact.c.looked_mask,
            piece_fact.c.seen_mask,
        ).where(piece_fact.c.clay_id == clay_id)
    ):
        looks[None if cone10 is None else band_of(cone10)].append((piece_id, looked, seen))
    known = sorted(band for band in looks if band is not None)
    bands = [ConeBand(band, group_rates(looks[band])) for band in known]
    if None in looks:
        bands.append(ConeBand(None, group_rates(looks[None])))
    return ClayPage(
        clay.id,
        clay.version,
        clay.name,
        clay.colour,
        clay.specks,
        clay.shrinkage_percent,
        clay.absorption_percent,
        clay.expansion_ppm_k,
        clay.cone_range,
        clay.notes,
        clay.archived,
        read_piece_uses(session, Piece.clay_id == clay_id, start, limit),
        group_rates(look for some in looks.values() for look in some),
        tuple(bands),
        clay.price_per_kg,
    )
