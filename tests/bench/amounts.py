"""Bytes a piece and bytes a reading, and the heat-work of very many readings."""

import math
from collections.abc import Sequence
from itertools import pairwise
from pathlib import Path

from sqlalchemy import select
from sqlalchemy.orm import Session

from studiolog.craft.firing.cones import activation_k, whole_cones
from studiolog.craft.firing.heatwork import equivalent_cone, stretch_work_s
from studiolog.journal.opening import FILE, Journal
from studiolog.records import Record
from studiolog.transfer.curve_blob import unpack_readings
from tests.bench.result import Result
from tests.bench.synthetic_studio import READINGS
from tests.bench.timing import exponent, in_rotation, seconds_of

CURVES = 5_000
_REFERENCE_K = 1490.0
_PLAIN_CURVES = 100  # the plain sum is the same for each curve


def measure_size(journals: Sequence[tuple[int, Path, Journal]]) -> list[Result]:
    """The whole file by pieces, and the packed curves by readings."""
    sizes = [(size, float((folder / FILE).stat().st_size)) for size, folder, _ in journals]
    size, most = sizes[-1]
    results = [
        Result(
            "size of a piece with everything",
            most / size,
            "≤ 850 bytes",
            "1 byte",
            1,
            f"{size} pieces, their coats, photos, inspections, firings and facts; "
            "without the history of edits",
        )
    ]
    curve = Record.metadata.tables["curve"]
    with Session(journals[-1][2].engine) as session:
        packed = session.execute(select(curve.c.packed, curve.c.readings)).all()
    readings = sum(row.readings for row in packed)
    results.append(
        Result(
            "size of a reading",
            sum(len(row.packed) for row in packed) / readings,
            "≤ 3 bytes",
            "1 byte (36 as rows)",
            1,
            f"{len(packed)} curves",
        )
    )
    if len(sizes) > 1:
        grown = exponent(*sizes[-2:])
        results.append(Result("size: growth", grown, "≤ 1.05", "the pieces, as an exponent", 1))
    return results


def measure_heat_work(journal: Journal, rounds: int) -> tuple[list[Result], int]:
    """Four million readings, as they lie in a journal; and what an estimate of each curve takes."""
    curve = Record.metadata.tables["curve"]
    with Session(journal.engine) as session:
        packed = session.execute(select(curve.c.packed).limit(CURVES)).scalars().all()
    curves = [unpack_readings(one) for one in packed]
    curves = [curves[place % len(curves)] for place in range(CURVES)]
    activation = activation_k("6")

    def ours() -> list[float]:
        return [float(stretch_work_s(t, c, activation, _REFERENCE_K).sum()) for t, c in curves]

    few = [(t.tolist(), c.tolist()) for t, c in curves[:_PLAIN_CURVES]]

    def plain() -> list[float]:
        return [_plain_work(t, c, activation) for t, c in few]

    wrong = sum(
        not math.isclose(one, other, rel_tol=1e-9)
        for one, other in zip(ours(), plain(), strict=False)
    )
    ours_s, plain_s = in_rotation(rounds, ours, plain)
    plain_s *= CURVES / _PLAIN_CURVES
    result = Result(
        f"heat-work of {CURVES * READINGS} readings",
        ours_s / plain_s,
        "≤ 0.1",
        "the same sums in plain Python",
        rounds,
        f"for one cone; plain Python over {_PLAIN_CURVES} of the {CURVES} curves",
    )
    estimate_s = seconds_of(lambda: [equivalent_cone(t, c) for t, c in curves[:_PLAIN_CURVES]])
    cones = len(whole_cones())
    whole = Result(
        "cone of a curve, cleaned and with its interval",
        estimate_s / (plain_s / CURVES * _PLAIN_CURVES * cones),
        "≤ 0.1",
        f"plain sums for each of {cones} cones",
        1,
        f"{_PLAIN_CURVES} curves",
    )
    return [result, whole], wrong


def _plain_work(elapsed_s: Sequence[float], curve_c: Sequence[float], activation: float) -> float:
    """Seconds at the reference temperature, stretch by stretch, as the model sums them."""
    total = 0.0
    powers = [-activation * (1.0 / (c + 273.15) - 1.0 / _REFERENCE_K) for c in curve_c]
    for (t0, t1), (p0, p1) in zip(pairwise(elapsed_s), pairwise(powers), strict=True):
        p0, p1 = max(p0, -700.0), max(p1, -700.0)
        rise = p1 - p0
        if abs(rise) < 1e-4:
            mean = (math.exp(p0) + math.exp(p1)) / 2.0
        else:
            mean = (math.exp(p1) - math.exp(p0)) / rise
        total += mean * (t1 - t0)
    return total
