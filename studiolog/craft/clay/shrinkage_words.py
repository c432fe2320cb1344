"""What is known of a clay's shrinkage, in sentences; every screen says it alike."""

from studiolog.craft.clay.shrinkage import KnownShrinkage, Spread, show_percent
from studiolog.craft.limits import SHIPPED, Limits
from studiolog.craft.units import show_number, show_quantity

STEPS = {
    "drying": "wet to bone dry",
    "bisque": "wet to bisque",
    "firing": "bone dry to fired",
    "total": "wet to fired",
}


def say_known(known: KnownShrinkage, confidence: float = 0.95) -> str:
    """The shrinkage with the interval of one more piece."""
    low, high = known.interval(confidence)
    return (
        f"{show_percent(known.mean)} wet to fired; one more piece lies between "
        f"{show_number(100 * max(low, 0.0), 1)} and {show_percent(high)} "
        f"({show_quantity(100 * confidence, '%')})."
    )


def say_basis(known: KnownShrinkage, stated: float | None, limits: Limits = SHIPPED) -> str:
    """Where that comes from: measured, or a prior, which is named."""
    many = "1 piece" if known.n == 1 else f"{known.n} pieces"
    if known.basis == "measured":
        return f"Measured on {many}: they alone tell it."
    prior = _say_prior(stated, limits)
    if known.basis == "few measured":
        few = f"{limits['clay_enough_pieces']:.0f}"
        return f"{many} measured, held against {prior} until {few} are."
    return f"Nothing measured yet: {prior}."


def _say_prior(stated: float | None, limits: Limits) -> str:
    if stated is not None:
        doubt = show_number(limits["clay_stated_doubt"], 1)
        return f"the {show_percent(stated)} stated, which may be off by {doubt} (judgement)"
    usual = show_percent(limits["clay_shrinkage_percent"] / 100.0)
    doubt = show_number(limits["clay_shrinkage_doubt"], 1)
    return f"{usual}, common practice, which may be off by {doubt} (judgement)"


def say_spread(found: Spread) -> str:
    """ "12.1 ± 0.3 % (7 pieces)": mean, standard deviation, number."""
    many = "1 piece" if found.n == 1 else f"{found.n} pieces"
    if found.sd is None:
        return f"{show_percent(found.mean)} ({many})"
    mean = show_number(100 * found.mean, 1)
    return f"{mean} ± {show_percent(found.sd)} ({many})"


def say_sum(before_mm: float, after_mm: float) -> str:
    """The sum of one shrinkage: "(100.0 − 88.0) / 100.0 = 12.0 %"."""
    before, after = show_number(before_mm, 1), show_number(after_mm, 1)
    told = show_percent((before_mm - after_mm) / before_mm)
    return f"({before} \N{MINUS SIGN} {after}) / {before} = {told}"
