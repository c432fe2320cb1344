"""What was made: every run and piece of the year, and the pieces in hand today."""

from __future__ import annotations

from dataclasses import dataclass, field
from datetime import date, datetime, timedelta

import numpy as np

from .firing_year import CYCLE_DAYS, FIRST_BISQUE, FiringPlan
from .glaze_schemes import (
    CUP_31,
    TILE_27,
    TUMBLER_412,
    Coat,
    choose_clay,
    test_scheme,
    ware_scheme,
)
from .studio_setup import BUFF, RED, SMALL

TODAY = datetime(2026, 11, 12, 14, 6)


@dataclass
class PiecePlan:
    """One piece as it came about. ``glaze_firing`` None: not there yet, or lost before."""

    run: int
    form: str
    clay: str
    made_at: datetime
    number: int | None = None
    coats: list[Coat] = field(default_factory=list)
    bisque: int | None = None
    glaze_firing: int | None = None
    level: str = ""
    stage: str = "finished"
    """Where it is today, unless ``lost_why`` says that it is gone."""
    lost_at: str = ""
    lost_why: str = ""
    came_from: int | None = None
    seed: int = 0


@dataclass
class RunPlan:
    number: int
    form: str
    clay: str
    made_on: date
    purpose: str
    title: str = ""
    pieces: list[PiecePlan] = field(default_factory=list)
    came_from: tuple[int, ...] = ()
    order: int | None = None
    notes: str = ""
    next_time: str = ""


_WARE_ORDER = (
    ("ripple_tumbler", 10), ("soup_bowl", 8), ("lidded_jar", 5), ("lantern_house", 4),
    ("hexagonal_tile", 14), ("soup_bowl", 6), ("ripple_tumbler", 8),
)  # fmt: skip
_TITLES = {
    "ripple_tumbler": "ripple tumblers", "soup_bowl": "soup bowls", "lidded_jar": "lidded jars",
    "lantern_house": "lantern houses", "hexagonal_tile": "hexagonal tiles",
    "test_tile": "test tiles", "test_tumbler": "test tumblers",
}  # fmt: skip
_LOSSES = {
    "leather_hard": ("rim split at trimming", "trimmed through the foot", "slumped in the sun"),
    "bone_dry": ("S-crack in the floor", "knocked over on the ware board", "crack at the rim"),
    "bisque": ("blew up in the bisque", "foot cracked in the bisque"),
}


def title_of_form(form: str) -> str:
    """What several of a form are called."""
    return _TITLES[form]


def _titled(form: str) -> str:
    return _TITLES[form].capitalize()


class _Numbers:
    def __init__(self) -> None:
        self.last = 0

    def next(self) -> int:
        self.last += 1
        return self.last


def plan_work(firings: tuple[FiringPlan, ...]) -> list[RunPlan]:
    """All runs in order of their number."""
    from .work_in_hand import plan_work_in_hand

    numbers = _Numbers()
    runs: list[RunPlan] = []
    ware = 0
    for cycle in range(12):
        of_cycle = [f for f in firings if f.cycle == cycle]
        bisque = next(f for f in of_cycle if f.kind == "bisque")
        glazes = [f for f in of_cycle if f.kind != "bisque"]
        begin = FIRST_BISQUE + timedelta(days=CYCLE_DAYS * cycle)
        tiles = {0: 28, 10: 15, 11: 10}.get(cycle, 14)
        runs.append(_tests(numbers, len(runs) + 1, "test_tile", tiles, begin, 14, bisque, glazes))
        runs.append(_tests(numbers, len(runs) + 1, "test_tumbler", 9, begin, 12, bisque, glazes))
        if cycle == 11:
            runs.append(_run_58(bisque, of_cycle))
            numbers.last = 416
        for nth in range(3 if cycle < 11 else 1):
            form, count = _WARE_ORDER[ware % len(_WARE_ORDER)] if cycle < 11 else ("soup_bowl", 10)
            ware += 1
            runs.append(
                _ware(numbers, len(runs) + 1, form, count, begin, 11 - nth, bisque, glazes, nth)
            )
    runs += plan_work_in_hand(numbers.next)
    _trace(runs)
    _spread_levels(runs, firings)
    return runs


def _hour(random: np.random.Generator) -> timedelta:
    return timedelta(hours=int(random.integers(9, 17)), minutes=int(random.integers(0, 12)) * 5)


def _day(begin: datetime, before: int) -> datetime:
    return datetime(begin.year, begin.month, begin.day) - timedelta(days=before)


_WANTED = ("rust over kelp", "chalk", "", "oat", "", "chalk", "rust over kelp", "", "", "chalk",
           "rust over kelp", "oat", "", "chalk", "")  # fmt: skip


