"""A question as conditions on the searchable facts: which grain of them, and what narrows it."""

from collections.abc import Sequence
from dataclasses import dataclass, replace
from functools import lru_cache
from typing import Any, Final

from sqlalchemy import (
    Case,
    ColumnElement,
    Select,
    Table,
    and_,
    case,
    exists,
    func,
    literal,
    literal_column,
    or_,
    select,
)

from studiolog.craft.words import (
    FAULTS,
    ONE_OF,
    fault_bit,
    group_mask,
    surface_bit,
    surface_group,
)
from studiolog.journal.letters import contains, reads_as, spellings
from studiolog.journal.question import ConeRange, Question
from studiolog.journal.tables import table
from studiolog.records.facts import NO_CLAY, NO_CONE, pair_fact, path_fact, piece_fact

_LOW_BITS: Final = sum(1 << 2 * place for place in range(len(FAULTS)))


@dataclass(frozen=True)
class Scope:
    """One grain of the facts, the conditions on it, and what joins it needs.

    The grain is `piece_fact` where no glaze is asked about, `pair_fact` for one glaze directly
    over another or alone and for glazes by their formula, `path_fact` for the rest.
    """

    facts: Table
    where: tuple[ColumnElement[bool], ...]
    needs_piece: bool = False
    needs_path: bool = False
    needs_level: bool = False

    def select(self, *columns: Any) -> Select[Any]:
        """Select from the grain and what it is joined to."""
        source: Any = self.facts
        if (self.needs_piece or self.needs_level) and self.facts is not piece_fact:
            source = source.join(piece_fact, piece_fact.c.piece_id == self.facts.c.piece_id)
        if self.needs_path and self.facts is not path_fact:
            same = and_(
                path_fact.c.piece_id == self.facts.c.piece_id,
                path_fact.c.zone == self.facts.c.zone,
            )
            source = source.join(path_fact, same)
        if self.needs_level:
            level = table("kiln_level")
            source = source.outerjoin(level, level.c.id == piece_fact.c.level_id)
        return select(*columns).select_from(source).where(*self.where)

    def narrowed(self, *where: ColumnElement[bool], **needs: bool) -> "Scope":
        """The same with more conditions."""
        return replace(self, where=(*self.where, *where), **needs)  # type: ignore[arg-type]


def scope_of(
    question: Question,
    *,
    cones: bool = True,
    surfaces: bool | None = None,
    facts: Table | None = None,
) -> Scope:
    """The facts a question asks about. ``cones`` False leaves the cone out of it.

    ``surfaces`` says whether its words for a surface narrow the facts; None: unless it is the
    surface that is looked for. ``facts`` names the grain of a matrix, whose rows stand in for the
    combination. Raises ValueError for conditions on a formula that were not put to a journal.
    """
    chosen = facts if facts is not None else _grain(question)
    where: list[ColumnElement[bool]] = []
    needs_piece = needs_path = needs_level = False
    if facts is None:
        where += _combination(question, chosen)
    if question.zone:
        where.append(in_zone(chosen.c.zone, question.zone))
    if question.method is not None:
        where.append(path_fact.c.methods.contains(f"|{question.method}|", autoescape=True))
        needs_path = True
    if question.clay_id is not None:
        where.append(chosen.c.clay_id == question.clay_id)
    if cones and question.cone is not None:
        where += _cones(question.cone, chosen)
        needs_piece = needs_piece or question.cone.basis is not None
    if question.atmosphere is not None:
        where.append(piece_fact.c.atmosphere == question.atmosphere)
        needs_piece = True
    if question.since is not None:
        where.append(piece_fact.c.fired_on >= question.since)
        needs_piece = True
    if question.until is not None:
        where.append(piece_fact.c.fired_on <= question.until)
        needs_piece = True
    if question.level:
        level = table("kiln_level")
        where.append(reads_as(func.trim(level.c.name), question.level.strip()))
        needs_level = True
    if question.notes:
        where.append(_noted(chosen.c.piece_id, question.notes))
    narrows = not question.asks_surface() if surfaces is None else surfaces
    if question.surfaces and narrows:
        where.append(shows_surface(chosen.c.surfaces, question.surfaces))
    if question.chemistry:
        where.append(_made_of(question, chosen, whole_zones=facts is None))
    return Scope(chosen, tuple(where), needs_piece, needs_path, needs_level)


def in_zone(column: ColumnElement[str], zone: str) -> ColumnElement[bool]:
    """Whether a glazed zone is ``zone`` or a part of it."""
    folded = func.lower(func.trim(column))
    parts = (folded.startswith(f"{one},", autoescape=True) for one in spellings(zone.strip()))
    return or_(reads_as(func.trim(column), zone.strip()), *parts)


def _grain(question: Question) -> Table:
    if not question.asks_layers():
        return piece_fact
    asked = question.combination
    if asked is not None and asked.kind != "anywhere":
        return pair_fact
    # Every layer of a zone lies on something, so its pairs name each of them once.
    return pair_fact if question.chemistry and asked is None else path_fact


