"""From a make size to fired sizes and back, with the chance to miss: plate, hole, lid, stamp.

One piece made to a size M comes out at M (1 - s). Three things make it vary, each stated: the
clay (`KnownShrinkage`: pieces differ, and their mean is not known for sure), the hand that forms
it, and, where a fired piece is judged by measuring, the ruler. What was learned of the clay has a
t-distribution (two clays added: its degrees of freedom after Welch and Satterthwaite); hand and
ruler are normal, their spread stated. The sum of both is integrated as it is: taken for a
t-distribution of more degrees of freedom it would make misses too rare while few bars are measured.
"""

import math
from collections.abc import Callable
from dataclasses import dataclass
from functools import lru_cache
from typing import TYPE_CHECKING, Final

from studiolog.craft.clay.shrinkage import KnownShrinkage, compose, make_size
from studiolog.craft.limits import SHIPPED, Limits
from studiolog.craft.units import show_quantity
from studiolog.problems import UserProblem

if TYPE_CHECKING:
    import numpy as np
    from numpy.typing import NDArray

_LARGEST_MM: Final = 5000.0
"""Nothing a potter makes in one piece is larger."""


@dataclass(frozen=True, slots=True)
class SizeForecast:
    """A size to come, about ``middle_mm``: a t-distribution of ``df`` and a normal added to it.

    ``clay_mm`` is the scale of the t, ``forming_mm`` and ``ruler_mm`` those of the normal;
    ``scale_mm`` is the three together.
    """

    middle_mm: float
    scale_mm: float
    df: float
    clay_mm: float = 0.0
    forming_mm: float = 0.0
    ruler_mm: float = 0.0

    def interval(self, confidence: float = 0.95) -> tuple[float, float]:
        """Between which sizes one piece lies with a confidence (0 to 1)."""
        from scipy.optimize import brentq
        from scipy.stats import t

        if not 0.0 < confidence < 1.0:
            raise ValueError(f"The confidence must lie between 0 and 1, not {confidence!r}.")
        # No wider than if all of it were as little known as the clay.
        reach = float(t.ppf(0.5 + confidence / 2.0, self.df)) * self.scale_mm
        if self._known_mm > 0.0:
            out = (1.0 - confidence) / 2.0
            reach = brentq(
                lambda wide: self.chance_below(self.middle_mm - wide) - out, 0.0, 2.0 * reach
            )
        return self.middle_mm - reach, self.middle_mm + reach

    @property
    def _known_mm(self) -> float:
        """The scale of what is stated, not learned."""
        return math.hypot(self.forming_mm, self.ruler_mm)

    def density(self, size_mm: float) -> float:
        """How dense pieces lie at a size, a mm; for drawing."""
        if self.scale_mm <= 0.0:
            return 0.0
        if self._known_mm > 0.0:
            import numpy as np

            scales, weights = self._spreads()
            bells = np.exp(-(((size_mm - self.middle_mm) / scales) ** 2) / 2.0) / scales
            return float((weights * bells).sum() / math.sqrt(2.0 * math.pi))
        t = (size_mm - self.middle_mm) / self.scale_mm
        half = (self.df + 1.0) / 2.0
        log = math.lgamma(half) - math.lgamma(self.df / 2.0) - half * math.log1p(t * t / self.df)
        return math.exp(log) / (math.sqrt(math.pi * self.df) * self.scale_mm)

    def chance_below(self, size_mm: float) -> float:
        """The chance that the piece is smaller than a size."""
        from scipy.special import ndtr
        from scipy.stats import t

        if self.scale_mm <= 0.0:
            return float(self.middle_mm < size_mm)
        if self._known_mm > 0.0:
            scales, weights = self._spreads()
            return float((weights * ndtr((size_mm - self.middle_mm) / scales)).sum())
        return float(t.cdf((size_mm - self.middle_mm) / self.scale_mm, self.df))

    def _spreads(self) -> "tuple[NDArray[np.float64], NDArray[np.float64]]":
        """The sum as many normals: their spreads, and the weight of each.

        A t is a normal whose variance is that of the clay over a drawn chi-square.
        """
        import numpy as np

        drawn, weights = _chi_squares(self.df)
        return np.sqrt(self.clay_mm**2 / drawn + self._known_mm**2), weights


@lru_cache(maxsize=64)
def _chi_squares(df: float) -> "tuple[NDArray[np.float64], NDArray[np.float64]]":
    """Chi-squares over their degrees of freedom, even in the logarithm, and their weights."""
    import numpy as np
    from scipy.stats import chi2

    low, high = float(chi2.ppf(1e-12, df)), float(chi2.isf(1e-12, df))
    logs = np.linspace(math.log(low), math.log(high), 241)
    weights = np.exp(logs - math.log(df)) * chi2.pdf(np.exp(logs), df)
    return np.exp(logs) / df, weights / weights.sum()


