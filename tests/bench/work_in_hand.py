"""The work in hand: the bench at ten thousand open pieces and five hundred orders.

`make bench` runs this as one part, "work"; each measure stands in `MEASURES` and gets the folder
and the rounds. What else belongs to the work in hand (forecast, packing) adds its own there.
"""

import sqlite3
from collections import Counter, defaultdict
from collections.abc import Callable, Iterator, Sequence
from datetime import date, datetime, time
from pathlib import Path
from typing import Any

from sqlalchemy.orm import Session

from studiolog.journal.bench import read_bench
from studiolog.journal.bench_work import RunWork, count_waiting, read_work
from studiolog.journal.opening import FILE, Journal
from studiolog.ui.bench.later import AT_ONCE
from tests.bench.packing import measure_packing
from tests.bench.promise import measure_forecast
from tests.bench.result import Result
from tests.bench.synthetic_studio import build
from tests.bench.timing import exponent, in_rotation, p95, seconds_of
from tests.bench.work_studio import FORMS, STEP_STAGE, WorkWriter

SIZES = (1_000, 10_000)
CHUNK = AT_ONCE
"""Runs read in one go by the screen, so that its window never waits long."""

# Everything that tells what a piece waits for, in one question: its form's steps, its own, its
# stages and its layers, each beside the other.
JOINED = """
SELECT piece.run_id, piece.id, piece.stage, form.shape, form_step.name, step.name, step.zone,
    step.done_on, stage_change.at, layer.zone, orders.state, piece.shipment_id
FROM piece
JOIN run ON run.id = piece.run_id
LEFT JOIN form ON form.id = run.form_id
LEFT JOIN form_step ON form_step.form_id = form.id
LEFT JOIN step ON step.piece_id = piece.id
LEFT JOIN stage_change ON stage_change.piece_id = piece.id AND stage_change.stage = piece.stage
LEFT JOIN layer ON layer.piece_id = piece.id
LEFT JOIN order_line ON order_line.id = piece.order_line_id
LEFT JOIN orders ON orders.id = order_line.order_id
WHERE piece.stage NOT IN ('lost', 'finished')
    OR piece.stage = 'finished' AND orders.state = 'open' AND piece.shipment_id IS NULL"""

Lot = tuple[str, str, tuple[str, ...], datetime | None]
Measure = Callable[[Path, int], tuple[list[Result], int]]


def _read_whole_bench(session: Session) -> dict[int, RunWork]:
    """As the screen reads it: the rows, then the work a few runs at a time."""
    ids = [row.run_id for row in read_bench(session).rows]
    known: dict[int, RunWork] = {}
    for start in range(0, len(ids), CHUNK):
        known |= read_work(session, ids[start : start + CHUNK])
    count_waiting(known.values())
    return known


def _joined(session: Session) -> dict[int, Counter[tuple[str, str]]]:
    """The plain way: one join, sorted out row by row."""
    driver = session.connection().connection.driver_connection
    if driver is None:
        raise TypeError("the session has no connection")
    pieces: dict[int, dict[str, Any]] = {}
    for run, piece, stage, shape, plan, step, zone, _, at, layer, *_ in driver.execute(JOINED):
        known = pieces.setdefault(
            piece, {"run": run, "stage": stage, "shape": shape, "at": at,
                    "plan": [], "done": set(), "zones": set()},
        )  # fmt: skip
        if plan not in known["plan"]:
            known["plan"].append(plan)
        (known["zones"] if zone else known["done"]).add(zone or step)
        known["zones"].add(layer)
    counts: dict[int, Counter[tuple[str, str]]] = defaultdict(Counter)
    for known in pieces.values():
        counts[known["run"]][known["stage"], ",".join(sorted(filter(None, known["done"])))] += 1
    return counts


def brute_force(file: Path) -> dict[int, Counter[Lot]]:
    """What every piece waits for, piece by piece from the plain tables, by rules of this studio."""
    found: dict[int, Counter[Lot]] = defaultdict(Counter)
    with sqlite3.connect(file) as connection:
        for run, form, piece, stage, line, shipment in connection.execute(
            "SELECT run_id, form_id, id, stage, order_line_id, shipment_id FROM piece"
        ).fetchall():
            if stage == "lost" or (stage == "finished" and (line is None or shipment)):
                continue
            steps = connection.execute(
                "SELECT name, zone, done_on FROM step WHERE piece_id = ?", [piece]
            ).fetchall()
            laid = connection.execute(
                "SELECT zone FROM layer WHERE piece_id = ?", [piece]
            ).fetchall()
            at = connection.execute(
                "SELECT max(at) FROM stage_change WHERE piece_id = ? AND stage = ?", [piece, stage]
            ).fetchone()[0]
            done = {name for name, zone, _ in steps if not zone}
            zones = {zone for _, zone, _ in steps if zone} | {zone for (zone,) in laid}
            waits, bare = _waits(stage, FORMS[form - 20], done, zones)
            since = datetime.fromisoformat(at)
            days = [date.fromisoformat(day) for _, _, day in steps]
            if days and max(days) > since.date():
                since = datetime.combine(max(days), time())
            found[run][waits, stage, bare, since] += 1
    return found


