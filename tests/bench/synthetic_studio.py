"""A synthetic studio of any size, written straight to the tables; its facts are derived as ever."""

import random
from datetime import date, datetime, timedelta
from pathlib import Path

from sqlalchemy import Connection, insert

from studiolog.journal.facts import rebuild_facts
from studiolog.journal.opening import Journal, open_journal
from studiolog.records import Record
from studiolog.transfer.curve_blob import pack_readings

GLAZES, CLAYS, LEVELS = 12, 4, 3


def build(folder: Path, pieces: int, seed: int = 1) -> Journal:
    """A journal of ``pieces`` pieces, each with layers, a firing and an inspection."""
    journal = open_journal(folder)
    chance = random.Random(seed)
    with journal.engine.begin() as connection:
        _write(connection, pieces, chance)
        rebuild_facts(connection)
        connection.exec_driver_sql("ANALYZE")
    return journal


def _rows(connection: Connection, name: str, rows: list[dict[str, object]]) -> None:
    table = Record.metadata.tables[name]
    defaults = {
        column.name: column.default.arg
        for column in table.columns
        if column.default is not None and column.default.is_scalar
    }
    for start in range(0, len(rows), 5000):
        chunk = [{**defaults, "version": 1, **row} for row in rows[start : start + 5000]]
        if chunk:
            connection.execute(insert(table), chunk)


def _write(connection: Connection, pieces: int, chance: random.Random) -> None:
    start = datetime(2020, 1, 1, 8)
    firings = max(4, pieces // 20)
    _rows(connection, "clay", [{"id": n, "name": f"Clay {n}"} for n in range(1, CLAYS + 1)])
    _rows(
        connection,
        "glaze",
        [{"id": n, "name": f"Glaze {n}", "pattern": n % 8} for n in range(1, GLAZES + 1)],
    )
    _rows(connection, "kiln", [{"id": 1, "name": "Big kiln"}])
    _rows(
        connection,
        "kiln_level",
        [{"id": n, "kiln_id": 1, "position": n, "name": f"level {n}"} for n in (1, 2, 3)],
    )
    _rows(
        connection,
        "firing",
        [
            {
                "id": n,
                "number": n,
                "kiln_id": 1,
                "started_at": start + timedelta(days=n),
                "cone": "6",
                "kind": "glaze",
            }
            for n in range(1, firings + 1)
        ],
    )
    at_s = [60.0 * n for n in range(800)]
    curve_c = [round(20 + 1.5 * n + chance.gauss(0, 0.6), 1) for n in range(800)]
    packed = pack_readings(at_s, curve_c)
    _rows(
        connection,
        "curve",
        [
            {
                "firing_id": n,
                "channel": "kiln",
                "packed": packed,
                "readings": 800,
                "duration_s": 47_940.0,
                "peak_c": 1220.0,
                "cone": 5.2 + 1.6 * chance.random(),
                "cone_low": 5.0,
                "cone_high": 7.0,
            }
            for n in range(1, firings + 1)
        ],
    )
    made = [(start + timedelta(days=n % 2000)).date() for n in range(pieces)]
    _rows(
        connection,
        "piece",
        [
            {
                "id": n,
                "number": n,
                "clay_id": chance.randint(1, CLAYS),
                "stage": "fired",
                "made_on": made[n - 1],
            }
            for n in range(1, pieces + 1)
        ],
    )
    layers, looked, readings = [], [], []
    for n in range(1, pieces + 1):
        for position in range(1, chance.choice((1, 2, 2, 3)) + 1):
            layers.append(
                {
                    "piece_id": n,
                    "zone": "outside",
                    "position": position,
                    "glaze_id": chance.randint(1, GLAZES),
                    "method": "dip",
                }
            )
        if chance.random() < 0.8:
            looked.append({"id": n, "piece_id": n, "looked_on": date(2026, 1, 1)})
            for fault in ("crazing", "running"):
                severity = chance.choice((0, 0, 0, 1, 2))
                readings.append({"inspection_id": n, "fault": fault, "severity": severity})
    _rows(connection, "layer", layers)
    _rows(connection, "inspection", looked)
    _rows(connection, "fault_reading", readings)
    _rows(
        connection,
        "placement",
        [
            {
                "piece_id": n,
                "firing_id": chance.randint(1, firings),
                "level_id": chance.randint(1, LEVELS),
            }
            for n in range(1, pieces + 1)
        ],
    )