def _tests(
    numbers: _Numbers, number: int, form: str, count: int, begin: datetime, before: int,
    bisque: FiringPlan, glazes: list[FiringPlan],
) -> RunPlan:  # fmt: skip
    random = np.random.default_rng((number, 3))
    day = _day(begin, before)
    run = RunPlan(number, form, BUFF, day.date(), "test", title=_titled(form))
    hot = next((f for f in glazes if f.program == "seven"), None)
    for place in range(count):
        wanted = _WANTED[(place + number) % len(_WANTED)]
        clay = choose_clay(random)
        if wanted == "chalk" and random.random() < 0.6:
            clay = RED
        firing = glazes[int(random.integers(0, len(glazes)))]
        level = ""
        if wanted == "rust over kelp" and hot is not None and random.random() < 0.8:
            firing, level = hot, "bottom" if random.random() < 0.85 else ""
        elif wanted == "chalk" and firing is hot and random.random() < 0.5:
            firing = glazes[0] if glazes[0] is not hot else glazes[-1]
        elif wanted in ("rust over kelp", "chalk") and firing.kiln != SMALL:
            # What is asked of a glaze is asked where it is hardest: on the lower shelf.
            level = "bottom" if random.random() < 0.45 else ""
        piece = PiecePlan(
            number, form, clay, day + _hour(random), numbers.next(),
            test_scheme(random, form, clay, wanted), bisque.number, firing.number, level,
            seed=number * 1000 + place,
        )  # fmt: skip
        _maybe_lose(random, piece, 0.03)
        if piece.number == 27:
            piece.clay, piece.coats = BUFF, list(TILE_27)
            piece.lost_at = piece.lost_why = ""
        run.pieces.append(piece)
    return run


def _ware(
    numbers: _Numbers, number: int, form: str, count: int, begin: datetime, before: int,
    bisque: FiringPlan, glazes: list[FiringPlan], nth: int,
) -> RunPlan:  # fmt: skip
    random = np.random.default_rng((number, 4))
    day = _day(begin, before)
    clay = choose_clay(random) if form != "lantern_house" else BUFF
    big = [f for f in glazes if f.kiln != SMALL]
    run = RunPlan(
        number, form, clay, day.date(), "order" if number % 4 == 0 else "stock",
        title=_titled(form),
    )  # fmt: skip
    scheme = ware_scheme(random, form)
    singled = {0: 4, 1: 4, 2: 3}[nth]
    firing = big[nth % len(big)]
    for place in range(count):
        coats = scheme
        if place < singled and random.random() < 0.35:
            coats = ware_scheme(random, form)
        piece = PiecePlan(
            number, form, clay, day + _hour(random),
            numbers.next() if place < singled else None,
            list(coats), bisque.number, firing.number,
            seed=number * 1000 + place,
        )  # fmt: skip
        _maybe_lose(random, piece, 0.06)
        run.pieces.append(piece)
    return run


def _maybe_lose(random: np.random.Generator, piece: PiecePlan, odds: float) -> None:
    if random.random() >= odds:
        return
    piece.lost_at = str(random.choice(list(_LOSSES)))
    piece.lost_why = str(random.choice(_LOSSES[piece.lost_at]))
    if piece.lost_at != "bisque":
        piece.bisque = None
    piece.glaze_firing, piece.coats, piece.stage = None, [], "lost"


def _run_58(bisque: FiringPlan, of_cycle: list[FiringPlan]) -> RunPlan:
    """Fourteen tumblers thrown on 11 September, 412 among them."""
    firing = next(f for f in of_cycle if f.kind == "glaze")
    run = RunPlan(
        58, "ripple_tumbler", BUFF, date(2026, 9, 11), "stock", title="Ripple tumblers",
        next_time="Dip Chalk 2 s, not 3.",
    )  # fmt: skip
    for place in range(14):
        number = 404 + place if 5 <= place <= 12 else None
        random = np.random.default_rng((58, place))
        piece = PiecePlan(
            58, "ripple_tumbler", BUFF, datetime(2026, 9, 11, 10, 0) + timedelta(minutes=9 * place),
            number, list(TUMBLER_412), bisque.number, firing.number,
            level="bottom" if number == 412 else "",
            stage="fired" if number is not None else "finished", seed=58000 + place,
        )  # fmt: skip
        if number is None and random.random() < 0.15:
            _maybe_lose(random, piece, 1.0)
        run.pieces.append(piece)
    return run


def _trace(runs: list[RunPlan]) -> None:
    """Which piece led to which: tile, then cup, then tumbler, then the run for an order."""
    random = np.random.default_rng(17)
    sound: list[PiecePlan] = []
    by_number = {piece.number: piece for run in runs for piece in run.pieces if piece.number}
    for run in runs:
        here: list[PiecePlan] = []
        for piece in run.pieces:
            if piece.number is None or piece.glaze_firing is None:
                continue
            here.append(piece)
            earlier = [
                old for old in sound
                if (piece.bisque or 0) > (old.glaze_firing or 0)
                and {c.glaze for c in old.coats if c.zone.startswith("outside")}
                == {c.glaze for c in piece.coats if c.zone.startswith("outside")}
            ]  # fmt: skip
            if earlier and random.random() < 0.35:
                piece.came_from = earlier[int(random.integers(0, len(earlier)))].number
        sound += here
    cup = next(
        p for n, p in sorted(by_number.items())
        if n > 60 and p.form == "test_tumbler" and p.glaze_firing is not None
    )  # fmt: skip
    cup.clay, cup.coats, cup.came_from = BUFF, list(CUP_31), 27
    by_number[412].came_from = cup.number


def _spread_levels(runs: list[RunPlan], firings: tuple[FiringPlan, ...]) -> None:
    """Give each piece a level: where its form goes, and where there is room."""
    from .firing_year import LEVELS

    kiln_of = {f.number: f.kiln for f in firings}
    for run in runs:
        for piece in run.pieces:
            if piece.glaze_firing is None or piece.level:
                continue
            random = np.random.default_rng((piece.seed, 5))
            piece.level = str(random.choice(LEVELS[kiln_of[piece.glaze_firing]]))
