"""How many to throw to have so many good ones: the negative binomial distribution.

Throwing until the last good one is there takes a number of pots with the negative binomial
distribution (Johnson, Kemp, Kotz, *Univariate Discrete Distributions*, 3rd ed. 2005, chapter 5);
that at least ``good`` of n are good is the same event. Where the share lost is itself known only
from what was counted so far it has a beta distribution, and the number the beta negative binomial
one (section 6.2.3): the tail is longer, and more must be thrown.
"""

from collections.abc import Sequence
from dataclasses import dataclass
from typing import TYPE_CHECKING, Final

from studiolog.craft.ware.loss import LossRate
from studiolog.problems import UserProblem

if TYPE_CHECKING:
    import numpy as np
    from numpy.typing import NDArray

MOST_GOOD: Final = 1_000_000
_MOST_THROWN: Final = 4_000_000
_AT_ONCE: Final = 4096
CHANCES: Final = (0.5, 0.8, 0.9, 0.95, 0.99)


@dataclass(frozen=True, slots=True)
class Throws:
    """So many thrown give the good ones wanted with at least ``chance``.

    ``throw`` is None where no number does: everything is lost, or all but.
    """

    chance: float
    throw: int | None


def how_many_to_throw(good: int, chance: float, loss: float | LossRate) -> int | None:
    """The fewest pots of which at least ``good`` are good with probability ``chance``.

    ``loss`` is the share lost (0 to 1), or what is known of it. None where no number is enough.
    Raises `UserProblem` for a count below 0 or above a million, a chance outside 0 to 1 (both
    ends left out), or a share outside 0 to 1.
    """
    return tell_throws(good, loss, (chance,))[0].throw


def tell_throws(
    good: int, loss: float | LossRate, chances: Sequence[float] = CHANCES
) -> tuple[Throws, ...]:
    """The small table: for each chance the fewest to throw. Raises as `how_many_to_throw`."""
    _check(good, loss, chances)
    if good == 0:
        return tuple(Throws(chance, 0) for chance in chances)
    wanted = max(chances)
    cumulated = _cumulated(good, loss, wanted)
    found = []
    for chance in chances:
        beyond = int(cumulated.searchsorted(chance * (1 - 1e-12)))
        found.append(Throws(chance, good + beyond if beyond < len(cumulated) else None))
    return tuple(found)


def chance_of(good: int, thrown: int, loss: float | LossRate) -> float:
    """The chance that at least ``good`` of ``thrown`` are good. Raises as `how_many_to_throw`."""
    _check(good, loss, (0.5,))
    if thrown < good:
        return 0.0
    if good == 0:
        return 1.0
    cumulated = _cumulated(good, loss, 2.0, thrown - good + 1)
    return min(1.0, float(cumulated[-1])) if len(cumulated) else 0.0


def _check(good: int, loss: float | LossRate, chances: Sequence[float]) -> None:
    if not 0 <= good <= MOST_GOOD:
        told = f"Good ones are counted from 0 to {MOST_GOOD:,}; {good:,} can't be.".replace(
            ",", "\N{NARROW NO-BREAK SPACE}"
        )
        raise UserProblem(told, {"good": told})
    if not all(0 < chance < 1 for chance in chances):
        told = "The chance lies between 0 and 100 %, both left out: nothing is ever certain."
        raise UserProblem(told, {"chance": told})
    share = loss.mean if isinstance(loss, LossRate) else loss
    if not 0 <= share <= 1:
        told = "The share lost lies between 0 and 100 %."
        raise UserProblem(told, {"loss": told})


def _cumulated(
    good: int, loss: float | LossRate, until: float, terms: int | None = None
) -> "NDArray[np.float64]":
    """P(at most j lost before the last good one) for j = 0, 1, … until it reaches ``until``.

    Each term follows from the one before it by a ratio; logarithms keep the smallest apart.
    """
    import numpy as np

    share = loss.mean if isinstance(loss, LossRate) else loss
    if share >= 1.0:
        return np.zeros(0)
    if share <= 0.0:
        return np.ones(1 if terms is None else terms)
    most = _MOST_THROWN if terms is None else terms
    log_term, total, parts, begun = _first_log(good, loss), 0.0, [], 0
    while begun < most and total < until:
        lost = np.arange(begun, min(begun + _AT_ONCE, most), dtype=np.float64)
        if isinstance(loss, LossRate):
            worth = loss.kept_like + loss.lost_like
            ratio = (good + lost) * (loss.lost_like + lost) / ((lost + 1) * (worth + good + lost))
        else:
            ratio = (good + lost) / (lost + 1) * share
        steps = np.concatenate(([0.0], np.cumsum(np.log(ratio))))
        part = total + np.cumsum(np.exp(log_term + steps[:-1]))
        log_term, total = log_term + float(steps[-1]), float(part[-1])
        parts.append(part)
        begun += _AT_ONCE
        if log_term < -745 and float(ratio[-1]) < 1.0:
            break  # what is left is nothing: the rest of the chance was rounded away
    return np.concatenate(parts)[:most]


def _first_log(good: int, loss: float | LossRate) -> float:
    """The logarithm of the chance that not one is lost."""
    from math import lgamma, log1p

    if not isinstance(loss, LossRate):
        return good * log1p(-loss)
    kept, worth = loss.kept_like, loss.kept_like + loss.lost_like
    return lgamma(kept + good) + lgamma(worth) - lgamma(worth + good) - lgamma(kept)
