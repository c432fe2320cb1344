"""Versions of a glaze side by side: recipe, formula, and what the fired pieces said."""

from collections import defaultdict
from collections.abc import Collection, Mapping, Sequence
from dataclasses import dataclass

from sqlalchemy import func, select
from sqlalchemy.orm import Session

from studiolog.craft.firing.cones import band_of
from studiolog.craft.glaze.version_changes import ARROW, Line, VersionState, say_change
from studiolog.craft.limits import Limits
from studiolog.craft.words import FAULTS
from studiolog.journal.fault_rates import RateGroup, group_rates
from studiolog.journal.glaze_formula import GlazeFormula, read_formulas
from studiolog.journal.glazes import title_of
from studiolog.journal.letters import reads_as
from studiolog.journal.limits import read_limits
from studiolog.journal.version_rows import (
    CompareRow,
    Group,
    fired_rows,
    formula_rows,
    recipe_rows,
    say_group,
)
from studiolog.records.clays import Clay
from studiolog.records.facts import NO_CONE, pair_fact
from studiolog.records.glazes import Glaze, RecipeLine
from studiolog.records.pieces import Layer

USUALLY = 4
"""So many versions are compared to begin with: as many as fit beside each other."""


@dataclass(frozen=True)
class VersionChoice:
    """A version that may be compared."""

    glaze_id: int
    version_number: int
    title: str
    parent_id: int | None
    trial: bool


@dataclass(frozen=True)
class VersionColumn:
    """One version. ``label`` tells it from the others beside it: its number, or its title where
    other glazes stand there too. ``against`` is the column it is compared with, None for the
    first; ``sentence`` what changed from there, ``fired`` what the fired pieces of both said."""

    glaze_id: int
    title: str
    label: str
    colour: str
    pattern: int
    pieces: int
    formula: GlazeFormula
    against: int | None
    sentence: str
    fired: str


@dataclass(frozen=True)
class VersionCompare:
    """Versions as columns, and the rows that tell them apart; ``name`` if all have one name."""

    name: str
    columns: tuple[VersionColumn, ...]
    rows: tuple[CompareRow, ...]


def list_versions(session: Session, glaze_id: int) -> tuple[VersionChoice, ...]:
    """All versions of a glaze by number; none if it is gone. Trials of a plan come last."""
    glaze = session.get(Glaze, glaze_id)
    if glaze is None:
        return ()
    family = session.scalars(
        select(Glaze)
        .where(reads_as(Glaze.name, glaze.name))
        .order_by(Glaze.trial, Glaze.version_number)
    )
    return tuple(
        VersionChoice(
            one.id,
            one.version_number,
            title_of(one.name, one.version_number),
            one.parent_id,
            one.trial,
        )
        for one in family
    )


def usual_choice(versions: Sequence[VersionChoice], glaze_id: int) -> tuple[int, ...]:
    """What to compare to begin with: a version with those it came from, then its neighbours."""
    by_id = {one.glaze_id: one for one in versions}
    chosen: list[int] = []
    at: int | None = glaze_id
    while at in by_id and at not in chosen and len(chosen) < USUALLY:
        chosen.append(at)
        at = by_id[at].parent_id
    kept = [one.glaze_id for one in versions if not one.trial]
    others = [one for one in reversed(kept) if one not in chosen]
    # The youngest others: what is being worked on.
    chosen += others[: max(0, min(USUALLY, len(kept)) - len(chosen))]
    return tuple(one.glaze_id for one in versions if one.glaze_id in chosen)


