"""How much clay shrinks, and the size to make so that the fired piece has the size wanted.

Definitions as in ASTM C326: each linear shrinkage is a share of the length before that stage, the
total one of the plastic (wet) length. All shrinkages here are fractions: 0.12 is 12 %.
"""

import math
import statistics
from collections.abc import Sequence
from dataclasses import dataclass
from typing import Final, Literal

from studiolog.craft.limits import SHIPPED, Limits
from studiolog.craft.units import show_number, show_quantity
from studiolog.problems import UserProblem

Basis = Literal["measured", "few measured", "stated", "common practice"]

_MAD_TO_SD: Final = 1.4826  # of a normal distribution
_PERCENT: Final = 100.0


@dataclass(frozen=True, slots=True)
class Stages:
    """Drying, firing and total linear shrinkage of one specimen."""

    drying: float
    firing: float
    total: float


@dataclass(frozen=True, slots=True)
class Spread:
    """Of several shrinkages: mean, standard deviation (n - 1; None for one), and how many."""

    mean: float
    sd: float | None
    n: int


@dataclass(frozen=True, slots=True)
class KnownShrinkage:
    """What is known of the shrinkage of one more piece.

    It has a t-distribution with ``df`` degrees of freedom about ``mean``; ``piece_sd`` is how
    pieces differ, and the mean is known as well as the mean of ``weight`` pieces would be.
    ``n`` were measured.
    """

    mean: float
    piece_sd: float
    weight: float
    df: float
    n: int
    basis: Basis

    @property
    def scale(self) -> float:
        """Scale of the t-distribution of the next piece."""
        return self.piece_sd * math.sqrt(1.0 + 1.0 / self.weight)

    def interval(self, confidence: float = 0.95) -> tuple[float, float]:
        """Between which shrinkages the next piece lies with a confidence (0 to 1)."""
        reach = _t_reach(confidence, self.df) * self.scale
        return self.mean - reach, self.mean + reach


def linear(before: float, after: float) -> float:
    """Linear shrinkage from one length to another, (before - after) / before.

    Raises UserProblem for a length that is not above 0, and for a piece that grew.
    """
    _check_length(before, "before")
    _check_length(after, "after")
    if after > before:
        told = (
            f"{_mm(after)} after is more than {_mm(before)} before: clay shrinks. "
            "Did the two change places?"
        )
        raise UserProblem(told, {"after": told})
    return (before - after) / before


def make_size(fired: float, shrinkage: float) -> float:
    """The size to make for a fired size: fired / (1 - shrinkage), in the unit of ``fired``.

    Raises UserProblem for a size not above 0 and for a shrinkage that can't be (see
    `check_shrinkage`).
    """
    _check_length(fired, "fired")
    return fired / (1.0 - check_shrinkage(shrinkage))


def fired_size(made: float, shrinkage: float) -> float:
    """What a size comes to once it has shrunk. Raises as `make_size` does."""
    _check_length(made, "made")
    return made * (1.0 - check_shrinkage(shrinkage))


def check_shrinkage(shrinkage: float) -> float:
    """The fraction itself. Raises UserProblem where it is none that clay can have."""
    if not math.isfinite(shrinkage):
        raise UserProblem("The shrinkage is not a number: write it like 12 %.")
    if shrinkage < 0.0:
        raise UserProblem(
            f"A shrinkage of {show_percent(shrinkage)} would be growth: clay shrinks by 0 % or "
            "more."
        )
    if shrinkage >= 1.0:
        raise UserProblem(
            f"A shrinkage of {show_percent(shrinkage)} would leave nothing of the piece: it lies "
            "under 100 %, of most clays between 8 and 15 %."
        )
    return shrinkage


def by_stage(wet: float, dry: float, fired: float) -> Stages:
    """ASTM C326: drying (Lp - Ld)/Lp, firing (Ld - Lf)/Ld, total (Lp - Lf)/Lp.

    Raises UserProblem as `linear` does.
    """
    return Stages(linear(wet, dry), linear(dry, fired), linear(wet, fired))


def compose(*shrinkages: float) -> float:
    """Shrinkages one after the other as one: 1 - total is the product of each 1 - s."""
    left = 1.0
    for shrinkage in shrinkages:
        left *= 1.0 - check_shrinkage(shrinkage)
    return 1.0 - left


def remaining(total: float, done: float) -> float:
    """What is still to come of a total once ``done`` has happened, as a share of the size then.

    Raises UserProblem if more was done than the total.
    """
    total, done = check_shrinkage(total), check_shrinkage(done)
    if done > total + 1e-12:
        raise UserProblem(
            f"{show_percent(done)} so far is more than {show_percent(total)} in all: look at both."
        )
    return max(0.0, 1.0 - (1.0 - total) / (1.0 - done))


