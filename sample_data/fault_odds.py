"""What the fire did to a piece: the true patterns of the demo, and the noise around them.

Three things are true here and can be found: Chalk crazes on the iron-red clay below cone 6; Rust
Shore over Kelp runs above 6½, on the lower shelf above all (it cools last and stays fluid
longest); Oat crawls where its coat is thick. All odds are invented.
"""

from __future__ import annotations

import math
from dataclasses import dataclass
from itertools import pairwise

import numpy as np

from .glaze_schemes import INSIDE, LOWER, RIM, Coat
from .studio_setup import BUFF, CHALK, CLEAR, KELP, OAT, PORCELAIN, RED, RUST


@dataclass(frozen=True)
class TrueFault:
    """A fault a piece really has. ``after_days`` 0: there when it came from the kiln."""

    fault: str
    severity: int
    zone: str = ""
    after_days: int = 0


def _paths(coats: list[Coat]) -> dict[str, list[Coat]]:
    zones: dict[str, list[Coat]] = {}
    for coat in coats:
        zones.setdefault(coat.zone, []).append(coat)
    return zones


def _severity(random: np.random.Generator, *weights: float) -> int:
    share = np.array(weights) / sum(weights)
    return int(random.choice(len(weights), p=share)) + 1


def true_faults(
    random: np.random.Generator, form: str, clay: str, coats: list[Coat], level: str, cone: float
) -> list[TrueFault]:
    """All faults of one fired piece at the cone its place truly got."""
    found: list[TrueFault] = []
    for zone, path in _paths(coats).items():
        if zone == RIM:
            continue
        odds = _crazing_odds(clay, path[-1].glaze, cone)
        if random.random() < odds:
            late = int(random.choice([0, 0, 0, 6, 19, 21, 40]))
            found.append(TrueFault("crazing", _severity(random, 5, 4, 1), zone, late))
        if random.random() < _running_odds(path, level, cone):
            where = INSIDE if zone == INSIDE else LOWER
            strong = (3, 4, 2) if cone > 6.5 else (6, 1, 0)
            found.append(TrueFault("running", _severity(random, *strong), where))
        if random.random() < _crawling_odds(path):
            thick = any(coat.glaze == OAT and coat.thick for coat in path)
            found.append(
                TrueFault("crawling", _severity(random, *((3, 4, 1) if thick else (6, 1))), zone)
            )
        if random.random() < (0.13 if clay == RED else 0.05):
            found.append(TrueFault("pinhole", _severity(random, 5, 2), zone))
        if random.random() < (0.14 if cone < 5.6 and path[-1].glaze in (KELP, RUST) else 0.015):
            found.append(TrueFault("dry", _severity(random, 5, 2), zone))
    found += _of_the_body(random, form, clay, coats, cone)
    worst: dict[tuple[str, str], TrueFault] = {}
    for fault in found:
        key = (fault.fault, fault.zone)
        if key not in worst or fault.severity > worst[key].severity:
            worst[key] = fault
    return list(worst.values())


def _crazing_odds(clay: str, glaze: str, cone: float) -> float:
    if glaze == CHALK:
        short = 1 / (1 + math.exp((cone - 5.95) / 0.04))
        return 0.05 + 0.78 * short if clay == RED else 0.04
    if glaze == CLEAR:
        return 0.16 if clay == PORCELAIN else 0.06
    if glaze == OAT and cone < 5.9:
        return 0.12
    return 0.02


def _running_odds(path: list[Coat], level: str, cone: float) -> float:
    rust_on_kelp = any(a.glaze == KELP and b.glaze == RUST for a, b in pairwise(path))
    if rust_on_kelp:
        if cone > 6.5:
            return 0.88 if level == "bottom" else 0.4
        return 0.04
    if cone > 6.8 and path[-1].glaze in (KELP, RUST):
        return 0.1
    return 0.015


def _crawling_odds(path: list[Coat]) -> float:
    if any(coat.glaze == OAT and coat.thick for coat in path):
        return 0.72
    return 0.05 if len(path) > 1 else 0.03


def _of_the_body(
    random: np.random.Generator, form: str, clay: str, coats: list[Coat], cone: float
) -> list[TrueFault]:
    found = []
    if clay == RED and cone > 7.2 and random.random() < 0.35:
        found.append(TrueFault("bloating", _severity(random, 5, 2)))
    if clay == BUFF and any(c.glaze == CHALK for c in coats) and random.random() < 0.12:
        found.append(TrueFault("speck", 1))
    if form in ("lantern_house", "hexagonal_tile") and random.random() < 0.08:
        found.append(TrueFault("warping", _severity(random, 4, 2, 1)))
    if random.random() < 0.02:
        found.append(TrueFault("crack", _severity(random, 3, 2, 1)))
    if random.random() < 0.02:
        found.append(TrueFault("colour_off", 1))
    if random.random() < 0.012:
        found.append(TrueFault("blister", _severity(random, 4, 1)))
    return found