def read_version_compare(session: Session, glaze_ids: Collection[int]) -> VersionCompare:
    """Versions, or glazes of other names, side by side in the order given; gone ones left out.

    Fired pieces count where the version lies alone on the clay: what another glaze over it did is
    not its own.
    """
    found = {one.id: one for one in session.scalars(select(Glaze).where(Glaze.id.in_(glaze_ids)))}
    glazes = [found[ident] for ident in dict.fromkeys(glaze_ids) if ident in found]
    ids = [glaze.id for glaze in glazes]
    one_name = len({glaze.name.casefold() for glaze in glazes}) == 1
    limits = read_limits(session)
    formulas = read_formulas(session, ids, limits)
    recipes = _recipes(session, ids)
    carried = _pieces(session, ids)
    fired = _fired(session, ids)
    places = {ident: place for place, ident in enumerate(ids)}
    against: list[int | None] = []
    for place, glaze in enumerate(glazes):
        parent = places.get(glaze.parent_id) if glaze.parent_id is not None else None
        if parent is not None and parent < place:
            against.append(parent)
        else:
            against.append(place - 1 if place else None)
    states = [
        VersionState(recipes[one], formulas[one].formula, formulas[one].expansion_ppm_k)
        for one in ids
    ]
    clays = {clay.id: clay.name for clay in session.scalars(select(Clay))}
    columns = []
    for place, glaze in enumerate(glazes):
        before = against[place]
        sentence = say = ""
        if before is not None:
            sentence = say_change(states[before], states[place])
            say = _say_fired(fired[ids[before]], fired[glaze.id], clays, limits)
        title = title_of(glaze.name, glaze.version_number)
        columns.append(
            VersionColumn(
                glaze.id,
                title,
                f"Version {glaze.version_number}" if one_name else title,
                glaze.colour,
                glaze.pattern,
                carried.get(glaze.id, 0),
                formulas[glaze.id],
                before,
                sentence,
                say,
            )
        )
    rows = [
        *recipe_rows([recipes[one] for one in ids], against),
        *formula_rows([formulas[one] for one in ids], against),
        *fired_rows([fired[one] for one in ids], clays),
    ]
    return VersionCompare(glazes[0].name if one_name else "", tuple(columns), tuple(rows))


# Reading


def _recipes(session: Session, ids: Sequence[int]) -> dict[int, dict[Line, float]]:
    found: dict[int, dict[Line, float]] = {ident: {} for ident in ids}
    for line in session.scalars(
        select(RecipeLine)
        .where(RecipeLine.glaze_id.in_(ids))
        .order_by(RecipeLine.addition, RecipeLine.position)
    ):
        key = (line.material, line.addition)
        recipe = found[line.glaze_id]
        recipe[key] = recipe.get(key, 0.0) + line.parts
    return found


def _pieces(session: Session, ids: Sequence[int]) -> dict[int, int]:
    rows = session.execute(
        select(Layer.glaze_id, func.count(Layer.piece_id.distinct()))
        .where(Layer.glaze_id.in_(ids))
        .group_by(Layer.glaze_id)
    )
    return {row[0]: row[1] for row in rows}


def _fired(session: Session, ids: Sequence[int]) -> dict[int, dict[Group, RateGroup]]:
    looks: dict[int, dict[Group, list[tuple[int, int, int]]]] = {
        ident: defaultdict(list) for ident in ids
    }
    for row in session.execute(
        select(pair_fact).where(pair_fact.c.over_id.in_(ids), pair_fact.c.alone == 1)
    ):
        band = NO_CONE if row.cone10 == NO_CONE else band_of(row.cone10)
        looks[row.over_id][row.clay_id, band].append((row.piece_id, row.looked_mask, row.seen_mask))
    return {
        ident: {group: group_rates(rows) for group, rows in found.items()}
        for ident, found in looks.items()
    }


def _say_fired(
    before: Mapping[Group, RateGroup],
    after: Mapping[Group, RateGroup],
    clays: Mapping[int, str],
    limits: Limits,
) -> str:
    """What was seen on both under like conditions, the largest difference first."""
    found: list[tuple[float, str]] = []
    for group in before.keys() & after.keys():
        for fault in FAULTS:
            old, new = before[group].rate_of(fault), after[group].rate_of(fault)
            if old.rate is None or new.rate is None or not (old.seen or new.seen):
                continue
            words = (
                f"{FAULTS[fault]} on {say_group(group, clays)}: {old.seen} of {old.inspected} "
                f"{ARROW} {new.seen} of {new.inspected}"
            )
            if min(old.inspected, new.inspected) < limits["thin_results"]:
                words += " (thin evidence)"
            elif old.low <= new.high and new.low <= old.high:
                words += " (may be chance)"
            found.append((abs(new.rate - old.rate), words))
    if not found:
        return ""
    told = [words for _size, words in sorted(found, key=lambda one: (-one[0], one[1]))[:2]]
    sentence = "; ".join(told)
    return f"{sentence[0].upper()}{sentence[1:]}."
