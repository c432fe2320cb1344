"""How many pieces are lost, from the few runs that were counted and what was held before.

The share lost has a beta distribution. Losses come in runs (a whole board dried too fast), so
pieces of one run count for less than as many from different runs: a sample of n alike by rho is
worth n / (1 + (n - 1) rho), the design effect of L. Kish, *Survey Sampling*, 1965. How alike they
are is estimated by moments from the runs themselves (beta-binomial), and held near the stated
value while runs are few.
"""

from collections.abc import Iterable
from dataclasses import dataclass, replace
from typing import Final

_LEAST_ALIKE: Final = 0.001
_MOST_ALIKE: Final = 0.9


@dataclass(frozen=True, slots=True)
class LossRate:
    """The share lost: Beta(``lost_like``, ``kept_like``), in pieces it is worth.

    ``alike`` (0 to 1) is how far the pieces of one run share their fate. ``pieces``, ``lost`` and
    ``runs`` were counted in this studio; ``of`` is "stated", "studio" or "form".
    """

    lost_like: float
    kept_like: float
    alike: float
    pieces: int = 0
    lost: int = 0
    runs: int = 0
    of: str = "stated"

    @property
    def mean(self) -> float:
        return self.lost_like / (self.lost_like + self.kept_like)

    @property
    def worth(self) -> float:
        """How many pieces the share rests on, the prior's own included."""
        return self.lost_like + self.kept_like

    @property
    def of_one_run(self) -> "LossRate":
        """The share lost of the next run: what is not known of the mean, and how runs differ.

        Both variances add: 1 / (W + 1) = 1 / (w + 1) + alike w / (w + 1), W the worth left.
        """
        apart = 1.0 / (self.worth + 1.0) + self.alike * self.worth / (self.worth + 1.0)
        worth = max(1.0 / min(apart, 0.999) - 1.0, 1e-3)
        return replace(self, lost_like=self.mean * worth, kept_like=(1.0 - self.mean) * worth)


def stated_loss(share: float, worth: float, alike: float) -> LossRate:
    """A prior: ``share`` is lost (0 to 1), worth so many pieces.

    Raises ValueError for a share outside 0 to 1 or a worth that is not above 0.
    """
    if not 0 <= share <= 1 or worth <= 0:
        raise ValueError("A share lies between 0 and 1, and is worth something.")
    return LossRate(share * worth, (1 - share) * worth, min(max(alike, _LEAST_ALIKE), _MOST_ALIKE))


def learn_loss(
    before: LossRate,
    runs: Iterable[tuple[int, int]],
    worth: float | None = None,
    runs_worth: float = 10.0,
    of: str = "studio",
) -> LossRate:
    """``before`` moved by what was counted: of each run (pieces at risk, lost of them).

    ``worth`` is how many pieces ``before`` counts for against them (None: all it rests on),
    ``runs_worth`` how many runs its likeness counts for. Raises ValueError for more lost than
    there were.
    """
    counted = [(pieces, lost) for pieces, lost in runs if pieces > 0]
    if any(lost < 0 or lost > pieces for pieces, lost in counted):
        raise ValueError("No more pieces are lost than there were.")
    if not counted:
        return before
    alike = _likeness(before, counted, runs_worth)
    held = before.worth if worth is None else worth
    lost_like, kept_like = before.mean * held, (1 - before.mean) * held
    for pieces, lost in counted:
        each = 1.0 / (1.0 + (pieces - 1) * alike)
        lost_like += lost * each
        kept_like += (pieces - lost) * each
    total, gone = sum(pieces for pieces, _ in counted), sum(lost for _, lost in counted)
    return LossRate(lost_like, kept_like, alike, total, gone, len(counted), of)


def _likeness(before: LossRate, counted: list[tuple[int, int]], runs_worth: float) -> float:
    """Pearson's chi-square over its degrees of freedom, less 1, by the size of a run."""
    total, gone = sum(pieces for pieces, _ in counted), sum(lost for _, lost in counted)
    share, several = gone / total, [run for run in counted if run[0] > 1]
    if not several or not 0 < share < 1 or len(counted) < 2:
        return before.alike
    chi = sum((lost - n * share) ** 2 / (n * share * (1 - share)) for n, lost in counted)
    size = sum(n for n, _ in counted) / len(counted)
    seen = (chi / (len(counted) - 1) - 1) / max(size - 1, 0.5)
    held = (runs_worth * before.alike + len(several) * seen) / (runs_worth + len(several))
    return min(max(held, _LEAST_ALIKE), _MOST_ALIKE)
