"""The runs in hand on 12 November 2026, at every stage of the work, and the orders they are for."""

from __future__ import annotations

from collections.abc import Callable
from dataclasses import dataclass
from datetime import date, datetime, timedelta

import numpy as np

from .glaze_schemes import INSIDE, LOWER, OUTSIDE, RIM, UPPER, Coat
from .studio_setup import BUFF, CHALK, CLEAR, KELP, OAT, PORCELAIN, RED, RUST, TIDE
from .work_year import PiecePlan, RunPlan

BISQUE_OCT, GLAZE_NOV, BISQUE_NOV = 90, 93, 94


@dataclass(frozen=True)
class OrderPlan:
    number: int
    whom: str
    promised_on: date
    wanted: int
    form: str
    price: float
    what: str = ""
    state: str = "open"
    notes: str = ""


ORDERS: tuple[OrderPlan, ...] = (
    OrderPlan(24, "Harbour kitchen", date(2026, 5, 29), 12, "soup_bowl", 34, state="delivered"),
    OrderPlan(26, "Mill Lane shop", date(2026, 7, 24), 16, "ripple_tumbler", 28,
              state="delivered"),
    OrderPlan(27, "A house by the church", date(2026, 8, 28), 4, "lantern_house", 95,
              state="dropped", notes="Moved away."),
    OrderPlan(29, "Wedding, the Aldens", date(2026, 11, 20), 12, "lidded_jar", 68,
              "as the first one, lids fitted"),
    OrderPlan(30, "Stair wall", date(2026, 12, 18), 110, "hexagonal_tile", 7,
              "half Deep Tide, half Kelp"),
    OrderPlan(31, "Quay café", date(2026, 12, 4), 34, "ripple_tumbler", 28, "like 412"),
    OrderPlan(33, "Harbour kitchen", date(2026, 11, 27), 22, "soup_bowl", 34),
    OrderPlan(35, "Winter market", date(2026, 12, 5), 18, "lantern_house", 95),
)  # fmt: skip


def plan_work_in_hand(next_number: Callable[[], int]) -> list[RunPlan]:
    """Runs 60 to 65."""
    jars = RunPlan(60, "lidded_jar", BUFF, date(2026, 10, 22), "order", "Lidded jars", order=29)
    _add(jars, 8, "glazed", bisque=BISQUE_NOV, coats=_JAR)
    _add(jars, 4, "bisque", bisque=BISQUE_NOV)
    _add(jars, 1, "lost", lost_at="bone_dry", lost_why="lid warped")

    tiles = RunPlan(
        61, "hexagonal_tile", RED, date(2026, 10, 5), "order", "Hexagonal tiles", order=30,
        notes="Made in three sittings.",
    )  # fmt: skip
    _add(
        tiles,
        10,
        "fired",
        bisque=BISQUE_OCT,
        glaze=GLAZE_NOV,
        coats=(Coat(OUTSIDE, TIDE, "dip", 3),),
    )
    _add(tiles, 20, "glazed", bisque=BISQUE_OCT, coats=(Coat(OUTSIDE, KELP, "dip", 3),))
    _add(tiles, 40, "bisque", bisque=BISQUE_NOV, days_later=14)
    _add(tiles, 46, "bone_dry", days_later=28)
    _add(tiles, 4, "lost", lost_at="bone_dry", lost_why="warped in drying")

    tumblers = RunPlan(
        62, "ripple_tumbler", BUFF, date(2026, 10, 7), "order", "Ripple tumblers", order=31,
        came_from=(412,), notes="Chalk two seconds, Oat a coat thinner.",
        next_time="Middle shelf only.",
    )  # fmt: skip
    _add(tumblers, 10, "fired", bisque=BISQUE_OCT, glaze=GLAZE_NOV, coats=_TUMBLER)
    _add(tumblers, 14, "bisque", bisque=BISQUE_NOV, days_later=18)
    _add(tumblers, 10, "bone_dry", days_later=26)
    _add(tumblers, 1, "lost", lost_at="bone_dry", lost_why="S-crack in the floor")
    _add(tumblers, 1, "lost", lost_at="bisque", lost_why="chipped at the rim", bisque=BISQUE_OCT)

    bowls = RunPlan(63, "soup_bowl", BUFF, date(2026, 11, 4), "order", "Soup bowls", order=33)
    _add(bowls, 3, "bone_dry")
    _add(bowls, 12, "leather_hard", days_later=7)
    _add(bowls, 8, "wet", days_later=8)
    _add(bowls, 1, "lost", lost_at="leather_hard", lost_why="rim split", days_later=6)

    lanterns = RunPlan(
        64, "lantern_house", BUFF, date(2026, 11, 10), "order", "Lantern houses", order=35
    )
    _add(lanterns, 14, "leather_hard")
    _add(lanterns, 4, "wet", days_later=2)

    tests = RunPlan(
        65, "test_tumbler", PORCELAIN, date(2026, 10, 27), "test", "Test tumblers, Deep Tide"
    )
    _add(tests, 9, "bisque", bisque=BISQUE_NOV)
    for piece in tests.pieces:
        piece.clay = (BUFF, RED, PORCELAIN)[len(tests.pieces) % 3]

    for piece in tumblers.pieces[:4] + jars.pieces[:2]:
        piece.number = next_number()
    while (number := next_number()) < 430:
        tiles.pieces[number % 10].number = number
    for place, piece in enumerate(tests.pieces):
        piece.number = 431 + place
        piece.clay = (BUFF, RED, PORCELAIN)[place % 3]
    return [jars, tiles, tumblers, bowls, lanterns, tests]


_JAR = (
    Coat(UPPER, KELP, "dip", 4), Coat(UPPER, CHALK, "dip", 2), Coat(LOWER, KELP, "dip", 4),
    Coat(INSIDE, CLEAR, "pour", 2),
)  # fmt: skip
_TUMBLER = (
    Coat(UPPER, KELP, "dip", 4), Coat(UPPER, CHALK, "dip", 2), Coat(LOWER, KELP, "dip", 4),
    Coat(INSIDE, OAT, "pour", 2), Coat(RIM, RUST, "brush", coats=1),
)  # fmt: skip


def _add(
    run: RunPlan, count: int, stage: str, *, bisque: int | None = None, glaze: int | None = None,
    coats: tuple[Coat, ...] = (), days_later: int = 0, lost_at: str = "", lost_why: str = "",
) -> None:  # fmt: skip
    day = datetime(run.made_on.year, run.made_on.month, run.made_on.day)
    day += timedelta(days=days_later)
    for _ in range(count):
        place = len(run.pieces)
        random = np.random.default_rng((run.number, place, 9))
        hour = 8 if day.date() == date(2026, 11, 12) else 10
        level = str(random.choice(["top", "middle", "bottom"])) if glaze else ""
        run.pieces.append(
            PiecePlan(
                run.number, run.form, run.clay,
                day + timedelta(hours=hour, minutes=7 * (place % 20)), None, list(coats), bisque,
                glaze, level, stage, lost_at, lost_why, seed=run.number * 1000 + place,
            )
        )  # fmt: skip
