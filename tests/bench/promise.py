"""The forecast of forty open orders against the same drawn in plain Python loops.

Both draw the same forty orders; plainly a part of the futures is drawn and its time counted up,
for a future costs what the one before it did. The answer is wrong where the two differ as
distributions by more than chance allows.
"""

import bisect
import math
import random
from datetime import date
from pathlib import Path

from studiolog.craft.ware.loss import stated_loss
from studiolog.craft.ware.promise import (
    ENTERS,
    Forecast,
    KilnPlan,
    Line,
    Lot,
    Minutes,
    PromiseProblem,
    simulate,
)
from studiolog.craft.ware.usual_time import stated_time
from tests.bench.result import Result
from tests.bench.timing import in_rotation
from tests.plain_promise import draw_plainly

ORDERS, FUTURES, PLAIN = 40, 10_000, 200
_FEW = 1_500


def forty_orders(orders: int = ORDERS) -> PromiseProblem:
    """Orders of 4 to 24 pieces at every stage, two kilns, a potter who works six hours a day."""
    luck = random.Random(4)
    stays = tuple(
        stated_time(hours, factor, 12)
        for hours, factor in ((20, 1.5), (110, 1.6), (90, 2), (60, 2))
    )
    losses = tuple(stated_loss(share, 200, 0.08) for share in (0.01, 0.02, 0.03, 0.005, 0.01, 0.03))
    lines = []
    for order in range(orders):
        left = wanted = luck.randint(4, 24)
        lots = []
        for place, stage in enumerate(luck.sample(ENTERS[1:7], luck.randint(0, 2))):
            pieces = min(left, luck.randint(1, 12))
            if pieces:
                lots.append(Lot(1000 * order + place, stage, pieces, luck.choice((0, 10, 40))))
                left -= pieces
        if left:
            lots.append(Lot(1000 * order + 9, "to_throw", left + 1))
        promised = luck.randint(10, 90)
        lines.append(Line(order, wanted, tuple(lots), Minutes(6, 5, 4, 2), stays, losses, promised))
    inside = stated_time(44, 1.3, 10)
    return PromiseProblem(
        date(2026, 11, 14),
        tuple(lines),
        KilnPlan(stated_time(24 * 14, 1.6, 10), inside, 60, 50, 24 * 9),
        KilnPlan(stated_time(24 * 10, 1.6, 10), inside, 45, 35, 24 * 4),
        futures=FUTURES,
    )


def measure_forecast(_folder: Path, rounds: int) -> tuple[list[Result], int]:
    """Ten thousand futures of forty orders: the ratio, the seconds, and how many lines differ."""
    problem = forty_orders()
    forecast = simulate(problem)
    assert forecast is not None
    wrong = count_differing(forecast, draw_plainly(problem, _FEW))
    mine_s, plain_s = in_rotation(
        rounds,
        lambda: simulate(problem),
        lambda: draw_plainly(problem, PLAIN),
    )
    plain_s *= FUTURES / PLAIN
    told = f"{1000 * mine_s:.0f} ms, plainly {plain_s:.0f} s"
    results = [
        Result(
            "forecast, 10 000 futures × 40 orders", mine_s / plain_s, "≤ 0.02",
            "the same in plain Python loops", rounds, told,
        ),
        Result("forecast: seconds", mine_s, "≤ 1", "1 s", rounds),
    ]  # fmt: skip
    return results, wrong


def count_differing(forecast: Forecast, plain: list[list[float]]) -> int:
    """Lines whose ready days differ from those drawn plainly (Kolmogorov and Smirnov).

    One true line in ten thousand is taken for a differing one.
    """
    most = math.sqrt(-math.log(0.0001 / 2) / 2) * math.sqrt(1 / len(plain) + 1 / forecast.futures)
    wrong = 0
    for place, line in enumerate(forecast.lines):
        days = sorted(
            int(future[place]) if future[place] < len(line.by_day) else len(line.by_day)
            for future in plain
        )
        apart = max(
            abs(chance - bisect.bisect_right(days, day) / len(days))
            for day, chance in enumerate(line.by_day)
        )
        wrong += apart > most
    return wrong
