"""The rates of a whole journal, for other programs: the same answers as on the screen."""

import json
from collections.abc import Iterator, Mapping, Sequence
from dataclasses import asdict, dataclass

from sqlalchemy import select
from sqlalchemy.orm import Session

from studiolog.craft.firing.cones import band_edges
from studiolog.craft.words import FAULTS
from studiolog.journal.finding import glazes_of, read_names
from studiolog.journal.question import Question
from studiolog.journal.rate_counts import RateCounts, count_rates
from studiolog.journal.tables import table
from studiolog.journal.tally import UNKNOWN


@dataclass(frozen=True)
class RateRow:
    """How often a fault was seen on one clay under one order of glazes, in a zone, at a cone.

    ``layers`` are glaze names from the clay outward; empty for unglazed pieces, whose ``zone`` is
    empty too. The cones are ordinals, half a cone apart, the cooler
    edge belonging to the band; None where no cone is known. ``pieces``
    are all that were inspected; ``rate``, ``low``, ``high`` are shares with their Wilson interval.
    """

    clay: str | None
    layers: list[str]
    zone: str
    cone_low: float | None
    cone_high: float | None
    fault: str
    inspected: int
    seen: int
    rate: float
    low: float
    high: float
    pieces: list[int | str]


def read_rates(session: Session, question: Question | None = None) -> list[RateRow]:
    """The rates of `count_rates` with names and with the pieces they come from, sorted by name."""
    counts = count_rates(session, question)
    names = read_names(session)
    layers = [
        [names.glazes.get(glaze, f"glaze {glaze}") for glaze in glazes_of(path)]
        for path in counts.paths
    ]
    clays = {clay: names.clays.get(clay) for clay in set(counts.clay.tolist())}
    evidence = _evidence(counts, _called(session))
    faults = list(FAULTS)
    columns = (
        column.tolist()
        for column in (
            *(counts.clay, counts.path, counts.zone, counts.band, counts.fault),
            *(counts.inspected, counts.seen, *counts.intervals),
        )
    )
    rows = [
        RateRow(
            clay=clays[clay],
            layers=layers[path],
            zone=counts.zones[zone],
            cone_low=None if band == UNKNOWN else band_edges(band)[0],
            cone_high=None if band == UNKNOWN else band_edges(band)[1],
            fault=faults[fault],
            inspected=inspected,
            seen=seen,
            rate=seen / inspected,
            low=low,
            high=high,
            pieces=pieces,
        )
        for (clay, path, zone, band, fault, inspected, seen, low, high), pieces in zip(
            zip(*columns, strict=True), evidence, strict=True
        )
    ]
    order = {fault: place for place, fault in enumerate(faults)}
    rows.sort(
        key=lambda row: (
            row.clay or "",
            row.zone,
            row.layers,
            row.cone_low is None,
            row.cone_low or 0.0,
            order[row.fault],
        )
    )
    return rows


def _evidence(counts: RateCounts, called: Mapping[int, int | str]) -> Iterator[list[int | str]]:
    """What the inspected pieces of each rate are called, lowest id first."""
    names = [[called[piece] for piece in one.piece.tolist()] for one in counts.tallies]
    looked = [one.looked.tolist() for one in counts.tallies]
    starts = [one.starts.tolist() for one in counts.tallies]
    sizes = [one.pieces.tolist() for one in counts.tallies]
    lines = zip(counts.tally.tolist(), counts.group.tolist(), counts.fault.tolist(), strict=True)
    for source, group, fault in lines:
        start = starts[source][group]
        yield [
            names[source][place]
            for place in range(start, start + sizes[source][group])
            if looked[source][place] >> fault & 1
        ]


def _called(session: Session) -> dict[int, int | str]:
    """What each piece is called: its number, or the run it is counted under."""
    piece, run = table("piece"), table("run")
    rows = session.execute(
        select(piece.c.id, piece.c.number, run.c.number.label("run_number")).outerjoin(
            run, run.c.id == piece.c.run_id
        )
    )
    return {
        row.id: row.number if row.number is not None else f"run {row.run_number}" for row in rows
    }


def rates_as_json(rows: Sequence[RateRow]) -> str:
    """The rates as a JSON list, one object a row."""
    return json.dumps([asdict(row) for row in rows], ensure_ascii=False, indent=1)
