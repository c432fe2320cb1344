"""Packing a kiln: shelves against a greedy bottom-left and the area, and how long it takes."""

import math
import time
from pathlib import Path

import numpy as np

from studiolog.craft.ware.free_places import shape_of
from studiolog.craft.ware.load_plan import KilnInside, LoadPlan, Ware, rules_by
from studiolog.craft.ware.packing import QUICK, THOROUGH, pack
from studiolog.craft.ware.plan_check import check_plan, nearest_free
from studiolog.craft.ware.shelf import Footprint, Outline, shelf_outline
from studiolog.craft.ware.shelf_filling import RULES, Filling, Wanted, fill
from studiolog.craft.ware.squeezing import Effort, squeeze_in
from tests.bench.result import Result
from tests.bench.timing import in_rotation, p95, seconds_of

BEST_KNOWN = {
    7: 3.0,
    13: 2 + math.sqrt(5),
    19: 1 + math.sqrt(2) + math.sqrt(6),
    20: 5.1223,
    37: 6.7588,
    61: 8.6613,
}
"""Least radius of a circle that holds n of radius 1 (Graham et al. 1998; from memory)."""
RULES_IN_FORCE = rules_by()
GRID_MM = 4.0


def tall_kiln() -> KilnInside:
    """A round kiln that never runs out of shelves: how many are used is what is compared."""
    return KilnInside("round", 560, 560, 20, 4900, (50.0, 75.0, 100.0, 125.0, 150.0), 30)


def load(pieces: int, seed: int) -> list[Ware]:
    """Round ware of five sizes and heights, drawn by the seed."""
    rng = np.random.default_rng(seed)
    forms = ((78, 105), (92, 60), (120, 140), (160, 75), (200, 90))
    chosen = rng.choice(len(forms), pieces, p=(0.35, 0.25, 0.15, 0.15, 0.1))
    return [
        Ware(
            key + 1,
            f"pot {key + 1}",
            Footprint("circle", float(forms[form][0])),
            float(forms[form][1]),
            due=float(rng.integers(0, 60)),
        )
        for key, form in enumerate(chosen)
    ]


def greedy_bottom_left(wares: list[Ware], outline: Outline) -> int:
    """Shelves a plain greedy takes: largest first, each as far back and left as it goes.

    It works on a grid of 4 mm and keeps nothing clear for posts or packs: it has it easier.
    """
    steps = np.arange(-outline.across_mm / 2, outline.across_mm / 2 + 1, GRID_MM)
    y, x = (axis.ravel() for axis in np.meshgrid(steps, steps, indexing="ij"))
    rest = sorted(wares, key=lambda ware: -ware.footprint.across_mm)
    shelves = 0
    while rest:
        shelves += 1
        room = outline.across_mm / 2 - RULES_IN_FORCE.edge_gap_mm - np.hypot(x, y)
        left = []
        for ware in rest:
            radius = ware.footprint.radius_mm
            free = np.flatnonzero(room >= radius)
            if not len(free):
                left.append(ware)
                continue
            at = free[0]
            away = np.hypot(x - x[at], y - y[at]) - radius - RULES_IN_FORCE.glazed_gap_mm
            room = np.minimum(room, away)
        rest = left
    return shelves


def wrong_in(plan: LoadPlan, wares: list[Ware]) -> int:
    """Faults, and pieces neither placed nor left out."""
    placed = [place.key for shelf in plan.shelves for place in shelf.places]
    lost = sorted([*placed, *(one.key for one in plan.left_out)]) != sorted(w.key for w in wares)
    return len(check_plan(plan)) + lost