def _waits(
    stage: str, form: tuple[Any, ...], done: set[str], zones: set[str]
) -> tuple[str, tuple[str, ...]]:
    name, _, steps, parts = form
    kinds = {"trimmed": "trimming", "handled": "handles", "joined": "joining",
             "carved": "decorating", "sponged": "work", "ground": "finishing"}  # fmt: skip
    for _, work in steps:
        if work in kinds and STEP_STAGE[work] == stage and work not in done:
            return kinds[work], ()
    if stage == "leather_hard" and name == "Vase":
        return ("drying" if "turned" in done else "trimming"), ()
    if stage == "finished":
        return ("shipping" if "packed" in done else "packing"), ()
    plain = {"wet": "firming", "leather_hard": "drying", "bone_dry": "bisque_kiln",
             "bisque": "glaze", "glazed": "glaze_kiln", "fired": "packing"}  # fmt: skip
    return plain[stage], tuple(part for part in parts if part not in zones) * (stage == "bisque")


def _merged(lots: Iterator[tuple[str, str, tuple[str, ...], datetime | None, int]]) -> Any:
    """By what is waited for: how many, and since when the first of them."""
    told: dict[tuple[str, str, tuple[str, ...]], list[Any]] = {}
    for waits, stage, bare, since, pieces in lots:
        held = told.setdefault((waits, stage, bare), [0, since])
        held[0] += pieces
        held[1] = min(held[1], since)
    return told


def count_wrong(known: dict[int, RunWork], file: Path) -> int:
    """In how many runs the bench says another thing than piece by piece."""
    brute = brute_force(file)
    wrong = len(known.keys() ^ brute.keys() - {run for run in known if not known[run].waiting})
    for run, work in known.items():
        said = _merged(
            (lot.waits, lot.stage, lot.zones_left, lot.since, lot.pieces) for lot in work.waiting
        )
        true = _merged((*lot, pieces) for lot, pieces in brute.get(run, Counter()).items())
        wrong += said != true
    return wrong


def measure_waiting(folder: Path, rounds: int) -> tuple[list[Result], int]:
    """Rows and what they wait for against the plain join, its growth, and the longest turn."""
    taken: list[tuple[int, float, float]] = []
    wrong, told = 0, ""
    longest = 0.0
    for size in SIZES:
        journal: Journal = build(folder / f"work_{size}", size, writer=WorkWriter)
        with Session(journal.engine) as session:
            known = _read_whole_bench(session)
            wrong += count_wrong(known, folder / f"work_{size}" / FILE)
            told = f"{len(known)} runs, {sum(count_waiting(known.values()).values())} open pieces"
            mine_s, plain_s = in_rotation(
                rounds,
                lambda s=session: _read_whole_bench(s),
                lambda s=session: _joined(s),
            )
            taken.append((size, mine_s, plain_s))
            longest = p95(_steps(session, list(known)))
        journal.close()
    (small, small_s, _), (large, mine_s, plain_s) = taken
    results = [
        Result(
            "the bench and what it waits for", mine_s / plain_s, "≤ 0.5", "the plain join query",
            rounds, f"{told}, {1000 * mine_s:.0f} ms",
        ),
        Result(
            "the bench: growth", exponent((small, small_s), (large, mine_s)), "≤ 1.05",
            "the open pieces, as an exponent", rounds,
        ),
        Result(
            "the longest turn while what it waits for is read", 1000 * longest, "≤ 30", "1 ms",
            rounds, f"p95 of reads of {CHUNK} runs",
        ),
    ]  # fmt: skip
    return results, wrong


def _steps(session: Session, ids: Sequence[int]) -> list[float]:
    return [
        seconds_of(lambda chunk=ids[start : start + CHUNK]: read_work(session, chunk))
        for start in range(0, len(ids), CHUNK)
    ]


MEASURES: list[Measure] = [measure_waiting, measure_forecast, measure_packing]
"""Add a measure of the work in hand here: it gets a folder and the rounds, and gives its results
and how many answers were wrong."""


def measure_work(folder: Path, rounds: int) -> tuple[list[Result], int]:
    """Every measure of the work in hand."""
    results: list[Result] = []
    wrong = 0
    for measure in MEASURES:
        measured, differing = measure(folder, rounds)
        results += measured
        wrong += differing
    return results, wrong
