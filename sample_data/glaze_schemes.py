"""How the pieces of the year were glazed: which glaze on which zone, how, and how long."""

from __future__ import annotations

from dataclasses import dataclass

import numpy as np

from .studio_setup import BUFF, CHALK, CLEAR, KELP, OAT, PORCELAIN, RED, RUST, TIDE

UPPER, LOWER, OUTSIDE, INSIDE, RIM = (
    "outside, upper", "outside, lower", "outside", "inside", "rim",
)  # fmt: skip
THICK_FROM_S = 5.0
THICK_FROM_MM = 1.0
"""From here a coat of Oat is thick: five seconds in the bucket, or a millimetre measured."""


@dataclass(frozen=True)
class Coat:
    """One layer as it was laid."""

    zone: str
    glaze: str
    method: str = "dip"
    seconds: float | None = None
    coats: int | None = None
    thickness_mm: float | None = None

    @property
    def thick(self) -> bool:
        return (self.seconds or 0) >= THICK_FROM_S or (self.thickness_mm or 0) >= THICK_FROM_MM


# Overlaps tried in tests, over and under, and how often; pairs not named were never tried.
_OVERLAPS: tuple[tuple[str, str, int], ...] = (
    (CHALK, KELP, 10), (RUST, KELP, 12), (CHALK, TIDE, 6), (TIDE, CHALK, 3), (KELP, CHALK, 3),
    (RUST, OAT, 4), (OAT, TIDE, 4), (OAT, KELP, 4), (CHALK, RUST, 4), (TIDE, OAT, 3),
    (RUST, TIDE, 2), (RUST, CHALK, 2), (KELP, CLEAR, 1), (TIDE, CLEAR, 1),
    (CLEAR, RUST, 3), (CLEAR, TIDE, 2),
)  # fmt: skip
_ALONE: tuple[tuple[str, int], ...] = (
    (CHALK, 9), (OAT, 9), (KELP, 6), (TIDE, 5), (RUST, 5), (CLEAR, 6),
)  # fmt: skip


def _pick(random: np.random.Generator, choices: tuple[tuple, ...]) -> tuple:
    weights = np.array([choice[-1] for choice in choices], dtype=float)
    return choices[int(random.choice(len(choices), p=weights / weights.sum()))]


def _seconds(random: np.random.Generator, glaze: str) -> float:
    if glaze == OAT:
        return float(random.choice([2, 2, 3, 3, 4, 5, 6, 7]))
    return float(random.choice([2, 3, 3, 3, 4, 4]))


def lay(random: np.random.Generator, zone: str, glaze: str, method: str = "dip") -> Coat:
    """One coat with what the potter wrote down of it; not everything is, every time."""
    if method == "brush":
        coats = int(random.choice([1, 2, 2, 3]))
        measured = round(0.35 * coats + float(random.normal(0, 0.08)), 1) if glaze == OAT else None
        return Coat(zone, glaze, "brush", coats=coats, thickness_mm=measured)
    seconds = _seconds(random, glaze)
    noted = glaze == OAT or random.random() < 0.85
    return Coat(zone, glaze, method, seconds=seconds if noted else None)


def overlap_of(random: np.random.Generator, clay: str, wanted: str = "") -> list[Coat]:
    """The outside of a test: one glaze alone, or one over another on the upper half."""
    if wanted == "rust over kelp":
        over, under = RUST, KELP
    elif wanted == "chalk":
        if random.random() < 0.45:
            return [lay(random, OUTSIDE, CHALK)]
        over, under = CHALK, KELP if random.random() < 0.65 else TIDE
    elif wanted == "oat":
        method = "brush" if random.random() < 0.3 else "dip"
        return [lay(random, OUTSIDE, OAT, method)]
    elif random.random() < 0.42:
        glaze = str(_pick(random, _ALONE)[0])
        method = "brush" if random.random() < 0.15 else "dip"
        return [lay(random, OUTSIDE, glaze, method)]
    else:
        over, under, _ = _pick(random, _OVERLAPS)
    first = lay(random, UPPER, under)
    method = "brush" if over == RUST and random.random() < 0.3 else "dip"
    lower = Coat(LOWER, first.glaze, first.method, first.seconds)
    return [first, lay(random, UPPER, over, method), lower]


def test_scheme(random: np.random.Generator, form: str, clay: str, wanted: str) -> list[Coat]:
    """A test tile's or a test tumbler's glazes."""
    coats = overlap_of(random, clay, wanted)
    if form != "test_tile":
        inside = CHALK if wanted == "chalk inside" else str(_pick(random, _INSIDES)[0])
        coats.append(lay(random, INSIDE, inside, "pour"))
        if random.random() < 0.3:
            coats.append(lay(random, RIM, RUST, "brush"))
    return coats


_INSIDES: tuple[tuple[str, int], ...] = ((OAT, 9), (CLEAR, 6), (CHALK, 4), (TIDE, 1))

_WARES: dict[str, tuple[tuple[tuple[str, ...], str, str, int], ...]] = {
    # outside from the clay outward, inside, rim, weight
    "ripple_tumbler": (
        ((KELP, CHALK), OAT, RUST, 5), ((TIDE, CHALK), CLEAR, "", 2), ((OAT,), CLEAR, RUST, 2),
        ((KELP, RUST), OAT, "", 2),
    ),
    "soup_bowl": (
        ((TIDE,), CHALK, "", 3), ((CHALK,), OAT, RUST, 2), ((KELP,), CHALK, "", 2),
        ((OAT, TIDE), CLEAR, "", 1),
    ),
    "lidded_jar": (((KELP, RUST), CLEAR, "", 2), ((TIDE, CHALK), CLEAR, "", 2),
                   ((CHALK,), CHALK, "", 1)),
    "lantern_house": (((CHALK,), "", "", 3), ((RUST,), "", "", 2), ((KELP, CHALK), "", "", 1)),
    "hexagonal_tile": (((TIDE,), "", "", 2), ((KELP,), "", "", 2), ((CLEAR,), "", "", 1),
                       ((RUST,), "", "", 1)),
}  # fmt: skip


def ware_scheme(random: np.random.Generator, form: str) -> list[Coat]:
    """How a run of ware was to be glazed: the same on each of its pieces."""
    outside, inside, rim, _ = _pick(random, _WARES[form])
    if len(outside) == 2:
        first = lay(random, UPPER, outside[0])
        coats = [first, lay(random, UPPER, outside[1]),
                 Coat(LOWER, first.glaze, first.method, first.seconds)]  # fmt: skip
    else:
        coats = [lay(random, OUTSIDE, outside[0])]
    if inside:
        coats.append(lay(random, INSIDE, inside, "pour"))
    if rim:
        coats.append(Coat(RIM, rim, "brush", coats=1))
    return coats


TUMBLER_412 = (
    Coat(UPPER, KELP, "dip", 4.0),
    Coat(UPPER, CHALK, "dip", 3.0),
    Coat(LOWER, KELP, "dip", 4.0),
    Coat(INSIDE, OAT, "pour", 2.0),
    Coat(RIM, RUST, "brush", coats=1),
)
TILE_27 = (
    Coat(UPPER, KELP, "dip", 4.0),
    Coat(UPPER, CHALK, "dip", 3.0),
    Coat(LOWER, KELP, "dip", 4.0),
)
CUP_31 = (*TILE_27, Coat(INSIDE, OAT, "pour", 2.0))

CLAY_CHOICES: tuple[tuple[str, int], ...] = ((BUFF, 45), (RED, 35), (PORCELAIN, 20))


def choose_clay(random: np.random.Generator) -> str:
    return str(_pick(random, CLAY_CHOICES)[0])
