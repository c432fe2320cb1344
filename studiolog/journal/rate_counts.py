"""How often every fault was seen under everything that was tried, counted over a whole journal."""

from __future__ import annotations

from dataclasses import dataclass
from typing import TYPE_CHECKING

from sqlalchemy import Table, literal, select
from sqlalchemy.orm import Session

from studiolog.craft.evidence.rates import wilson_all
from studiolog.craft.words import FAULTS
from studiolog.journal.finding_chemistry import put_to
from studiolog.journal.finding_scope import scope_of
from studiolog.journal.question import Question
from studiolog.journal.tables import table
from studiolog.journal.tally import (
    UNKNOWN,
    Field,
    Places,
    Tally,
    highest_id,
    read_columns,
    seen_marks,
    tally,
)
from studiolog.records.facts import NO_CLAY, pair_fact, path_fact, piece_fact

if TYPE_CHECKING:
    from studiolog.journal.tally import Floats, Ints


@dataclass(frozen=True)
class RateCounts:
    """Rates by clay, order of glazes, zone, cone and fault, in columns: a value a rate each.

    ``path`` and ``zone`` are places in ``paths`` and ``zones``, ``band`` counts half cones, and
    ``clay`` is `NO_CLAY` and ``band`` `UNKNOWN` where they are not known; ``fault`` is the place
    among the fault words. ``tally`` and ``group`` say which group of which of the tallies a rate
    comes from.
    """

    clay: Ints
    path: Ints
    zone: Ints
    band: Ints
    fault: Ints
    inspected: Ints
    seen: Ints
    intervals: tuple[Floats, Floats]
    paths: tuple[str, ...]
    zones: tuple[str, ...]
    tallies: tuple[Tally, ...]
    tally: Ints
    group: Ints

    def __len__(self) -> int:
        return int(self.fault.size)


@dataclass(frozen=True)
class PairCounts:
    """Rates by pair of glazes, clay, cone and fault, in columns; ``under`` 0 is the clay itself.

    ``clay`` is `NO_CLAY` and ``band`` `UNKNOWN` where they are not known; ``fault`` is the place
    among the fault words.
    """

    over: Ints
    under: Ints
    clay: Ints
    band: Ints
    fault: Ints
    inspected: Ints
    seen: Ints
    intervals: tuple[Floats, Floats]

    def __len__(self) -> int:
        return int(self.fault.size)


def count_rates(session: Session, question: Question | None = None) -> RateCounts:
    """Every rate the journal can give, or those of one question, with their Wilson intervals."""
    import numpy as np

    asked = put_to(session, question or Question())
    paths, zones = Places(), Places()
    # Where no glaze is asked about, unglazed pieces have rates too.
    grains = (True,) if asked.asks_layers() else (True, False)
    tallies = tuple(_tally_looks(session, asked, glazed, paths, zones) for glazed in grains)
    lines = [_lines(counted, asked.fault) for counted in tallies]
    group, fault, inspected, seen = (np.concatenate(column) for column in zip(*lines, strict=True))
    clay, path, zone, band = (
        np.concatenate(
            [counted.keys[key][line[0]] for counted, line in zip(tallies, lines, strict=True)]
        )
        for key in range(4)
    )
    return RateCounts(
        clay=clay,
        path=path,
        zone=zone,
        band=band,
        fault=fault,
        inspected=inspected,
        seen=seen,
        intervals=wilson_all(seen, inspected),
        paths=paths.words,
        zones=zones.words,
        tallies=tallies,
        tally=np.repeat(np.arange(len(lines)), [line[0].size for line in lines]),
        group=group,
    )