def measure_packing(_folder: Path, rounds: int) -> tuple[list[Result], int]:
    """Shelves, area, and seconds; wrong are plans with a fault."""
    wrong = 0
    results = []
    kiln, outline = tall_kiln(), shelf_outline("round", 560)
    ours = theirs = over = 0
    for seed in range(6):
        wares = load(60, seed)
        plan = pack(wares, kiln, RULES_IN_FORCE, effort=6, seed=seed)
        wrong += wrong_in(plan, wares)
        ours += len(plan.shelves)
        theirs += greedy_bottom_left(wares, outline)
        over = max(over, len(plan.shelves) - plan.least_shelves)
    results.append(
        Result(
            "packing: shelves for 60 pots",
            ours / theirs,
            "≤ 1.0",
            "greedy bottom-left without posts, packs or heights",
            6,
            f"{ours} shelves against {theirs}",
        )
    )
    results.append(
        Result(
            "packing: shelves over the area bound", over, "≤ 2", "1 shelf", 6, "the worst of six"
        )
    )
    shares = {many: _most(many) / many for many in BEST_KNOWN}
    results.append(
        Result(
            "packing: area used of the best known",
            min(shares.values()),
            "≥ 0.80",
            "equal circles in a circle",
            1,
            ", ".join(f"{many}: {share:.2f}" for many, share in shares.items()),
        )
    )
    wares = load(60, 1)
    found: list[LoadPlan] = []

    def quick() -> None:
        found.append(pack(wares, kiln, RULES_IN_FORCE, effort=QUICK))

    quick_s, greedy_s = in_rotation(rounds, quick, lambda: greedy_bottom_left(wares, outline))
    results.append(
        Result(
            "packing: a first answer for 60 pots",
            quick_s / greedy_s,
            "≤ 10",
            "the plain greedy on its grid",
            rounds,
            f"{quick_s:.2f} s",
        )
    )
    wrong += sum(wrong_in(plan, wares) for plan in found)
    results += _larger(wares, found[0])
    return results, wrong


def _most(many: int) -> int:
    """How many of so many go on the least round shelf known to hold them all."""
    across = 100.0
    outline = shelf_outline("round", across * BEST_KNOWN[many] + 0.02)
    footprint = Footprint("circle", across)
    shape = shape_of(footprint, 0.0, 0.0)
    fillings = []
    pots = [
        Wanted(n, ((0.0, shape),), footprint.ground_mm2(0.0), across, footprint, footprint)
        for n in range(many)
    ]
    for rule in RULES:
        filling = Filling(outline, (), 0.0)
        fill(filling, pots, rule)
        fillings.append(filling)
    best = max(fillings, key=lambda filling: len(filling.set))
    rng, effort = np.random.default_rng(0), Effort(5000)
    while len(best.set) < many:
        more = squeeze_in(best, pots[len(best.set)], rng, 12, effort)
        if more is None:
            break
        best = more
    return len(best.set)


def _larger(wares: list[Ware], plan: LoadPlan) -> list[Result]:
    """A studio's kiln with far more waiting than goes in, and a piece dragged over a full shelf."""
    kiln = KilnInside("round", 560, 560, 20, 690, (50.0, 75.0, 100.0, 125.0, 150.0), 6)
    quick_s = seconds_of(lambda: pack(wares, kiln, RULES_IN_FORCE, effort=QUICK))
    results = []
    for pieces in (300, 10_000):
        many = load(pieces, 5)
        seconds = seconds_of(lambda many=many: pack(many, kiln, RULES_IN_FORCE, effort=QUICK))
        name = f"packing: {pieces} pots waiting for one kiln"
        results.append(Result(name, seconds / quick_s, "≤ 6", "60 waiting", 1, f"{seconds:.2f} s"))
    begin = time.perf_counter()
    best = pack(load(120, 2), kiln, RULES_IN_FORCE, effort=THOROUGH)
    took = time.perf_counter() - begin
    results.append(
        Result(
            "packing: a thorough plan of 120 pots",
            took / quick_s,
            "≤ 60",
            "a first answer",
            1,
            f"{took:.1f} s, {best.placed} placed on {len(best.shelves)} shelves",
        )
    )
    shelf = max(plan.shelves, key=lambda one: len(one.places))
    key = shelf.places[0].key
    dragged = [
        seconds_of(
            lambda n=n: nearest_free(plan, shelf.position, key, 5.0 * n - 250, 3.0 * n - 150)
        )
        for n in range(100)
    ]
    checked = seconds_of(lambda: check_plan(plan))
    results.append(
        Result(
            "packing: a piece dragged to the next free place, p95",
            p95(dragged) / quick_s,
            "≤ 0.05",
            "a first answer",
            100,
            f"{1000 * p95(dragged):.1f} ms among {len(shelf.places)}; "
            f"checking the load {1000 * checked:.0f} ms",
        )
    )
    return results
