"""The first rows of the bench, read from the file itself before anything large is loaded.

It answers what `read_bench` answers, for the rows a window first shows. What it cannot read, for
any reason, it leaves to the opening of the journal, which says why in a sentence.
"""

import sqlite3
from collections import defaultdict
from collections.abc import Iterator, Sequence
from contextlib import closing, contextmanager
from dataclasses import dataclass
from datetime import date, datetime
from pathlib import Path
from typing import Any

from studiolog.craft.words import STAGES
from studiolog.journal.bench_rows import (
    DONE,
    BenchRow,
    FormLook,
    LostLot,
    PackedIn,
    ServedOrder,
    in_order_of_loss,
)
from studiolog.journal.profiles import profile_from_text

READS = "0004"
"""The revision whose tables are read here; a journal at another one is not looked into."""

FILE = "journal.sqlite"
"""What a journal's file is called in its folder."""

_BUSY_S = 0.05
_MOST_RUNS = 500
_FIRST_ROWS = """
WITH worked AS (
  SELECT * FROM run
  WHERE EXISTS (SELECT 1 FROM piece
                WHERE piece.run_id = run.id AND piece.stage NOT IN ('finished', 'lost'))
     OR NOT EXISTS (SELECT 1 FROM piece WHERE piece.run_id = run.id)
     OR EXISTS (SELECT 1 FROM piece
                WHERE piece.run_id = run.id AND piece.stage = 'finished' AND piece.kind = 'ware'
                  AND piece.shipment_id IS NULL
                  AND EXISTS (
                    SELECT 1 FROM order_line JOIN orders ON orders.id = order_line.order_id
                    WHERE orders.state = 'open' AND order_line.id = CASE
                        WHEN piece.order_line_id IS NOT NULL THEN piece.order_line_id
                        WHEN piece.set_part_id IS NULL THEN run.order_line_id
                        ELSE (SELECT asking.id FROM order_line AS asking
                              JOIN set_part ON set_part.set_id = asking.set_id
                              WHERE set_part.id = piece.set_part_id) END
                      AND (piece.order_line_id IS NOT NULL OR piece.set_part_id IS NOT NULL
                        OR order_line.wanted > (
                          SELECT count(*) FROM piece WHERE piece.order_line_id = order_line.id
                            AND piece.shipment_id IS NOT NULL AND piece.stage <> 'lost'))))
  ORDER BY number DESC LIMIT :most)
SELECT worked.id AS run_id, worked.version, worked.number, worked.title, worked.purpose,
  worked.made_on, form.name AS form, form.shape, form.profile, form.fired_height_mm,
  form.fired_across_mm, clay.name AS clay, orders.id AS order_id, order_line.id AS line_id,
  orders.number AS order_number, orders.whom, orders.promised_on, orders.state
FROM worked
LEFT JOIN form ON form.id = worked.form_id
LEFT JOIN clay ON clay.id = worked.clay_id
LEFT JOIN order_line ON order_line.id = worked.order_line_id
LEFT JOIN orders ON orders.id = order_line.order_id
ORDER BY CASE WHEN orders.state = 'open' THEN coalesce(orders.promised_on, '9999') ELSE '9999' END,
  worked.number
LIMIT :limit"""
_LOTS = """
SELECT run_id, stage, number IS NULL AS counted, lost_at, lost_why, count(*) AS pieces FROM piece
WHERE run_id IN ({runs}) GROUP BY run_id, stage, counted, lost_at, lost_why"""
_SINCE = """
SELECT piece.run_id, piece.stage, min(stage_change.at) AS at FROM piece
JOIN stage_change ON stage_change.piece_id = piece.id AND stage_change.stage = piece.stage
WHERE piece.run_id IN ({runs}) AND piece.stage NOT IN ('finished', 'lost')
GROUP BY piece.run_id, piece.stage"""
_PACKED = """
SELECT piece.run_id, firing.id AS firing_id, firing.number, piece.stage, count(*) AS pieces
FROM piece JOIN placement ON placement.piece_id = piece.id
JOIN firing ON firing.id = placement.firing_id
WHERE piece.run_id IN ({runs})
  AND (piece.stage = 'bone_dry' AND firing.kind = 'bisque'
    OR piece.stage = 'glazed' AND firing.kind != 'bisque')
GROUP BY piece.run_id, firing.id, firing.number, piece.stage ORDER BY firing.number"""


