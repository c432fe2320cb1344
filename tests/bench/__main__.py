"""``make bench``: ratios measured in one run, medians of rounds; never seconds to compare.

Each line names the ratio, its baseline, the rounds, and the growth exponent where two sizes were
measured. Exits non-zero on a wrong answer, never on a slow one. The last lines are JSON.
"""

import json
import math
import random
import statistics
import sys
import tempfile
import time
from collections.abc import Callable
from datetime import datetime
from itertools import pairwise
from pathlib import Path

from sqlalchemy import select
from sqlalchemy.orm import Session

from studiolog.craft.firing.heatwork import equivalent_cone
from studiolog.journal.facts import FaultLook, masks_of
from studiolog.journal.finding import read_hits
from studiolog.journal.opening import FILE, Journal
from studiolog.journal.question import Combination, ConeRange, Question
from studiolog.journal.rates_report import read_rates
from studiolog.records import Record
from studiolog.records.facts import piece_fact
from studiolog.transfer.curve_blob import pack_readings
from tests.bench.synthetic_studio import CLAYS, GLAZES, build

SIZES = (1_000, 10_000)
results: list[dict[str, object]] = []


def median_s(work: Callable[[], object], rounds: int) -> float:
    """Median seconds of one call."""
    times = []
    for _ in range(rounds):
        begin = time.perf_counter()
        work()
        times.append(time.perf_counter() - begin)
    return statistics.median(times)


def say(name: str, ratio: float, baseline: str, rounds: int, growth: float | None = None) -> None:
    """Print one ratio and keep it."""
    grown = "" if growth is None else f", growth exponent {growth:.2f}"
    print(f"{name}: {ratio:.4g} of {baseline} ({rounds} rounds{grown})")
    results.append(
        {"name": name, "ratio": ratio, "baseline": baseline, "rounds": rounds, "growth": growth}
    )


def exponent(small: float, large: float) -> float:
    """Growth between the two sizes: 1 is linear, 0 is none."""
    return math.log(large / small) / math.log(SIZES[1] / SIZES[0])


def ask(over: int, under: int, clay: int) -> Question:
    """A over B on one clay, cone 5½ to 6½, crazed."""
    return Question(
        fault="crazing",
        clay_id=clay,
        combination=Combination("over", over, under),
        cone=ConeRange(5.5, 6.5),
    )


def brute(session: Session, over: int, under: int, clay: int) -> set[int]:
    """The same from the normalised tables, one row at a time."""
    tables = Record.metadata.tables
    layers: dict[int, list[tuple[int, int]]] = {}
    for row in session.execute(select(tables["layer"])):
        layers.setdefault(row.piece_id, []).append((row.position, row.glaze_id))
    looks: dict[int, list[FaultLook]] = {}
    reading, inspection = tables["fault_reading"], tables["inspection"]
    for row in session.execute(
        select(inspection.c.piece_id, reading.c.fault, reading.c.severity).join(
            inspection, inspection.c.id == reading.c.inspection_id
        )
    ):
        looks.setdefault(row.piece_id, []).append(FaultLook(row.fault, row.severity, ""))
    cones = {
        row.piece_id: row.cone10
        for row in session.execute(select(piece_fact.c.piece_id, piece_fact.c.cone10))
    }
    answer = set()
    for row in session.execute(select(tables["piece"])):
        order = [glaze for _, glaze in sorted(layers.get(row.id, []))]
        pairs = set(zip(order[1:], order[:-1], strict=True))
        cone10 = cones.get(row.id)
        if row.clay_id != clay or (over, under) not in pairs:
            continue
        if cone10 is None or not 55 <= cone10 <= 65:
            continue
        if masks_of(looks.get(row.id, ())).looked & 1:
            answer.add(row.id)
    return answer