def count_pair_rates(session: Session, question: Question | None = None) -> PairCounts:
    """Rates of every glaze directly on another or on the clay, with their Wilson intervals.

    A single glaze and the lowest of several both lie on the clay. ``question`` narrows the pieces
    and its combination is left out of it, as in the matrix.
    """
    asked = put_to(session, question or Question())
    facts = pair_fact
    glazes = highest_id(session, "glaze")
    over, under, clay, cone10, piece, looked, severities = read_columns(
        session,
        scope_of(asked, surfaces=True, facts=facts)
        .select(facts.c.piece_id)
        .where(facts.c.looked_mask != 0),
        (
            Field(facts.c.over_id, 0, glazes),
            Field(facts.c.under_id, 0, glazes),
            *fact_fields(session, facts),
        ),
    )
    counted = tally(
        (over, under, clay, bands_of(cone10)), piece, looked, seen_marks(severities, asked.severity)
    )
    group, fault, inspected, seen = _lines(counted, asked.fault)
    over, under, clay, band = (key[group] for key in counted.keys)
    return PairCounts(over, under, clay, band, fault, inspected, seen, wilson_all(seen, inspected))


def _tally_looks(
    session: Session,
    question: Question,
    glazed: bool,
    paths: Places,
    zones: Places,
) -> Tally:
    """Inspected glazed zones, or inspected pieces without a glaze, by clay, path, zone and band.

    ``paths`` and ``zones`` are given what they don't hold yet.
    """

    facts = path_fact if glazed else piece_fact
    # Faults are counted here: words for a surface say on which.
    whole = None if question.asks_layers() else facts
    scope = scope_of(question, surfaces=True, facts=whole)
    grain = scope.facts
    if glazed and grain is not path_fact:
        scope = scope.narrowed(needs_path=True)
    found = scope.select(grain.c.piece_id).where(grain.c.looked_mask != 0)
    # A path is numbers and strokes, so that it ends where the first space is.
    laid = path_fact.c.path + " " + path_fact.c.zone if glazed else literal("| ")
    if not glazed:
        found = found.where(piece_fact.c.piece_id.not_in(select(table("layer").c.piece_id)))
    words = Places()
    clay, cone10, piece, looked, severities, word = read_columns(
        session, found, fact_fields(session, grain), ((laid, words),)
    )
    parts = [said.split(" ", 1) for said in words.words]
    path = paths.of([said[0] for said in parts])
    # Zones are told apart without regard to case.
    zone = zones.of([said[1].strip().lower() for said in parts])
    return tally(
        (clay, path[word], zone[word], bands_of(cone10)),
        piece,
        looked,
        seen_marks(severities, question.severity),
    )


def fact_fields(session: Session, facts: Table) -> tuple[Field, ...]:
    """Clay, tenths of a cone, piece, and the two masks of faults, as far as they can reach.

    A clay that was not noted is `NO_CLAY`, a cone that is not known `UNKNOWN`.
    """
    return (
        Field(facts.c.clay_id, NO_CLAY, highest_id(session, "clay")),
        Field(facts.c.cone10, UNKNOWN, -UNKNOWN),
        Field(facts.c.piece_id, 0, highest_id(session, "piece")),
        Field(facts.c.looked_mask, 0, (1 << len(FAULTS)) - 1),
        Field(facts.c.severities, 0, (1 << 2 * len(FAULTS)) - 1),
    )


def bands_of(cone10: Ints) -> Ints:
    """The half-cone band of tenths of a cone, as `cones.band_of`, `UNKNOWN` staying what it is."""
    import numpy as np

    return np.where(cone10 == UNKNOWN, UNKNOWN, cone10 // 5)


def _lines(counted: Tally, only: str | None) -> tuple[Ints, Ints, Ints, Ints]:
    """(group, fault, inspected, seen) of each fault somebody looked for in each group."""
    import numpy as np

    faults = [only] if only else list(FAULTS)
    inspected = np.stack([counted.inspected_for(fault) for fault in faults], axis=1)
    seen = np.stack([counted.seen_on(fault) for fault in faults], axis=1)
    group, column = np.nonzero(inspected)
    places = np.array([list(FAULTS).index(fault) for fault in faults], dtype=np.int64)
    return group, places[column], inspected[group, column], seen[group, column]