@dataclass(frozen=True, slots=True)
class Miss:
    """The chances that a piece comes out too small, or too large."""

    too_small: float
    too_large: float

    @property
    def either(self) -> float:
        return self.too_small + self.too_large


@dataclass(frozen=True, slots=True)
class MakeSize:
    """A make size with what one piece made to it comes out at, and the chance to miss."""

    make_mm: float
    fired: SizeForecast
    miss: Miss


@dataclass(frozen=True, slots=True)
class LidFit:
    """Make sizes of a lid and of the gallery it sits in, and the gap between them once fired."""

    lid_make_mm: float
    gallery_make_mm: float
    gap: SizeForecast
    miss: Miss


def forecast(
    make_mm: float,
    known: KnownShrinkage,
    limits: Limits = SHIPPED,
    *,
    judged_by_ruler: bool = True,
) -> SizeForecast:
    """What one piece made to a size comes out at. Raises UserProblem for a size not possible."""
    _check_size(make_mm, "make size")
    return add_variances(
        make_mm * (1.0 - known.mean),
        [(make_mm * known.scale, known.df)],
        limits["clay_forming_mm"] * (1.0 - known.mean),
        limits["clay_measuring_mm"] if judged_by_ruler else 0.0,
    )


def size_to_make(
    fired_mm: float,
    known: KnownShrinkage,
    low_mm: float | None = None,
    high_mm: float | None = None,
    limits: Limits = SHIPPED,
) -> MakeSize:
    """The make size for a fired size, and the chance that one piece leaves the tolerance.

    A limit left out is not held. Raises UserProblem for sizes and limits that can't be.
    """
    _check_size(fired_mm, "fired size")
    _check_tolerance(fired_mm, low_mm, high_mm)
    make_mm = make_size(fired_mm, known.mean)
    coming = forecast(make_mm, known, limits)
    return MakeSize(make_mm, coming, chance_to_miss(coming, low_mm, high_mm))


def chance_to_miss(
    coming: SizeForecast, low_mm: float | None = None, high_mm: float | None = None
) -> Miss:
    """The chance that a piece comes out under ``low_mm`` or over ``high_mm``."""
    small = 0.0 if low_mm is None else coming.chance_below(low_mm)
    large = 0.0 if high_mm is None else 1.0 - coming.chance_below(high_mm)
    return Miss(small, large)


def size_to_pass(
    bulb_mm: float,
    clearance_mm: float,
    known: KnownShrinkage,
    chance: float | None = None,
    limits: Limits = SHIPPED,
) -> MakeSize:
    """The smallest hole to make through which something of a diameter still passes once fired.

    ``clearance_mm`` is what the hole must be larger by, on the diameter. ``chance`` is how often
    one hole may be too small (``clay_miss_chance`` where it is not given). Raises UserProblem for
    what can't be, and where no size is sure enough.
    """
    _check_size(bulb_mm, "diameter")
    if clearance_mm < 0.0:
        raise UserProblem("The clearance is 0 mm or more.", {"clearance": "0 or more"})
    wanted = limits["clay_miss_chance"] if chance is None else chance
    if not 0.0 < wanted < 1.0:
        raise UserProblem("The chance to miss lies between 0 and 100 %.", {"chance": "0 to 100 %"})
    need = bulb_mm + clearance_mm

    def too_often(make_mm: float) -> bool:
        return forecast(make_mm, known, limits).chance_below(need) > wanted

    make_mm = _least(make_size(need, known.mean), too_often)
    coming = forecast(make_mm, known, limits)
    return MakeSize(make_mm, coming, chance_to_miss(coming, need, None))


def lid_and_gallery(
    gallery_mm: float,
    least_gap_mm: float,
    most_gap_mm: float,
    known: KnownShrinkage,
    limits: Limits = SHIPPED,
) -> LidFit:
    """Make sizes of a lid and its gallery of one clay, and the chance that the lid jams or rattles.

    The gap is on the diameter, and aimed at its middle. Both pieces share what is not known of
    the clay's mean, and differ each by itself. Raises UserProblem for what can't be.
    """
    _check_size(gallery_mm, "gallery")
    if not 0.0 <= least_gap_mm < most_gap_mm:
        told = "The least gap is 0 mm or more, and smaller than the most."
        raise UserProblem(told, {"gap": told})
    lid_mm = gallery_mm - (least_gap_mm + most_gap_mm) / 2.0
    if lid_mm <= 0.0:
        raise UserProblem("The gap leaves no room for a lid.", {"gap": "smaller than the gallery"})
    lid, gallery = make_size(lid_mm, known.mean), make_size(gallery_mm, known.mean)
    own = known.piece_sd * math.hypot(lid, gallery)
    shared = known.piece_sd / math.sqrt(known.weight) * (gallery - lid)
    gap = add_variances(
        gallery_mm - lid_mm,
        [(math.hypot(own, shared), known.df)],
        limits["clay_forming_mm"] * (1.0 - known.mean) * math.sqrt(2.0),
        0.0,
    )
    return LidFit(lid, gallery, gap, chance_to_miss(gap, least_gap_mm, most_gap_mm))


