"""The rates of a whole journal, for other programs: the same answers as on the screen."""

import json
from collections import defaultdict
from collections.abc import Sequence
from dataclasses import asdict, dataclass, field
from typing import Any

from sqlalchemy import select
from sqlalchemy.orm import Session

from studiolog.craft.evidence.rates import rate_of
from studiolog.craft.firing.cones import band_edges, band_of
from studiolog.craft.words import FAULTS, faults_in
from studiolog.journal.facts import severity_in
from studiolog.journal.finding import glazes_of, read_names, scope_of, table
from studiolog.journal.question import Question
from studiolog.records.facts import path_fact, piece_fact


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


@dataclass
class _Tally:
    pieces: set[int] = field(default_factory=set)
    seen: set[int] = field(default_factory=set)


_Key = tuple[int | None, str, str, int | None, str]


def read_rates(session: Session, question: Question | None = None) -> list[RateRow]:
    """Every rate the journal can give, or those of one question."""
    asked = question or Question()
    tallies: dict[_Key, _Tally] = defaultdict(_Tally)
    for facts in (path_fact, piece_fact):
        if facts is piece_fact and asked.asks_layers():
            continue
        _count(session, asked, facts is path_fact, tallies)
    names = read_names(session)
    called = _called(session)
    rows = [_row(key, tally, names.clays, names.glazes, called) for key, tally in tallies.items()]
    rows.sort(
        key=lambda row: (
            row.clay or "",
            row.zone,
            row.layers,
            row.cone_low is None,
            row.cone_low or 0.0,
            list(FAULTS).index(row.fault),
        )
    )
    return rows


def _count(session: Session, question: Question, glazed: bool, tallies: dict[_Key, _Tally]) -> None:
    facts = path_fact if glazed else piece_fact
    scope = scope_of(question, facts=None if question.asks_layers() else facts)
    grain = scope.facts
    if glazed and grain is not path_fact:
        scope = scope.narrowed(needs_path=True)
    where, path = (path_fact.c.zone, path_fact.c.path) if glazed else (None, None)
    columns: list[Any] = [
        grain.c.piece_id,
        grain.c.clay_id,
        grain.c.cone10,
        grain.c.looked_mask,
        grain.c.severities,
    ]
    columns += [where, path] if glazed else []
    found = scope.select(*columns).where(grain.c.looked_mask != 0)
    if not glazed:
        found = found.where(piece_fact.c.piece_id.not_in(select(path_fact.c.piece_id).distinct()))
    for piece_id, clay_id, cone10, looked, severities, *laid in session.execute(found):
        zone, layers = (laid[0].strip().lower(), laid[1]) if laid else ("", "|")
        band = None if cone10 is None else band_of(cone10)
        for fault in faults_in(looked):
            if question.fault not in (None, fault):
                continue
            tally = tallies[clay_id, layers, zone, band, fault]
            tally.pieces.add(piece_id)
            if severity_in(severities, fault) >= question.severity:
                tally.seen.add(piece_id)


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


def _row(
    key: _Key,
    tally: _Tally,
    clays: Any,
    glazes: Any,
    called: dict[int, int | str],
) -> RateRow:
    clay_id, path, zone, band, fault = key
    inspected, seen = len(tally.pieces), len(tally.seen)
    rate = rate_of(seen, inspected)
    return RateRow(
        clay=clays.get(clay_id),
        layers=[glazes.get(glaze_id, f"glaze {glaze_id}") for glaze_id in glazes_of(path)],
        zone=zone,
        cone_low=None if band is None else band_edges(band)[0],
        cone_high=None if band is None else band_edges(band)[1],
        fault=fault,
        inspected=inspected,
        seen=seen,
        rate=seen / inspected,
        low=rate.low,
        high=rate.high,
        pieces=[called[piece_id] for piece_id in sorted(tally.pieces)],
    )


def rates_as_json(rows: Sequence[RateRow]) -> str:
    """The rates as a JSON list, one object a row."""
    return json.dumps([asdict(row) for row in rows], ensure_ascii=False, indent=1)
