"""How long something usually takes, from the few times it was seen and what was held before.

Times are log-normal: they are never negative, and now and then one is far longer than the rest.
The centre and spread of their logarithms are learned as a normal sample with its conjugate prior
(Gelman et al., *Bayesian Data Analysis*, 3rd ed. 2013, section 3.3): a prior that is worth so many
runs is moved by the runs that were seen, the further the more of them there are. What is learned
of the whole studio is in turn the prior of one clay, and that of one form.
"""

import math
from collections.abc import Iterable
from dataclasses import dataclass
from statistics import NormalDist
from typing import Final

_SHORTEST_H: Final = 0.25
_LONGEST_H: Final = 24.0 * 200
_TENTH: Final = NormalDist().inv_cdf(0.9)


@dataclass(frozen=True, slots=True)
class UsualTime:
    """A log-normal time in hours: ``centre`` and ``spread`` are of the natural logarithm.

    ``worth`` is how many runs the centre rests on, the prior's own included; ``runs`` those seen
    by this studio. ``of`` says whose times they are: "stated", "studio", "clay", "form".
    """

    centre: float
    spread: float
    worth: float
    runs: int = 0
    of: str = "stated"

    @property
    def median_h(self) -> float:
        return math.exp(self.centre)

    @property
    def next_spread(self) -> float:
        """Spread of the logarithm of the next time: the centre itself is not known exactly."""
        return self.spread * math.sqrt(1.0 + 1.0 / self.worth)

    @property
    def low_h(self) -> float:
        """One in ten is shorter."""
        return math.exp(self.centre - _TENTH * self.next_spread)

    @property
    def high_h(self) -> float:
        """One in ten is longer."""
        return math.exp(self.centre + _TENTH * self.next_spread)

    def chance_within(self, hours: float) -> float:
        """The chance that it takes no longer than ``hours``."""
        if hours <= 0:
            return 0.0
        return NormalDist(self.centre, max(self.next_spread, 1e-9)).cdf(math.log(hours))


def stated_time(median_h: float, factor: float, worth: float) -> UsualTime:
    """A prior: half take longer than ``median_h``, one in ten longer than ``factor`` times that.

    It is worth ``worth`` runs. Raises ValueError for a time that is not above 0 or a factor of 1
    or less.
    """
    if median_h <= 0 or factor <= 1 or worth <= 0:
        raise ValueError("A stated time is above 0, its factor above 1, and worth something.")
    return UsualTime(math.log(median_h), math.log(factor) / _TENTH, worth)


def learn_time(
    before: UsualTime, hours: Iterable[float], worth: float | None = None, of: str = "studio"
) -> UsualTime:
    """``before`` moved by the times that were seen; without any it is ``before`` itself.

    ``worth`` is how many runs ``before`` counts for against them (None: all it rests on). Times
    are taken within a quarter of an hour and 200 days: beyond that nobody looked.
    """
    logs = [math.log(min(max(time, _SHORTEST_H), _LONGEST_H)) for time in hours if time > 0]
    if not logs:
        return before
    held, seen = before.worth if worth is None else worth, len(logs)
    mean = math.fsum(logs) / seen
    squares = math.fsum((log - mean) ** 2 for log in logs)
    apart = held * seen / (held + seen) * (mean - before.centre) ** 2
    return UsualTime(
        (held * before.centre + seen * mean) / (held + seen),
        math.sqrt((held * before.spread**2 + squares + apart) / (held + seen)),
        held + seen,
        seen,
        of,
    )