def bench_questions(journals: list[Journal]) -> bool:
    """Questions against a brute-force answer; True if all agree."""
    agree = True
    asked_s, brute_s, rates_s = [], [], []
    combos = [(1 + n % GLAZES, 1 + (n * 5 + 1) % GLAZES, 1 + n % CLAYS) for n in range(12)]
    for journal in journals:
        with Session(journal.engine) as session:
            for over, under, clay in combos:
                hits = read_hits(session, ask(over, under, clay))
                found = {hit.piece_id for hit in hits if hit.severity is not None}
                if found != brute(session, over, under, clay):
                    agree = False
                    print(f"WRONG ANSWER: {over} over {under} on clay {clay}", file=sys.stderr)
            asked_s.append(median_s(lambda s=session: read_hits(s, ask(*combos[0])), 30))
            brute_s.append(median_s(lambda s=session: brute(s, *combos[0]), 3))
            rates_s.append(median_s(lambda s=session: read_rates(s), 3))
    say(
        "question A over B, clay, cone, crazed",
        asked_s[1] / brute_s[1],
        "the brute-force answer over the normalised tables",
        30,
        exponent(*asked_s),
    )
    say(
        "rates with intervals, whole studio",
        rates_s[1] / brute_s[1],
        "the brute-force answer over the normalised tables",
        3,
        exponent(*rates_s),
    )
    return agree


def bench_size(folders: list[Path]) -> None:
    """Bytes a piece with everything, and bytes a reading."""
    sizes = [float((folder / FILE).stat().st_size) for folder in folders]
    say("size of a piece with everything", sizes[1] / SIZES[1], "1 byte", 1, exponent(*sizes))
    at_s = [15.0 * n for n in range(3200)]
    noise = random.Random(1)
    curve_c = [round(20 + 0.375 * n + noise.gauss(0, 0.6), 1) for n in range(3200)]
    say("size of a reading", len(pack_readings(at_s, curve_c)) / 3200, "1 byte", 1)


def bench_heatwork() -> None:
    """The model on arrays against the same integral in plain Python for one cone."""
    at_s = [60.0 * n for n in range(800)]
    curve_c = [20 + 1.5 * n for n in range(800)]

    def plain() -> float:
        total = 0.0
        for before, after in pairwise(curve_c):
            kelvin = (before + after) / 2 + 273.15
            total += math.exp(-60_000 * (1 / kelvin - 1 / 1490)) * 60
        return total

    equivalent_cone(at_s, curve_c)
    cones = 39
    say(
        "heat-work of a curve, all cones",
        median_s(lambda: equivalent_cone(at_s, curve_c), 30) / (median_s(plain, 10) * cones),
        "the same integrals in plain Python",
        30,
    )


def bench_photos(folder: Path) -> None:
    """Taking a phone's photo in against reading it and decoding it at half scale."""
    import io

    from PIL import Image

    from studiolog.photos import PhotoStore, take_in

    noise = Image.effect_noise((4000, 3000), 40).convert("RGB")
    held = io.BytesIO()
    noise.save(held, "JPEG", quality=85)
    data = held.getvalue()
    store = PhotoStore(folder)
    count = iter(range(1_000_000))

    def fresh() -> bytes:
        return data + f"{datetime.now():%f}{next(count)}".encode()

    def half() -> None:
        image = Image.open(io.BytesIO(data))
        image.draft("RGB", (2000, 1500))
        image.load()

    one = median_s(lambda: take_in([("a.jpg", fresh())], store, threads=1), 5)
    two = median_s(lambda: take_in([(f"{n}.jpg", fresh()) for n in range(8)], store, threads=2), 3)
    say("photo import, one thread", one / median_s(half, 5), "reading and half-scale decoding", 5)
    say("photo import, two threads", 8 * one / two, "one thread", 3)


def main() -> int:
    """Run all; 1 on a wrong answer."""
    with tempfile.TemporaryDirectory() as scratch:
        folders = [Path(scratch) / str(size) for size in SIZES]
        journals = [build(folder, size) for folder, size in zip(folders, SIZES, strict=True)]
        agree = bench_questions(journals)
        for journal in journals:
            journal.close()
        bench_size(folders)
        bench_heatwork()
        bench_photos(Path(scratch) / "photos")
    print(json.dumps(results))
    return 0 if agree else 1


if __name__ == "__main__":
    sys.exit(main())