def drying_part(total: float, limits: Limits = SHIPPED) -> float:
    """What of a total comes in drying, while nobody measured it: common practice, about half.

    The logarithms of the lengths are shared, so that drying and firing compose to the total.
    """
    return float(1.0 - (1.0 - check_shrinkage(total)) ** limits["clay_drying_share"])


def volume(shrinkage: float) -> float:
    """Volume shrinkage of a body that shrinks alike every way: 1 - (1 - s)^3."""
    return 1.0 - (1.0 - check_shrinkage(shrinkage)) ** 3


def spread(shrinkages: Sequence[float]) -> Spread | None:
    """Mean, standard deviation and number; None of none."""
    if not shrinkages:
        return None
    sd = statistics.stdev(shrinkages) if len(shrinkages) > 1 else None
    return Spread(statistics.fmean(shrinkages), sd, len(shrinkages))


def far_out(
    shrinkages: Sequence[float], read_error: float = 0.0, limits: Limits = SHIPPED
) -> tuple[int, ...]:
    """The places of those that lie far from the others, by the modified z-score.

    Iglewicz and Hoaglin, 1993: 0.6745 (x - median) / MAD above 3.5. ``read_error`` is what one
    shrinkage may be off by reading alone: a difference that small is never far. Under five
    pieces nothing is called far.
    """
    if len(shrinkages) < 5:
        return ()
    middle = statistics.median(shrinkages)
    mad = statistics.median(abs(one - middle) for one in shrinkages)
    unit = max(_MAD_TO_SD * mad, read_error, 1e-9)
    score = limits["clay_outlier_score"]
    return tuple(i for i, one in enumerate(shrinkages) if abs(one - middle) > score * unit)


def read_error_of(before_mm: float, shrinkage: float, limits: Limits = SHIPPED) -> float:
    """Standard deviation of one shrinkage from reading both lengths, as a fraction."""
    return limits["clay_measuring_mm"] * math.hypot(1.0, 1.0 - shrinkage) / before_mm


def know(
    measured: Sequence[float],
    stated: float | None = None,
    limits: Limits = SHIPPED,
    common: float | None = None,
) -> KnownShrinkage:
    """What the measured shrinkages tell of the next piece.

    With enough of them (``clay_enough_pieces``) they speak alone: the usual prediction interval
    mean ± t(n - 1) s √(1 + 1/n). With fewer, or none, a prior is updated by them (normal with
    unknown variance, conjugate): about what is ``stated``, else about ``common``, else about
    common practice. Raises UserProblem as `check_shrinkage` does.
    """
    for one in measured:
        check_shrinkage(one)
    n = len(measured)
    if n >= max(2, limits["clay_enough_pieces"]):
        found = spread(measured)
        assert found is not None
        assert found.sd is not None
        # Bars that read alike to the last tenth still differ by what a ruler can't see.
        least = 0.1 * limits["clay_piece_spread"] / _PERCENT
        return KnownShrinkage(found.mean, max(found.sd, least), n, n - 1, n, "measured")
    before, doubt = _prior(stated, common, limits)
    sd = limits["clay_piece_spread"] / _PERCENT
    worth = limits["clay_spread_worth"]
    held = (sd / doubt) ** 2
    weight = held + n
    mean = (held * before + sum(measured)) / weight
    middle = statistics.fmean(measured) if n else before
    squares = worth * sd**2 + sum((one - middle) ** 2 for one in measured)
    squares += held * n / weight * (middle - before) ** 2
    basis: Basis = "few measured" if n else "common practice" if stated is None else "stated"
    return KnownShrinkage(mean, math.sqrt(squares / (worth + n)), weight, worth + n, n, basis)


def _prior(stated: float | None, common: float | None, limits: Limits) -> tuple[float, float]:
    if stated is not None:
        return check_shrinkage(stated), limits["clay_stated_doubt"] / _PERCENT
    usual = limits["clay_shrinkage_percent"] / _PERCENT if common is None else common
    return check_shrinkage(usual), limits["clay_shrinkage_doubt"] / _PERCENT


def show_percent(fraction: float, decimals: int = 1) -> str:
    """A fraction as a potter reads it: "12.0 %"."""
    return show_quantity(fraction * _PERCENT, "%", decimals)


def _mm(value: float) -> str:
    return show_quantity(value, "mm", 0 if value == round(value) else 1)


def _check_length(length: float, field: str) -> None:
    if not math.isfinite(length) or length <= 0.0:
        shown = show_number(length, 1) if math.isfinite(length) else "That"
        told = f"A size is more than 0; {shown} ({field}) is not."
        raise UserProblem(told, {field: told})


def _t_reach(confidence: float, df: float) -> float:
    from scipy.stats import t

    if not 0.0 < confidence < 1.0:
        raise ValueError(f"The confidence must lie between 0 and 1, not {confidence!r}.")
    return float(t.ppf(0.5 + confidence / 2.0, df))