def _made_of(question: Question, facts: Table, whole_zones: bool) -> ColumnElement[bool]:
    """Whether some layer of the zone is one of the glazes the conditions came to."""
    if question.made_of is None:
        raise ValueError("conditions on a formula are put to a journal first")
    glazes = sorted(question.made_of)
    if facts is pair_fact and whole_zones and question.combination is None:
        return facts.c.over_id.in_(glazes)
    other = pair_fact.alias("other_layer")
    elsewhere = exists().where(
        other.c.piece_id == facts.c.piece_id,
        other.c.zone == facts.c.zone,
        # A sum has no index: else SQLite goes through all pairs of these glazes for each piece,
        # in place of the few pairs of the piece.
        (other.c.over_id + literal_column("0")).in_(glazes),
    )
    if facts is path_fact:
        return elsewhere
    return or_(facts.c.over_id.in_(glazes), facts.c.under_id.in_(glazes), elsewhere)


def _by_group(words: Sequence[str]) -> dict[str, int]:
    bits: dict[str, int] = {}
    for word in words:
        group = surface_group(word)
        bits[group] = bits.get(group, 0) | surface_bit(word)
    return bits


def shows_surface(mask: ColumnElement[int], words: Sequence[str]) -> ColumnElement[bool]:
    """Whether a surface is so: of glossy or satin either, of mottled and crystals both."""
    return and_(
        *(
            mask.bitwise_and(bits) != 0 if group in ONE_OF else mask.bitwise_and(bits) == bits
            for group, bits in _by_group(words).items()
        )
    )


def is_described(mask: ColumnElement[int], words: Sequence[str]) -> ColumnElement[bool]:
    """Whether a surface was described in every respect that these words speak of."""
    return and_(*(mask.bitwise_and(group_mask(group)) != 0 for group in _by_group(words)))


def _combination(question: Question, facts: Table) -> list[ColumnElement[bool]]:
    asked = question.combination
    if asked is None:
        return []
    match asked.kind:
        case "over":
            return [facts.c.over_id == asked.glaze_id, facts.c.under_id == asked.under_id]
        case "only":
            return [facts.c.over_id == asked.glaze_id, facts.c.under_id == 0, facts.c.alone == 1]
        case "overlap":
            return [facts.c.under_id != 0, facts.c.under_id != facts.c.over_id]
        case _:
            # Delimited at both ends: |112| is not |12|.
            return [facts.c.path.contains(f"|{asked.glaze_id}|", autoescape=True)]


def _cones(cone: ConeRange, facts: Table) -> list[ColumnElement[bool]]:
    known: ColumnElement[bool] = facts.c.cone10.is_not(None)
    where = [facts.c.cone10 > NO_CONE if facts is pair_fact else known]
    if cone.low is not None:
        where.append(facts.c.cone10 >= round(cone.low * 10))
    if cone.high is not None:
        where.append(facts.c.cone10 <= round(cone.high * 10))
    if cone.basis is not None:
        where.append(piece_fact.c.cone_basis == cone.basis)
    return where


def _noted(piece_id: ColumnElement[int], text: str) -> ColumnElement[bool]:
    piece, layer = table("piece"), table("layer")
    inspection, reading = table("inspection"), table("fault_reading")

    def says(column: ColumnElement[str]) -> ColumnElement[bool]:
        return contains(column, text)

    on_piece = [
        says(piece.c[name]) for name in ("title", "notes", "lesson", "next_time", "lost_why")
    ]
    return or_(
        exists().where(piece.c.id == piece_id, or_(*on_piece)),
        exists().where(layer.c.piece_id == piece_id, says(layer.c.note)),
        exists().where(inspection.c.piece_id == piece_id, says(inspection.c.note)),
        exists().where(
            inspection.c.piece_id == piece_id,
            reading.c.inspection_id == inspection.c.id,
            says(reading.c.note),
        ),
    )


def cone10_in(facts: Table) -> ColumnElement[int]:
    """Tenths of the cone at a piece, NULL where it is not known."""
    return func.nullif(facts.c.cone10, NO_CONE) if facts is pair_fact else facts.c.cone10


def clay_in(facts: Table) -> ColumnElement[int]:
    """The clay of a piece, NULL where it was not noted."""
    return func.nullif(facts.c.clay_id, NO_CLAY) if facts is pair_fact else facts.c.clay_id


# The same few expressions are asked again and again, and to build one takes longer than SQLite
# takes to answer a question.
@lru_cache(maxsize=128)
def looked_in(facts: Table, fault: str | None) -> Case[int]:
    """1 where the facts say that somebody looked for the fault, else 0."""
    mask = facts.c.looked_mask
    looked = mask != 0 if fault is None else mask.bitwise_and(fault_bit(fault)) != 0
    return case((looked, 1), else_=0)


@lru_cache(maxsize=128)
def severity_in_facts(facts: Table, fault: str | None) -> ColumnElement[int]:
    """The worst severity seen, 0 to 3; of any fault if none is named."""
    packed = facts.c.severities
    if fault is not None:
        place = 2 * (fault_bit(fault).bit_length() - 1)
        found: ColumnElement[int] = packed.bitwise_rshift(place).bitwise_and(3)
        return found
    both = packed.bitwise_and(packed.bitwise_rshift(1)).bitwise_and(_LOW_BITS)
    return case(
        (both != 0, 3),
        (packed.bitwise_and(_LOW_BITS << 1) != 0, 2),
        (packed != 0, 1),
        else_=0,
    )


def cone_band(facts: Table) -> ColumnElement[int]:
    """The half-cone band of ``cone10``, as `cones.band_of` counts them."""
    # Shifted above zero first: databases round the quotient of negatives towards zero.
    band: ColumnElement[int] = (cone10_in(facts) + literal(1000)) // literal(5) - literal(200)
    return band
