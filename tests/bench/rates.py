"""Rates with intervals of a whole studio, and of its pairs, against the plain query that joins."""

from collections.abc import Iterator, Sequence
from typing import Any

from sqlalchemy.orm import Session

from studiolog.craft.evidence.rates import wilson
from studiolog.craft.words import FAULTS
from studiolog.journal.opening import Journal
from studiolog.journal.rate_counts import count_pair_rates, count_rates
from studiolog.journal.tally import UNKNOWN
from tests.bench.result import Result
from tests.bench.timing import exponent, in_rotation

# The cone each piece got in its hottest firing after the bisque; then the layers of each zone in
# order; then what each inspection says of that zone: all from the normalised tables. The synthetic
# studio names no part of a zone, so that a reading speaks of its own zone or of the whole piece.
_HEAT = """
heat AS (
    SELECT placement.piece_id, max(round(level_heat.cone * 10)) AS cone10
    FROM placement
    JOIN firing ON firing.id = placement.firing_id AND firing.kind <> 'bisque'
    JOIN level_heat ON level_heat.firing_id = placement.firing_id
        AND level_heat.level_id = placement.level_id
    GROUP BY placement.piece_id
)"""
_LOOK = """
    JOIN inspection ON inspection.piece_id = piece.id
    JOIN fault_reading ON fault_reading.inspection_id = inspection.id
        AND fault_reading.zone IN ('', laid.zone)
    LEFT JOIN heat ON heat.piece_id = piece.id"""
_BAND = "(CAST(heat.cone10 AS INTEGER) + 1000) / 5 - 200"

WHOLE = f"""
WITH {_HEAT},
laid AS (
    SELECT piece_id, zone, '|' || group_concat(glaze_id, '|') || '|' AS path
    FROM (SELECT piece_id, zone, glaze_id FROM layer ORDER BY piece_id, zone, position)
    GROUP BY piece_id, zone
),
seen AS (
    SELECT piece.id, piece.clay_id, laid.path, laid.zone, {_BAND} AS band,
        fault_reading.fault, max(fault_reading.severity) AS severity
    FROM piece JOIN laid ON laid.piece_id = piece.id {_LOOK}
    GROUP BY piece.id, laid.zone, fault_reading.fault
)
SELECT clay_id, path, zone, band, fault, count(*), sum(severity > 0)
FROM seen GROUP BY clay_id, path, zone, band, fault"""

PAIRS = f"""
WITH {_HEAT},
laid AS (
    SELECT upper.piece_id, upper.zone, upper.glaze_id AS over_id, coalesce(lower.glaze_id, 0)
        AS under_id
    FROM layer AS upper
    LEFT JOIN layer AS lower ON lower.piece_id = upper.piece_id AND lower.zone = upper.zone
        AND lower.position = upper.position - 1
),
seen AS (
    SELECT piece.id, piece.clay_id, laid.over_id, laid.under_id, {_BAND} AS band,
        fault_reading.fault, max(fault_reading.severity) AS severity
    FROM piece JOIN laid ON laid.piece_id = piece.id {_LOOK}
    GROUP BY piece.id, laid.over_id, laid.under_id, fault_reading.fault
)
SELECT over_id, under_id, clay_id, band, fault, count(*), sum(severity > 0)
FROM seen GROUP BY over_id, under_id, clay_id, band, fault"""

Line = tuple[Any, ...]


def plain(session: Session, query: str) -> list[Line]:
    """The answer of a plain query, each line with its Wilson interval."""
    driver = session.connection().connection.driver_connection
    if driver is None:
        raise TypeError("the session has no connection")
    return [(*row, *wilson(row[-1], row[-2])) for row in driver.execute(query)]


def _whole_lines(session: Session) -> set[Line]:
    counts = count_rates(session)
    columns = (
        column.tolist()
        for column in (
            *(counts.clay, counts.path, counts.zone, counts.band, counts.fault),
            *(counts.inspected, counts.seen, *counts.intervals),
        )
    )
    return {
        (clay, counts.paths[path], counts.zones[zone], *rest)
        for clay, path, zone, *rest in _named(zip(*columns, strict=True), 3, 4)
        if counts.paths[path] != "|"  # a piece without a glaze has no layer to join
    }


def _pair_lines(session: Session) -> set[Line]:
    counts = count_pair_rates(session)
    columns = (
        column.tolist()
        for column in (
            *(counts.over, counts.under, counts.clay, counts.band, counts.fault),
            *(counts.inspected, counts.seen, *counts.intervals),
        )
    )
    return set(_named(zip(*columns, strict=True), 3, 4))


def _named(lines: Iterator[Line], band: int, fault: int) -> Iterator[Line]:
    words = list(FAULTS)
    for line in lines:
        cells = list(line)
        cells[band] = None if line[band] == UNKNOWN else line[band]
        cells[fault] = words[line[fault]]
        yield tuple(cells)


def measure_rates(journals: Sequence[tuple[int, Journal]], rounds: int) -> tuple[list[Result], int]:
    """The ratios at the largest size, their growth, and how many rates disagree."""
    wrong = 0
    taken: dict[str, list[tuple[int, float, float]]] = {"whole": [], "pairs": []}
    lines = {}
    for size, journal in journals:
        with Session(journal.engine) as session:
            for name, query, ours, count in (
                ("whole", WHOLE, _whole_lines, count_rates),
                ("pairs", PAIRS, _pair_lines, count_pair_rates),
            ):
                said, found = set(plain(session, query)), ours(session)
                wrong += len(said ^ found)
                lines[name] = len(said)
                mine_s, plain_s = in_rotation(
                    rounds,
                    lambda s=session, c=count: c(s),
                    lambda s=session, q=query: plain(s, q),
                )
                taken[name].append((size, mine_s, plain_s))
    results = []
    for name, title, target in (
        ("whole", "rates with intervals, whole studio", "≤ 0.10"),
        ("pairs", "rates with intervals, pairs", "≤ 0.08"),
    ):
        _, mine_s, plain_s = taken[name][-1]
        results.append(
            Result(
                title,
                mine_s / plain_s,
                target,
                "the plain join query",
                rounds,
                f"{lines[name]} rates at {taken[name][-1][0]} pieces",
            )
        )
        if len(taken[name]) > 1:
            grown = exponent(*((size, seconds) for size, seconds, _ in taken[name][-2:]))
            results.append(
                Result(f"{title}: growth", grown, "≤ 1.0", "the pieces, as an exponent", rounds)
            )
    return results, wrong