@dataclass(frozen=True)
class FirstLook:
    """What stands in a window before its journal is open; ``whole`` if there are no more rows."""

    studio: str
    rows: tuple[BenchRow, ...]
    whole: bool


def read_first_look(file: Path, limit: int = 100) -> FirstLook | None:
    """The name of the studio and the first rows of its bench; None if they can't be read so."""
    try:
        with _looking(file) as connection:
            found = connection.execute("SELECT version_num FROM alembic_version").fetchone()
            if found is None or found["version_num"] != READS:
                return None
            named = connection.execute("SELECT name FROM studio ORDER BY id LIMIT 1").fetchone()
            rows = _read_rows(connection, limit)
            return FirstLook(named["name"] if named else "", rows, len(rows) < limit)
    except (sqlite3.Error, OSError, ValueError, KeyError, TypeError):
        return None


@contextmanager
def _looking(file: Path) -> Iterator[sqlite3.Connection]:
    where = f"{file.resolve().as_uri()}?mode=ro"
    with closing(sqlite3.connect(where, uri=True, timeout=_BUSY_S)) as connection:
        connection.row_factory = sqlite3.Row
        connection.execute("BEGIN")
        yield connection


def _read_rows(connection: sqlite3.Connection, limit: int) -> tuple[BenchRow, ...]:
    asked = {"most": _MOST_RUNS, "limit": limit}
    runs = connection.execute(_FIRST_ROWS, asked).fetchall()
    ids = [run["run_id"] for run in runs]
    counts: dict[int, dict[str, int]] = defaultdict(dict)
    counted: dict[int, dict[str, int]] = defaultdict(dict)
    lost: dict[int, dict[tuple[str | None, str], int]] = defaultdict(dict)
    for lot in _of_runs(connection, _LOTS, ids):
        run_id, stage, pieces = lot["run_id"], lot["stage"], lot["pieces"]
        counts[run_id][stage] = counts[run_id].get(stage, 0) + pieces
        if lot["counted"]:
            counted[run_id][stage] = counted[run_id].get(stage, 0) + pieces
        if stage == "lost":
            cause = (lot["lost_at"], lot["lost_why"])
            lost[run_id][cause] = lost[run_id].get(cause, 0) + pieces
    since = {
        (row["run_id"], row["stage"]): datetime.fromisoformat(row["at"])
        for row in _of_runs(connection, _SINCE, ids)
    }
    packed: dict[int, list[PackedIn]] = defaultdict(list)
    for row in _of_runs(connection, _PACKED, ids):
        packed[row["run_id"]].append(
            PackedIn(row["firing_id"], row["number"], row["stage"], row["pieces"])
        )
    rows = []
    for run in runs:
        run_id = run["run_id"]
        by_stage = counts.get(run_id, {})
        youngest = next((s for s in STAGES if s not in DONE and by_stage.get(s)), None)
        rows.append(
            BenchRow(
                run_id=run_id,
                version=run["version"],
                number=run["number"],
                title=run["title"],
                form=_form(run),
                clay=run["clay"] or "",
                purpose=run["purpose"],
                made_on=date.fromisoformat(run["made_on"]),
                order=_order(run),
                counts=by_stage,
                counted=counted.get(run_id, {}),
                losses=in_order_of_loss(
                    LostLot(*cause, pieces) for cause, pieces in lost[run_id].items()
                ),
                youngest=youngest,
                since=since.get((run_id, youngest)) if youngest else None,
                packed=tuple(packed.get(run_id, ())),
            )
        )
    return tuple(rows)


def _of_runs(
    connection: sqlite3.Connection, question: str, runs: Sequence[int]
) -> Sequence[sqlite3.Row]:
    marks = ", ".join("?" * len(runs))
    return connection.execute(question.format(runs=marks), list(runs)).fetchall()


def _form(run: Any) -> FormLook | None:
    if run["form"] is None:
        return None
    return FormLook(
        run["form"],
        run["shape"],
        profile_from_text(run["profile"]),
        run["fired_height_mm"],
        run["fired_across_mm"],
    )


def _order(run: Any) -> ServedOrder | None:
    if run["order_id"] is None:
        return None
    promised = run["promised_on"]
    return ServedOrder(
        run["order_id"],
        run["line_id"],
        run["order_number"],
        run["whom"],
        date.fromisoformat(promised) if promised else None,
        run["state"],
    )