def stamp_to_make(
    mark_mm: float,
    ware: KnownShrinkage,
    tool: KnownShrinkage,
    low_mm: float | None = None,
    high_mm: float | None = None,
    limits: Limits = SHIPPED,
    *,
    one_clay: bool = False,
) -> MakeSize:
    """The size to cut a clay stamp at, so that its mark on the fired piece has a size.

    The stamp shrinks as it is fired, then the mark with the piece: two shrinkages in a chain.
    Of ``one_clay`` both share what is not known of its mean: it errs twice the same way. Raises
    UserProblem for sizes and limits that can't be.
    """
    _check_size(mark_mm, "mark")
    _check_tolerance(mark_mm, low_mm, high_mm)
    both = compose(tool.mean, ware.mean)
    make_mm = make_size(mark_mm, both)
    by_tool, by_ware = make_mm * (1.0 - ware.mean), make_mm * (1.0 - tool.mean)
    parts = [(by_tool * tool.scale, tool.df), (by_ware * ware.scale, ware.df)]
    if one_clay:
        own = math.hypot(by_tool * tool.piece_sd, by_ware * ware.piece_sd)
        shared = by_tool * tool.piece_sd / math.sqrt(tool.weight)
        shared += by_ware * ware.piece_sd / math.sqrt(ware.weight)
        parts = [(math.hypot(own, shared), min(tool.df, ware.df))]
    forming = limits["clay_forming_mm"] * (1.0 - both)
    coming = add_variances(make_mm * (1.0 - both), parts, forming, limits["clay_measuring_mm"])
    return MakeSize(make_mm, coming, chance_to_miss(coming, low_mm, high_mm))


def add_variances(
    middle_mm: float, clay: list[tuple[float, float]], forming_mm: float, ruler_mm: float
) -> SizeForecast:
    """Scales added as variances; ``clay`` are (scale, degrees of freedom) of what was learned.

    Degrees of freedom of the clay after Welch and Satterthwaite, as in JCGM 100:2008 (GUM), G.4.
    """
    clay_variance = sum(scale**2 for scale, _ in clay)
    variance = clay_variance + forming_mm**2 + ruler_mm**2
    below = sum(scale**4 / df for scale, df in clay)
    df = clay_variance**2 / below if below > 0.0 else 1e6
    return SizeForecast(
        middle_mm,
        math.sqrt(variance),
        min(df, 1e6),
        math.sqrt(clay_variance),
        forming_mm,
        ruler_mm,
    )


def _least(start_mm: float, too_small: Callable[[float], bool]) -> float:
    """The least size that is not too small, to 0.01 mm, looked for from ``start_mm`` on."""
    low, high = start_mm, start_mm
    while low > 0.01 and not too_small(low):
        low, high = low * 0.95, low
    while too_small(high):
        low, high = high, high * 1.05 + 0.1
        if high > 2.0 * start_mm + 100.0:
            raise UserProblem(
                "With so little known of this clay no make size is sure enough: measure a few "
                "test bars, or allow a larger chance to miss."
            )
    while high - low > 0.005:
        middle = (low + high) / 2.0
        low, high = (middle, high) if too_small(middle) else (low, middle)
    return high


def _check_size(size_mm: float, what: str) -> None:
    if not math.isfinite(size_mm) or size_mm <= 0.0:
        raise UserProblem(f"The {what} is more than 0 mm.", {what: "more than 0"})
    if size_mm > _LARGEST_MM:
        told = (
            f"A {what} of {show_quantity(size_mm, 'mm')} is larger than any piece of clay: "
            f"{_LARGEST_MM / 1000:.0f} metres at most."
        )
        raise UserProblem(told, {what: told})


def _check_tolerance(aim_mm: float, low_mm: float | None, high_mm: float | None) -> None:
    if low_mm is not None and high_mm is not None and low_mm >= high_mm:
        told = "The smallest size allowed must be below the largest."
        raise UserProblem(told, {"low": told})
    if (low_mm is not None and aim_mm < low_mm) or (high_mm is not None and aim_mm > high_mm):
        told = "The size aimed at lies outside what is allowed: look at the limits."
        raise UserProblem(told, {"low": told})
